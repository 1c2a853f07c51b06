"""Chains of hashes: one for each device, merged in one declared order, closed by a signed footer.

A line of an exported log is the canonical form of ``{"event": {...}, "hash": "..."}``; the hash is SHA-256 of the
canonical bytes of the event, which names the hash of its device's event before. The last line is the footer.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from stillbore.record.canonical import canonical
from stillbore.record.events import Event, Head
from stillbore.record.plain import to_data

FOOTER_FORMAT = "stillbore footer 1"
BEFORE, BETWEEN, BEHIND = b'{"event":', b',"hash":"', b'"}'


@dataclass(frozen=True)
class Line:
    """An event with its hash (hex) and the bytes of its line, without the line end."""

    event: Event
    hash: str
    raw: bytes


def seal_line(event: Event) -> Line:
    """The line of an event."""
    body = canonical(to_data(event))
    hash = hashlib.sha256(body).hexdigest()
    return Line(event, hash, BEFORE + body + BETWEEN + hash.encode() + BEHIND)


def order(line: Line) -> tuple[int, str, int]:
    """What lines are put in order by: the declared order, then the device."""
    return line.event.order, line.event.device, line.event.n


def merged(lines: Iterable[Line]) -> list[Line]:
    """Lines of one job in the declared order; a line that is there twice counts once."""
    return sorted({line.hash: line for line in lines}.values(), key=order)


class Chains:
    """The heads of a job's chains, kept up line by line, so that the next event finds its place at once."""

    def __init__(self, lines: Iterable[Line] = ()) -> None:
        self.heads: dict[str, Line] = {}
        for line in lines:
            self.add(line)

    def add(self, line: Line) -> None:
        head = self.heads.get(line.event.device)
        if head is None or line.event.n > head.event.n:
            self.heads[line.event.device] = line

    def place(self, device: str) -> tuple[int, int, str, tuple[Head, ...]]:
        """Where a device's next event goes: its ``n``, ``order``, ``prev`` and ``after``."""
        own = self.heads.get(device)
        others = tuple(head_of(line) for name, line in sorted(self.heads.items()) if name != device)
        highest = max((line.event.order for line in self.heads.values()), default=-1)
        return (own.event.n + 1 if own else 0), highest + 1, (own.hash if own else ""), others


def head_of(line: Line) -> Head:
    return Head(line.event.device, line.event.n, line.hash)


def footer(lines: Sequence[Line], at: str, by: str) -> dict[str, object]:
    """What an export ends with: how many events, every chain's head, the hash of the last line and of all hashes, when
    it was exported and on which device."""
    heads = [head_of(line) for _, line in sorted(Chains(lines).heads.items())]
    return {"format": FOOTER_FORMAT, "job": lines[0].event.job, "count": len(lines),
            "heads": [{"device": head.device, "n": head.n, "hash": head.hash} for head in heads],
            "last": lines[-1].hash, "all": hash_of_hashes(lines), "at": at, "by": by}


def hash_of_hashes(lines: Iterable[Line]) -> str:
    return hashlib.sha256("".join(line.hash for line in lines).encode()).hexdigest()


def footer_message(body: Mapping[str, object]) -> bytes:
    """What is signed of a footer."""
    return hashlib.sha256(canonical(body)).digest()


def export(lines: Iterable[Line], at: str, by: str, key: str, sign: Callable[[bytes], str]) -> bytes:
    """A whole log as JSON Lines, closed by a footer signed with the device's key (hex)."""
    ordered = merged(lines)
    body = footer(ordered, at, by)
    last = canonical({"footer": body, "key": key, "signature": sign(footer_message(body))})
    return b"".join(line.raw + b"\n" for line in ordered) + last + b"\n"
