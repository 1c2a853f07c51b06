"""How lengths are written and ruled on a drawing: in millimetres, or in inches with decimals; along a whole service in
metres or in feet. What is drawn is of the same size in both."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from stillbore.display import Display


@dataclass(frozen=True)
class Ruler:
    """A unit of length in metres, its sign and its name; with how many decimals a feed of the screw is written, and how
    many a length along the pipe.

    ``ticks``: metres from one mark of the travel strip to the next; ``number_every`` and ``long_every`` in ticks.
    ``check``: a length to check a print by, in units. ``bar``: a scale bar, in units on paper at 1:1, and its parts;
    ``bar_along`` the same on a drawing at 1:5. ``far``: the unit of the way along a service, in metres, ``far_sign``
    and ``far_name`` its sign and name.
    """

    unit: float
    sign: str
    name: str
    fine: int
    along: int
    ticks: float
    number_every: int
    long_every: int
    check: float
    bar: tuple[float, int]
    bar_along: tuple[float, int]
    far: float
    far_sign: str
    far_name: str

    def feed(self, value: float) -> str:
        """A length as exact as it can be read on a feed screw."""
        text = f"{value / self.unit:.{self.fine}f}"
        return text.lstrip("-") if float(text) == 0.0 else text

    def whole(self, value: float) -> str:
        """A length along the pipe as exact as it can be marked with a scriber."""
        return f"{value / self.unit:.{self.along}f}"

    def whole_span(self, low: float, high: float) -> str:
        """A range of lengths, each end as exact as it can be marked."""
        first, last = self.whole(low), self.whole(high)
        return first if first == last else f"{first} to {last}"

    def far_bar(self, longest: float) -> tuple[float, str]:
        """A scale bar along a service: a round length [m] of at most ``longest`` (down to a tenth of the unit), and
        its words."""
        units = longest / self.far * (1.0 + 1e-9)
        round_units = float(math.floor(units)) if units >= 1.0 else max(math.floor(10.0 * units), 1) / 10.0
        return round_units * self.far, f"{round_units:g} {self.far_sign}"

    def at_most(self, value: float) -> str:
        """A limit from above, rounded down."""
        return self._rounded(value, math.floor, 1e-6)

    def at_least(self, value: float) -> str:
        """A limit from below, rounded up."""
        return self._rounded(value, math.ceil, -1e-6)

    def _rounded(self, value: float, to: Callable[[float], int], hair: float) -> str:
        tens = 10**self.along
        return f"{to(tens * value / self.unit + hair) / tens:.{self.along}f}"

    def tick_text(self, count: int) -> str:
        """What is written at a mark of the travel strip."""
        value = count * self.ticks / self.unit
        return f"{value:.0f}" if self.ticks >= self.unit else f"{value:.1f}"


MILLIMETRES = Ruler(1e-3, "mm", "millimetres", 1, 0, 1e-3, 5, 10, 50.0, (50.0, 5), (200.0, 4), 1.0, "m", "metres")
INCHES = Ruler(0.0254, "in", "inches", 3, 1, 0.00127, 4, 20, 2.0, (2.0, 4), (8.0, 4),
               0.3048, "ft", "feet")


def ruler_of(display: Display) -> Ruler:
    """The ruler of a system of units."""
    return INCHES if display.unit("m", MILLIMETRES.sign) == INCHES.sign else MILLIMETRES
