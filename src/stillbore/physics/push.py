"""How far a new pipe can be pushed, and what pull it bears: the limits beside the force of insert.push_force."""

from math import exp, pi

from stillbore.physics.refusals import NEVER_REACHED, OK, OUT_OF_RANGE, first_refusal, not_negative, positive


def push_reach_refusal(force: float, force_in: float, weight: float, friction: float, turned: float) -> int:
    code = first_refusal((positive(force), not_negative(force_in), positive(weight), positive(friction),
                          not_negative(turned)))
    if code != OK:
        return code
    if not (friction * turned <= 20.0):
        return OUT_OF_RANGE
    return OK if force * exp(-friction * turned) >= force_in else NEVER_REACHED


def push_reach(force: float, force_in: float, weight: float, friction: float, turned: float) -> float:
    """Length over which a force pushes a pipe: insert.push_force turned round.

    Formula:  L = (F e^(-mu theta) - F_0)/(mu w)

    Args:
        force: force at the pushing end that may be used, F [N], rises
        force_in: what holds the pipe back without friction in the bore, F_0 [N], falls
        weight: weight of a metre, w [N/m], falls
        friction: coefficient of friction in the bore, mu [-], falls
        turned: sum of the angles of the bends passed, theta [rad], falls
    Returns:
        L: length pushed in [m]
    Source: CAPSTAN-EQUATION
    Notes: Refused where the force does not even overcome what holds the pipe back.
    """
    return (force * exp(-friction * turned) - force_in) / (friction * weight)


def dimension_ratio_refusal(outside_diameter: float, wall: float) -> int:
    return first_refusal((positive(outside_diameter), positive(wall)))


def dimension_ratio(outside_diameter: float, wall: float) -> float:
    """Outside diameter over wall, the number behind SDR 11 and SDR 17.

    Formula:  DR = D / t

    Args:
        outside_diameter: outside diameter, D [m], rises
        wall: wall, t [m], falls
    Returns:
        DR: dimension ratio [-]
    Source: STILLBORE-DEFINITION
    """
    return outside_diameter / wall


def derated_stress_refusal(stress: float, time_share: float, temperature_share: float) -> int:
    code = first_refusal((positive(stress), positive(time_share), positive(temperature_share)))
    if code != OK:
        return code
    return OK if time_share <= 1.0 and temperature_share <= 1.0 else OUT_OF_RANGE


def derated_stress(stress: float, time_share: float, temperature_share: float) -> float:
    """Stress that a PE pipe may be pulled with, for how long the pull lasts and how warm the pipe is.

    Formula:  S = S_0 f_t f_T

    Args:
        stress: allowed stress for a short pull at 23 degC, S_0 [Pa], rises
        time_share: share left for the time of the pull, f_t [-], rises
        temperature_share: share left for the temperature of the pipe, f_T [-], rises
    Returns:
        S: allowed stress [Pa]
    Source: PE-PULL
    """
    return stress * time_share * temperature_share


def held_back_refusal(gland_force: float, gauge_pressure: float, outside_diameter: float) -> int:
    return first_refusal((not_negative(gland_force), not_negative(gauge_pressure), positive(outside_diameter)))


def held_back(gland_force: float, gauge_pressure: float, outside_diameter: float) -> float:
    """What holds a new pipe back without any friction in the bore: the gland, and the gas on its closed nose.

    Formula:  F_0 = F_g + p pi D^2/4

    Args:
        gland_force: force that the gland takes, F_g [N], rises
        gauge_pressure: pressure of the gas ahead of the nose, p [Pa gauge], rises
        outside_diameter: outside diameter of the new pipe, D [m], rises
    Returns:
        F_0: force [N]
    Source: STILLBORE-DEFINITION
    """
    return gland_force + gauge_pressure * 0.25 * pi * outside_diameter * outside_diameter


def usable_force_refusal(force: float, factor: float) -> int:
    return first_refusal((not_negative(force), positive(factor)))


def usable_force(force: float, factor: float) -> float:
    """What may be used of a limiting force when the force against it is known within a factor only.

    Formula:  F_u = F / k

    Args:
        force: limiting force, F [N], rises
        factor: how far out the reckoned force may be, k [-], falls
    Returns:
        F_u: force that may be used [N]
    Source: STILLBORE-DEFINITION
    """
    return force / factor
