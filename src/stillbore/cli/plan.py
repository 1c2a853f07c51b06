"""stillbore plan: the plan on the screen, as JSON, and as documents."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.output import console, table, write_whole
from stillbore.derive import Traced
from stillbore.display import DISPLAYS, METRIC
from stillbore.job.files import load_job
from stillbore.plan import Plan
from stillbore.plan import plan as work_out
from stillbore.plan.barriers import PIPE_WALL
from stillbore.plan.method import APPLIES
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, LEVELS, Number, Section

FILE = click.Path(dir_okay=False, path_type=Path)


def units_option(function: Callable[..., None]) -> Callable[..., None]:
    """The system of units a plan is shown in, the same for every command that shows one."""
    return click.option("--units", type=click.Choice(list(DISPLAYS)), default=METRIC.name, show_default=True,
                        help="Show numbers in metric units, or in inches, pounds and cubic feet.")(function)


def file_options(function: Callable[..., None]) -> Callable[..., None]:
    """The files of a plan beside the survey."""
    function = click.option("--procedure", type=FILE, help="Order of work; by default a shipped one.")(function)
    function = click.option("--rules", type=FILE, help="Rule set; by default the shipped, invented example.")(function)
    function = click.option("--kit", type=FILE, help="Kit; by default the shipped, invented example.")(function)
    return function


def job_options(function: Callable[..., None]) -> Callable[..., None]:
    """The files of a plan with its one survey."""
    return click.argument("survey", type=FILE)(file_options(function))


@click.command("plan")
@job_options
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print the whole plan as JSON.")
@click.option("--html", type=FILE, help="Write the job pack as one HTML page.")
@click.option("--pdf", type=FILE, help="Write the job pack as PDF/A-3, with survey, kit, rules and plan embedded.")
@click.option("--sheet", type=FILE, help="Write the job sheet as PDF: one A4 page, and one for what follows the cut.")
def command(survey: Path, kit: Path | None, rules: Path | None, procedure: Path | None, units: str, as_json: bool,
            html: Path | None, pdf: Path | None, sheet: Path | None) -> None:
    """Plan the service described in SURVEY.

    Prints whether the method applies and why, every number with its range and formula, every check with its margin,
    what is still open, and the steps with their hold points and barriers.
    """
    plan = work_out(load_job(survey, kit, rules, procedure), DISPLAYS[units])
    contents = _documents(plan, html, pdf, sheet)
    for path, content in contents.items():  # every document was made before the first is written
        write_whole(path, content)
    if as_json:
        from stillbore.plan.export import plan_json

        print_json(plan_json(plan))
    else:
        print_plan(plan)
        for path in contents:
            click.echo(f"Wrote {path}")


def _documents(plan: Plan, html: Path | None, pdf: Path | None, sheet: Path | None) -> dict[Path, bytes]:
    made: dict[Path, bytes] = {}
    if html or pdf or sheet:
        from stillbore.report import files

        if html:
            made[html] = files.pack_html(plan)
        if pdf:
            made[pdf] = files.pack_pdf(plan)
        if sheet:
            made[sheet] = files.sheet_pdf(plan)
    return made


def print_plan(plan: Plan) -> None:
    """The plan as tables."""
    survey = plan.survey
    click.echo(f"{survey.value('job.id')}, {survey.value('job.place')}, asset {survey.value('job.asset')}")
    click.echo(f"Kit: {plan.kit.value('kit.name')}. Rules: {plan.rules.value('rules.name')}, edition "
               f"{plan.rules.value('rules.edition')} of {plan.rules.value('rules.date')}.")
    click.echo(f"\nTHE METHOD {_result_words(plan)}\n")
    findings = table("What to know, worst first", "means", "what", "do", "holds")
    for level in LEVELS:
        for finding in plan.findings:
            if finding.level == level:
                findings.add_row(level, finding.what, finding.do, ", ".join(map(str, finding.holds)))
    console().print(findings)
    for section in plan.sections:
        _print_section(section)
    _print_steps(plan)
    click.echo(f"Plan {plan.version[:16]}. Ask why: stillbore explain SURVEY NUMBER.")
    click.echo("A person with authority signs each hold. The operator's procedure and local codes rank above this.")


RESULT_WORDS = {APPLIES: "APPLIES, AS FAR AS IS KNOWN", DOES_NOT_APPLY: "DOES NOT APPLY",
                ENGINEER: "IS REFERRED TO AN ENGINEER"}


def _result_words(plan: Plan) -> str:
    words = RESULT_WORDS[plan.result]
    if plan.result == APPLIES and not plan.known_enough:
        words = "IS NOT RULED OUT, BUT IT IS NOT YET KNOWN WHETHER IT APPLIES"
    if plan.open_holds:
        words += f"; holds that cannot be signed yet: {', '.join(map(str, plan.open_holds))}"
    return words + "."


def _row(number: Number) -> tuple[str, str, str, str]:
    node = number.node
    if isinstance(node, Traced):
        how = node.formula.name if node.formula else f"{node.result} end" if node.result else "all it may be"
        text = number.text if not node.refusal or node.known else f"{number.text}: {node.refusal}"
    else:
        how, text = node.how, number.text
    return number.name, number.title, text, how


def _print_section(section: Section) -> None:
    if not (section.numbers or section.checks or section.grids):
        return
    console().rule(section.title, align="left", characters="-")
    if section.numbers:
        numbers = table("", "number", "what", "value (range)", "from")
        for number in section.numbers:
            numbers.add_row(*_row(number))
        console().print(numbers)
    if section.checks:
        checks = table("", "check", "verdict", "value; wanted", "margin")
        for check in section.checks:
            checks.add_row(check.title, check.verdict, check.text, check.margin)
        console().print(checks)
    for grid in section.grids:
        shown = table(grid.title, *grid.columns)
        for cells in grid.rows:
            shown.add_row(*cells)
        console().print(shown)


def _print_steps(plan: Plan) -> None:
    console().rule("Steps", align="left", characters="-")
    steps = table("", "step", "card", "hold", "action", "must be true", "numbers", "barriers after it")
    for step in plan.steps:
        barriers = "pipe wall" if step.barriers == PIPE_WALL else f"{step.barriers} ({', '.join(step.way)})"
        numbers = "; ".join(f"{number.title} {number.text}" for number in step.numbers)
        steps.add_row(step.row.text("id"), step.row.text("card"), f"H{step.hold}" if step.hold else "",
                      step.row.text("action"), step.row.text("must_be_true"), numbers, barriers)
    console().print(steps)
