"""The march against physics worked out apart: closed forms, and differential equations solved by another library."""

import math

import numpy
import pytest
from scipy.integrate import solve_ivp

from stillbore.practice import draws
from stillbore.practice.march import CREEP_TIMES, Water

R = 8.314462618  # J/(mol K)
T = 288.15
AIR_K, FUEL_K = 1.0 + R / 20.79, 1.0 + R / 26.9
OUTSIDE, MAIN = 1, 2  # with one compartment


def flux(up, down, temperature, mass=0.028965, k=AIR_K):
    """Textbook nozzle, molar [mol/(s m2)], choked below the critical ratio."""
    ratio = max(down / up, (2.0 / (k + 1.0)) ** (k / (k - 1.0)))
    shape = ratio ** (2.0 / k) - ratio ** ((k + 1.0) / k)
    return up * math.sqrt(2.0 * k / (k - 1.0) * max(0.0, shape) / (mass * R * temperature))


def keep_isothermal(rig):
    rig.spaces.film_body[:] = 1e6


def fill(rig, pressure, space=0, fuel=0.0):
    draws.put_gas(rig.spaces, space, pressure, fuel)


# Filling and emptying


@pytest.mark.parametrize("before", [2e3, 5e4, 1e5])
def test_filling_an_isolated_compartment_warms_its_gas_by_the_first_law(bench, before):
    """n2 = n1 + (p2 - p1) V / (k R T0), T2 = p2 V / (n2 R): from cv (n2 T2 - n1 T1) = cp T0 (n2 - n1)."""
    rig = bench([1e-3], (MAIN, 0, 0.0, 1e-5), district=2e5)
    fill(rig, before, fuel=1.0)
    rig.run(20.0, bites=4)
    moles = before * 1e-3 / (R * T) + (3e5 - before) * 1e-3 / (FUEL_K * R * T)
    assert rig.pressure() == pytest.approx(3e5, rel=1e-6)
    assert rig.spaces.amount[0] == pytest.approx(moles, rel=1e-6)
    assert rig.spaces.temperature[0] == pytest.approx(3e5 * 1e-3 / (moles * R), rel=1e-6)
    if before == 2e3:  # nearly evacuated: T2 goes to k T0
        assert rig.spaces.temperature[0] == pytest.approx(FUEL_K * T, rel=0.01)


def test_gas_that_stays_behind_expands_by_the_adiabatic(bench):
    """T/T0 = (p/p0)^((k-1)/k), however fast it leaves."""
    for hole in (1e-6, 1e-4):
        rig = bench([1e-3], (0, OUTSIDE, 0.0, hole))
        fill(rig, 1.5e5)
        rig.run(30.0, step=0.02, bites=200)
        assert rig.pressure() == pytest.approx(1e5, rel=1e-6)
        assert rig.spaces.temperature[0] == pytest.approx(T * (1.0 / 1.5) ** ((AIR_K - 1.0) / AIR_K), rel=2e-4)


def test_air_and_gas_mixed_hold_the_heat_of_both(bench):
    """Two compartments of air and gas joined, nothing lost: na cva Ta + nf cvf Tf = (na cva + nf cvf) T."""
    rig = bench([1e-3, 2e-3], (0, 1, 0.0, 1e-4))
    fill(rig, 2e5)
    rig.spaces.temperature[1] = 330.0
    fill(rig, 1e5, space=1, fuel=1.0)
    air, fuel = rig.spaces.amount
    held = air * 20.79 * T + fuel * 26.9 * 330.0
    rig.run(10.0, bites=10)
    cells = rig.spaces
    capacity = (cells.amount - cells.fuel) * 20.79 + cells.fuel * 26.9
    assert cells.amount.sum() == pytest.approx(air + fuel, rel=1e-12)
    assert cells.fuel.sum() == pytest.approx(fuel, rel=1e-12)
    assert (capacity * cells.temperature).sum() == pytest.approx(held, rel=1e-12)
    assert rig.pressure(0) == pytest.approx(rig.pressure(1), rel=1e-6)


def test_a_hand_pump_presses_by_the_adiabatic(bench):
    """Pressing air without loss into an isolated space that holds air of the same sort is one adiabatic for all."""
    rig = bench([1e-3])
    rig.run(60.0, step=0.02, pump=4e-4, above=5e4)
    assert rig.pressure() == pytest.approx(1.5e5, rel=0.001)
    assert rig.spaces.temperature[0] == pytest.approx(T * (rig.pressure() / 1e5) ** ((AIR_K - 1.0) / AIR_K), rel=1e-4)


