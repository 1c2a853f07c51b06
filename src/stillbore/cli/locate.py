"""stillbore locate: who is under suspicion of leaking, and the next move, as a dialogue or as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.errors import Fault, InputFaults
from stillbore.gauge.findings import Past, advice, past_of, replay
from stillbore.gauge.locate import Costs, Hunt
from stillbore.gauge.rig_graph import Rig, rig_of
from stillbore.job.files import EXAMPLE_RULES, example_text
from stillbore.job.kit import KIT
from stillbore.job.rules import RULES
from stillbore.job.schema import load, load_text

FILE = click.Path(dir_okay=False, path_type=Path)
BAR = 24


@click.command("locate")
@click.argument("kit", type=FILE)
@click.option("--rules", type=FILE, help="Rule set with [locate]; by default the shipped, invented example.")
@click.option("--findings", type=click.File(), help="Findings so far as JSON; '-' reads standard input.")
@click.option("--json", "as_json", is_flag=True, help="Print suspicion and next move as JSON, and end.")
def command(kit: Path, rules: Path | None, findings: click.utils.LazyFile | None, as_json: bool) -> None:
    """Find the leaking joint of the rig in KIT, after the whole rig has failed its hold.

    \b
    Findings are a JSON list: {"hold": ["stopper valve"], "fails": true} (the valves that were shut),
    {"fluid": "saddle gasket", "bubble": false}, {"repair": "saddle gasket"}.
    Without --json it asks: 1 yes, 2 no, u undo, q end.
    """
    rule_set = load(RULES, rules) if rules else load_text(RULES, example_text(EXAMPLE_RULES), EXAMPLE_RULES)
    rig, costs = rig_of(load(KIT, kit), rule_set), Costs.of(rule_set)
    past = _findings(findings, rig, costs) if findings else []
    if as_json:
        hunt = replay(rig, costs, past)
        print_json(_as_json(hunt))
        return
    _dialogue(rig, costs, past)


def _findings(stream: object, rig: Rig, costs: Costs) -> Past:
    try:
        items = json.load(stream)  # type: ignore[arg-type]
    except (ValueError, RecursionError):
        raise InputFaults([Fault("--findings", "This is not JSON.", "Write a list of findings; see --help.")]) from None
    return past_of(items, rig, costs)


def _as_json(hunt: Hunt) -> dict[str, object]:
    move = hunt.next()
    return {
        "suspicion": [{"joint": joint.name, "probability": round(share, 6)}
                      for joint, share in zip(hunt.rig.joints, hunt.suspicion(), strict=True)],
        "nothing_leaks": round(hunt.belief.get(0, 0.0), 6), "done": hunt.done,
        "next": None if hunt.done else {"move": move.kind, "what": move.what, "expected_s": move.seconds},
        "expected_total_s": 0.0 if hunt.done else round(hunt.expected_seconds(), 1), "advice": advice(hunt)}


QUESTIONS = {"hold": "Pump up and hold: {what}. Does it fall?", "fluid": "Leak fluid on: {what}. Bubbles?",
             "repair": "Mend: {what}. Done?"}


def _dialogue(rig: Rig, costs: Costs, past: Past) -> None:
    click.echo("The whole rig has failed its hold. 1 yes, 2 no, u undo, q end.")
    click.echo(advice(Hunt(rig, costs)))
    while True:
        hunt = replay(rig, costs, past)
        if hunt.done:
            click.echo("The whole rig holds. Now the integrity test itself, from the start.")
            return
        _show(hunt)
        move = hunt.next()
        click.echo(f"\nNEXT, about {move.seconds:.0f} s (the hunt about {hunt.expected_seconds() / 60:.0f} min more):")
        answer = click.prompt(QUESTIONS[move.kind].format(what=move.what), prompt_suffix=" ",
                              type=click.Choice(["1", "2", "u", "q"]), show_choices=False)
        if answer == "q":
            return
        if answer == "u":
            if past:
                past = past[:-1]
            continue
        if move.kind == "repair" and answer == "2":
            click.echo("Then the rig stays out of use.")
            return
        past = [*past, (move, answer == "1")]


def _show(hunt: Hunt) -> None:
    ranked = sorted(zip(hunt.suspicion(), hunt.rig.joints, strict=True), key=lambda pair: -pair[0])
    width = max(len(joint.name) for joint in hunt.rig.joints)
    click.echo("")
    for share, joint in ranked[:8]:
        click.echo(f"  {joint.name:{width}}  {'#' * round(share * BAR):{BAR}} {share:4.0%}")
