"""Compositions at random: what the refusals let through is finite, moves as declared and keeps what must be kept."""

import inspect
import math
import random

import pytest

from stillbore.formulas import evaluate, formula, functions
from stillbore.physics import gas
from stillbore.physics.refusals import NEVER_REACHED, NOT_COMPOSITION, NOT_FINITE, NOT_POSITIVE, OK, OUT_OF_RANGE
from stillbore.tables import flammability, gas_heat_capacity, gas_mixtures, gas_viscosity, iso6976_components
from stillbore.tables.iso6976_reference import COMBUSTION_TEMPERATURES, METERING_TEMPERATURES
from stillbore.units import COMPONENTS

WITH_COMPOSITION = sorted(name for name in functions()
                          if any(argument.unit == "mole fractions" for argument in formula(name).arguments))
OF_GAS = [name for name in WITH_COMPOSITION if name.startswith("gas.")]
METHANE = (1.0,) + (0.0,) * 14


def random_composition(draw):
    """From one to fifteen components, traces and halves alike."""
    weights = [draw.random() ** draw.choice((1, 4, 12)) if draw.random() < 0.5 else 0.0 for _ in COMPONENTS]
    weights[draw.randrange(len(COMPONENTS))] += 1.0
    return tuple(weight / sum(weights) for weight in weights)


def random_value(name, draw):
    return {"fractions": lambda: random_composition(draw),
            "combustion_temperature": lambda: draw.choice(COMBUSTION_TEMPERATURES),
            "reference_temperature": lambda: draw.choice(METERING_TEMPERATURES),
            "pressure": lambda: draw.uniform(1e3, 4e5),
            "temperature": lambda: draw.uniform(250.0, 325.0)}[name]()


def next_step(name, value):
    """A greater value of a scalar: the next one tabulated, or two per cent more."""
    tabulated = {"combustion_temperature": COMBUSTION_TEMPERATURES,
                 "reference_temperature": METERING_TEMPERATURES}.get(name)
    if tabulated is None:
        return 1.02 * value
    return tabulated[min(tabulated.index(value) + 1, len(tabulated) - 1)]


@pytest.mark.parametrize("name", OF_GAS)
def test_random_compositions_give_finite_values_that_move_as_declared(name):
    entry = formula(name)
    draw = random.Random(name)
    accepted = 0
    for _ in range(3000):
        values = {argument.name: random_value(argument.name, draw) for argument in entry.arguments}
        if entry.refusal(**values) != OK:
            continue
        accepted += 1
        before = entry.function(**values)
        assert isinstance(before, float) and math.isfinite(before), values
        for argument in entry.arguments:
            if argument.direction not in ("rises", "falls"):
                continue
            moved = dict(values)
            moved[argument.name] = next_step(argument.name, values[argument.name])
            if entry.refusal(**moved) != OK:
                continue
            after = entry.function(**moved)
            slack = 1e-9 * abs(before)
            assert after >= before - slack if argument.direction == "rises" else after <= before + slack, (
                f"{argument.name} is declared to make {name} {argument.direction[:-1]}: {values}")
    assert accepted > 1000


@pytest.mark.parametrize("name", OF_GAS)
def test_an_argument_that_turns_is_seen_to_move_both_ways(name):
    """A direction must not be withheld where there is one: 'turns' is shown by an example each way."""
    entry = formula(name)
    draw = random.Random(name)
    for argument in entry.arguments:
        if argument.direction != "turns":
            continue
        up = down = False
        for _ in range(20000):
            values = {each.name: random_value(each.name, draw) for each in entry.arguments}
            if draw.random() < 0.3:     # carbon monoxide, nitrogen and hydrogen among themselves are the odd ones
                shares = [draw.random() if each in ("CO", "N2", "H2") else 0.0 for each in COMPONENTS]
                values["fractions"] = tuple(share / sum(shares) for share in shares)
            moved = dict(values)
            moved[argument.name] = next_step(argument.name, values[argument.name])
            if entry.refusal(**values) != OK or entry.refusal(**moved) != OK:
                continue
            change = entry.function(**moved) - entry.function(**values)
            up |= change > 0.0
            down |= change < 0.0
            if up and down:
                break
        assert up and down, f"{name}: {argument.name} moves one way only"


@pytest.mark.parametrize("name", OF_GAS)
@pytest.mark.parametrize("fractions, code", [
    ((0.5,) + (0.0,) * 14, NOT_COMPOSITION),
    ((1.1, -0.1) + (0.0,) * 13, NOT_COMPOSITION),
    ((1.0, 0.01) + (0.0,) * 13, NOT_COMPOSITION),
    ((1.0,), NOT_COMPOSITION),
    ((), NOT_COMPOSITION),
    (METHANE + (0.0,), NOT_COMPOSITION),
    ((math.nan,) + (0.0,) * 14, NOT_FINITE),
    ((math.inf, -math.inf) + (0.0,) * 13, NOT_FINITE),
])
def test_what_is_no_composition_is_refused(name, fractions, code):
    entry = formula(name)
    draw = random.Random(0)
    values = {argument.name: random_value(argument.name, draw) for argument in entry.arguments}
    assert entry.refusal(**(values | {"fractions": fractions})) == code


@pytest.mark.parametrize("name", OF_GAS)
def test_not_a_number_and_infinity_are_refused_with_everything_else_in_order(name):
    entry = formula(name)
    draw = random.Random(0)
    for argument in entry.arguments:
        for bad in (math.nan, math.inf, -math.inf):
            values = {each.name: random_value(each.name, draw) for each in entry.arguments} | {"fractions": METHANE}
            assert entry.refusal(**values) == OK
            values[argument.name] = (bad,) + (0.0,) * 14 if argument.name == "fractions" else bad
            assert entry.refusal(**values) == NOT_FINITE


