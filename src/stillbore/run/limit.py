"""A number that a question can be held to."""

from __future__ import annotations

from dataclasses import dataclass

from stillbore.units import show


@dataclass(frozen=True)
class Limit:
    """A number of the plan or the rule set: SI, with its unit and the unit it is shown in; None where not known.
    ``title`` and ``written`` are what the plan calls it and how it writes it, with its best value; "" of a fact."""

    name: str
    low: float | None
    high: float | None
    unit: str
    shown: str
    title: str = ""
    written: str = ""

    @property
    def text(self) -> str:
        if self.low is None or self.high is None:
            return "unknown"
        first = show(self.low, self.unit, self.shown or None)
        return first if self.low == self.high else f"{first} to {show(self.high, self.unit, self.shown or None)}"
