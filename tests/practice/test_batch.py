"""Batches of holds and let-by watches against closed forms and equations solved apart."""

import math

import numpy
import pytest
from scipy.integrate import solve_ivp

from stillbore.practice import draws
from stillbore.practice.batch import NOT_READ, hold_batch, letby_batch

ATMOSPHERE = 1013.25  # mbar
FINE = {"resolution_mbar": 0.01}


@pytest.fixture
def rigid(monkeypatch):
    """No hose creeps."""
    draw = draws.draw_spaces

    def without(*given, **named):
        spaces = draw(*given, **named)
        spaces.give[:] = 0.0
        return spaces

    monkeypatch.setattr(draws, "draw_spaces", without)


# Holds


def test_a_tight_rig_without_weather_stands_still_but_for_the_barometer(still):
    """Settled for five minutes: what moves is the barometer, known to 0.02 mbar by the trace, and the hose's creep."""
    batch = hold_batch(50, 1, leak_rate_m3_per_h=0.0, drift=still)
    moved = batch.true_pressure_mbar[:, -1] - batch.true_pressure_mbar[:, 300]
    weather = batch.barometer_mbar[:, -1] - batch.barometer_mbar[:, 300]
    creep = moved + weather
    assert creep.max() < 0.15  # a hose never takes up less; 0.1 mbar is the barometer's rounding
    assert -1.0 < numpy.median(creep) < 0.0


@pytest.mark.parametrize("leak", [5e-5, 3e-4])
def test_a_leak_falls_as_the_gas_law_says(still, leak):
    """dp/dt = -p_a Q / V at 100 mbar, in each rig's own volume; a tight batch of the same seeds is taken off it."""
    leaking, tight = (hold_batch(60, 2, leak_rate_m3_per_h=rate, drift=still, duration_s=200.0)
                      for rate in (leak, 0.0))
    fall = (tight.true_pressure_mbar - leaking.true_pressure_mbar)
    fall = fall[:, 100] - fall[:, 20]
    rate = leak / 60.0 * ATMOSPHERE / (leaking.truth["volume_l"] * 1e-3)  # mbar/min, at 100 mbar
    level = leaking.true_pressure_mbar[:, 20:101].mean(axis=1) / 100.0
    share = leaking.truth["laminar_share"]
    expected = rate * (share * level + (1.0 - share) * numpy.sqrt(level)) * 80.0 / 60.0
    assert fall == pytest.approx(expected, rel=0.03)


def test_a_cylinder_left_open_leaks_inwards(still):
    batch = hold_batch(20, 3, leak_rate_m3_per_h=-1e-4, drift=still, duration_s=300.0)
    assert (batch.true_pressure_mbar[:, -1] - batch.true_pressure_mbar[:, 60] > 5.0).all()


def test_warmth_moves_the_gauge_by_the_gas_law(rigid):
    """p = n R T / V in a rigid rig: gauge pressure goes with the gas's temperature, and against the barometer."""
    batch = hold_batch(60, 3, leak_rate_m3_per_h=0.0, drift="sun")
    change = batch.gas_temperature_K[:, -1] / batch.gas_temperature_K[:, 60]
    assert (abs(change - 1.0) > 0.002).sum() > 20
    start = batch.true_pressure_mbar[:, 60] + batch.barometer_mbar[:, 60]
    end = batch.true_pressure_mbar[:, -1] + batch.barometer_mbar[:, -1]
    # The barometer is read with an error of its own, one for the whole hold, and rounded to 0.1 mbar.
    assert end - start == pytest.approx(start * (change - 1.0), abs=0.25)


def test_pumping_warms_the_gas_by_less_than_the_adiabatic_and_it_cools_again():
    """290 K (1.0996^(2/7) - 1) is 7.9 K: an adiabatic from 1013 to 1113 mbar, k 1.4."""
    batch = hold_batch(100, 4, leak_rate_m3_per_h=0.0, drift="shade")
    excess = batch.gas_temperature_K[:, 0] - batch.gas_temperature_K[:, 120]
    assert 0.02 < numpy.median(excess) < 290.0 * ((1113.25 / 1013.25) ** (2.0 / 7.0) - 1.0)


