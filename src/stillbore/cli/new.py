"""stillbore new: a commented file to fill in."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.output import write_whole
from stillbore.errors import StillboreError
from stillbore.job.files import EXAMPLE_KIT, EXAMPLE_RULES, EXAMPLE_SURVEY, example_text
from stillbore.job.kit import KIT
from stillbore.job.rules import RULES
from stillbore.job.survey import SURVEY
from stillbore.job.template import template

KINDS = {"survey": (SURVEY, EXAMPLE_SURVEY), "kit": (KIT, EXAMPLE_KIT), "rules": (RULES, EXAMPLE_RULES)}


@click.command("new")
@click.argument("path", type=click.Path(dir_okay=False, path_type=Path), required=False)
@click.option("--kind", type=click.Choice(list(KINDS)), default="survey", show_default=True, help="Which file.")
@click.option("--example", is_flag=True, help="The invented example, filled in, instead of a blank.")
def command(path: Path | None, kind: str, example: bool) -> None:
    """Write a commented survey (or kit, or rule set) to fill in.

    PATH is the file to write, by default survey.toml, kit.toml or rules.toml here. A file that exists is left alone.
    """
    schema, name = KINDS[kind]
    target = path or Path(f"{kind}.toml")
    if target.exists():
        raise StillboreError(f"{target} exists.", "Give another name; it is left as it is.", path=str(target))
    write_whole(target, (example_text(name) if example else template(schema)).encode())
    click.echo(f"Wrote {target}. Fill it in; what nobody knows is \"unknown\", a blank is refused.")
