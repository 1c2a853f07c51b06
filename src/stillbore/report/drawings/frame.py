"""A frame for charts: two axes on paper, plain or logarithmic, with ticks. Values in, metres of paper out."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from stillbore.report.drawings.shapes import Label, Line, Path, Point, Shape, box


@dataclass(frozen=True)
class Axis:
    """Values from ``first`` to ``last`` laid over paper from ``at`` to ``to`` (metres)."""

    first: float
    last: float
    at: float
    to: float
    logarithmic: bool = False

    def place(self, value: float) -> float:
        """Where a value lies on the paper; what is outside lies on the edge."""
        within = min(max(value, self.first), self.last)
        share = (math.log(within / self.first) / math.log(self.last / self.first) if self.logarithmic
                 else (within - self.first) / (self.last - self.first))
        return self.at + share * (self.to - self.at)


@dataclass(frozen=True)
class Frame:
    """An axis along the paper and one up it (``up.at`` is the lower edge)."""

    along: Axis
    up: Axis

    def place(self, x: float, y: float) -> Point:
        return self.along.place(x), self.up.place(y)

    def curve(self, points: Iterable[tuple[float, float]], role: str, name: str) -> Path | None:
        """A line through the points that lie on the paper; None where fewer than two do."""
        shown = [self.place(x, y) for x, y in points
                 if self.along.first <= x <= self.along.last and self.up.first <= y <= self.up.last]
        return Path(tuple(shown), role, closed=False, name=name) if len(shown) > 1 else None

    def drawn(self, along: Iterable[tuple[float, str]], up: Iterable[tuple[float, str]]) -> tuple[Shape, ...]:
        """The frame with a fine line and its words at each tick."""
        shapes: list[Shape] = [Path(box(self.along.at, self.up.to, self.along.to, self.up.at), "frame")]
        for value, words in along:
            x = self.along.place(value)
            shapes += [Line((x, self.up.to), (x, self.up.at), "extension"),
                       Label((x, self.up.at + 0.0042), words, "middle", "small")]
        for value, words in up:
            y = self.up.place(value)
            shapes += [Line((self.along.at, y), (self.along.to, y), "extension"),
                       Label((self.along.at - 0.0012, y + 0.0011), words, "end", "small")]
        return tuple(shapes)
