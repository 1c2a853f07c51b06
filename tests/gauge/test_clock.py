"""Logs whose clock jumps or stops: the readings stay, the time across it is not known, and no verdict counts it.

The rigs leak along the gas law for a small leak: a straight fall of ``rate x atmospheric pressure / volume``.
"""

import math
from dataclasses import replace

import pytest

from stillbore.gauge.hold import HoldSettings
from stillbore.gauge.hold_log import judge_hold
from stillbore.gauge.letby import LetBySettings, judge_watch, watch_before_venting
from stillbore.gauge.readings import read_text
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

HOUR = 3600.0
HOLD = HoldSettings(volume=5e-4, limit=1e-4 / HOUR, resolution=10.0, drift="ordinary")
LET_BY = LetBySettings(volume=6e-3, limit=1e-4 / HOUR, stop=2e-3 / HOUR, district=3000.0, highest=3200.0, margin=500.0,
                       fresh=300.0, resolution=10.0, vent="none")
JUMPS = [-3600.0, -45.0, -7.0, 8.0, 20.0, 45.0, 3600.0, 1e6]  # s


def log_of(pressures, stamps=None):
    stamps = range(len(pressures)) if stamps is None else stamps
    rows = "".join(f"{stamp:.1f},{pressure:.1f}\n" for stamp, pressure in zip(stamps, pressures, strict=True))
    return read_text("time,pressure_mbar\n" + rows, "log.csv")


def jumping(count, at, by):
    """Stamps of a reading a second, by a clock that jumps before reading ``at``."""
    return [10_000.0 + second + (by if second >= at else 0.0) for second in range(count)]


def said(log, *words):
    return any(all(word in finding for word in words) for finding in log.findings)


# What is said, and what becomes of the times.


@pytest.mark.parametrize("by", JUMPS)
def test_a_jump_is_said_with_its_line_and_the_readings_stay(by):
    log = log_of([100.0 + number % 3 for number in range(80)], jumping(80, 50, by))
    assert len(log) == 80 and log.jumps == [50] and log.doubtful == {50: "clock"}
    assert all(later > earlier for earlier, later in zip(log.times, log.times[1:], strict=False))
    if 0 < by < 30:
        assert said(log, "Line 52: for ", f"{by + 1:.0f}", "nothing was read, or the clock jumped")
        assert log.times[50] == 50.0 + by
    else:
        where = "back" if by < 0 else "forward"
        assert said(log, f"Line 52: the clock jumps {where} by {abs(by):.0f}", "as if 1.0 s had passed")
        assert list(log.times) == list(range(80))  # the time goes on by one usual interval
    assert said(log, "not known: no verdict rests across it")


def test_jumps_without_end_are_counted():
    log = log_of([30.0] * 60, [second % 6 for second in range(60)])
    assert log.jumps == list(range(6, 60, 6))
    assert len(log.findings) == 4 and said(log, "6 more places")


@pytest.mark.parametrize("stamps", [
    [0, 1, 2, 3, 1.5, 4, 5, 6], [0, 1, 2, 3, -99, 4, 5, 6], [0, 1, 2, 3, 1.5, 1.2, 4, 5]])
def test_single_stamps_that_run_backwards_are_strays(stamps):
    log = log_of([30.0 + number for number in range(8)], stamps)
    kept = [number for number, stamp in enumerate(stamps) if stamp == max(stamps[:number + 1])]
    assert list(log.times) == [stamps[number] for number in kept] and not log.jumps
    assert list(log.pressures) == pytest.approx([3000.0 + 100.0 * number for number in kept])
    assert said(log, "Line 6", "a time that runs backwards, left out")


def test_a_single_stamp_that_runs_ahead_is_a_stray():
    log = log_of([30.0] * 8, [0, 1, 2, 9999, 4, 5, 6, 7])
    assert list(log.times) == [0, 1, 2, 4, 5, 6, 7] and not log.jumps
    assert log.findings == ["Line 5: a time that runs ahead of those after it, left out."]


def test_a_clock_put_back_while_somebody_wrote_a_comment():
    rows = [f"{second},30.{second % 3}\n" for second in range(60)]
    log = read_text("time,pressure_mbar\n" + "".join([*rows, "# clock set\n", *rows]), "log.csv")
    assert log.jumps == [60] and len(log) == 120
    assert said(log, "Line 63: the clock jumps back by 60 s")


def test_a_stamp_that_stands_still_is_left_out():
    log = log_of([30.0, 31.0, 32.0, 33.0], [0, 1, 1, 2])
    assert list(log.times) == [0, 1, 2]
    assert log.findings == ["Line 4: a time that stands still, left out. Log with a finer clock."]


def test_a_stamp_that_stands_still_across_a_comment_is_left_out():
    rows = [f"{second},30.{second % 3}\n" for second in range(60)]
    log = read_text("time,pressure_mbar\n" + "".join([*rows, "# again\n", *rows[-1:], "60,30.0\n"]), "log.csv")
    assert list(log.times) == list(range(61)) and said(log, "Line 63: a time that stands still")


