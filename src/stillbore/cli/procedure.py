"""stillbore procedure: check an order of work before anybody works by it; show it as table, JSON or drawing."""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby
from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.output import console, table, write_whole
from stillbore.errors import StillboreError
from stillbore.job.files import EXAMPLE_RULES, example_text
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import JobFile, load, load_text
from stillbore.job.shipped import BUILDS, ROUTES, composed, file_name
from stillbore.plan.barriers import PIPE_WALL
from stillbore.run.basis import Ask
from stillbore.run.procedure_barriers import Stage, stages
from stillbore.run.procedure_check import checked, kit_of

FILE = click.Path(dir_okay=False, path_type=Path)


def shipped_options(function: Callable[..., None]) -> Callable[..., None]:
    """Which shipped order of work."""
    function = click.option("--build", type=click.Choice(list(BUILDS)), default="two_branches", show_default=True,
                            help="Build of the kit, for a shipped one.")(function)
    return click.option("--route", type=click.Choice(list(ROUTES)), default="renew towards the main", show_default=True,
                        help="What follows the cut, for a shipped one.")(function)


kit_option = click.option("--kit", "kit_file", type=FILE,
                          help="Kit; by default the shipped, invented example whose parts the procedure names.")


@click.group("procedure")
def command() -> None:
    """Check or show an order of work."""


@command.command("check")
@click.argument("file", type=FILE)
@kit_option
@click.option("--rules", "rules_file", type=FILE, help="Rule set; by default the shipped, invented example.")
def check(file: Path, kit_file: Path | None, rules_file: Path | None) -> None:
    """Look for what cannot work in an order of work: steps that can never be done, traps, holds without questions or
    evidence, limits that neither plan nor rule set has, windows, ends that leave a way open.

    All faults are printed at once; exit code 2. That none was found says nothing about whether the work is right.
    """
    procedure = load(PROCEDURE, file)
    kit = _kit(procedure, kit_file)
    rules = load(RULES, rules_file) if rules_file else load_text(RULES, example_text(EXAMPLE_RULES), EXAMPLE_RULES)
    checked(procedure, kit, rules)
    steps, holds = procedure.rows("step"), [row for row in procedure.rows("step") if row.values.get("hold")]
    click.echo(f"{file}: no fault found in {len(steps)} steps, {len(holds)} hard holds and "
               f"{len(procedure.rows('ask'))} questions.")
    click.echo(f"Looked at with the kit '{kit.value('kit.name')}' and the rules '{rules.value('rules.name')}', edition "
               f"{rules.value('rules.edition')}. Whether it is right is for its owner to say.")


@command.command("show")
@click.argument("file", type=FILE, required=False)
@shipped_options
@kit_option
@click.option("--svg", type=FILE, help="Write it as a drawing, A3.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON, with the barriers after each step.")
@click.option("--step", "step_id", help="Print one step whole: what it asks, and what each answer is held to.")
def show(file: Path | None, route: str, build: str, kit_file: Path | None, svg: Path | None, as_json: bool,
         step_id: str | None) -> None:
    """Show an order of work, card by card, with its holds and the barriers after each step.

    FILE is a procedure; without one a shipped one is shown, for --route and --build.
    """
    procedure = load(PROCEDURE, file) if file else load_text(PROCEDURE, composed(build, route), file_name(build, route))
    course = stages(procedure, _kit(procedure, kit_file))
    if svg:
        write_whole(svg, _drawing(procedure, course).encode())
    if as_json:
        print_json(_data(procedure, course))
        return
    if step_id:
        _print_step(course, step_id)
        return
    row = procedure.row("procedure")
    click.echo(f"{row.text('name')}, edition {row.text('edition')}. {row.text('statement')}")
    for card, some in groupby(course, lambda stage: stage.step.card):
        _print_card(card, list(some))
    click.echo("Barriers: the proved elements on the weakest way to the pit. WINDOW: a way out is open or not proved, "
               "and one element holds alone.")
    if svg:
        click.echo(f"Wrote {svg}")


def _kit(procedure: JobFile, path: Path | None) -> JobFile:
    return load(KIT, path) if path else kit_of(procedure)


