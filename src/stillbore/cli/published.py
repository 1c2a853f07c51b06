"""stillbore published: the ledger of what is checked against what."""

from __future__ import annotations

import sys

import click

from stillbore.cli import print_json
from stillbore.cli.output import console, table
from stillbore.formulas import formula, functions
from stillbore.published import STATUSES, Reference, Row, cases, references, row
from stillbore.units import digits


@click.command("published")
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(name: str | None, as_json: bool) -> None:
    """Print the ledger: function, source, printed value, ours, agrees or why not.

    With NAME only that function. Ends with the functions that have no published case. Exit code 1 if anything
    disagrees that is not known to.
    """
    wanted = [formula(name).name] if name else list(functions())
    rows = [row(case) for case in cases() if case.function in wanted]
    checks = [reference for reference in references() if reference.function in wanted]
    gaps = _gaps(wanted, rows, checks)
    if as_json:
        print_json({"cases": [vars(found.case) | {"ours": found.ours, "agrees": found.agrees} for found in rows],
                    "references": [vars(reference) for reference in checks], "gaps": gaps})
    else:
        _print(rows, checks, gaps)
    sys.exit(1 if any(not found.agrees and not found.case.differs for found in rows) else 0)


# What was worked out apart from this program is a second arithmetic; only these come from outside.
OUTSIDE = ("found", "from memory")


def _gaps(wanted: list[str], rows: list[Row], checks: list[Reference]) -> dict[str, list[str]]:
    """Functions without a published case, by what they have instead."""
    outside = {found.case.function for found in rows if found.case.status in OUTSIDE}
    checked = {reference.function for reference in checks}
    second = {found.case.function for found in rows}
    bare = [each for each in wanted if each not in outside]
    return {
        "no published case, but an independent computation": [each for each in bare if each in checked],
        "no published case, but a second arithmetic": [each for each in bare if each in second - checked],
        "definitions, with property tests only": [each for each in bare if each not in second | checked],
    }


def _verdict(found: Row) -> str:
    case = found.case
    if case.differs:
        return f"differs: {case.because}"
    if not found.agrees:
        return "DISAGREES"
    return "agrees" if case.widen == 1.0 else f"agrees within {case.widen:g} half digits: {case.because}"


def _print(rows: list[Row], checks: list[Reference], gaps: dict[str, list[str]]) -> None:
    ledger = table("Published values", "function", "source, where", "status", "printed", "ours", "verdict")
    for found in rows:
        case = found.case
        figures = len(case.printed.replace("-", "").replace(".", "").lstrip("0").partition("e")[0]) + 1
        ledger.add_row(case.function, f"{case.source}, {case.where}", case.status, f"{case.printed} {case.unit}",
                       digits(found.ours, max(3, figures)), _verdict(found))
    console().print(ledger)
    apart = table("Independent computations, in tests/reference/", "function", "against", "within")
    for reference in checks:
        apart.add_row(reference.function, reference.against, reference.within)
    console().print(apart)
    counts = ", ".join(f"{sum(found.case.status == status for found in rows)} {status}" for status in STATUSES)
    click.echo(f"{len(rows)} values ({counts}) and {len(checks)} independent computations.")
    click.echo("'computed' is a second arithmetic, worked out apart from this program; "
               "'handbook of the trade' is this project's working paper.")
    for title, names in gaps.items():
        click.echo(f"{title[0].upper()}{title[1:]} ({len(names)}): {', '.join(names) or 'none'}.")
