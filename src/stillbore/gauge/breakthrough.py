"""Break-through: did the gauge come up as this district's pressure says it must?

The rise says what lies behind the pipe wall: nothing (no rise), a blocked way (slow), water (swinging), another pipe or
another district (short of the band, above it), medium pressure (above the maximum). Only a rise that is quick, steady
and inside the band is *met*; a gauge at the end of its range counts as above the maximum, whatever it shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stillbore.gauge.hold import MET, NOT_MET, NOT_PROVEN

NO_RISE, SLOW, SWINGING, SHORT, ABOVE_BAND, ABOVE_MAXIMUM, AS_EXPECTED, CUT_OFF = (
    "no rise", "slow", "swinging", "short", "above the band", "above the maximum", "as expected", "too short to tell")
NOT_COMPARED = "came up, not compared"
SHOWS, RISEN = 0.1, 0.9  # of the settled pressure: the rise is seen, and is over
SETTLING = 3.0  # s after the rise that are not looked at for swings
LEAST_READINGS = 8
SWING = 100.0  # Pa peak to peak, in turns that a governor does not make
TURNS = 4  # of direction, each by half the swing
LONGEST_TURN = 6.0  # s between two turns; slower is a governor that hunts


@dataclass(frozen=True)
class Expected:
    """What break-through must look like [Pa gauge, s]; None where it is not known. ``range_end`` is where the gauge
    stops reading."""

    low: float | None = None
    high: float | None = None
    maximum: float | None = None
    range_end: float | None = None
    within: float = 10.0


@dataclass(frozen=True)
class BreakThrough:
    """What was seen: ``kind`` of rise, verdict, when it began in the log, how long the gauge took from a tenth to nine
    tenths of the rise [s], where it settled [Pa gauge]."""

    kind: str
    verdict: str
    at: float
    took: float | None
    settled: float | None
    findings: tuple[str, ...]


WORDS = {
    NO_RISE: "The saw worked and the gauge did not rise: not through, a blocked branch, or a dead pipe. Find out "
             "which; nothing is cut.",
    SLOW: "The gauge came up slowly: the way is blocked, wet, or hardly open. It is not what a clear way does.",
    SWINGING: "The gauge swings: water in the pipe. Do not go on until it is drained or shown to be something else.",
    SHORT: "The gauge settled below the band: a blockage, water holding the gas back, or another pipe or district.",
    ABOVE_BAND: "The gauge settled above the band: another district, or its pressure has changed. Stop and ask "
                "pressure control.",
    ABOVE_MAXIMUM: "PRESSURE ABOVE THE MAXIMUM, or at the end of the gauge's range: medium pressure is reckoned with. "
                   "Leave everything as it is, clear the pit, call.",
    AS_EXPECTED: "The gauge came up quickly, steadily and inside the band.",
    CUT_OFF: "The log ends before the gauge has settled.",
}


def judge_break_through(times: Sequence[float], pressures: Sequence[float], clipped: bool,
                        expected: Expected) -> BreakThrough:
    """Judge the readings from the start of the rise to where the gauge is next touched [s, Pa gauge]; ``clipped`` says
    that the gauge stood at the end of its range."""
    top = max(pressures)
    if clipped or _above(top, expected):
        return _say(ABOVE_MAXIMUM, NOT_MET, times[0], None, top)
    tail = pressures[len(pressures) // 2:]
    settled = sorted(tail)[len(tail) // 2]
    risen = next(index for index, pressure in enumerate(pressures) if pressure >= RISEN * settled)
    seen = next((index for index in range(risen, 0, -1) if pressures[index - 1] < SHOWS * settled), 1)
    took = times[risen] - times[seen - 1]  # a drill's point opens the hole before a gauge can show it
    after = [index for index in range(risen, len(times)) if times[index] >= times[risen] + SETTLING]
    still_climbing = len(after) >= 2 and pressures[-1] - pressures[after[0]] > max(0.1 * settled, SWING)
    if took > expected.within or still_climbing:
        return _say(SLOW, NOT_MET, times[0], took, settled)
    if len(after) < LEAST_READINGS:
        return _say(CUT_OFF, NOT_PROVEN, times[0], took, settled)
    if swings([times[index] for index in after], [pressures[index] for index in after]):
        return _say(SWINGING, NOT_MET, times[0], took, settled)
    if expected.low is not None and settled < expected.low:
        return _say(SHORT, NOT_MET, times[0], took, settled)
    if expected.high is not None and settled > expected.high:
        return _say(ABOVE_BAND, NOT_MET, times[0], took, settled)
    if expected.low is None or expected.high is None or expected.maximum is None:
        return BreakThrough(NOT_COMPARED, NOT_PROVEN, times[0], took, settled, (
            f"The gauge came up in {took:.1f} s and settled at {settled / 100:.1f} mbar. Without the expected band and "
            "the maximum nothing is proven: give them.",))
    return _say(AS_EXPECTED, MET, times[0], took, settled)


def no_rise(at: float) -> BreakThrough:
    """The saw worked, and nothing came."""
    return _say(NO_RISE, NOT_MET, at, None, None)


def _above(pressure: float, expected: Expected) -> bool:
    return (expected.maximum is not None and pressure > expected.maximum
            or expected.range_end is not None and pressure >= 0.98 * expected.range_end)


def _say(kind: str, verdict: str, at: float, took: float | None, settled: float | None) -> BreakThrough:
    return BreakThrough(kind, verdict, at, took, settled, (WORDS[kind],))


def swings(times: Sequence[float], pressures: Sequence[float]) -> bool:
    """Whether the gauge goes up and down, again and again, faster than a governor hunts."""
    turns: list[float] = []
    low = high = pressures[0]
    direction = 0
    for time, pressure in zip(times, pressures, strict=True):
        low, high = min(low, pressure), max(high, pressure)
        down, up = pressure < high - SWING, pressure > low + SWING
        if down and direction >= 0 or up and direction <= 0:
            direction = -1 if down else 1
            low = high = pressure
            turns.append(time)
        elif direction > 0:
            low = pressure if pressure >= high else low
        elif direction < 0:
            high = pressure if pressure <= low else high
    quick = [later - earlier for earlier, later in zip(turns, turns[1:], strict=False)
             if later - earlier <= LONGEST_TURN]
    return len(quick) + 1 >= TURNS
