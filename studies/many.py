"""What the studies share: many rigs in parts, so that twenty thousand fit into memory, and a table with progress."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Cell = TypeVar("Cell")

PART = 5_000


def in_parts(count: int, seed: int) -> Iterator[tuple[int, int]]:
    """(how many, seed) of each part; the seeds of two parts are far apart."""
    for number, first in enumerate(range(0, count, PART)):
        yield min(PART, count - first), seed + 1_000_003 * number


def table(header: str, cells: Sequence[Cell], line: Callable[[Cell], str]) -> str:
    """The table of a study, printed line by line as it is worked out, with progress beside it."""
    lines = [header]
    print(header)
    for number, cell in enumerate(cells, 1):
        lines.append(line(cell))
        print(lines[-1], flush=True)
        print(f"  line {number} of {len(cells)}", file=sys.stderr, flush=True)
    return "\n".join(lines)
