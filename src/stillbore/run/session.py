"""A device at work on a job: what is tried becomes an event if it is accepted, and a logged refusal if it is not.

Disk, clock, keys and signing are passed in; this part decides nothing and only brings the pieces together, so that the
same code serves the command line, the depot and the browser.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

from stillbore.errors import StillboreError
from stillbore.plan import Plan
from stillbore.record import events as log
from stillbore.record.chain import Chains, Line, merged, seal_line
from stillbore.record.events import Event, Happening, Person, Value
from stillbore.run.answers import BY_GAUGE_LOG, judge
from stillbore.run.basis import Basis, Step, basis
from stillbore.run.files import basis_again, changes, files_again, files_of, plan_again, plan_kept
from stillbore.run.fold import apply, fold
from stillbore.run.gauge_log import Conditions, judge_log, log_of
from stillbore.run.instants import instant
from stillbore.run.kept_plan import kept_plan
from stillbore.run.newer import Newer, newer
from stillbore.run.requirements import not_ready
from stillbore.run.statement import override_statement, statement
from stillbore.run.step import Check, Moved, Refused, step
from stillbore.verdicts import NOT_PROVEN


class Shelf(Protocol):
    """What a session needs of a store: lines in merged order, one more line on disk, and files by content hash."""

    def lines(self, job: str) -> list[Line]: ...
    def append(self, line: Line) -> None: ...
    def keep(self, data: bytes) -> str: ...
    def kept(self, sha256: str) -> bytes: ...


@dataclass(frozen=True)
class Now:
    """What the device's clocks say: RFC 3339 time, name of the start that the counter counts from, counter [ms]."""

    at: str
    boot: str = ""
    tick_ms: int = -1


@dataclass(frozen=True)
class Device:
    """The device: its name, its public key, and how it signs (hex)."""

    name: str
    key: str
    sign: Callable[[bytes], str]


@dataclass(frozen=True)
class Hand:
    """Who is acting, in which role, when; ``paper_at``: entered late from paper, done then."""

    person: str
    role: str
    paper_at: str = ""


