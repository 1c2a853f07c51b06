"""The gas in the plan: named gases, ISO 6976, and what a fifth of hydrogen changes all the way down."""

import math

import CoolProp.CoolProp as coolprop
import pyaga8
import pytest
from variants import faults_of, made, silent, told

from stillbore.job.survey import GASES
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, NOTE
from stillbore.tables import gas_mixtures

NAMED = ("natural gas", "lean natural gas", "methane", "hydrogen blend 20", "hydrogen", "propane")
AGA8 = {"CH4": "methane", "C2H6": "ethane", "C3H8": "propane", "n-C4H10": "n_butane", "i-C4H10": "isobutane",
        "H2": "hydrogen", "N2": "nitrogen", "CO2": "carbon_dioxide"}
COOLPROP = {"methane": "Methane", "hydrogen": "Hydrogen", "propane": "Propane"}
R = 8.31446261815324


def of(name, composition=None):
    """The plan of the example with another gas, by name alone unless a composition is given."""
    return made(survey={"gas.name": f'"{name}"', "gas.composition": f'"{composition}"' if composition else None})


def value(found, name):
    return found.numbers[name].node.value


def aga8(text, pressure, temperature):
    """Molar mass [kg/mol], density [kg/m3] and Z by GERG-2008."""
    mixture = pyaga8.Composition()
    for part in text.split(","):
        component, share = part.split()
        setattr(mixture, AGA8[component], float(share))
    state = pyaga8.Gerg2008()
    state.set_composition(mixture)
    state.pressure, state.temperature = pressure / 1000.0, temperature
    state.calc_molar_mass()
    state.calc_density(0)
    return state.mm / 1000.0, state.d * state.mm, pressure / 1000.0 / (state.d * R * temperature)


def test_every_named_gas_of_the_issue_can_be_written_in_a_survey():
    assert set(NAMED) <= set(GASES)
    assert {row[0] for row in gas_mixtures.TABLE.rows} == set(NAMED)


@pytest.mark.parametrize("name", NAMED)
def test_a_name_alone_chooses_the_composition_and_the_plan_says_so(name):
    found = of(name)
    fact = found.numbers["gas.composition"].node
    assert fact.how == "table" and fact.source == "COMMON-PRACTICE"
    assert fact.composition == gas_mixtures.fractions(name)
    assert told(found, "no analysis of the gas", name).level == NOTE


def test_an_analysis_ranks_above_the_table():
    found = of("natural gas", "CH4 0.9, C2H6 0.1")
    assert found.numbers["gas.composition"].node.composition[:2] == (0.9, 0.1)
    assert silent(found, "no analysis of the gas")


def test_a_blend_of_unknown_share_needs_its_analysis():
    [fault] = faults_of(survey={"gas.name": '"natural gas with hydrogen"', "gas.composition": None})
    assert "does not say how much of what" in fault.what


@pytest.mark.parametrize("name", NAMED)
def test_molar_mass_compressibility_and_density_against_gerg_2008(name):
    """ISO 6976 at its reference conditions; GERG-2008 by pyaga8. Hydrogen's Z is above one, and the standard's square
    cannot be: 0.07 %."""
    found = of(name)
    mass, density, compression = aga8(gas_mixtures.text(name), 101325.0, 288.15)
    assert value(found, "gas.molar_mass") == pytest.approx(mass, rel=1e-4)
    assert value(found, "gas.compressibility") == pytest.approx(compression, abs=7.5e-4 if name == "hydrogen" else 4e-4)
    assert value(found, "gas.density") == pytest.approx(density, rel=1e-3)
    air = 1.22541  # kg/m3 at 15 degC, ISO 6976
    assert value(found, "gas.relative_density") == pytest.approx(density / air, rel=1e-3)


@pytest.mark.parametrize("name, digits", [
    # check values 4.2: ISO 6976:2016 at 15/15 degC, worked out apart from this program.
    ("methane", {"gross": 37.779107, "net": 34.013443, "relative_density": 0.554723, "density": 0.679824,
                 "wobbe_gross": 50.724008}),
    # From the component table of the standard alone: H / (Z R T / p), Z = 1 - s^2.
    ("hydrogen", {"gross": 286.15 / (R * 288.15 / 101325 * (1 - 0.01**2)) / 1e3,
                  "net": (286.15 - 44.431) / (R * 288.15 / 101325 * (1 - 0.01**2)) / 1e3}),
    ("propane", {"gross": 2221.10 / (R * 288.15 / 101325 * (1 - 0.1344**2)) / 1e3,
                 "net": (2221.10 - 4 * 44.431) / (R * 288.15 / 101325 * (1 - 0.1344**2)) / 1e3})])