def _print_card(card: str, some: list[Stage]) -> None:
    console().rule(card, align="left", characters="-")
    shown = table("", "step", "hold", "signs", "action", "rests on", "keeps", "does", "barriers after it")
    for stage in some:
        step = stage.step
        rests = ", ".join((*step.rests_on, *step.only_if, *([f"again {step.repeats}"] if step.repeats else [])))
        shown.add_row(step.id, f"HOLD {step.hold}" if step.hold else "", str(step.signers or ""), step.action, rests,
                      ", ".join(step.evidence), _does(stage), _barriers(stage))
    console().print(shown)


def _does(stage: Stage) -> str:
    """What a step does to the barriers, in words."""
    changes = stage.step.changes.items()
    return "; ".join(f"{sort.replace('_', ' ')} {', '.join(names)}" for sort, names in changes if names)


def _print_step(course: list[Stage], step_id: str) -> None:
    stage = next((stage for stage in course if stage.step.id == step_id), None)
    if stage is None:
        raise StillboreError(f"There is no step '{step_id}' in this order of work.",
                             f"Its steps are {', '.join(each.step.id for each in course)}.")
    step = stage.step
    click.echo(f"{step.id}, card {step.card}: {step.action}")
    for words, text in (("Hard hold", str(step.hold or "")), ("Two people sign", "yes" if step.signers else ""),
                        ("Must be true", step.must_be_true), ("Stop if", step.stop_if),
                        ("Gas monitor", "on, bump tested" if step.monitor else ""),
                        ("Rests on", ", ".join(step.rests_on)), ("Only if", "; ".join(step.only_if)),
                        ("Counts for", f"rules.{step.counts_for}" if step.counts_for else ""),
                        ("Does again", step.repeats), ("Keeps", ", ".join(step.evidence)),
                        ("Shows", ", ".join(step.shows)), ("Barriers", _does(stage)),
                        ("After it", _barriers(stage))):
        if text:
            click.echo(f"{words + ':':17}{text}")
    for ask in step.asks:
        click.echo(f"{'Asks:':17}{ask.name} ({ask.sort}): {ask.about}{_held_to(ask)}")


def _held_to(ask: Ask) -> str:
    """What an answer is held to, in words."""
    limit = " to ".join(name for name in (ask.limit, ask.limit_to) if name)
    wanted = {"good": " or ".join(ask.good) or "met", "same": f"the same as {ask.same_as}"}.get(ask.wanted, ask.wanted)
    words = [f"wanted {wanted} {limit}".rstrip() if wanted else "", ask.uncertainty and f"+/- {ask.uncertainty}",
             "no override" if ask.no_override else "", "may be left out" if ask.optional else ""]
    return "; ".join(["", *filter(None, words)])


def _barriers(stage: Stage) -> str:
    if stage.barriers == PIPE_WALL:
        return "pipe wall"
    words = f"{stage.barriers} ({', '.join(stage.way)})"
    return f"{words} WINDOW" if stage.windows else words


def _drawing(procedure: JobFile, course: list[Stage]) -> str:
    from stillbore.report.drawings.svg import draw
    from stillbore.report.procedure_drawing import DrawnStep, procedure_sheet

    row = procedure.row("procedure")
    steps = [DrawnStep(stage.step.id, stage.step.card, stage.step.action, stage.step.hold, stage.step.signers,
                       stage.barriers, stage.windows[0].held_by[0] if stage.windows else "") for stage in course]
    return draw(procedure_sheet(f"{row.text('name')}, edition {row.text('edition')}",
                                f"{row.text('statement')} Only proved elements count as barriers. Hatched: a way out "
                                f"is open or not proved, and one element holds alone. SHA-256 {procedure.sha256[:16]}",
                                steps)).svg


def _data(procedure: JobFile, course: list[Stage]) -> dict[str, object]:
    row = procedure.row("procedure")
    return {"name": row.text("name"), "edition": row.text("edition"), "statement": row.text("statement"),
            "sha256": procedure.sha256, "steps": [_step(stage) for stage in course]}


def _step(stage: Stage) -> dict[str, object]:
    step = stage.step
    plain = {key: value for key, value in vars(step).items() if key not in ("changes", "asks", "place")}
    changes = {key: list(names) for key, names in step.changes.items()}
    windows = [{"end": way.end, "held_by": list(way.held_by)} for way in stage.windows]
    return plain | changes | {"asks": [vars(ask) for ask in step.asks], "barriers": stage.barriers,
                              "way": list(stage.way), "windows": windows}

