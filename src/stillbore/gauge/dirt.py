"""What only shows over a whole log: a probe unplugged, dropouts, a clipped range, another unit, spikes.

Each is said in a sentence with its line; the samples it touches are marked doubtful. Nothing is repaired. A rise that
lasts is never excused: what may be a pressure too high for the job is taken for one, whatever else it may be.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable, Iterator

from stillbore.gauge.samples import BLOCK, Log

LOWEST = -2000.0  # Pa; a service cannot pull a gauge further below zero than this
HIGHEST = 9e5  # Pa; no distribution main carries more, so it is a code of the logger. Common practice.
DROPOUT, DROPOUT_TIME = 500.0, 30.0  # Pa, s: from above it to exactly nought and back, each in one reading, so soon
CLIPPED = 12  # samples in a row at exactly the largest value make a clipped range, if it is a round one
NEAR_THE_END = 0.98  # of a known range; readings above it are at its end
ROUND = 5000.0  # Pa; the ends of gauge ranges are multiples of it. Common practice.
UNITS = {10.0: "ten (kPa and mbar?)", 100.0: "a hundred (Pa and mbar?)"}
EXACT, NEARLY = 0.03, 0.08  # how near to such a ratio the levels before and after must come, and the two readings
# Samples on either side of it, and how steady they must be, relative and in Pa. Only what leaps and then stays is a
# unit: a rig that is vented runs through all that lies between.
STEADY, STEADY_WITHIN, STEADY_LEAST = 6, 0.12, 10.0
BACK, BACK_EXACT = 3, 0.06  # the same for a unit that goes back: with what is known by then, less will show it
UNIT_FROM, UNIT_TO, UNIT_TIME = 500.0, 50.0, 30.0  # Pa, Pa, s: a smaller or slower change of unit cannot be told
RETURNED = 0.3  # how near to the level before the unit changed a gauge must come back
SPIKE, SPIKE_TIME = 500.0, 4.0  # Pa, s: a reading that leaves both neighbours by more, which lie so near together
ALONE, QUIET = 0.2, 8.0  # before and after agree to this share of a spike or dropout; it is so many usual steps away
AROUND = 8  # samples on either side of a spike that show what is usual there
LEAP = 400.0  # Pa; from one reading to the next; all that is looked at singly begins with one


class View:
    """A log, and of every block of its samples the lowest and highest pressure [Pa], so that a search passes over
    blocks in which there is nothing to be found."""

    def __init__(self, log: Log) -> None:
        self.log = log
        self.blocks: list[tuple[int, float, float]] = []
        for start in range(0, len(log), BLOCK):
            block = log.pressures[start:start + BLOCK]
            self.blocks.append((start, min(block), max(block)))
        self.leaps = array("q", self._leaps(LEAP))

    @property
    def highest(self) -> float:
        return max(high for _, _, high in self.blocks)

    def runs(self, low: float, high: float) -> Iterator[tuple[int, int]]:
        """(first, end) of every run of samples with ``low <= pressure <= high``."""
        begin, last = -1, -2
        for start, lowest, highest in self.blocks:
            if highest < low or lowest > high:
                continue
            for index, pressure in enumerate(self.log.pressures[start:start + BLOCK], start):
                if low <= pressure <= high:
                    if index != last + 1:
                        if begin >= 0:
                            yield begin, last + 1
                        begin = index
                    last = index
        if begin >= 0:
            yield begin, last + 1

    def _leaps(self, least: float) -> Iterator[int]:
        """Indices of samples that lie at least so far from the one before [Pa]."""
        pressures, before = self.log.pressures, self.log.pressures[0]
        for start, lowest, highest in self.blocks:
            if max(highest, before) - min(lowest, before) >= least:
                for index, pressure in enumerate(pressures[start:start + BLOCK], start):
                    if not -least < pressure - before < least:
                        yield index
                    before = pressure
            before = pressures[min(start + BLOCK, len(pressures)) - 1]

    def usable_top(self) -> float:
        """The highest pressure that is not doubtful [Pa]; 0 if there is none above it."""
        top, doubtful = 0.0, self.log.doubtful
        for start, _, highest in self.blocks:
            if highest > top:
                block = self.log.pressures[start:start + BLOCK]
                top = max([top, *(pressure for index, pressure in enumerate(block, start) if index not in doubtful)])
        return top


def look_over(log: Log, full_scale: float | None) -> None:
    """Mark what is doubtful and add what there is to say to the log's findings."""
    view = View(log)
    if view.highest == math.inf:
        _over_range(view, full_scale)
        view = View(log)
    _unplugged(view)
    _mark(log, _dropouts(view), "dropout",
          "from a live pressure to exactly nought in one reading and back in one: a probe unplugged, not a pressure. "
          "Nothing rests on it.")
    _clipping(view, full_scale)
    _unit_changes(view)
    _mark(log, _spikes(view), "spike",
          "far from both neighbours, which agree: a spike, not a pressure. Nothing rests on it.")


