"""A log walked through once: what the record document tells, worked out from the events and from nothing else.

Nothing here depends on who reads or when: a stranger with the log and its files gets the same story, which is how the
paper is checked against the log that is embedded in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from stillbore.plan import Plan
from stillbore.plan.barriers import Element
from stillbore.record import events as log
from stillbore.record.answers import questions_answered
from stillbore.record.chain import Line
from stillbore.record.events import Event
from stillbore.record.read import Exported
from stillbore.record.verify import Check, Report, verify_lines
from stillbore.run.basis import Basis, Step
from stillbore.run.files import basis_again, plan_again, recomputed
from stillbore.run.fold import apply
from stillbore.run.instants import Instant, elapsed, instant
from stillbore.run.procedure_barriers import ways_out
from stillbore.run.question import Question
from stillbore.run.questions import questions
from stillbore.run.state import Answer, Completion, Signature, State
from stillbore.run.step import audit

Kept = Callable[[str], bytes]


@dataclass(frozen=True)
class Rested:
    """What a step rested on when it was done: another step, how old that was [s] (None: clocks contradict, or not
    done), and how long it counts, as shown ("" where it does not go stale)."""

    step: str
    age: float | None
    done: bool
    counts_for: str


@dataclass(frozen=True)
class Go:
    """A step done once: with which answers, by key, and which signatures, and what it rested on then."""

    step: Step
    completion: Completion
    event: Event
    answers: tuple[tuple[str, Answer], ...]
    signatures: tuple[Signature, ...]
    rested: tuple[Rested, ...]


@dataclass(frozen=True)
class Reopening:
    """A step that no longer stood, from an event on, and why."""

    number: int
    step: str
    at: Instant
    why: str


@dataclass(frozen=True)
class Window:
    """A one-barrier window: ways out into the pit that were open or not proved, and the one proved element that held
    the gas alone. ``closed_by`` is "" and ``until`` None where the log ends in it."""

    holder: str
    ends: tuple[str, ...]
    opened_by: str
    at: Instant
    closed_by: str = ""
    until: Instant | None = None

    @property
    def length(self) -> float | None:
        """Seconds; None where it is open, or clocks contradict each other."""
        return elapsed(self.at, self.until) if self.until else None


@dataclass
class Story:
    """Everything that the document is made of."""

    exported: Exported
    kept: Kept
    check: Check
    plans: dict[str, Plan] = field(default_factory=dict)
    bases: dict[str, Basis] = field(default_factory=dict)
    goes: list[Go] = field(default_factory=list)
    reopenings: list[Reopening] = field(default_factory=list)
    windows: list[Window] = field(default_factory=list)
    differed: set[str] = field(default_factory=set)  # questions whose answer was ever other than the survey
    said: list[str] = field(default_factory=list)
    state: State = field(init=False)

    def __post_init__(self) -> None:
        for what in self.rests_on_files():
            self.plans[what.plan] = plan_again(what.files, self.kept)
            self.bases[what.plan] = basis_again(what, self.kept)
            self.said += filter(None, [recomputed(what, self.kept, self.plans[what.plan])])
        self._walk()

    @property
    def lines(self) -> Sequence[Line]:
        return self.exported.lines

    @property
    def plan(self) -> Plan:
        """The plan that counted at the end."""
        return self.plans[self.state.basis.plan]

    @property
    def first_plan(self) -> Plan:
        return self.plans[self.opened.plan]

    @property
    def opened(self) -> log.Opened:
        what = self.lines[0].event.happening
        assert isinstance(what, log.Opened)  # verify_lines has seen to it
        return what

    def rests_on_files(self) -> Iterator[log.Opened | log.Replanned]:
        """Every event that names files and a plan."""
        for line in self.lines:
            if isinstance(line.event.happening, (log.Opened, log.Replanned)):
                yield line.event.happening

    @cached_property
    def verification(self) -> Report:
        """What can be said without a key list: whose a key is, the document cannot know. Raises Broken."""
        return verify_lines(self.exported, self.check, ())

    @cached_property
    def asked(self) -> list[Question]:
        return questions(self.lines, self.plans, self.bases, self.kept)

    @cached_property
    def would_be_refused(self) -> list[tuple[int, Event, tuple[str, ...]]]:
        return audit(((line.hash, line.event) for line in self.lines), self.bases, self.check)

    @cached_property
    def keys(self) -> dict[str, str]:
        """The question of each answer by the hash of its event."""
        return questions_answered(self.lines)

    @cached_property
    def began(self) -> Instant:
        return instant(self.lines[0].event)

    def of(self, *kinds: type[log.Happening]) -> Iterator[tuple[int, Line]]:
        """Events of some kinds with their numbers in the merged order."""
        for number, line in enumerate(self.lines):
            if isinstance(line.event.happening, kinds):
                yield number, line

    def step(self, name: str) -> Step | None:
        return self.state.basis.step(name) or next((found for each in self.bases.values()
                                                    if (found := each.step(name))), None)

    # The walk

    def _walk(self) -> None:
        self.state = state = State.begin(self.bases[self.opened.plan])
        elements: Mapping[str, Element] = dict(state.elements)
        opened, unended = False, dict[str, Window]()
        for line in self.lines:
            before = dict(state.done)
            step = state.basis.step(getattr(line.event.happening, "step", ""))
            finished = step if isinstance(line.event.happening, log.Done) else None
            signed = state.signed(finished.id) if finished else ()
            rested = tuple(_rested(state, finished, instant(line.event))) if finished else ()
            apply(state, line.hash, line.event, self.bases)
            if finished:
                completion = state.done[finished.id]
                answers = tuple((self.keys[answer.hash], answer) for answer in completion.answers)
                self.goes.append(Go(finished, completion, line.event, answers, signed, rested))
                opened = opened or bool(finished.touched("opens"))
            self.differed.update(state.different)
            self._opened_again(before)
            if state.elements != elements:
                elements = dict(state.elements)
                if opened:
                    self._windows(unended, finished.id if finished else "", instant(line.event))
        self.windows += unended.values()

    def _opened_again(self, before: Mapping[str, Completion]) -> None:
        for name, completion in self.state.done.items():
            old = before.get(name)
            if completion.reopened and not (old and old.reopened):
                at = instant(self.lines[self.state.number].event)
                self.reopenings.append(Reopening(self.state.number, name, at, completion.reopened))

    def _windows(self, unended: dict[str, Window], step: str, at: Instant) -> None:
        """Windows that begin or end with a step. One holder, one window, however many ways out there are."""
        now: dict[str, list[str]] = {}
        for way in ways_out(self.state.elements):
            if len(way.held_by) == 1:
                now.setdefault(way.held_by[0], []).append(way.end)
        for holder in [holder for holder in unended if holder not in now]:
            window = unended.pop(holder)
            self.windows.append(Window(holder, window.ends, window.opened_by, window.at, step, at))
        for holder, ends in now.items():
            old = unended.get(holder, Window(holder, (), step, at))
            unended[holder] = Window(holder, tuple(dict.fromkeys((*old.ends, *ends))), old.opened_by, old.at)


def _rested(state: State, step: Step, now: Instant) -> Iterator[Rested]:
    for name in step.rests_on:
        other, completion = state.basis.step(name), state.done.get(name)
        limit = state.basis.limits.get(f"rules.{other.counts_for}") if other and other.counts_for else None
        age = elapsed(completion.at, now) if completion else None
        yield Rested(name, age, completion is not None, limit.text if limit else "")
