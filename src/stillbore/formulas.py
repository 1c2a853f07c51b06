"""The catalogue of physics functions: read from their docstrings, callable by name with units on every argument.

The docstring is the only place where a formula, its units, its directions and its source are written; this module
reads it, and ``derive``, ``calc`` and the contract test all read it through here.
"""

from __future__ import annotations

import difflib
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import stillbore.physics
from stillbore.errors import Fault, InputFaults, Refused, StillboreError, UnitError
from stillbore.physics.refusals import OK, REFUSALS
from stillbore.units import parse_composition, parse_exact, written_units

PLUMBING = ("refusals", "roots")
DIRECTIONS = ("rises", "falls", "turns")
_ARGUMENT = re.compile(r"^(?P<name>\w+): (?P<text>.+) \[(?P<unit>[^\]]+)\](?:, (?P<direction>rises|falls|turns))?$")
_RESULT = re.compile(r"^(?P<name>[^:\s]+): (?P<text>.+) \[(?P<unit>[^\]]+)\]$")


@dataclass(frozen=True)
class Argument:
    """One argument: its name, what it is, its SI unit, and how the result moves when it grows."""

    name: str
    text: str
    unit: str
    direction: str


@dataclass(frozen=True)
class Formula:
    """A physics function as its docstring describes it. ``results`` are (name, text, unit), one or more."""

    name: str
    summary: str
    formula: str
    arguments: tuple[Argument, ...]
    results: tuple[tuple[str, str, str], ...]
    sources: tuple[str, ...]
    notes: str
    function: Callable[..., object]
    refusal: Callable[..., int] | None

    @property
    def unit(self) -> str:
        return self.results[0][2]

    def argument(self, name: str) -> Argument:
        for argument in self.arguments:
            if argument.name == name:
                return argument
        raise KeyError(name)


def _sections(doc: str) -> dict[str, list[str]]:
    """The docstring cut at its headings, every continuation line joined to the line it continues."""
    sections: dict[str, list[str]] = {"summary": []}
    current = "summary"
    base = 0
    for raw in doc.splitlines():
        line = raw.strip()
        heading = re.match(r"^(Formula|Args|Returns|Source|Notes|Domain):\s*(.*)$", line)
        if heading and len(raw) - len(raw.lstrip()) == 0:
            current = heading[1]
            sections[current] = [heading[2]] if heading[2] else []
            base = 0
        elif line:
            indent = len(raw) - len(raw.lstrip())
            base = base or indent
            if indent > base and sections[current]:
                sections[current][-1] += " " + line
            else:
                sections[current].append(line)
    return sections


def read_formula(name: str, function: Callable[..., object], refusal: Callable[..., int] | None) -> Formula:
    """Read a docstring. Raises ValueError that says what is missing; the contract test prints it."""
    sections = _sections(inspect.cleandoc(function.__doc__ or ""))
    for wanted in ("Formula", "Returns", "Source"):
        if not sections.get(wanted):
            raise ValueError(f"{name}: docstring has no '{wanted}:'")
    arguments = []
    for line in sections.get("Args", []):
        match = _ARGUMENT.match(line)
        if match is None:
            raise ValueError(f"{name}: argument line '{line}' is not 'name: text [unit], rises|falls|turns'")
        arguments.append(Argument(match["name"], match["text"], match["unit"], match["direction"] or ""))
    results = []
    for line in sections["Returns"]:
        match = _RESULT.match(line)
        if match is None:
            raise ValueError(f"{name}: result line '{line}' is not 'name: text [unit]'")
        results.append((match["name"], match["text"], match["unit"]))
    sources = tuple(re.findall(r"[A-Z][A-Z0-9]*(?:-[A-Z0-9.]+)+", " ".join(sections["Source"])))
    return Formula(name, " ".join(sections["summary"]), " ".join(sections["Formula"]), tuple(arguments),
                   tuple(results), sources, " ".join(sections.get("Notes", [])), function, refusal)


@cache
def functions() -> dict[str, tuple[Callable[..., object], Callable[..., int] | None]]:
    """Every public physics function with its refusal, by 'module.name'."""
    found: dict[str, tuple[Callable[..., object], Callable[..., int] | None]] = {}
    for module_info in pkgutil.iter_modules(stillbore.physics.__path__):
        if module_info.name in PLUMBING:
            continue
        module = importlib.import_module(f"stillbore.physics.{module_info.name}")
        for name, function in vars(module).items():
            if (inspect.isfunction(function) and function.__module__ == module.__name__
                    and not name.startswith("_") and not name.endswith("_refusal")):
                found[f"{module_info.name}.{name}"] = (function, getattr(module, f"{name}_refusal", None))
    return found


@cache
def formula(name: str) -> Formula:
    """A formula by 'module.name'. Raises StillboreError with the nearest names."""
    if name not in functions():
        near = difflib.get_close_matches(name, functions(), n=3, cutoff=0.4)
        raise StillboreError(f"There is no formula '{name}'.",
                             f"Did you mean {' or '.join(near)}?" if near else "List them with: stillbore calc",
                             formula=name)
    function, refusal = functions()[name]
    return read_formula(name, function, refusal)


@cache
def name_of(function: Callable[..., object]) -> str:
    """'module.name' of a physics function."""
    return f"{function.__module__.rpartition('.')[2]}.{function.__name__}"


def evaluate(entry: Formula, values: Mapping[str, object]) -> object:
    """Ask the refusal, then the function. Raises Refused with the code's sentence."""
    if entry.refusal is not None:
        code = entry.refusal(**values)
        if code != OK:
            raise Refused(REFUSALS[code], f"Look at the arguments of {entry.name}.", code=code, formula=entry.name)
    return entry.function(**values)


def call_with_text(name: str, texts: Mapping[str, str]) -> tuple[Formula, dict[str, object], object]:
    """Call a formula with its arguments written as text with units.

    Returns the formula, the SI values it was called with, and its result.
    Raises StillboreError (no such formula), InputFaults (all argument faults at once) or Refused.
    """
    entry = formula(name)
    faults: list[Fault] = []
    values: dict[str, object] = {}
    known = [argument.name for argument in entry.arguments]
    for given in texts:
        if given not in known:
            near = difflib.get_close_matches(given, known, n=1)
            faults.append(Fault(given, f"{name} has no argument '{given}'.",
                                f"Did you mean {near[0]}?" if near else f"It takes {', '.join(known)}."))
    for argument in entry.arguments:
        if argument.name not in texts:
            faults.append(Fault(argument.name, f"'{argument.name}' ({argument.text}) is missing.",
                                f'Add {argument.name}="…" in {written_units(argument.unit)}.'))
            continue
        try:
            text = texts[argument.name]
            values[argument.name] = (parse_composition(text) if argument.unit == "mole fractions"
                                     else parse_exact(text, argument.unit))
        except UnitError as error:
            faults.append(Fault(argument.name, error.what, error.fix))
    if faults:
        raise InputFaults(faults)
    return entry, values, evaluate(entry, values)
