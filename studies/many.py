"""Many rigs in parts, so that a study of twenty thousand fits into memory."""

from __future__ import annotations

from collections.abc import Iterator

PART = 5_000


def in_parts(count: int, seed: int) -> Iterator[tuple[int, int]]:
    """(how many, seed) of each part; the seeds of two parts are far apart."""
    for number, first in enumerate(range(0, count, PART)):
        yield min(PART, count - first), seed + 1_000_003 * number
