"""Readings that come line by line while the gauge is watched: from a logger, a growing file, or a crew that types.

A line is ``time,pressure[,temperature][,barometer][,note]`` as in a log, after a header if there is one; or a pressure
alone, stamped when it comes; or words, which are a note ("vent shut"). Units are the header's, else those that the
feed was told, mbar unless it was told another, and degrees Celsius. A line that cannot be read is said, and is no
reading.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from stillbore.gauge.readings import PRESSURE_COLUMNS

USUAL = ("time", "pressure_mbar", "temperature_degc", "barometer_mbar", "note")
LONGEST_LINE = 1000
STEP = 1.0  # s that are reckoned where the clock of the readings went back
LARGEST = 1e8  # Pa; no gauge shows it
_NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?([eE][-+]?\d+)?")


@dataclass(frozen=True)
class Reading:
    """One reading in SI, or a note alone (``pressure`` None), or what is wrong with a line (``fault``)."""

    time: float
    pressure: float | None = None
    temperature: float | None = None
    barometer: float | None = None
    note: str = ""
    fault: str = ""


class Feed:
    """Turns lines into readings. ``began`` is the clock [s] at which the watch began, for lines without a time;
    ``pressure`` names the column that a pressure without a header is of, and so its unit."""

    def __init__(self, began: float = 0.0, pressure: str = USUAL[1]) -> None:
        self.began, self.pressure = began, pressure
        self.columns: tuple[str, ...] = (USUAL[0], pressure, *USUAL[2:])
        self.separator = ""  # of the header, once there was one
        self.last: float | None = None  # time of the last reading in the feed's own time
        self.first: float | None = None

    def take(self, line: str, clock: float) -> Reading | None:
        """Read one line that came at ``clock`` [s]; None for an empty line or a header."""
        text = line.strip().strip("\x00\ufeff")[:LONGEST_LINE]
        if not text or text.startswith("#"):
            return None
        separator = next((mark for mark in (";", "\t") if mark in text), ",")
        cells = [cell.strip() for cell in text.split(separator)]
        if self._header(cells):
            self.separator = separator
            return None
        if len(cells) == 1 or separator == "," and len(cells) == 2 and self._comma(text):
            value = _number(text)
            return self._note(text, clock) if value is None else self._reading(clock - self.began,
                                                                               {self.pressure: value})
        if _number(cells[0]) is None and _number(cells[1]) is None:
            return self._note(text, clock)
        return self._columns(cells, clock)

    def _comma(self, text: str) -> bool:
        """Whether two cells are one pressure with a decimal comma: so long as no reading and no header had a time."""
        return self.first is None and self.separator != "," and re.fullmatch(r"[-+]?\d+,\d+", text) is not None

    def _header(self, cells: list[str]) -> bool:
        names = tuple(cell.lower() for cell in cells)
        if "time" not in names or not any(name in PRESSURE_COLUMNS for name in names):
            return False
        self.columns = names
        return True

    def _columns(self, cells: list[str], clock: float) -> Reading:
        row = dict(zip(self.columns, cells, strict=False))
        values = {name: value for name, cell in row.items() if (value := _number(cell)) is not None}
        if "time" not in values or not any(name in PRESSURE_COLUMNS for name in values):
            return self._fault(f"'{', '.join(cells)[:60]}' is no reading: write time,pressure_mbar.", clock)
        if self.first is None:
            self.first = values["time"]
        return self._reading(values["time"] - self.first, values, row.get("note", ""))

    def _reading(self, time: float, values: dict[str, float], note: str = "") -> Reading:
        name = next(name for name in values if name in PRESSURE_COLUMNS)
        pressure = values[name] * PRESSURE_COLUMNS[name]
        if not abs(pressure) < LARGEST:
            return self._fault(f"{values[name]:g} is no pressure; it is left out.", self.began)
        fault = ""
        if self.last is not None and time <= self.last:
            # A watch must not fall silent because a clock was set back: the readings go on, a step later.
            step = time - self.last
            fault = f"The clock of the readings went back by {-step:.1f} s; how long it really was is not known."
            self.first = (self.first or 0.0) + step - STEP
            time = self.last + STEP
        self.last = time
        celsius, barometer = values.get("temperature_degc"), values.get("barometer_mbar")
        return Reading(time, pressure, None if celsius is None else celsius + 273.15,
                       None if barometer is None else barometer * 100.0, note, fault)

    def _note(self, text: str, clock: float) -> Reading:
        return Reading(self._now(clock), note=text)

    def _fault(self, words: str, clock: float) -> Reading:
        return Reading(self._now(clock), fault=words)

    def _now(self, clock: float) -> float:
        """A time for what carries none: that of the last reading, or the clock's."""
        return self.last if self.last is not None else clock - self.began


def _number(text: str) -> float | None:
    text = text.strip()
    return float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else None
