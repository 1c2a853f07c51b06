"""Tightness against simulations and real gases: mass balances stepped in time, CoolProp densities, quadrature.

Nothing here uses the formulas under test: gas is counted in moles or kilograms and moved by a solver.
"""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from stillbore.physics import tightness

R = PropsSI("GAS_CONSTANT", "Methane")
ATMOSPHERE = 1013.25e2
WARM = 288.15


def stepped_leak(volume, start, duration, outflow, warming=0.0, event=None):
    """Moles in a volume, stepped in time: ``outflow(p)`` in m3/s at atmospheric pressure and the gas's temperature."""
    def temperature(t):
        return WARM + warming * t

    def pressure(t, n):
        return n * R * temperature(t) / volume

    def rate(t, y):
        return [-outflow(pressure(t, y[0])) * ATMOSPHERE / (R * temperature(t))]

    moles = (start + ATMOSPHERE) * volume / (R * WARM)
    solution = solve_ivp(rate, (0.0, duration), [moles], rtol=1e-11, atol=1e-14, dense_output=True,
                         events=event and (lambda t, y: pressure(t, y[0]) - ATMOSPHERE - event))
    return solution, lambda t: pressure(t, solution.sol(t)[0]) - ATMOSPHERE


@pytest.mark.parametrize("exponent", [1.0, 0.5])
def test_leak_rate_is_the_mean_of_a_leak_stepped_in_time(exponent):
    volume, duration = 0.5e-3, 300.0

    def outflow(p):
        return 4e-9 * ((p - ATMOSPHERE) / 1e4) ** exponent

    _, gauge = stepped_leak(volume, 1e4, duration, outflow)
    mean = quad(lambda t: outflow(gauge(t) + ATMOSPHERE), 0.0, duration)[0] / duration
    found = tightness.leak_rate(volume=volume, pressure_drop=gauge(0.0) - gauge(duration), duration=duration,
                                atmospheric_pressure=ATMOSPHERE)
    assert found == pytest.approx(mean, rel=1e-4)
    assert found < outflow(1e4 + ATMOSPHERE), "the mean lies below the leak at the start"


def test_leak_rate_against_a_worked_example_of_a_gas_line():
    """10 inch line (bore 10.136 in), one mile, 190.5 to 190.0 psi in one hour at 52 F, barometer 14.4 psi:
    0.903 million cubic feet a year, by the rule L = 9 D^2 (P1/T1 - P2/T2), which states its own error as 4 %.
    A public page on gas lines; the base temperature of its result is 60 F."""
    inch, foot, psi = 0.0254, 0.3048, 6894.757293168361
    volume = math.pi / 4.0 * (10.136 * inch) ** 2 * 5280.0 * foot
    leak = tightness.leak_rate(volume=volume, pressure_drop=0.5 * psi, duration=3600.0,
                               atmospheric_pressure=14.4 * psi)
    assert leak / foot**3 * 3600.0 * 8760.0 / 1e6 == pytest.approx(0.903, rel=0.01)


@pytest.mark.parametrize("gas", ["Methane", "Air", "Hydrogen"])
def test_leak_rate_against_real_gas_densities(gas):
    volume, duration, before, after = 6.4e-3, 120.0, 3000.0, 2950.0
    lost = volume * (PropsSI("D", "P", ATMOSPHERE + before, "T", WARM, gas)
                     - PropsSI("D", "P", ATMOSPHERE + after, "T", WARM, gas))
    flow = lost / PropsSI("D", "P", ATMOSPHERE, "T", WARM, gas) / duration
    assert tightness.leak_rate(volume=volume, pressure_drop=before - after, duration=duration,
                               atmospheric_pressure=ATMOSPHERE) == pytest.approx(flow, rel=3e-3)


def test_fall_and_rate_against_a_constant_leak_stepped_in_time():
    volume, leak, duration = 0.7e-3, 1.4e-3 / 3600.0 / 50.0, 90.0
    _, gauge = stepped_leak(volume, 1e4, duration, lambda p: leak)
    assert tightness.fall_for_leak(leak_rate=leak, volume=volume, duration=duration, atmospheric_pressure=ATMOSPHERE
                                   ) == pytest.approx(gauge(0.0) - gauge(duration), rel=1e-5)
    assert tightness.pressure_rate(leak_rate=leak, volume=volume, atmospheric_pressure=ATMOSPHERE
                                   ) == pytest.approx((gauge(40.0) - gauge(41.0)) / 1.0, rel=1e-5)


