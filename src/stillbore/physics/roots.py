"""The one solver: a bracket that always holds the root, narrowed by inverse quadratic steps where they help.

T. R. Chandrupatla, A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function without
using derivatives, Advances in Engineering Software 28 (1997) 145-149. It never leaves the bracket, needs no
derivative, and takes about eight evaluations where halving takes fifty.
"""

from collections.abc import Callable
from math import isfinite

RESOLUTION = 2.0**-52  # spacing of floats at one


def solve(function: Callable[..., float], low: float, high: float, arguments: tuple[float, ...]) -> float:
    """A root of ``function(x, *arguments)`` between low and high, to the resolution of floats.

    The caller has made sure, by its refusal function, that the values at low and high have opposite signs.
    """
    newest, opposite, before = high, low, high
    at_newest, at_opposite = function(newest, *arguments), function(opposite, *arguments)
    at_before = at_newest
    step = 0.5
    best = newest if abs(at_newest) < abs(at_opposite) else opposite
    for _ in range(200):
        tried = newest + step * (opposite - newest)
        at_tried = function(tried, *arguments)
        if (at_tried > 0.0) == (at_newest > 0.0):
            before, at_before = newest, at_newest
        else:
            before, at_before = opposite, at_opposite
            opposite, at_opposite = newest, at_newest
        newest, at_newest = tried, at_tried
        best, at_best = (newest, at_newest) if abs(at_newest) < abs(at_opposite) else (opposite, at_opposite)
        width = abs(opposite - before) if opposite != before else abs(opposite - newest)
        least_step = 2.0 * RESOLUTION * abs(best) / width if width > 0.0 else 1.0
        if at_best == 0.0 or least_step > 0.5 or not (abs(opposite - newest) > 2.0 * RESOLUTION * abs(best)):
            break
        step = 0.5
        if at_before not in (at_opposite, at_newest) and before != opposite:
            place = (newest - opposite) / (before - opposite)
            rise = (at_newest - at_opposite) / (at_before - at_opposite)
            if rise * rise < place and (1.0 - rise) * (1.0 - rise) < 1.0 - place:
                step = (at_newest / (at_opposite - at_newest) * at_before / (at_opposite - at_before)
                        + (before - newest) / (opposite - newest) * at_newest / (at_before - at_newest)
                        * at_opposite / (at_before - at_opposite))
        step = min(1.0 - least_step, max(least_step, step))
    return best


def holds_root(function: Callable[..., float], low: float, high: float, arguments: tuple[float, ...]) -> bool:
    """Whether the bracket holds a sign change (both ends finite)."""
    at_low = function(low, *arguments)
    at_high = function(high, *arguments)
    return isfinite(at_low) and isfinite(at_high) and (at_low > 0.0) != (at_high > 0.0)
