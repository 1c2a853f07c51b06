"""All text of the pages, from the catalogue: one TOML file for each language, the same keys in each.

Sentences of the engine (refusals, findings, the order of work) come as they are: they stand in the log, and a log says
the same to every reader. What schemas call things is put into words by ``terms``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from types import MappingProxyType

DEFAULT = "en"


@dataclass(frozen=True)
class Wording:
    """One language: its short name, its own name, its texts by dotted key, and its words for what schemas and the order
    of the work call things, by their own."""

    language: str
    texts: Mapping[str, str]
    terms: Mapping[str, str] = field(default_factory=dict)

    def term(self, text: str) -> str:
        """What this language calls something that a schema names: a field, a choice, a role, a card. What it has no
        word for stays as it is: an operator's own order of work is in the operator's language."""
        return self.terms.get(text, text)

    def __call__(self, key: str, **fill: object) -> str:
        """A text with its gaps filled. Raises KeyError for a key that the catalogue has not: a test finds it first."""
        return self.texts[key].format(**fill) if fill else self.texts[key]


def _flat(data: Mapping[str, object], before: str) -> Iterator[tuple[str, str]]:
    for key, value in data.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", str(value)


@cache
def wordings() -> Mapping[str, Wording]:
    """Every language of the catalogue, the default one first."""
    found = {}
    for file in files("stillbore.app.catalogue").iterdir():
        name = file.name
        if name.endswith(".toml"):
            data = tomllib.loads(file.read_text(encoding="utf-8"))
            found[name.removesuffix(".toml")] = dict(_flat(data, ""))
    terms = {}
    for file in files("stillbore.app.catalogue").joinpath("terms").iterdir():
        terms[file.name.removesuffix(".toml")] = MappingProxyType(tomllib.loads(file.read_text(encoding="utf-8")))
    order = sorted(found, key=lambda name: (name != DEFAULT, name))
    return {name: Wording(name, found[name], terms.get(name, MappingProxyType({}))) for name in order}
