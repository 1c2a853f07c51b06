"""The one solver: bisection on a bracket, with an iteration cap. Open ends and fittings have no closed form."""

from collections.abc import Callable
from math import isfinite


def bisect(function: Callable[..., float], low: float, high: float, arguments: tuple[float, ...]) -> float:
    """A root of ``function(x, *arguments)`` between low and high, to the last bit that halving can reach.

    The caller has made sure, by its refusal function, that the values at low and high have opposite signs.
    """
    at_low = function(low, *arguments)
    for _ in range(200):
        middle = 0.5 * (low + high)
        if not (low < middle < high):
            break
        at_middle = function(middle, *arguments)
        if (at_middle > 0.0) == (at_low > 0.0):
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def holds_root(function: Callable[..., float], low: float, high: float, arguments: tuple[float, ...]) -> bool:
    """Whether the bracket holds a sign change (both ends finite)."""
    at_low = function(low, *arguments)
    at_high = function(high, *arguments)
    return isfinite(at_low) and isfinite(at_high) and (at_low > 0.0) != (at_high > 0.0)
