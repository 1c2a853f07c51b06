"""What is dug: the pit's size, and what lies beside it."""

from stillbore.physics.refusals import first_refusal, not_negative, positive


def pit_volume_refusal(length: float, width: float, depth: float) -> int:
    return first_refusal((not_negative(length), not_negative(width), not_negative(depth)))


def pit_volume(length: float, width: float, depth: float) -> float:
    """Volume of a pit with upright sides.

    Formula:  V = L W H

    Args:
        length: length, L [m], rises
        width: width, W [m], rises
        depth: depth, H [m], rises
    Returns:
        V: volume [m3]
    Source: STILLBORE-DEFINITION
    """
    return length * width * depth


def spoil_volume_refusal(volume: float, bulking: float) -> int:
    return first_refusal((not_negative(volume), positive(bulking)))


def spoil_volume(volume: float, bulking: float) -> float:
    """Volume of loose spoil from a volume of ground.

    Formula:  V_s = b V

    Args:
        volume: volume in the ground, V [m3], rises
        bulking: loose volume over volume in the ground, b [-], rises
    Returns:
        V_s: loose volume [m3]
    Source: SOIL-BULKING
    """
    return bulking * volume


def spoil_mass_refusal(volume: float, density: float) -> int:
    return first_refusal((not_negative(volume), positive(density)))


def spoil_mass(volume: float, density: float) -> float:
    """Mass of what is dug.

    Formula:  m = rho V

    Args:
        volume: volume in the ground, V [m3], rises
        density: density in the ground, rho [kg/m3], rises
    Returns:
        m: mass [kg]
    Source: STILLBORE-DEFINITION
    """
    return density * volume
