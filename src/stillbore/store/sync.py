"""Logs that come together: from a file, from another store, or over HTTP (store.wire). In any order, repeated, broken
off: both sides end with the same set of lines, because each asks for what it has not got and takes nothing twice.

What does not go together afterwards is asked by ``store.questions``. Names put aside do not travel.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO, Protocol

from stillbore.errors import StillboreError
from stillbore.record.read import LONGEST_LINE
from stillbore.store.interface import Store, Taken


class Peer(Protocol):
    """The part of a store that another one needs of it. A store is one, and so is ``wire.Remote``."""

    def digests(self) -> dict[str, str]: ...
    def held(self, job: str) -> list[str]: ...
    def give(self, job: str, hashes: Iterable[str] | None = None) -> Iterator[bytes]: ...
    def take(self, lines: Iterable[bytes]) -> Taken: ...
    def lacking(self, job: str) -> list[str]: ...
    def keep(self, data: bytes) -> str: ...
    def kept(self, sha256: str) -> bytes: ...


@dataclass
class Exchanged:
    """What went over: lines that came in and went out, the number of files each way, and the files that jobs rest on
    and that neither side has."""

    taken: Taken = field(default_factory=Taken)
    given: Taken = field(default_factory=Taken)
    files_in: int = 0
    files_out: int = 0
    lacking: list[str] = field(default_factory=list)


def exchange(here: Peer, there: Peer) -> Exchanged:
    """Bring two stores to the same set of lines and kept files. Raises StillboreError where it breaks off; what came
    over until then is kept, and the next call goes on from there."""
    done = Exchanged()
    ours, theirs = here.digests(), there.digests()
    for job in sorted(ours.keys() | theirs.keys()):
        if ours.get(job) != theirs.get(job):
            _exchange_job(here, there, job, done)
    return done


def _exchange_job(here: Peer, there: Peer, job: str, done: Exchanged) -> None:
    ours, theirs = set(here.held(job)), set(there.held(job))
    if theirs - ours:
        _add(done.taken, here.take(there.give(job, sorted(theirs - ours))))
    if ours - theirs:
        _add(done.given, there.take(here.give(job, sorted(ours - theirs))))
    we_lack, they_lack = set(here.lacking(job)), set(there.lacking(job))
    for sha256 in sorted(we_lack - they_lack):
        here.keep(there.kept(sha256))
        done.files_in += 1
    for sha256 in sorted(they_lack - we_lack):
        there.keep(here.kept(sha256))
        done.files_out += 1
    done.lacking += sorted(we_lack & they_lack)


def _add(sum: Taken, more: Taken) -> None:
    sum.new, sum.known, sum.refused = sum.new + more.new, sum.known + more.known, sum.refused + more.refused
    sum.faults += more.faults


def import_file(store: Store, path: Path) -> Taken:
    """Take the lines of an exported log, with or without its footer. Lines that do not hold are told and left out, as a
    last one that was cut off. Raises StillboreError where the file cannot be read or holds no line at all."""
    try:
        with path.open("rb") as file:
            taken = store.take(_lines(file))
    except OSError as error:
        raise StillboreError(f"{path.name} cannot be read: {error.strerror}.", "Check the path.") from None
    if not taken.new + taken.known:
        why = f": {taken.faults[0][1]}" if taken.faults else "."
        raise StillboreError(f"{path.name} holds no line of a log{why}", "Give a log as it was exported.")
    return taken


def _lines(file: BinaryIO) -> Iterator[bytes]:
    """Lines without their ends, whatever ended them; what is too long for a line comes in pieces, and none is one."""
    while line := file.readline(LONGEST_LINE + 3):
        yield line.rstrip(b"\r\n")


def write_file(store: Store, job: str, path: Path) -> int:
    """All lines held of a job as JSON Lines, to be carried to another store; how many. Written aside, synced, and then
    put in place, so that there is never half a file. It is not the record: it has no footer, its end is open."""
    count, aside = 0, path.with_name(path.name + ".part")
    try:
        with aside.open("wb") as file:
            for raw in store.give(job):
                file.write(raw + b"\n")
                count += 1
            file.flush()
            os.fsync(file.fileno())
        os.replace(aside, path)
    except OSError as error:
        aside.unlink(missing_ok=True)
        raise StillboreError(f"{path.name} cannot be written: {error.strerror}.",
                             "Check the path and the disk.") from None
    return count
