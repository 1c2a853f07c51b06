"""One shape of error: what is wrong, how to mend it, and where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input: its place (file, line, key), what is wrong, how to mend it."""

    place: str
    what: str
    fix: str

    def __str__(self) -> str:
        return f"{self.place}: {self.what} {self.fix}"


class StillboreError(Exception):
    """Something the user can mend. ``what`` and ``fix`` are whole sentences; ``about`` names the thing."""

    def __init__(self, what: str, fix: str, **about: object) -> None:
        super().__init__(f"{what} {fix}")
        self.what = what
        self.fix = fix
        self.about = about


class UnitError(StillboreError):
    """A quantity that cannot be read: no unit, unknown unit, wrong kind, backwards range."""


class Refused(StillboreError):
    """A physics function was asked something outside its domain; ``about['code']`` is the refusal code."""


class InputFaults(StillboreError):
    """Every fault of a set of input files, at once."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__(f"{count} in the input.", "Mend each place named below; nothing was written.")
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return "\n".join([f"{self.what} {self.fix}", *(f"  {fault}" for fault in self.faults)])
