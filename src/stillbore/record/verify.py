"""What a stranger can find out about a log without trusting anybody who wrote it.

Five states: *verified* (nothing was changed, every device signed its own chain to the end, and the reader knows whose
every key is), *intact, signer unknown* (nothing was changed since it was signed, but by a key the reader does not know
as that person's or device's), *intact, end open* (the chains hold, but nothing says that this is the end, or events
stand in the name of a device that did not sign them), *log intact, pages not proven* (of the PDF of a record: the log
in it holds, and nothing shows that the pages print what it says), *broken*. A seal shows that a record is unchanged;
it does not show that it is true.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from stillbore.errors import InputFaults, StillboreError
from stillbore.record import events as log
from stillbore.record.canonical import canonical
from stillbore.record.chain import Line, footer, footer_message, order
from stillbore.record.events import HASH, Head, moment
from stillbore.record.read import Broken, Exported, broken, no_collecting, printable, read_export

VERIFIED, SIGNER_UNKNOWN, END_OPEN, BROKEN = "verified", "intact, signer unknown", "intact, end open", "broken"
PAGES_NOT_PROVEN = "log intact, pages not proven"
UNCHANGED = "A seal shows that a record is unchanged since it was signed. It does not show that what it says is true."
Check = Callable[[str, bytes, str], bool]
DECLARE = (log.Opened, log.Joined, log.Enrolled)  # what says whose a key is


@dataclass(frozen=True)
class Report:
    """What was found. ``broken_at`` is the number of the first line that does not hold (0 where none); ``unsigned``
    counts the events that no signature of their own device covers; ``unknown`` lists keys that the reader does not know
    as those of whom they stand for, as "P1 (3f2a...)"; ``last`` is the hash of the last event; ``closed``: a signed
    footer says that this is the end."""

    state: str
    job: str
    events: int
    devices: tuple[str, ...]
    last: str
    unsigned: int
    unknown: tuple[str, ...]
    broken_at: int = 0
    why: str = ""
    questions: tuple[str, ...] = ()
    words: str = field(default=UNCHANGED)
    closed: bool = False

    @property
    def sentence(self) -> str:
        """The state in a sentence."""
        if self.state == BROKEN:
            return f"BROKEN. {self.why}"
        said = {VERIFIED: "Verified: nothing was changed, and every key is one that you know.",
                SIGNER_UNKNOWN: "Intact, signer unknown: nothing was changed since it was signed, but you do not know "
                                f"{self.strangers}.",
                PAGES_NOT_PROVEN: "The embedded log is intact; its PAGES ARE NOT PROVEN.",
                END_OPEN: f"Intact, end open. {self.open_end}"
                          + (f" You do not know {self.strangers}." if self.unknown else "")}[self.state]
        return f"{said} {self.why}".rstrip()

    @property
    def open_end(self) -> str:
        """What is open about the end, as one or two sentences."""
        bare = f"{self.unsigned} of {self.events} events are under no signature of the device that they name."
        return bare if self.closed else f"Nothing says that this is the end of the log: it has no signed footer. {bare}"

    @property
    def strangers(self) -> str:
        return ", ".join(self.unknown)


def known_key(kind: str, name: str, key: str) -> str:
    """How a reader says whose a key is: ``known_key("person", "P1", key)``; the kinds are person and device. A key that
    is known as one's own says nothing where it stands for another."""
    return f"{kind} {name} {key}"


def verify(data: bytes, check: Check, known: Collection[str]) -> Report:
    """Verify an exported log. ``check(key, message, signature)`` verifies Ed25519; ``known`` says whose keys the reader
    knows from elsewhere, each as ``known_key`` gives it. Never raises for what the log says."""
    try:
        with no_collecting():
            return verify_lines(read_export(data), check, known)
    except Broken as error:
        return Report(BROKEN, "", 0, (), "", 0, (), int(str(error.about["line"])), error.what)
    except InputFaults as error:
        return Report(BROKEN, "", 0, (), "", 0, (), 1, " ".join(fault.what for fault in error.faults))


def verify_lines(exported: Exported, check: Check, known: Collection[str]) -> Report:
    """Verify a log that was read. Raises Broken."""
    lines, closed = exported.lines, exported.footer is not None
    _ordered(lines)
    keys = _chained(lines)
    signers = [(f"device {device}", f"device {device}", key) for device, key in keys.items()]
    signers += [(person, f"person {person}", key) for person, key in _signed(lines, check).items()]
    under = _sealed_up_to(lines, keys, check, closed)
    if exported.footer is not None:
        by = _footer(exported, exported.footer, check)
        signers.append(("the footer", f"device {by}", exported.key))
        if keys.get(by) == exported.key:
            under[by] = len(lines)  # it has signed all of it once more
    unsigned = sum(line.event.n > under.get(line.event.device, -1) for line in lines)
    unknown = tuple(printable(f"{who} ({key[:8]})") for who, whose, key in signers if f"{whose} {key}" not in known)
    state = END_OPEN if unsigned or not closed else SIGNER_UNKNOWN if unknown else VERIFIED
    return Report(state, lines[0].event.job, len(lines), tuple(sorted(keys)), lines[-1].hash, unsigned, unknown, 0,
                  exported.torn, tuple(_clocks(lines)), closed=closed)


def _ordered(lines: Sequence[Line]) -> None:
    """The lines stand in the declared order, each once, and are of one job."""
    for number, (before, line) in enumerate(zip(lines, lines[1:], strict=False), 2):
        if line.event.job != before.event.job:
            raise broken(number, f"it is of another job, '{line.event.job}'")
        if order(line) <= order(before):
            raise broken(number, "it does not stand in its order, or stands there twice")


