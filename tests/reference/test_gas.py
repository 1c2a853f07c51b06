"""The gas against CoolProp, GERG-2008 and AGA 8 DETAIL (pyaga8), kinetic theory, and an old worked example."""

import math

import CoolProp.CoolProp as coolprop
import numpy
import pyaga8
import pytest

from stillbore.physics import gas
from stillbore.physics.refusals import OK
from stillbore.tables.gas_mixtures import fractions
from stillbore.tables.iso6976_components import MOLAR_MASSES
from stillbore.units import COMPONENTS, parse_composition

# Component -> (name in CoolProp, name in pyaga8); AGA 8 has no neopentane.
NAMES = {
    "CH4": ("Methane", "methane"), "C2H6": ("Ethane", "ethane"), "C3H8": ("Propane", "propane"),
    "n-C4H10": ("n-Butane", "n_butane"), "i-C4H10": ("IsoButane", "isobutane"), "n-C5H12": ("n-Pentane", "n_pentane"),
    "i-C5H12": ("Isopentane", "isopentane"), "neo-C5H12": ("Neopentane", ""), "n-C6H14": ("n-Hexane", "hexane"),
    "H2": ("Hydrogen", "hydrogen"), "CO": ("CarbonMonoxide", "carbon_monoxide"), "N2": ("Nitrogen", "nitrogen"),
    "O2": ("Oxygen", "oxygen"), "CO2": ("CarbonDioxide", "carbon_dioxide"), "H2O": ("Water", "water"),
}
MIXTURES = ("methane", "natural gas", "lean natural gas", "hydrogen blend 20")
NEARLY_NOTHING = 0.01       # [kg/m3]: the gas as good as ideal


def pure(component):
    return tuple(1.0 if name == component else 0.0 for name in COMPONENTS)


def aga8_density(model, composition, pressure, temperature):
    mixture = pyaga8.Composition()
    for name, share in zip(COMPONENTS, composition, strict=True):
        if share:
            setattr(mixture, NAMES[name][1], share)
    state = model()
    state.set_composition(mixture)
    state.pressure = pressure / 1000.0
    state.temperature = temperature
    state.calc_molar_mass()
    if model is pyaga8.Gerg2008:
        state.calc_density(0)
    else:
        state.calc_density()
    return state.d * state.mm


@pytest.mark.parametrize("model", [pyaga8.Gerg2008, pyaga8.Detail])
@pytest.mark.parametrize("temperature", [273.15, 288.15, 303.15])
@pytest.mark.parametrize("pressure, within", [(101325.0, 5.5e-4), (1.1e5, 5.5e-4), (4.0e5, 2.0e-3)])
@pytest.mark.parametrize("name", MIXTURES)
def test_density_of_natural_gases(name, pressure, within, temperature, model):
    ours = gas.density(fractions(name), pressure, temperature)
    assert ours == pytest.approx(aga8_density(model, fractions(name), pressure, temperature), rel=within)


@pytest.mark.parametrize("model", [pyaga8.Gerg2008, pyaga8.Detail])
@pytest.mark.parametrize("name, within", [("hydrogen", 8.5e-4), ("propane", 4e-3)])
def test_density_of_hydrogen_and_propane(name, within, model):
    for pressure in (101325.0, 1.1e5):
        for temperature in (273.15, 288.15, 303.15):
            ours = gas.density(fractions(name), pressure, temperature)
            assert ours == pytest.approx(aga8_density(model, fractions(name), pressure, temperature), rel=within)


@pytest.mark.parametrize("component, within",
                         [("CH4", 1e-4), ("C3H8", 2e-4), ("N2", 1e-4), ("CO2", 3e-4), ("H2", 8e-4)])
@pytest.mark.parametrize("pressure", [101325.0, 1.1e5])
def test_density_of_pure_gases_at_15_degc(component, within, pressure):
    theirs = coolprop.PropsSI("D", "T", 288.15, "P", pressure, NAMES[component][0])
    assert gas.density(pure(component), pressure, 288.15) == pytest.approx(theirs, rel=within)