@pytest.mark.parametrize("drift,wanted", [("shade", 0.03), ("ordinary", 0.10), ("sun", 0.40)])
def test_the_classes_have_the_slopes_their_names_stand_for(drift, wanted):
    """0.03, 0.10 and 0.40 K/min, rms over half minutes after the first minute: common practice, within a fifth."""
    gas = hold_batch(300, 6, leak_rate_m3_per_h=0.0, drift=drift).gas_temperature_K[:, 59::30]
    assert math.sqrt(((2.0 * numpy.diff(gas, axis=1)) ** 2).mean()) == pytest.approx(wanted, rel=0.2)


def test_a_scaled_class_drifts_in_proportion():
    """Warmth is linear in its causes; the breeze that it shares with them changes nothing."""
    slopes = []
    for scale in (0.0, 0.5, 1.0):
        gas = hold_batch(60, 6, leak_rate_m3_per_h=0.0, drift="ordinary", drift_scale=scale).gas_temperature_K
        slopes.append(math.sqrt((numpy.diff(gas[:, 120::30], axis=1) ** 2).mean()))
    assert slopes[1] / slopes[2] == pytest.approx(0.5, rel=0.1)
    assert slopes[0] < 0.02 * slopes[2]


def test_the_barometer_moves_the_gauge_against_it(still, rigid):
    batch = hold_batch(200, 8, leak_rate_m3_per_h=0.0, drift=still)
    moved = batch.true_pressure_mbar[:, -1] - batch.true_pressure_mbar[:, 300]
    weather = batch.barometer_mbar[:, -1] - batch.barometer_mbar[:, 300]
    slope, _ = numpy.polyfit(moved, weather, 1)  # what is written of the barometer is noisy, what is true is not
    assert slope == pytest.approx(-1.0, abs=0.1)
    # The class that is common practice: a trend of some 0.01 mbar a minute.
    assert numpy.std(batch.truth["barometer_trend_mbar_per_min"]) == pytest.approx(0.012, rel=0.2)


@pytest.mark.parametrize("declared", [0.3, 2.0])
def test_own_volumes_lie_within_a_fifth_and_spread(declared):
    volumes = hold_batch(150, 9, leak_rate_m3_per_h=0.0, volume_l=declared, duration_s=2.0).truth["volume_l"] / declared
    assert 0.8 - 1e-9 <= volumes.min() < 0.9 and 1.1 < volumes.max() <= 1.2 + 1e-9
    assert numpy.median(volumes) == pytest.approx(1.0, abs=0.03)


# Readings


def test_readings_come_when_due_and_are_rounded():
    batch = hold_batch(5, 7, leak_rate_m3_per_h=0.0, rate_hz=5.0, resolution_mbar=0.05, duration_s=100.0)
    assert batch.time_s == pytest.approx(numpy.tile(numpy.arange(1, 501) / 5.0, (5, 1)), abs=1e-6)
    assert batch.pressure_mbar / 0.05 == pytest.approx(numpy.round(batch.pressure_mbar / 0.05), abs=1e-6)
    assert (batch.pressure_mbar / 0.1 != pytest.approx(numpy.round(batch.pressure_mbar / 0.1), abs=1e-6))


def test_an_eye_reads_every_ten_to_fifteen_seconds_and_prefers_whole_millibars():
    batch = hold_batch(60, 7, leak_rate_m3_per_h=0.0, by_eye=True, resolution_mbar=0.5)
    intervals = numpy.diff(batch.time_s, axis=1)  # as stamped: a second early or late
    assert intervals.mean() == pytest.approx(12.5, rel=0.05)
    assert intervals.min() > 10.0 - 6.0 and intervals.max() < 15.0 + 6.0
    assert batch.pressure_mbar / 0.5 == pytest.approx(numpy.round(batch.pressure_mbar / 0.5), abs=1e-9)
    whole = (batch.pressure_mbar == numpy.round(batch.pressure_mbar)).mean()
    assert 0.6 < whole < 0.8  # 0.2 to 0.6 preferred, and half of the rest by chance


