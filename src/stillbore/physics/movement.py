"""Length that a pipe is given over, so that it can move."""

from stillbore.physics.refusals import first_refusal, not_negative


def snake_refusal(share: float, length: float) -> int:
    return first_refusal((not_negative(share), not_negative(length)))


def snake(share: float, length: float) -> float:
    """Length of pipe to be left over, laid in a snake, for it to draw on when it cools.

    Formula:  S = s L

    Args:
        share: share of the length, s [-], rises
        length: length in which it can be laid so, L [m], rises
    Returns:
        S: length over [m]
    Source: STILLBORE-DEFINITION
    """
    return share * length
