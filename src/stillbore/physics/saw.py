"""The hole saw in the tube: at what depth the coupon is loose, the hole full, and the far wall reached; the feed.

Depths are counted from the moment the saw's teeth touch the crown. R is the outer radius, r the bore radius,
a the saw's outer radius, k its kerf, e the distance of the saw's axis from the tube's, L the pilot's lead over the
teeth. The derivation is in docs/geometry.md.
"""

from math import pi, sqrt, tan

from stillbore.physics.refusals import (
    KERF_TOO_WIDE,
    NO_FULL_HOLE,
    OK,
    OUT_OF_RANGE,
    finite,
    first_refusal,
    not_negative,
    positive,
)
from stillbore.physics.tube import bore_refusal


def _hole_refusal(outside_diameter: float, wall: float, saw_diameter: float, off_centre: float) -> int:
    code = first_refusal((bore_refusal(outside_diameter, wall), positive(saw_diameter), not_negative(off_centre)))
    if code == OK and not (0.5 * saw_diameter + off_centre <= 0.5 * outside_diameter - wall):
        code = NO_FULL_HOLE
    if code == OK and not (off_centre <= 0.5 * saw_diameter):
        code = OUT_OF_RANGE  # the teeth never touch the crown, from which depth is counted
    return code


def _kerf_refusal(saw_diameter: float, kerf: float) -> int:
    code = first_refusal((positive(saw_diameter), positive(kerf)))
    if code == OK and not (2.0 * kerf < saw_diameter):
        code = KERF_TOO_WIDE
    return code


def first_break_depth_refusal(wall: float) -> int:
    return positive(wall)


def first_break_depth(wall: float) -> float:
    """Depth at which the tool first breaks through, at the crown: gas from here on.

    Formula:  z_b = t

    Args:
        wall: wall thickness at the crown, t [m], rises
    Returns:
        z_b: travel from the tool's contact with the crown [m]
    Source: GEOM-SAW
    Notes: holds for the saw from saw contact and for the pilot's tip from pilot contact. From here on the coupon
        hangs on two webs; the geometry keeps them until loose_coupon_depth, a blunt saw may tear them sooner.
    """
    return wall


def loose_coupon_depth_refusal(outside_diameter: float, wall: float, saw_diameter: float, kerf: float,
                               off_centre: float) -> int:
    code = first_refusal((bore_refusal(outside_diameter, wall), _kerf_refusal(saw_diameter, kerf),
                          not_negative(off_centre)))
    if code == OK and not (off_centre <= 0.5 * saw_diameter):
        code = OUT_OF_RANGE
    if code == OK and not (0.5 * saw_diameter - kerf + off_centre <= 0.5 * outside_diameter - wall):
        code = NO_FULL_HOLE
    return code


def loose_coupon_depth(outside_diameter: float, wall: float, saw_diameter: float, kerf: float,
                       off_centre: float) -> float:
    """Depth at which the coupon comes loose: the inner edge of the kerf is through all round.

    Formula:  z_0 = R - sqrt(r^2 - (a - k + e)^2)

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        wall: wall thickness, R - r [m], rises
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
        kerf: width of the cut, k [m], falls
        off_centre: distance of the saw's axis from the tube's axis, e [m], rises
    Returns:
        z_0: travel from saw contact [m]
    Source: GEOM-SAW
    Notes: the last point to break is on the side the saw is displaced to. The hole is not full here: a ledge is
        left outside the inner edge until full_hole_depth, so a free coupon does not prove a full hole.
    """
    outer = 0.5 * outside_diameter
    inner = outer - wall
    reach = 0.5 * saw_diameter - kerf + off_centre
    return outer - sqrt(inner * inner - reach * reach)


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


def saw_far_wall_depth_refusal(outside_diameter: float, wall: float, saw_diameter: float, off_centre: float) -> int:
    return _hole_refusal(outside_diameter, wall, saw_diameter, off_centre)


def saw_far_wall_depth(outside_diameter: float, wall: float, saw_diameter: float, off_centre: float) -> float:
    """Depth from saw contact at which the saw's outer edge touches the far wall.

    Formula:  z_2 = R + sqrt(r^2 - (a + e)^2)

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], rises
        wall: wall thickness, R - r [m], falls
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], falls
        off_centre: distance of the saw's axis from the tube's axis, e [m], falls
    Returns:
        z_2: travel from saw contact [m]
    Source: GEOM-SAW
    """
    outer = 0.5 * outside_diameter
    inner = outer - wall
    reach = 0.5 * saw_diameter + off_centre
    return outer + sqrt(inner * inner - reach * reach)


