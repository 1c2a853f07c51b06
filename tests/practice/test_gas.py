"""The laws of gas and openings against textbooks, quadrature, and a reference library."""

import math

import CoolProp.CoolProp as CP
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from stillbore.practice import gas

R = 8.314462618  # J/(mol K), exact since 2019
T = 288.15


def nozzle(up, ratio, mass, k):
    """Textbook: molar flux [mol/(s m2)] of an isentropic nozzle, from the mass flux of Saint-Venant and Wantzel."""
    density = up * mass / (R * T)
    speed = math.sqrt(2.0 * k / (k - 1.0) * up / density * (1.0 - ratio ** ((k - 1.0) / k)))
    return density * ratio ** (1.0 / k) * speed / mass


@pytest.mark.parametrize("fuel,fluid", [(0.0, "Air"), (1.0, "Methane")])
def test_figures_of_the_gases_are_those_of_a_reference_library(fuel, fluid):
    """Air within 1 %; natural gas is mostly methane, with heavier gases in it: within a tenth."""
    near = 0.01 if fluid == "Air" else 0.1
    mass, cv, viscosity = ((gas.AIR_MASS, gas.AIR_CV, gas.AIR_VISCOSITY) if fuel == 0.0 else
                           (gas.FUEL_MASS, gas.FUEL_CV, gas.FUEL_VISCOSITY))
    assert mass == pytest.approx(CP.PropsSI("M", "T", T, "P", 101325.0, fluid), rel=near)
    assert cv == pytest.approx(CP.PropsSI("CVMOLAR", "T", T, "P", 101325.0, fluid), rel=near)
    assert viscosity == pytest.approx(CP.PropsSI("V", "T", T, "P", 101325.0, fluid), rel=near)


@pytest.mark.parametrize("ratio", [0.999, 0.95, 0.8, 0.65, 0.61, 0.59, 0.55])
@pytest.mark.parametrize("fuel,mass,cv", [(0.0, 0.028965, 20.79), (1.0, 0.0176, 26.9)])
def test_a_hole_passes_what_the_nozzle_formula_says(ratio, fuel, mass, cv):
    assert gas.hole_flux(2e5, 2e5 * ratio, T, fuel) == pytest.approx(nozzle(2e5, ratio, mass, 1.0 + R / cv), rel=1e-9)


@pytest.mark.parametrize("fuel,mass,cv", [(0.0, 0.028965, 20.79), (1.0, 0.0176, 26.9), (0.5, 0.0232825, 23.845)])
def test_a_choked_hole_against_the_textbook_coefficient_and_as_the_most_that_passes(fuel, mass, cv):
    k = 1.0 + R / cv
    textbook = 3e5 * math.sqrt(k) * (2.0 / (k + 1.0)) ** ((k + 1.0) / (2.0 * (k - 1.0))) / math.sqrt(mass * R * T)
    most = -minimize_scalar(lambda ratio: -nozzle(3e5, ratio, mass, k), bounds=(0.3, 0.8), method="bounded").fun
    for down in (1e5, 5e4, 1.0):
        assert gas.hole_flux(3e5, down, T, fuel) == pytest.approx(textbook, rel=1e-9)
    assert textbook == pytest.approx(most, rel=1e-6)


def test_hardly_any_pressure_drives_a_hole_by_bernoulli():
    """A dv with v = sqrt(2 dp / rho); at 0.01 Pa the digits must not be lost."""
    for drop in (0.01, 1.0, 50.0):
        density = 1e5 * 0.028965 / (R * T)
        assert gas.hole_flux(1e5, 1e5 - drop, T, 0.0) == pytest.approx(
            math.sqrt(2.0 * density * drop) / 0.028965, rel=1e-3)


@pytest.mark.parametrize("fuel,viscosity", [(0.0, 1.8e-5), (1.0, 1.08e-5)])
def test_a_crack_passes_what_hagen_and_poiseuille_say_along_its_length(fuel, viscosity):
    """A capillary of radius a: dp/dx = -8 mu n R T / (pi a^4 p) all along it; its coefficient is pi a^4/(16 L R)."""
    radius, length, up, down = 3e-5, 0.02, 1.5e5, 1e5
    moles = math.pi * radius**4 / (16.0 * length * R) * gas.crack_drive(up, down, T, fuel)
    along = solve_ivp(lambda x, p: -8.0 * viscosity * moles * R * T / (math.pi * radius**4 * p), (0.0, length), [up],
                      rtol=1e-9, atol=1e-3)
    assert along.y[0, -1] == pytest.approx(down, rel=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_an_opening_made_for_a_flow_passes_that_flow(share):
    """1e-4 m3/h at 1013.25 mbar and 15 degC are 1e-4 x 101325 / (R T) moles an hour."""
    crack, hole = gas.opening_for(1e-4 / 3600.0, share, 1.1e5, 1e5, T)
    passed = crack * (1.1e5**2 - 1e5**2) / (1.8e-5 * T) + hole * nozzle(1.1e5, 1.0 / 1.1, 0.028965, 1.0 + R / 20.79)
    assert passed == pytest.approx(1e-4 / 3600.0 * 101325.0 / (R * T), rel=1e-9)
    assert (crack == 0.0) == (share == 0.0) and (hole == 0.0) == (share == 1.0)
