"""Drawings of a record: the barriers over time, and what was laid with its ties. Numbers in, shapes out; black on
white, and what a thing is stands beside it in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from stillbore.plan.barriers import PIPE_WALL
from stillbore.report.drawings.shapes import Circle, Hatch, Label, Line, Path, Shape, Sheet, View, box, spread
from stillbore.report.drawings.svg import fitted, text_width

WIDTH = 0.182
LEFT, RIGHT = 0.020, 0.006
HOLDS, TOP, LEVEL = 0.014, 0.029, 0.009  # m: base of the holds' labels, of the barrier chart, between two counts
WALL = 3  # where pipe wall stands on the axis; more barriers than two stand at two
AXIS = ("0", "1", "2", "pipe wall")
BOTTOM = TOP + WALL * LEVEL
CLOCK = BOTTOM + 0.0045
DISTRICT, TALL = CLOCK + 0.010, 0.018
MOST_TOLD = 17  # readings with their number beside them; of more, the first, the last, the least and the greatest
NARROWEST = 0.0008  # m that a window is drawn wide at the least, so that it can be seen
TICKS = (1, 2, 5, 10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400, 604800)
FEATURE = (-0.066, -0.030), (0.058, -0.036), (0.010, 0.040), (-0.060, 0.034), (0.062, 0.030), (0.0, -0.046)


@dataclass(frozen=True)
class Mark:
    """A moment with its word; ``at`` in seconds since 1970."""

    text: str
    at: float


@dataclass(frozen=True)
class Span:
    """A stretch of time with a letter, and how long it was in words."""

    letter: str
    start: float
    end: float
    length: str


@dataclass(frozen=True)
class _Axis:
    """Time to the right."""

    first: float
    last: float

    def x(self, at: float) -> float:
        within = min(max(at, self.first), self.last)
        return LEFT + (WIDTH - LEFT - RIGHT) * (within - self.first) / (self.last - self.first)

    def shows(self, at: float) -> bool:
        return self.first <= at <= self.last


def timeline_sheet(key: str, title: str, ends: tuple[float, float], zone: tzinfo | None,
                   course: Sequence[tuple[float, int]], windows: Sequence[Span], holds: Sequence[Mark],
                   stops: Sequence[Mark], district: Sequence[tuple[float, float]]) -> Sheet:
    """Barrier count as a step line with windows hatched, holds above, and the district's readings [mbar] below."""
    axis = _Axis(*ends)
    seen = [window for window in windows if window.end >= axis.first and window.start <= axis.last]
    shapes: list[Shape] = [Label((0.002, 0.006), title, size="large", bold=True), *_windows(axis, seen)]
    shapes += [*_frame(axis, zone), *_marks(axis, holds, HOLDS), *_stops(axis, stops), *_course(axis, course)]
    readings = [(at, pressure) for at, pressure in district if axis.shows(at)]
    shapes += _district(axis, readings)
    height = DISTRICT + TALL + 0.006
    described = ("Barriers between the gas and the pit against time; " + ("; ".join(
        f"one-barrier window {each.letter}, {each.length}" for each in seen) or "no one-barrier window")
        + f". Readings of the district below: {len(readings)}.")
    return Sheet(key, title, "", described, WIDTH, height, (View(1.0, (0.0, 0.0), tuple(shapes)),))


def _y(barriers: int) -> float:
    return BOTTOM - LEVEL * (WALL if barriers == PIPE_WALL else min(barriers, 2))


def _frame(axis: _Axis, zone: tzinfo | None) -> list[Shape]:
    shapes: list[Shape] = [Label((0.002, TOP - 0.003), "barriers", size="small")]
    for level, words in enumerate(AXIS):
        y = BOTTOM - LEVEL * level
        shapes += [Line((LEFT, y), (WIDTH - RIGHT, y), "extension"),
                   Label((LEFT - 0.001, y + 0.001), words, "end", "small")]
    step = next((each for each in TICKS if (axis.last - axis.first) / each <= 9), TICKS[-1])
    offset = datetime.fromtimestamp(axis.first, zone).utcoffset()
    shift = offset.total_seconds() if offset else 0.0
    tick = math.ceil((axis.first + shift) / step) * step - shift
    while tick <= axis.last:
        form = "%H:%M:%S" if step < 60 else "%H:%M" if step < 43200 else "%d %b"
        shapes += [Line((axis.x(tick), TOP), (axis.x(tick), BOTTOM + 0.0015), "extension"),
                   Label((axis.x(tick), CLOCK), f"{datetime.fromtimestamp(tick, zone):{form}}", "middle", "small")]
        tick += step
    return shapes


