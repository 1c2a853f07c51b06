"""What a stranger can find out about a log without trusting anybody who wrote it.

Four states: *verified* (nothing was changed, and every key in it is one that the reader knows), *intact, signer
unknown* (nothing was changed since it was signed, but by a key the reader does not know), *intact, end open* (the chain
holds, but nothing says that this is the end of it), *broken*. A seal shows that a record is unchanged; it does not show
that it is true.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from stillbore.errors import InputFaults
from stillbore.record import events as log
from stillbore.record.chain import Line, footer_message, hash_of_hashes, head_of, order
from stillbore.record.events import HASH, Head, moment
from stillbore.record.read import Broken, Exported, broken, read_export

VERIFIED, SIGNER_UNKNOWN, END_OPEN, BROKEN = "verified", "intact, signer unknown", "intact, end open", "broken"
UNCHANGED = "A seal shows that a record is unchanged since it was signed. It does not show that what it says is true."
Check = Callable[[str, bytes, str], bool]


@dataclass(frozen=True)
class Report:
    """What was found. ``broken_at`` is the number of the first line that does not hold (0 where none); ``unsigned``
    counts the events under no signature; ``unknown`` lists keys that the reader does not know, as "P1 (3f2a...)";
    ``last`` is the hash of the last event."""

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

    @property
    def sentence(self) -> str:
        """The state in a sentence."""
        if self.state == BROKEN:
            return f"BROKEN. {self.why}"
        said = {VERIFIED: "Verified: nothing was changed, and every key is one that you know.",
                SIGNER_UNKNOWN: "Intact, signer unknown: nothing was changed since it was signed, but you do not know "
                                f"{', '.join(self.unknown)}.",
                END_OPEN: f"Intact, end open: nothing says that this is the end. {self.unsigned} of {self.events} "
                          "events are under no signature."}[self.state]
        return f"{said} {self.why}".rstrip()


def verify(data: bytes, check: Check, known: Collection[str]) -> Report:
    """Verify an exported log. ``check(key, message, signature)`` verifies Ed25519; ``known`` are the public keys (hex)
    that the reader knows from elsewhere. Never raises for what the log says."""
    try:
        exported = read_export(data)
        return verify_lines(exported, check, known)
    except Broken as error:
        return Report(BROKEN, "", 0, (), "", 0, (), int(str(error.about["line"])), error.what)
    except InputFaults as error:
        return Report(BROKEN, "", 0, (), "", 0, (), 1, " ".join(fault.what for fault in error.faults))


def verify_lines(exported: Exported, check: Check, known: Collection[str]) -> Report:
    """Verify a log that was read. Raises Broken."""
    lines = exported.lines
    _ordered(lines)
    keys = _chained(lines)
    signers = _signed(lines, keys, check)
    under = _signed_up_to(lines, keys, check)
    unsigned = sum(line.event.n > under.get(line.event.device, -1) for line in lines)
    signers = {**{f"device {device}": key for device, key in keys.items()}, **signers}
    if exported.footer is not None:
        _footer(exported, check)
        signers["the footer"] = exported.key
        unsigned = 0
    unknown = tuple(f"{who} ({key[:8]})" for who, key in signers.items() if key not in known)
    state = END_OPEN if exported.footer is None else SIGNER_UNKNOWN if unknown else VERIFIED
    return Report(state, lines[0].event.job, len(lines), tuple(sorted(keys)), lines[-1].hash, unsigned, unknown, 0,
                  exported.torn, tuple(_clocks(lines)))


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


def _signed(lines: Sequence[Line], keys: Mapping[str, str], check: Check) -> dict[str, str]:
    """Every person's signature holds, by the key declared for that person; two people never have one key. The keys of
    those who signed."""
    people: dict[str, str] = {}
    used: dict[str, str] = {}
    for number, line in enumerate(lines, 1):
        what = line.event.happening
        declared = what.people if isinstance(what, log.Opened) else (what.person,) if isinstance(what, log.Enrolled) \
            else ()
        for person in declared:
            other = next((each for each, key in people.items() if key and key == person.key and each != person.id), "")
            if other:
                raise broken(number, f"{person.id} and {other} have one key: they are one hand")
            people[person.id] = person.key
        if isinstance(what, (log.Signed, log.Overridden)):
            who = what.authoriser if isinstance(what, log.Overridden) else line.event.person
            if not what.key or people.get(who) != what.key:
                raise broken(number, f"it is signed with a key that is not that of {who}")
            if not HASH.fullmatch(what.statement) or not check(what.key, bytes.fromhex(what.statement), what.signature):
                raise broken(number, f"the signature of {who} does not hold")
            used[who] = what.key
    return used


def _signed_up_to(lines: Sequence[Line], keys: Mapping[str, str], check: Check) -> dict[str, int]:
    """Up to which number each chain is under a signature of its device: by its own, and by those that saw its head."""
    under: dict[str, int] = {}
    seen: dict[str, dict[str, int]] = {}
    for number, line in enumerate(lines, 1):
        event, what = line.event, line.event.happening
        of_device = seen.setdefault(event.device, {})
        for head in event.after:
            of_device[head.device] = max(of_device.get(head.device, -1), head.n)
        if isinstance(what, log.Sealed):
            if what.head != event.prev or what.key != keys[event.device]:
                raise broken(number, f"it does not seal the head of the device {event.device} with that device's key")
            if not check(what.key, bytes.fromhex(what.head), what.signature):
                raise broken(number, f"the seal of the device {event.device} does not hold")
            under[event.device] = event.n - 1
            for device, n in of_device.items():
                under[device] = max(under.get(device, -1), n)
    return under


def _footer(exported: Exported, check: Check) -> None:
    body, lines = exported.footer or {}, exported.lines
    number = len(lines) + 1
    last_of = {line.event.device: line for line in lines}
    heads = [{"device": head.device, "n": head.n, "hash": head.hash}
             for head in (head_of(last_of[device]) for device in sorted(last_of))]
    wanted = {"job": lines[0].event.job, "count": len(lines), "heads": heads, "last": lines[-1].hash,
              "all": hash_of_hashes(lines)}
    wrong = [name for name, value in wanted.items() if body.get(name) != value]
    if wrong:
        raise broken(number, f"the footer does not agree with the log in: {', '.join(wrong)}")
    if not check(exported.key, footer_message(body), exported.signature):
        raise broken(number, "the signature of the footer does not hold")


def _clocks(lines: Sequence[Line]) -> Iterator[str]:
    """Clocks that went back, as questions."""
    last: dict[str, Line] = {}
    for line in lines:
        before = last.get(line.event.device)
        if before and line.event.at != before.event.at and moment(line.event.at) < moment(before.event.at):
            yield (f"The clock of the device {line.event.device} went back from {before.event.at} to {line.event.at} "
                   f"before its event {line.event.n}. Was it set?")
        last[line.event.device] = line


