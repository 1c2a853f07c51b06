"""Volumes of rig and leg: what a leak or a let-by fills."""

from math import pi

from stillbore.physics.refusals import first_refusal, not_negative, positive


def joined_volume_refusal(volume: float, further_volume: float) -> int:
    return first_refusal((not_negative(volume), not_negative(further_volume)))


def joined_volume(volume: float, further_volume: float) -> float:
    """Volume of two spaces that are open to each other.

    Formula:  V = V_1 + V_2

    Args:
        volume: one space, V_1 [m3], rises
        further_volume: the other, V_2 [m3], rises
    Returns:
        V: both together [m3]
    Source: STILLBORE-DEFINITION
    """
    return volume + further_volume


def scaled_volume_refusal(volume: float, factor: float) -> int:
    return first_refusal((not_negative(volume), not_negative(factor)))


def scaled_volume(volume: float, factor: float) -> float:
    """A volume with the uncertainty of its measurement.

    Formula:  V_u = u V

    Args:
        volume: volume as declared, V [m3], rises
        factor: one, with its uncertainty, u [-], rises
    Returns:
        V_u: volume with its range [m3]
    Source: STILLBORE-DEFINITION
    """
    return factor * volume


def leg_volume_refusal(bore: float, length: float) -> int:
    return first_refusal((positive(bore), not_negative(length)))


def leg_volume(bore: float, length: float) -> float:
    """Volume of a length of pipe.

    Formula:  V = pi d^2 L / 4

    Args:
        bore: inside diameter, d [m], rises
        length: length, L [m], rises
    Returns:
        V: volume [m3]
    Source: GEOM-SECTION
    """
    return 0.25 * pi * bore * bore * length
