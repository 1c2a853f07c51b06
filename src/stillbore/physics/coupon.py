"""The coupon that the saw takes out, and the swarf: size, mass, curvature. The best wall truth a register will get.

R is the outer radius, r the bore radius, a the saw's outer radius, k its kerf. The metal between two radii of the
saw's axis is the volume under the outer surface less the volume under the bore; docs/geometry.md.
"""

from math import cos, pi, sin, sqrt

from stillbore.physics.refusals import (
    KERF_TOO_WIDE,
    NO_FULL_HOLE,
    OK,
    PILOT_TOO_WIDE,
    first_refusal,
    not_negative,
    positive,
)
from stillbore.physics.tube import bore_refusal


def _volume_under(cylinder_radius: float, disc_radius: float) -> float:
    """Volume over a disc, up to a lying cylinder: the integral of sqrt(R^2 - x^2) over x^2 + y^2 < b^2.

    With x = b sin(q) the integrand has the period pi, so equal steps at their middles converge faster than any power
    of their number. 64 steps are exact to rounding up to b = 0.99 R, and to 4 parts in 10^9 at b = R, the worst.
    """
    steps = 64
    total = 0.0
    for step in range(steps):
        angle = 0.5 * pi * (step + 0.5) / steps
        across = disc_radius * sin(angle)
        total += cos(angle) ** 2 * sqrt(cylinder_radius * cylinder_radius - across * across)
    return 4.0 * disc_radius * disc_radius * total * 0.5 * pi / steps


def _wall_volume(outside_diameter: float, wall: float, disc_radius: float) -> float:
    """Volume of the crown's wall within a radius of the saw's axis."""
    outer = 0.5 * outside_diameter
    return _volume_under(outer, disc_radius) - _volume_under(outer - wall, disc_radius)


def coupon_diameter_refusal(saw_diameter: float, kerf: float) -> int:
    code = first_refusal((positive(saw_diameter), positive(kerf)))
    if code == OK and not (2.0 * kerf < saw_diameter):
        code = KERF_TOO_WIDE
    return code


def coupon_diameter(saw_diameter: float, kerf: float) -> float:
    """Diameter of the coupon, seen along the saw's axis.

    Formula:  d_c = 2 (a - k)

    Args:
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
        kerf: width of the cut, k [m], falls
    Returns:
        d_c: diameter of the coupon [m]
    Source: GEOM-SAW
    """
    return saw_diameter - 2.0 * kerf


def coupon_sagitta_refusal(outside_diameter: float, saw_diameter: float, kerf: float) -> int:
    code = first_refusal((positive(outside_diameter), coupon_diameter_refusal(saw_diameter, kerf)))
    if code == OK and not (saw_diameter - 2.0 * kerf <= outside_diameter):
        code = NO_FULL_HOLE
    return code


def coupon_sagitta(outside_diameter: float, saw_diameter: float, kerf: float) -> float:
    """Height of the coupon's outer face: how far its middle stands above its two lowest edges.

    Formula:  s = R - sqrt(R^2 - (a - k)^2)

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
        kerf: width of the cut, k [m], falls
    Returns:
        s: sagitta [m]
    Source: GEOM-SAW
    """
    outer = 0.5 * outside_diameter
    half = 0.5 * saw_diameter - kerf
    return outer - sqrt(outer * outer - half * half)


def coupon_mass_refusal(outside_diameter: float, wall: float, saw_diameter: float, kerf: float, pilot_diameter: float,
                        steel_density: float) -> int:
    code = first_refusal((bore_refusal(outside_diameter, wall), coupon_diameter_refusal(saw_diameter, kerf),
                          not_negative(pilot_diameter), positive(steel_density)))
    if code == OK and not (saw_diameter - 2.0 * kerf <= outside_diameter - 2.0 * wall):
        code = NO_FULL_HOLE
    if code == OK and not (pilot_diameter < saw_diameter - 2.0 * kerf):
        code = PILOT_TOO_WIDE
    return code


def coupon_mass(outside_diameter: float, wall: float, saw_diameter: float, kerf: float, pilot_diameter: float,
                steel_density: float) -> float:
    """Mass of the coupon, the pilot's hole taken out of it: weighed, it tells the wall that was cut.

    Formula:  m = rho integral of (sqrt(R^2 - x^2) - sqrt(r^2 - x^2)) over d / 2 < sqrt(x^2 + y^2) < a - k

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        wall: wall thickness, R - r [m], rises
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
        kerf: width of the cut, k [m], falls
        pilot_diameter: diameter of the pilot drill, d, or zero for none [m], falls
        steel_density: density of the steel, rho [kg/m3], rises
    Returns:
        m: mass of the coupon [kg]
    Source: GEOM-SAW
    Notes: saw on the tube's centre. One millimetre off centre adds about 0.5 % to it in a 1 inch tube.
    """
    coupon_radius = 0.5 * saw_diameter - kerf
    return steel_density * (_wall_volume(outside_diameter, wall, coupon_radius)
                            - _wall_volume(outside_diameter, wall, 0.5 * pilot_diameter))


def swarf_mass_refusal(outside_diameter: float, wall: float, saw_diameter: float, kerf: float, pilot_diameter: float,
                       steel_density: float) -> int:
    code = coupon_mass_refusal(outside_diameter, wall, saw_diameter, kerf, pilot_diameter, steel_density)
    if code == OK and not (saw_diameter <= outside_diameter - 2.0 * wall):
        code = NO_FULL_HOLE
    return code


def swarf_mass(outside_diameter: float, wall: float, saw_diameter: float, kerf: float, pilot_diameter: float,
               steel_density: float) -> float:
    """Mass of metal turned into swarf by a full hole: the kerf's ring and the pilot's hole.

    Formula:  m_s = rho integral of (sqrt(R^2 - x^2) - sqrt(r^2 - x^2)) over the ring a - k to a and the disc d / 2

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        wall: wall thickness, R - r [m], rises
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
        kerf: width of the cut, k [m], rises
        pilot_diameter: diameter of the pilot drill, d, or zero for none [m], rises
        steel_density: density of the steel, rho [kg/m3], rises
    Returns:
        m_s: mass of swarf [kg]
    Source: GEOM-SAW
    """
    return steel_density * (_wall_volume(outside_diameter, wall, 0.5 * saw_diameter)
                            - _wall_volume(outside_diameter, wall, 0.5 * saw_diameter - kerf)
                            + _wall_volume(outside_diameter, wall, 0.5 * pilot_diameter))
