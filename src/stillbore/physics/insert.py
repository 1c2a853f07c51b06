"""A new pipe pushed through an old one: room, bends, the force to push it, what it bears, what moves with warmth."""

from math import acos, cos, exp, pi, sqrt

from stillbore.physics.constants import STANDARD_GRAVITY
from stillbore.physics.refusals import (
    NEGATIVE,
    NOT_FINITE,
    OK,
    OUT_OF_RANGE,
    WALL_TOO_THICK,
    first_refusal,
    not_negative,
    positive,
)

HELICAL = 2.0 * sqrt(2.0)  # of the sinusoidal root, where the sinusoidal load has 2


def _finite_or_more(value: float) -> int:
    code = positive(abs(value) + 1.0)
    return NOT_FINITE if code != OK else OK


def _angle(value: float) -> int:
    """A bend that is one, and less than a half turn."""
    code = positive(value)
    if code != OK:
        return code
    return OK if value < pi else OUT_OF_RANGE


def clearance_refusal(bore: float, outside_diameter: float, scale: float) -> int:
    return first_refusal((positive(bore), positive(outside_diameter), not_negative(scale)))


def clearance(bore: float, outside_diameter: float, scale: float) -> float:
    """Room between the old pipe and the new one, all of it on one side.

    Formula:  c = d - D - s

    Args:
        bore: smallest inside diameter of the old pipe, d [m], rises
        outside_diameter: largest outside diameter of the new pipe, D [m], falls
        scale: scale, welds and burrs to be allowed for, on the diameter, s [m], falls
    Returns:
        c: room; below zero it does not go in [m]
    Source: STILLBORE-DEFINITION
    """
    return bore - outside_diameter - scale


def corner_radius_refusal(bend_radius: float, clearance: float, bend_angle: float) -> int:
    return first_refusal((positive(bend_radius), not_negative(clearance), _angle(bend_angle)))


def corner_radius(bend_radius: float, clearance: float, bend_angle: float) -> float:
    """Radius at which a pipe lies in a bend of an old one when it cuts the corner as far as its room allows.

    Formula:  R = R_c + (c / 2) (1 + s) / (s - 1), s = 1 / cos(theta / 2)

    Args:
        bend_radius: radius of the bend's centre line, R_c [m], rises
        clearance: room between the two pipes, c [m], rises
        bend_angle: angle of the bend, theta [rad], falls
    Returns:
        R: radius of the new pipe's centre line [m]
    Source: GEOM-BEND
    Notes: The new pipe touches the outside of the straight lengths and the inside of the bend. A flattened bend has
        less room than its bore says.
    """
    secant = 1.0 / cos(0.5 * bend_angle)
    return bend_radius + 0.5 * clearance * (1.0 + secant) / (secant - 1.0)


def largest_bend_angle_refusal(bend_radius: float, clearance: float, least_radius: float) -> int:
    code = first_refusal((positive(bend_radius), positive(clearance), positive(least_radius)))
    if code != OK:
        return code
    # With k = 2 (R - R_c) / c at one or below, every bend passes; there is no largest.
    return OK if 2.0 * (least_radius - bend_radius) > clearance else OUT_OF_RANGE


def largest_bend_angle(bend_radius: float, clearance: float, least_radius: float) -> float:
    """Sharpest bend that a pipe passes without being bent tighter than it may.

    Formula:  theta = 2 arccos((k - 1) / (k + 1)), k = 2 (R - R_c) / c

    Args:
        bend_radius: radius of the bend's centre line, R_c [m], rises
        clearance: room between the two pipes, c [m], rises
        least_radius: least radius that the new pipe may be bent to, R [m], falls
    Returns:
        theta: angle of the bend [rad]
    Source: GEOM-BEND
    """
    ratio = 2.0 * (least_radius - bend_radius) / clearance
    return 2.0 * acos((ratio - 1.0) / (ratio + 1.0))


def nose_radius_refusal(nose_length: float, clearance: float) -> int:
    return first_refusal((not_negative(nose_length), positive(clearance)))


def nose_radius(nose_length: float, clearance: float) -> float:
    """Least radius of a long bend through which a stiff nose goes.

    Formula:  R_c = l^2 / (8 c)

    Args:
        nose_length: length that does not bend, l [m], rises
        clearance: room between nose and bore, c [m], falls
    Returns:
        R_c: radius of the bend's centre line [m]
    Source: GEOM-BEND
    Notes: The sagitta of the chord l in a circle much larger than it.
    """
    return nose_length * nose_length / (8.0 * clearance)


def weight_per_length_refusal(outside_diameter: float, wall: float, density: float) -> int:
    code = first_refusal((positive(outside_diameter), positive(wall), positive(density)))
    if code != OK:
        return code
    return OK if 2.0 * wall < outside_diameter else WALL_TOO_THICK