@pytest.mark.parametrize("bites,late", [(40, 1.25), (1000, 1.01)])
def test_a_vented_leg_empties_as_two_vessels_in_a_row_do(bench, bites, late):
    """Leg, sawn hole, rig, vent, each adiabatic, against solve_ivp: with the bites of a job the rush takes up to a
    quarter longer than in truth; with more bites it comes closer. Where it ends does not depend on the bites."""
    leg, small, sawn, vent = 6e-3, 0.5e-3, 3.2e-4, 2e-5
    rig = bench([leg, small], (0, 1, 0.0, sawn), (1, 2, 0.0, vent))
    fill(rig, 1.03e5, 0)
    fill(rig, 1.03e5, 1)

    def rates(_, state):
        n1, n2, e1, e2 = state  # mol, and cv n T [J]
        t1, t2 = e1 / (20.79 * n1), e2 / (20.79 * n2)
        p1, p2 = n1 * R * t1 / leg, n2 * R * t2 / small
        across = sawn * (flux(p1, p2, t1) if p1 > p2 else -flux(p2, p1, t2))
        out = vent * flux(max(p2, 1e5), 1e5, t2)
        heat = (20.79 + R) * (t1 if across > 0.0 else t2)
        return [-across, across - out, -across * heat, across * heat - out * (20.79 + R) * t2]

    start = [*rig.spaces.amount, *(rig.spaces.amount * 20.79 * T)]
    solved = solve_ivp(rates, (0.0, 1.0), start, method="LSODA", rtol=1e-7, atol=1e-9, dense_output=True,
                       max_step=0.001)
    for _ in range(3):
        rig.run(0.1, bites=bites)
        earlier, later = (solved.sol(time)[2] * R / 20.79 / leg for time in (rig.clock, rig.clock / late))
        assert earlier - 10.0 <= rig.pressure(0) <= later + 10.0
    rig.run(5.0, bites=bites)
    assert rig.spaces.temperature[0] == pytest.approx(T * 1.03 ** -((AIR_K - 1.0) / AIR_K), abs=0.02)


# Leaks at one temperature


def test_a_crack_lets_pressure_down_by_its_closed_form(bench):
    """dp/dt = -a (p^2 - pa^2) gives (p - pa)/(p + pa) = const exp(-2 a pa t), a = C R / (mu V)."""
    crack, volume = 1.8e-17, 5e-4
    rig = bench([volume], (0, OUTSIDE, crack, 0.0))
    keep_isothermal(rig)
    fill(rig, 1.1e5)
    a = crack * R / (1.8e-5 * volume)
    for _ in range(5):
        rig.run(120.0)
        x = 0.1 / 2.1 * math.exp(-2.0 * a * 1e5 * rig.clock)
        assert rig.pressure() - 1e5 == pytest.approx(1e5 * 2.0 * x / (1.0 - x), rel=2e-3)
    assert rig.pressure() < 1.07e5  # the leak was worth the wait


@pytest.mark.parametrize("start", [1.1e5, 2.5e5])
def test_an_orifice_lets_pressure_down_as_its_equation_says(bench, start):
    """Subcritical all the way, and through the choked part, with the steps of a job."""
    hole, volume = 2e-8, 5e-4
    rig = bench([volume], (0, OUTSIDE, 0.0, hole))
    keep_isothermal(rig)
    fill(rig, start)
    solved = solve_ivp(lambda _, p: [-hole * flux(max(p[0], 1e5), 1e5, T) * R * T / volume], (0.0, 60.0), [start],
                       t_eval=[10.0, 20.0, 30.0, 40.0, 50.0], rtol=1e-8, atol=1e-4)
    for expected in solved.y[0]:
        rig.run(10.0)
        assert rig.pressure() - 1e5 == pytest.approx(expected - 1e5, rel=0.01, abs=1.0)


def test_a_choked_orifice_lets_pressure_down_exponentially(bench):
    """dp/dt = -p A c* sqrt(k) (2/(k+1))^((k+1)/(2(k-1))) / V, with c* = sqrt(R T / M): the textbook coefficient."""
    hole, volume = 2e-8, 5e-4
    rig = bench([volume], (0, OUTSIDE, 0.0, hole))
    keep_isothermal(rig)
    fill(rig, 4e5)
    rig.run(30.0)
    coefficient = math.sqrt(1.4) * (2.0 / 2.4) ** (2.4 / 0.8)
    rate = hole / volume * coefficient * math.sqrt(R * T / 0.028965)
    assert rig.pressure() == pytest.approx(4e5 * math.exp(-rate * 30.0), rel=1e-3)
    assert rig.pressure() > 1e5 / 0.528


