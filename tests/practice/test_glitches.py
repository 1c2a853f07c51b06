"""Logs spoilt on purpose, and written: what was spoilt is named, and nothing else is touched."""

import csv
import math

import numpy
import pytest

from stillbore.errors import StillboreError
from stillbore.practice import jobs
from stillbore.practice.glitches import GLITCHES, spoil, write_csv
from stillbore.practice.rig import Rig


@pytest.fixture(scope="module")
def trace():
    return jobs.random_job(5, 1.0, fault="")


def rng(seed=1):
    return numpy.random.default_rng(seed)


def rows_of(spoilt, trace):
    """Row of the clean trace behind each row of the spoilt one."""
    return numpy.searchsorted(trace.true_time_s, spoilt.true_time_s)


@pytest.mark.parametrize("kind", GLITCHES)
@pytest.mark.parametrize("seed", range(4))
def test_each_glitch_touches_only_what_it_names(trace, kind, seed):
    spoilt = spoil(trace, rng(seed), [kind])
    marks = spoilt.truth["glitches"]
    assert marks and {name for name, _, _ in marks} == {kind}
    rows = rows_of(spoilt, trace)
    inside = numpy.zeros(len(rows), bool)
    for _, start, end in marks:
        inside |= (spoilt.true_time_s >= start) & (spoilt.true_time_s <= max(end, start))
    same = (spoilt.pressure_mbar == trace.pressure_mbar[rows])
    assert same[~inside].all()
    assert (spoilt.true_pressure_mbar == trace.true_pressure_mbar[rows]).all()
    shift = spoilt.time_s - trace.time_s[rows]
    gone = len(trace.time_s) - len(numpy.unique(rows))
    again = len(rows) - len(numpy.unique(rows))
    assert (not same.all()) == (kind in ("spikes", "dropouts", "unit jump"))
    assert (gone > 0) == (kind == "gaps") and (again > 0) == (kind == "duplicates")
    if kind == "duplicates" and len({start for _, start, _ in marks}) == len(marks):
        assert again == len(marks)
    assert (numpy.unique(shift).size > 1) == (kind == "clock jump")


def test_a_pressed_unit_key_divides_by_ten(trace):
    spoilt = spoil(trace, rng(2), ["unit jump"])
    [(_, start, end)] = spoilt.truth["glitches"]
    inside = (spoilt.true_time_s >= start) & (spoilt.true_time_s < end)
    assert spoilt.pressure_mbar[inside] == pytest.approx(trace.pressure_mbar[inside] / 10.0, abs=0.0051)


def test_a_clean_trace_is_not_spoilt_by_spoiling_a_copy(trace):
    before = trace.pressure_mbar.copy()
    spoil(trace, rng())
    assert (trace.pressure_mbar == before).all() and "glitches" not in trace.truth


@pytest.mark.parametrize("seconds", [2.0, 3.0, 10.0])
def test_a_short_log_can_be_spoilt(seconds):
    rig = Rig(1)
    rig.run(seconds)
    for seed in range(20):
        assert len(spoil(rig.trace(), rng(seed)).truth["glitches"]) >= len(GLITCHES)


def test_what_cannot_be_spoilt_is_refused(trace):
    with pytest.raises(StillboreError, match="no glitch 'rust'"):
        spoil(trace, rng(), ["rust"])
    with pytest.raises(StillboreError, match="nothing to spoil"):
        spoil(Rig(1).trace(), rng())


def test_a_written_log_reads_back(trace, tmp_path):
    trace.notes[3] = 'seen, and "heard"'
    spoilt = spoil(trace, rng(3), ["dropouts"])
    write_csv(spoilt, tmp_path / "log.csv")
    with open(tmp_path / "log.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == ["time", "pressure_mbar", "temperature_degC", "barometer_mbar", "note"]
    assert len(rows) == len(spoilt.time_s)
    for row, time, pressure in zip(rows, spoilt.time_s, spoilt.pressure_mbar, strict=True):
        assert float(row["time"]) == pytest.approx(time, abs=1e-3)
        assert row["pressure_mbar"] == "" if math.isnan(pressure) else float(row["pressure_mbar"]) == pytest.approx(
            pressure, abs=0.0051)
    assert rows[3]["note"] == 'seen, and "heard"'
    write_csv(spoilt, tmp_path / "bare.csv", thermometer=False, barometer=False, notes=False)
    assert (tmp_path / "bare.csv").read_text(encoding="utf-8").splitlines()[0] == "time,pressure_mbar"
