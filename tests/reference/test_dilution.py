"""The well-mixed pit against a march of its mass balance: gas in, fresh air in, mixture out."""

import random
from math import isclose, isfinite

from scipy.integrate import solve_ivp

from stillbore.physics import dilution
from stillbore.physics.refusals import NEVER_REACHED, OK


def pits(seed, count):
    draw = random.Random(seed)
    for _ in range(count):
        volume = draw.uniform(0.3, 5)
        yield {"pit_volume": volume, "flow": volume * 10 ** draw.uniform(-6, -2),
               "air_changes": 10 ** draw.uniform(-4, -2)}, draw


def gas_after(pit, duration):
    """Fraction of gas: V dc/dt = Q - (Q + N V) c, the volume kept because the mixture leaves as fast as both enter."""
    out = pit["flow"] + pit["air_changes"] * pit["pit_volume"]
    done = solve_ivp(lambda _, c: [(pit["flow"] - out * c[0]) / pit["pit_volume"]], (0, duration), [0.0],
                     method="DOP853", rtol=1e-11, atol=1e-15)
    return done.y[0, -1]


def test_concentration_against_a_march_of_the_mass_balance():
    for pit, draw in pits(1, 60):
        duration = draw.uniform(1, 3) / (pit["air_changes"] + pit["flow"] / pit["pit_volume"])
        ours = dilution.ventilated_concentration(**pit, duration=duration)
        assert isclose(ours, gas_after(pit, duration), rel_tol=1e-8)


def test_settling_against_a_march_of_the_mass_balance():
    for pit, _ in pits(2, 20):
        ours = dilution.steady_concentration(**pit)
        assert isclose(ours, gas_after(pit, 30 / (pit["air_changes"] + pit["flow"] / pit["pit_volume"])), rel_tol=1e-8)


def test_times_against_a_march_of_the_mass_balance():
    for pit, draw in pits(3, 60):
        wanted = draw.uniform(0.05, 0.95) * dilution.steady_concentration(**pit)
        assert isclose(gas_after(pit, dilution.time_to_concentration(**pit, fraction_limit=wanted)), wanted,
                       rel_tol=1e-7)
        still = pit | {"air_changes": 0.0}
        shut = {"pit_volume": pit["pit_volume"], "flow": pit["flow"], "fraction_limit": wanted}
        assert isclose(gas_after(still, dilution.unventilated_time(**shut)), wanted, rel_tol=1e-7)
        assert isclose(dilution.time_to_concentration(**still, fraction_limit=wanted),
                       dilution.unventilated_time(**shut), rel_tol=1e-12)
        first_order = dilution.unventilated_time_first_order(**shut)
        assert first_order < dilution.unventilated_time(**shut) < first_order / (1 - wanted)


def test_largest_leak_and_steady_concentration_are_inverse():
    for pit, draw in pits(4, 100):
        mixing_factor, fraction_limit = draw.uniform(0.1, 1), draw.uniform(1e-4, 0.9)
        leak = dilution.largest_leak_for_concentration(
            pit_volume=pit["pit_volume"], air_changes=pit["air_changes"], mixing_factor=mixing_factor,
            fraction_limit=fraction_limit)
        settled = dilution.steady_concentration(pit_volume=pit["pit_volume"], flow=leak,
                                                air_changes=mixing_factor * pit["air_changes"])
        assert isclose(settled, fraction_limit, rel_tol=1e-12)


def test_a_fraction_that_the_pit_never_reaches_is_refused():
    for pit, _ in pits(5, 50):
        settled = dilution.steady_concentration(**pit)
        assert dilution.time_to_concentration_refusal(**pit, fraction_limit=settled) == NEVER_REACHED
        below = settled * (1 - 1e-9)
        assert dilution.time_to_concentration_refusal(**pit, fraction_limit=below) == OK
        assert isfinite(dilution.time_to_concentration(**pit, fraction_limit=below))


def test_airing_against_a_march_of_the_mass_balance():
    """No gas comes in any more: V dc/dt = -N V c; and the time found is when the march is there."""
    for pit, draw in pits(7, 60):
        start, duration = draw.uniform(0.05, 1.0), draw.uniform(0.1, 4.0) / pit["air_changes"]
        done = solve_ivp(lambda _, c, changes=pit["air_changes"]: [-changes * c[0]], (0, duration), [start],
                         method="DOP853", rtol=1e-11, atol=1e-15)
        assert isclose(dilution.airing_concentration(start, pit["air_changes"], duration), done.y[0, -1], rel_tol=1e-8)
        assert isclose(dilution.airing_time(start, pit["air_changes"], done.y[0, -1]), duration, rel_tol=1e-8)