def pilot_far_wall_depth_refusal(outside_diameter: float, wall: float, pilot_lead: float) -> int:
    return first_refusal((bore_refusal(outside_diameter, wall), not_negative(pilot_lead)))


def pilot_far_wall_depth(outside_diameter: float, wall: float, pilot_lead: float) -> float:
    """Depth from saw contact at which the pilot's tip touches the far wall.

    Formula:  z_p = 2 R - t - L

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], rises
        wall: thickness of the far wall, t [m], falls
        pilot_lead: how far the pilot's tip stands ahead of the saw's teeth, L [m], falls
    Returns:
        z_p: travel from saw contact [m]
    Source: GEOM-SAW
    Notes: below zero the pilot is on the far wall before the saw has touched the crown. Off centre by e the tip
        touches sooner by r - sqrt(r^2 - e^2): 0.04 mm for 1 mm in a 1 inch tube.
    """
    return outside_diameter - wall - pilot_lead


def largest_off_centre_refusal(outside_diameter: float, wall: float, saw_diameter: float) -> int:
    return _hole_refusal(outside_diameter, wall, saw_diameter, 0.0)


def largest_off_centre(outside_diameter: float, wall: float, saw_diameter: float) -> float:
    """How far the saw's axis may stand off the tube's before it runs into the side wall. No margin is in it.

    Formula:  e_max = r - a

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], rises
        wall: wall thickness, R - r [m], falls
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], falls
    Returns:
        e_max: largest distance between the axes [m]
    Source: GEOM-SAW
    """
    return 0.5 * outside_diameter - wall - 0.5 * saw_diameter


def saw_to_bore_ratio_refusal(outside_diameter: float, wall: float, saw_diameter: float) -> int:
    return first_refusal((bore_refusal(outside_diameter, wall), positive(saw_diameter)))


def saw_to_bore_ratio(outside_diameter: float, wall: float, saw_diameter: float) -> float:
    """The saw's diameter over the bore: above one it can never make a full hole.

    Formula:  q = a / r

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        wall: wall thickness, R - r [m], rises
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
    Returns:
        q: saw over bore [-]
    Source: GEOM-SAW
    """
    return saw_diameter / (outside_diameter - 2.0 * wall)


def effective_saw_diameter_refusal(saw_diameter: float, run_out: float) -> int:
    return first_refusal((positive(saw_diameter), not_negative(run_out)))


def effective_saw_diameter(saw_diameter: float, run_out: float) -> float:
    """Diameter of the hole that a saw with run-out cuts.

    Formula:  2 a_eff = 2 a + u

    Args:
        saw_diameter: outside diameter of the saw over its teeth, 2 a [m], rises
        run_out: total run-out of the saw's wall, as the dial gauge shows it in one turn, u [m], rises
    Returns:
        a_eff2: diameter of the cut [m]
    Source: GEOM-SAW
    Notes: the dial shows twice the distance between the saw's own axis and the one it turns about.
    """
    return saw_diameter + run_out


def pilot_lead_least_refusal(wall: float, pilot_diameter: float, point_angle: float) -> int:
    code = first_refusal((positive(wall), positive(pilot_diameter), positive(point_angle)))
    if code == OK and not (point_angle <= pi):
        code = OUT_OF_RANGE
    return code


def pilot_lead_least(wall: float, pilot_diameter: float, point_angle: float) -> float:
    """The least lead of the pilot: the wall and the height of the drill's point, by the trade's rule.

    Formula:  L_least = t + d / (2 tan(p / 2))

    Args:
        wall: wall thickness, t [m], rises
        pilot_diameter: diameter of the pilot drill, d [m], rises
        point_angle: included angle of the drill's point, p [rad], falls
    Returns:
        L_least: lead of the tip over the saw's teeth [m]
    Source: GEOM-SAW
    Notes: the rule takes the wall for flat. The bore curves away from the pilot, so its full diameter is through
        about d^2 / (8 r) later, 0.3 mm for 6 mm in a 1 inch tube: pilot_through_depth has the whole of it.
    """
    return wall + 0.5 * pilot_diameter / tan(0.5 * point_angle)


def pilot_lead_most_refusal(outside_diameter: float, wall: float, margin: float) -> int:
    code = first_refusal((bore_refusal(outside_diameter, wall), not_negative(margin)))
    if code == OK and not (margin <= 0.5 * outside_diameter - wall):
        code = OUT_OF_RANGE
    return code