def _over_range(view: View, full_scale: float | None) -> None:
    """Readings at which the gauge said that it was over its range stand at the largest it can show, as clipped."""
    log = view.log
    top = full_scale if full_scale is not None else max(filter(math.isfinite, log.pressures))
    for first, end in view.runs(math.inf, math.inf):
        log.pressures[first:end] = array("d", [top]) * (end - first)
        log.doubt(first, end, "clipped")


def _mark(log: Log, runs: Iterable[tuple[int, int]], reason: str, words: str) -> None:
    """Mark runs, and say how many samples and where the first: ``words`` go on from "7 readings, the first of ..."."""
    first, count = -1, 0
    for begin, end in runs:
        log.doubt(begin, end, reason)
        count += end - begin
        first = begin if first < 0 else first
    if count:
        many = "1 reading" if count == 1 else f"{count} readings, the first"
        log.say(first, f"{many} of {log.pressures[first] / 100:g} mbar at {log.times[first]:.0f} s, {words}")


def _unplugged(view: View) -> None:
    end = "Nothing rests on it. Plug the probe in and log again."
    _mark(view.log, view.runs(-math.inf, math.nextafter(LOWEST, -math.inf)), "unplugged",
          f"below {LOWEST / 100:.0f} mbar: a probe unplugged or broken, not a pressure. {end}")
    _mark(view.log, view.runs(HIGHEST, math.inf), "unplugged",
          f"above {HIGHEST / 1e5:.0f} bar: a code of the logger (no probe?), not a pressure. {end}")


def _dropouts(view: View) -> Iterator[tuple[int, int]]:
    """Runs of exactly nought in the middle of a live pressure, reached in one reading and left in one, and soon."""
    pressures, times, count = view.log.pressures, view.log.times, len(view.log)
    for index in view.leaps:
        before = pressures[index - 1]
        if pressures[index] != 0.0 or before < DROPOUT:
            continue
        latest, end = times[index - 1] + DROPOUT_TIME, index + 1
        while end < count and pressures[end] == 0.0 and times[end] <= latest:
            end += 1
        if end < count and times[end] <= latest and abs(pressures[end] - before) <= ALONE * before:
            yield index, end


def _clipping(view: View, full_scale: float | None) -> None:
    """A gauge at the end of its range reads the same largest value again and again. Where the range is not known, a
    largest value that is a round one is taken for it: a steady 100 on a gauge of unknown range proves nothing."""
    log, top = view.log, view.usable_top()
    if full_scale is None:
        if top < ROUND or abs(top / ROUND - round(top / ROUND)) > 1e-9:
            return
        least, words = top, "its largest value"
    else:
        least, words = NEAR_THE_END * full_scale, "the end of its range"
        if top < least:
            return
    runs = list(view.runs(least, HIGHEST))
    longest = max(runs, key=lambda run: run[1] - run[0])
    if longest[1] - longest[0] < CLIPPED and full_scale is None:
        return
    for first, end in runs:
        log.doubt(first, end, "clipped")
    mend = "If its range goes further, say so." if full_scale is None else "Use a gauge with a wider range."
    log.say(longest[0], f"the gauge reads {top / 100:g} mbar, {words}, {longest[1] - longest[0]} times in a row: it "
                        "may stand at the end of its range. The true pressure may be higher; nothing rests on these. "
                        f"{mend}")