def test_calorific_values_and_wobbe_indices_by_iso_6976(name, digits):
    found = of(name)
    scale = {"gross": 1e6, "net": 1e6, "wobbe_gross": 1e6}
    for key, printed in digits.items():
        assert value(found, f"gas.{key}") == pytest.approx(printed * scale.get(key, 1.0), rel=1e-5), key


def test_the_annex_d_example_of_iso_6976_all_the_way_into_the_plan():
    """Annex D example 1, 15/15 degC: printed 17.3884301, 0.99776224, 38.410611."""
    found = of("natural gas", "CH4 0.933212, C2H6 0.025656, C3H8 0.015368, N2 0.010350, CO2 0.015414")
    assert value(found, "gas.molar_mass") * 1e3 == pytest.approx(17.3884301, abs=5e-8)
    assert value(found, "gas.compressibility") == pytest.approx(0.99776224, abs=5e-9)
    assert value(found, "gas.gross") / 1e6 == pytest.approx(38.410611, abs=5e-7)
    assert value(found, "gas.wobbe_gross") / 1e6 == pytest.approx(49.529363, abs=5e-6)  # check values 4.2, computed


def of_coolprop(name, key, kelvin):
    return coolprop.PropsSI(key, "T", kelvin, "P", 101325.0, COOLPROP[name])


@pytest.mark.parametrize("name", COOLPROP)
def test_viscosity_and_heat_ratio_of_the_pure_gases_against_coolprop(name):
    """The ground of the example has 9 to 12 degC; the viscosity rises with it, the heat ratio falls.
    CoolProp's propane is real and ours ideal, which is 1 %."""
    found, cold, warm = of(name), 282.15, 285.15
    viscosity, heat_ratio = (found.numbers[f"gas.{key}"].node for key in ("viscosity", "heat_ratio"))
    for end, kelvin in ((viscosity.low, cold), (viscosity.high, warm)):
        assert end == pytest.approx(of_coolprop(name, "V", kelvin), rel=0.012)
    for end, kelvin in ((heat_ratio.high, cold), (heat_ratio.low, warm)):
        theirs = of_coolprop(name, "CPMOLAR", kelvin) / of_coolprop(name, "CVMOLAR", kelvin)
        assert end == pytest.approx(theirs, rel=0.011)


@pytest.mark.parametrize("name, percent", [("methane", 4.4), ("hydrogen", 4.0), ("propane", 1.7),
                                           ("hydrogen blend 20", 4.3)])
def test_flammable_limits_with_their_basis(name, percent):
    """IEC 60079-20-1 (check values 4.4); the blend by trade.md C31, to its two figures and the ethane in ours."""
    found = of(name)
    assert value(found, "gas.flammable_limit") * 100 == pytest.approx(percent, abs=1e-9 if percent != 4.3 else 0.15)
    assert "IEC basis (methane 4.4 %)" in found.numbers["gas.flammable_limit"].title
    told(found, "Every share of the flammable limit", "Older practice puts methane at 5.0 %")


# A fifth of hydrogen: flow, drop, limits. trade.md C31 has methane in mind, and so have these.

PLAIN, BLEND = "CH4 1", "CH4 0.8, H2 0.2"


@pytest.fixture(scope="module")
def plain():
    return of("natural gas", PLAIN)


@pytest.fixture(scope="module")
def blend():
    return of("natural gas with hydrogen", BLEND)


def ratio(blend, plain, name, end="high"):
    return getattr(blend.numbers[name].node, end) / getattr(plain.numbers[name].node, end)


