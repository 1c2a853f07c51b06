"""Gauge and thermometer: lag, rounding, clipping, noise, and the eye."""

import math

import numpy
import pytest

T = 288.15


def logged(rig, seconds, column="pressure", **gauge):
    rig.gauge = rig.gauge._replace(**gauge)
    rig.run(seconds, sampling=True)
    return getattr(rig.record, column)[:rig.record.count[0]]


def pressed(bench, gauge_pressure=1e4, **named):
    rig = bench([5e-4], **named)
    rig.spaces.amount[0] *= 1.0 + gauge_pressure / 1e5
    return rig


def test_a_gauge_lags_as_a_first_order_does(bench):
    """1 - exp(-t/lag) of a sudden 100 mbar."""
    shown = logged(pressed(bench, interval=0.5), 5.0, lag=0.8)
    assert shown == pytest.approx([1e4 * (1.0 - math.exp(-0.5 * row / 0.8)) for row in range(1, 11)], rel=1e-6)


def test_a_gauge_is_off_at_zero_and_in_its_span_and_with_its_own_warmth(bench):
    rig = pressed(bench)
    rig.around = rig.around._replace(air=T + 5.0)
    assert logged(rig, 1.0, zero=12.0, span=0.002, warm_shift=1.5, warm_from=T) == pytest.approx([1e4 * 1.002 + 19.5])


@pytest.mark.parametrize("resolution", [1.0, 10.0, 50.0])
def test_a_gauge_rounds_to_its_resolution_and_clips_at_its_full_scale(bench, resolution):
    shown = logged(pressed(bench, 1e4 + 0.3 * resolution), 3.0, resolution=resolution)
    assert shown == pytest.approx(1e4, abs=1e-6)
    assert (logged(pressed(bench, 3e4), 3.0, resolution=resolution, full_scale=1.6e4) == 1.6e4).all()


def test_a_digit_flickers_now_and_then(bench):
    shown = logged(pressed(bench, interval=0.1, samples=20000), 2000.0, resolution=10.0, jitter=0.01)
    off = shown != 1e4
    assert off.mean() == pytest.approx(0.01, abs=0.003)  # four standard deviations of a binomial
    assert numpy.abs(shown[off] - 1e4) == pytest.approx(10.0)


def test_noise_has_the_size_it_was_given_and_is_slower_than_white(bench):
    """Four levels of 2 Pa that last 1.5 to 100 s, and white of 3 Pa of which one in fifty is three times as large:
    variance 4 x 4 + 9 (0.98 + 0.02 x 9). Neighbours a second apart share what the levels share: 2^2 sum exp(-1/t)."""
    shown = logged(pressed(bench, interval=1.0, samples=20000), 20000.0, white=3.0, wander=2.0) - 1e4
    variance = 16.0 + 9.0 * (0.98 + 0.18)
    assert shown.var() == pytest.approx(variance, rel=0.15)
    shared = 4.0 * sum(math.exp(-1.0 / time) for time in (1.5, 6.0, 25.0, 100.0))
    assert numpy.mean(shown[1:] * shown[:-1]) - shown.mean() ** 2 == pytest.approx(shared, rel=0.2)


def test_a_walk_spreads_with_the_root_of_time(bench):
    """Increments over 16 s have four times the spread of increments over 1 s."""
    shown = logged(pressed(bench, interval=1.0, samples=10000), 10000.0, walk=0.3)
    assert numpy.diff(shown).std() == pytest.approx(0.3, rel=0.05)
    assert (shown[16:] - shown[:-16]).std() == pytest.approx(1.2, rel=0.15)


def test_knocks_come_as_often_as_said_and_die_away(bench):
    rig = pressed(bench, interval=0.1, samples=60000)
    shown = numpy.abs(logged(rig, 6000.0, knock_rate=1.0 / 60.0, knock=1000.0) - 1e4)
    risen = numpy.flatnonzero((shown[1:] > 20.0) & (shown[:-1] < 1.0))
    assert len(risen) == pytest.approx(100, abs=35)
    assert shown[shown > 0.1].size and numpy.median(shown) < 1.0
    start = risen[numpy.argmax(shown[risen + 1])] + 1
    assert shown[start + 7] / shown[start] == pytest.approx(math.exp(-1.0), rel=1e-6)


