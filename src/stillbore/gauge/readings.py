"""Gauge logs as they come: read whole, with everything wrong in them found, said, and never silently repaired.

A log is CSV: ``time,pressure_mbar[,temperature_degC][,barometer_mbar][,note]``; time in seconds or RFC 3339. Inside,
SI: seconds from the first sample, Pa gauge, K, Pa abs. A sample that cannot be relied on is *doubtful*: it is kept,
with the reason, and a verdict that would rest on it says so or is not given.
"""

from __future__ import annotations

import csv
import io
import math
from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from stillbore.errors import Fault, InputFaults

PRESSURE_COLUMNS = {"pressure_mbar": 100.0, "pressure_kpa": 1000.0, "pressure_pa": 1.0, "pressure_bar": 1e5}
KNOWN = ("time", *PRESSURE_COLUMNS, "temperature_degc", "barometer_mbar", "note")
MISSING = math.nan
GAP = 5.0  # times the usual interval
CLIPPED = 12  # samples in a row at exactly the largest value make a clipped range, if it is a round one
UNIT_JUMPS = (10.0, 0.1, 100.0, 0.01)
LOWEST = -2000.0  # Pa; a service cannot pull a gauge further below zero than this
LARGEST_LINE = 10_000


@dataclass
class Log:
    """A log: columns of equal length, NaN where there is no value; ``doubtful`` maps a sample's index to why;
    ``findings`` are sentences for people, the first of a kind with its line."""

    name: str
    times: array = field(default_factory=lambda: array("d"))
    pressures: array = field(default_factory=lambda: array("d"))
    temperatures: array = field(default_factory=lambda: array("d"))
    barometers: array = field(default_factory=lambda: array("d"))
    notes: dict[int, str] = field(default_factory=dict)
    doubtful: dict[int, str] = field(default_factory=dict)
    findings: list[str] = field(default_factory=list)

    def __len__(self) -> int:
        return len(self.times)

    def samples(self) -> Iterator[tuple[float, float, float | None, float | None]]:
        """(time, pressure, temperature or None, barometer or None) of every sample."""
        for row in zip(self.times, self.pressures, self.temperatures, self.barometers, strict=True):
            yield row[0], row[1], _or_none(row[2]), _or_none(row[3])


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value


def decode(raw: bytes) -> tuple[str, str]:
    """Bytes as text, and the name of the encoding if it is not plain UTF-8."""
    for mark, name in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if raw.startswith(mark):
            return raw.decode(name, errors="replace"), "" if name == "utf-8-sig" else name
    try:
        return raw.decode("utf-8"), ""
    except UnicodeDecodeError:
        return raw.decode("latin-1"), "latin-1"


def read_log(path: Path, full_scale: float | None = None) -> Log:
    """Read a log from disk; ``full_scale`` is the end of the gauge's range [Pa], if it is known.

    Raises InputFaults if it cannot be read at all or holds no readings."""
    try:
        raw = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "that is no path"
        raise InputFaults([Fault(str(path), f"The gauge log cannot be read: {reason}.", "Check the path.")]) from None
    text, encoding = decode(raw)
    log = read_text(text, path.name, full_scale)
    if encoding:
        log.findings.insert(0, f"The file is {encoding}, not UTF-8; it was read as that.")
    if raw and not raw.endswith((b"\n", b"\r", b"\n\x00", b"\x00\n")):
        log.findings.append("The last line has no end: the file may have been cut there; its last reading is doubtful.")
        if len(log):
            log.doubtful[len(log) - 1] = "cut line"
    return log


