"""What the pages ask of the machine they run on, and nothing more. ``server`` and ``browser`` are the two hosts."""

from __future__ import annotations

import re
from typing import Protocol

from stillbore.errors import StillboreError
from stillbore.run.session import Device, Now
from stillbore.store import keys
from stillbore.store.interface import Store
from stillbore.store.sync import Peer

SERVER, BROWSER = "server", "browser"
KEYS = "keys"  # the shelf of documents that belongs to no job: people's secrets, the key list
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}")  # a name that is a file's name on every machine


class Documents(Protocol):
    """Named texts, on a shelf for each job (and the shelf ``KEYS``): survey.toml, kit.toml, rules.toml, procedure.toml
    as they are drafted, before the job is opened; then its log keeps them by their hashes. Raises StillboreError."""

    def shelves(self) -> list[str]:
        """The shelves with something on them, sorted."""

    def list(self, shelf: str) -> list[str]:
        """The names of the texts on a shelf, sorted."""

    def read(self, shelf: str, name: str) -> str: ...

    def write(self, shelf: str, name: str, text: str) -> None:
        """Put a text in its place, over what was there. On disk once ``commit`` has returned."""

    def remove(self, shelf: str, name: str) -> None: ...


class Host(Protocol):
    """A machine that the app runs on. Everything is called from one thread."""

    name: str  # SERVER or BROWSER
    can_make_pdf: bool
    newer_app: bool  # whether a newer version of the app is on the device, and waits until somebody takes it
    store: Store
    files: Files
    documents: Documents
    device: Device

    def clock(self) -> Now: ...

    def peer(self, address: str, token: str) -> Peer:
        """Another store, for ``store.sync.exchange``; "" as the address is where the app was loaded from."""

    async def commit(self) -> None:
        """Awaited before any reply that acknowledges: when it returns, all that was written is on disk. Where it
        raises StillboreError, nothing written since the commit before is kept, here or on disk."""


class Files:
    """Kept files, by the SHA-256 of their bytes (hex)."""

    def __init__(self, store: Store) -> None:
        self.put, self.get, self.has = store.keep, store.kept, store.has


def new_secret(host: Host, person: str, words: str) -> keys.Secret:
    """Make a person's secret, opened by that person's words alone, and lay it on the shelf of keys."""
    name = f"{person}.secret"
    if name in host.documents.list(KEYS):
        raise StillboreError(f"{person} has a secret here already.", "Secrets are not written over.")
    secret, text = keys.new_secret(words)
    host.documents.write(KEYS, name, text)
    return secret


def open_secret(host: Host, person: str, words: str) -> keys.Secret:
    """A person's secret, opened with the words. It takes a good part of a second, so that guessing is dear."""
    name = f"{person}.secret"
    if name not in host.documents.list(KEYS):
        raise StillboreError(f"{person} has no secret on this device.", "Make one here, or bring its file in.")
    return keys.open_secret(host.documents.read(KEYS, name), words, name)


def checked_name(name: str) -> str:
    """The name, if it can be a file's. Raises StillboreError."""
    if not NAME.fullmatch(name) or name.endswith((".", " ")):
        raise StillboreError(f"'{name[:40]}' is no name for a file.", "Take letters, digits, '.', '-', '_'.")
    return name
