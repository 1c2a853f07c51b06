"""The borders between the phases of a trace, made exact: where the roughness changes, and when a vent was shut.

What a gauge cannot see is not made up: with a tight stopper nothing moves when the vent is shut. A word in the log's
note column ("vent shut") says it; without one the watch begins where the leg is seen to fill, or its beginning is *not
seen*.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

from stillbore.gauge.trace_model import STATES

REACH = 12.0  # s to either side within which a border is moved
STEEP = ("climbs", "strokes", "empties")  # motions that show their own borders
RESTING = 0.25  # share of the readings that are calm while a saw or a hand works
EMPTYING = 3.0  # s after the fall in which the gauge still creeps to nought
USUALLY_OPEN = 30.0  # s for which a vent is left open; common practice
STROKE = 4.0  # s about the end of pumping in which the last stroke is looked for
PLAIN_STROKE, LAST_STROKE = 8.0, 0.4  # times the roughness a second; share of the largest rise
EMPTY = 300.0  # Pa
BEFORE_RISE = 20.0  # s before a rise that show what is usual there
LATEST_SHOWN = 4.0  # s for which an opening hole may not be seen
RISEN, SETTLED_WITHIN = 0.95, 15.0  # of the level in so many seconds after it
NEAR = 25.0  # s after a first guess in which the beginning of a climb is looked for again
PLAIN = 25.0  # nats for a climb to be plain; readings in a row share some of their error
LEAST_CLIMB = 10  # readings


@dataclass
class Run:
    """A stretch of one label among the readings; ``begin`` and ``end`` are its first and its last state."""

    label: str
    first: int
    last: int
    begin: int
    end: int


def make_exact(runs: list[Run], times: list[float], pressures: list[float], bends: list[float], rough: float,
               marks: dict[int, str]) -> None:
    """Move every border to where the pressure shows it, or, between calm and shaken, where the roughness changes."""
    squares = [bend * bend / 1.5 for bend in bends]
    for earlier, later in zip(runs, runs[1:], strict=False):
        before, after = STATES[earlier.end], STATES[later.begin]
        shown = SHOWN.get((earlier.label, later.label))
        steep = before.moves in STEEP or after.moves in STEEP
        if later.first in marks:
            continue
        if shown is not None:
            place = shown(earlier, later, times, pressures, rough)
            if earlier.first < place <= later.last:
                earlier.last, later.first = place - 1, place
        elif before.shaken != after.shaken and not steep:
            _refine(earlier, later, after.shaken, times, squares, rough * rough)


def _refine(earlier: Run, later: Run, shaken_after: bool, times: list[float], bends: list[float],
            calm: float) -> None:
    """The likeliest place of one border, by the variance of each side."""
    low = max(earlier.first + 2, (earlier.first + later.first) // 2)
    high = min(later.last - 2, (later.first + later.last) // 2)
    while low < later.first and times[low] < times[later.first] - REACH:
        low += 1
    while high > later.first and times[high] > times[later.first] + REACH:
        high -= 1
    shaken = later if shaken_after else earlier
    inside = bends[shaken.first:shaken.last + 1]
    working = [bend for bend in inside if bend > 4.0 * calm] or inside
    wide = max(sum(working) / len(working), 4.0 * calm)
    sign = 1.0 if shaken_after else -1.0
    odds, best = 0.0, -1e9
    place = later.first
    for index in range(low, high):
        quiet = exp(-0.5 * min(bends[index] / calm, 60.0)) / sqrt(calm) + 1e-4 / sqrt(wide)
        loud = RESTING * quiet + (1.0 - RESTING) * exp(-0.5 * min(bends[index] / wide, 60.0)) / sqrt(wide)
        odds += sign * log(quiet / loud)
        if odds > best:
            best, place = odds, index + 1
    earlier.last, later.first = place - 1, place


def _pumped(earlier: Run, later: Run, times: list[float], pressures: list[float], rough: float) -> int:
    """The reading at the end of the last stroke: what comes after it no longer rises like one."""
    low, high = _window(earlier.first + 1, later.last, later.first, times, STROKE)
    rises = [(pressures[index] - pressures[index - 1]) / (times[index] - times[index - 1])
             for index in range(low, high + 1)]
    largest = max(rises, default=0.0)
    if largest < PLAIN_STROKE * rough:
        return later.first
    return max(index for index, rise in enumerate(rises, low) if rise >= LAST_STROKE * largest)


def _emptied(earlier: Run, later: Run, times: list[float], pressures: list[float], rough: float) -> int:
    """The first reading of an empty rig: the gauge and its hose still creep to nought after it."""
    low, high = _window(earlier.first + 1, later.last, later.first, times, REACH)
    return next((index for index in range(low, high + 1) if pressures[index] <= EMPTY), later.first)


def _came_through(earlier: Run, later: Run, times: list[float], pressures: list[float], rough: float) -> int:
    """The reading at which the drill came through. Its point is a cone: the hole opens as the square of the way, so
    the gauge comes up as the cube of the time and shows it late. The cube root of the first half is a straight line,
    and where it meets nought the hole began."""
    low, _ = _window(earlier.first, later.last, later.first, times, BEFORE_RISE)
    quiet = sorted(pressures[low:max(later.first - 1, low + 1)])
    base = quiet[len(quiet) // 2]
    unrest = max(1.5 * sorted(abs(pressure - base) for pressure in quiet)[len(quiet) // 2], 2.0 * rough)
    half = 0.5 * (max(pressures[later.first:later.last + 1]) - base)
    above = later.last
    while above > low and pressures[above - 1] - base > 3.0 * unrest:
        above -= 1
    points = []
    for index in range(above, later.last + 1):
        if pressures[index] - base > half and len(points) > 1:
            break
        points.append((times[index], (pressures[index] - base) ** (1.0 / 3.0) if pressures[index] > base else 0.0))
    begins = max(_nought_of(points), times[above - 1] - LATEST_SHOWN) if above > low else times[above]
    while above > low + 1 and times[above - 1] >= begins:
        above -= 1
    return above


def _nought_of(points: list[tuple[float, float]]) -> float:
    """Where a straight line through points meets nought, at the latest at the first of them."""
    mean_time = sum(time for time, _ in points) / len(points)
    mean_root = sum(root for _, root in points) / len(points)
    spread = sum((time - mean_time) ** 2 for time, _ in points)
    climb = sum((time - mean_time) * (root - mean_root) for time, root in points)
    return min(mean_time - mean_root * spread / climb, points[0][0]) if climb > 0.0 else points[0][0]


def _risen(earlier: Run, later: Run, times: list[float], pressures: list[float], rough: float) -> int:
    """The first reading at which the gauge has come up to where it then stands."""
    _, high = _window(later.first, later.last, later.first, times, SETTLED_WITHIN)
    settled = sorted(pressures[later.first:high + 1])[(high - later.first) // 2]
    index = earlier.first + 1
    while index < high and pressures[index] < RISEN * settled:
        index += 1
    return index


def _window(least: int, most: int, place: int, times: list[float], reach: float) -> tuple[int, int]:
    """Positions to both sides of a place that lie no further from it than so many seconds."""
    low = high = place
    while low > least and times[low - 1] >= times[place] - reach:
        low -= 1
    while high < most and times[high + 1] <= times[place] + reach:
        high += 1
    return max(low, least), high


# Borders that the pressure itself shows.
SHOWN = {("pump", "hold"): _pumped, ("release", "zero"): _emptied, ("release", "drill"): _emptied,
         ("drill", "break"): _came_through, ("zero", "break"): _came_through, ("break", "live"): _risen}


def vent_shut(vented: int, run: Run, times: list[float], pressures: list[float], marks: dict[int, str],
              rough: float) -> tuple[int, bool]:
    """Where the watch after a vent begins, and whether anything shows it: a note, or the leg beginning to fill."""
    for position in range(vented + 1, run.last + 1):
        if marks.get(position) == "watch":
            return position, True
    first = run.first
    while first < run.last and times[first] < times[run.first] + EMPTYING:
        first += 1
    onset = _onset(times, pressures, first, run.last, rough)
    if onset:  # a leg fills ever more slowly: the knot of its beginning is sharper than that of the whole
        near = onset
        while near < run.last and times[near] < times[onset] + NEAR:
            near += 1
        return _onset(times, pressures, first, near, rough) or onset, True
    usual = times[vented] + USUALLY_OPEN
    position = run.first
    while position < run.last and times[position] < usual:
        position += 1
    return position, False


def _onset(times: list[float], pressures: list[float], first: int, last: int, rough: float) -> int:
    """Position at which a flat stretch begins to climb, by least squares of a level with a ramp after a knot; 0 if no
    ramp is plain. Sums from the end make every candidate cost the same."""
    count = last - first + 1
    origin, level = times[first], pressures[first]
    total = sum(pressures[first:last + 1]) - count * level
    place, gain = 0, 2.0 * PLAIN * rough * rough
    number = of_time = of_square = of_pressure = of_both = 0.0
    for position in range(last, first, -1):
        time, pressure = times[position] - origin, pressures[position] - level
        number += 1.0
        of_time += time
        of_square += time * time
        of_pressure += pressure
        of_both += time * pressure
        # The ramp is time since the knot, over the readings from the knot on; its sums follow from those of time.
        ramp = of_time - number * time
        squares = of_square - 2.0 * time * of_time + number * time * time
        spread = squares - ramp * ramp / count
        climb = of_both - time * of_pressure - ramp * total / count
        if number >= LEAST_CLIMB and spread > 0.0 and climb > 0.0 and climb * climb / spread > gain:
            gain, place = climb * climb / spread, position
    return place
