"""The contract of docs/physics.md, enforced: docstrings, sources, refusals, the subset of Python, directions."""

import ast
import inspect
import math
import random
from pathlib import Path

import pytest

from stillbore import physics
from stillbore.formulas import PLUMBING, formula, functions, read_formula
from stillbore.physics.refusals import OK, REFUSALS
from stillbore.sources import SOURCES
from stillbore.units import UNITS

PHYSICS = Path(physics.__file__).parent
ALLOWED_IMPORTS = ("math", "typing", "collections.abc", "stillbore.physics", "stillbore.tables")
FORBIDDEN = (ast.Try, ast.JoinedStr, ast.Global, ast.Nonlocal, ast.With, ast.Dict, ast.DictComp, ast.Lambda)


def contract_faults(name, function, refusal, sources):
    """What a physics function breaks of its contract, as sentences."""
    try:
        entry = read_formula(name, function, refusal)
    except ValueError as error:
        return [str(error)]
    faults = []
    parameters = inspect.signature(function).parameters
    if list(parameters) != [argument.name for argument in entry.arguments]:
        faults.append(f"{name}: documented arguments {[a.name for a in entry.arguments]}, signature {list(parameters)}")
    for argument in entry.arguments:
        if argument.unit not in UNITS:
            faults.append(f"{name}: unit [{argument.unit}] of {argument.name} is not in units.UNITS")
        if not argument.direction and argument.unit != "mole fractions":
            faults.append(f"{name}: {argument.name} does not say rises, falls or turns")
    for result, _, unit in entry.results:
        if unit not in UNITS:
            faults.append(f"{name}: unit [{unit}] of result {result} is not in units.UNITS")
    if not entry.sources:
        faults.append(f"{name}: no source key")
    faults += [f"{name}: source {key} is not in sources.SOURCES" for key in entry.sources if key not in sources]
    if refusal is not None and list(inspect.signature(refusal).parameters) != list(parameters):
        faults.append(f"{name}: the refusal takes other parameters")
    return faults


@pytest.mark.parametrize("name", sorted(functions()))
def test_a_physics_function_keeps_the_contract(name):
    function, refusal = functions()[name]
    assert contract_faults(name, function, refusal, SOURCES) == []


def test_the_contract_checker_can_fail():
    def bad(wall, bore):
        """No good.

        Formula:  x = y

        Args:
            wall: wall thickness [furlong], rises
            saw: saw [m]
        Returns:
            x: nothing [m]
        Source: NO-SUCH-KEY
        """

    found = contract_faults("bad", bad, None, SOURCES)
    assert len(found) == 4


