"""Let-by: each case a team leader meets, on watches worked out here by the gas law."""

import math
from dataclasses import replace

import pytest

from stillbore.gauge.letby import LetBySettings, judge_watch, watch_before_venting
from stillbore.gauge.readings import read_text
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

HOUR = 3600.0
VOLUME = 6e-3
SETTINGS = LetBySettings(volume=VOLUME, limit=1e-4 / HOUR, stop=2e-3 / HOUR, district=3000.0, highest=3200.0,
                         margin=500.0, fresh=300.0, resolution=10.0, vent="none")


def watch(rate_l_h, seconds=240, rewarming=0.2, volume=VOLUME, district=30.0):
    """The gauge over a watch [mbar]: let-by into the leg by the gas law, driven by what is left of the district's
    pressure (laminar: the leg fills along an exponential), and gas that warms again after venting."""
    full = rate_l_h * 1e-3 / HOUR * 1013.25 / volume  # mbar/s when the leg is empty
    rows = ["time,pressure_mbar"]
    for second in range(seconds):
        rise = district * (1.0 - math.exp(-full * second / district))
        shown = rise + rewarming * (1.0 - math.exp(-second / 15.0))
        rows.append(f"{second},{round(shown, 1):.1f}")
    return read_text("\n".join(rows) + "\n", "watch.csv")


def words(report):
    return " ".join(report.findings)


def test_a_tight_stopper_with_a_look_at_the_vent_is_met_and_says_how_long_it_counts():
    report = judge_watch(watch(0.0, seconds=480), SETTINGS)
    assert report.verdict == MET
    assert report.upper <= SETTINGS.limit
    assert report.counts_up_to == 3500.0
    assert report.counts_until == pytest.approx(479 + 300)


@pytest.mark.parametrize("rate", [0.3, 1.0, 5.0])
def test_let_by_is_found_and_bounded(rate):
    report = judge_watch(watch(rate), SETTINGS)
    assert report.verdict == NOT_MET
    assert report.upper >= rate * 1e-3 / HOUR
    assert report.best == pytest.approx(rate * 1e-3 / HOUR, rel=0.2)


def test_without_a_look_at_the_vent_it_is_not_proven_whatever_the_gauge_says():
    report = judge_watch(watch(0.0), replace(SETTINGS, vent=None))
    assert report.verdict == NOT_PROVEN
    assert "open vent" in words(report)


@pytest.mark.parametrize("seen", ["bubbles", "flow"])
def test_a_leaking_leg_masks_let_by_and_the_vent_betrays_it(seen):
    report = judge_watch(watch(0.0), replace(SETTINGS, vent=seen))
    assert report.verdict == NOT_MET
    assert "vent" in words(report)


def test_a_stopper_that_holds_at_21_and_may_let_by_at_45():
    low = replace(SETTINGS, district=2100.0, highest=4500.0)
    report = judge_watch(watch(0.0), low)
    assert report.verdict == NOT_PROVEN
    assert "45 mbar" in words(report) and "let by at a higher one" in words(report)


def test_a_stopper_that_lets_by_freely():
    for rate in (200.0, 5000.0):
        report = judge_watch(watch(rate, seconds=60), SETTINGS)
        assert report.verdict == NOT_MET
        assert "lets by freely" in words(report)


def test_a_watch_too_short_for_the_leg_is_not_proven():
    report = judge_watch(watch(0.0, seconds=20, volume=25e-3), replace(SETTINGS, volume=25e-3))
    assert report.verdict == NOT_PROVEN
    assert "Watch longer" in words(report)


def test_a_neighbours_pilot_pulls_the_leg_down_before_venting():
    """0.02 m3/h out of 6.4 l falls 10 mbar in 11 s (handbook of the trade, C15)."""
    falling = read_text("time,pressure_mbar\n" + "".join(f"{n},{30.0 - n * 10 / 11:.1f}\n" for n in range(20)), "a.csv")
    slope, sentence = watch_before_venting(falling)
    assert slope == pytest.approx(-1000 / 11, rel=0.01)
    assert "another user" in sentence
    steady = read_text("time,pressure_mbar\n" + "".join(f"{n},30.{n % 2}\n" for n in range(60)), "b.csv")
    assert "steady" in watch_before_venting(steady)[1]
