"""Break-through against its band. The kinds are those of the trade's handbook, C12: slow (over 10 s), swinging, or
short of the band is blocked, wet or dead; over the range is medium pressure; the band is 3 mbar or a tenth."""

from math import exp, sin

import pytest

from stillbore.gauge import breakthrough
from stillbore.gauge.breakthrough import Expected, judge_break_through, no_rise, swings

EXPECTED = Expected(low=2700.0, high=3300.0, maximum=7500.0, range_end=16000.0)
TIMES = [0.2 * index for index in range(150)]


def rise(settled, time_constant=0.5, swing=0.0, period=1.5):
    """A first-order rise [Pa], with a damped or a steady swing on top."""
    return [settled * (1.0 - exp(-time / time_constant)) + swing * sin(2.0 * 3.14159 * time / period)
            for time in TIMES]


@pytest.mark.parametrize("pressures,kind,verdict", [
    (rise(3000.0), breakthrough.AS_EXPECTED, "met"),
    (rise(2750.0), breakthrough.AS_EXPECTED, "met"),
    (rise(2650.0), breakthrough.SHORT, "not met"),
    (rise(3400.0), breakthrough.ABOVE_BAND, "not met"),
    (rise(7600.0), breakthrough.ABOVE_MAXIMUM, "not met"),
    (rise(16000.0), breakthrough.ABOVE_MAXIMUM, "not met"),
    (rise(3000.0, time_constant=6.0), breakthrough.SLOW, "not met"),
    (rise(3000.0, time_constant=40.0), breakthrough.SLOW, "not met"),
    (rise(3000.0, swing=150.0), breakthrough.SWINGING, "not met"),
    (rise(2500.0, swing=300.0, period=4.0), breakthrough.SWINGING, "not met")])
def test_kinds(pressures, kind, verdict):
    found = judge_break_through(TIMES, pressures, False, EXPECTED)
    assert (found.kind, found.verdict) == (kind, verdict)
    assert found.findings == (breakthrough.WORDS[kind],)


def test_a_governor_that_hunts_is_not_water():
    """Half a minute a turn and half a millibar: common practice for a district governor."""
    assert not swings(TIMES, rise(3000.0, swing=50.0, period=2.0)[:])
    slow = [3000.0 + 120.0 * sin(2.0 * 3.14159 * time / 20.0) for time in [0.2 * index for index in range(500)]]
    assert not swings([0.2 * index for index in range(500)], slow)


def test_a_gauge_at_the_end_of_its_range_counts_as_above_whatever_it_shows():
    """A 100 mbar gauge on medium pressure reads '100 steady'."""
    steady = [0.0, *[10000.0] * 149]
    found = judge_break_through(TIMES, steady, True, Expected(2700.0, 3300.0, 20000.0))
    assert found.kind == breakthrough.ABOVE_MAXIMUM
    known = judge_break_through(TIMES, steady, False, Expected(2700.0, 3300.0, 20000.0, range_end=10000.0))
    assert known.kind == breakthrough.ABOVE_MAXIMUM
    assert "medium pressure" in known.findings[0]


def test_without_a_band_nothing_is_proven():
    found = judge_break_through(TIMES, rise(3000.0), False, Expected())
    assert found.verdict == "not proven"
    assert "30.0 mbar" in found.findings[0]


def test_a_log_that_ends_at_once_is_not_proven():
    found = judge_break_through(TIMES[:12], rise(3000.0)[:12], False, EXPECTED)
    assert (found.kind, found.verdict) == (breakthrough.CUT_OFF, "not proven")


def test_no_rise_is_no_pass():
    assert no_rise(12.0).verdict == "not met"
    assert "nothing is cut" in no_rise(12.0).findings[0]
