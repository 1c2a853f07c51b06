"""The head of a log: which columns it has, in which units, and what separates them; and how their cells are read."""

from __future__ import annotations

import csv
import difflib
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from stillbore.errors import Fault, InputFaults
from stillbore.gauge.lines import LARGEST_LINE, Kinds, Pieces, mended
from stillbore.units import UNITS

PRESSURE_COLUMNS = {"pressure_mbar": 100.0, "pressure_hpa": 100.0, "pressure_kpa": 1000.0, "pressure_pa": 1.0,
                    "pressure_bar": 1e5, "pressure_psi": UNITS["Pa"]["psi"][0],
                    "pressure_inh2o": UNITS["Pa"]["inH2O"][0]}
KNOWN = ("time", *PRESSURE_COLUMNS, "temperature_degc", "barometer_mbar", "note")
HEADER = "time,pressure_mbar[,temperature_degC][,barometer_mbar][,note]"
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
NOT_PLAIN = '"_\0#'  # one of them in a line, and it is looked at by itself
BEFORE_HEADER = 50  # lines of a logger's own that may stand before the header
REMEMBERED, LONGEST_REMEMBERED = 20_000, 20  # different cells of a column; characters
LARGEST_PRESSURE = 1e8  # Pa; a number beyond it is not even a broken probe's
CELSIUS, BAROMETER = (-60.0, 90.0), (500.0, 1100.0)  # degC and mbar that can be, out of doors


class Column(dict[str, float]):
    """The cells of a column -> their values in SI. A gauge shows the same few thousand numbers again and again, so each
    is read once and then looked up. ValueError for a cell that is no possible number; an empty one is NaN, if the
    column may have such."""

    def __init__(self, ends: tuple[float, float], factor: float = 1.0, added: float = 0.0, empty: bool = True) -> None:
        super().__init__({"": math.nan} if empty else {})
        self._ends, self._factor, self._added = ends, factor, added

    def __missing__(self, text: str) -> float:
        value = float(text)
        if not self._ends[0] <= value <= self._ends[1] or "_" in text:
            raise ValueError(text)
        value = value * self._factor + self._added
        if len(self) < REMEMBERED and len(text) <= LONGEST_REMEMBERED:
            self[text] = value
        return value


@dataclass(frozen=True)
class Header:
    """Where the columns stand; None for one that is not there. ``width`` counts the cells of the header."""

    separator: str
    width: int
    time: int
    pressure: int
    pressure_name: str
    temperature: int | None
    barometer: int | None
    note: int | None

    def readers(self) -> tuple[Column, Column, Column]:
        """Of pressures [Pa], temperatures [K] and the barometer [Pa]."""
        factor = PRESSURE_COLUMNS[self.pressure_name]
        largest = LARGEST_PRESSURE / factor
        return (Column((-largest, largest), factor, empty=False), Column(CELSIUS, added=273.15),
                Column(BAROMETER, factor=100.0))

    def plain_runs(self) -> re.Pattern[str]:
        """Matches as many lines in a row as may be plain: as many cells as the header, a time and a pressure with
        nothing but digits and the marks that go with them, nothing that must be looked at more closely."""
        comma = "" if self.separator == "," else ","
        anything = rf'[^{self.separator}\n{NOT_PLAIN}\x80-\U0010ffff]*+'
        cells = [anything] * self.width
        cells[self.time], cells[self.pressure] = rf"[-+.:\dTZ {comma}]++", rf"[-+.\d {comma}]++"
        return re.compile(f"(?:^{self.separator.join(cells)}\n)++", re.MULTILINE | re.ASCII)


def cells_of(line: str, separator: str) -> list[str]:
    """The cells of a line. A quoted cell ends with its line, so that a lost quotation mark costs one line."""
    if '"' in line:
        try:
            return next(csv.reader([line], delimiter=separator), [])
        except csv.Error:
            pass
    return line.rstrip("\n").split(separator)


def find_header(pieces: Pieces, kinds: Kinds, name: str) -> tuple[Header, int, Iterator[tuple[int, str]]]:
    """The header, the number of its line, and the pieces after it. It is the first line that names a time.

    Raises InputFaults if there is none, or if it is wrong."""
    source = iter(pieces)
    first = None
    for number, text in source:
        start = 0
        while start < len(text) and number <= BEFORE_HEADER:
            end = text.index("\n", start) + 1
            line = mended(text[start:end], kinds, number) if end - start <= LARGEST_LINE else ""
            separator = max(SEPARATORS, key=line.count)
            cells = [cell.strip().strip("\ufeff").lower() for cell in cells_of(line, separator)]
            if "time" in cells:
                rest = ((number + 1, text[end:]),) if end < len(text) else ()
                return _header(cells, separator, f"{name}, line {number}"), number, chain(rest, source)
            first = first or (number if any(cells) else None)
            start, number = end, number + 1
        if number > BEFORE_HEADER:
            break
    if first is None:
        raise InputFaults([Fault(name, "The gauge log is empty.", f"Its first line names the columns: {HEADER}"),
                           *kinds.faults(name)])
    raise InputFaults([Fault(f"{name}, line {first}", "The columns are not named.",
                             f"The first line must be: {HEADER}"), *kinds.faults(name)])


def _header(cells: list[str], separator: str, place: str) -> Header:
    pressures = [cell for cell in cells if cell in PRESSURE_COLUMNS]
    unknown = [cell for cell in dict.fromkeys(cells) if cell and cell not in KNOWN]
    twice = [cell for cell in dict.fromkeys(cells) if cell in KNOWN and cells.count(cell) > 1]
    faults = []
    if len(set(pressures)) != 1:
        faults.append(Fault(place, f"{len(pressures) or 'No'} columns of pressure are named.",
                            f"Name one. The first line must be: {HEADER}"))
    for cell in unknown[:20]:
        near = difflib.get_close_matches(cell[:40], KNOWN, n=1)
        faults.append(Fault(place, f"The column '{cell[:40]}' is not known.",
                            f"Known are: {', '.join(KNOWN)}." + (f" Did you mean {near[0]}?" if near else "")))
    faults += [Fault(place, f"The column '{cell}' is named twice.", "Name each column once.") for cell in twice]
    if faults:
        raise InputFaults(faults)
    where = {cell: index for index, cell in enumerate(cells) if cell}
    return Header(separator, len(cells), where["time"], where[pressures[0]], pressures[0],
                  where.get("temperature_degc"), where.get("barometer_mbar"), where.get("note"))
