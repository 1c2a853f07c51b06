"""What only shows over a whole log: each kind found and said, what looks like it let alone, and nothing hidden that may
be a pressure too high for the job."""

import math
import random

import pytest

from stillbore.gauge.readings import read_log, read_text
from stillbore.practice.glitches import write_csv
from stillbore.practice.jobs import random_job


def log_of(pressures, step=1.0, full_scale=None):
    """A log of readings [mbar, or words], with two digits as most loggers write."""
    cells = [cell if isinstance(cell, str) else f"{cell:.2f}" for cell in pressures]
    rows = "".join(f"{number * step:.1f},{cell}\n" for number, cell in enumerate(cells))
    return read_text("time,pressure_mbar\n" + rows, "log.csv", full_scale)


def quiet(level, count, seed=3):
    """A calm gauge: a tenth of a millibar up and down."""
    draw = random.Random(seed)
    return [level + draw.uniform(-0.1, 0.1) for _ in range(count)]


def said(log, *words):
    return any(all(word in finding for word in words) for finding in log.findings)


# A probe unplugged, dropouts.


@pytest.mark.parametrize(("value", "words"), [
    (-999, "below -20 mbar"), (-25.1, "below -20 mbar"), (9999, "above 9 bar")])
def test_a_probe_unplugged_shows_no_pressure(value, words):
    log = log_of([*quiet(30, 40), *[value] * 25, *quiet(30, 40)])
    assert log.doubtful == dict.fromkeys(range(40, 65), "unplugged")
    assert said(log, "Line 42: 25 readings, the first of", words, "Nothing rests on it. Plug the probe in")


def test_a_suction_that_can_be_is_a_pressure():
    assert not log_of([*quiet(30, 20), *quiet(-15, 20)]).doubtful


@pytest.mark.parametrize("count", [1, 7, 25])
def test_exactly_nought_and_back_at_once_is_a_dropout(count):
    log = log_of([*quiet(99, 40), *[0.0] * count, *quiet(99, 40)])
    assert log.doubtful == dict.fromkeys(range(40, 40 + count), "dropout")
    assert said(log, "Line 42", "a probe unplugged, not a pressure")


@pytest.mark.parametrize("middle", [
    [0.0] * 90,  # the leg is vented, watched, and given gas again
    [60.0, 20.0, 0.0, 0.0, 0.0],  # a vent opened and shut: the gauge runs down
    [0.0, 0.0, 0.0, 20.0],  # given gas again slowly
    [0.4, 0.3, 0.4, 0.3]])  # a vent leaves a little
def test_a_rig_that_is_vented_is_no_dropout(middle):
    log = log_of([*quiet(30, 40), *middle, *quiet(30, 40)])
    assert not log.doubtful


# The end of the range.


def test_a_round_largest_value_again_and_again_is_the_end_of_an_unknown_range():
    log = log_of([*quiet(90, 30), *[100.0] * 12, *quiet(90, 30)])
    assert log.doubtful == dict.fromkeys(range(30, 42), "clipped")
    assert said(log, "Line 32", "100 mbar, its largest value, 12 times in a row", "may be higher", "say so")
    assert not log_of([*quiet(90, 30), *[100.0] * 11, *quiet(90, 30)]).doubtful
    assert not log_of([*quiet(90, 30), *[103.7] * 60]).doubtful


def test_near_the_end_of_a_known_range_nothing_counts():
    log = log_of([*quiet(90, 30), 155.0, 156.9, 158.1, 160.0], full_scale=16_000.0)
    assert log.doubtful == dict.fromkeys(range(31, 34), "clipped")
    assert said(log, "the end of its range", "a wider range")


@pytest.mark.parametrize("word", ["OL", "o.l", "OVER", "+OL"])
def test_a_gauge_over_its_range_is_at_least_at_its_end(word):
    """It is no dropout: the pressure is high, and what looks for medium pressure must see it."""
    for full_scale, end in ((None, 9_000.0), (16_000.0, 16_000.0)):
        log = log_of([*[90.0] * 5, *[word] * 3, *[90.0] * 5], full_scale=full_scale)
        assert log.doubtful == dict.fromkeys((5, 6, 7), "clipped")
        assert list(log.pressures[5:8]) == [end] * 3
        assert said(log, "Line 7 and 2 more", "beyond the end of its range", "higher than it can show")


# Another unit.


@pytest.mark.parametrize("ratio", [10, 100])
@pytest.mark.parametrize("step", [0.2, 1.0, 15.0])
def test_a_unit_that_changes_and_goes_back(ratio, step):
    log = log_of([*quiet(99, 40), *(value / ratio for value in quiet(99, 25)), *quiet(99, 40)], step)
    assert log.doubtful == dict.fromkeys(range(40, 65), "unit")
    assert said(log, "Line 42", "another unit, not another pressure. On line 67 it goes back", "the readings between")


def test_a_unit_that_does_not_go_back():
    log = log_of([*quiet(30, 40), *(value / 10 for value in quiet(30, 20)), *[0.0] * 20, *quiet(3, 20)])
    assert log.doubtful == dict.fromkeys(range(40, 100), "unit")
    assert said(log, "From there on nothing rests on it", "one unit and log again")


@pytest.mark.parametrize("step", [0.2, 1.0])
@pytest.mark.parametrize("level", [100.0, 30.0])
def test_a_rig_that_is_vented_runs_through_a_tenth_and_is_no_unit(level, step):
    """Laminar and choked vents of any quickness: an exponential, and a straight line to nought."""
    for slowness in [0.05 * 1.1 ** power for power in range(80)]:
        falling = [level * math.exp(-number * step / slowness) for number in range(1, 60)]
        straight = [max(0.0, level * (1.0 - number * step / slowness)) for number in range(1, 60)]
        for fall in (falling, straight):
            assert "unit" not in log_of([*quiet(level, 20), *fall], step).doubtful.values()


