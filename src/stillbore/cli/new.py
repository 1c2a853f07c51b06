"""stillbore new: a commented file to fill in, or a shipped order of work to start from."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.output import write_whole
from stillbore.errors import StillboreError
from stillbore.job.files import EXAMPLES, example_text
from stillbore.job.kit import DATUMS, KIT
from stillbore.job.rules import RULES
from stillbore.job.shipped import BUILDS, ROUTES, composed
from stillbore.job.survey import SURVEY
from stillbore.job.template import template

KINDS = {"survey": SURVEY, "kit": KIT, "rules": RULES}
NAMES = {name.removesuffix(".toml"): name for names in EXAMPLES.values() for name in names}
PROCEDURE = "procedure"


@click.command("new")
@click.argument("path", type=click.Path(dir_okay=False, path_type=Path), required=False)
@click.option("--kind", type=click.Choice([*KINDS, PROCEDURE]), default="survey", show_default=True, help="Which file.")
@click.option("--example", is_flag=True, help="The invented example, filled in, instead of a blank.")
@click.option("--like", type=click.Choice(list(NAMES)), help="Another of the invented examples, filled in.")
@click.option("--route", type=click.Choice(list(ROUTES)), help="What follows the cut; for a procedure.")
@click.option("--build", type=click.Choice(list(BUILDS)), help="Build of the kit; for a procedure.")
@click.option("--counted-from", type=click.Choice(DATUMS),
              help="Where the kit counts travel from; for a procedure. By default as the shipped kit of that build.")
def command(path: Path | None, kind: str, example: bool, like: str | None, route: str | None, build: str | None,
            counted_from: str | None) -> None:
    """Write a commented survey (or kit, or rule set) to fill in, or a procedure to change.

    PATH is the file to write, by default survey.toml, kit.toml, rules.toml or procedure.toml here. A file that exists
    is left alone. A procedure is the shipped, invented one for --route and --build, whole: it stands by itself.
    """
    target = path or Path(f"{kind}.toml")
    if target.exists():
        raise StillboreError(f"{target} exists.", "Give another name; it is left as it is.", path=str(target))
    if kind == PROCEDURE:
        if route is None or build is None:
            raise StillboreError("A procedure is for one route and one build of kit.",
                                 f"Say which: --route ({', '.join(ROUTES)}) and --build ({', '.join(BUILDS)}).")
        write_whole(target, composed(build, route, counted_from or "").encode())
        click.echo(f"Wrote {target}. Change it to your own; then: stillbore procedure check {target}")
        return
    name = EXAMPLES[kind][0] if like is None else NAMES[like]
    if name not in EXAMPLES[kind]:
        raise StillboreError(f"The example {like} is no {kind}.", "Of this kind there are: "
                             f"{', '.join(each.removesuffix('.toml') for each in EXAMPLES[kind])}.")
    write_whole(target, (example_text(name) if example or like else template(KINDS[kind])).encode())
    click.echo(f"Wrote {target}. Fill it in; what nobody knows is \"unknown\", a blank is refused.")
