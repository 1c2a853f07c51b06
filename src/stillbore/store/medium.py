"""What a logged store writes on: a few named files that grow at the end. In the browser the worker gives one over OPFS
or IndexedDB; ``Directory`` is the same over a folder, to try the store's faults with."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Protocol


class Medium(Protocol):
    """Named files; one that was never written has the size 0. Any call may raise: the disk is full, or is gone."""

    def size(self, name: str) -> int: ...

    def read(self, name: str, at: int, length: int) -> bytes: ...

    def append(self, name: str, data: bytes) -> None: ...

    def cut(self, name: str, size: int) -> None:
        """Leave the first ``size`` bytes."""

    async def commit(self) -> None:
        """When it returns, all that was appended and cut is on disk, in the order in which it was asked for."""


class Directory:
    """Files of a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._open: dict[str, int] = {}
        self._changed: dict[str, None] = {}
        folder.mkdir(parents=True, exist_ok=True)

    def _file(self, name: str) -> int:
        if name not in self._open:
            self._open[name] = os.open(self.folder / name, os.O_RDWR | os.O_CREAT, 0o600)
        return self._open[name]

    def size(self, name: str) -> int:
        return os.fstat(self._file(name)).st_size

    def read(self, name: str, at: int, length: int) -> bytes:
        return os.pread(self._file(name), length, at)

    def append(self, name: str, data: bytes) -> None:
        at = self.size(name)
        while data:
            done = os.pwrite(self._file(name), data, at)
            data, at = data[done:], at + done
        self._changed[name] = None

    def cut(self, name: str, size: int) -> None:
        os.ftruncate(self._file(name), size)
        self._changed[name] = None

    async def commit(self) -> None:
        for name in self._changed:
            os.fsync(self._file(name))
        self._changed.clear()

    def close(self) -> None:
        for file in self._open.values():
            os.close(file)
        self._open.clear()