def test_the_domains_end_where_they_say():
    assert gas.compressibility_refusal(METHANE, 288.16) == OUT_OF_RANGE         # not a tabulated temperature
    assert gas.compressibility_refusal(METHANE, 298.15) == OUT_OF_RANGE         # 25 degC is for combustion only
    assert gas.gross_calorific_value_molar_refusal(METHANE, 298.15) == OK
    assert gas.compressibility_refusal(METHANE, (60.0 + 459.67) * 5.0 / 9.0) == OK     # 60 degF
    hexane = tuple(1.0 if name == "n-C6H14" else 0.0 for name in COMPONENTS)
    assert gas.compressibility_refusal(hexane, 273.15) == OUT_OF_RANGE          # Z below 0.9: not a gas any more
    assert gas.density_refusal(hexane, 2e5, 288.15) == OUT_OF_RANGE
    assert gas.density_refusal(METHANE, 4.1e5, 288.15) == OUT_OF_RANGE
    assert gas.density_refusal(METHANE, 0.0, 288.15) == NOT_POSITIVE
    for refusal in (gas.viscosity_refusal, gas.heat_ratio_refusal):
        assert [refusal(METHANE, each) for each in (249.9, 250.0, 325.0, 325.1, -1.0)] == [
            OUT_OF_RANGE, OK, OK, OUT_OF_RANGE, NOT_POSITIVE]


def test_a_gas_that_never_burns_has_no_flammable_limit():
    nitrogen = tuple(1.0 if name == "N2" else 0.0 for name in COMPONENTS)
    nearly = tuple({"N2": 0.97, "CH4": 0.03}.get(name, 0.0) for name in COMPONENTS)
    assert gas.lower_flammable_limit_refusal(nitrogen) == NEVER_REACHED
    assert gas.lower_flammable_limit_refusal(nearly) == NEVER_REACHED


def test_a_mixture_lies_between_its_components_and_a_pure_gas_is_itself():
    draw = random.Random(1)
    singles = [tuple(1.0 if name == own else 0.0 for name in COMPONENTS) for own in COMPONENTS]
    for own, single in enumerate(singles):
        assert gas.molar_mass(single) == iso6976_components.MOLAR_MASSES[own]
    for _ in range(300):
        mixture = random_composition(draw)
        present = [single for single, share in zip(singles, mixture, strict=True) if share > 0.0]
        for function in (gas.molar_mass, lambda each: gas.heat_ratio(each, 288.15),
                         lambda each: gas.gross_calorific_value_molar(each, 288.15)):
            values = [function(single) for single in present]
            assert min(values) * (1 - 1e-12) <= function(mixture) <= max(values) * (1 + 1e-12)


def test_inert_gas_dilutes_the_flammable_limit_in_proportion():
    lean = tuple({"CH4": 0.5, "N2": 0.3, "CO2": 0.2}.get(name, 0.0) for name in COMPONENTS)
    assert gas.lower_flammable_limit(lean) == pytest.approx(2.0 * gas.lower_flammable_limit(METHANE), rel=1e-12)


def test_net_is_below_gross_by_the_water_that_is_formed():
    draw = random.Random(2)
    for _ in range(200):
        mixture = random_composition(draw)
        gross = gas.gross_calorific_value_molar(mixture, 288.15)
        water = sum(share * atoms / 2 for share, atoms in zip(mixture, iso6976_components.HYDROGEN_ATOMS, strict=True))
        assert gross - gas.net_calorific_value_molar(mixture, 288.15) == pytest.approx(44431.0 * water, abs=1e-6)


@pytest.mark.parametrize("module", [iso6976_components, gas_viscosity, gas_heat_capacity, flammability])
def test_the_component_tables_stand_in_the_order_of_the_components(module):
    assert tuple(row[0] for row in module.TABLE.rows) == COMPONENTS


def test_molar_masses_follow_from_the_formulas_of_the_molecules():
    """Atomic masses of ISO 6976:2016: C 12.0107, H 1.00794, N 14.0067, O 15.9994."""
    carbon = (1, 2, 3, 4, 4, 5, 5, 5, 6, 0, 1, 0, 0, 1, 0)
    nitrogen = (0,) * 11 + (2, 0, 0, 0)
    oxygen = (0,) * 10 + (1, 0, 2, 2, 1)
    for index in range(len(COMPONENTS)):
        mass = (12.0107 * carbon[index] + 1.00794 * iso6976_components.HYDROGEN_ATOMS[index]
                + 14.0067 * nitrogen[index] + 15.9994 * oxygen[index])
        assert 1e3 * iso6976_components.MOLAR_MASSES[index] == pytest.approx(mass, abs=1e-9)


@pytest.mark.parametrize("row", gas_mixtures.TABLE.rows, ids=lambda row: row[0])
def test_named_gases_are_whole_and_can_be_worked_with(row):
    composition = gas_mixtures.fractions(row[0])
    assert sum(composition) == pytest.approx(1.0, abs=1e-12)
    for name in OF_GAS:
        entry = formula(name)
        values = {"fractions": composition, "combustion_temperature": 288.15, "reference_temperature": 288.15,
                  "pressure": 101325.0, "temperature": 283.15}
        assert evaluate(entry, {each: values[each] for each in inspect.signature(entry.function).parameters}) > 0.0


def test_the_hydrogen_blend_is_four_fifths_of_the_natural_gas():
    base = gas_mixtures.fractions("natural gas")
    blend = gas_mixtures.fractions("hydrogen blend 20")
    for component, share, blended in zip(COMPONENTS, base, blend, strict=True):
        assert blended == pytest.approx(0.8 * share + (0.2 if component == "H2" else 0.0), abs=1e-12)
