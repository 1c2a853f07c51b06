"""stillbore record show: the record on the screen, exceptions first; as HTML or PDF if asked."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.output import console, table
from stillbore.cli.record.handed import Handed, handed
from stillbore.plan.barriers import PIPE_WALL
from stillbore.run.basis import Step
from stillbore.run.state import State

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("show")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--html", type=FILE, help="Write the record as one HTML page.")
@click.option("--pdf", type=FILE, help="Write the record as PDF/A-3, with log, files and evidence embedded.")
def command(path: Path, html: Path | None, pdf: Path | None) -> None:
    """Show the record in PATH, a folder made by 'record export': exceptions first, then each hold, then the barriers.

    It shows what the log says. Whether the log holds is asked of: stillbore record verify
    """
    record = handed(path)
    state = record.state()
    _print(record, state)
    if html or pdf:
        from stillbore.cli.record.documents import write_documents
        from stillbore.cli.record.handed import read_log

        for written in write_documents(record, read_log(path)[0], html=html, pdf=pdf):
            click.echo(f"Wrote {written}")


def _print(record: Handed, state: State) -> None:
    marks = [word for word, on in (("REPLAYED FROM A FILE: its times are the script's", state.replayed),
                                   ("TRAINING", state.training)) if on]
    click.echo(f"{state.job}, plan {state.basis.plan[:16]}, {len(record.lines)} events. {'; '.join(marks)}".rstrip())
    click.echo(f"Ended: {state.ended or 'not yet'}. {state.end_reason}".rstrip())
    click.echo(f"Refused and logged: {state.refused}. Passed by an authoriser: {len(state.overrides)}.")
    exceptions = table("Exceptions", "when", "step", "what")
    for remark in state.remarks:
        exceptions.add_row(remark.at.text, remark.step, remark.what)
    for line in record.lines:
        if line.event.kind == "refused":
            what = line.event.happening
            exceptions.add_row(line.event.at[:19], what.step, f"refused: {what.reasons[0]}")  # type: ignore[attr-defined]
    console().print(exceptions)
    holds = table("Holds", "hold", "step", "when", "people", "stands", "answers")
    for step in sorted((step for step in state.basis.steps if step.hold), key=lambda step: step.hold):
        holds.add_row(*_hold(state, step))
    console().print(holds)
    course = table("Barriers between the gas and the pit", "from", "after step", "count", "weakest way")
    for change in state.course:
        count = "pipe wall" if change.barriers == PIPE_WALL else str(change.barriers)
        course.add_row(change.at.text, change.step or "the beginning", count, ", ".join(change.way))
    console().print(course)


def _hold(state: State, step: Step) -> tuple[str, str, str, str, str, str]:
    done = state.done.get(step.id)
    if done is None:
        return f"H{step.hold}", step.id, "", "", "not signed", ""
    answers = "; ".join(answer.sentence or answer.value.written for answer in done.answers)
    late = ", from paper" if done.at.paper else ""
    return (f"H{step.hold}", done.step, done.at.text + late, ", ".join(done.people),
            "yes" if done.stands else f"open again: {done.reopened}", answers)
