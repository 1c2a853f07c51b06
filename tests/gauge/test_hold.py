"""Holds: each case a team leader meets, on logs written here or marched by the virtual rig, and the study's cells."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from stillbore.gauge.hold import Hold, HoldSettings
from stillbore.gauge.hold_log import judge_hold
from stillbore.gauge.readings import read_text
from stillbore.practice.batch import hold_batch
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

sys.path.insert(0, str(Path(__file__).parents[2] / "studies"))
import hold as study

HOUR = 3600.0
SETTINGS = HoldSettings(volume=5e-4, limit=1e-4 / HOUR, resolution=10.0, drift="ordinary")
PER_KELVIN = 111325.0 / 288.15 / 100.0  # mbar/K by the ideal gas, at 100 mbar


def log_of(pressures, temperatures=None, start=0.0, step=1.0):
    header = "time,pressure_mbar" + (",temperature_degC" if temperatures else "")
    rows = [f"{start + step * number:.1f},{pressure:.1f}" + (f",{temperatures[number]:.2f}" if temperatures else "")
            for number, pressure in enumerate(pressures)]
    return read_text("\n".join([header, *rows, ""]), "test.csv")


def words(report):
    return " ".join(report.findings)


def test_a_steady_gauge_is_met_and_says_when():
    report = judge_hold(log_of([99.9] * 300), SETTINGS)
    assert report.verdict == MET
    assert 25 <= report.decided_at <= 200
    assert report.rate.high < SETTINGS.limit


def test_a_leak_of_three_times_the_limit_is_not_met_and_its_rate_is_found():
    fall = 3 * SETTINGS.limit * 101325 / 5e-4 / 100  # mbar/s
    report = judge_hold(log_of([100.0 - fall * second for second in range(300)]), SETTINGS)
    assert report.verdict == NOT_MET
    assert report.rate.low < 3 * SETTINGS.limit < report.rate.high


def test_sun_on_the_rig_with_a_flat_gauge_and_a_rising_thermometer_hides_a_leak():
    warm = [15.0 + 0.5 * second / 60 for second in range(600)]
    report = judge_hold(log_of([99.9] * 600, warm), replace(SETTINGS, drift="sun"))
    assert report.verdict != MET
    assert "may hide a leak" in words(report)
    hidden = PER_KELVIN * 100 * 0.5 / 60 * 5e-4 / 101325  # what must be leaking if the warmth does not show, m3/s
    assert report.rate.low < hidden < report.rate.high
    assert report.rate.best > 0.5 * hidden


def test_a_cloud_with_a_falling_gauge_claims_no_leak():
    cool = [25.0 - 0.4 * second / 60 for second in range(600)]
    falling = [100.0 + PER_KELVIN * (temperature - 25.0) for temperature in cool]
    report = judge_hold(log_of(falling, cool), replace(SETTINGS, drift="sun"))
    assert report.verdict != NOT_MET
    assert "no leak by itself" in words(report)


def test_a_rig_that_empties_before_the_first_reading():
    report = judge_hold(log_of([22.0] * 60), SETTINGS)
    assert report.verdict == NOT_MET
    assert "lost its gas" in words(report)


def test_a_hold_that_has_hardly_begun_says_from_when_something_is_decided():
    for seconds, warm, earliest in ((9, None, 25), (24, None, 25), (40, [15.0] * 40, 50)):
        found = words(judge_hold(log_of([99.8] * seconds, warm), SETTINGS))
        assert f"Nothing is decided before {earliest} s after pumping" in found
        assert f"end at {seconds - 1} s" in found and "would have helped" not in found
    assert "would have helped" in words(judge_hold(log_of([99.8, 99.7] * 20), replace(SETTINGS, limit=1e-6 / HOUR)))


def test_a_gauge_that_stands_below_nought_from_the_first_reading():
    assert judge_hold(log_of([-5.0]), SETTINGS).verdict == NOT_PROVEN  # the gas has not settled yet
    assert judge_hold(log_of([-5.0, -4.9] * 30), SETTINGS).verdict == NOT_MET


def test_a_gauge_at_the_end_of_its_range_proves_nothing():
    report = judge_hold(log_of([100.0] * 5 + [100.0] * 200), SETTINGS)
    clipped = judge_hold(log_of([60.0, 90.0] + [100.0] * 200), SETTINGS)
    assert "end of its range" in words(report) and "end of its range" in words(clipped)
    assert report.verdict == clipped.verdict == NOT_PROVEN


def test_a_steady_hundred_counts_where_the_range_is_known_to_reach_further():
    text = "time,pressure_mbar\n" + "".join(f"{second},100.0\n" for second in range(300))
    assert judge_hold(read_text(text, "log.csv", full_scale=16_000.0), SETTINGS).verdict == MET
    assert judge_hold(read_text(text, "log.csv", full_scale=10_000.0), SETTINGS).verdict == NOT_PROVEN


def test_kilopascal_written_for_millibar():
    report = judge_hold(log_of([10.0 + 0.1 * (second % 2) for second in range(200)]), SETTINGS)
    assert report.verdict == NOT_PROVEN
    assert "kPa" in words(report)


def test_a_unit_that_changes_in_the_log():
    report = judge_hold(log_of([99.8, 99.9] * 20 + [10.0, 9.9] * 80), SETTINGS)
    assert report.verdict == NOT_PROVEN
    assert "another unit" in words(report)


def test_a_log_that_begins_before_pumping():
    pumping = [0.0] * 20 + [12.0 * number for number in range(8)] + [101.0, 100.3]
    report = judge_hold(log_of([*pumping, *([99.6, 99.5] * 150)]), SETTINGS)
    assert 27 <= report.began_at <= 29
    assert report.verdict == MET


def test_nothing_is_decided_before_the_first_verdict_or_after_the_longest_hold():
    hold = Hold(SETTINGS)
    for second in range(24):
        hold.add(float(second), 10_000.0)
    assert hold.verdict == NOT_PROVEN
    late = Hold(SETTINGS)
    for second in range(601, 900):
        late.add(float(second), 10_000.0)
    assert late.verdict == NOT_PROVEN


def readings_of(batch, rig, with_thermometer=False):
    """(time, pressure [Pa], temperature [K] or None) of one rig of a batch, as the judge takes them."""
    for time, pressure, temperature in zip(batch.time_s[rig], batch.pressure_mbar[rig], batch.temperature_degC[rig],
                                           strict=True):
        yield time, pressure * 100.0, temperature + 273.15 if with_thermometer else None


def test_the_verdict_of_a_prefix_is_the_prefix_of_the_verdicts():
    """No look-ahead: judging as it comes equals judging the log cut there."""
    readings = list(readings_of(hold_batch(1, 77, leak_rate_m3_per_h=0.0), 0))
    running = Hold(SETTINGS)
    verdicts = [running.add(*reading) for reading in readings]
    for cut in (30, 60, 90, 150):
        again = Hold(SETTINGS)
        for reading in readings[:cut]:
            again.add(*reading)
        assert again.verdict == verdicts[cut - 1]


# A thermometer


def in_the_sun(with_thermometer, leak=0.0):
    """A rig that warms by 0.4 K/min and shows it by the gas law, less what it leaks; 3e-5 m3/h asked for."""
    warm = [15.0 + 0.4 * second / 60 for second in range(600)]
    fall = leak * 101325 / 5e-4 / 100  # mbar/s
    gauge = [90.0 + PER_KELVIN * (temperature - 15.0) - fall * second for second, temperature in enumerate(warm)]
    log = log_of(gauge, warm if with_thermometer else None)
    return judge_hold(log, replace(SETTINGS, limit=3e-5 / HOUR, drift="sun"))


def test_a_thermometer_proves_in_the_sun_what_a_gauge_alone_cannot():
    assert in_the_sun(True).verdict == MET
    assert in_the_sun(False).verdict == NOT_PROVEN
    assert in_the_sun(True, leak=3 * 3e-5 / HOUR).verdict == NOT_MET


def test_a_thermometer_has_to_catch_up_before_anything_is_said():
    report = judge_hold(log_of([99.9] * 300, [15.0] * 300), SETTINGS)
    assert report.verdict == MET
    assert report.decided_at >= 50


def test_a_thermometer_that_drops_out_changes_nothing_but_what_it_would_have_told():
    """Without its readings after the first minute the hold is judged as before, only later."""
    with_it, dropped = Hold(SETTINGS), Hold(SETTINGS)
    for second in range(10, 200):
        with_it.add(float(second), 9_990.0, 288.15)
        dropped.add(float(second), 9_990.0, 288.15 if second < 40 else None)
    assert with_it.verdict == dropped.verdict == MET
    assert dropped.decided_at >= with_it.decided_at


# The study


@pytest.mark.parametrize("with_thermometer", [False, True])
def test_the_compiled_twin_judges_as_the_plain_one(with_thermometer):
    batch = hold_batch(30, 500, leak_rate_m3_per_h=0.5 * SETTINGS.limit * HOUR, with_thermometer=True)
    verdicts, decided = study.judge(batch, SETTINGS, with_thermometer)
    assert len(set(verdicts)) > 1
    for rig in range(30):
        plain = Hold(SETTINGS)
        for reading in readings_of(batch, rig, with_thermometer):
            plain.add(*reading)
        assert {MET: 1, NOT_MET: -1, NOT_PROVEN: 0}[plain.verdict] == verdicts[rig]
        if plain.decided_at is not None:
            assert plain.decided_at == decided[rig]


def within(share, goal, count=500):
    """A goal kept, with three standard deviations of the count for luck."""
    return share <= goal + 3 * (goal / count) ** 0.5


@pytest.mark.parametrize("cell", [
    study.Cell(1e-4, "ordinary"), study.Cell(1e-4, "sun"), study.Cell(3e-5, "ordinary"),
    study.Cell(1e-4, "ordinary", 4.0), study.Cell(3e-5, "ordinary", 2.0), study.Cell(3e-5, "shade", 4.0),
    study.Cell(3e-5, "sun", thermometer=True), study.Cell(1.4e-3, "ordinary", by_eye=True)],
    ids=lambda cell: f"{cell.limit:g}-{cell.drift}-x{cell.scale:g}{'-thermometer' * cell.thermometer}")
def test_a_small_study(cell):
    """500 rigs a figure against the goals: 1 % false passes with the drift as declared, 5 % where it is larger, 0.5 %
    false fails; and quicker than the habit, which takes three minutes."""
    found = study.figures(cell, 500, 424_242)
    assert within(found.false_pass, 0.01 if cell.scale == 1.0 else 0.05)
    if cell.scale == 1.0:
        assert within(found.false_fail, 0.005)
    if cell == study.Cell(1e-4, "ordinary"):
        assert found.median < 180.0
    assert found.habit_fail > found.false_fail


@pytest.mark.xfail(strict=True, reason="missed, and the README says so: quicker, and it passes more leaking rigs")
def test_the_goals_of_time_without_a_thermometer():
    """At 1e-4 m3/h ordinary half of tight rigs proved within a minute, and 95 % within 200 s."""
    found = study.figures(study.Cell(1e-4, "ordinary"), 500, 424_242)
    assert found.within_60 >= 0.5 and found.within_200 >= 0.95


def test_the_goals_of_time_with_a_thermometer():
    found = study.figures(study.Cell(1e-4, "ordinary", thermometer=True), 500, 424_242)
    assert found.within_60 >= 0.5 and found.within_200 >= 0.95


def test_a_small_study_can_fail(monkeypatch):
    """A judge that rules out a leak under the declared drift alone passes too many where it is truly four times."""
    trusting = tuple(0.0 if index == 0 else -1e3 for index in range(len(study.LOG_DOUBTS)))
    monkeypatch.setattr(study, "LOG_DOUBTS", trusting)
    assert not within(study.figures(study.Cell(1e-4, "ordinary", 4.0), 500, 424_242).false_pass, 0.05)
