"""Gauge logs as they come: read piece by piece, with everything wrong in them found, said, and never silently repaired.

A log is CSV: ``time,pressure_mbar[,temperature_degC][,barometer_mbar][,note]``; time in seconds or RFC 3339. Inside,
SI: seconds from the first sample, Pa gauge, K, Pa abs. A sample that cannot be relied on is *doubtful*: it is kept,
with the reason, and a verdict that would rest on it says so or is not given. What only shows over the whole log is
found by ``clock.py`` and ``dirt.py``. Memory: about 32 bytes a line. A piece of plain lines is read a column at a
time; a piece in which anything is not plain is read line by line.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable
from itertools import repeat
from operator import add, lt
from pathlib import Path
from typing import NamedTuple

from stillbore.errors import Fault, InputFaults
from stillbore.gauge.clock import Bridges, settle
from stillbore.gauge.columns import NOT_PLAIN, PRESSURE_COLUMNS, SEPARATORS, Column, Header, cells_of, find_header
from stillbore.gauge.dirt import look_over
from stillbore.gauge.lines import (
    LARGEST_LINE,
    PIECE,
    PLAIN,
    TOO_LONG,
    Kinds,
    Pieces,
    decode,
    decoded,
    encoding_of,
    mended,
)
from stillbore.gauge.samples import Log, usual_interval
from stillbore.gauge.stamps import DAY, LONGEST_TIME, OF_DAY, Form, days_to_add, form_of

__all__ = ["PRESSURE_COLUMNS", "Log", "decode", "read_log", "read_text", "usual_interval"]
BACKWARDS = "a time that runs backwards, left out"
DECIMAL_COMMA = "a decimal comma, read as a point"
NO_TIME = "no time that is written as the first one is (seconds, RFC 3339, or HH:MM:SS), left out"
SECOND_HEADER = "the header again (two logs in one file?), passed over"
# A gauge that shows one of these is beyond the end of its range. Common practice.
OVER_RANGE = {"ol", "+ol", "o.l", "o.l.", "over", "over range", "overrange", "overload", "hi"}


def read_log(path: Path, full_scale: float | None = None) -> Log:
    """Read a log from disk; ``full_scale`` is the end of the gauge's range [Pa], if it is known.

    Raises InputFaults if it cannot be read at all or holds no readings."""
    try:
        file = path.open("rb")
    except (OSError, ValueError) as error:
        raise _unreadable(path, error) from None
    with file:
        try:
            encoding = encoding_of(file.peek(4096)[:4096])
            said = [] if encoding == PLAIN else [f"The file is {encoding}, not UTF-8; it was read as that."]
            return _read(decoded(file, encoding), path.name, full_scale, said)
        except OSError as error:
            raise _unreadable(path, error) from None


def _unreadable(path: Path, error: Exception) -> InputFaults:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else "that is no path"
    return InputFaults([Fault(str(path), f"The gauge log cannot be read: {reason}.", "Check the path.")])


def read_text(text: str, name: str, full_scale: float | None = None) -> Log:
    """Read a log from its text. Raises InputFaults if there is no header or no reading."""
    return _read((text[start:start + PIECE] for start in range(0, len(text), PIECE)), name, full_scale, [])


def _read(texts: Iterable[str], name: str, full_scale: float | None, said: list[str]) -> Log:
    log, kinds = Log(name, findings=said), Kinds()
    pieces = Pieces(texts, kinds)
    header, line, rest = find_header(pieces, kinds, name)
    if line > 1:
        log.findings.append(f"The columns are named on line {line}; what stands before was passed over.")
    if header.separator != ",":
        log.findings.append(f"The columns are separated by {SEPARATORS[header.separator]}.")
    reader = _Reader(log, header, kinds)
    reader.read(rest)
    log.findings += kinds.sentences()
    if not len(log) or (full_scale is None and min(log.pressures) == math.inf):
        raise InputFaults([Fault(name, "The gauge log holds no readings.", "Write one line for each reading."),
                           *kinds.faults(name)])
    if not pieces.ended:
        log.findings.append(f"Line {pieces.lines}, the last, has no end: the file may have been cut there. A reading "
                            "on it is doubtful.")
        if log.places.line(len(log) - 1) == pieces.lines:
            log.doubtful[len(log) - 1] = "cut line"
    if reader.form is OF_DAY and log.times[-1] >= DAY:
        log.findings.append("The times are times of day: over midnight they were counted on. Write the date as well.")
    settle(log, reader.bridges)
    look_over(log, full_scale)
    return log


class Row(NamedTuple):
    """A reading in SI, the time as written [s]."""

    time: float
    pressure: float
    temperature: float
    barometer: float
    note: str
    line: int


class _Reader:
    """Reads the rows of one log in the order in which they stand. A time that runs backwards once is left out; one that
    goes on from there is a clock that was set back: such readings are kept, and ``settle`` finds the step back."""

    def __init__(self, log: Log, header: Header, kinds: Kinds) -> None:
        self.log, self.header, self.kinds = log, header, kinds
        self.pressures, self.temperatures, self.barometers = header.readers()
        self.runs = header.plain_runs()
        self.form: Form | None = None
        self.bridges = Bridges()
        self.waiting: Row | None = None  # one that ran backwards; the next one shows what it was
        self.note_before = ""

    def read(self, pieces: Iterable[tuple[int, str]]) -> None:
        for first, text in pieces:
            if not self._plain(text, first):
                self._mixed(text, first)
        if self.waiting is not None:
            self.kinds.note(BACKWARDS, self.waiting.line)
        nothing = array("d", [math.nan])
        if self.header.temperature is None:
            self.log.temperatures = nothing * len(self.log)
        if self.header.barometer is None:
            self.log.barometers = nothing * len(self.log)

    def _mixed(self, text: str, first: int) -> None:
        """Read a piece in which some lines are not plain: the runs of plain ones between them at once."""
        place = 0
        for match in self.runs.finditer(text):
            first = self._lines(text[place:match.start()], first)
            run, place = match.group(), match.end()
            while run and (self.form is None or self.waiting is not None or not len(self.log)):
                line, run = run.split("\n", 1)
                first = self._lines(line + "\n", first)
            if run and self._plain(run, first):
                first += run.count("\n")
            else:
                first = self._lines(run, first)
        self._lines(text[place:], first)

    def _lines(self, text: str, first: int) -> int:
        """Read whole lines one by one; returns the number of the line after them."""
        for line in text.split("\n")[:-1]:
            self._line(line, first)
            first += 1
        return first

    def _plain(self, text: str, first: int) -> bool:
        """Read a piece a column at a time; False, with nothing done, if any of its lines is not plain."""
        header, form = self.header, self.form
        if (form is None or not len(self.log) or self.waiting is not None or not text.isascii()
                or any(mark in text for mark in NOT_PLAIN)):
            return False
        separator, stride, commas = header.separator, header.width + 1, 0
        if separator != "," and (commas := text.count(",")):
            if header.note is not None:
                return False
            text = text.replace(",", ".")
        # The ends of the lines become cells of their own: where one does not stand at its place, a line is not whole.
        cells = text.replace("\n", f"{separator}\n{separator}").split(separator)
        cells.pop()
        count = text.count("\n")
        if len(cells) != count * stride or cells[header.width::stride].count("\n") != count:
            return False
        columns = []
        try:
            times = form.read(cells[header.time::stride])
            for place, column in ((header.pressure, self.pressures), (header.temperature, self.temperatures),
                                  (header.barometer, self.barometers)):
                columns.append([] if place is None else list(map(column.__getitem__, cells[place::stride])))
        except (ValueError, TypeError, OverflowError):
            return False
        last = self.log.times[-1]
        if form is OF_DAY and (day := days_to_add(times[0], last)):
            times = list(map(add, times, repeat(day)))
        if not (last < times[0] and times[-1] < LONGEST_TIME and all(map(lt, times, times[1:]))):
            return False
        if commas:
            self.kinds.note(DECIMAL_COMMA, first, commas)
        self._notes([] if header.note is None else cells[header.note::stride])
        log = self.log
        self.bridges.kept(times[0], log)
        log.places.put(len(log), first)
        for column, values in zip((log.times, log.pressures, log.temperatures, log.barometers), (times, *columns),
                                  strict=True):
            column.fromlist(values)
        return True

    def _notes(self, cells: list[str]) -> None:
        """Keep the notes of the rows that come next."""
        if any(cells):
            for index, cell in enumerate(cells, len(self.log)):
                self._note(index, cell.strip())
        else:
            self.note_before = ""

    def _note(self, index: int, note: str) -> None:
        if note and note != self.note_before:
            self.log.notes[index] = note
        self.note_before = note

    def _line(self, line: str, number: int) -> None:
        """Read one line, whatever stands on it."""
        header, kinds = self.header, self.kinds
        if len(line) > LARGEST_LINE:
            kinds.note(TOO_LONG, number)
            return
        if "\0" in line or not line.isascii():
            line = mended(line, kinds, number)
        cells = [cell.strip() for cell in cells_of(line, header.separator)]
        if not any(cells):
            kinds.note("an empty line, passed over", number)
            return
        if cells[0].startswith("#"):
            kinds.note("a comment, passed over", number)
            return
        if any(cells[header.width:]):
            kinds.note("more columns than the header has (decimal commas between commas?), left out. Separate the "
                       "columns by semicolons", number)
            return
        cells += [""] * (header.width - len(cells))
        time = self._time(cells[header.time], number)
        if time is None:
            return
        pressure = self._pressure(cells[header.pressure], number)
        if pressure is None:
            self.bridges.dropped(time, self.log)
            return
        temperature = self._beside(cells, header.temperature, self.temperatures, "temperature", number)
        barometer = self._beside(cells, header.barometer, self.barometers, "barometer", number)
        note = "" if header.note is None else cells[header.note]
        self._place(Row(time, pressure, temperature, barometer, note, number))

    def _time(self, text: str, line: int) -> float | None:
        comma = "," in text
        text = text.replace(",", ".").upper()
        if self.form is None:
            self.form = form_of(text)
        try:
            if self.form is None:
                raise ValueError(text)
            time = self.form.one(text)
        except (ValueError, TypeError, OverflowError):
            self.kinds.note(SECOND_HEADER if text == "TIME" else NO_TIME, line)
            return None
        if comma:
            self.kinds.note(DECIMAL_COMMA, line)
        if self.form is OF_DAY and len(self.log):
            time += days_to_add(time, self.log.times[-1])
        return time

    def _number(self, text: str, column: Column, line: int) -> float | None:
        """A cell's value in SI; None for one that is no possible number."""
        try:
            value = column[text.replace(",", ".")]
        except ValueError:
            return None
        if "," in text:
            self.kinds.note(DECIMAL_COMMA, line)
        return value

    def _pressure(self, text: str, line: int) -> float | None:
        pressure = self._number(text, self.pressures, line)
        if pressure is None and text.lower() in OVER_RANGE:
            self.kinds.note("the gauge says that it is beyond the end of its range. The true pressure is higher than "
                            "it can show; nothing rests on it", line)
            return math.inf
        if pressure is None:
            self.kinds.note("no pressure stands there (a dropout), left out", line)
        return pressure

    def _beside(self, cells: list[str], place: int | None, column: Column, name: str, line: int) -> float:
        value = math.nan if place is None else self._number(cells[place], column, line)
        if value is None:
            self.kinds.note(f"a {name} that is no number or cannot be, left out", line)
            return math.nan
        return value

    def _place(self, row: Row) -> None:
        """Put a reading in its place by its time."""
        times = self.log.times
        if self.waiting is None:
            if not len(times) or row.time > times[-1]:
                self._keep(row)
            elif row.time == times[-1]:
                self.kinds.note("a time that stands still, left out. Log with a finer clock", row.line)
            else:
                self.waiting = row
            return
        waiting, self.waiting = self.waiting, None
        if row.time > times[-1]:
            self.kinds.note(BACKWARDS, waiting.line)
            self._keep(row)
        elif row.time > waiting.time:
            # The clock goes on from the step back: it was set back, unless the reading before was what did not fit.
            if len(times) > 1 and times[-2] < waiting.time < times[-1]:
                self._drop_last()
            self._keep(waiting)
            self._keep(row)
        else:
            self.kinds.note(BACKWARDS, waiting.line)
            self.waiting = row

    def _keep(self, row: Row) -> None:
        log, header = self.log, self.header
        self.bridges.kept(row.time, log)
        self._note(len(log), row.note)
        log.places.put(len(log), row.line)
        log.times.append(row.time)
        log.pressures.append(row.pressure)
        if header.temperature is not None:
            log.temperatures.append(row.temperature)
        if header.barometer is not None:
            log.barometers.append(row.barometer)

    def _drop_last(self) -> None:
        log = self.log
        self.kinds.note("a time that runs ahead of those after it, left out", log.places.line(len(log) - 1))
        self.bridges.forget(len(log) - 1)
        log.notes.pop(len(log) - 1, None)
        for column in (log.times, log.pressures, log.temperatures, log.barometers):
            if column:
                column.pop()
