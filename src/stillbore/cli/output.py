"""Printing tables, and writing files whole or not at all."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from stillbore.store.whole import write_whole

__all__ = ["console", "table", "write_whole"]


def console() -> Console:
    """A console without colour: black on white carries all meaning. Piped output is not wrapped to 80 columns."""
    plain = Console(no_color=True, highlight=False, soft_wrap=False, markup=False, emoji=False)
    return plain if plain.is_terminal else Console(no_color=True, highlight=False, markup=False, emoji=False, width=150)


def table(title: str, *columns: str) -> Table:
    """An empty table with its title above."""
    made = Table(title=title, title_justify="left", title_style="bold", header_style="bold", box=None, pad_edge=False,
                 padding=(0, 2, 0, 0))
    for column in columns:
        made.add_column(column, overflow="fold")
    return made