def weight_per_length(outside_diameter: float, wall: float, density: float) -> float:
    """Weight of a metre of pipe.

    Formula:  w = rho g pi (D - t) t

    Args:
        outside_diameter: outside diameter, D [m], rises
        wall: wall, t [m], rises
        density: density of the material, rho [kg/m3], rises
    Returns:
        w: weight [N/m]
    Source: GEOM-TUBE, CGPM-3-1901
    """
    return density * STANDARD_GRAVITY * pi * (outside_diameter - wall) * wall


def push_force_refusal(force_in: float, weight: float, friction: float, length: float, turned: float) -> int:
    return first_refusal((not_negative(force_in), not_negative(weight), not_negative(friction), not_negative(length),
                          not_negative(turned), OK if friction * turned <= 20.0 else OUT_OF_RANGE))


def push_force(force_in: float, weight: float, friction: float, length: float, turned: float) -> float:
    """Force to push a pipe over a length and round what it turns.

    Formula:  F = (F_0 + mu w L) e^(mu theta)

    Args:
        force_in: what holds it back without friction in the bore: gland, gas on the nose, F_0 [N], rises
        weight: weight of a metre, w [N/m], rises
        friction: coefficient of friction in the bore, mu [-], rises
        length: length pushed in, L [m], rises
        turned: sum of the angles of the bends passed, theta [rad], rises
    Returns:
        F: force at the pushing end [N]
    Source: CAPSTAN-EQUATION
    Notes: All weight is taken to lie before the bends, which is worst. Without what the coil adds. Right within a
        factor of two.
    """
    return (force_in + friction * weight * length) * exp(friction * turned)


def _buckling_refusal(elasticity: float, second_moment: float, weight: float, radial_clearance: float) -> int:
    return first_refusal((positive(elasticity), positive(second_moment), positive(weight), positive(radial_clearance)))


def sinusoidal_buckling_refusal(elasticity: float, second_moment: float, weight: float,
                                radial_clearance: float) -> int:
    return _buckling_refusal(elasticity, second_moment, weight, radial_clearance)


def sinusoidal_buckling(elasticity: float, second_moment: float, weight: float, radial_clearance: float) -> float:
    """Push at which a pipe that lies in a wider one begins to snake.

    Formula:  F = 2 sqrt(E I w / r)

    Args:
        elasticity: modulus of elasticity of the pushed pipe, E [Pa], rises
        second_moment: its second moment of area, I [m4], rises
        weight: weight of a metre, w [N/m], rises
        radial_clearance: half the difference of bore and outside diameter, r [m], falls
    Returns:
        F: axial force [N]
    Source: PIPE-IN-PIPE-BUCKLING
    """
    return 2.0 * sqrt(elasticity * second_moment * weight / radial_clearance)


def helical_buckling_refusal(elasticity: float, second_moment: float, weight: float, radial_clearance: float) -> int:
    return _buckling_refusal(elasticity, second_moment, weight, radial_clearance)


def helical_buckling(elasticity: float, second_moment: float, weight: float, radial_clearance: float) -> float:
    """Push at which a pipe that lies in a wider one winds itself into a spiral, and soon locks.

    Formula:  F = 2 sqrt(2) sqrt(E I w / r)

    Args:
        elasticity: modulus of elasticity of the pushed pipe, E [Pa], rises
        second_moment: its second moment of area, I [m4], rises
        weight: weight of a metre, w [N/m], rises
        radial_clearance: half the difference of bore and outside diameter, r [m], falls
    Returns:
        F: axial force [N]
    Source: PIPE-IN-PIPE-BUCKLING
    Notes: Another published constant is 2 (2 sqrt 2 - 1) = 3.66; this one is the lower.
    """
    return HELICAL * sqrt(elasticity * second_moment * weight / radial_clearance)


def allowable_pull_refusal(outside_diameter: float, dimension_ratio: float, stress: float) -> int:
    code = first_refusal((positive(outside_diameter), positive(dimension_ratio), positive(stress)))
    if code != OK:
        return code
    return OK if dimension_ratio > 2.0 else WALL_TOO_THICK


def allowable_pull(outside_diameter: float, dimension_ratio: float, stress: float) -> float:
    """Pull that a pipe of a dimension ratio bears at a stress allowed for its time and temperature.

    Formula:  F = S pi D^2 (1 / DR - 1 / DR^2)

    Args:
        outside_diameter: outside diameter, D [m], rises
        dimension_ratio: outside diameter over least wall, DR [-], falls
        stress: allowed stress, S [Pa], rises
    Returns:
        F: pull [N]
    Source: PE-PULL
    Notes: The area is that of a ring with the least wall all round.
    """
    inverse = 1.0 / dimension_ratio
    return stress * pi * outside_diameter * outside_diameter * (inverse - inverse * inverse)