def _windows(axis: _Axis, windows: Sequence[Span]) -> list[Shape]:
    shapes: list[Shape] = []
    middles = [0.5 * (axis.x(each.start) + axis.x(each.end)) for each in windows]
    words = [f"{each.letter}: {each.length}" for each in windows]
    room = max((text_width(each, "small", True) for each in words), default=0.0) + 0.001
    for each, middle, place, word in zip(windows, middles, _places(middles, room), words, strict=True):
        half = max(0.5 * (axis.x(each.end) - axis.x(each.start)), 0.5 * NARROWEST)
        shapes += [Hatch((box(middle - half, TOP, middle + half, BOTTOM),), "window", f"window {each.letter}"),
                   Line((middle, TOP), (place, TOP - 0.004), "leader"),
                   Label((place, TOP - 0.005), word, "middle", "small", True)]
    return shapes


def _places(wanted: Sequence[float], room: float) -> list[float]:
    """Places for labels, as near the wanted ones as room and paper allow."""
    if not wanted:
        return []
    order = sorted(range(len(wanted)), key=lambda index: wanted[index])
    step = min(room, (WIDTH - LEFT - RIGHT) / len(wanted))
    places = list(spread([wanted[index] for index in order], step))
    for at in range(len(places)):  # pushed in from the left edge, then from the right
        places[at] = max(places[at], LEFT if at == 0 else places[at - 1] + step)
    for at in reversed(range(len(places))):
        places[at] = min(places[at], WIDTH - 0.5 * room if at == len(places) - 1 else places[at + 1] - step)
    found = dict(zip(order, places, strict=True))
    return [found[index] for index in range(len(wanted))]


def _marks(axis: _Axis, marks: Sequence[Mark], base: float) -> list[Shape]:
    """Holds above the chart: a label each, with a line down to its moment."""
    shown = sorted((mark for mark in marks if axis.shows(mark.at)), key=lambda mark: mark.at)
    shapes: list[Shape] = [Label((0.002, base - 0.004), "holds done", size="small")] if shown else []
    for mark, place in zip(shown, _places([axis.x(each.at) for each in shown], 0.0062), strict=True):
        shapes += [Line((place, base + 0.0006), (axis.x(mark.at), base + 0.005), "extension"),
                   Line((axis.x(mark.at), base + 0.005), (axis.x(mark.at), base + 0.007), "tick"),
                   Label((place, base), mark.text, "middle", "small", name=f"{mark.text} {mark.at:.0f}")]
    return shapes


def _stops(axis: _Axis, stops: Sequence[Mark]) -> list[Shape]:
    """Stops and ends below the chart, each with a line through it."""
    shown = sorted((mark for mark in stops if axis.shows(mark.at)), key=lambda mark: mark.at)
    room = max((text_width(mark.text, "small", True) for mark in shown), default=0.0) + 0.001
    shapes: list[Shape] = []
    for mark, place in zip(shown, _places([axis.x(each.at) for each in shown], room), strict=True):
        shapes += [Line((axis.x(mark.at), TOP), (axis.x(mark.at), CLOCK + 0.0005), "level"),
                   Line((axis.x(mark.at), CLOCK + 0.0005), (place, CLOCK + 0.0022), "leader"),
                   Label((place, CLOCK + 0.005), mark.text, "middle", "small", True)]
    return shapes


def _course(axis: _Axis, course: Sequence[tuple[float, int]]) -> list[Shape]:
    points = []
    before = course[0][1] if course else 0
    for at, barriers in course:
        if at <= axis.first:
            before = barriers
    points.append((axis.x(axis.first), _y(before)))
    for at, barriers in course:
        if axis.shows(at) and at > axis.first:
            points += [(axis.x(at), points[-1][1]), (axis.x(at), _y(barriers))]
    points.append((axis.x(axis.last), points[-1][1]))
    return [Path(tuple(points), "target", closed=False, name="barriers")]


