"""What the labels of a trace are read from: every reading that says what was done, all brought to one scale.

Pressing the unit key spoils a reading as a pressure, and nothing rests on it (dirt.py). What was done is still to be
seen in it. Where the key was pressed shows in the digits: a display that moves by 0.1 mbar moves by 0.01 kPa, and a
log of millibars with hundredths in it for a while is a log of kilopascals. Such readings are scaled here for the
labels, and for nothing else: no verdict, no pressure and no alarm reads them.
"""

from __future__ import annotations

from collections.abc import Sequence

from stillbore.gauge.samples import CLOCK, LOOKED_AT, Log

GRIDS = (100.0, 10.0, 1.0)  # Pa, the steps in which gauges show
USUAL = 0.7  # share of the readings that stand on a grid for it to be the gauge's
RATIOS = (10.0, 100.0)  # kPa and bar in a column of mbar or of kPa
LEAST_OFF = 6  # readings off the grid that make a zone; a spike is off it too
TOGETHER = 8  # readings from one that is off the grid to the next of the same zone
LOOSE = 3  # readings apart, at either end of one, for a reading not to belong to it
EDGE = 5  # readings at either end that may be on both grids
PLAIN = 200.0  # Pa between the two units for a reading to tell them apart
EXACT = 1e-3  # of a step
# A probe that lost its contact: from a live pressure to exactly nought in one reading and back in one [Pa, s].
LOST_FROM, LOST_TIME = 500.0, 10.0
KEPT = ("clipped", CLOCK)  # doubts about a reading that leave what was done to be seen


def readings_for_labels(log: Log) -> tuple[list[int], list[float]]:
    """(indices, pressures [Pa]) of the readings that labels are read from."""
    pressures = list(log.pressures)
    known = bytearray(len(pressures))  # readings whose unit the digits show
    for first, end, ratio, whole in scaled_zones(log, pressures):
        for index in range(first, end):
            pressures[index] *= ratio
        known[first:whole] = b"\1" * (whole - first)
    lost = lost_contacts(log.times, pressures)
    kept = []
    for index in range(len(pressures)):
        doubt = log.doubtful.get(index)
        if index not in lost and (doubt is None or doubt in KEPT or doubt == "unit" and known[index]):
            kept.append(index)
    return kept, [pressures[index] for index in kept]


def lost_contacts(times: Sequence[float], pressures: Sequence[float]) -> set[int]:
    """Readings of exactly nought between two live ones, soon over: the gauge may be pumped up meanwhile."""
    lost: set[int] = set()
    count, index = len(pressures), 1
    while index < count:
        if pressures[index] != 0.0 or pressures[index - 1] < LOST_FROM:
            index += 1
            continue
        end = index
        while end < count and pressures[end] == 0.0 and times[end] <= times[index] + LOST_TIME:
            end += 1
        if end < count and pressures[end] >= LOST_FROM:
            lost.update(range(index, end))
        index = end + 1
    return lost


def scaled_zones(log: Log, pressures: Sequence[float]) -> list[tuple[int, int, float, int]]:
    """(first, end, ratio, end of what is known) of every stretch whose digits are those of another unit. A doubt about
    the unit that begins with such a stretch is answered by it for as far as the doubt goes."""
    grid = usual_grid(pressures)
    if grid is None:
        return []
    zones = []
    for first, last in _runs_off(pressures, grid):
        ratio = _ratio(pressures, first, last, grid)
        if ratio is None:
            continue
        first, end = _widened(pressures, first, last, ratio)
        whole = end
        while whole < len(pressures) and log.doubtful.get(whole):
            whole += 1
        zones.append((first, end, ratio, whole))
    return zones


def usual_grid(pressures: Sequence[float]) -> float | None:
    """The step in which most readings stand [Pa]; None for a gauge finer than all that are known."""
    looked = [pressure for pressure in pressures[::max(1, len(pressures) // LOOKED_AT)] if pressure]
    for grid in GRIDS:
        if looked and sum(_on(pressure, grid) for pressure in looked) >= USUAL * len(looked):
            return grid
    return None


def _on(pressure: float, grid: float) -> bool:
    steps = pressure / grid
    return abs(steps - round(steps)) < EXACT


def _runs_off(pressures: Sequence[float], grid: float) -> list[tuple[int, int]]:
    """(first, last) of the stretches in which most readings stand off the grid."""
    runs: list[list[int]] = []
    for index, pressure in enumerate(pressures):
        steps = pressure / grid
        if -EXACT < steps - round(steps) < EXACT:
            continue
        if runs and index - runs[-1][-1] <= TOGETHER:
            runs[-1].append(index)
        else:
            runs.append([index])
    return [(run[0], run[-1]) for run in map(_without_loose_ends, runs)
            if len(run) >= LEAST_OFF and 2 * len(run) > run[-1] - run[0]]


def _without_loose_ends(run: list[int]) -> list[int]:
    """A run without those at its ends that stand apart from the others: spikes near a zone."""
    first, end = 0, len(run)
    while end - first > 1 and run[first + 1] - run[first] > LOOSE:
        first += 1
    while end - first > 1 and run[end - 1] - run[end - 2] > LOOSE:
        end -= 1
    return run[first:end]


def _ratio(pressures: Sequence[float], first: int, last: int, grid: float) -> float | None:
    """How much smaller the numbers are than in the usual unit: so much finer is their grid."""
    for ratio in RATIOS:
        fits = sum(_on(pressure, grid / ratio) for pressure in pressures[first:last + 1])
        if fits >= 0.9 * (last - first + 1):
            return ratio
    return None


def _widened(pressures: Sequence[float], first: int, last: int, ratio: float) -> tuple[int, int]:
    """The zone with those readings at its ends that stand on both grids and go on with what is inside."""
    end, least, most = last + 1, max(0, first - EDGE), min(len(pressures), last + 1 + EDGE)
    while first > least and _goes_on(pressures[first - 1], pressures[first], ratio):
        first -= 1
    while end < most and _goes_on(pressures[end], pressures[end - 1], ratio):
        end += 1
    return first, end


def _goes_on(outside: float, inside: float, ratio: float) -> bool:
    """Whether a reading is plainly nearer to its neighbour in the zone taken in that unit than in the usual one."""
    apart = abs(outside - ratio * inside)
    return apart > PLAIN and abs(outside - inside) < 0.5 * apart
