"""The state of a job: what the log comes to. Nothing in it was written by anybody; it is worked out from the events."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

from stillbore.plan.barriers import Element, count
from stillbore.record.events import Kept, Overridden, Person, Signed, Value
from stillbore.run.basis import Basis
from stillbore.run.instants import Instant


@dataclass(frozen=True)
class Answer:
    """An answer as it stands: the hash and number of its event, what was answered, and how it lies to its limit."""

    hash: str
    number: int
    person: str
    at: Instant
    value: Value
    verdict: str
    limit: str
    rule: str
    sentence: str
    evidence: tuple[str, ...]


@dataclass(frozen=True)
class Signature:
    hash: str
    number: int
    person: str
    at: Instant
    signed: Signed


@dataclass(frozen=True)
class Evidence:
    hash: str
    number: int
    person: str
    at: Instant
    kept: Kept


@dataclass(frozen=True)
class Completion:
    """A step that was done: by which event and which step (another where that one repeats it), who signed, under which
    plan, and the barriers after it. ``reopened``: why it no longer stands, or ""."""

    hash: str
    number: int
    step: str
    at: Instant
    people: tuple[str, ...]
    plan: str
    barriers: int
    answers: tuple[Answer, ...] = ()
    reopened: str = ""

    @property
    def stands(self) -> bool:
        return not self.reopened


@dataclass(frozen=True)
class Reading:
    """A reading of the district."""

    hash: str
    number: int
    at: Instant
    value: Value
    place: str


@dataclass(frozen=True)
class Course:
    """Where the barrier count changed: after which event and step, when, to what, and the weakest way."""

    number: int
    step: str
    at: Instant
    barriers: int
    way: tuple[str, ...]


@dataclass(frozen=True)
class Remark:
    """Something to be looked at first when the record is read: where, what, and when."""

    number: int
    step: str
    at: Instant
    what: str


@dataclass
class State:
    """The fold. Changed by ``run.fold`` only; everybody else reads it, and ``step`` works on a copy.

    ``since`` is the event number after which a step's answers, evidence and signatures count: its last completion or
    reopening. ``due``: for a step that was reopened, the later step that does it again. ``watched_at``: the district's
    pressure [Pa gauge] that a let-by watch was done at.
    """

    basis: Basis
    job: str = ""
    number: int = -1
    people: dict[str, Person] = field(default_factory=dict)
    present: dict[str, bool] = field(default_factory=dict)
    monitor: str = ""
    answers: dict[str, Answer] = field(default_factory=dict)
    signatures: dict[str, tuple[Signature, ...]] = field(default_factory=dict)
    evidence: dict[str, tuple[Evidence, ...]] = field(default_factory=dict)
    done: dict[str, Completion] = field(default_factory=dict)
    earlier: tuple[Completion, ...] = ()
    since: dict[str, int] = field(default_factory=dict)
    due: dict[str, str] = field(default_factory=dict)
    elements: dict[str, Element] = field(default_factory=dict)
    barriers: int = 0
    way: tuple[str, ...] = ()
    course: tuple[Course, ...] = ()
    district: tuple[Reading, ...] = ()
    watched_at: dict[str, float] = field(default_factory=dict)
    overrides: dict[str, tuple[int, Overridden]] = field(default_factory=dict)
    different: dict[str, str] = field(default_factory=dict)
    remarks: tuple[Remark, ...] = ()
    refused: int = 0
    stopped: str = ""
    ended: str = ""
    end_reason: str = ""
    replayed: bool = False
    training: bool = False
    latest: dict[str, Instant] = field(default_factory=dict)

    @classmethod
    def begin(cls, basis: Basis) -> State:
        """The state before the first event."""
        made = cls(basis, elements=dict(basis.elements))
        made.barriers, made.way = count(made.elements)
        return made

    def copy(self) -> State:
        """A copy whose dictionaries are its own."""
        made = State.__new__(State)
        for each in fields(self):
            value = getattr(self, each.name)
            setattr(made, each.name, dict(value) if type(value) is dict else value)
        return made

    def stands(self, step: str) -> bool:
        return step in self.done and self.done[step].stands

    def answer(self, key: str) -> Answer | None:
        """The answer of a question in the step's present go, or None."""
        found = self.answers.get(key)
        return found if found and found.number > self.since.get(key.partition(".")[0], -1) else None

    def kept(self, step: str) -> tuple[Evidence, ...]:
        since = self.since.get(step, -1)
        return tuple(each for each in self.evidence.get(step, ()) if each.number > since)

    def signed(self, step: str) -> tuple[Signature, ...]:
        since = self.since.get(step, -1)
        return tuple(each for each in self.signatures.get(step, ()) if each.number > since)

    @property
    def here(self) -> tuple[str, ...]:
        """Who is at the pit."""
        return tuple(sorted(person for person, there in self.present.items() if there))

    @property
    def next_steps(self) -> tuple[str, ...]:
        """Steps of the table that are not done or no longer stand, in order."""
        return tuple(step.id for step in self.basis.steps if not self.stands(step.id))


Bases = Mapping[str, Basis]
