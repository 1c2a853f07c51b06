"""stillbore tables: a published table as printed, with its source."""

from __future__ import annotations

import click

from stillbore.cli import print_json
from stillbore.cli.output import console, table
from stillbore.sources import SOURCES
from stillbore.tables import names
from stillbore.tables import table as find


@click.command("tables")
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, numbers as the text that was printed.")
def command(name: str | None, as_json: bool) -> None:
    """Print the published table NAME with its source; without a name list them all."""
    if name is None:
        if as_json:
            print_json([{"name": each, "title": find(each).title, "source": find(each).source} for each in names()])
            return
        listing = table("Tables", "name", "title", "status")
        for each in names():
            listing.add_row(each, find(each).title, find(each).status)
        console().print(listing)
        return
    found = find(name)
    if as_json:
        print_json({"name": name, "title": found.title, "status": found.status, "notes": found.notes,
                    "source": {found.source: SOURCES[found.source]},
                    "columns": [{"name": column.name, "unit": column.printed_unit} for column in found.columns],
                    "rows": found.rows, "checksum": found.checksum})
        return
    shown = table(found.title, *(f"{column.name} [{column.printed_unit}]" if column.printed_unit else column.name
                                 for column in found.columns))
    for row in found.rows:
        shown.add_row(*row)
    console().print(shown)
    click.echo(f"Source: {found.source}: {SOURCES[found.source]}")
    click.echo(f"Status: {found.status}. Sum of every printed number: {found.checksum}.")
    if found.notes:
        click.echo(f"Notes: {found.notes}")
