"""Reading an exported log: strictly, byte for byte, and from the hands of a stranger."""

from __future__ import annotations

import gc
import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from stillbore.errors import Fault, InputFaults, StillboreError
from stillbore.record.canonical import canonical
from stillbore.record.chain import BEFORE, BEHIND, BETWEEN, Line
from stillbore.record.events import HASH, LONGEST_TEXT
from stillbore.record.plain import from_data

LARGEST_LOG = 400_000_000  # bytes
LONGEST_LINE = 200_000
LONGEST_SHOWN = 400  # characters of a sentence that a log has its words in
FOOTER = b'{"footer":'
# The same bytes as ``canonical`` for all that an event can hold (no float, no key beyond ASCII), and much quicker.
QUICK = json.JSONEncoder(check_circular=False, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
PARSE = json.JSONDecoder().raw_decode  # what json.loads comes to, without looking for blanks that may not be there
MEND = "Ask for the log again, from the store it was written in."


@dataclass(frozen=True)
class Exported:
    """A log as it was handed over: its lines as they stand, the footer with its key and signature (or None), and what
    is wrong with the end ("" where nothing is)."""

    lines: tuple[Line, ...]
    footer: dict[str, object] | None
    key: str
    signature: str
    torn: str


class Broken(StillboreError):
    """A line that does not hold. ``about['line']`` is its number, from 1."""


def broken(number: int, why: str) -> Broken:
    return Broken(f"Line {number} of the log does not hold: {printable(why)}.", MEND, line=number)


def printable(text: str) -> str:
    """Words of a log as they may be shown: no log writes its own verdict on a terminal by moving the cursor."""
    shown = text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}..."
    return "".join(each if each.isprintable() else f"\\u{ord(each):04x}" for each in shown)


def read_line(raw: bytes, number: int = 1) -> Line:
    """One line. It must be canonical to the byte, its hash must be the event's, and the event must be one. Broken."""
    if len(raw) > LONGEST_LINE:
        raise broken(number, f"it is longer than {LONGEST_LINE} bytes")
    hash_at = len(raw) - len(BEHIND) - 64
    if not (raw.startswith(BEFORE) and raw.endswith(BEHIND) and raw[hash_at - len(BETWEEN):hash_at] == BETWEEN):
        raise broken(number, "it is not an event with its hash")
    body, written = raw[len(BEFORE):hash_at - len(BETWEEN)], raw[hash_at:-len(BEHIND)].decode("ascii", "replace")
    if not HASH.fullmatch(written) or hashlib.sha256(body).hexdigest() != written:
        raise broken(number, "its hash is not that of its event; something in it was changed")
    try:
        text = body.decode("utf-8")
        data, end = PARSE(text)
        if end != len(text) or (QUICK.encode(data) != text and canonical(data) != body):
            raise broken(number, "it is not in canonical form")
        return Line(from_data(data, short=len(body) <= LONGEST_TEXT), written, raw)
    except Broken:
        raise
    except StillboreError as error:
        raise broken(number, f"{error.what.rstrip('.')}") from None
    except (ValueError, RecursionError, OverflowError):
        raise broken(number, "it is no JSON in UTF-8") from None


def split(data: bytes) -> Iterator[tuple[int, bytes, bool]]:
    """The lines with their numbers; and whether each has its line end."""
    start, number = 0, 0
    while start < len(data):
        number += 1
        end = data.find(b"\n", start)
        if end < 0:
            yield number, data[start:], False
            return
        yield number, data[start:end], True
        start = end + 1


@contextmanager
def no_collecting() -> Iterator[None]:
    """What is read of a log has no circles of references in it, and looking for them takes a third of the time."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def read_export(data: bytes) -> Exported:
    """A whole log as handed over. Raises Broken at the first line that does not hold; a last line without its line end
    is told in ``torn``, and the lines before it are given."""
    if len(data) > LARGEST_LOG:
        raise InputFaults([Fault("log", f"It is larger than {LARGEST_LOG // 1_000_000} MB.", MEND)])
    with no_collecting():
        return _read(data)


def _read(data: bytes) -> Exported:
    lines: list[Line] = []
    footer: dict[str, object] | None = None
    key = signature = torn = ""
    for number, raw, ended in split(data):
        if footer is not None:
            raise broken(number, "it stands behind the footer")
        if not ended:
            torn = f"Line {number} has no end: the log was cut off in it."
        elif raw.startswith(FOOTER):
            footer, key, signature = _footer(raw, number)
        else:
            lines.append(read_line(raw, number))
    if not lines:
        raise InputFaults([Fault("log", torn or "There is no event in it.", "Give a log as it was exported.")])
    return Exported(tuple(lines), footer, key, signature, torn)


def _footer(raw: bytes, number: int) -> tuple[dict[str, object], str, str]:
    try:
        data = json.loads(raw) if len(raw) <= LONGEST_LINE else None
        sound = isinstance(data, dict) and data.keys() == {"footer", "key", "signature"} and canonical(data) == raw
    except (ValueError, RecursionError, OverflowError, StillboreError):
        sound = False
    if not sound or not isinstance(data["footer"], dict) or not isinstance(data["key"], str) or \
            not isinstance(data["signature"], str):
        raise broken(number, "it is no footer")
    return data["footer"], data["key"], data["signature"]
