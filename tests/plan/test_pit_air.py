"""Gas in the pit against the handbook's figures and a march of the mass balance by small steps; open ends by fluids."""

from math import pi, sqrt

import fluids
import pytest
from variants import NOBODY_KNOWS, made, silent, told

from stillbore.physics.flow import open_end_flow
from stillbore.plan.parts import NOTE
from stillbore.plan.pit_air import curves

HOUR = 3600.0


@pytest.fixture(scope="module")
def example():
    return made()


def node(found, name):
    return found.numbers[name].node


def marched(volume, flow, changes, shut, until, steps=20000):
    """Gas in the pit by plain small steps: flow in until ``shut``, fresh air in besides, the mixture of both out."""
    gas, step = 0.0, until / steps
    for place in range(steps):
        into = flow if (place + 0.5) * step < shut else 0.0
        gas += step * (into - (into + changes * volume) * gas / volume)
    return gas / volume


# trade.md C19: a pit of 0.9 x 0.6 x 0.9 m, the limit 4.4 %, natural gas taken as methane.


def trade_pit(rate):
    return made(survey={"site.pit_volume": '"0.486 m3"', "gas.composition": '"CH4 1"'},
                rules={"letby.stop_rate": f'{{ value = "{rate} l/h", source = "test" }}'})


@pytest.mark.parametrize("rate, level, seconds, half_digit", [
    (48, "out", 2.7 * 60, 3.0), (48, "emergency", 5.3 * 60, 3.0), (1000, "emergency", 15, 0.5)])
def test_times_without_air_as_the_trade_has_them(rate, level, seconds, half_digit):
    """Printed by the first-order form; ours lets the mixture out as the gas comes, half the concentration longer."""
    time = node(trade_pit(rate), f"pit_air.let_by.time_to_{level}")
    assert time.value / (1.0 + 0.0088 / 2) == pytest.approx(seconds, abs=half_digit)


@pytest.mark.parametrize("rate, share", [(2, 0.019), (20, 0.19)])
def test_where_a_pit_with_five_air_changes_settles_as_the_trade_has_it(rate, share):
    found = trade_pit(rate)
    assert node(found, "pit_air.air_airy").value * HOUR == pytest.approx(5.0)
    assert node(found, "pit_air.let_by.settles_airy").value / 0.044 == pytest.approx(share, rel=0.03)


def test_an_open_one_inch_end_reaches_the_limit_in_a_second_or_two(example):
    """trade.md C19: 1 to 2 s, for 10 m of pipe; the example has 2 to 3 m, and a pit of 0.4 m3 at the smallest."""
    assert 0.4 < node(example, "pit_air.cut_end.time_to_limit").low < 2.0


# The equation itself, against small steps


def by_key(found):
    return {curve.key: curve for curve in curves(found.numbers, found.rules)}


@pytest.mark.parametrize("key, changes, shut", [
    ("let_by_still", 1.0, 1e9), ("let_by_airy", 5.0, 1e9), ("lost_stopper", 1.0, 1e9),
    ("live_cut_still", 1.0, 30.0), ("live_cut_airy", 5.0, 30.0)])
def test_the_curves_against_a_march_by_small_steps(example, key, changes, shut):
    limit, pit = node(example, "gas.flammable_limit").value, node(example, "pit_air.pit_volume").low
    flow = 2e-3 / HOUR if key.startswith("let_by") else node(example, "if_it_goes_wrong.open_end").high
    points = by_key(example)[key].points
    for time, share in points[::12]:
        # The march is exact to its step: seconds while the end is open, minutes afterwards.
        steps = max(20000, int(40 * time))
        assert share * limit == pytest.approx(marched(pit, flow, changes / HOUR, shut, time, steps), rel=4e-3), time


def test_the_curves_run_from_under_a_second_to_two_hours_and_never_pass_pure_gas(example):
    limit = node(example, "gas.flammable_limit").value
    for curve in by_key(example).values():
        times = [time for time, _ in curve.points]
        assert times == sorted(times) and times[0] < 1.0 and times[-1] == pytest.approx(7200.0)
        assert all(0.0 <= share * limit <= 1.0 for _, share in curve.points)


def test_a_live_cut_airs_out_and_a_lost_stopper_does_not(example):
    found = by_key(example)
    ends = {key: curve.points[-1][1] for key, curve in found.items()}
    assert ends["live_cut_airy"] < ends["live_cut_still"] < ends["lost_stopper"]
    airing = node(example, "pit_air.live_cut.airing_airy")
    start = node(example, "pit_air.live_cut.richest").high
    steps = 100000
    gas = start
    for _ in range(steps):  # down to 10 % of the limit, by small steps
        gas -= airing.value / steps * 5.0 / HOUR * gas
    assert gas == pytest.approx(node(example, "pit_air.fraction_out").value, rel=1e-3)


# Open ends: trade.md T5, and fluids