def _level(log: Log, first: int, end: int) -> float | None:
    """The middle of some readings if they are steady and usable, else None."""
    if first < 0 or end > len(log) or any(index in log.doubtful for index in range(first, end)):
        return None
    ordered = sorted(log.pressures[first:end])
    middle = ordered[len(ordered) // 2]
    steady = ordered[-1] - ordered[0] <= max(STEADY_WITHIN * abs(middle), STEADY_LEAST)
    return middle if steady and middle > 0.0 else None


def _unit_jump(log: Log, index: int, samples: int, exact: float) -> tuple[float, float, float] | None:
    """(level before, level after, 10 or 100) if the reading leaps there by such a ratio, and so many samples on both
    sides are steady, at levels whose ratio is as exact."""
    before, after = log.pressures[index - 1], log.pressures[index]
    small, large = min(before, after), max(before, after)
    if small < 0.9 * UNIT_TO or large < 0.9 * UNIT_FROM or log.times[index] - log.times[index - 1] > UNIT_TIME:
        return None
    for ratio in UNITS:
        if abs(large / small / ratio - 1.0) < NEARLY:
            first, second = _level(log, index - samples, index), _level(log, index, index + samples)
            if first and second and abs(max(first, second) / min(first, second) / ratio - 1.0) < exact:
                return first, second, ratio
    return None


def _unit_changes(view: View) -> None:
    """A fall by exactly ten or a hundred, steady on both sides, is another unit, until a rise by the same ratio undoes
    it. Any other such rise is taken for a pressure, since it may be one; what stands before it may be in another unit,
    and is doubtful for as far back as it hangs together."""
    log, zone = view.log, None
    found: list[tuple[int, int, int, float]] = []  # (first, end, the reading that shows it, ratio)
    for index in view.leaps:
        jump = _unit_jump(log, index, *((STEADY, EXACT) if zone is None else (BACK, BACK_EXACT)))
        if jump is None:
            continue
        before, after, ratio = jump
        if zone is None and after < before:
            zone = index, before, ratio
        elif zone is None:
            found.append((_hangs_together(log, index, before), index, index, ratio))
        elif after > before and ratio == zone[2] and abs(after / zone[1] - 1.0) < RETURNED:
            found.append((zone[0], index, zone[0], ratio))
            zone = None
    if zone is not None:
        found.append((zone[0], len(log), zone[0], zone[2]))
    for first, end, _, _ in found:
        log.doubt(first, end, "unit")
    log.say_each(((at, _unit_words(log, first, end, at, ratio)) for first, end, at, ratio in found),
                 "changes of unit, none of whose readings anything rests on")


def _hangs_together(log: Log, end: int, level: float) -> int:
    """Where the readings begin that run on to this one at not far from its level: neither at nought nor far above."""
    first = end
    while first and UNIT_TO <= log.pressures[first - 1] <= 2.0 * level:
        first -= 1
    return first


def _unit_words(log: Log, first: int, end: int, at: int, ratio: float) -> str:
    words = (f"at {log.times[at]:.0f} s the reading goes from {log.pressures[at - 1] / 100:g} to "
             f"{log.pressures[at] / 100:g} mbar, by {UNITS[ratio]}, in one reading, and stays: ")
    if at == end:
        return (f"{words}a rise, or another unit before it. What stands after it counts as a pressure; nothing rests "
                f"on the readings before it, back to line {log.places.line(first)}.")
    if end == len(log):
        return (f"{words}another unit, not another pressure. From there on nothing rests on it. Keep the gauge in one "
                "unit and log again.")
    return (f"{words}another unit, not another pressure. On line {log.places.line(end)} it goes back. Nothing rests on "
            "the readings between.")


def _spikes(view: View) -> Iterator[tuple[int, int]]:
    """Single readings far from both neighbours, which agree, where the gauge is quiet: a knock or a loose contact."""
    pressures, times, doubtful = view.log.pressures, view.log.times, view.log.doubtful
    for index in view.leaps:
        if index + 1 == len(pressures) or times[index + 1] - times[index - 1] > SPIKE_TIME:
            continue
        before, here, after = pressures[index - 1:index + 2]
        away = min(abs(here - before), abs(here - after))
        if (away > SPIKE and (here - before) * (here - after) > 0.0 and abs(after - before) <= ALONE * away
                and not any(near in doubtful for near in (index - 1, index, index + 1))
                and away > QUIET * _roughness(view.log, index)):
            yield index, index + 1


def _roughness(log: Log, index: int) -> float:
    """The median step between readings around one, which is itself left out [Pa]."""
    before, after = log.pressures[max(0, index - AROUND):index], log.pressures[index + 1:index + 1 + AROUND]
    steps = [abs(later - earlier) for part in (before, after)
             for earlier, later in zip(part, part[1:], strict=False)]
    return sorted(steps)[len(steps) // 2] if steps else math.inf
