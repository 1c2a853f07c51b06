"""What the studies share: many rigs in parts, so that twenty thousand fit into memory, every processor at work, and a
table with progress."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import TypeVar

Part = TypeVar("Part")
Found = TypeVar("Found")

PART = 5_000


def in_parts(count: int, seed: int) -> Iterator[tuple[int, int]]:
    """(how many, seed) of each part; the seeds of two parts are far apart."""
    for number, first in enumerate(range(0, count, PART)):
        yield min(PART, count - first), seed + 1_000_003 * number


def at_once(work: Callable[[Part], Found], parts: Sequence[Part], what: str) -> Iterator[Found]:
    """What ``work`` makes of each part, in the order of the parts, one on each processor, with progress. Every part
    has seeds of its own, so nothing depends on how many processors there are."""
    pool = ProcessPoolExecutor()
    try:
        for number, found in enumerate(pool.map(work, parts), 1):
            print(f"  {what} {number} of {len(parts)}", file=sys.stderr, flush=True)
            yield found
    finally:
        pool.shutdown(cancel_futures=True)


def table(header: str, lines: Iterable[str]) -> str:
    """The table of a study, printed line by line as it is worked out."""
    made = [header]
    print(header, flush=True)
    for line in lines:
        made.append(line)
        print(line, flush=True)
    return "\n".join(made)