def pilot_lead_most(outside_diameter: float, wall: float, margin: float) -> float:
    """The most lead of the pilot: its tip stays short of the far wall when the saw is at the tube's middle.

    Formula:  L_most = (2 R - t) - R - m

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], rises
        wall: thickness of the far wall, t [m], falls
        margin: distance kept between tip and far wall, m [m], falls
    Returns:
        L_most: lead of the tip over the saw's teeth [m]
    Source: GEOM-SAW
    Notes: full travel is taken as R, the middle of the saw's window whatever the wall.
    """
    return 0.5 * outside_diameter - wall - margin


def pilot_through_depth_refusal(outside_diameter: float, wall: float, pilot_diameter: float, point_angle: float,
                                off_centre: float) -> int:
    return first_refusal((_hole_refusal(outside_diameter, wall, pilot_diameter, off_centre),
                          pilot_lead_least_refusal(wall, pilot_diameter, point_angle)))


def pilot_through_depth(outside_diameter: float, wall: float, pilot_diameter: float, point_angle: float,
                        off_centre: float) -> float:
    """Depth of the pilot's tip below the crown at which the pilot's full diameter is through.

    Formula:  z_d = R - sqrt(r^2 - (d / 2 + e)^2) + d / (2 tan(p / 2))

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        wall: wall thickness, R - r [m], rises
        pilot_diameter: diameter of the pilot drill, d [m], rises
        point_angle: included angle of the drill's point, p [rad], falls
        off_centre: distance of the drill's axis from the tube's axis, e [m], rises
    Returns:
        z_d: travel of the tip from the crown [m]
    Source: GEOM-SAW
    Notes: this is also the exact least lead, on the curved wall. The tip itself is through at first_break_depth.
    """
    outer = 0.5 * outside_diameter
    inner = outer - wall
    reach = 0.5 * pilot_diameter + off_centre
    return outer - sqrt(inner * inner - reach * reach) + 0.5 * pilot_diameter / tan(0.5 * point_angle)


def feed_from_pilot_contact_refusal(depth: float, pilot_lead: float) -> int:
    return first_refusal((finite(depth), not_negative(pilot_lead)))


def feed_from_pilot_contact(depth: float, pilot_lead: float) -> float:
    """Feed to mark when it is counted from the pilot's contact with the crown, for a depth of the saw.

    Formula:  f = z + L

    Args:
        depth: travel from saw contact, z [m], rises
        pilot_lead: how far the pilot's tip stands ahead of the saw's teeth, L [m], rises
    Returns:
        f: feed from pilot contact [m]
    Source: GEOM-SAW
    """
    return depth + pilot_lead


def depth_from_pilot_contact_refusal(feed: float, pilot_lead: float) -> int:
    return first_refusal((finite(feed), not_negative(pilot_lead)))


def depth_from_pilot_contact(feed: float, pilot_lead: float) -> float:
    """How deep the saw is when the feed was counted from the pilot's contact with the crown.

    Formula:  z = f - L

    Args:
        feed: feed from pilot contact, f [m], rises
        pilot_lead: how far the pilot's tip stands ahead of the saw's teeth, L [m], falls
    Returns:
        z: travel from saw contact [m]
    Source: GEOM-SAW
    Notes: below zero the saw's teeth have not touched yet.
    """
    return feed - pilot_lead


def feed_turns_refusal(feed: float, screw_pitch: float, backlash: float) -> int:
    return first_refusal((not_negative(feed), positive(screw_pitch), not_negative(backlash)))


def feed_turns(feed: float, screw_pitch: float, backlash: float) -> float:
    """Turns of the feed screw for a feed, the play taken up first: a second measure beside the mark.

    Formula:  n = (f + b) / p

    Args:
        feed: feed, f [m], rises
        screw_pitch: travel of the feed screw in one turn, p [m], falls
        backlash: play of the screw and spring of the saddle, b [m], rises
    Returns:
        n: turns [turns]
    Source: GEOM-SAW
    """
    return (feed + backlash) / screw_pitch


def feed_from_turns_refusal(turns: float, screw_pitch: float, backlash: float) -> int:
    return first_refusal((not_negative(turns), positive(screw_pitch), not_negative(backlash)))


def feed_from_turns(turns: float, screw_pitch: float, backlash: float) -> float:
    """Feed that a number of turns of the screw makes, none while the play is being taken up.

    Formula:  f = max(0, n p - b)

    Args:
        turns: turns of the feed screw, n [turns], rises
        screw_pitch: travel of the feed screw in one turn, p [m], rises
        backlash: play of the screw and spring of the saddle, b [m], falls
    Returns:
        f: feed [m]
    Source: GEOM-SAW
    """
    return max(0.0, turns * screw_pitch - backlash)
