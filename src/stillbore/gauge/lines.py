"""The text of a log as pieces of whole lines, in any encoding, with any ends of lines, in bounded memory."""

from __future__ import annotations

import codecs
import io
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import BinaryIO

from stillbore.errors import Fault

PIECE = 1 << 16  # characters, or bytes, read at a time
LARGEST_LINE = 10_000  # characters
PLAIN = "utf-8-sig"
TOO_LONG = f"it is longer than {LARGEST_LINE:,} characters, as no line of a log is; left out"


class Kinds:
    """What is wrong with lines: of each kind of fault the first line, and how many there are."""

    def __init__(self) -> None:
        self._found: dict[str, list[int]] = {}

    def note(self, kind: str, line: int, count: int = 1) -> None:
        self._found.setdefault(kind, [line, 0])[1] += count

    def sentences(self) -> list[str]:
        return [f"Line {line}{f' and {count - 1} more' if count > 1 else ''}: {kind}."
                for kind, (line, count) in self._found.items()]

    def faults(self, name: str) -> list[Fault]:
        """The same as faults of a file in which nothing else was found."""
        return [Fault(f"{name}, line {line}", f"{kind[0].upper()}{kind[1:]}.", "Mend the line.")
                for kind, (line, _) in self._found.items()]


def encoding_of(head: bytes) -> str:
    """The encoding of a file by its first bytes; UTF-16 is known by its mark, or by every other byte being nought."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    for name, empty, full in (("utf-16-le", head[1::2], head[0::2]), ("utf-16-be", head[0::2], head[1::2])):
        if len(head) > 8 and empty.count(0) > 0.9 * len(empty) and full.count(0) < 0.1 * len(full):
            return name
    return PLAIN


def decode(raw: bytes) -> tuple[str, str]:
    """Bytes as text, and the name of the encoding if it is not plain UTF-8."""
    encoding = encoding_of(raw[:4096])
    if encoding != PLAIN:
        return raw.decode(encoding, errors="replace"), encoding
    try:
        return raw.decode(encoding), ""
    except UnicodeDecodeError:
        return raw.decode("latin-1"), "latin-1"


def decoded(file: BinaryIO, encoding: str) -> Iterator[str]:
    """The text of a file, piece by piece. Bytes that are no UTF-8 are kept as they are, for ``mended``."""
    decoder = codecs.getincrementaldecoder(encoding)("surrogateescape" if encoding == PLAIN else "replace")
    while raw := file.read(PIECE):
        yield decoder.decode(raw)
    yield decoder.decode(b"", final=True)


def mended(line: str, kinds: Kinds, number: int) -> str:
    """A line in which bytes of another encoding stand, and empty bytes, made readable."""
    if not line.isascii():
        try:
            line.encode("utf-8")
        except UnicodeEncodeError:
            kinds.note("it is not UTF-8; it was read as Latin-1. Save logs as UTF-8", number)
            line = _as_latin(line)
    if "\0" in line:
        kinds.note("empty bytes stand in it (power lost while writing?); they were taken out", number)
        line = line.replace("\0", "")
    return line


def _as_latin(line: str) -> str:
    try:
        return line.encode("utf-8", "surrogateescape").decode("latin-1")
    except UnicodeEncodeError:  # a broken character that never was a byte
        return line.encode("utf-8", "replace").decode("utf-8")


class Pieces:
    """Pieces of whole lines, each ended by a line feed, with the number of their first line. A line longer than
    LARGEST_LINE is never held. After the last piece ``lines`` counts the lines, and ``ended`` says whether the last
    one had an end."""

    def __init__(self, texts: Iterable[str], kinds: Kinds) -> None:
        self._texts, self._kinds = texts, kinds
        self.lines = 0
        self.ended = True

    def __iter__(self) -> Iterator[tuple[int, str]]:
        newlines = io.IncrementalNewlineDecoder(None, translate=True)
        kept, skipping = "", False
        for text in chain(self._texts, (None,)):
            text = kept + newlines.decode(text or "", final=text is None)
            start, end = 0, text.rfind("\n") + 1
            if skipping and end:
                start, skipping = text.find("\n") + 1, False
                self.lines += 1
            if start < end:
                yield self.lines + 1, text[start:end]
                self.lines += text.count("\n", start, end)
            kept = "" if skipping else text[end:]
            if len(kept) > LARGEST_LINE:
                self._kinds.note(TOO_LONG, self.lines + 1)
                kept, skipping = "", True
        self.ended = not (kept or skipping)
        if kept:
            yield self.lines + 1, kept + "\n"
        self.lines += not self.ended