def test_the_first_rigs_do_not_depend_on_how_many_there_are():
    few, many, other = (hold_batch(count, seed, leak_rate_m3_per_h=0.0, duration_s=60.0).pressure_mbar
                        for count, seed in ((3, 9), (6, 9), (3, 10)))
    assert (few == many[:3]).all() and (few != other).any()
    assert (few[0] != few[1]).any()


def test_a_thermometer_is_there_when_asked_for():
    without, with_it = (hold_batch(3, 9, leak_rate_m3_per_h=0.0, duration_s=60.0, with_thermometer=wanted)
                        for wanted in (False, True))
    assert numpy.isnan(without.temperature_degC).all()
    warmth = with_it.gas_temperature_K - 273.15
    assert numpy.abs(with_it.temperature_degC[:, -1] - warmth[:, -1]).max() < 3.0


# Let-by


def leg_law(rate, room_l, share, district, barometer):
    """mbar/s in a leg at one temperature of a let-by that passes ``rate`` [m3/h] into an empty leg."""
    whole, empty = (district + barometer), barometer

    def slope(_, gauge):
        up, down = whole, gauge[0] + barometer
        crack = (up**2 - down**2) / (up**2 - empty**2)
        hole = math.sqrt(max(0.0, up - down) / (up - empty))  # a nozzle at 30 mbar: Bernoulli within half a percent
        return [rate / 3600.0 * ATMOSPHERE / (room_l * 1e-3) * (share * crack + (1.0 - share) * hole)]

    return slope


@pytest.mark.parametrize("rate", [5e-4, 5e-3])
def test_letby_builds_up_as_its_equation_says(still, rate):
    """Leg and rig both fill; the tight batch of the same seeds is taken off; the main moves by half a millibar."""
    passing, tight = (letby_batch(25, 3, letby_rate_m3_per_h=letby, drift=still, vented_for_s=60.0) for letby in
                      (rate, 0.0))
    risen = (passing.true_pressure_mbar - tight.true_pressure_mbar)[:, -1]
    for number in range(25):
        truth = {name: value[number] for name, value in passing.truth.items()}
        law = leg_law(rate, truth["leg_volume_l"] + truth["rig_volume_l"], truth["laminar_share"], 30.0,
                      passing.barometer_mbar[number, 0])
        expected = solve_ivp(law, (0.0, 300.0), [0.0], rtol=1e-6).y[0, -1]
        assert risen[number] == pytest.approx(expected, rel=0.06)
    assert passing.truth["vent_flow_m3_per_h"] == pytest.approx(rate, rel=0.06)
    assert (passing.truth["letby_rate_m3_per_h"] == rate).all()


def test_a_leg_vented_shortly_is_still_cold_and_rises_without_any_letby():
    """Expanding from 30 mbar cools gas by T (k-1)/k dp/p, 2 K; shut at once, it warms and rises at most by that."""
    most = 285.0 * 0.236 * 30.0 / 1013.0 / 285.0 * 1013.0 * 1.1
    risen = {}
    for seconds in (2.0, 60.0):
        batch = letby_batch(30, 4, letby_rate_m3_per_h=0.0, vented_for_s=seconds, drift="shade", duration_s=60.0)
        risen[seconds] = batch.true_pressure_mbar[:, -1] - batch.true_pressure_mbar[:, 0]
    assert (risen[2.0] > 0.5).all() and risen[2.0].max() < most
    assert numpy.abs(risen[60.0]).max() < 0.3


