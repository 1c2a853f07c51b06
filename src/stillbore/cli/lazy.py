"""A group of commands whose modules are imported when they are called, so that --help stays quick."""

from __future__ import annotations

import importlib
from collections.abc import Mapping

import click


class LazyGroup(click.Group):
    """Commands by name, each in a module of its own that holds ``command``."""

    def __init__(self, *arguments: object, package: str = "", summaries: Mapping[str, str] | None = None,
                 **options: object) -> None:
        super().__init__(*arguments, **options)  # type: ignore[arg-type]
        self.package = package
        self.summaries = dict(summaries or {})

    def list_commands(self, context: click.Context) -> list[str]:
        return list(self.summaries)

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in self.summaries:
            return None
        return importlib.import_module(f"{self.package}.{name}").command  # type: ignore[no-any-return]

    def format_commands(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(self.summaries.items()))


def lazy_group(name: str, about: str, package: str, summaries: Mapping[str, str]) -> LazyGroup:
    """A group whose commands stand in the modules of ``package``, with the line that help shows for each."""
    return LazyGroup(name, help=about, package=package, summaries=summaries,
                     context_settings={"help_option_names": ["-h", "--help"]})