def test_a_fifth_of_hydrogen_changes_the_gas_as_the_trade_has_it(blend, plain):
    """trade.md C31: limit 4.3 %, density 0.82 of it, calorific value 34.2 for 39.5."""
    assert value(blend, "gas.flammable_limit") * 100 == pytest.approx(4.3, abs=0.05)
    assert ratio(blend, plain, "gas.density") == pytest.approx(0.82, abs=0.01)
    assert ratio(blend, plain, "gas.gross") == pytest.approx(34.2 / 39.5, abs=0.01)


def test_a_fifth_of_hydrogen_takes_more_flow_for_the_same_heat_and_more_drop(blend, plain):
    """trade.md C31: flow + 16 %, drop + 10 %."""
    assert ratio(blend, plain, "renewal.load") == pytest.approx(1.16, abs=0.01)
    drops = [name for name in plain.numbers if name.startswith("renewal.pe_") and name.endswith(".drop")]
    assert drops
    for name in drops:
        assert 1.06 < ratio(blend, plain, name) < 1.14, name


def test_in_the_wide_old_pipe_the_drop_rises_with_the_flow_alone(blend, plain):
    """It flows laminar, below a Reynolds number of 2000: by HAGEN-POISEUILLE the drop in the pipe goes with viscosity
    and flow. What is lost at the fittings goes with density and the square of the flow; the sum lies between."""
    bore, load = plain.numbers["pipe.bore"].node.low, plain.numbers["renewal.load"].node.high
    speed = load / (math.pi / 4 * bore**2)
    # At the ground's 9 degC the gas flows slower than as it is metered, at 15 degC.
    assert speed * bore * value(plain, "gas.density") / plain.numbers["gas.viscosity"].node.low < 2000.0
    flow = ratio(blend, plain, "renewal.load")
    pipe, fittings = flow * ratio(blend, plain, "gas.viscosity"), flow**2 * ratio(blend, plain, "gas.density")
    assert fittings < ratio(blend, plain, "renewal.old.drop") < pipe


def test_a_fifth_of_hydrogen_comes_out_faster(blend, plain):
    """trade.md C31: open and let-by flow + 10 %."""
    for name in ("if_it_goes_wrong.open_end", "if_it_goes_wrong.hole"):
        assert ratio(blend, plain, name) == pytest.approx(1.10, abs=0.02)
    assert (blend.numbers["pit_air.cut_end.time_to_out"].node.low
            < 0.92 * plain.numbers["pit_air.cut_end.time_to_out"].node.low)


def test_a_fifth_of_hydrogen_halves_the_bond_limit_and_asks_for_other_detectors(blend, plain):
    """trade.md C30, C31: 1 A for natural gas, 0.5 A with hydrogen; spark energy 0.28 and 0.017 mJ."""
    assert (value(plain, "bond.current_limit"), value(blend, "bond.current_limit")) == (1.0, 0.5)
    assert value(plain, "bond.ignition_energy") == pytest.approx(0.28e-3)
    assert value(blend, "bond.ignition_energy") == pytest.approx(0.017e-3)
    assert told(blend, "Infra-red and laser detectors do not see it").level == ENGINEER
    assert told(blend, "the kit is approved for natural gas only").level == DOES_NOT_APPLY
    assert silent(plain, "Infra-red")


def test_a_named_blend_counts_as_natural_gas_with_hydrogen_for_the_kit():
    approved = {"kit.approved_gases": '["natural gas with hydrogen"]'}
    found = made(survey={"gas.name": '"hydrogen blend 20"', "gas.composition": None}, kit=approved)
    assert silent(found, "the kit is approved for")
    refused = made(survey={"gas.name": '"lean natural gas"', "gas.composition": None}, kit=approved)
    assert told(refused, "lean natural gas; the kit is approved").level == DOES_NOT_APPLY
    assert silent(of("lean natural gas"), "the kit is approved for")


def test_pure_hydrogen_rushes_out_nearly_three_times_as_fast():
    """trade.md C31: 157 against 54 m3/h out of ten metres of 1 inch at 45 mbar; ours at the example's own pressure."""
    hydrogen, methane = of("hydrogen"), of("methane")
    assert 2.5 < ratio(hydrogen, methane, "if_it_goes_wrong.open_end") < 3.1
    assert math.isclose(value(hydrogen, "release.methane"), 0.0)
    told(hydrogen, "Only the CH4 of the gas is reckoned as warming")
