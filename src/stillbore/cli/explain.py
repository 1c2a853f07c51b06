"""stillbore explain: the tree of a number, down to the survey's facts."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.plan import job_options, units_option
from stillbore.derive import Fact, Node, Share, Traced, explain, shares, span_text
from stillbore.display import DISPLAYS, Display
from stillbore.job.files import load_job
from stillbore.plan import plan as work_out
from stillbore.sources import SOURCES
from stillbore.units import show_difference


@click.command("explain")
@job_options
@units_option
@click.argument("number")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(survey: Path, kit: Path | None, rules: Path | None, procedure: Path | None, units: str,
            number: str, as_json: bool) -> None:
    """Print how NUMBER of the plan of SURVEY came about.

    The tree goes down to facts of the survey, the kit, the rule set and printed tables, each with its place. Then the
    facts are ranked by how much narrower the number's range would be if that one fact were known exactly.
    """
    display = DISPLAYS[units]
    plan = work_out(load_job(survey, kit, rules, procedure), display)
    found = plan.number(number)
    ranking = shares(found.node)
    if as_json:
        print_json({"name": found.name, "title": found.title, "tree": _tree(found.node),
                    "narrowing": [{"fact": share.fact.name, "origin": share.fact.origin,
                                   "narrower_by": round(share.share, 4), "moves_by": share.moves}
                                  for share in ranking]})
        return
    click.echo(f"{found.name}: {found.title} = {span_text(found.node, found.shown)}\n")
    used: dict[str, None] = {}
    for depth, node in explain(found.node):
        click.echo("  " * depth + _line(display, node, found.shown if node is found.node else None))
        if isinstance(node, Traced) and node.formula:
            used |= dict.fromkeys(node.formula.sources)
        elif isinstance(node, Fact) and node.source in SOURCES:
            used[node.source] = None
    click.echo("")
    for key in used:
        click.echo(f"[{key}] {SOURCES[key]}")
    if isinstance(found.node, Traced) and found.node.refusal:
        click.echo(f"\nNot a number everywhere in its range: {found.node.refusal}")
    if ranking:
        click.echo("\nWhat matters most to it, if it were known exactly:")
        for share in ranking:
            click.echo(f"  {_effect(share, found.node, found.shown)}  {share.fact.name} = "
                       f"{_fact_text(display, share.fact)}")
    elif found.node.known:
        click.echo("\nIt has no range to narrow.")


def _effect(share: Share, node: Node, shown: str) -> str:
    if not node.known:
        return "makes it a number"
    if node.high != node.low:
        return f"{share.share:4.0%} narrower"
    sign = "-" if share.moves < 0 else "+"
    return f"moves it by {sign}{show_difference(abs(share.moves), node.unit, shown)}"


def _fact_text(display: Display, fact: Fact) -> str:
    text = display.span(fact)
    how = fact.how
    if fact.by:
        how += f" by {fact.by}"
    if fact.when:
        how += f" at {fact.when}"
    if fact.instrument:
        how += f" with {fact.instrument}"
    return f"{text}   [{how}; {fact.origin}]"


def _line(display: Display, node: Node, shown: str | None) -> str:
    if isinstance(node, Fact):
        return f"{node.name} = {_fact_text(display, node)}"
    if node.formula:
        how = f"{node.formula.name}: {node.formula.formula}  [{', '.join(node.formula.sources)}]"
    else:
        how = f"the {node.result} end, to reckon with the worst" if node.result else "over all it may be"
    return f"{node.name} = {span_text(node, shown) if shown else display.span(node)}   {how}"


def _tree(node: Node) -> dict[str, object]:
    common: dict[str, object] = {"name": node.name, "value": node.value, "low": node.low, "high": node.high,
                                 "unit": node.unit}
    if isinstance(node, Fact):
        return common | {"how": node.how, "origin": node.origin, "text": node.text, "by": node.by, "when": node.when,
                         "instrument": node.instrument, "source": node.source}
    return common | {"formula": node.formula.name if node.formula else "", "sources":
                     list(node.formula.sources) if node.formula else [], "refusal": node.refusal, "end": node.result,
                     "inputs": {name: _tree(child) for name, child in node.inputs.items()}}
