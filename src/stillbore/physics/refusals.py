"""Refusal codes, and the sentence for each.

Every physics function with a limited domain has a sibling ``<name>_refusal`` with the same parameters that
returns one of these codes; callers ask it first. Codes, not exceptions, so that a batch of a million rows
can go on past a bad one, and because compiled code does not raise where Python does.
"""

from math import isfinite

OK = 0
NOT_FINITE = 1
NOT_POSITIVE = 2
NEGATIVE = 3
WALL_TOO_THICK = 4
NO_FULL_HOLE = 5
REVERSED = 6
OUT_OF_RANGE = 7
NO_ROOT = 8
NOT_COMPOSITION = 9
NEVER_REACHED = 10
KERF_TOO_WIDE = 11
NO_DROP = 12
PILOT_TOO_WIDE = 13
SMALLEST_ABOVE_LARGEST = 14
NO_WALL_LEFT = 15

REFUSALS = {
    NOT_FINITE: "A value is not a number, or infinite.",
    NOT_POSITIVE: "A value that must be above zero is zero or below.",
    NEGATIVE: "A value that cannot be negative is negative.",
    WALL_TOO_THICK: "The wall is half the outside diameter or more; there is no bore.",
    NO_FULL_HOLE: "The saw, off centre as it is, is wider than the bore: it runs into the side wall and never makes "
                  "a full hole.",
    REVERSED: "The upstream pressure is below the downstream pressure.",
    OUT_OF_RANGE: "A value lies outside the range for which the formula holds.",
    NO_ROOT: "There is no solution within the bracket that was searched.",
    NOT_COMPOSITION: "The mole fractions do not add up to one, or one of them is negative.",
    NEVER_REACHED: "The limit asked about is never reached.",
    KERF_TOO_WIDE: "Twice the kerf is the saw's diameter or more; there is no coupon.",
    NO_DROP: "The pressure did not fall when the two volumes were joined, so that it says nothing of the volume.",
    PILOT_TOO_WIDE: "The pilot is as wide as the coupon or wider; no coupon is left.",
    SMALLEST_ABOVE_LARGEST: "The smallest of the measurements is larger than the largest.",
    NO_WALL_LEFT: "The thread is cut as deep as the wall or deeper; no wall is left under it.",
}


def first_refusal(codes: tuple[int, ...]) -> int:
    """The first code that is not OK; the checks are written in the order a person would make them."""
    for code in codes:
        if code != OK:
            return code
    return OK


def positive(value: float) -> int:
    """OK for a finite value above zero. Written with ``not`` so that NaN is refused too."""
    if not isfinite(value):
        return NOT_FINITE
    return OK if value > 0.0 else NOT_POSITIVE


def not_negative(value: float) -> int:
    """OK for a finite value of zero or more."""
    if not isfinite(value):
        return NOT_FINITE
    return OK if value >= 0.0 else NEGATIVE


def finite(value: float) -> int:
    """OK for a finite value."""
    return OK if isfinite(value) else NOT_FINITE
