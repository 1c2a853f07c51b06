"""stillbore calc: any physics function, with units on every argument."""

from __future__ import annotations

import difflib

import click

from stillbore.cli import print_json
from stillbore.cli.output import console, table
from stillbore.errors import Fault, InputFaults
from stillbore.formulas import Formula, call_with_text, formula, functions
from stillbore.published import cases, references
from stillbore.sources import SOURCES
from stillbore.units import UNITS, default_unit, show, written_units

# In JSON the unit is a plain SI one; what a pressure is measured from stands beside it.
PLAIN_UNIT = {"Pa gauge": "Pa", "Pa abs": "Pa", "K difference": "K", "section modulus m3": "m3"}
BASIS = {"Pa gauge": "gauge", "Pa abs": "absolute", "K difference": "difference"}


@click.command("calc", context_settings={"ignore_unknown_options": True})
@click.argument("name", required=False)
@click.argument("arguments", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Print JSON with the value in SI.")
@click.option("--unit", default=None, help="Show the value in this unit.")
def command(name: str | None, arguments: tuple[str, ...], as_json: bool, unit: str | None) -> None:
    """Call a formula.

    \b
    NAME is module.function; ARGUMENTS are name="value unit", for example
      stillbore calc tube.bore outside_diameter="33.7 mm" wall="3.2 mm"
    Without a name every formula is listed; with a name alone its arguments are.
    """
    if name is None:
        _list(as_json)
        return
    entry = formula(name)
    if not arguments and entry.arguments:
        _describe(entry, as_json)
        return
    entry, values, result = call_with_text(name, _split(arguments, entry))
    named = list(zip(entry.results, result if isinstance(result, tuple) else (result,), strict=True))
    if unit is not None and unit not in UNITS[entry.unit]:
        raise InputFaults([Fault("--unit", f"'{unit}' is not a unit of this result.",
                                 f"Write one of {written_units(entry.unit)}.")])
    if as_json:
        print_json(_as_json(entry, named))
        return
    for (symbol, text, si_unit), value in named:
        click.echo(f"{symbol} = {show(float(value), si_unit, unit or default_unit(si_unit), 5)}   {text}")
    _describe(entry, False)


def _split(arguments: tuple[str, ...], entry: Formula) -> dict[str, str]:
    faults = []
    texts: dict[str, str] = {}
    for argument in arguments:
        name, equals, text = argument.partition("=")
        if not equals:
            names = [known.name for known in entry.arguments]
            near = difflib.get_close_matches(argument, names, n=1)
            faults.append(Fault(argument, "This is not name=value.", f'Write {near[0] if near else names[0]}="…".'))
        elif name in texts:
            faults.append(Fault(name, "This argument is given twice.", "Give it once."))
        else:
            texts[name] = text
    if faults:
        raise InputFaults(faults)
    return texts


def _checks(name: str) -> list[str]:
    found = [f"{case.source} ({case.where}): {case.printed} {case.unit}, {case.status}"
             + (f"; ours differs: {case.differs}, because {case.because}" if case.differs else "")
             for case in cases() if case.function == name]
    found += [f"{reference.against}, within {reference.within}" for reference in references()
              if reference.function == name]
    return found


def _as_json(entry: Formula, named: list[tuple[tuple[str, str, str], float]]) -> dict[str, object]:
    (symbol, text, unit), value = named[0]
    data: dict[str, object] = {"value": float(value), "unit": PLAIN_UNIT.get(unit, unit)}
    if unit in BASIS:
        data["basis"] = BASIS[unit]
    data |= {"symbol": symbol, "about": text, "name": entry.name, "formula": entry.formula,
             "source": {key: SOURCES[key] for key in entry.sources}, "checked_against": _checks(entry.name)}
    if len(named) > 1:
        data["results"] = {key: {"value": float(each), "unit": PLAIN_UNIT.get(si_unit, si_unit)}
                           for (key, _, si_unit), each in named}
    return data


def _describe(entry: Formula, as_json: bool) -> None:
    if as_json:
        print_json({"name": entry.name, "summary": entry.summary, "formula": entry.formula,
                    "arguments": [{"name": argument.name, "about": argument.text, "unit": argument.unit,
                                   "write_in": written_units(argument.unit)} for argument in entry.arguments],
                    "results": [{"symbol": symbol, "about": text, "unit": unit}
                                for symbol, text, unit in entry.results],
                    "source": {key: SOURCES[key] for key in entry.sources}, "checked_against": _checks(entry.name)})
        return
    click.echo(f"{entry.name}: {entry.summary}")
    click.echo(f"Formula: {entry.formula}")
    for argument in entry.arguments:
        click.echo(f"  {argument.name}: {argument.text}; in {written_units(argument.unit)}")
    if entry.notes:
        click.echo(f"Notes: {entry.notes}")
    for key in entry.sources:
        click.echo(f"Source: {key}: {SOURCES[key]}")
    checks = _checks(entry.name)
    for check in checks[:6]:
        click.echo(f"Checked against: {check}")
    if len(checks) > 6:
        click.echo(f"  and {len(checks) - 6} more; see: stillbore published {entry.name}")
    if not checks:
        click.echo("Checked against: no published case; see the property tests.")


def _list(as_json: bool) -> None:
    entries = [formula(name) for name in functions()]
    if as_json:
        print_json([{"name": entry.name, "summary": entry.summary, "unit": entry.unit} for entry in entries])
        return
    listing = table("Formulas", "name", "what it gives", "unit")
    for entry in entries:
        listing.add_row(entry.name, entry.summary, default_unit(entry.unit) or "-")
    console().print(listing)
