"""A store whose log of record is an append-only file of lines; SQLite is only an index in memory, made from it at every
start. For the browser, where SQLite's own sync does nothing.

What is written waits until ``commit``, which writes and syncs it. Kept files stand in a second file, one behind the
other, each with its length and hash in front; names aside and drafts on a ``Drawer``.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable, Mapping
from pathlib import Path

from stillbore.errors import StillboreError
from stillbore.record.chain import Line
from stillbore.record.read import read_line
from stillbore.store.drawer import Drawer
from stillbore.store.interface import LARGEST_FILE, Taken
from stillbore.store.medium import Medium
from stillbore.store.sqlite import SqliteStore

LOG, PACK, TORN = "events.log", "files.pack", ".torn"
LENGTH, HASH = 8, 32  # bytes before a kept file
FULL = ("The device takes nothing more: its storage is full, or was taken away.",
        "What was acknowledged before is kept, this is not. Go on with the paper card; hand over or bring in the log, "
        "make room on the device, and enter it late from the card.")


class LoggedStore(SqliteStore):
    """The interface of ``store.interface`` over a ``Medium``. ``index`` is where SQLite has its file, in memory;
    ``told`` says in sentences what was mended or found damaged at the start."""

    def __init__(self, medium: Medium, index: Path) -> None:
        self.medium, self.told = medium, []
        self._lines: list[bytes] = []  # not yet on the medium
        self._files: dict[str, bytes] = {}
        self._places: dict[str, tuple[int, int]] = {}
        self._index = index
        for path in (index, Path(f"{index}-wal"), Path(f"{index}-shm"), Path(f"{index}-journal")):
            path.unlink(missing_ok=True)
        super().__init__(index)
        self.drawer = Drawer(medium)
        self._load_files()
        self._load_lines()
        for job, references in self.drawer.aside.items():
            for reference, details in references.items():
                super().put_aside(job, reference, details)

    # At the start

    def _load_lines(self) -> None:
        data = self.medium.read(LOG, 0, self.medium.size(LOG))
        sound = data.rfind(b"\n") + 1
        if sound < len(data):
            try:
                read_line(data[sound:])
                self.medium.append(LOG, b"\n")  # the line is whole, only its end was lost
                sound = len(data)
            except StillboreError:
                self._save_tail(LOG, sound)
        lines = data[:sound].splitlines()
        taken = super().take(lines)
        self._lines.clear()
        self.told += [f"Line {number} of the log does not hold and is left out: {why}" for number, why in taken.faults]

    def _load_files(self) -> None:
        at, size = 0, self.medium.size(PACK)
        with self._database.writing() as connection:
            while at < size:
                front = self.medium.read(PACK, at, LENGTH + HASH)
                start, length = at + LENGTH + HASH, int.from_bytes(front[:LENGTH], "big")
                whole = len(front) == LENGTH + HASH and start + length <= size
                if whole and start + length == size:  # the last may have its length and not its bytes
                    whole = hashlib.sha256(self.medium.read(PACK, start, length)).digest() == front[LENGTH:]
                if not whole:
                    self._save_tail(PACK, at)
                    return
                self._places[front[LENGTH:].hex()] = (start, length)
                self._note_file(connection, front[LENGTH:].hex())
                at = start + length

    def _save_tail(self, name: str, sound: int) -> None:
        """What was cut off is laid aside first, and only then taken from the file."""
        tail = self.medium.read(name, sound, self.medium.size(name) - sound)
        self.medium.append(name + TORN, tail + b"\n")
        self.medium.cut(name, sound)
        self.told.append(f"The last write to {name} was cut off ({len(tail)} bytes); it had not been acknowledged. It "
                         f"is laid aside in {name + TORN}, and all before it is there.")

    # Writing

    async def commit(self) -> None:
        """Write what waits and sync it, files before the lines that rest on them. Where that fails, nothing of it is
        kept, on the medium or in the index. Raises StillboreError."""
        sizes = {name: self.medium.size(name) for name in (LOG, PACK)}
        try:
            for sha256, data in self._files.items():
                self.medium.append(PACK, len(data).to_bytes(LENGTH, "big") + bytes.fromhex(sha256) + data)
            if self._lines:
                self.medium.append(LOG, b"".join(line + b"\n" for line in self._lines))
            await self.medium.commit()
            while self.drawer.write_out():
                await self.medium.commit()
        except Exception as error:  # whatever a browser's storage throws
            await self._take_back(sizes)
            raise StillboreError(*FULL, why=str(error)) from None
        at = sizes[PACK]
        for sha256, data in self._files.items():
            self._places[sha256] = (at + LENGTH + HASH, len(data))
            at += LENGTH + HASH + len(data)
        self._files.clear()
        self._lines.clear()

    async def _take_back(self, sizes: Mapping[str, int]) -> None:
        try:
            for name, size in sizes.items():
                if self.medium.size(name) > size:
                    self.medium.cut(name, size)
            await self.medium.commit()
        except Exception as error:  # a torn tail is mended at the next start
            self.told.append(f"The device's storage does not answer: {error}")
        told = self.told
        self.close()
        self.__init__(self.medium, self._index)  # type: ignore[misc]
        self.told = told + self.told

    @staticmethod
    def _note_file(connection: sqlite3.Connection, sha256: str) -> None:
        """In the index a kept file is its hash alone; the bytes stand on the medium."""
        connection.execute("INSERT OR IGNORE INTO file (sha256, data) VALUES (?, X'')", (sha256,))

    def append(self, line: Line) -> None:
        with_this = self._known_raw(line)
        super().append(line)
        if not with_this:
            self._lines.append(line.raw)

    def take(self, lines: Iterable[bytes]) -> Taken:
        before = {job: set(self.held(job)) for job in self.digests()}
        try:
            return super().take(lines)
        finally:
            for job in self.digests():
                new = set(self.held(job)) - before.get(job, set())
                self._lines += [raw for raw in self.give(job) if raw[-66:-2].decode("ascii") in new]

    def _known_raw(self, line: Line) -> bool:
        with self._database.reading() as connection:
            return self._known(connection, line.event.job, line.hash)

    # Kept files

    def keep(self, data: bytes) -> str:
        if len(data) > LARGEST_FILE:
            raise StillboreError(f"The file is larger than {LARGEST_FILE // 1_000_000} MB.", "Keep a smaller copy.")
        sha256 = hashlib.sha256(data).hexdigest()
        if sha256 not in self._places and sha256 not in self._files:
            self._files[sha256] = bytes(data)
            with self._database.writing() as connection:
                self._note_file(connection, sha256)
        return sha256

    def kept(self, sha256: str) -> bytes:
        if sha256 in self._files:
            return self._files[sha256]
        if sha256 not in self._places:
            raise StillboreError(f"The file {sha256[:12]} is not on this device.", "Bring it in from the device that "
                                 "kept it.")
        data = self.medium.read(PACK, *self._places[sha256])
        if hashlib.sha256(data).hexdigest() != sha256:
            raise StillboreError(f"The kept file {sha256[:12]} is damaged.", "Bring it in from another device.")
        return data

    # Names aside

    def put_aside(self, job: str, reference: str, details: Mapping[str, str]) -> None:
        super().put_aside(job, reference, details)
        self.drawer.set_aside(job, self.aside(job))

    def erase(self, job: str, reference: str | None = None) -> int:
        count = super().erase(job, reference)
        self.drawer.set_aside(job, self.aside(job), over_both=True)
        return count
