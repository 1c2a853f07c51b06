"""Logs as they come: written to a file, and spoilt on purpose, with what was spoilt kept beside."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy
from numpy.random import Generator

from stillbore.errors import StillboreError
from stillbore.practice.rig import Trace

GLITCHES = ("spikes", "dropouts", "gaps", "duplicates", "unit jump", "clock jump")
HEADER = ("time", "pressure_mbar", "temperature_degC", "barometer_mbar", "note")


def spoil(trace: Trace, rng: Generator, glitches: Sequence[str] = GLITCHES) -> Trace:
    """A copy with glitches in it; ``truth["glitches"]`` lists (kind, start_s, end_s) in true time.

    The labels stay in true time: ``true_time_s`` says when a row was really taken, whatever its stamp says.
    """
    unknown = [kind for kind in glitches if kind not in GLITCHES]
    if unknown:
        raise StillboreError(f"There is no glitch '{unknown[0]}'.", f"Write some of: {', '.join(GLITCHES)}.")
    if len(trace.time_s) < 2:
        raise StillboreError("There is nothing to spoil in a log of one row.", "Give a log of two rows or more.")
    time, pressure = trace.time_s.copy(), trace.pressure_mbar.copy()
    kept = numpy.ones(len(time), int)
    done: list[tuple[str, float, float]] = []

    def mark(kind: str, first: int, last: int) -> None:
        done.append((kind, float(trace.true_time_s[first]), float(trace.true_time_s[last])))

    def stretch(least: int = 1, most: int = 1) -> tuple[int, int]:
        """First row of a stretch somewhere, and the row after it; a short log has short stretches."""
        length = min(int(rng.integers(least, most + 1)), len(time) - 1)
        first = int(rng.integers(0, len(time) - length))
        return first, first + length

    if "spikes" in glitches:
        for _ in range(int(rng.integers(1, 6))):
            at, _ = stretch()
            pressure[at] += rng.choice([-1.0, 1.0]) * rng.uniform(3.0, 60.0)
            mark("spikes", at, at)
    if "dropouts" in glitches:  # the probe came off: empty cells, or a flat nought
        for _ in range(int(rng.integers(1, 3))):
            at, end = stretch(1, 7)
            pressure[at:end] = math.nan if rng.random() < 0.5 else 0.0
            mark("dropouts", at, end)
    if "unit jump" in glitches:  # somebody pressed the unit key: kPa from here on for a while
        at, end = stretch(20, 59)
        pressure[at:end] = numpy.round(pressure[at:end] / 10.0, 2)
        mark("unit jump", at, end)
    if "clock jump" in glitches:
        at, _ = stretch()
        time[at:] += rng.choice([-3600.0, -30.0, 45.0, 3600.0])
        mark("clock jump", at, at)
    if "gaps" in glitches:
        for _ in range(int(rng.integers(1, 3))):
            at, end = stretch(3, 14)
            kept[at:end] = 0
            mark("gaps", at, end)
    if "duplicates" in glitches:
        for _ in range(int(rng.integers(1, 5))):
            at = int(rng.choice(numpy.flatnonzero(kept)))
            kept[at] *= 2
            mark("duplicates", at, at)
    rows = numpy.repeat(numpy.arange(len(time)), kept)
    notes = {int(numpy.searchsorted(rows, row)): text for row, text in trace.notes.items() if kept[row]}
    return replace(trace, time_s=time[rows], pressure_mbar=pressure[rows],
                   temperature_degC=trace.temperature_degC[rows], barometer_mbar=trace.barometer_mbar[rows],
                   notes=notes, true_time_s=trace.true_time_s[rows], true_pressure_mbar=trace.true_pressure_mbar[rows],
                   gas_temperature_K=trace.gas_temperature_K[rows],
                   truth={**trace.truth, "glitches": sorted(done, key=lambda row: row[1])})


def _cell(value: float, digits: int) -> str:
    return "" if math.isnan(value) else f"{value:.{digits}f}"


def write_csv(trace: Trace, path: str | Path, *, thermometer: bool = True, barometer: bool = True,
              notes: bool = True) -> None:
    """Write a trace in the program's log format: time [s], pressure, and the columns that are wanted."""
    wanted = [True, True, thermometer, barometer, notes]
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([name for name, kept in zip(HEADER, wanted, strict=True) if kept])
        for row in range(len(trace.time_s)):
            cells = [f"{trace.time_s[row]:.3f}".rstrip("0").rstrip("."), _cell(trace.pressure_mbar[row], 2),
                     _cell(trace.temperature_degC[row], 2), _cell(trace.barometer_mbar[row], 1),
                     trace.notes.get(row, "")]
            writer.writerow([cell for cell, kept in zip(cells, wanted, strict=True) if kept])
