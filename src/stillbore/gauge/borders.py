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


def make_exact(runs: list[Run], times: list[float], bends: list[float], rough: float,
               marks: dict[int, str]) -> None:
    """Move every border between a calm and a shaken stretch to where the roughness changes."""
    squares = [bend * bend / 1.5 for bend in bends]
    for earlier, later in zip(runs, runs[1:], strict=False):
        before, after = STATES[earlier.end], STATES[later.begin]
        steep = before.moves in STEEP or after.moves in STEEP
        if later.first not in marks and before.shaken != after.shaken and not steep:
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