def test_letby_builds_pressure_up_by_its_closed_form(bench):
    """A crack from the main: dp/dt = a (pm^2 - p^2) gives p = pm tanh(a pm t + artanh(p0/pm)), for natural gas."""
    crack, volume = 1.2e-16, 6e-3
    rig = bench([volume], (MAIN, 0, crack, 0.0), district=3e3)
    keep_isothermal(rig)
    fill(rig, 1e5, fuel=1.0)
    a = crack * R / (1.08e-5 * volume)
    for _ in range(4):
        rig.run(150.0)
        expected = 1.03e5 * math.tanh(a * 1.03e5 * rig.clock + math.atanh(1.0 / 1.03))
        assert rig.pressure() - 1e5 == pytest.approx(expected - 1e5, rel=5e-3)
    assert 500.0 < rig.pressure() - 1e5 < 2950.0


def test_a_neighbour_pulls_an_isolated_leg_down(bench):
    """V/(R T) dp/dt = -n min(1, sqrt(g / 10 mbar)): full flow first, and no lower than the barometer."""
    drawn, volume = 2.35e-4, 6e-3  # a pilot of 0.02 m3/h
    rig = bench([volume])
    keep_isothermal(rig)
    fill(rig, 1.03e5, fuel=1.0)

    def rate(_, p):
        return [-drawn * min(1.0, math.sqrt(max(0.0, p[0] - 1e5) / 1e3)) * R * T / volume]

    solved = solve_ivp(rate, (0.0, 60.0), [1.03e5], t_eval=[10.0, 20.0, 30.0, 40.0], max_step=0.1)
    for expected in solved.y[0]:
        rig.run(10.0, drawn=drawn)
        assert rig.pressure() - 1e5 == pytest.approx(expected - 1e5, rel=0.01, abs=2.0)
    rig.run(60.0, drawn=100.0 * drawn)
    assert rig.pressure() >= 1e5 - 1e-6
    assert rig.spaces.fuel[0] == pytest.approx(rig.spaces.amount[0])  # he draws what is there


# Warmth


def test_gas_takes_its_metals_temperature_exponentially(bench):
    """T - Tb falls as exp(-film t / (n cv)); the pressure goes with it by the gas law."""
    rig = bench([5e-4])
    fill(rig, 1.1e5)
    rig.spaces.film_body[0], rig.spaces.body[0] = 0.2, T + 3.0
    capacity = 1.1e5 * 5e-4 / (R * T) * 20.79
    for seconds in (1.0, 2.0, 4.0):
        rig.run(seconds)
        left = 3.0 * math.exp(-0.2 * rig.clock / capacity)
        assert T + 3.0 - rig.spaces.temperature[0] == pytest.approx(left, rel=1e-3)
        assert rig.pressure() == pytest.approx(1.1e5 * rig.spaces.temperature[0] / T, rel=1e-9)


def test_two_bodies_left_alone_share_their_heat(bench):
    """Lining and metal: the difference falls as exp(-G (1/C1 + 1/C2) t), and C1 T1 + C2 T2 stays."""
    rig = bench([5e-4])
    cells = rig.spaces
    cells.lining_body[0], cells.body_capacity[0], cells.lining_capacity[0] = 2.0, 300.0, 40.0
    cells.lining[0] += 5.0
    rig.run(12.0)
    assert cells.lining[0] - cells.body[0] == pytest.approx(5.0 * math.exp(-2.0 * (1 / 300 + 1 / 40) * 12.0), rel=1e-6)
    assert 300.0 * cells.body[0] + 40.0 * cells.lining[0] == pytest.approx(340.0 * T + 200.0, rel=1e-12)


@pytest.mark.parametrize("wall,source", [("body_air", 0), ("body_ground", 1)])
def test_metal_takes_the_temperature_of_air_and_ground(bench, wall, source):
    rig = bench([5e-4])
    getattr(rig.spaces, wall)[0], rig.spaces.body_capacity[0] = 1.5, 900.0
    rig.around = rig.around._replace(air=T + 4.0) if source == 0 else rig.around
    rig.around.now[source] = T + 4.0
    rig.run(300.0)
    assert T + 4.0 - rig.spaces.body[0] == pytest.approx(4.0 * math.exp(-1.5 * 300.0 / 900.0), rel=1e-3)
    assert rig.tally[2] == pytest.approx(900.0 * (rig.spaces.body[0] - T), rel=1e-6)


def test_valves_conduct_between_the_metals_they_join(bench):
    rig = bench([5e-4, 5e-4], (0, 1, 0.0, 0.0))
    rig.openings.conduction[0], rig.spaces.body_capacity[:] = 2.0, (400.0, 800.0)
    rig.spaces.body[0] += 6.0
    rig.run(60.0)
    assert rig.spaces.body[0] - rig.spaces.body[1] == pytest.approx(6.0 * math.exp(-2.0 * (1 / 400 + 1 / 800) * 60.0),
                                                                    rel=1e-6)


# Hose, lip, water


