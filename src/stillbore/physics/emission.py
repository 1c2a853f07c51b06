"""What comes out, and what it warms."""

from stillbore.physics.refusals import first_refusal, not_negative, positive


def lost_volume_refusal(flow: float, duration: float) -> int:
    return first_refusal((not_negative(flow), not_negative(duration)))


def lost_volume(flow: float, duration: float) -> float:
    """Volume that a leak loses in a time.

    Formula:  V = Q t

    Args:
        flow: leak, Q [m3/s], rises
        duration: time, t [s], rises
    Returns:
        V: volume, at the conditions of the flow [m3]
    Source: FLOW-CONTINUITY
    """
    return flow * duration


def warming_refusal(volume: float, methane_density: float, warming_factor: float) -> int:
    return first_refusal((not_negative(volume), not_negative(methane_density), positive(warming_factor)))


def warming(volume: float, methane_density: float, warming_factor: float) -> float:
    """Carbon dioxide that warms as much as the methane in a volume of gas.

    Formula:  m = V rho_CH4 G

    Args:
        volume: volume of gas, V [m3], rises
        methane_density: methane in a cubic metre of it, rho_CH4 [kg/m3], rises
        warming_factor: warming of methane over that of carbon dioxide, by mass, G [-], rises
    Returns:
        m: mass of carbon dioxide [kg]
    Source: IPCC-AR6
    Notes: Over a hundred years 29.8 for fossil methane; right within a half.
    """
    return volume * methane_density * warming_factor