@pytest.mark.parametrize("ratio", [9.0, 9.6, 10.0, 10.4, 11.0, 100.0])
def test_a_break_through_is_a_pressure_whatever_its_ratio(ratio):
    """From 3 mbar to 30, or to 300: what comes after counts. Exactly ten might be kPa before it, so that does not."""
    log = log_of([*quiet(0, 20), *quiet(3, 20), *quiet(3 * ratio, 40)])
    assert not any(index in log.doubtful for index in range(40, 80))
    exact = abs(ratio / 10 - 1) < 0.03 or ratio == 100.0
    assert log.doubtful == (dict.fromkeys(range(20, 40), "unit") if exact else {})
    assert said(log, "Line 42", "a rise, or another unit before it", "What stands after it counts") == exact


def test_a_break_through_while_the_gauge_is_in_another_unit_is_not_taken_for_a_return():
    """100 mbar, then in kPa 10.0, vented, and 8 mbar drilled through to 80: the gauge shows 0.8 and 8.0."""
    log = log_of([*quiet(100.3, 20), *[10.03] * 20, *[0.0] * 10, *[0.8] * 10, *[8.0] * 30])
    assert log.doubtful == dict.fromkeys(range(20, 90), "unit")


def test_a_unit_pressed_while_somebody_pumps_is_doubted_back_to_where_it_was_pressed():
    pumping = [0.0, 20.0, 40.0, 60.0, 66.0, 72.0]
    log = log_of([*pumping, 7.8, 8.6, 9.4, *[9.77] * 10, *quiet(97.7, 30)])
    assert log.doubtful == dict.fromkeys(range(6, 19), "unit")
    assert said(log, "Line 21", "back to line 8")


@pytest.mark.parametrize("at", [4095, 4096, 4097, 8192])
def test_a_unit_that_changes_anywhere_in_a_long_log(at):
    """Whatever blocks a search goes by, what happens at their ends is seen."""
    assert log_of([*[99.1] * at, *[9.91] * 20]).doubtful == dict.fromkeys(range(at, at + 20), "unit")


def test_changes_of_unit_without_end_are_counted():
    log = log_of(([99.1] * 12 + [9.91] * 12) * 50)
    assert len(log.findings) == 4 and said(log, "47 more changes of unit")


# Spikes.


@pytest.mark.parametrize("value", [45.0, -12.0, 93.2])
def test_a_single_reading_far_from_both_neighbours_is_a_spike(value):
    log = log_of([*quiet(30, 40), value, *quiet(30, 40)])
    assert log.doubtful == {40: "spike"}
    assert said(log, "Line 42: 1 reading of", "far from both neighbours", "Nothing rests on it")


@pytest.mark.parametrize(("middle", "step"), [
    ([34.6], 1.0),  # within what a gauge does
    ([45.0, 45.0], 1.0),  # two agree
    ([45.0], 15.0),  # by eye a quarter of a minute passes: a pressure may come and go
    ([45.0, 38.0, 33.0, 31.0], 1.0)])  # a knock that dies away is seen by more than one reading
def test_what_may_be_a_pressure_is_no_spike(middle, step):
    assert not log_of([*quiet(30, 40), *middle, *quiet(30, 40)], step).doubtful


def test_where_the_drill_shakes_the_gauge_there_are_no_spikes():
    draw = random.Random(8)
    assert not log_of([30.0 + draw.gauss(0.0, 6.0) for _ in range(300)], 0.2).doubtful


# On the virtual rig, which knows nothing of this reader.


def rig_log(seed, glitches, folder):
    trace = random_job(seed, 1.0, glitches=glitches)
    write_csv(trace, folder / "log.csv")
    return trace, read_log(folder / "log.csv")


def test_a_clean_job_is_hardly_doubted(tmp_path):
    """Goal: less than one reading in a thousand over twelve jobs, and none but spikes, which drilling may knock."""
    logs = [rig_log(seed, (), tmp_path)[1] for seed in range(600, 612)]
    assert sum(len(log.doubtful) for log in logs) < 1e-3 * sum(map(len, logs))
    assert {why for log in logs for why in log.doubtful.values()} <= {"spike"}


def test_every_jump_of_a_clock_is_found_where_it_is(tmp_path):
    for seed in range(620, 632):
        trace, log = rig_log(seed, ("clock jump",), tmp_path)
        jumped = [number for number in range(1, len(log))
                  if abs(trace.time_s[number] - trace.time_s[number - 1] - 1.0) > 20.0]
        assert log.jumps == jumped


def test_spikes_on_a_quiet_gauge_are_found(tmp_path):
    """The rig says where its spikes are; goal: nine in ten of those that leave their neighbours by 10 mbar."""
    found = wanted = 0
    for seed in range(640, 660):
        trace, log = rig_log(seed, ("spikes",), tmp_path)
        shown = trace.pressure_mbar
        for _, at, _ in trace.truth["glitches"]:
            index = min(range(len(log)), key=lambda number: abs(trace.true_time_s[number] - at))
            if 1 <= index < len(log) - 1 and min(abs(shown[index] - shown[index - 1]),
                                                 abs(shown[index] - shown[index + 1])) > 10.0:
                wanted += 1
                found += log.doubtful.get(index) in ("spike", "unplugged")
    assert wanted > 20 and found >= 0.9 * wanted
