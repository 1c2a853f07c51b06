"""Writing files whole or not at all, and printing tables."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from rich.console import Console
from rich.table import Table

from stillbore.errors import StillboreError


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


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is either there whole or not at all: beside it first, then put in its place."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as draft:
            try:
                draft.write(content)
                draft.flush()
                os.fsync(draft.fileno())
                os.replace(draft.name, path)
            except BaseException:
                os.unlink(draft.name)
                raise
        os.chmod(path, 0o644)
    except OSError as error:
        raise StillboreError(f"{path} cannot be written: {error.strerror}.",
                             "Choose another place with --html, --pdf or --sheet.", path=str(path)) from None
