"""The clock of a log: where it jumps, where nothing was read for long, and what time is known across that.

A logger that was stopped and a clock that was put forward look the same, and a clock put back hides how long it took.
So the time across such a place is not known, and no verdict may count it. The readings after it are kept; the first of
them is marked, so that a judge sees the place.
"""

from __future__ import annotations

import math
from array import array
from bisect import bisect_left
from collections.abc import Iterator
from itertools import repeat
from operator import add, sub

from stillbore.gauge.samples import BLOCK, CLOCK, Log, usual_steps

GAP, MORE = 5.0, 2.0  # a gap is longer than so many usual intervals, and than one and so many seconds
EVEN = 0.9  # share of the steps that are no longer than twice the usual one in a log that a logger wrote
LONGEST_BY_HAND = 1800.0  # s; readings taken when somebody looked may lie so far apart, and the watch was right
KEPT, KEPT_INTERVALS = 30.0, 20.0  # a gap up to so many seconds, or usual intervals, keeps the times as written


class Bridges:
    """Rows with a time and no pressure. They are left out, but their times show that the clock went on."""

    def __init__(self) -> None:
        self.open = False
        self._last = self._longest = 0.0
        self._samples, self._steps = array("q"), array("d")

    def dropped(self, time: float, log: Log) -> None:
        """A row without a pressure comes after the last sample of the log."""
        if not len(log):
            return
        if not self.open:
            self.open, self._last, self._longest = True, log.times[-1], 0.0
        if time > self._last:
            self._longest = max(self._longest, time - self._last)
            self._last = time

    def kept(self, time: float, log: Log) -> None:
        """The next sample of the log comes after such rows, if there were any."""
        if self.open:
            self.open = False
            self._samples.append(len(log))
            self._steps.append(max(self._longest, time - self._last) if time > self._last else math.inf)

    def forget(self, sample: int) -> None:
        """The last sample was taken out again."""
        if self._samples and self._samples[-1] == sample:
            self._samples.pop()
            self._steps.pop()

    def longest(self, sample: int) -> float | None:
        """The longest step between rows from the sample before to this one [s]; None if no row lies between."""
        place = bisect_left(self._samples, sample)
        known = place < len(self._samples) and self._samples[place] == sample
        return self._steps[place] if known else None


def settle(log: Log, bridges: Bridges) -> None:
    """Count the times from the first sample, make them rise, and mark and say where the time is not known."""
    usual, longest = _rule(log)
    kept = max(KEPT, KEPT_INTERVALS * usual)
    times = log.times
    places = [(index, step) for index, step in _odd_steps(log, longest)
              if not _bridged(bridges.longest(index), longest)]
    offset, begin = -times[0], 0
    for index, step in [*places, (len(log), kept)]:
        for start in range(begin, index if offset else begin, BLOCK):
            end = min(start + BLOCK, index)
            times[start:end] = array("d", map(add, times[start:end], repeat(offset)))
        if not 0.0 < step <= kept:
            offset += usual - step
        begin = index
    for index, _ in places:
        log.doubtful.setdefault(index, CLOCK)
    log.say_each(((index, _what(step, usual, kept)) for index, step in places),
                 "places where the clock jumps or nothing was read: no verdict rests across any of them")


def _odd_steps(log: Log, longest: float) -> Iterator[tuple[int, float]]:
    """Samples that come before the one before them, or long after it, with the step [s]."""
    for start in range(0, len(log) - 1, BLOCK):
        block = log.times[start:start + BLOCK + 1]
        steps = list(map(sub, block[1:], block))
        if min(steps) <= 0.0 or max(steps) > longest:
            yield from ((index, step) for index, step in enumerate(steps, start + 1) if not 0.0 < step <= longest)


def _rule(log: Log) -> tuple[float, float]:
    """The usual interval, and the longest step across which the time is taken as written [s]."""
    steps = usual_steps(log)
    if not steps:
        return 1.0, LONGEST_BY_HAND
    usual = steps[len(steps) // 2]
    longest = max(GAP * usual, usual + MORE)
    even = len(steps) >= 10 and steps[int(EVEN * len(steps))] <= 2.0 * usual
    return usual, longest if even else max(longest, LONGEST_BY_HAND)


def _bridged(step: float | None, longest: float) -> bool:
    return step is not None and step <= longest


def _what(step: float, usual: float, kept: float) -> str:
    end = "The time between is not known: no verdict rests across it"
    if 0.0 < step <= kept:
        return f"for {_seconds(step)} nothing was read, or the clock jumped. {end}."
    end += f", and the times go on from there as if {_seconds(usual)} had passed."
    if step > 0.0:
        return f"the clock jumps forward by {_seconds(step - usual)}, or the log was stopped. {end}"
    return f"the clock jumps back by {_seconds(usual - step)}. {end} Set the clock before a log begins."


def _seconds(time: float) -> str:
    return f"{time:.0f} s" if time >= 10.0 else f"{time:.1f} s"
