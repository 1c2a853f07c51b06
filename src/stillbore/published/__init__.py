"""The ledger: what each physics function is checked against, value by value, as printed.

``<module>.toml`` holds what the physics module it is named after is checked against. A ``[[case]]``: a function, its
inputs, the printed answer, the source and where in it. The tolerance is half the last printed digit, unless the case
says ``widen`` (a factor on it, with ``because``). A case that is known to disagree says ``differs`` (our value) and
``because``, and the disagreement going away is a failure.
A ``[[reference]]``: a check against a library, solids or quadrature that lives in tests/reference/.
They stand in the package so that ``stillbore calc`` can say what a formula was checked against, anywhere.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files

from stillbore.formulas import call_with_text
from stillbore.units import UNITS, to_unit

STATUSES = ("found", "from memory", "computed", "common practice")


@dataclass(frozen=True)
class Case:
    """One published value. ``unit`` is the unit of ``printed``; ``field`` picks one of several results."""

    function: str
    source: str
    where: str
    status: str
    given: dict[str, str]
    printed: str
    unit: str
    field: str = ""
    widen: float = 1.0
    differs: str = ""
    because: str = ""


@dataclass(frozen=True)
class Reference:
    """A check against an independent computation: ``against`` what, within ``within``, in test ``test``."""

    function: str
    against: str
    within: str
    test: str


@dataclass(frozen=True)
class Row:
    """A line of the ledger: the case, our value in the printed unit, and whether it agrees."""

    case: Case
    ours: float
    agrees: bool


def half_last_digit(printed: str) -> float:
    """Half a unit of the last printed digit: the tolerance that a printed number carries."""
    return float(Decimal(1).scaleb(int(Decimal(printed).as_tuple().exponent))) / 2


def agrees(computed: float, printed: str, widen: float = 1.0) -> bool:
    """Whether a computed value rounds to the printed one (within ``widen`` times half its last digit)."""
    return abs(computed - float(printed)) <= widen * half_last_digit(printed) * (1 + 1e-9)


@cache
def _files() -> tuple[dict[str, list[dict[str, object]]], ...]:
    paths = sorted((path for path in files(__name__).iterdir() if path.name.endswith(".toml")), key=lambda p: p.name)
    return tuple(tomllib.loads(path.read_text(encoding="utf-8")) for path in paths)


@cache
def cases() -> tuple[Case, ...]:
    """Every published case, in file order."""
    return tuple(Case(**entry) for content in _files() for entry in content.get("case", ()))


@cache
def references() -> tuple[Reference, ...]:
    """Every reference check."""
    return tuple(Reference(**entry) for content in _files() for entry in content.get("reference", ()))


def row(case: Case) -> Row:
    """Work a case: our value in the printed unit."""
    entry, _, result = call_with_text(case.function, case.given)
    unit = entry.unit
    if case.field:
        unit = next(unit for name, _, unit in entry.results if name == case.field)
        result = getattr(result, case.field)
    assert case.unit in UNITS[unit], f"{case.function}: {case.unit} is not a unit of {unit}"
    ours = to_unit(float(result), unit, case.unit)
    return Row(case, ours, agrees(ours, case.printed, case.widen))