@pytest.mark.parametrize("path", sorted(PHYSICS.glob("*.py")), ids=lambda path: path.stem)
def test_physics_stays_within_the_subset(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            assert all(alias.name in ALLOWED_IMPORTS for alias in node.names), f"{path.name}:{node.lineno}"
        if isinstance(node, ast.ImportFrom):
            assert (node.module or "").startswith(ALLOWED_IMPORTS), f"{path.name}:{node.lineno}"
        assert not (isinstance(node, FORBIDDEN) and path.stem != "refusals"), (
            f"{path.name}:{node.lineno}: {type(node).__name__}")
        if isinstance(node, ast.FunctionDef):
            assert not node.args.kwonlyargs, f"{path.name}:{node.lineno}: keyword-only"


def test_every_refusal_function_has_its_formula():
    for name in functions():
        module, _, short = name.partition(".")
        assert module not in PLUMBING and short


def test_codes_and_sentences_match_one_to_one():
    from stillbore.physics import refusals

    codes = {value for key, value in vars(refusals).items() if key.isupper() and isinstance(value, int)} - {OK}
    assert codes == set(REFUSALS)
    assert len(set(REFUSALS.values())) == len(REFUSALS)


# Plausible spans in SI, by argument name first, then by unit; add a name here when its unit's span is too wide.
NAME_SPANS = {"outside_diameter": (0.02, 0.07), "wall": (1.5e-3, 6e-3), "saw_diameter": (0.01, 0.05),
              "off_centre": (0.0, 3e-3), "kerf": (5e-4, 3e-3),
              "pilot_diameter": (3e-3, 8e-3), "pilot_lead": (3e-3, 0.015), "run_out": (0.0, 1e-3),
              "depth": (0.0, 0.04), "feed": (0.0, 0.04), "turns": (0.0, 40.0), "screw_pitch": (5e-4, 3e-3),
              "backlash": (0.0, 1e-3), "point_angle": (1.5, 2.5), "thread_pitch": (1e-3, 3e-3),
              "section_modulus": (1e-7, 5e-6), "bending_moment": (0.0, 500.0), "weight_per_length": (0.0, 100.0),
              "reynolds_number": (100.0, 1e5), "relative_roughness": (0.0, 0.05), "roughness": (1e-6, 5e-4),
              "bore": (0.011, 0.06), "length": (0.2, 50.0), "loss_coefficient": (0.0, 5.0), "viscosity": (8e-6, 2e-5),
              "pressure_drop": (0.01, 5e3), "gauge_pressure": (100.0, 1e4), "heat_ratio": (1.05, 1.67),
              "compressibility": (0.8, 1.1), "discharge_coefficient": (0.3, 0.97), "hole_diameter": (1e-4, 0.03),
              "relative_density": (0.07, 2.0), "fraction_limit": (1e-3, 0.9), "air_changes": (0.0, 0.02),
              "mixing_factor": (0.05, 0.98), "pit_volume": (0.1, 5.0), "mach": (1e-3, 0.98),
              "dimension_ratio": (2.5, 30.0), "dwellings": (1.0, 60.0), "floor": (0.0, 1.0)}
UNIT_SPANS = {"m": (1e-4, 0.2), "Pa gauge": (100.0, 3e5), "Pa abs": (9e4, 4e5), "Pa": (1.0, 4e8), "K": (260.0, 320.0),
              "m3": (1e-5, 2.0), "m3/s": (1e-9, 0.05), "s": (0.1, 1e4), "N": (0.1, 1e3), "kg/m3": (0.05, 8000.0),
              "Pa s": (5e-6, 2e-5), "kg/mol": (2e-3, 0.06)}


def sample_values(entry, draw):
    """Arguments in plausible ranges for their names and units, as floats in SI."""
    return {argument.name: draw.uniform(*NAME_SPANS.get(argument.name, UNIT_SPANS.get(argument.unit, (1e-3, 2.0))))
            for argument in entry.arguments}


@pytest.mark.parametrize("name", sorted(name for name in functions()))
def test_what_the_refusal_lets_through_is_finite_and_moves_as_declared(name):
    """Random arguments: no exception, a finite value, and each declared direction holds for a small step."""
    entry = formula(name)
    if any(argument.unit == "mole fractions" for argument in entry.arguments):
        return  # compositions have their own property test in test_gas_compositions.py
    draw = random.Random(name)
    accepted = 0
    for _ in range(2000):
        values = sample_values(entry, draw)
        if entry.refusal is not None and entry.refusal(**values) != OK:
            continue
        accepted += 1
        if accepted > 100:
            break
        before = first(entry.function(**values))
        assert isinstance(before, (float, int)) and math.isfinite(before), values
        for argument in entry.arguments:
            if argument.direction not in ("rises", "falls"):
                continue
            moved = dict(values)
            moved[argument.name] *= 1.02
            if entry.refusal is not None and entry.refusal(**moved) != OK:
                continue
            after = first(entry.function(**moved))
            slack = 1e-9 * max(abs(before), abs(after))
            assert after >= before - slack if argument.direction == "rises" else after <= before + slack, (
                f"{argument.name} is declared to make {name} {argument.direction[:-1]}: {values}, {before} -> {after}")
    assert accepted >= 20, f"only {accepted} of 2000 random argument sets were let through"


def first(result):
    return result[0] if isinstance(result, tuple) else result


@pytest.mark.parametrize("name", sorted(name for name in functions()))
def test_nan_and_infinity_are_refused(name):
    entry = formula(name)
    if entry.refusal is None:
        return

    for bad in (math.nan, math.inf, -math.inf):
        for argument in entry.arguments:
            values = sample_values(entry, random.Random(name))
            for other in entry.arguments:
                if other.unit == "mole fractions":
                    values[other.name] = (1.0,) + (0.0,) * 14
            values[argument.name] = (bad,) + (0.0,) * 14 if argument.unit == "mole fractions" else bad
            assert entry.refusal(**values) != OK, (argument.name, bad)