def test_hold_and_smallest_leak_against_the_moment_of_an_event():
    volume, leak, movement = 6.4e-3, 3e-5 / 3600.0, 50.0
    solution, _ = stepped_leak(volume, 3000.0, 1e6, lambda p: leak, event=3000.0 - 3.0 * movement)
    moment = solution.t_events[0][0]
    assert tightness.shortest_hold(leak_rate=leak, volume=volume, readable_movement=movement, movements=3.0,
                                   atmospheric_pressure=ATMOSPHERE) == pytest.approx(moment, rel=1e-4)
    assert tightness.smallest_leak(volume=volume, readable_movement=movement, duration=moment / 3.0,
                                   atmospheric_pressure=ATMOSPHERE) == pytest.approx(leak, rel=1e-4)


@pytest.mark.parametrize("gas", ["Air", "Methane"])
@pytest.mark.parametrize("gauge", [2100.0, 1e4, 35e3])
def test_temperature_effect_against_a_real_gas(gas, gauge):
    slope = PropsSI("d(P)/d(T)|D", "P", ATMOSPHERE + gauge, "T", WARM, gas)
    found = tightness.temperature_effect(gauge_pressure=gauge, atmospheric_pressure=ATMOSPHERE, temperature=WARM)
    assert found == pytest.approx(slope, rel=1e-2)
    assert found < slope, "molecules attract: a real gas moves the gauge a little more than an ideal one"


def test_temperature_tolerance_moves_real_air_by_the_allowed_movement():
    change = tightness.temperature_tolerance(pressure_movement=25.0, gauge_pressure=1e4,
                                             atmospheric_pressure=ATMOSPHERE, temperature=WARM)
    density = PropsSI("D", "P", ATMOSPHERE + 1e4, "T", WARM, "Air")
    assert PropsSI("P", "D", density, "T", WARM + change, "Air") - ATMOSPHERE - 1e4 == pytest.approx(25.0, rel=5e-3)


def test_a_leak_under_the_hiding_rate_shows_a_flat_gauge():
    volume, leak, start = 0.5e-3, 0.5e-6 / 60.0, 1e4
    warming = tightness.temperature_rate_hiding_leak(leak_rate=leak, volume=volume, gauge_pressure=start,
                                                     atmospheric_pressure=ATMOSPHERE, temperature=WARM)
    _, hidden = stepped_leak(volume, start, 300.0, lambda p: leak, warming)
    _, plain = stepped_leak(volume, start, 300.0, lambda p: leak)
    assert max(abs(hidden(t) - start) for t in range(0, 301, 10)) < 5.0, "half a tenth of a millibar in five minutes"
    assert start - plain(300.0) > 500.0, "the same leak, unhidden, is plain to see"


def test_corrected_pressure_brings_back_the_first_reading_of_real_air():
    density = PropsSI("D", "P", ATMOSPHERE + 1e4, "T", WARM, "Air")
    later = PropsSI("P", "D", density, "T", WARM + 4.0, "Air") - 99_800.0
    corrected = tightness.corrected_pressure(gauge_pressure=later, atmospheric_pressure=99_800.0,
                                             temperature=WARM + 4.0, atmospheric_pressure_first=ATMOSPHERE,
                                             temperature_first=WARM)
    assert later > 1e4 + 2500.0, "uncorrected it is far off"
    assert corrected == pytest.approx(1e4, abs=8.0), "half a hundredth of the 1545 Pa that 4 K made"


def test_pumping_heat_against_isentropic_compression_of_real_air():
    entropy = PropsSI("S", "P", ATMOSPHERE, "T", WARM, "Air")
    warmed = PropsSI("T", "P", ATMOSPHERE + 1e4, "S", entropy, "Air") - WARM
    ratio = PropsSI("C", "P", ATMOSPHERE, "T", WARM, "Air") / PropsSI("O", "P", ATMOSPHERE, "T", WARM, "Air")
    assert tightness.pumping_heat(gauge_pressure=1e4, atmospheric_pressure=ATMOSPHERE, temperature=WARM,
                                  heat_ratio=ratio) == pytest.approx(warmed, rel=5e-3)


