"""The hole saw in the tube: at what depth the coupon is loose, the hole full, and the far wall reached.

Depths are counted from the moment the saw's teeth touch the crown. R is the outer radius, r the bore radius,
a the saw's outer radius, k its kerf, e the distance of the saw's axis from the tube's.
"""

from math import sqrt

from stillbore.physics.refusals import NO_FULL_HOLE, OK, WALL_TOO_THICK, first_refusal, not_negative, positive


def _tube_refusal(outside_diameter: float, wall: float) -> int:
    code = first_refusal((positive(outside_diameter), positive(wall)))
    if code == OK and not (2.0 * wall < outside_diameter):
        code = WALL_TOO_THICK
    return code


def _hole_refusal(outside_diameter: float, wall: float, saw_diameter: float, off_centre: float) -> int:
    code = first_refusal((_tube_refusal(outside_diameter, wall), positive(saw_diameter), not_negative(off_centre)))
    if code == OK and not (0.5 * saw_diameter + off_centre <= 0.5 * outside_diameter - wall):
        code = NO_FULL_HOLE
    return code


def full_hole_depth_refusal(outside_diameter: float, wall: float, saw_diameter: float, off_centre: float) -> int:
    return _hole_refusal(outside_diameter, wall, saw_diameter, off_centre)


def full_hole_depth(outside_diameter: float, wall: float, saw_diameter: float, off_centre: float) -> float:
    """Depth from saw contact at which the hole is full: the outer edge of the kerf is through all round.

    Formula:  z_1 = R - sqrt(r^2 - (a + e)^2)

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        wall: wall thickness, R - r [m], rises
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
        off_centre: distance of the saw's axis from the tube's axis, e [m], rises
    Returns:
        z_1: travel from saw contact [m]
    Source: GEOM-SAW
    """
    outer = 0.5 * outside_diameter
    bore = outer - wall
    reach = 0.5 * saw_diameter + off_centre
    return outer - sqrt(bore * bore - reach * reach)
