"""A question that an auditor asks of a record, and the record as it is looked through for questions.

A question is never an accusation: most have an innocent answer, and the crew knows it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from functools import cached_property
from typing import TypeVar

from stillbore.errors import InputFaults, StillboreError
from stillbore.gauge.readings import read_text
from stillbore.gauge.samples import Log
from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.record.chain import Line
from stillbore.record.events import Event, Happening, Value
from stillbore.run.basis import Ask, Basis, Step
from stillbore.run.instants import Instant, instant

Sort = TypeVar("Sort", bound=Happening)


@dataclass(frozen=True)
class Question:
    """``sort``: a stable name of what is asked; ``jobs`` and ``hashes``: the jobs and events that it is about, with
    their ``numbers`` in the merged order of the first job; ``step`` is "" where it is about no one step."""

    sort: str
    jobs: tuple[str, ...]
    hashes: tuple[str, ...]
    text: str
    step: str = ""
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True)
class Entry:
    """An event of a job: its number in the merged order, its hash, and the plan that counted then ("" before one)."""

    number: int
    hash: str
    event: Event
    plan: str

    @cached_property
    def at(self) -> Instant | None:
        """When; None where the log says no time that can be read."""
        try:
            return instant(self.event)
        except (ValueError, OverflowError, OSError, StillboreError):
            return None

    @property
    def written(self) -> str:
        return self.event.paper_at or self.event.at


@dataclass
class Book:
    """One job as it is looked through: lines in merged order, every plan and every basis by the plan's version, and how
    kept files are found (StillboreError where one is not at hand)."""

    lines: Sequence[Line]
    plans: Mapping[str, Plan]
    bases: Mapping[str, Basis]
    kept: Callable[[str], bytes] | None = None

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        found, plan = [], ""
        for number, line in enumerate(self.lines):
            what = line.event.happening
            if isinstance(what, (log.Opened, log.Replanned)):
                plan = what.plan
            found.append(Entry(number, line.hash, line.event, plan))
        return tuple(found)

    @property
    def job(self) -> str:
        return self.lines[0].event.job

    @cached_property
    def replayed(self) -> bool:
        """Whether the times come from a script: then they show nothing about anybody's haste."""
        return any(what.replayed for _, what in self.of(log.Opened))

    def of(self, kind: type[Sort]) -> Iterator[tuple[Entry, Sort]]:
        """Every event of a kind, with what happened."""
        for entry in self.entries:
            if isinstance(entry.event.happening, kind):
                yield entry, entry.event.happening

    @cached_property
    def done(self) -> dict[str, list[Entry]]:
        """Of each step, every time that it was done."""
        found: dict[str, list[Entry]] = {}
        for entry, what in self.of(log.Done):
            found.setdefault(what.step, []).append(entry)
        return found

    @cached_property
    def people(self) -> dict[str, log.Person]:
        """Everybody who was ever on the job."""
        opened = [person for _, what in self.of(log.Opened) for person in what.people]
        return {person.id: person for person in [*opened, *(what.person for _, what in self.of(log.Enrolled))]}

    def plan(self, entry: Entry) -> Plan | None:
        return self.plans.get(entry.plan)

    def basis(self, entry: Entry) -> Basis | None:
        return self.bases.get(entry.plan)

    def step(self, entry: Entry, step: str) -> Step | None:
        found = self.basis(entry)
        return found.step(step) if found else None

    def limit(self, entry: Entry, name: str) -> float | None:
        """The lower end of a limit in SI; None where it is not known."""
        found = self.basis(entry)
        limit = found.limits.get(name) if found else None
        return limit.low if limit else None

    @cached_property
    def answers(self) -> tuple[tuple[Entry, log.Answered, Ask | None], ...]:
        """Every answer as it was given, with its question; what it was corrected to stands in its place."""
        corrected = {what.event: (entry.hash, what) for entry, what in self.of(log.Corrected)}
        found = []
        for entry, what in self.of(log.Answered):
            known = self.basis(entry)
            at = entry.hash
            while at in corrected:  # a correction may be corrected
                at, newer = corrected[at]
                what = replace(what, value=newer.value, verdict=newer.verdict, evidence=newer.evidence)
            found.append((entry, what, known.asks.get(f"{what.step}.{what.ask}") if known else None))
        return tuple(found)

    def gauge_log(self, sha256: str) -> Log | None:
        """A kept gauge log; None where it is not at hand or cannot be read."""
        if self.kept is None:
            return None
        try:
            return read_text(self.kept(sha256).decode("utf-8", errors="replace"), sha256[:12])
        except (InputFaults, StillboreError):
            return None

    def ask(self, sort: str, text: str, *about: Entry, step: str = "") -> Question:
        return Question(sort, (self.job,), tuple(entry.hash for entry in about), text, step,
                        tuple(entry.number for entry in about))


def decimal(value: Value) -> Decimal | None:
    """The number of a value with the digits that were typed; None where there is none."""
    try:
        found = Decimal(value.number) if value.number else None
    except InvalidOperation:
        return None
    return found if found is not None and found.is_finite() else None