@pytest.mark.parametrize("component", [name for name in COMPONENTS if name not in ("n-C6H14", "H2O", "neo-C5H12")])
@pytest.mark.parametrize("temperature", [273.15, 288.15, 293.15])
def test_compressibility_of_each_component(component, temperature):
    """1 - Z is the second virial coefficient's work; ISO rounds s to three or four figures, and H2's has no sign."""
    molar_volume = 8.31446261815324 * temperature / 101325.0
    virial = coolprop.PropsSI("BVIRIAL", "T", temperature, "D", NEARLY_NOTHING, NAMES[component][0])
    theirs = 1.0 + virial / molar_volume
    ours = gas.compressibility(pure(component), temperature)
    assert 1.0 - ours == pytest.approx(1.0 - theirs, rel=0.12, abs=1e-3)


MAIN = {"CH4": 0.003, "C2H6": 0.008, "C3H8": 0.009, "H2": 0.006, "N2": 0.006, "O2": 0.009, "CO2": 0.006}
TRACE = {"n-C4H10": 0.03, "i-C4H10": 0.03, "n-C5H12": 0.035, "i-C5H12": 0.04, "n-C6H14": 0.035, "H2O": 0.03}


@pytest.mark.parametrize("component", [*MAIN, *TRACE])
@pytest.mark.parametrize("temperature", [263.15, 288.15, 313.15])
def test_viscosity_of_pure_gases(component, temperature):
    theirs = coolprop.PropsSI("V", "T", temperature, "D", NEARLY_NOTHING, NAMES[component][0])
    ours = gas.viscosity(pure(component), temperature)
    assert ours == pytest.approx(theirs, rel=(MAIN | TRACE)[component])


def test_viscosity_of_air():
    """CoolProp's air has a correlation of its own; ours is mixed from nitrogen and oxygen (argon taken as oxygen)."""
    air = parse_composition("N2 0.7812, O2 0.2188")
    for temperature in (273.15, 288.15, 303.15):
        theirs = coolprop.PropsSI("V", "T", temperature, "P", 101325.0, "Air")
        assert gas.viscosity(air, temperature) == pytest.approx(theirs, rel=0.01)


# Lennard-Jones parameters, NASA TR R-132 (1962) as reprinted in POLING-2001 appendix B: sigma [0.1 nm], epsilon/k [K].
LENNARD_JONES = {"CH4": (3.758, 148.6), "C2H6": (4.443, 215.7), "C3H8": (5.118, 237.1), "n-C4H10": (4.687, 531.4),
                 "i-C4H10": (5.278, 330.1), "H2": (2.827, 59.7), "N2": (3.798, 71.4), "CO2": (3.941, 195.2)}


def kinetic_viscosity(composition, temperature):
    """First-order Chapman-Enskog viscosity of a mixture: no Wilke, no polynomial, other molecules' data.

    The system of Hirschfelder, Curtiss and Bird with A* = 1.10 and the collision integral of Neufeld (both from
    memory).
    """
    present = [(name, share) for name, share in zip(COMPONENTS, composition, strict=True) if share]
    shares = [share for _, share in present]
    masses = [1e3 * MOLAR_MASSES[COMPONENTS.index(name)] for name, _ in present]
    count = len(present)

    def pair(i, j):
        sigma_i, depth_i = LENNARD_JONES[present[i][0]]
        sigma_j, depth_j = LENNARD_JONES[present[j][0]]
        sigma = 0.5 * (sigma_i + sigma_j)
        reduced = temperature / math.sqrt(depth_i * depth_j)
        integral = (1.16145 * reduced ** -0.14874 + 0.52487 * math.exp(-0.7732 * reduced)
                    + 2.16178 * math.exp(-2.43787 * reduced))
        mass = 2.0 * masses[i] * masses[j] / (masses[i] + masses[j])
        return 2.6693e-6 * math.sqrt(mass * temperature) / (sigma * sigma * integral)

    matrix = numpy.zeros((count, count))
    for i in range(count):
        matrix[i, i] = shares[i] ** 2 / pair(i, i)
        for j in range(count):
            if i != j:
                common = (2.0 * shares[i] * shares[j] / pair(i, j) * masses[i] * masses[j]
                          / (masses[i] + masses[j]) ** 2)
                matrix[i, i] += common * (5.0 / (3.0 * 1.10) + masses[j] / masses[i])
                matrix[i, j] = -common * (5.0 / (3.0 * 1.10) - 1.0)
    return float(numpy.array(shares) @ numpy.linalg.solve(matrix, numpy.array(shares)))


