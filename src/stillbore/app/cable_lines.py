"""Lines of an instrument on a cable as readings of the log, by the trunk's own reader of lines. The time is that of the
device when the line was whole: a log has one clock. What cannot be read for sure is counted and told, never guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime

from stillbore.app.gauge_view import reading_line
from stillbore.errors import StillboreError
from stillbore.gauge.columns import BAROMETER, CELSIUS, PRESSURE_COLUMNS
from stillbore.gauge.feed import Feed, Reading
from stillbore.gauge.readings import OVER_RANGE

MOST_LINES = 200  # sent at once
LONGEST_LINE = 200  # bytes; what is longer has lost its end of line
OVER = "OL"  # as the reader of logs knows a gauge beyond the end of its range
_AROUND = "".join(map(chr, range(33))) + "\x7f\ufeff"  # marks that instruments set around a line
_WITH_UNIT = re.compile(r"([-+]?[\d.,]+)\s*([A-Za-z]\w*)")


@dataclass(frozen=True)
class Brought:
    """What came of some lines: readings as lines of the log (mbar, degC); how many could not be read, and the last of
    them; and what the lines are, for those that follow: the names of their columns, or that of a pressure alone, or ""
    while it is not known."""

    readings: tuple[str, ...]
    unread: int
    last_unread: str
    head: str


class _Reader:
    """``column``: of a pressure without a header; ``head``: as ``Brought`` gave it for the lines before. Lines are all
    of the sort of the first that was read: what is of another sort is torn or disturbed, or may be."""

    def __init__(self, column: str, head: str) -> None:
        self.column, self.head = column, head

    def take(self, said: str, at: datetime) -> str | None:
        """The line of the log, "" where there is nothing to read. None, or StillboreError, where it cannot be read."""
        text = said.strip(_AROUND)
        if len(said.encode("utf-8", "replace")) > LONGEST_LINE:
            return None
        stamp = at.astimezone(UTC).isoformat(timespec="milliseconds")
        if text.lower() in OVER_RANGE:
            return f"{stamp},{OVER},\n"
        bare = Feed(pressure=self.column)
        found, head = bare.take(text, 0.0), self.column
        if found is None:
            if bare.separator:
                self.head = bare.separator.join(bare.columns)
            return ""
        with_unit = _WITH_UNIT.fullmatch(text)
        if with_unit and (column := f"pressure_{with_unit[2].lower()}") in PRESSURE_COLUMNS:
            found = Feed(pressure=column).take(with_unit[1], 0.0) or found
        elif "time" in self.head:
            found, head = self._by_head(text)
        elif bare.first is not None:
            separator = _separator(text)
            if separator == "," and "." not in text and text.count(",") > 1:
                return None  # commas that may part columns, or stand for points
            head = separator.join(bare.columns)
        if found.pressure is None or not _possible(found) or self.head not in ("", head):
            return None
        line = _written(stamp, found)
        self.head = head
        return line

    def _by_head(self, text: str) -> tuple[Reading, str]:
        """A line as the head says; and the head, or another where the line has not its columns."""
        feed = Feed(pressure=self.column)
        feed.take(self.head, 0.0)
        found, mark = feed.take(text, 0.0) or Reading(0.0), _separator(text)
        alike = mark == feed.separator and text.count(mark) < len(feed.columns)
        return found, self.head if feed.first is not None and alike else self.column


def _separator(text: str) -> str:
    return next((mark for mark in (";", "\t") if mark in text), ",")


def _possible(reading: Reading) -> bool:
    """Whether what stands beside the pressure can be; where it cannot, the columns are others than was thought."""
    celsius = None if reading.temperature is None else reading.temperature - 273.15
    barometer = None if reading.barometer is None else reading.barometer / 100.0
    return ((celsius is None or CELSIUS[0] <= celsius <= CELSIUS[1])
            and (barometer is None or BAROMETER[0] <= barometer <= BAROMETER[1]))


def _written(stamp: str, reading: Reading) -> str:
    assert reading.pressure is not None
    celsius = "" if reading.temperature is None else f"{round(reading.temperature - 273.15, 3):g}"
    return reading_line(stamp, f"{round(reading.pressure / 100.0, 4):.9g}", celsius)


def read_lines(text: str, unit: str, head: str) -> Brought:
    """Read lines, each ``time line`` with the time as RFC 3339. ``unit``: of a pressure whose line does not say it.

    Raises StillboreError for a unit or a time that is none, and for more lines than are sent at once."""
    column = f"pressure_{unit.lower()}"
    if column not in PRESSURE_COLUMNS:
        raise StillboreError(f"'{unit[:20]}' is no unit of an instrument's pressure.", "Choose one of the list.")
    lines = text.split("\n") if text else []
    if len(lines) > MOST_LINES:
        raise StillboreError(f"{len(lines)} lines came at once.", f"Send at most {MOST_LINES}.")
    reader, readings, unread, last = _Reader(column, head), [], 0, ""
    for line in lines:
        stamp, _, said = line.partition(" ")
        at = _time(stamp)
        try:
            found = reader.take(said, at)
        except StillboreError:
            found = None
        if found is None:
            unread, last = unread + 1, said[:LONGEST_LINE]
        elif found:
            readings.append(found)
    return Brought(tuple(readings), unread, last, reader.head)


def _time(stamp: str) -> datetime:
    try:
        at = datetime.fromisoformat(stamp)
    except ValueError:
        at = datetime.min
    if at.tzinfo is None:
        raise StillboreError(f"'{stamp[:40]}' is no time with a zone.", "Load the page again.")
    return at