# Bore of medium tube [mm]: {length [m]: m3/h at 21, 30, 45, 75 mbar}, trade.md T5. It does not say its roughness;
# 0.3 mm (old steel) and the K of 2.5 that trade.md uses elsewhere bring all forty figures within 4 %.
T5 = {21.7: {5: (27, 32, 40, 52), 10: (20, 24, 30, 39)}, 27.3: {5: (47, 57, 70, 91), 10: (37, 44, 54, 71)},
      36.0: {5: (92, 110, 135, 176), 10: (73, 88, 108, 141)}, 41.9: {5: (131, 157, 194, 252), 10: (107, 128, 157, 205)},
      53.1: {5: (227, 272, 335, 435), 10: (189, 227, 279, 364)}}
ROUGHNESS, LOSSES, PRESSURES = "0.3 mm", 2.5, (21, 30, 45, 75)


@pytest.mark.parametrize("bore", T5)
def test_open_end_flow_as_the_trade_has_it(bore):
    for length, printed in T5[bore].items():
        for pressure, flow in zip(PRESSURES, printed, strict=True):
            ours = open_end_flow(pressure * 100.0, length, bore * 1e-3, 0.3e-3, 0.744, 1.08e-5, LOSSES)
            assert ours * HOUR == pytest.approx(flow, rel=0.04), (length, pressure)


@pytest.mark.parametrize("length", [5, 10])
@pytest.mark.parametrize("place, pressure", enumerate(PRESSURES))
def test_open_end_flow_of_one_inch_in_the_plan_as_the_trade_has_it(place, pressure, length):
    """The same table all the way through a plan, which reckons compressible and meters at 15 degC."""
    found = made(survey={
        "pipe.outside_diameter": '{ value = "33.7 mm", instrument = "X" }',
        "pipe.wall": '{ value = "3.2 mm", instrument = "X" }', "site.upstream_length": f'"{length} m"',
        "pressure.maximum_operating_pressure": '{ value = "100 mbar", how = "record" }',
        "pressure.operating": f'"{pressure} mbar"', "gas.composition": '"CH4 0.925, C2H6 0.055, N2 0.02"',
        "district[0].set_pressure": f'"{pressure} mbar"', "district[1].set_pressure": f'"{pressure} mbar"'},
        rules={"pressure.above_set_pressure": '{ value = "0 mbar", source = "test" }',
               "release.roughness": f'{{ value = "{ROUGHNESS}", source = "test" }}',
               "release.loss_coefficient": f'{{ value = "{LOSSES}", source = "test" }}'})
    flow = node(found, "if_it_goes_wrong.open_end")
    assert flow.high * HOUR == pytest.approx(T5[27.3][length][place], rel=0.06)


def test_open_end_flow_against_fluids(example):
    """p = (f L/d + K + 1) rho v^2/2 by fluids' Colebrook, incompressible: within 3 % of the compressible one."""
    limits = example.rules.fact
    bore = max(node(example, f"pipe.{tube.key}.bore").high for tube in example.tubes)
    pressure, air = node(example, "pressure.highest").high, example.survey.fact("site.barometer").low
    density = 17.39e-3 * (air + pressure / 2) / (8.314462618 * 282.15)
    rough, losses, length = (limits("release.roughness").low, limits("release.loss_coefficient").low, 2.0)
    velocity = 20.0
    for _ in range(50):
        friction = fluids.friction_factor(Re=density * velocity * bore / 1.07e-5, eD=rough / bore)
        velocity = sqrt(2 * pressure / density / (friction * length / bore + losses + 1.0))
    metered = velocity * pi / 4 * bore**2 * density * 8.314462618 * 288.15 / (17.39e-3 * 101325.0)
    assert node(example, "if_it_goes_wrong.open_end").high == pytest.approx(metered, rel=0.03)


# What is said


def test_it_is_a_measure_of_urgency_and_never_a_decision(example):
    finding = told(example, "how urgent it is", "no reason to enter", "measured")
    assert finding.level == NOTE and not finding.holds


def test_a_pit_that_mixes_badly_can_pass_the_level_at_which_it_is_left(example):
    """methods.md D: Q = c N V m / (1 - c), here 0.4 m3, one change an hour, a sixth mixed."""
    level = node(example, "pit_air.fraction_out").value
    least = level * 0.17 * 0.4 / HOUR / (1 - level)
    assert node(example, "pit_air.largest_leak").low == pytest.approx(least, rel=1e-9)
    assert least < 2e-3 / HOUR
    told(example, "can in time pass", "mixes badly")
    assert silent(made(rules={"letby.stop_rate": '{ value = "0.2 l/h", source = "test" }'}), "mixes badly")


def test_an_unmeasured_pit_is_the_rule_sets_and_says_so():
    found = made(survey={"site.pit_volume": NOBODY_KNOWS})
    assert "usual" in found.numbers["pit_air.pit_volume"].title
    assert node(found, "pit_air.pit_volume").value == pytest.approx(0.49)


def test_without_a_length_to_the_main_there_is_no_curve_for_the_open_end():
    found = made(survey={"site.upstream_length": NOBODY_KNOWS})
    assert set(by_key(found)) == {"let_by_still", "let_by_airy"}
    told(found, "flow out of the cut end cannot be worked out")
