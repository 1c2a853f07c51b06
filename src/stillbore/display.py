"""In which system numbers are shown: metric, or inches and pounds. Inside the program everything is SI.

A plan holds the display it was made for, and every number, check, document and drawing of it asks that one. Nothing is
global: two plans of one process are shown each in its own system. How a person wrote a fact is not changed; where it is
said in a sentence, it is said in the plan's system.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from stillbore.derive import Fact, Node, span_text
from stillbore.units import UNITS, default_unit, show, show_difference, unit_written

# The inch-pound unit in which an SI unit is shown: (up to this SI value, unit), the first that is large enough. What
# has no row is shown alike everywhere: seconds, degrees, volts, percent. Up to three feet a length is in inches, up to
# 2 psi a pressure in inches of water, as the trade's own gauges and tapes are (common practice); below a hundredth of a
# cubic foot an hour a leak is in cubic inches, so that it can be read without counting noughts.
INCH_POUND: dict[str, tuple[tuple[float, str], ...]] = {
    "m": ((3 * 0.3048, "in"), (math.inf, "ft")),
    "m2": ((0.3048**2, "in2"), (math.inf, "ft2")),
    "m3": ((0.3048**3, "in3"), (math.inf, "ft3")),
    "m3/m": ((math.inf, "in3/ft"),),
    "section modulus m3": ((math.inf, "in3"),),
    "m4": ((math.inf, "in4"),),
    "m2/s": ((math.inf, "ft2/s"),),
    "m3/s": ((0.01 * 0.3048**3 / 3600, "in3/h"), (math.inf, "ft3/h")),
    "m/s": ((math.inf, "ft/s"),),
    "m/s2": ((math.inf, "ft/s2"),),
    "kg": ((0.45359237, "oz"), (math.inf, "lb")),
    "kg/m": ((math.inf, "lb/ft"),),
    "kg/m3": ((math.inf, "lb/ft3"),),
    "kg/s": ((math.inf, "lb/h"),),
    "K": ((math.inf, "degF"),),
    "K difference": ((math.inf, "degF"),),
    "1/K": ((math.inf, "uin/(in degF)"),),
    "K/s": ((math.inf, "degF/min"),),
    "Pa": ((2 * 6894.757293168361, "in w.c."), (math.inf, "psi")),
    "Pa gauge": ((2 * 6894.757293168361, "in w.c."), (math.inf, "psi")),
    "Pa abs": ((math.inf, "psia"),),
    "Pa/K": ((math.inf, "in w.c./degF"),),
    "Pa/s": ((math.inf, "in w.c./min"),),
    "N": ((math.inf, "lbf"),),
    "N/m": ((math.inf, "lbf/ft"),),
    "N m": ((math.inf, "lbf ft"),),
    "W": ((math.inf, "Btu/h"),),
    "J/kg": ((math.inf, "Btu/lb"),),
    "J/m3": ((math.inf, "Btu/ft3"),),
}
# Every unit that belongs to the inch-pound system, also those that are only read.
INCH_POUND_UNITS = frozenset(unit for row in INCH_POUND.values() for _, unit in row) | {
    "yd", "cfh", "lb/s", "degF/h", "psig", "inH2O", "inHg"}


@dataclass(frozen=True, eq=False)
class Display:
    """A system of units to show numbers in; ``units`` is empty where the unit asked for is the one shown."""

    name: str
    units: Mapping[str, tuple[tuple[float, str], ...]] = field(default_factory=dict, repr=False)

    def unit(self, si_unit: str, metric: str | None, *sizes: float | None) -> str:
        """The unit in which values of these sizes (SI; None where not known) are shown together.

        ``metric`` is the unit in which they are shown where the system is metric, None for the usual one.
        """
        if si_unit not in self.units:
            return default_unit(si_unit) if metric is None else metric
        largest = max((abs(size) for size in sizes if size is not None), default=0.0)
        return next(unit for most, unit in self.units[si_unit] if largest < most)

    def unit_of(self, metric: str | None, *nodes: Node) -> str:
        """The unit in which several nodes of one SI unit are shown together."""
        ends = [end for node in nodes for end in (node.low, node.high)]
        return self.unit(nodes[0].unit, metric, *ends)

    def show(self, value: float, si_unit: str, metric: str | None = None, significant: int = 3) -> str:
        """An SI value as text with its unit, for people."""
        return show(value, si_unit, self.unit(si_unit, metric, value), significant)

    def show_difference(self, value: float, si_unit: str, metric: str) -> str:
        """A difference of two values as text."""
        return show_difference(value, si_unit, self.unit(si_unit, metric, value))

    def span(self, node: Node, metric: str | None = None) -> str:
        """A node with its range as text."""
        return span_text(node, self.unit_of(metric, node))

    def said(self, fact: Fact, metric: str | None = None) -> str:
        """A fact in a sentence: as it was written, where that is in this system; else worked over into it."""
        written = unit_written(fact.text, fact.unit)
        if written is None or not fact.known or self.is_own(written):
            return fact.text
        return self.span(fact, metric)

    def is_own(self, unit: str) -> bool:
        """Whether a unit is shown as it is in this system."""
        if self.units:
            return unit in INCH_POUND_UNITS or not any(unit in UNITS[si_unit] for si_unit in self.units)
        return unit not in INCH_POUND_UNITS


METRIC = Display("metric")
US = Display("us", INCH_POUND)
DISPLAYS = {display.name: display for display in (METRIC, US)}