def _chained(lines: Sequence[Line]) -> dict[str, str]:
    """Every chain holds: numbers without a gap, hashes that fit, what was seen of others is there. The key that each
    device declared."""
    at: dict[str, Line] = {}
    every: dict[tuple[str, int], Line] = {}
    keys: dict[str, str] = {}
    for number, line in enumerate(lines, 1):
        event, before = line.event, at.get(line.event.device)
        if before is None:
            _first_of_device(event, number)
            keys[event.device] = event.happening.device_key  # type: ignore[attr-defined]
        elif isinstance(event.happening, (log.Opened, log.Joined)):
            raise broken(number, f"the device {event.device} begins twice")
        if event.n != (before.event.n + 1 if before else 0) or event.prev != (before.hash if before else ""):
            raise broken(number, f"it does not follow the event before it on the device {event.device}: one is missing "
                                 "or was put in")
        if before is not None and event.order <= before.event.order:
            raise broken(number, "its order is not beyond that of the event before it on its device")
        for head in event.after:
            _seen(head, every, event.order, number)
        at[event.device] = every[event.device, event.n] = line
    return keys


def _first_of_device(event: log.Event, number: int) -> None:
    wanted = log.Opened if number == 1 else log.Joined
    if not isinstance(event.happening, wanted) or event.n != 0:
        raise broken(number, f"the chain of the device {event.device} does not begin with '{wanted.KIND}'")


def _seen(head: Head, every: Mapping[tuple[str, int], Line], own_order: int, number: int) -> None:
    line = every.get((head.device, head.n))
    if line is None or line.hash != head.hash or line.event.order >= own_order:
        raise broken(number, f"it has seen event {head.n} of the device {head.device}, which is not there or is "
                             "another")


def _signed(lines: Sequence[Line], check: Check) -> dict[str, str]:
    """Every person's signature holds, by the one key declared for that person; nobody has the key of another person or
    of a device, which lies open on that device. The keys of those who signed."""
    keys: dict[str, str] = {}
    owners: dict[str, str] = {}
    used: dict[str, str] = {}
    for number, line in enumerate(lines, 1):
        what = line.event.happening
        for who, key in _declared(line.event) if isinstance(what, DECLARE) else ():
            if not key:
                continue
            other = owners.setdefault(key, who)
            if other != who and not (who.startswith("device ") and other.startswith("device ")):
                raise broken(number, f"{who} and {other} have one key: they are one hand")
            if keys.setdefault(who, key) != key:
                raise broken(number, f"{who} was there before, with another key")
        if isinstance(what, (log.Signed, log.Overridden)):
            person = what.authoriser if isinstance(what, log.Overridden) else line.event.person
            if not what.key or keys.get(f"person {person}") != what.key:
                raise broken(number, f"it is signed with a key that is not that of {person}")
            if not HASH.fullmatch(what.statement) or not check(what.key, bytes.fromhex(what.statement), what.signature):
                raise broken(number, f"the signature of {person} does not hold")
            used[person] = what.key
    return used


def _declared(event: log.Event) -> list[tuple[str, str]]:
    """Whose keys an event declares: (whose, key)."""
    what = event.happening
    people = what.people if isinstance(what, log.Opened) else (what.person,) if isinstance(what, log.Enrolled) else ()
    device = [(f"device {event.device}", what.device_key)] if isinstance(what, (log.Opened, log.Joined)) else []
    return device + [(f"person {person.id}", person.key) for person in people]


def _sealed_up_to(lines: Sequence[Line], keys: Mapping[str, str], check: Check, closed: bool) -> dict[str, int]:
    """Up to which number each chain is under its own device's signature. That another device has seen and sealed it
    keeps it from being changed, but not from having been put into this device's mouth. A seal does not cover its own
    time; in a closed log the footer keeps that from being changed, so there it counts as covered."""
    under: dict[str, int] = {}
    for number, line in enumerate(lines, 1):
        event, what = line.event, line.event.happening
        if isinstance(what, log.Sealed):
            if what.head != event.prev or what.key != keys[event.device]:
                raise broken(number, f"it does not seal the head of the device {event.device} with that device's key")
            if not check(what.key, bytes.fromhex(what.head), what.signature):
                raise broken(number, f"the seal of the device {event.device} does not hold")
            under[event.device] = event.n if closed else event.n - 1
    return under


def _footer(exported: Exported, body: Mapping[str, object], check: Check) -> str:
    """The footer says what the log is, and nothing else; its signature holds. On which device it was made."""
    number = len(exported.lines) + 1
    at, by = body.get("at"), body.get("by")
    if not isinstance(at, str) or not isinstance(by, str) or not by:
        raise broken(number, "the footer does not say when and on which device it was made")
    try:
        moment(at)
    except StillboreError as error:
        raise broken(number, f"the footer's time does not hold: {error.what.rstrip('.')}") from None
    wanted = footer(exported.lines, at, by)
    if canonical(body) != canonical(wanted):
        wrong = sorted(name for name in body.keys() | wanted.keys() if body.get(name) != wanted.get(name))
        raise broken(number, f"the footer does not agree with the log in: {', '.join(wrong) or 'how it is written'}")
    if not check(exported.key, footer_message(body), exported.signature):
        raise broken(number, "the signature of the footer does not hold")
    return by


def _clocks(lines: Sequence[Line]) -> Iterator[str]:
    """Clocks that went back, as questions."""
    last: dict[str, Line] = {}
    for line in lines:
        before = last.get(line.event.device)
        if before and line.event.at != before.event.at and moment(line.event.at) < moment(before.event.at):
            yield (f"The clock of the device {line.event.device} went back from {before.event.at} to {line.event.at} "
                   f"before its event {line.event.n}. Was it set?")
        last[line.event.device] = line


