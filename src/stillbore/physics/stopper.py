"""The temporary stopper in the bore: what pushes it out, what holds it, and what seals it.

It is held by nothing but friction. Push-out grows with the pressure and the square of the bore; grip and seal come
from the contact pressure that the squeezed body keeps up against the wall, everywhere at once or not at all.
"""

from math import pi

from stillbore.physics.refusals import first_refusal, not_negative, positive


def push_out_force_refusal(bore: float, gauge_pressure: float) -> int:
    return first_refusal((positive(bore), not_negative(gauge_pressure)))


def push_out_force(bore: float, gauge_pressure: float) -> float:
    """Force with which the gas pushes on a stopper that fills the bore.

    Formula:  F = p pi D^2 / 4

    Args:
        bore: inside diameter of the tube, D [m], rises
        gauge_pressure: pressure behind the stopper, p [Pa gauge], rises
    Returns:
        F: push-out force [N]
    Source: STATICS-FRICTION
    Notes: The other face stands at zero gauge, as with the leg vented.
    """
    return gauge_pressure * pi * bore * bore / 4.0


def largest_gauge_pressure_refusal(force: float, bore: float) -> int:
    return first_refusal((not_negative(force), positive(bore)))


def largest_gauge_pressure(force: float, bore: float) -> float:
    """Pressure at which the push on the stopper reaches the force it is rated for.

    Formula:  p = 4 F / (pi D^2)

    Args:
        force: force that the stopper and its holder are rated for, F [N], rises
        bore: inside diameter of the tube, D [m], falls
    Returns:
        p: pressure behind the stopper [Pa gauge]
    Source: STATICS-FRICTION
    """
    return 4.0 * force / (pi * bore * bore)


def squeeze_refusal(stopper_diameter: float, bore: float) -> int:
    return first_refusal((positive(stopper_diameter), positive(bore)))


def squeeze(stopper_diameter: float, bore: float) -> float:
    """By how much the free stopper is wider than the bore, as a fraction of the bore.

    Formula:  s = (D_free - D) / D

    Args:
        stopper_diameter: free diameter of the stopper, D_free [m], rises
        bore: inside diameter of the tube, D [m], falls
    Returns:
        s: squeeze; below zero the stopper does not touch [-]
    Source: COMMON-PRACTICE
    Notes: Taken over the bore, not over the free diameter: only so do the trade's figures come out (29 mm free in
        25.7 mm is 13 %; over the free diameter it would be 11 %).
    """
    return (stopper_diameter - bore) / bore


def grip_force_refusal(friction_coefficient: float, contact_pressure: float, bore: float,
                       stopper_length: float) -> int:
    return first_refusal((not_negative(friction_coefficient), not_negative(contact_pressure), positive(bore),
                          not_negative(stopper_length)))


def grip_force(friction_coefficient: float, contact_pressure: float, bore: float, stopper_length: float) -> float:
    """Friction that holds a stopper pressed evenly against the bore.

    Formula:  F = mu p_c pi D l

    Args:
        friction_coefficient: friction of the stopper on the wall, mu [-], rises
        contact_pressure: pressure of the stopper against the wall, p_c [Pa], rises
        bore: inside diameter of the tube, D [m], rises
        stopper_length: length of the stopper that touches the wall, l [m], rises
    Returns:
        F: grip [N]
    Source: STATICS-FRICTION
    Notes: Wet or greasy walls halve the friction. The contact pressure is not the same all round in a seamed tube.
    """
    return friction_coefficient * contact_pressure * pi * bore * stopper_length


def grip_factor_refusal(friction_coefficient: float, contact_pressure: float, bore: float, stopper_length: float,
                        gauge_pressure: float) -> int:
    return first_refusal((grip_force_refusal(friction_coefficient, contact_pressure, bore, stopper_length),
                          positive(gauge_pressure)))


def grip_factor(friction_coefficient: float, contact_pressure: float, bore: float, stopper_length: float,
                gauge_pressure: float) -> float:
    """How many times the grip is the push-out.

    Formula:  n = mu p_c pi D l / (p pi D^2 / 4)

    Args:
        friction_coefficient: friction of the stopper on the wall, mu [-], rises
        contact_pressure: pressure of the stopper against the wall, p_c [Pa], rises
        bore: inside diameter of the tube, D [m], falls
        stopper_length: length of the stopper that touches the wall, l [m], rises
        gauge_pressure: pressure behind the stopper, p [Pa gauge], falls
    Returns:
        n: grip over push-out; below one the stopper moves [-]
    Source: STATICS-FRICTION
    Notes: Friction alone; a rod or holder that backs the stopper comes on top.
    """
    return (grip_force(friction_coefficient, contact_pressure, bore, stopper_length)
            / push_out_force(bore, gauge_pressure))


def sealing_margin_refusal(contact_pressure: float, gauge_pressure: float) -> int:
    return first_refusal((not_negative(contact_pressure), not_negative(gauge_pressure)))


def sealing_margin(contact_pressure: float, gauge_pressure: float) -> float:
    """By how much the stopper presses harder on the wall than the gas that would creep past it.

    Formula:  m = p_c - p

    Args:
        contact_pressure: lowest pressure of the stopper against the wall on any way past it, p_c [Pa], rises
        gauge_pressure: pressure behind the stopper, p [Pa gauge], falls
    Returns:
        m: margin; at or below zero the stopper lets by [Pa]
    Source: STATICS-FRICTION
    Notes: The lowest contact counts, over a seam ridge, a pit or scale, not the mean. A stopper therefore loses its
        seal at a threshold: tight at one pressure says nothing about a higher one.
    """
    return contact_pressure - gauge_pressure


def force_factor_refusal(rated_force: float, force: float) -> int:
    return first_refusal((not_negative(rated_force), positive(force)))


def force_factor(rated_force: float, force: float) -> float:
    """How many times the push-out force the stopper is rated for.

    Formula:  n = F_rated / F

    Args:
        rated_force: force the stopper is rated to hold, F_rated [N], rises
        force: force that pushes it out, F [N], falls
    Returns:
        n: rated force over push-out [-]
    Source: STILLBORE-DEFINITION
    """
    return rated_force / force