class Session:
    """One device's view of one job."""

    def __init__(self, shelf: Shelf, job: str, device: Device, clock: Callable[[], Now], check: Check) -> None:
        self.shelf, self.job, self.device, self.clock, self.check = shelf, job, device, clock, check
        self.lines = list(shelf.lines(job))
        if not self.lines:
            raise StillboreError(f"There is no job '{job}' in this store.", "Start it with: stillbore run start")
        self.bases: dict[str, Basis] = {}
        self.offset_s = ""  # to a trusted clock, once this device has seen one
        self.chains = Chains(self.lines)
        for line in self.lines:
            self._learn(line.event)
        self.state = fold(((line.hash, line.event) for line in self.lines), self.bases)

    @classmethod
    def start(cls, shelf: Shelf, plan: Plan, hand: Hand, people: tuple[Person, ...], device: Device,
              clock: Callable[[], Now], check: Check, *, program: str, replayed: bool = False,
              training: bool = False) -> Session:
        """Open a job from a plan. Raises StillboreError where the store has it already."""
        job = str(plan.survey.value("job.id"))
        if shelf.lines(job):
            raise StillboreError(f"The job '{job}' is in this store already.", "Go on with it, or take another store.")
        kept = files_of(plan)
        for _, data in kept:
            shelf.keep(data)
        opened = log.Opened(tuple(file for file, _ in kept), plan.version, program, people, device.key, replayed,
                            training)
        now = clock()
        event = Event(job, device.name, 0, 0, hand.person, hand.role, now.at, opened, "", now.boot, now.tick_ms)
        shelf.append(seal_line(event))
        return cls(shelf, job, device, clock, check)

    def _learn(self, event: Event) -> None:
        what = event.happening
        if isinstance(what, (log.Opened, log.Replanned)) and what.plan not in self.bases:
            self.bases[what.plan] = basis_again(what, self.shelf.kept)
        if isinstance(what, log.Clock) and event.device == self.device.name:
            seconds = (log.moment(what.trusted) - log.moment(event.at)).total_seconds()
            self.offset_s = format(seconds, ".3f")

    # What is tried

    def attempt(self, what: Happening, hand: Hand) -> Moved | Refused:
        """Try something: it is on disk when this returns, as itself or as what was refused."""
        event = self._event(what, hand)
        line = seal_line(event)
        found = step(self.state, line.hash, event, self.bases, self.check)
        if isinstance(found, Refused):
            refused = log.Refused(what.KIND, getattr(what, "step", ""), found.reasons)
            self._write(seal_line(self._event(refused, replace(hand, paper_at=""))))
            return found
        self._write(line)
        if self._is_weighty(what):
            self.seal(replace(hand, paper_at=""))
        return Moved(self.state)

    def _is_weighty(self, what: Happening) -> bool:
        """Whether the head is signed at once: behind a hard hold, a stop, a new plan and the end, so that what matters
        most is never long under no signature."""
        step = self.state.basis.step(what.step) if isinstance(what, log.Done) else None
        return (step is not None and step.hold > 0) or isinstance(what, (log.Stopped, log.Replanned, log.Aborted,
                                                                         log.Finished))

    def _event(self, what: Happening, hand: Hand) -> Event:
        now = self.clock()
        n, order, prev, after = self.chains.place(self.device.name)
        return Event(self.job, self.device.name, n, order, hand.person, hand.role, now.at, what, prev, now.boot,
                     now.tick_ms, self.offset_s, hand.paper_at, after)

    def _write(self, line: Line) -> None:
        self.shelf.append(line)
        self.lines.append(line)
        self.chains.add(line)
        self._learn(line.event)
        apply(self.state, line.hash, line.event, self.bases)

    def step(self, step_id: str) -> Step:
        """A step of the order of work. Raises StillboreError."""
        found = self.state.basis.step(step_id)
        if found is None:
            raise StillboreError(f"There is no step '{step_id}' in this order of work.",
                                 "List them with: stillbore run show --all")
        return found

    def against(self, step: Step) -> list[str]:
        """What stands against a step now, by the device's clock; signatures left aside."""
        now = self.clock()
        here = replace(self.lines[-1].event, device=self.device.name, at=now.at, boot=now.boot, tick_ms=now.tick_ms,
                       offset_s=self.offset_s, paper_at="")
        return not_ready(self.state, step, instant(here))

    def join(self, hand: Hand) -> None:
        """Say that this device is on the job, before its first event."""
        if not any(line.event.device == self.device.name for line in self.lines):
            self._write(seal_line(self._event(log.Joined(self.device.key), hand)))

    def answer(self, step_id: str, name: str, value: Value, hand: Hand) -> Moved | Refused:
        """Answer a question; the verdict follows from the value and the plan's limits."""
        ask = self.state.basis.asks.get(f"{self.step(step_id).id}.{name}")
        judged = judge(self.state, ask, value) if ask and _judgeable(ask.sort, value) else None
        verdict = judged.verdict if judged else NOT_PROVEN if ask and ask.sort in BY_GAUGE_LOG else ""
        return self.attempt(log.Answered(step_id, name, value, verdict, judged.limit if judged else "",
                                         judged.rule if judged else "", judged.sentence if judged else ""), hand)

    def keep(self, step_id: str, sort: str, data: bytes, name: str, caption: str, hand: Hand) -> Moved | Refused:
        """Keep a file as evidence of a step, by its hash."""
        self.step(step_id)
        sha256 = self.shelf.keep(data)
        return self.attempt(log.Kept(step_id, sort, sha256, len(data), name, caption), hand)

    def gauge_log(self, step_id: str, name: str, data: bytes, file_name: str, conditions: Conditions,
                  hand: Hand) -> Moved | Refused:
        """Keep a gauge log and answer a question by what the gauge's judge makes of it."""
        ask = self.state.basis.asks.get(f"{self.step(step_id).id}.{name}")
        if ask is None or ask.sort not in BY_GAUGE_LOG:
            raise StillboreError(f"{step_id} asks nothing by the name '{name}' that a gauge log answers.",
                                 "See what is asked with: stillbore run show")
        text = data.decode("utf-8", errors="replace")
        value, judged = judge_log(self.state, ask, log_of(self.state, text, file_name), conditions)
        kept = self.keep(step_id, "gauge log", data, file_name, ask.about, hand)
        if isinstance(kept, Refused):
            return kept
        return self.attempt(log.Answered(step_id, name, value, judged.verdict, judged.limit, judged.rule,
                                         judged.sentence[:log.LONGEST_TEXT], (hashlib.sha256(data).hexdigest(),)), hand)

    def sign(self, step_id: str, hand: Hand, key: str, sign: Callable[[bytes], str]) -> Moved | Refused:
        """Sign a step as it stands with a person's own secret."""
        wanted = statement(self.state, self.step(step_id), hand.person)
        return self.attempt(log.Signed(step_id, wanted, key, sign(bytes.fromhex(wanted))), hand)

    def override(self, step_id: str, red: str, reason: str, authoriser: str, hand: Hand, key: str,
                 sign: Callable[[bytes], str]) -> Moved | Refused:
        """Pass a red on the word of an authoriser, who signs it; ``hand`` is the second person, who enters it."""
        wanted = override_statement(self.state, self.step(step_id).id, red, reason, authoriser)
        return self.attempt(log.Overridden(step_id, red, authoriser, reason, wanted, key,
                                           sign(bytes.fromhex(wanted))), hand)

    def correct(self, key: str, value: Value, reason: str, hand: Hand) -> Moved | Refused:
        """Correct an answer; the old one stays in the log."""
        ask, old = self.state.basis.asks.get(key), self.state.answers.get(key)
        if ask is None or old is None:
            raise StillboreError(f"There is no answer '{key}' to correct.", "Write it as STEP.NAME, as B6.pressure.")
        judged = judge(self.state, ask, value)
        return self.attempt(log.Corrected(old.hash, value, reason, judged.verdict, judged.limit, judged.rule,
                                          judged.sentence), hand)

    def replan(self, plan: Plan, reason: str, hand: Hand) -> Moved | Refused:
        """A new plan, from changed files; the state says afterwards which holds it has reopened."""
        for _, data in files_of(plan):
            self.shelf.keep(data)
        self.bases.setdefault(plan.version, basis(plan))
        files = tuple(file for file, _ in files_of(plan))
        changed = changes(plan_kept(self.planned.files, self.shelf.kept), kept_plan(plan))
        return self.attempt(log.Replanned(files, plan.version, reason, changed), hand)

    @property
    def planned(self) -> log.Opened | log.Replanned:
        """What named the plan that counts now."""
        return next(line.event.happening for line in reversed(self.lines)
                    if isinstance(line.event.happening, (log.Opened, log.Replanned)))

    def plan(self) -> Plan:
        """The plan of the kept files as this program works it out: to be looked at. The job goes by the basis."""
        return plan_again(self.planned.files, self.shelf.kept)

    def newer(self) -> tuple[Newer, ...]:
        """What this program has otherwise than the job goes by; nothing where the job has ended."""
        files, kept = self.planned.files, self.shelf.kept
        return () if self.state.ended else newer(files_again(files, kept), plan_kept(files, kept))

    def seal(self, hand: Hand) -> None:
        """Sign the head of this device's chain."""
        head = next((line.hash for line in reversed(self.lines) if line.event.device == self.device.name), "")
        if head:
            self._write(seal_line(self._event(log.Sealed(head, self.device.key, self.device.sign(bytes.fromhex(head))),
                                              hand)))

    def refresh(self) -> None:
        """Take in what other devices have written since."""
        self.lines = merged(self.shelf.lines(self.job))
        self.chains = Chains(self.lines)
        for line in self.lines:
            self._learn(line.event)
        self.state = fold(((line.hash, line.event) for line in self.lines), self.bases)


def _judgeable(sort: str, value: Value) -> bool:
    return sort not in BY_GAUGE_LOG or value.how == "not measured"
