"""What can happen on a job, as small frozen types. The log is a list of them; nothing else is ever written.

An event is an envelope (who, on which device, when by which clock, after which other events) around one ``Happening``.
As JSON it is one object with the fields of ``Event`` and ``format``, ``kind`` and ``version``; ``happening`` holds the
fields of its kind. Values are texts, so that the canonical form is the same everywhere; counts and clocks are whole
numbers. A person is a reference such as ``P1``: names stay outside the log, so that they can be erased.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar

from stillbore.errors import StillboreError

FORMAT = "stillbore event 1"
HOW = ("measured", "record", "assumed", "seen", "judged", "not measured")
EVIDENCE = ("photo", "gauge log", "file")
HASH = re.compile(r"[0-9a-f]{64}")
# datetime.fromisoformat takes more than RFC 3339 has.
RFC_3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)")
# What no reference may have in it: control characters, and those that cannot be seen but change what is seen.
UNSEEN = re.compile("[\\u0000-\\u001f\\u007f-\\u009f\\u200b-\\u200f\\u2028-\\u202e\\u2060-\\u2069\\ufeff]")
LONGEST_TEXT = 4000  # characters; a note is a sentence, a file is kept by its hash


@dataclass(frozen=True)
class Value:
    """A value as it was taken: a number with its unit, or words.

    ``number`` and ``uncertainty`` are decimals as text, with the digits that were typed; ``unit`` as written ("mbar").
    ``text`` is an answer in words. ``how``: one of HOW; "not measured" needs a ``reason``, and is a value; blank is
    not.
    """

    number: str = ""
    uncertainty: str = ""
    unit: str = ""
    text: str = ""
    instrument: str = ""
    how: str = "measured"
    reason: str = ""

    @property
    def written(self) -> str:
        """As a person writes it: ``30.2 +/- 0.3 mbar``, the words, or ``not measured: no echo``."""
        if self.how == "not measured":
            return f"not measured: {self.reason}"
        if not self.number:
            return self.text
        spread = f" +/- {self.uncertainty}" if self.uncertainty else ""
        return f"{self.number}{spread} {self.unit}".rstrip()


@dataclass(frozen=True)
class FileHash:
    """A file by what it is to the job ("survey"), its name, and the SHA-256 of its bytes."""

    kind: str
    name: str
    sha256: str


@dataclass(frozen=True)
class Person:
    """Somebody on the job, by reference, with the public key of that person's own secret (hex; "" where none)."""

    id: str
    role: str
    key: str
    authorisation: str = ""
    expires: str = ""


@dataclass(frozen=True)
class Head:
    """The last event of a device's chain: device, its number, its hash."""

    device: str
    n: int
    hash: str


@dataclass(frozen=True)
class Change:
    """A number of the plan before and after, as shown; "" where it was not there."""

    name: str
    before: str
    after: str


@dataclass(frozen=True)
class Happening:
    """What happened. ``KIND`` names it in the log; ``VERSION`` counts its shapes."""

    KIND: ClassVar[str] = ""
    VERSION: ClassVar[int] = 1


@dataclass(frozen=True)
class Opened(Happening):
    """The first event: which files the job rests on, which plan, who is on it, and the key of the first device.

    ``replayed``: the times come from a script, not from a clock; such a record can never be taken for a live one.
    """

    KIND: ClassVar[str] = "opened"
    files: tuple[FileHash, ...]
    plan: str
    program: str
    people: tuple[Person, ...]
    device_key: str
    replayed: bool = False
    training: bool = False


@dataclass(frozen=True)
class Joined(Happening):
    """The first event of a further device: its key."""

    KIND: ClassVar[str] = "joined"
    device_key: str


@dataclass(frozen=True)
class Enrolled(Happening):
    """Somebody joins the job who was not on it when it was opened."""

    KIND: ClassVar[str] = "enrolled"
    person: Person


@dataclass(frozen=True)
class Present(Happening):
    """Somebody comes to the pit or leaves it."""

    KIND: ClassVar[str] = "present"
    who: str
    here: bool


@dataclass(frozen=True)
class Monitor(Happening):
    """A gas monitor is switched on, bump tested or not, or goes off."""

    KIND: ClassVar[str] = "monitor"
    instrument: str
    on: bool
    bumped: bool


@dataclass(frozen=True)
class Answered(Happening):
    """A question of a step answered. ``verdict`` is "" where nothing is to be judged; ``limit`` as shown then;
    ``rule`` names where the limit comes from; ``evidence``: hashes of kept files the answer rests on."""

    KIND: ClassVar[str] = "answered"
    step: str
    ask: str
    value: Value
    verdict: str = ""
    limit: str = ""
    rule: str = ""
    sentence: str = ""
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True)
class Kept(Happening):
    """A file kept as evidence, by content hash. ``sort``: one of EVIDENCE."""

    KIND: ClassVar[str] = "kept"
    step: str
    sort: str
    sha256: str
    size: int
    name: str
    caption: str = ""