def read_text(text: str, name: str, full_scale: float | None = None) -> Log:
    """Read a log from its text. Raises InputFaults if there is no header or no reading."""
    if "\x00" in text:
        text = text.replace("\x00", "")
    separator = _separator(text)
    lines = io.StringIO(text, newline="")
    rows = csv.reader((line[:LARGEST_LINE] for line in lines), delimiter=separator)
    log = Log(name)
    if separator != ",":
        log.findings.append(f"The columns are separated by {'tabs' if separator == chr(9) else repr(separator)}.")
    try:
        header = next(rows)
    except (StopIteration, csv.Error):
        raise InputFaults([Fault(name, "The gauge log is empty.", "Its first line names the columns: "
                                 "time,pressure_mbar")]) from None
    _Reader(log, _columns(header, name)).read(rows)
    if not len(log):
        raise InputFaults([Fault(name, "The gauge log holds no readings.", "Write one line for each reading.")])
    _look_over(log, full_scale)
    return log


def _separator(text: str) -> str:
    first = text.split("\n", 1)[0]
    counts = {separator: first.count(separator) for separator in ",;\t"}
    return max(counts, key=lambda separator: counts[separator])


def _columns(header: list[str], name: str) -> dict[str, int]:
    columns = {text.strip().strip("\ufeff").lower(): index for index, text in enumerate(header)}
    unknown = [column for column in columns if column and column not in KNOWN]
    pressures = [column for column in columns if column in PRESSURE_COLUMNS]
    faults = []
    if "time" not in columns or len(pressures) != 1:
        faults.append(Fault(f"{name}, line 1", "The columns are not named.",
                            "The first line must be: time,pressure_mbar[,temperature_degC][,barometer_mbar][,note]"))
    elif unknown:
        faults.append(Fault(f"{name}, line 1", f"The column '{unknown[0]}' is not known.",
                            f"Known are: {', '.join(KNOWN)}."))
    if faults:
        raise InputFaults(faults)
    return columns


class _Reader:
    """Reads the rows of one log and keeps what is wrong with them, the first of each kind with its line."""

    def __init__(self, log: Log, columns: dict[str, int]) -> None:
        self.log = log
        self.columns = columns
        self.pressure_column = next(column for column in columns if column in PRESSURE_COLUMNS)
        self.factor = PRESSURE_COLUMNS[self.pressure_column]
        self.counts: dict[str, list[int]] = {}
        self.first_time: float | None = None

    def note(self, kind: str, line: int) -> None:
        self.counts.setdefault(kind, []).append(line)

    def number(self, row: list[str], column: str, line: int) -> float:
        index = self.columns.get(column)
        if index is None or index >= len(row) or not row[index].strip():
            return MISSING
        text = row[index].strip()
        if "," in text:
            self.note("a decimal comma, read as a point", line)
            text = text.replace(",", ".")
        try:
            value = float(text)
        except ValueError:
            self.note(f"a {column} that is no number, left out", line)
            return MISSING
        if not math.isfinite(value):
            self.note(f"a {column} that is no number, left out", line)
            return MISSING
        return value

    def time(self, text: str, line: int) -> float:
        text = text.strip().replace(",", ".")
        try:
            return float(text)
        except ValueError:
            pass
        try:
            return datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()
        except ValueError:
            self.note("a time that is neither seconds nor RFC 3339, left out", line)
            return MISSING

    def read(self, rows: Iterable[list[str]]) -> None:
        log = self.log
        line = 1
        try:
            for line, row in enumerate(rows, 2):
                if row and any(cell.strip() for cell in row):
                    self.take(row, line)
        except csv.Error as error:
            self.note(f"a line that cannot be read ({error}), where reading stopped", line + 1)
        for kind, lines in self.counts.items():
            more = f" and {len(lines) - 1} more" if len(lines) > 1 else ""
            log.findings.append(f"Line {lines[0]}{more}: {kind}.")

    def take(self, row: list[str], line: int) -> None:
        log = self.log
        if len(row) > len(self.columns) and any(cell.strip() for cell in row[len(self.columns):]):
            self.note("more columns than the header has (decimal commas between commas?), left out", line)
            return
        index = self.columns["time"]
        time = self.time(row[index], line) if index < len(row) else MISSING
        pressure = self.number(row, self.pressure_column, line)
        if math.isnan(time):
            return
        if math.isnan(pressure):
            self.note("no pressure (a dropout), left out", line)
            return
        if self.first_time is None:
            self.first_time = time
        time -= self.first_time
        if len(log) and time <= log.times[-1]:
            self.note("a time that stands still, left out" if time == log.times[-1]
                      else "a time that runs backwards, left out", line)
            return
        celsius = self.number(row, "temperature_degc", line)
        barometer = self.number(row, "barometer_mbar", line)
        place = self.columns.get("note")
        if place is not None and place < len(row) and row[place].strip():
            log.notes[len(log)] = row[place].strip()
        log.times.append(time)
        log.pressures.append(pressure * self.factor)
        log.temperatures.append(celsius + 273.15)
        log.barometers.append(barometer * 100.0)


