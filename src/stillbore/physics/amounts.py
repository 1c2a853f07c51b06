"""How much to bring: a length or a volume with what is lost of it."""

from stillbore.physics.refusals import first_refusal, not_negative


def length_to_bring_refusal(length: float, share: float) -> int:
    return first_refusal((not_negative(length), not_negative(share)))


def length_to_bring(length: float, share: float) -> float:
    """Length to bring of what is laid by the metre.

    Formula:  L_b = s L

    Args:
        length: length that is laid, L [m], rises
        share: what to bring over what is laid, s [-], rises
    Returns:
        L_b: length to bring [m]
    Source: COMMON-PRACTICE
    """
    return share * length
