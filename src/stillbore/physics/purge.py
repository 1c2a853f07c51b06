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


def velocity_at_flow_refusal(flow: float, bore: float) -> int:
    return first_refusal((not_negative(flow), positive(bore)))


def velocity_at_flow(flow: float, bore: float) -> float:
    """Mean velocity of a flow in a round bore.

    Formula:  u = 4 Q / (pi d^2)

    Args:
        flow: flow, Q [m3/s], rises
        bore: inside diameter, d [m], falls
    Returns:
        u: mean velocity [m/s]
    Source: FLOW-CONTINUITY
    """
    return flow / (0.25 * pi * bore * bore)


def time_along_refusal(length: float, velocity: float) -> int:
    return first_refusal((not_negative(length), positive(velocity)))


def time_along(length: float, velocity: float) -> float:
    """Time that a front takes along a length.

    Formula:  t = L / u

    Args:
        length: length, L [m], rises
        velocity: mean velocity, u [m/s], falls
    Returns:
        t: time [s]
    Source: FLOW-CONTINUITY
    """
    return length / velocity


def spreading_time_refusal(radius: float, diffusivity: float) -> int:
    return first_refusal((positive(radius), positive(diffusivity)))


def spreading_time(radius: float, diffusivity: float) -> float:
    """Time in which gas spreads across the bore; only well after it does laminar_dispersion hold.

    Formula:  t = a^2 / (4 D_m)

    Args:
        radius: half the bore, a [m], rises
        diffusivity: diffusion coefficient of gas in air, D_m [m2/s], falls
    Returns:
        t: time [s]
    Source: TAYLOR-ARIS
    """
    return radius * radius / (4.0 * diffusivity)


def half_bore_refusal(bore: float) -> int:
    return positive(bore)


def half_bore(bore: float) -> float:
    """Half the bore.

    Formula:  a = d / 2

    Args:
        bore: inside diameter, d [m], rises
    Returns:
        a: radius of the bore [m]
    Source: STILLBORE-DEFINITION
    """
    return 0.5 * bore


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