def test_nothing_jumps_where_the_watch_begins(still):
    """The vent stood open for a minute: leg and barometer are one, and go on from there by 0.02 Pa/s or so."""
    batch = letby_batch(40, 8, letby_rate_m3_per_h=0.0, vented_for_s=60.0, drift=still, duration_s=3.0)
    assert numpy.abs(batch.true_pressure_mbar[:, 0]).max() < 5e-3


def test_gas_that_still_warms_flows_out_of_the_open_vent():
    flows = [letby_batch(30, 4, letby_rate_m3_per_h=0.0, vented_for_s=seconds, drift="shade", duration_s=2.0)
             .truth["vent_flow_m3_per_h"].mean() for seconds in (10.0, 30.0, 60.0)]
    assert flows[0] > 10.0 * flows[1] > 0.0 and abs(flows[2]) < 2e-5


def test_own_legs_lie_within_three_tenths_and_spread():
    truth = letby_batch(150, 5, letby_rate_m3_per_h=0.0, leg_volume_l=10.0, duration_s=1.0, vented_for_s=1.0).truth
    legs = truth["leg_volume_l"] / 10.0
    assert 0.7 - 1e-9 <= legs.min() < 0.85 and 1.15 < legs.max() <= 1.3 + 1e-9
    assert (truth["rig_volume_l"] > 0.4 - 1e-9).all() and (truth["rig_volume_l"] < 0.6 + 1e-9).all()


def test_a_leak_and_a_neighbour_mask_letby_and_a_lip_lets_by_above_its_pressure():
    def end(**changed):
        return letby_batch(10, 6, drift="shade", **changed).true_pressure_mbar[:, -1]

    bare = end(letby_rate_m3_per_h=1e-3)
    assert (end(letby_rate_m3_per_h=1e-3, leg_leak_m3_per_h=3e-2) < 0.2 * bare).all()
    assert (end(letby_rate_m3_per_h=1e-3, neighbour_m3_per_h=0.02) < 0.2 * bare).all()
    assert (end(letby_rate_m3_per_h=0.0, lip_mbar=25.0, lip_rate_m3_per_h=5e-3) > 5.0).all()
    assert (numpy.abs(end(letby_rate_m3_per_h=0.0, lip_mbar=35.0, lip_rate_m3_per_h=5e-3)) < 0.3).all()


def test_a_watch_read_by_eye_begins_with_the_shutting_of_the_vent():
    batch = letby_batch(10, 7, letby_rate_m3_per_h=1e-3, by_eye=True, resolution_mbar=0.5)
    assert batch.time_s.shape == (10, 24)
    assert (batch.time_s[:, 0] < 14.0).all()
    assert batch.true_pressure_mbar[:, 0].max() < 0.1 * batch.true_pressure_mbar[:, -1].min()


def test_rigs_of_which_enough_was_seen_are_marched_no_further_and_the_others_as_ever():
    asked = []

    def odd_ones(batch):
        asked.append(int((batch.time_s[1] != NOT_READ).sum()))
        return numpy.arange(len(batch.time_s)) % 2 == 1

    for whole, some in ((hold_batch(6, 11, leak_rate_m3_per_h=1e-4), hold_batch(6, 11, leak_rate_m3_per_h=1e-4,
                                                                               still=odd_ones)),
                        (letby_batch(6, 11, letby_rate_m3_per_h=1e-3, duration_s=600.0),
                         letby_batch(6, 11, letby_rate_m3_per_h=1e-3, duration_s=600.0, still=odd_ones))):
        read = some.time_s != NOT_READ
        assert read[1::2].all() and (read[::2].sum(axis=1) == 200).all()
        for all_of_it, part in zip(whole[:6], some[:6], strict=True):
            assert numpy.array_equal(all_of_it[read], part[read], equal_nan=True)
        assert {name: list(values) for name, values in whole.truth.items()} == {
            name: list(values) for name, values in some.truth.items()}
    assert asked == 2 * [200, 400, 600, 600]