def _district(axis: _Axis, readings: Sequence[tuple[float, float]]) -> list[Shape]:
    shapes: list[Shape] = [Label((0.002, DISTRICT - 0.0035), "district, mbar", size="small")]
    if not readings:
        return [*shapes, Label((LEFT + 0.012, DISTRICT + 0.5 * TALL), "no reading in this time")]
    low, high = min(each for _, each in readings), max(each for _, each in readings)
    room = max(0.4 * (high - low), 0.5)  # so that there is room for the words, and no noise looks like a step
    low, high = low - room, high + room

    def y(pressure: float) -> float:
        return DISTRICT + TALL * (high - pressure) / (high - low)

    for value in (low, high):
        shapes += [Line((LEFT, y(value)), (WIDTH - RIGHT, y(value)), "extension"),
                   Label((LEFT - 0.001, y(value) + 0.001), f"{value:.1f}", "end", "small")]
    for at, pressure in readings:
        shapes.append(Circle((axis.x(at), y(pressure)), 0.0009, "saw", f"district {pressure:.2f}"))
    told = readings if len(readings) <= MOST_TOLD else sorted({readings[0], readings[-1], min(
        readings, key=lambda each: each[1]), max(readings, key=lambda each: each[1])})
    for (at, pressure), place in zip(told, _places([axis.x(at) for at, _ in told], 0.009), strict=True):
        shapes += [Line((axis.x(at), y(pressure)), (place, y(pressure) + 0.003), "leader"),
                   Label((place, y(pressure) + 0.0058), f"{pressure:.1f}", "middle", "small")]
    return shapes


# As laid


@dataclass(frozen=True)
class Tie:
    """A distance to something fixed, both in words."""

    distance: str
    to: str


def as_laid_sheet(ties: Sequence[Tie], facts: Sequence[tuple[str, str]]) -> Sheet:
    """The end in the ground with its ties. Directions and lengths on the paper mean nothing: it is a sketch, and the
    words are the record."""
    centre = (0.091, 0.062)
    shapes: list[Shape] = [Label((0.002, 0.006), "As laid: sketch, not to scale", size="large", bold=True),
                           Label((0.002, 0.011), "Directions on this sketch mean nothing; the words do.", size="small")]
    for number, (tie, (x, y)) in enumerate(zip(ties, FEATURE, strict=False), 1):
        at = (centre[0] + x, centre[1] + y)
        middle = (centre[0] + 0.5 * x, centre[1] + 0.5 * y)
        shapes += [Line(centre, at, "level", f"tie {number}"), Circle(at, 0.0018, "pipe", f"feature {number}"),
                   Label(middle, tie.distance, "middle", "normal", True)]
        shapes += _wrapped((at[0], at[1] + (0.007 if y > 0 else -0.008)), f"{number}. {tie.to}", 0.056)
    shapes += [Circle(centre, 0.0022, "saw", "end"),
               Label((centre[0] + 0.004, centre[1] + 0.005), "the end", bold=True)]
    base = 0.120
    for row, (about, value) in enumerate(facts):
        shapes.append(Label((0.002, base + 0.005 * row), fitted(f"{about}: {value}", 0.176), bold=False))
    described = "; ".join([*(f"{tie.distance} to {tie.to}" for tie in ties), *(f"{about}: {value}"
                                                                                for about, value in facts)])
    return Sheet("as-laid", "As laid, with ties", "not to scale", f"{described}.", WIDTH,
                 base + 0.005 * len(facts) + 0.002, (View(1.0, (0.0, 0.0), tuple(shapes)),))


def _wrapped(at: tuple[float, float], text: str, width: float) -> list[Shape]:
    """Words in at most two lines around a middle, kept on the paper; what does not fit has three dots."""
    first, rest = "", text.split()
    while rest and text_width(f"{first} {rest[0]}") <= width:
        first = f"{first} {rest.pop(0)}".strip()
    lines = [each for each in (first, fitted(" ".join(rest), width) if rest else "") if each]
    half = 0.5 * max(text_width(line) for line in lines)
    x = min(max(at[0], 0.002 + half), WIDTH - 0.002 - half)
    return [Label((x, at[1] + 0.004 * row), line, "middle") for row, line in enumerate(lines)]