def annulus_volume_refusal(bore: float, outside_diameter: float, length: float) -> int:
    code = first_refusal((positive(bore), positive(outside_diameter), not_negative(length)))
    if code != OK:
        return code
    return OK if bore >= outside_diameter else NEGATIVE


def annulus_volume(bore: float, outside_diameter: float, length: float) -> float:
    """Volume between the old pipe and the new one.

    Formula:  V = (pi / 4) (d^2 - D^2) L

    Args:
        bore: inside diameter of the old pipe, d [m], rises
        outside_diameter: outside diameter of the new pipe, D [m], falls
        length: length, L [m], rises
    Returns:
        V: volume [m3]
    Source: GEOM-TUBE
    """
    return 0.25 * pi * (bore * bore - outside_diameter * outside_diameter) * length


def thermal_movement_refusal(expansion: float, length: float, temperature_change: float) -> int:
    return first_refusal((positive(expansion), not_negative(length), _finite_or_more(temperature_change)))


def thermal_movement(expansion: float, length: float, temperature_change: float) -> float:
    """How much longer a free length of pipe becomes.

    Formula:  dL = alpha L dT

    Args:
        expansion: coefficient of thermal expansion, alpha [1/K], turns
        length: free length, L [m], turns
        temperature_change: warming; below zero it cools, dT [K difference], rises
    Returns:
        dL: change of length [m]
    Source: THERMAL-EXPANSION
    """
    return expansion * length * temperature_change


def radial_clearance_refusal(bore: float, outside_diameter: float) -> int:
    code = first_refusal((positive(bore), positive(outside_diameter)))
    if code != OK:
        return code
    return OK if bore > outside_diameter else NEGATIVE


def radial_clearance(bore: float, outside_diameter: float) -> float:
    """Room on each side of a pipe that lies in the middle of a wider one.

    Formula:  r = (d - D) / 2

    Args:
        bore: inside diameter of the old pipe, d [m], rises
        outside_diameter: outside diameter of the new pipe, D [m], falls
    Returns:
        r: half the difference [m]
    Source: STILLBORE-DEFINITION
    """
    return 0.5 * (bore - outside_diameter)


def least_radius_refusal(outside_diameter: float, diameters: float) -> int:
    return first_refusal((positive(outside_diameter), positive(diameters)))


def least_radius(outside_diameter: float, diameters: float) -> float:
    """Least radius of a bend, given in outside diameters.

    Formula:  R = n D

    Args:
        outside_diameter: outside diameter, D [m], rises
        diameters: how many of them, n [-], rises
    Returns:
        R: radius of the centre line [m]
    Source: STILLBORE-DEFINITION
    """
    return diameters * outside_diameter


def joined_length_refusal(length: float, further_length: float) -> int:
    return first_refusal((not_negative(length), not_negative(further_length)))


def joined_length(length: float, further_length: float) -> float:
    """Two lengths one after the other.

    Formula:  L = L_1 + L_2

    Args:
        length: one length, L_1 [m], rises
        further_length: the other, L_2 [m], rises
    Returns:
        L: both together [m]
    Source: STILLBORE-DEFINITION
    """
    return length + further_length


def joined_angle_refusal(bend_angle: float, further_angle: float) -> int:
    return first_refusal((not_negative(bend_angle), not_negative(further_angle)))


def joined_angle(bend_angle: float, further_angle: float) -> float:
    """What two bends turn together, whichever way each goes: friction knows no direction.

    Formula:  theta = theta_1 + theta_2

    Args:
        bend_angle: one bend, theta_1 [rad], rises
        further_angle: the other, theta_2 [rad], rises
    Returns:
        theta: both together [rad]
    Source: STILLBORE-DEFINITION
    """
    return bend_angle + further_angle


def flattened_bore_refusal(bore: float, flattening: float) -> int:
    code = first_refusal((positive(bore), not_negative(flattening)))
    if code != OK:
        return code
    return OK if flattening < 1.0 else OUT_OF_RANGE


def flattened_bore(bore: float, flattening: float) -> float:
    """What a bend leaves of the bore where it is flattened.

    Formula:  d_b = d (1 - x)

    Args:
        bore: inside diameter of the straight pipe, d [m], rises
        flattening: share of it that the bend has lost, x [-], falls
    Returns:
        d_b: narrowest inside width in the bend [m]
    Source: STILLBORE-DEFINITION
    """
    return bore * (1.0 - flattening)
