"""Options with units, read with every fault at once."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.errors import Fault, InputFaults, UnitError
from stillbore.job.kit import KIT
from stillbore.job.schema import load
from stillbore.units import parse_exact

FILE = click.Path(dir_okay=False, path_type=Path)
HOURS = 3600.0


def range_of_gauge(text: str | None, kit: Path | None) -> float | None:
    """End of the gauge's range [Pa gauge]; None where nobody said."""
    if text is not None:
        return parse_exact(text, "Pa gauge")
    return load(KIT, kit).fact("gauge.range").low if kit else None


class Options:
    """Reads quantities written as options and keeps what is wrong with them, to be told at once."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def number(self, option: str, text: str | None, unit: str, otherwise: float | None, source: str) -> float:
        """The option in SI, above zero; ``otherwise`` where it was not given (from the file that ``source`` names)."""
        if text is None:
            if otherwise is None:
                self.faults.append(Fault(option, "is missing.", f"Write {option} with its unit, or give {source}."))
            return otherwise or 1.0
        try:
            value = parse_exact(text, unit)
        except UnitError as error:
            self.faults.append(Fault(option, error.what, error.fix))
            return 1.0
        if not value > 0.0:
            self.faults.append(Fault(option, f"'{text}' is not above zero.", "Write a positive quantity."))
            return 1.0
        return value

    def check(self) -> None:
        """Raises InputFaults if anything was wrong."""
        if self.faults:
            raise InputFaults(self.faults)
