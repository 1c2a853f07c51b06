"""Pure shapes in metres, x to the right and y downwards, each with a role; and a sheet made of views of them.

A shape does not know how it looks: its role ("pipe", "saw", "dimension"...) says what it is, and svg.py turns roles
into line weights, dashes and fills. A shape with a name can be found again in the finished drawing, which is how the
tests measure it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A straight line."""

    start: Point
    end: Point
    role: str
    name: str = ""


@dataclass(frozen=True)
class Circle:
    """A whole circle."""

    centre: Point
    radius: float
    role: str
    name: str = ""


@dataclass(frozen=True)
class Rectangle:
    """An upright rectangle; ``corner`` is its upper left one."""

    corner: Point
    width: float
    height: float
    role: str
    name: str = ""

    @property
    def points(self) -> tuple[Point, ...]:
        x, y = self.corner
        return ((x, y), (x + self.width, y), (x + self.width, y + self.height), (x, y + self.height))


@dataclass(frozen=True)
class Path:
    """Straight pieces through points; arcs are given as many points."""

    points: tuple[Point, ...]
    role: str
    closed: bool = True
    name: str = ""


@dataclass(frozen=True)
class Hatch:
    """Parallel lines over an area without an outline. Several rings: what lies in an even number of them stays bare."""

    rings: tuple[tuple[Point, ...], ...]
    role: str
    name: str = ""


@dataclass(frozen=True)
class Dimension:
    """A dimension line with arrow heads from start to end, level or upright, and its text.

    ``text_at`` says where the text stands: at the "middle", or past the "start" or the "end".
    """

    start: Point
    end: Point
    text: str
    name: str = ""
    text_at: str = "middle"


@dataclass(frozen=True)
class Label:
    """Text standing on a point. ``anchor``: start, middle or end; ``size``: small, normal, large or heading."""

    at: Point
    text: str
    anchor: str = "start"
    size: str = "normal"
    bold: bool = False
    name: str = ""


Shape = Line | Circle | Rectangle | Path | Hatch | Dimension | Label


@dataclass(frozen=True)
class View:
    """Shapes drawn at one scale; ``at`` is where their origin lies on the paper (in metres of paper)."""

    scale: float
    at: Point
    shapes: tuple[Shape, ...]


@dataclass(frozen=True)
class Sheet:
    """Views on a piece of paper, sizes in metres of paper; ``scale`` and ``description`` are in words."""

    key: str
    title: str
    scale: str
    description: str
    width: float
    height: float
    views: tuple[View, ...]


def arc(centre: Point, radius: float, first: float, last: float, pieces: int = 48) -> tuple[Point, ...]:
    """Points on an arc. Angles in radians from straight up, turning to the right."""
    angles = (first + (last - first) * piece / pieces for piece in range(pieces + 1))
    return tuple((centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle)) for angle in angles)


def box(left: float, top: float, right: float, bottom: float) -> tuple[Point, ...]:
    """The corners of an upright rectangle."""
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def break_line(at: Point, height: float, depth: float) -> Path:
    """An upright zigzag through a point: the thing goes on, the drawing stops."""
    x, y = at
    half = 0.5 * height
    return Path(((x, y - half), (x, y - 0.2 * half), (x - depth, y - 0.1 * half), (x + depth, y + 0.1 * half),
                 (x, y + 0.2 * half), (x, y + half)), "break", closed=False)


def scale_bar(at: Point, length: float, parts: int, height: float, words: str) -> tuple[Shape, ...]:
    """A bar of a real length, its parts black and white by turns, with the length in words after it."""
    x, y = at
    step = length / parts
    pieces = (Rectangle((x + part * step, y), step, height, "bar black" if part % 2 == 0 else "bar white")
              for part in range(parts))
    return (*pieces, Rectangle(at, length, height, "bar outline", "scale bar"),
            Label((x + length + 2.0 * height, y + height), words, size="small"))


def spread(wanted: Iterable[float], step: float) -> tuple[float, ...]:
    """Places at least ``step`` apart, in the order given (rising), and on the whole as near the wanted ones as can be.

    Places that crowd are gathered into blocks, each centred on the mean of what its members want.
    """
    blocks: list[list[float]] = []  # each: sum of (wanted - own offset in the block), count
    for place in wanted:
        blocks.append([place, 1])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] + blocks[-2][1] * step > blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            before = blocks[-1]
            before[0] += total - count * before[1] * step
            before[1] += count
    return tuple(total / count + index * step for total, count in blocks for index in range(int(count)))