def _look_over(log: Log, full_scale: float | None) -> None:
    """Find what only shows over the whole log: gaps and clock jumps, clipping, unit changes, an unplugged probe."""
    _gaps(log)
    _clipping(log, full_scale)
    _unit_changes(log)
    below = [index for index, pressure in enumerate(log.pressures) if pressure < LOWEST]
    if below:
        log.findings.append(f"{len(below)} readings lie below {LOWEST / 100:.0f} mbar, the first at "
                            f"{log.times[below[0]]:.0f} s: a probe unplugged or broken, not a pressure.")
        for index in below:
            log.doubtful[index] = "unplugged"


def usual_interval(log: Log) -> float:
    """The median time between readings [s]."""
    steps = sorted(later - earlier for earlier, later in zip(log.times, log.times[1:], strict=False))
    return steps[len(steps) // 2] if steps else 0.0


def _gaps(log: Log) -> None:
    usual = usual_interval(log)
    if usual <= 0.0:
        return
    gaps = [(earlier, later) for earlier, later in zip(log.times, log.times[1:], strict=False)
            if later - earlier > max(GAP * usual, usual + 2.0)]
    if gaps:
        longest = max(later - earlier for earlier, later in gaps)
        what = "the clock jumped, or the log was stopped" if longest > 1800.0 else "nothing was read"
        log.findings.append(f"{len(gaps)} gap(s), the first at {gaps[0][0]:.0f} s, the longest {longest:.0f} s: "
                            f"{what}.")


def _clipping(log: Log, full_scale: float | None) -> None:
    """A gauge at the end of its range reads the same largest value again and again. Where the range is not known, a
    largest value that is a round one is taken for it: a steady 100 on a gauge of unknown range proves nothing."""
    top = max(log.pressures)
    at_top = [index for index, pressure in enumerate(log.pressures) if pressure == top]
    runs = longest = 0
    last = -2
    for index in at_top:
        runs = runs + 1 if index == last + 1 else 1
        longest = max(longest, runs)
        last = index
    round_value = abs(top / 5000.0 - round(top / 5000.0)) < 1e-9 and top >= 5000.0
    at_end = round_value if full_scale is None else top >= 0.98 * full_scale
    if at_end and (longest >= CLIPPED or full_scale is not None):
        log.findings.append(f"The gauge reads {top / 100:g} mbar, its largest value, {longest} times in a row: it may "
                            "stand at the end of its range. The true pressure may be higher; nothing rests on these.")
        for index in at_top:
            log.doubtful[index] = "clipped"


def _unit_changes(log: Log) -> None:
    """A jump by exactly ten or a hundred between two readings is a unit, not a pressure."""
    for index in range(1, len(log)):
        before, after = log.pressures[index - 1], log.pressures[index]
        if abs(before) < 200.0 or abs(after) < 50.0 or log.times[index] - log.times[index - 1] > 30.0:
            continue
        ratio = after / before
        for jump in UNIT_JUMPS:
            if abs(ratio / jump - 1.0) < 0.02:
                log.findings.append(
                    f"At {log.times[index]:.0f} s the reading goes from {before / 100:g} to {after / 100:g} mbar, by "
                    f"{'ten' if jump in (10.0, 0.1) else 'a hundred'}: another unit (kPa for mbar?), not another "
                    "pressure. From there on nothing rests on it.")
                for later in range(index, len(log)):
                    log.doubtful[later] = "unit"
                return
