"""What is left in a damaged store. Every line carries its own hash, and every kept file goes by its own, so whatever is
found can be checked without trusting anything around it."""

from __future__ import annotations

import hashlib
import re
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from stillbore.errors import StillboreError
from stillbore.record.chain import BEFORE, BEHIND, BETWEEN, Line, order
from stillbore.record.events import HASH
from stillbore.record.read import read_line

LONGEST_RUN = 1_000_000  # how many rows in a row may be unreadable before the rest is given up
ENDS = re.compile(re.escape(BETWEEN) + HASH.pattern.encode() + re.escape(BEHIND))


@dataclass(frozen=True)
class Rescued:
    """Lines that hold, in merged order of each job, and kept files by their hash. What is not among them is lost here;
    the gaps show when the lines are brought into a new store."""

    lines: list[Line]
    files: dict[str, bytes]


def rescue(path: Path) -> Rescued:
    """Read what can be read: through SQLite row by row, and then from the bare bytes, where a line lies in one piece.
    Works on a copy's bytes only; the file is not changed. Raises StillboreError where it cannot be read at all."""
    try:
        blocks = [each.read_bytes() for each in (path, Path(f"{path}-wal")) if each.exists()]
    except OSError as error:
        raise StillboreError(f"{path.name} cannot be read: {error.strerror}.", "Check the path.") from None
    if not blocks:
        raise StillboreError(f"There is no {path.name}.", "Check the path.")
    found: dict[str, Line] = {}
    files: dict[str, bytes] = {}
    for raw in [*_rows(path, "line", "raw"), *(piece for block in blocks for piece in _pieces(block))]:
        with suppress(StillboreError):
            line = read_line(raw)
            found[line.hash] = line
    for data in _rows(path, "file", "data"):
        files[hashlib.sha256(data).hexdigest()] = data
    return Rescued(sorted(found.values(), key=lambda line: (line.event.job, *order(line))), files)


def _rows(path: Path, table: str, column: str) -> Iterator[bytes]:
    """One column by row number, passing over rows that SQLite cannot read."""
    try:
        connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    except sqlite3.Error:
        return
    try:
        last = 0
        with suppress(sqlite3.Error):
            last = connection.execute(f"SELECT max(id) FROM {table}").fetchone()[0] or 0
        for id in range(1, min(last, LONGEST_RUN) + 1):
            with suppress(sqlite3.Error):
                row = connection.execute(f"SELECT {column} FROM {table} WHERE id = ?", (id,)).fetchone()
                if row is not None and isinstance(row[0], bytes):
                    yield row[0]
    finally:
        connection.close()


def _pieces(block: bytes) -> Iterator[bytes]:
    """Whatever in the bytes looks like a whole line."""
    start = block.find(BEFORE)
    while start >= 0:
        following = block.find(BEFORE, start + 1)
        end = ENDS.search(block, start, following if following >= 0 else len(block))
        if end:
            yield block[start:end.end()]
        start = following