def test_rows_without_a_pressure_show_that_the_clock_went_on():
    for by, jumps in ((0, []), (500, [30])):  # the clock goes on among them, or jumps
        rows = [f"{second + (by if second > 40 else 0)},{'99.0' if second < 30 or second > 50 else ''}\n"
                for second in range(80)]
        log = read_text("time,pressure_mbar\n" + "".join(rows), "log.csv")
        assert log.jumps == jumps and log.times[30] == (30.0 if by else 51.0)


@pytest.mark.parametrize(("stamps", "jumps"), [
    ([0, 15, 32, 44, 61, 75, 140, 155], []),  # by eye: somebody was busy
    ([0, 30, 60, 120, 300, 600], []), ([0, 60, 120, 600], []),  # at one, two, five and ten minutes
    ([0, 30, 60, 120, 180, 300, 420, 600, 900, 1200, 1800, 2700], []),
    ([0, 30, 60, 120, 4000, 4030], [4]), ([0, 30, 60, 20, 50, 80], [3])])
def test_readings_taken_by_hand_may_lie_far_apart(stamps, jumps):
    assert log_of([99.0] * len(stamps), stamps).jumps == jumps


# Holds.


def leaking(share, count=300):
    """A rig of half a litre that leaks at a share of the limit [mbar]."""
    fall = share * HOLD.limit * 101_325.0 / HOLD.volume / 100.0
    return [99.9 - fall * second for second in range(count)]


@pytest.mark.parametrize("at", [12, 25, 40, 70, 120])
@pytest.mark.parametrize("by", JUMPS)
def test_a_hold_across_a_jump_says_what_the_readings_before_it_say(at, by):
    """A rig looks neither tighter nor leakier for a jump: its verdict and its rate are those of the log cut there."""
    for share in (0.0, 0.6, 1.0, 1.5, 3.0):
        pressures = leaking(share)
        across, before = (judge_hold(log, HOLD) for log in (log_of(pressures, jumping(300, at, by)),
                                                            log_of(pressures[:at])))
        assert (across.verdict, across.rate, across.used) == (before.verdict, before.rate, before.used)
        assert across.verdict != MET or share < 1.0
        assert across.verdict != NOT_MET or share > 0.1
        assert any("The time is not known across" in finding and "hold again" in finding for finding in across.findings)


def test_a_jump_before_the_hold_does_not_matter_to_it():
    pumping = [0.0] * 20 + [12.0 * number for number in range(8)] + [101.0, 100.3]
    pressures = [*pumping, *([99.6, 99.5] * 150)]
    plain, late = (judge_hold(log, HOLD) for log in (log_of(pressures), log_of(pressures, jumping(330, 10, 3600.0))))
    assert late.verdict == plain.verdict == MET and late.rate == plain.rate


# Watches.


def filling(litres_an_hour, count=240):
    """The gauge on a vented leg of six litres past which gas comes, by the gas law [mbar]."""
    full = litres_an_hour * 1e-3 / HOUR * 1013.25 / LET_BY.volume
    return [30.0 * (1.0 - math.exp(-full * second / 30.0)) for second in range(count)]


@pytest.mark.parametrize("at", [5, 60, 180])
@pytest.mark.parametrize("by", JUMPS)
def test_a_watch_across_a_jump_is_never_met(at, by):
    for rate in (0.0, 0.05, 0.3, 1.0):
        report = judge_watch(log_of(filling(rate), jumping(240, at, by)), LET_BY)
        before = judge_watch(log_of(filling(rate)[:at]), LET_BY)
        assert (report.best, report.upper) == (before.best, before.upper)
        assert report.verdict in ((NOT_PROVEN, NOT_MET) if rate > 0.1 else (NOT_PROVEN,))
        assert report.counts_until is None
        assert "The time is not known across" in report.findings[-1] and "Watch again" in report.findings[-1]


def test_what_was_met_before_the_jump_is_not_proven_with_it():
    """How long a pass counts is a matter of time too, and nobody knows how much of it is gone."""
    easy = replace(LET_BY, limit=2e-3 / HOUR, stop=4e-2 / HOUR)
    assert judge_watch(log_of([0.0] * 180), easy).verdict == MET
    assert judge_watch(log_of([0.0] * 240, jumping(240, 180, 3600.0)), easy).verdict == NOT_PROVEN


def test_a_leg_that_fills_to_the_end_of_the_range_is_seen():
    assert judge_watch(log_of([0.0] * 200 + [50.0] * 60), replace(LET_BY, district=20_000.0)).verdict == NOT_MET


def test_a_leg_that_is_full_after_the_jump_is_seen():
    report = judge_watch(log_of([0.0] * 60 + [28.0] * 60, jumping(120, 60, 3600.0)), LET_BY)
    assert report.verdict == NOT_MET


@pytest.mark.parametrize("by", JUMPS)
def test_the_leg_before_venting_is_not_called_steady_across_a_jump(by):
    """It falls by 10 mbar in 11 s (handbook of the trade, C15); or it stands, and nobody knows for how long."""
    _, words = watch_before_venting(log_of([30.0 - n * 10 / 110 for n in range(80)], jumping(80, 40, by)))
    assert "another user" in words
    _, words = watch_before_venting(log_of([30.0 + n % 2 / 10 for n in range(80)], jumping(80, 40, by)))
    assert "not known" in words and "steady before venting" not in words