@dataclass(frozen=True)
class Signed(Happening):
    """A person's signature under a step as it stands: ``statement`` is the hash of what was signed (see
    run.statement), ``signature`` is Ed25519 over it by the person's ``key``, both hex."""

    KIND: ClassVar[str] = "signed"
    step: str
    statement: str
    key: str
    signature: str


@dataclass(frozen=True)
class Done(Happening):
    """A step is done."""

    KIND: ClassVar[str] = "done"
    step: str


@dataclass(frozen=True)
class District(Happening):
    """A reading of the district's pressure, a series of its own: the rig gauge cannot see past the stopper."""

    KIND: ClassVar[str] = "district"
    value: Value
    place: str


@dataclass(frozen=True)
class Replanned(Happening):
    """A fact was found different, or a rule changed: the plan from here on, and what changed."""

    KIND: ClassVar[str] = "replanned"
    files: tuple[FileHash, ...]
    plan: str
    reason: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Overridden(Happening):
    """A red passed by a named authoriser, with a reason and that person's own signature over ``statement``."""

    KIND: ClassVar[str] = "overridden"
    step: str
    red: str
    authoriser: str
    reason: str
    statement: str
    key: str
    signature: str


@dataclass(frozen=True)
class Stopped(Happening):
    """Work stops. Always accepted, never scored."""

    KIND: ClassVar[str] = "stopped"
    reason: str


@dataclass(frozen=True)
class Resumed(Happening):
    """Work goes on after a stop."""

    KIND: ClassVar[str] = "resumed"
    reason: str


@dataclass(frozen=True)
class Corrected(Happening):
    """An earlier answer was wrong: names its event by hash, and what it should have been. Nothing is rubbed out."""

    KIND: ClassVar[str] = "corrected"
    event: str
    value: Value
    reason: str
    verdict: str = ""
    limit: str = ""
    rule: str = ""
    sentence: str = ""
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True)
class Refused(Happening):
    """Something that was tried and not accepted: its kind, step, and every reason."""

    KIND: ClassVar[str] = "refused"
    tried: str
    step: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Clock(Happening):
    """A trusted clock was seen: from here on ``offset_s`` of this device's events is known."""

    KIND: ClassVar[str] = "clock"
    trusted: str
    source: str


@dataclass(frozen=True)
class Noted(Happening):
    """A remark in words. No names, nothing about health: it stays in the log for ever."""

    KIND: ClassVar[str] = "noted"
    step: str
    text: str


@dataclass(frozen=True)
class Sealed(Happening):
    """The device's signature on the head of its chain: ``head`` is the hash of the event before this one."""

    KIND: ClassVar[str] = "sealed"
    head: str
    key: str
    signature: str


@dataclass(frozen=True)
class Aborted(Happening):
    """The job ends without its purpose: a proper end, with its reason."""

    KIND: ClassVar[str] = "aborted"
    reason: str


@dataclass(frozen=True)
class Finished(Happening):
    """The job is done; every hold signed, every check answered."""

    KIND: ClassVar[str] = "finished"


KINDS: Mapping[str, type[Happening]] = {kind.KIND: kind for kind in Happening.__subclasses__()}


@dataclass(frozen=True)
class Event:
    """One line of the log.

    ``n``: number in its device's chain, from 0. ``order``: one more than the highest order its device had seen, on any
    chain; the log is read in the order (order, device). ``after``: the heads of other devices' chains that were seen.
    ``at``: the device's own clock, RFC 3339 with offset. ``boot`` and ``tick_ms``: a counter that only goes up, since
    the start named ``boot`` (-1: none). ``offset_s``: seconds to add to ``at``, as text, once a trusted clock was seen.
    ``paper_at``: entered late from paper, done at this time; "" where entered as it happened. ``prev``: hash of the
    device's event before, "" for its first.
    """

    job: str
    device: str
    n: int
    order: int
    person: str
    role: str
    at: str
    happening: Happening
    prev: str = ""
    boot: str = ""
    tick_ms: int = -1
    offset_s: str = ""
    paper_at: str = ""
    after: tuple[Head, ...] = field(default=())

    @property
    def kind(self) -> str:
        return self.happening.KIND


def moment(text: str) -> datetime:
    """An RFC 3339 time with its offset. Raises StillboreError."""
    try:
        found = datetime.fromisoformat(text) if RFC_3339.fullmatch(text) else None
    except ValueError:
        found = None
    if found is None:
        raise StillboreError(f"'{text}' is no time.", "Write it as 2030-05-14T08:20:00+00:00, with its offset.")
    return found
