"""A gauge log in memory: its columns, what is doubtful in them and why, and what there is to say of it."""

from __future__ import annotations

import math
from array import array
from bisect import bisect_right
from collections.abc import Iterable, Iterator, MutableMapping
from dataclasses import dataclass, field
from itertools import compress, count

CLOCK = "clock"  # the reason given to the first sample after a time that is not known
BLOCK = 4096  # samples looked at together; a block in which nothing can be is passed over at once
SAID = 3  # findings of one kind that are told one by one
LOOKED_AT = 4000  # steps that the usual interval is taken from


class Doubts(MutableMapping[int, str]):
    """Why samples are doubtful, by index: one byte a sample, so that a million of them cost a megabyte."""

    def __init__(self) -> None:
        self._codes = bytearray()
        self._reasons: list[str] = [""]
        self._count = 0

    def mark(self, first: int, end: int, reason: str) -> None:
        """Mark the samples from ``first`` up to, not with, ``end``; a reason given earlier stays."""
        code = self._code(reason)
        self._reach(end)
        part = self._codes[first:end]
        self._count += part.count(0)
        self._codes[first:end] = part.replace(b"\0", bytes((code,)))

    def _code(self, reason: str) -> int:
        if reason not in self._reasons:
            self._reasons.append(reason)
        return self._reasons.index(reason)

    def _reach(self, end: int) -> None:
        if end > len(self._codes):
            self._codes.extend(bytes(end - len(self._codes)))

    def __setitem__(self, index: int, reason: str) -> None:
        if index < 0:
            raise IndexError(index)
        self._reach(index + 1)
        self._count += not self._codes[index]
        self._codes[index] = self._code(reason)

    def __getitem__(self, index: int) -> str:
        if index not in self:
            raise KeyError(index)
        return self._reasons[self._codes[index]]

    def get(self, index: int, default: str | None = None) -> str | None:  # type: ignore[override]
        code = self._codes[index] if 0 <= index < len(self._codes) else 0
        return self._reasons[code] if code else default

    def __delitem__(self, index: int) -> None:
        if index not in self:
            raise KeyError(index)
        self._codes[index] = 0
        self._count -= 1

    def __contains__(self, index: object) -> bool:
        return isinstance(index, int) and 0 <= index < len(self._codes) and self._codes[index] != 0

    def __iter__(self) -> Iterator[int]:
        return compress(count(), self._codes)

    def __len__(self) -> int:
        return self._count


class Places:
    """Which line of the file each sample stood on. Only where the lines run on otherwise than the samples is kept."""

    def __init__(self) -> None:
        self._samples, self._offsets = array("q"), array("q")

    def put(self, sample: int, line: int) -> None:
        """From this sample on lines and samples run on together, the sample at this line."""
        if not self._offsets or self._offsets[-1] != line - sample:
            self._samples.append(sample)
            self._offsets.append(line - sample)

    def line(self, sample: int) -> int:
        place = bisect_right(self._samples, sample) - 1
        return sample + (self._offsets[place] if place >= 0 else 0)


@dataclass
class Log:
    """A log: columns of equal length, NaN where there is no value. ``times`` rise [s from the first sample].

    ``doubtful`` says of a sample, by its index, why it cannot be relied on; ``findings`` are sentences for people, the
    first of a kind with its line; ``notes`` hold a note where it begins, not where the next rows repeat it; ``places``
    knows the line of each sample."""

    name: str
    times: array = field(default_factory=lambda: array("d"))
    pressures: array = field(default_factory=lambda: array("d"))
    temperatures: array = field(default_factory=lambda: array("d"))
    barometers: array = field(default_factory=lambda: array("d"))
    notes: dict[int, str] = field(default_factory=dict)
    doubtful: MutableMapping[int, str] = field(default_factory=Doubts)
    findings: list[str] = field(default_factory=list)
    places: Places = field(default_factory=Places)

    def __len__(self) -> int:
        return len(self.times)

    @property
    def jumps(self) -> list[int]:
        """Samples before which the time is not known: the clock jumped, or nothing was read. A judge that needs the
        time must not count across one. They are the samples whose doubt is the clock, so that a part of a log that
        keeps its doubts keeps its jumps."""
        return [index for index, reason in self.doubtful.items() if reason == CLOCK]

    def say(self, index: int, words: str) -> None:
        """Add a finding, with the line of its sample."""
        self.findings.append(f"Line {self.places.line(index)}: {words}")

    def say_each(self, sentences: Iterable[tuple[int, str]], more: str) -> None:
        """Add findings of one kind (sample, words); after the first few only how many ``more`` there are."""
        count = 0
        for count, (index, words) in enumerate(sentences, 1):
            if count <= SAID:
                self.say(index, words)
        if count > SAID:
            self.findings.append(f"{count - SAID} more {more}.")

    def doubt(self, first: int, end: int, reason: str) -> None:
        """Mark the samples from ``first`` up to, not with, ``end`` as doubtful; a reason given earlier stays."""
        if isinstance(self.doubtful, Doubts):
            self.doubtful.mark(first, end, reason)
        else:
            for index in range(first, end):
                self.doubtful.setdefault(index, reason)

    def sample(self, index: int) -> tuple[float, float, float | None, float | None]:
        """(time, pressure, temperature or None, barometer or None) of a sample."""
        return (self.times[index], self.pressures[index], _or_none(self.temperatures[index]),
                _or_none(self.barometers[index]))

    def samples(self) -> Iterator[tuple[float, float, float | None, float | None]]:
        """The same of every sample."""
        return map(self.sample, range(len(self)))


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value


def usual_steps(log: Log) -> list[float]:
    """Times between neighbouring readings [s], in order of size, from up to a few thousand spread over the log."""
    times = log.times
    stride = max(1, len(log) // LOOKED_AT)
    steps = (times[index + 1] - times[index] for index in range(0, len(log) - 1, stride))
    return sorted(step for step in steps if step > 0.0)


def usual_interval(log: Log) -> float:
    """The median time between readings [s]."""
    steps = usual_steps(log)
    return steps[len(steps) // 2] if steps else 0.0
