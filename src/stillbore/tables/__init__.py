"""Published tables as printed: one file each, with source, transcriber's checksum, and every number as text.

A table module holds ``TABLE = Table(...)``. Numbers stay the text that was printed, so that the digits (and with
them the tolerance of a check against them) are not lost; ``number`` turns a cell into a float of its SI unit.
"""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import dataclass
from decimal import Decimal

from stillbore.errors import StillboreError
from stillbore.units import UNITS


@dataclass(frozen=True)
class Column:
    """A column: its name, and for numbers the SI unit and the unit it is printed in ("" for text)."""

    name: str
    si_unit: str = ""
    printed_unit: str = ""


@dataclass(frozen=True)
class Table:
    """A published table. ``source`` is a key of SOURCES; ``status`` says how the figures came here (found,
    from memory, computed with a named library, common practice); ``checksum`` is the sum of every printed number,
    as text, added up apart from the rows."""

    title: str
    source: str
    status: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    checksum: str
    notes: str = ""

    def _index(self, column: str) -> int:
        for index, candidate in enumerate(self.columns):
            if candidate.name == column:
                return index
        raise KeyError(column)

    def row(self, **keys: str) -> tuple[str, ...]:
        """The first row whose text columns equal the keys. Raises KeyError."""
        for row in self.rows:
            if all(row[self._index(name)] == wanted for name, wanted in keys.items()):
                return row
        raise KeyError(keys)

    def printed(self, column: str, **keys: str) -> str:
        """A cell as printed ("" where the table has none)."""
        return self.row(**keys)[self._index(column)]

    def number(self, column: str, **keys: str) -> float:
        """A cell in SI. Raises KeyError where the table has no such row or an empty cell."""
        text = self.printed(column, **keys)
        if not text:
            raise KeyError((column, keys))
        return self.in_si(column, text)

    def in_si(self, column: str, text: str) -> float:
        heading = self.columns[self._index(column)]
        factor, offset = UNITS[heading.si_unit][heading.printed_unit]
        return float(text) * factor + offset

    def total(self) -> Decimal:
        """The sum of every printed number, for the checksum test."""
        return sum((Decimal(cell) for row in self.rows for cell, column in zip(row, self.columns, strict=True)
                    if column.si_unit and cell), Decimal(0))


def names() -> tuple[str, ...]:
    """The names of all tables."""
    return tuple(sorted(module.name for module in pkgutil.iter_modules(__path__)))


def table(name: str) -> Table:
    """A table by name. Raises StillboreError with the list of names."""
    if name not in names():
        raise StillboreError(f"There is no table '{name}'.", f"Choose one of: {', '.join(names())}.", table=name)
    return importlib.import_module(f"{__name__}.{name}").TABLE
