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


def volume_each_length_refusal(volume: float, length: float) -> int:
    return first_refusal((not_negative(volume), positive(length)))


def volume_each_length(volume: float, length: float) -> float:
    """Volume that goes into each metre of a length.

    Formula:  v = V / L

    Args:
        volume: volume over the whole length, V [m3], rises
        length: the length, L [m], falls
    Returns:
        v: volume per metre of length [m3/m]
    Source: STILLBORE-DEFINITION
    """
    return volume / length


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


def stored_energy_refusal(gauge_pressure: float, volume: float) -> int:
    return first_refusal((not_negative(gauge_pressure), not_negative(volume)))


def stored_energy(gauge_pressure: float, volume: float) -> float:
    """Work that gas under pressure can do as it comes out, at the most.

    Formula:  E = p V

    Args:
        gauge_pressure: pressure of the gas, p [Pa gauge], rises
        volume: volume that it fills, V [m3], rises
    Returns:
        E: energy [J]
    Source: IDEAL-GAS
    Notes: An upper bound up to four times the air's pressure. Expanding against the air at constant temperature the gas
        does (p + p_atm) V ln(1 + p / p_atm) - p V: a sixth of p V at 350 mbar, five sixths at 3 bar.
    """
    return gauge_pressure * volume