def test_fill_volume_against_masses_of_real_methane():
    empty = PropsSI("D", "P", ATMOSPHERE, "T", WARM, "Methane")
    full = PropsSI("D", "P", ATMOSPHERE + 3000.0, "T", WARM, "Methane")
    assert tightness.fill_volume(volume=0.5e-3, gauge_pressure=3000.0, atmospheric_pressure=ATMOSPHERE
                                 ) == pytest.approx(0.5e-3 * (full - empty) / empty, rel=3e-3)


def test_volume_from_expansion_against_a_mass_balance():
    unknown, known, before = 6.4e-3, 0.5e-3, 3000.0

    def density(gauge):
        return PropsSI("D", "P", ATMOSPHERE + gauge, "T", WARM, "Methane")

    mass = unknown * density(before) + known * density(0.0)
    after = brentq(lambda gauge: (unknown + known) * density(gauge) - mass, 1.0, before)
    assert tightness.volume_from_expansion(reference_volume=known, pressure_before=before, pressure_after=after
                                           ) == pytest.approx(unknown, rel=5e-3)


def test_water_head_against_a_column_of_real_water():
    height = 0.3
    layers = solve_ivp(lambda h, p: [9.80665 * PropsSI("D", "P", p[0], "T", WARM, "Water")], (0.0, height),
                       [ATMOSPHERE], rtol=1e-9)
    density = PropsSI("D", "P", ATMOSPHERE, "T", WARM, "Water")
    assert tightness.water_head(height=height, density=density) == pytest.approx(
        layers.y[0][-1] - ATMOSPHERE, rel=1e-4)


def tube_flow(gas, gauge):
    """Laminar flow at atmospheric pressure through a tube of 20 micrometres and 5 mm, compressible, by quadrature of
    mass flow: m L = integral of density(p) d^4 pi / (128 mu) dp."""
    mu = PropsSI("V", "P", ATMOSPHERE, "T", WARM, gas)
    integral = quad(lambda p: PropsSI("D", "P", p, "T", WARM, gas), ATMOSPHERE, ATMOSPHERE + gauge)[0]
    return math.pi * 20e-6**4 / (128.0 * mu) * integral / 5e-3 / PropsSI("D", "P", ATMOSPHERE, "T", WARM, gas)


@pytest.mark.parametrize("working", [2100.0, 4500.0, 7500.0])
def test_laminar_against_compressible_flow_in_a_fine_tube(working):
    ratio = PropsSI("V", "P", ATMOSPHERE, "T", WARM, "Air") / PropsSI("V", "P", ATMOSPHERE, "T", WARM, "Methane")
    found = tightness.air_to_gas_laminar(leak_rate=tube_flow("Air", 1e4), viscosity_ratio=ratio,
                                         gauge_pressure=working, test_pressure=1e4)
    assert found == pytest.approx(tube_flow("Methane", working), rel=0.05)
    assert found > tube_flow("Methane", working), "below the test pressure it never reads low"


def hole_flow(gas, gauge):
    """Isentropic flow at atmospheric pressure through one square millimetre, from the fall of enthalpy."""
    enthalpy, entropy = (PropsSI(key, "P", ATMOSPHERE + gauge, "T", WARM, gas) for key in "HS")
    speed = math.sqrt(2.0 * (enthalpy - PropsSI("H", "P", ATMOSPHERE, "S", entropy, gas)))
    mass = 1e-6 * speed * PropsSI("D", "P", ATMOSPHERE, "S", entropy, gas)
    return mass / PropsSI("D", "P", ATMOSPHERE, "T", WARM, gas)


@pytest.mark.parametrize("gas", ["Methane", "Hydrogen"])
@pytest.mark.parametrize("working", [2100.0, 4500.0, 7500.0])
def test_orifice_against_isentropic_flow_of_real_gases(gas, working):
    density = (PropsSI("D", "P", ATMOSPHERE, "T", WARM, gas) / PropsSI("D", "P", ATMOSPHERE, "T", WARM, "Air"))
    found = tightness.air_to_gas_orifice(leak_rate=hole_flow("Air", 1e4), relative_density=density,
                                         gauge_pressure=working, test_pressure=1e4)
    assert found == pytest.approx(hole_flow(gas, working), rel=0.01)
