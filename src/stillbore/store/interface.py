"""What every store serves, whatever lies under it: SQLite here, others by the same names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from stillbore.record.chain import Line
from stillbore.record.events import Head

LARGEST_FILE = 64_000_000  # bytes of one kept file; a photo is a few million
MOST_FAULTS = 100  # how many bad lines are told one by one

FORK, GAP, UNSEEN = "fork", "gap", "unseen"


@dataclass(frozen=True)
class Waiting:
    """A line that is held but is not shown as part of its job, and why.

    ``why``: FORK (its place in the chain is taken by another line, or it follows one whose place is), GAP (a line of
    its own device before it has not come yet), UNSEEN (it had seen a line of another device that has not come yet, or
    follows one that had).
    """

    job: str
    device: str
    n: int
    hash: str
    why: str


@dataclass
class Taken:
    """What came of lines that were brought in: how many were new, were here already, or were refused; and why, as
    (line number, sentence), the first hundred."""

    new: int = 0
    known: int = 0
    refused: int = 0
    faults: list[tuple[int, str]] = field(default_factory=list)

    def fault(self, number: int, why: str) -> None:
        self.refused += 1
        if len(self.faults) < MOST_FAULTS:
            self.faults.append((number, why))


class Store(Protocol):
    """Lines, kept files and names.

    A call that writes returns when what it wrote is on disk, and not before; where it raises, nothing of it was
    written. Every call raises StillboreError and nothing else for what a disk, a file or a sender can do.
    """

    def append(self, line: Line) -> None:
        """Add this device's next line. The same line again is no fault; another at its place, or one that does not
        follow the head of its chain, is refused."""

    def lines(self, job: str) -> list[Line]:
        """The job as far as it is whole, in the order (order, device): a line is shown when the one before it in its
        chain is, and every line of another device that it had seen."""

    def heads(self, job: str) -> list[Head]:
        """The last line of every chain, as far as it is whole from its first line."""

    def jobs(self) -> list[str]:
        """The jobs of which a chain is whole from its first line."""

    def keep(self, data: bytes) -> str:
        """Keep a file; its SHA-256 in hex. Twice is no fault."""

    def kept(self, sha256: str) -> bytes:
        """A kept file, checked against its hash."""

    def has(self, sha256: str) -> bool:
        """Whether a file is kept here."""

    def lacking(self, job: str) -> list[str]:
        """The files that lines of a job rest on and that are not kept here."""

    def put_aside(self, job: str, reference: str, details: Mapping[str, str]) -> None:
        """What must be erasable: name and contact of a person by reference ("P1"), or of the customer. It never
        travels."""

    def aside(self, job: str) -> dict[str, dict[str, str]]:
        """What is put aside, by reference."""

    def erase(self, job: str, reference: str | None = None) -> int:
        """Erase what is put aside of one reference, or of the whole job; how many details went. The log stays as it
        is."""

    def take(self, lines: Iterable[bytes]) -> Taken:
        """Bring in lines from elsewhere, in any order, any number of times. Bad ones are named and left out."""

    def give(self, job: str, hashes: Iterable[str] | None = None) -> Iterator[bytes]:
        """Every line held of a job, also those that wait, or those with these hashes; as bytes, without line ends."""

    def held(self, job: str) -> list[str]:
        """The hashes of all lines held of a job, sorted."""

    def digests(self) -> dict[str, str]:
        """For every job of which anything is held, one hash over its set of lines and of the files it lacks:
        equal sets, equal hashes."""

    def waiting(self, job: str) -> list[Waiting]:
        """The lines held but not shown, in the order (order, device)."""

    def close(self) -> None:
        """Leave one file behind."""
