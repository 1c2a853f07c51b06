"""stillbore compare: several services, or several routes of one, side by side."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.output import console, table, write_whole
from stillbore.cli.plan import FILE, units_option
from stillbore.display import DISPLAYS
from stillbore.errors import InputFaults, StillboreError
from stillbore.job.files import load_job
from stillbore.job.shipped import ROUTES
from stillbore.plan import Plan
from stillbore.plan import plan as work_out
from stillbore.plan.side_by_side import SideBySide, side_by_side, side_by_side_json

ABREAST = 3  # plans that stand side by side on a screen


@click.command("compare")
@click.argument("surveys", nargs=-1, required=True, type=FILE, metavar="SURVEY...")
@click.option("--route", "routes", multiple=True, type=click.Choice(list(ROUTES)),
              help="Suppose this route; may be given several times. By default the survey's own.")
@click.option("--kit", type=FILE, help="Kit; by default the shipped, invented example.")
@click.option("--rules", type=FILE, help="Rule set; by default the shipped, invented example.")
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
@click.option("--html", type=FILE, help="Write the comparison as one HTML page.")
def command(surveys: tuple[Path, ...], routes: tuple[str, ...], kit: Path | None, rules: Path | None, units: str,
            as_json: bool, html: Path | None) -> None:
    """Plan every SURVEY, by each --route if any is given, and lay the plans side by side.

    One column for each plan: its result, the findings that decide it, the numbers the order of work shows, the new
    pipes of the kit, and every check that may decide with its margin. Nothing is ranked and nothing chosen.
    """
    found = side_by_side(_plans(surveys, routes, kit, rules, units))
    if html:
        from stillbore.report.side_by_side import comparison_html

        write_whole(html, comparison_html(found))
    if as_json:
        print_json(side_by_side_json(found))
        return
    for first in range(0, len(found.plans), ABREAST):
        _print(found, range(first, min(first + ABREAST, len(found.plans))))
    click.echo("Nothing is ranked and nothing chosen. The operator's procedure and local codes rank above this.")
    if html:
        click.echo(f"Wrote {html}")


def _plans(surveys: tuple[Path, ...], routes: tuple[str, ...], kit: Path | None, rules: Path | None,
           units: str) -> list[Plan]:
    """Every plan, or the faults of every file at once. Raises StillboreError where there is one plan only."""
    if len(surveys) * max(1, len(routes)) < 2:
        raise StillboreError("There is one plan only.", "Name another survey, or several routes with --route.")
    made, faults = [], {}
    for survey in surveys:
        for route in routes or (None,):
            try:
                made.append(work_out(load_job(survey, kit, rules, route=route), DISPLAYS[units]))
            except InputFaults as error:
                faults |= dict.fromkeys(error.faults)
    if faults:
        raise InputFaults(list(faults))
    return made


def _print(found: SideBySide, group: range) -> None:
    """The blocks of a few plans; what is the same in all of them is printed once, with the last."""
    last = group.stop == len(found.plans)
    for block in found.blocks:
        if block.alike and not last:
            continue
        names = ("in all",) if block.alike else tuple(found.names[index] for index in group)
        shown = table(block.title, "", *names)
        for label, texts in block.rows:
            shown.add_row(label, *(texts if block.alike else (texts[index] for index in group)))
        console().print(shown)
        click.echo("")
