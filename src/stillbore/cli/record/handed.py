"""A record as handed over: from a store, an exported folder, a log alone, or a PDF."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from stillbore.errors import StillboreError
from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.record.chain import Line
from stillbore.record.read import Exported, read_export
from stillbore.run.basis import Basis
from stillbore.run.files import basis_again, plan_again
from stillbore.run.fold import fold
from stillbore.run.state import State

LOG, FILES = "record.jsonl", "files"


@dataclass
class Handed:
    """A log with the files it names: the lines, the footer's part, and how a kept file is found (StillboreError where
    it is not at hand)."""

    exported: Exported
    kept: Callable[[str], bytes]

    @property
    def lines(self) -> tuple[Line, ...]:
        return self.exported.lines

    def missing(self) -> list[str]:
        """The kept files that are named in the log and not at hand, as sentences."""
        found = []
        for name, sha256 in self.named():
            try:
                self.kept(sha256)
            except StillboreError as error:
                found.append(f"{name}: {error.what}")
        return found

    def named(self) -> list[tuple[str, str]]:
        """Every file that the log names: (name, hash)."""
        found = []
        for line in self.lines:
            what = line.event.happening
            if isinstance(what, (log.Opened, log.Replanned)):
                found += [(file.name, file.sha256) for file in what.files]
            elif isinstance(what, log.Kept):
                found.append((what.name, what.sha256))
        return found

    def bases(self) -> dict[str, Basis]:
        """The basis of every plan in the log, worked out again from the files."""
        found = {}
        for line in self.lines:
            what = line.event.happening
            if isinstance(what, (log.Opened, log.Replanned)):
                found[what.plan] = basis_again(what, self.kept)
        return found

    def plan(self) -> Plan:
        """The plan that counted last, worked out again from the files."""
        last = next(line.event.happening for line in reversed(self.lines)
                    if isinstance(line.event.happening, (log.Opened, log.Replanned)))
        return plan_again(last.files, self.kept)

    def state(self) -> State:
        return fold(((line.hash, line.event) for line in self.lines), self.bases())


def folder_files(folder: Path) -> Callable[[str], bytes]:
    """Kept files of an export: in ``files/``, each under its hash, checked when read."""
    def kept(sha256: str) -> bytes:
        try:
            data = (folder / FILES / sha256).read_bytes()
        except OSError:
            raise StillboreError(f"The file {sha256[:12]} is not at hand.", "Ask for the whole export.") from None
        if hashlib.sha256(data).hexdigest() != sha256:
            raise StillboreError(f"The file {sha256[:12]} is not what the log says: it was changed.",
                                 "Ask for the whole export again.")
        return data

    return kept


def read_log(path: Path) -> tuple[bytes, Path]:
    """The bytes of an exported log, and the folder it lies in. ``path``: the folder, or the log itself."""
    file = path / LOG if path.is_dir() else path
    try:
        return file.read_bytes(), file.parent
    except OSError as error:
        raise StillboreError(f"{file} cannot be read: {error.strerror}.", "Give a folder made by: stillbore record "
                                                                          "export, or its record.jsonl.") from None


def handed(path: Path) -> Handed:
    """A record from an export. Raises Broken or InputFaults where the log does not hold."""
    data, folder = read_log(path)
    return Handed(read_export(data), folder_files(folder))