def test_a_hose_creeps_element_by_element(bench):
    """Each element gives way as 1 - exp(-t/tau). The space is so large that the pressure stays what it was."""
    rig = bench([10.0])
    keep_isothermal(rig)
    fill(rig, 1.1e5)
    rig.spaces.give[0] = numpy.linspace(1e-11, 4e-11, len(CREEP_TIMES))
    rig.run(200.0)
    expected = (rig.spaces.give[0] * 1e4 * -numpy.expm1(-200.0 / CREEP_TIMES)).sum()
    assert rig.spaces.grown[0] == pytest.approx(expected, rel=1e-4)
    fill(rig, 1e5)
    rig.run(20000.0, step=1.0)
    assert rig.spaces.grown[0] == pytest.approx(0.0, abs=0.001 * expected)  # let go, it comes back


def test_creep_takes_from_the_pressure_what_it_adds_to_the_room(bench):
    """Isothermal: p (V + grown) is kept."""
    rig = bench([5e-4])
    keep_isothermal(rig)
    fill(rig, 1.1e5)
    rig.spaces.give[0] = 1e-10 / len(CREEP_TIMES)  # 1 ml at 100 mbar
    rig.run(600.0)
    assert 1e-7 < rig.spaces.grown[0] < 1e-6
    assert rig.pressure() * (5e-4 + rig.spaces.grown[0]) == pytest.approx(1.1e5 * 5e-4, rel=1e-6)


@pytest.mark.parametrize("district,lifts", [(2600.0, True), (2400.0, False)])
def test_a_lip_lifts_above_its_pressure_and_not_below(bench, district, lifts):
    """25 mbar, seating at 21.25: a leg behind it fills until the difference is what it holds back."""
    rig = bench([6e-3], (MAIN, 0, 0.0, 3e-7), district=district)
    keep_isothermal(rig)
    fill(rig, 1e5, fuel=1.0)
    rig.openings.lifts_at[0], rig.openings.holds_back[0] = 2500.0, 2125.0
    rig.run(600.0)
    assert rig.pressure() - 1e5 == pytest.approx(district - 2125.0 if lifts else 0.0, abs=1.0)


def test_a_water_slug_swings_as_a_u_tube_does(bench):
    """Period 2 pi sqrt(L / 2g), textbook; the leg is so large that its gas is no spring."""
    rig = bench([1e4], (MAIN, 0, 0.0, 0.0))
    rig.water = Water(numpy.array([0.03, 0.0]), 5.7e-4, 1.2, 1000.0, 0.0, 0, 0)
    places = []
    for _ in range(1000):
        rig.run(0.01, step=0.01)
        places.append(rig.water.state[0])
    turns = numpy.flatnonzero(numpy.diff(numpy.sign(places)) > 0)
    period = numpy.diff(turns).mean() * 0.01
    assert period == pytest.approx(2.0 * math.pi * math.sqrt(1.2 / (2.0 * 9.81)), rel=0.01)
    assert max(places[-200:]) == pytest.approx(0.03, rel=0.05)  # undamped: neither grows nor dies


def test_bubbles_kick_the_slug(bench):
    """A damped swing driven by white noise of 0.25 m/s per root second: <v^2> = 0.25^2 / (2 damping), textbook."""
    rig = bench([1e4], (MAIN, 0, 0.0, 0.0))
    rig.water = Water(numpy.zeros(2), 5.7e-4, 1.0, 1e9, 0.8, 0, 0)
    rig.openings.lifted[0] = 1.0
    speeds = []
    for _ in range(4000):
        rig.run(0.5, step=0.05)
        speeds.append(rig.water.state[1])
    assert numpy.mean(numpy.square(speeds)) == pytest.approx(0.25**2 / 1.6, rel=0.15)


@pytest.mark.parametrize("short_of,passes", [(700.0, False), (900.0, True)])
def test_water_holds_back_its_head_and_swings_when_gas_bubbles_through(bench, short_of, passes):
    """A head of 8 mbar: below it no gas passes and the slug rests; above it gas comes and the slug is kicked."""
    rig = bench([6e-3], (MAIN, 0, 0.0, 1e-6), district=3e3)
    keep_isothermal(rig)
    fill(rig, 1.03e5 - short_of, fuel=1.0)
    rig.openings.lifts_at[0], rig.openings.holds_back[0] = 800.0, 640.0
    # Held where it balances the leg, so that nothing but bubbles can move it; the leg keeps its room.
    place = min(short_of, 800.0) / (2.0 * 9810.0)
    rig.water = Water(numpy.array([place, 0.0]), 5.7e-4, 1.0, 800.0, 0.5, 0, 0)
    rig.spaces.volume[0] += 5.7e-4 * place
    swings = []
    for _ in range(100):
        rig.run(0.2)
        swings.append(rig.pressure() - 1e5)
    assert (rig.openings.passed[0] > 0.0) == passes
    assert (numpy.std(swings) > 5.0) == passes
    assert 3e3 - 800.0 <= numpy.median(swings) <= 3e3 - 600.0
