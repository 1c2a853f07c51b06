"""The steel tube itself: bore, areas, mass and volume per metre, section modulus, ovality.

R is the outer radius, r the bore radius, t the wall. Nothing here knows a size or a grade; those are in tables/.
"""

from math import pi

from stillbore.physics.refusals import (
    OK,
    SMALLEST_ABOVE_LARGEST,
    WALL_TOO_THICK,
    first_refusal,
    not_negative,
    positive,
)


def _tube_refusal(outside_diameter: float, wall: float) -> int:
    code = first_refusal((positive(outside_diameter), positive(wall)))
    if code == OK and not (2.0 * wall < outside_diameter):
        code = WALL_TOO_THICK
    return code


def bore_refusal(outside_diameter: float, wall: float) -> int:
    return _tube_refusal(outside_diameter, wall)


def bore(outside_diameter: float, wall: float) -> float:
    """Bore of the tube: the diameter the gas sees.

    Formula:  d = D - 2 t

    Args:
        outside_diameter: outside diameter of the tube, D [m], rises
        wall: wall thickness, t [m], falls
    Returns:
        d: bore [m]
    Source: GEOM-TUBE
    """
    return outside_diameter - 2.0 * wall


def bore_area_refusal(outside_diameter: float, wall: float) -> int:
    return _tube_refusal(outside_diameter, wall)


def bore_area(outside_diameter: float, wall: float) -> float:
    """Area of the bore: what the gas flows through and what pushes on a stopper.

    Formula:  A = pi (D - 2 t)^2 / 4

    Args:
        outside_diameter: outside diameter of the tube, D [m], rises
        wall: wall thickness, t [m], falls
    Returns:
        A: area of the bore [m2]
    Source: GEOM-TUBE
    """
    inner = outside_diameter - 2.0 * wall
    return 0.25 * pi * inner * inner


def metal_area_refusal(outside_diameter: float, wall: float) -> int:
    return _tube_refusal(outside_diameter, wall)


def metal_area(outside_diameter: float, wall: float) -> float:
    """Area of steel in a cross-section of the tube.

    Formula:  A_m = pi (D - t) t

    Args:
        outside_diameter: outside diameter of the tube, D [m], rises
        wall: wall thickness, t [m], rises
    Returns:
        A_m: area of steel [m2]
    Source: GEOM-TUBE
    """
    return pi * (outside_diameter - wall) * wall


def mass_per_length_refusal(outside_diameter: float, wall: float, steel_density: float) -> int:
    return first_refusal((_tube_refusal(outside_diameter, wall), positive(steel_density)))


def mass_per_length(outside_diameter: float, wall: float, steel_density: float) -> float:
    """Mass of one metre of plain-end tube.

    Formula:  m = rho pi (D - t) t

    Args:
        outside_diameter: outside diameter of the tube, D [m], rises
        wall: wall thickness, t [m], rises
        steel_density: density of the steel, rho [kg/m3], rises
    Returns:
        m: mass per metre [kg/m]
    Source: ISO-4200-1991
    Notes: with 7850 kg/m3 and millimetres this is the standard's 0.0246615 (D - t) t.
    """
    return steel_density * pi * (outside_diameter - wall) * wall


def volume_per_length_refusal(outside_diameter: float, wall: float) -> int:
    return _tube_refusal(outside_diameter, wall)


def volume_per_length(outside_diameter: float, wall: float) -> float:
    """Volume of gas in one metre of tube.

    Formula:  V = pi (D - 2 t)^2 / 4

    Args:
        outside_diameter: outside diameter of the tube, D [m], rises
        wall: wall thickness, t [m], falls
    Returns:
        V: volume per metre of length [m3/m]
    Source: GEOM-TUBE
    """
    return bore_area(outside_diameter, wall)


def section_modulus_refusal(outside_diameter: float, wall: float) -> int:
    return _tube_refusal(outside_diameter, wall)


def section_modulus(outside_diameter: float, wall: float) -> float:
    """Elastic section modulus of the whole tube, before anybody drills it.

    Formula:  Z = pi (R^4 - r^4) / (4 R)

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], rises
        wall: wall thickness, R - r [m], rises
    Returns:
        Z: section modulus [section modulus m3]
    Source: GEOM-SECTION
    """
    outer = 0.5 * outside_diameter
    inner = outer - wall
    return 0.25 * pi * (outer**4 - inner**4) / outer


def ovality_refusal(largest: float, smallest: float) -> int:
    code = first_refusal((positive(largest), positive(smallest)))
    if code == OK and not (smallest <= largest):
        code = SMALLEST_ABOVE_LARGEST
    return code


def ovality(largest: float, smallest: float) -> float:
    """How far the tube is out of round, from the largest and the smallest diameter at one section.

    Formula:  o = 2 (D_largest - D_smallest) / (D_largest + D_smallest)

    Args:
        largest: largest diameter measured at the section [m], rises
        smallest: smallest diameter measured at the section [m], falls
    Returns:
        o: ovality [-]
    Source: COMMON-PRACTICE
    Notes: some standards divide by the specified diameter and not by the mean; the two differ by less than 1 part
        in 50 over the diameter limits of these tubes.
    """
    return 2.0 * (largest - smallest) / (largest + smallest)


def wall_under_pit_refusal(wall: float, pit_depth: float) -> int:
    return first_refusal((positive(wall), not_negative(pit_depth)))


def wall_under_pit(wall: float, pit_depth: float) -> float:
    """Wall left under a corrosion pit; zero or below means through.

    Formula:  t_left = t - h

    Args:
        wall: wall thickness beside the pit, t [m], rises
        pit_depth: depth of the pit, h [m], falls
    Returns:
        t_left: wall left [m]
    Source: STILLBORE-DEFINITION
    """
    return wall - pit_depth


def share_of_wall_refusal(wall: float, share: float) -> int:
    return first_refusal((positive(wall), not_negative(share)))


def share_of_wall(wall: float, share: float) -> float:
    """A share of a wall, as limits on corroded pipe are stated.

    Formula:  t_limit = s t

    Args:
        wall: nominal wall, t [m], rises
        share: share of it, s [-], rises
    Returns:
        t_limit: wall at that share [m]
    Source: STILLBORE-DEFINITION
    """
    return share * wall


def second_moment_refusal(outside_diameter: float, wall: float) -> int:
    return _tube_refusal(outside_diameter, wall)


def second_moment(outside_diameter: float, wall: float) -> float:
    """Second moment of area of a round tube about its diameter.

    Formula:  I = (pi / 64) (D^4 - (D - 2 t)^4)

    Args:
        outside_diameter: outside diameter, D [m], rises
        wall: wall thickness, t [m], rises
    Returns:
        I: second moment of area [m4]
    Source: GEOM-SECTION
    """
    inside = outside_diameter - 2.0 * wall
    return pi / 64.0 * (outside_diameter**4 - inside**4)