def test_an_eye_reads_every_ten_to_fifteen_seconds(bench):
    rig = pressed(bench, interval=12.5)
    shown = logged(rig, 24000.0, by_eye=True, slant=8.0, whole=0.5, resolution=50.0)
    count = rig.record.count[0]
    true, stamped = rig.record.true_time[:count], rig.record.time[:count]
    gaps = numpy.diff(true)
    assert gaps.min() >= 10.0 - 1e-6 and gaps.max() <= 15.1 and gaps.mean() == pytest.approx(12.55, abs=0.25)
    # Early or late by a second, and three times in ten 0.7 s later: writing comes after reading.
    assert (stamped - true).std() == pytest.approx(math.sqrt(1.0 + 0.21 * 0.49), rel=0.15)
    assert (stamped - true).mean() == pytest.approx(0.21, abs=0.1)
    assert set(shown % 50.0) == {0.0}


def test_an_eye_reads_at_a_slant(bench):
    shown = logged(pressed(bench, interval=12.5), 20000.0, by_eye=True, slant=8.0, whole=0.0)
    assert (shown - 1e4).std() == pytest.approx(8.0, rel=0.08)


def test_a_saw_shakes_the_gauge(bench):
    """15 % of the readings three times as far: variance 0.85 + 0.15 x 9 of the given."""
    rig = pressed(bench, samples=5000)
    rig.run(5000.0, sampling=True, shaking=20.0)
    assert (rig.record.pressure - 1e4).std() == pytest.approx(20.0 * math.sqrt(0.85 + 0.15 * 9.0), rel=0.08)


def test_a_thermometer_lags_behind_the_metal_and_rounds(bench):
    rig = bench([5e-4])
    rig.gauge.state[3] = T
    rig.spaces.body[0] = T + 4.0
    shown = logged(rig, 20.0, "temperature", thermometer_lag=20.0, thermometer_zero=0.0, thermometer_in_air=0.0,
                   thermometer_resolution=0.05)
    assert shown[-1] == pytest.approx(15.0 + 4.0 * (1.0 - math.exp(-1.0)), abs=0.08)
    assert shown / 0.05 == pytest.approx(numpy.round(shown / 0.05), abs=1e-6)


def test_a_thermometer_feels_some_of_the_air(bench):
    rig = bench([5e-4])
    rig.around = rig.around._replace(air=T + 10.0)
    shown = logged(rig, 200.0, "temperature", thermometer_lag=5.0, thermometer_zero=0.5, thermometer_in_air=0.12,
                   thermometer_resolution=0.05)
    assert shown[-1] == pytest.approx(15.0 + 0.5 + 1.2, abs=0.08)


def test_wind_at_the_open_side_pushes_the_gauge_and_not_the_gas(bench):
    rig = bench([5e-4], interval=0.5)
    rig.around = rig.around._replace(puff_rate=0.5, puff=5.0, puff_time=2.0)
    shown = logged(rig, 500.0, lag=0.01)
    assert shown.std() > 1.0
    assert (rig.record.true_pressure[:rig.record.count[0]] == pytest.approx(0.0, abs=1e-6))


def test_a_barometer_that_rises_lowers_the_gauge_by_as_much(bench):
    rig = pressed(bench)
    rig.around = rig.around._replace(trend=0.05)
    shown = logged(rig, 600.0)
    assert shown[-1] - shown[0] == pytest.approx(-0.05 * 599.0, abs=0.01)
    assert rig.record.barometer[599] - rig.record.barometer[0] == pytest.approx(0.05 * 599.0, abs=15.0)


def test_a_cloud_takes_the_sun_away(bench):
    """Clear for 60 s and cloudy for 30 s on average: two thirds of the time, and 15 % of it through the cloud."""
    rig = bench([5e-4])
    rig.around = rig.around._replace(sun=10.0, clear_time=60.0, cloud_time=30.0, cloud_edge=1.0)
    rig.spaces.sunlit[0] = 1.0
    rig.run(20000.0)
    mean = rig.tally[2] / 20000.0
    assert mean == pytest.approx(10.0 * (0.15 + 0.85 * 2.0 / 3.0), rel=0.1)
