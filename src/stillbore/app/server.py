"""The host on a laptop or at the depot: the store is a file, and what goes with it lies beside it."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from stillbore.app.host import SERVER, Files, checked_name
from stillbore.errors import StillboreError
from stillbore.run.session import Device
from stillbore.store import keys
from stillbore.store.clock import clock
from stillbore.store.sqlite import SqliteStore
from stillbore.store.sync import Peer
from stillbore.store.whole import write_whole
from stillbore.store.wire import Remote

LARGEST_TEXT = 2_000_000  # bytes of one document


class Server:
    """The host over one store file. SQLite has synced every write when the call returns, so that there is nothing left
    for ``commit`` to wait for."""

    name = SERVER
    newer_app = False  # here the program is what is installed
    clock = staticmethod(clock)

    def __init__(self, path: Path, device: str) -> None:
        self.store = SqliteStore(path)
        self.files = Files(self.store)
        self.documents = Folder(path.with_name(f"{path.name}.documents"))
        secret = keys.device_key(keys.device_key_path(path, device))
        self.device = Device(device, secret.public, secret.sign)
        self.can_make_pdf = importlib.util.find_spec("typst") is not None

    def peer(self, address: str, token: str) -> Peer:
        if not address:
            raise StillboreError("This is the server itself.", "Write the address of the other store.")
        return Remote(address, token)

    async def commit(self) -> None:
        return None


class Folder:
    """Documents as files, one folder for each shelf, so that other programs can read and write them."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def _place(self, shelf: str, name: str) -> Path:
        return self.root / checked_name(shelf) / checked_name(name)

    def shelves(self) -> list[str]:
        return sorted(path.name for path in self.root.glob("*") if any(path.glob("[!.]*")))

    def list(self, shelf: str) -> list[str]:
        return sorted(path.name for path in (self.root / checked_name(shelf)).glob("[!.]*") if path.is_file())

    def read(self, shelf: str, name: str) -> str:
        try:
            data = self._place(shelf, name).read_bytes()
            return data.decode("utf-8")
        except (OSError, ValueError):
            raise StillboreError(f"{name} of {shelf} cannot be read.", "Write it again, or bring it in.") from None

    def write(self, shelf: str, name: str, text: str) -> None:
        data = text.encode("utf-8", "surrogatepass")
        if len(data) > LARGEST_TEXT:
            raise StillboreError(f"{name} is larger than {LARGEST_TEXT:,} bytes.", "Is it the right file?")
        write_whole(self._place(shelf, name), data)

    def remove(self, shelf: str, name: str) -> None:
        self._place(shelf, name).unlink(missing_ok=True)
