"""Filling a new pipe with gas: how much, how fast, how long."""

from math import pi, sqrt

from stillbore.physics.refusals import first_refusal, not_negative, positive

TENTH_TO_NINE_TENTHS = 2.5631031310892007  # standard deviations between 10 and 90 % of a normal front


def purge_time_refusal(volume: float, flow: float) -> int:
    return first_refusal((not_negative(volume), positive(flow)))


def purge_time(volume: float, flow: float) -> float:
    """How long a flow takes to pass a volume.

    Formula:  t = V / Q

    Args:
        volume: volume to be passed, V [m3], rises
        flow: flow, Q [m3/s], falls
    Returns:
        t: time [s]
    Source: FLOW-CONTINUITY
    """
    return volume / flow


def flow_at_velocity_refusal(velocity: float, bore: float) -> int:
    return first_refusal((not_negative(velocity), positive(bore)))


def flow_at_velocity(velocity: float, bore: float) -> float:
    """Flow in a round bore at a mean velocity.

    Formula:  Q = u pi d^2 / 4

    Args:
        velocity: mean velocity, u [m/s], rises
        bore: inside diameter, d [m], rises
    Returns:
        Q: flow [m3/s]
    Source: FLOW-CONTINUITY
    """
    return 0.25 * pi * bore * bore * velocity


def laminar_dispersion_refusal(radius: float, velocity: float, diffusivity: float) -> int:
    return first_refusal((positive(radius), not_negative(velocity), positive(diffusivity)))


def laminar_dispersion(radius: float, velocity: float, diffusivity: float) -> float:
    """How a front of gas and air spreads in laminar flow: the coefficient of dispersion.

    Formula:  K = D_m + a^2 u^2 / (48 D_m)

    Args:
        radius: half the bore, a [m], rises
        velocity: mean velocity, u [m/s], rises
        diffusivity: diffusion coefficient of gas in air, D_m [m2/s], turns
    Returns:
        K: dispersion coefficient [m2/s]
    Source: TAYLOR-ARIS
    Notes: For laminar flow, below a Reynolds number of about 2,000, and after a time of about a^2 / (4 D_m); a purge of
        a small service lies there or in the transition, where Taylor's turbulent form does not hold.
    """
    return diffusivity + radius * radius * velocity * velocity / (48.0 * diffusivity)


def mixing_length_refusal(dispersion: float, length: float, velocity: float) -> int:
    return first_refusal((not_negative(dispersion), not_negative(length), positive(velocity)))


def mixing_length(dispersion: float, length: float, velocity: float) -> float:
    """Length of the mixture between a tenth and nine tenths of gas, once the front has come a length.

    Formula:  l = 2.5631 sqrt(2 K L / u)

    Args:
        dispersion: dispersion coefficient, K [m2/s], rises
        length: length the front has come, L [m], rises
        velocity: mean velocity, u [m/s], falls
    Returns:
        l: length of the mixture [m]
    Source: TAYLOR-ARIS
    """
    return TENTH_TO_NINE_TENTHS * sqrt(2.0 * dispersion * length / velocity)
