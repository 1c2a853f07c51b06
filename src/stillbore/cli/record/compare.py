"""stillbore record compare: in what two logs differ."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.record.handed import handed
from stillbore.record.compare import compare
from stillbore.run.as_json import comparison_json

PATH = click.Path(path_type=Path)


@click.command("compare")
@click.argument("first", type=PATH)
@click.argument("second", type=PATH)
@click.option("--json", "as_json", is_flag=True, help="Print the differences as JSON.")
def command(first: Path, second: Path, as_json: bool) -> None:
    """Say in what two exports, FIRST and SECOND, differ: events that only one has, answers, holds, times."""
    found = compare(handed(first).lines, handed(second).lines)
    if as_json:
        print_json(comparison_json(found))
        return
    for sentence in found.sentences:
        click.echo(sentence)