@pytest.mark.parametrize("text, within", [
    ("CH4 0.95, C2H6 0.05", 0.012), ("CH4 0.9, N2 0.1", 0.012), ("CH4 0.8, H2 0.2", 0.012),
    ("CH4 0.925, C2H6 0.045, C3H8 0.010, n-C4H10 0.002, i-C4H10 0.001, N2 0.012, CO2 0.005", 0.012),
    ("CH4 0.740, C2H6 0.036, C3H8 0.008, n-C4H10 0.0016, i-C4H10 0.0008, H2 0.2, N2 0.0096, CO2 0.004", 0.012),
    ("CH4 0.5, H2 0.5", 0.025), ("CH4 0.2, H2 0.8", 0.035)])
@pytest.mark.parametrize("temperature", [273.15, 288.15, 303.15])
def test_viscosity_of_mixtures_by_kinetic_theory(text, within, temperature):
    """Wilke's rule reads high where hydrogen prevails: 3 % at four fifths."""
    composition = parse_composition(text)
    ours = gas.viscosity(composition, temperature)
    assert ours == pytest.approx(kinetic_viscosity(composition, temperature), rel=within)


@pytest.mark.parametrize("component", COMPONENTS)
@pytest.mark.parametrize("temperature", [253.15, 273.15, 288.15, 303.15, 323.15])
def test_heat_ratio_of_ideal_gases(component, temperature):
    molar = coolprop.PropsSI("CP0MOLAR", "T", temperature, "D", NEARLY_NOTHING, NAMES[component][0])
    capacity = molar / 8.31446261815324
    assert gas.heat_ratio(pure(component), temperature) == pytest.approx(capacity / (capacity - 1.0), rel=2e-3)


@pytest.mark.parametrize("component", ["CH4", "C2H6", "C3H8", "H2", "N2", "O2", "CO2", "CO"])
def test_heat_ratio_of_real_gases_at_15_degc(component):
    """The gas in the pipe is not quite ideal: the real ratio is higher, by under 1 %."""
    real = (coolprop.PropsSI("CPMOLAR", "T", 288.15, "P", 101325.0, NAMES[component][0])
            / coolprop.PropsSI("CVMOLAR", "T", 288.15, "P", 101325.0, NAMES[component][0]))
    assert gas.heat_ratio(pure(component), 288.15) == pytest.approx(real, rel=0.01)


def test_calorific_values_from_heats_of_formation():
    """Hess's law with heats of formation at 25 degC (CODATA 1989 and textbook values, from memory), kJ/mol."""
    formation = {"CH4": -74.6, "C2H6": -84.0, "C3H8": -103.8, "H2": 0.0, "CO": -110.53}
    atoms = {"CH4": (1, 4), "C2H6": (2, 6), "C3H8": (3, 8), "H2": (0, 2), "CO": (1, 0)}
    for component, own in formation.items():
        carbon, hydrogen = atoms[component]
        gross = own + 393.51 * carbon + 285.83 * hydrogen / 2
        net = own + 393.51 * carbon + 241.826 * hydrogen / 2
        ours = gas.gross_calorific_value_molar(pure(component), 298.15)
        assert ours == pytest.approx(1e3 * gross, rel=5e-4), component
        assert gas.net_calorific_value_molar(pure(component), 298.15) == pytest.approx(1e3 * net, rel=5e-4), component


def test_le_chatelier_as_in_the_bureau_of_mines_example():
    """Natural gas of 80 % methane, 15 % ethane, 4 % propane, 1 % butane, whose limits were then taken as 5.3, 3.22,
    2.37 and 1.86 %: 4.55 %. US Bureau of Mines, Bulletin 503 (1952), from memory."""
    composition = parse_composition("CH4 0.80, C2H6 0.15, C3H8 0.04, n-C4H10 0.01")
    limits = (0.053, 0.0322, 0.0237, 0.0186) + (0.0,) * 11
    assert 100.0 * gas._le_chatelier(composition, limits) == pytest.approx(4.55, abs=0.005)


def test_every_reference_mixture_is_let_through():
    for name in (*MIXTURES, "hydrogen", "propane"):
        assert gas.density_refusal(fractions(name), 101325.0, 288.15) == OK
