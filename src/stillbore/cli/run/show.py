"""stillbore run show: where the job stands and what is wanted next."""

from __future__ import annotations

import click

from stillbore.cli import print_json
from stillbore.cli.output import console, table
from stillbore.cli.run.place import Place
from stillbore.plan.barriers import PIPE_WALL
from stillbore.run.answers import limit_words
from stillbore.run.basis import Step
from stillbore.run.session import Session
from stillbore.run.state import State

WORDS = {"program": "another program", "procedure": "another order of work of this name",
         "rules": "another rule set of this name"}


@click.command("show")
@click.argument("step", required=False)
@click.option("--all", "whole", is_flag=True, help="List every step and how it stands.")
@click.option("--json", "as_json", is_flag=True, help="Print the state as JSON.")
@click.pass_obj
def show(place: Place, step: str | None, whole: bool, as_json: bool) -> None:
    """Show the present card: barriers, pressure and limit, the next step (or STEP), what it asks, and what stands
    against it."""
    session = place.session
    wanted = session.step(step) if step else _next(session.state)
    if as_json:
        print_json(as_data(session, wanted))
        return
    _heading(session.state)
    for each in session.newer():
        click.echo(f"NEWER HERE: {WORDS[each.sort]}. The job goes by its own, {each.kept}; here is {each.here}.")
    if whole:
        _list(session.state)
    elif wanted is None:
        click.echo("Every step is done." if not session.state.ended else f"The job has ended: {session.state.ended}.")
    else:
        _card(session, wanted)


def _next(state: State) -> Step | None:
    return state.basis.step(state.next_steps[0]) if state.next_steps else None


def barriers_text(state: State) -> str:
    return "pipe wall" if state.barriers == PIPE_WALL else str(state.barriers)


def _heading(state: State) -> None:
    marks = [word for word, on in (("REPLAYED FROM A FILE", state.replayed), ("TRAINING", state.training)) if on]
    click.echo(f"{state.job}  plan {state.basis.plan[:12]}  {' '.join(marks)}".rstrip())
    maximum = state.basis.limits["rules.pressure.maximum_operating_pressure"].text
    pressure = state.district[-1].value.written if state.district else "not read yet"
    click.echo(f"BARRIERS {barriers_text(state)}    DISTRICT {pressure}    LIMIT {maximum}")
    click.echo(f"At the pit: {', '.join(state.here) or 'nobody'}. Gas monitor: {state.monitor or 'none'}.")
    if state.stopped:
        click.echo(f"STOPPED: {state.stopped}")
    if state.ended:
        click.echo(f"ENDED: {state.ended}. {state.end_reason}".rstrip())


def _card(session: Session, step: Step) -> None:
    state = session.state
    hold = f"  HOLD {step.hold}" if step.hold else ""
    click.echo(f"\n{step.card.upper()}{hold}\n{step.id}  {step.action}")
    if step.must_be_true:
        click.echo(f"  must be true: {step.must_be_true}")
    if step.stop_if:
        click.echo(f"  STOP if: {step.stop_if}")
    for name in step.shows:
        limit = state.basis.limits.get(name)
        click.echo(f"  {name} = {limit.text if limit else 'unknown'}")
    asks = table("", "asked", "what", "wanted", "answer", "verdict")
    for ask in step.asks:
        answer = state.answer(ask.key)
        asks.add_row(ask.name, ask.about, limit_words(state, ask), answer.value.written if answer else "",
                     answer.verdict if answer else "")
    if step.asks:
        console().print(asks)
    if step.evidence:
        click.echo(f"  evidence: {', '.join(step.evidence)}; kept: {len(state.kept(step.id))}")
    if step.signers:
        signed = ", ".join(each.person for each in state.signed(step.id)) or "nobody"
        click.echo(f"  signatures: {step.signers} people; so far {signed}")
    for reason in session.against(step):
        click.echo(f"  - {reason}")


def _list(state: State) -> None:
    steps = table("", "step", "card", "hold", "action", "stands")
    for step in state.basis.steps:
        done = state.done.get(step.id)
        stands = "" if done is None else f"open again: {done.reopened}" if done.reopened else f"done {done.at.text}"
        steps.add_row(step.id, step.card, f"H{step.hold}" if step.hold else "", step.action, stands)
    console().print(steps)


def as_data(session: Session, step: Step | None) -> dict[str, object]:
    """The state for other programs."""
    state = session.state
    return {
        "job": state.job, "plan": state.basis.plan, "barriers": state.barriers, "weakest_way": list(state.way),
        "here": list(state.here), "monitor": state.monitor, "stopped": state.stopped, "ended": state.ended,
        "replayed": state.replayed, "training": state.training, "refused": state.refused,
        "done": {each: {"at": done.at.text, "people": list(done.people), "stands": done.stands,
                        "reopened": done.reopened} for each, done in state.done.items()},
        "answers": {key: {"value": answer.value.written, "verdict": answer.verdict, "limit": answer.limit,
                          "person": answer.person, "at": answer.at.text} for key, answer in state.answers.items()},
        "next": None if step is None else {
            "step": step.id, "card": step.card, "hold": step.hold or None, "action": step.action,
            "asks": [ask.name for ask in step.asks], "evidence": list(step.evidence), "signers": step.signers,
            "against": session.against(step)},
        "events": len(session.lines), "last": session.lines[-1].hash}
