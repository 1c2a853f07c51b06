"""What the saw's hole costs the tube in strength, what bends it, and how near the props must stand.

Elastic bending only: a tube of outer radius R and bore radius r, a hole of radius a cut straight down through the
crown. The answer wanted is "prop it" or "prop it more"; the peak at the hole's edge is local and not in it.
"""

from math import asin, pi, sqrt

from stillbore.physics.constants import STANDARD_GRAVITY
from stillbore.physics.refusals import (
    NEVER_REACHED,
    NO_FULL_HOLE,
    NO_WALL_LEFT,
    OK,
    first_refusal,
    not_negative,
    positive,
)
from stillbore.physics.tube import bore_refusal, metal_area, section_modulus


def _drilled_refusal(outside_diameter: float, wall: float, hole_diameter: float) -> int:
    code = first_refusal((bore_refusal(outside_diameter, wall), positive(hole_diameter)))
    if code == OK and not (hole_diameter <= outside_diameter - 2.0 * wall):
        code = NO_FULL_HOLE
    return code


# Integrals over -a < x < a of powers of the half-circle's height h = sqrt(R^2 - x^2): h, h^3 and x^2 h.

def _height(radius: float, half: float) -> float:
    return half * sqrt(radius * radius - half * half) + radius * radius * asin(half / radius)


def _height_cubed(radius: float, half: float) -> float:
    square = radius * radius
    return (0.25 * half * (5.0 * square - 2.0 * half * half) * sqrt(square - half * half)
            + 0.75 * square * square * asin(half / radius))


def _across_squared(radius: float, half: float) -> float:
    square = radius * radius
    return (0.25 * square * square * asin(half / radius)
            - 0.25 * half * (square - 2.0 * half * half) * sqrt(square - half * half))


def hole_area_fraction_refusal(outside_diameter: float, wall: float, hole_diameter: float) -> int:
    return _drilled_refusal(outside_diameter, wall, hole_diameter)


def hole_area_fraction(outside_diameter: float, wall: float, hole_diameter: float) -> float:
    """Part of the tube's steel that the hole takes out of the section through its middle.

    Formula:  f = (integral over -a < x < a of sqrt(R^2 - x^2) - sqrt(r^2 - x^2)) / (pi (R^2 - r^2))

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], falls
        wall: wall thickness, R - r [m], rises
        hole_diameter: diameter of the hole, 2 a [m], rises
    Returns:
        f: steel removed over steel there was [-]
    Source: GEOM-SECTION
    """
    outer = 0.5 * outside_diameter
    half = 0.5 * hole_diameter
    return (_height(outer, half) - _height(outer - wall, half)) / metal_area(outside_diameter, wall)


def drilled_section_modulus_refusal(outside_diameter: float, wall: float, hole_diameter: float) -> int:
    return _drilled_refusal(outside_diameter, wall, hole_diameter)


def drilled_section_modulus(outside_diameter: float, wall: float, hole_diameter: float) -> float:
    """Section modulus of the drilled tube for bending in the plane of the hole, the smaller of its two.

    Formula:  Z = (I - I_hole - A_left c^2) / max(sqrt(R^2 - a^2) + c, R - c), c = a (R^2 - r^2) / A_left,
        I_hole = (1/3) integral over -a < x < a of (R^2 - x^2)^1.5 - (r^2 - x^2)^1.5

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], rises
        wall: wall thickness, R - r [m], rises
        hole_diameter: diameter of the hole, 2 a [m], falls
    Returns:
        Z: section modulus [section modulus m3]
    Source: GEOM-SECTION
    Notes: the neutral axis drops by c, away from the hole. The fibre farthest from it is the hole's edge at the top.
        At the edge of the hole the stress peaks at 2.5 to 3 times M / Z, locally (common practice).
    """
    outer = 0.5 * outside_diameter
    inner = outer - wall
    half = 0.5 * hole_diameter
    left = metal_area(outside_diameter, wall) - _height(outer, half) + _height(inner, half)
    drop = half * (outer * outer - inner * inner) / left
    second_moment = (0.25 * pi * (outer**4 - inner**4)
                     - (_height_cubed(outer, half) - _height_cubed(inner, half)) / 3.0 - left * drop * drop)
    return second_moment / max(sqrt(outer * outer - half * half) + drop, outer - drop)


def drilled_section_modulus_sideways_refusal(outside_diameter: float, wall: float, hole_diameter: float) -> int:
    return _drilled_refusal(outside_diameter, wall, hole_diameter)


def drilled_section_modulus_sideways(outside_diameter: float, wall: float, hole_diameter: float) -> float:
    """Section modulus of the drilled tube for bending sideways, as the saw's torque bends it.

    Formula:  Z = (pi (R^4 - r^4) / 4 - integral over -a < x < a of x^2 (sqrt(R^2 - x^2) - sqrt(r^2 - x^2))) / R

    Args:
        outside_diameter: outside diameter of the tube, 2 R [m], rises
        wall: wall thickness, R - r [m], rises
        hole_diameter: diameter of the hole, 2 a [m], falls
    Returns:
        Z: section modulus [section modulus m3]
    Source: GEOM-SECTION
    """
    outer = 0.5 * outside_diameter
    half = 0.5 * hole_diameter
    hole = _across_squared(outer, half) - _across_squared(outer - wall, half)
    return section_modulus(outside_diameter, wall) - hole / outer


def bending_stress_refusal(bending_moment: float, section_modulus: float) -> int:
    return first_refusal((not_negative(bending_moment), positive(section_modulus)))


def bending_stress(bending_moment: float, section_modulus: float) -> float:
    """Nominal bending stress in the fibre farthest from the neutral axis.

    Formula:  sigma = M / Z

    Args:
        bending_moment: bending moment at the section, M [N m], rises
        section_modulus: section modulus of the section, Z [section modulus m3], falls
    Returns:
        sigma: stress [Pa]
    Source: BEAM-ELASTIC
    """
    return bending_moment / section_modulus


def _beam_refusal(load: float, weight_per_length: float, length: float) -> int:
    return first_refusal((not_negative(load), not_negative(weight_per_length), positive(length)))


def built_in_moment_refusal(load: float, weight_per_length: float, length: float) -> int:
    return _beam_refusal(load, weight_per_length, length)


def built_in_moment(load: float, weight_per_length: float, length: float) -> float:
    """Bending moment at mid-span, where the hole is, of a tube held stiffly by the ground at both ends.

    Formula:  M = P L / 8 + w L^2 / 24

    Args:
        load: kit and hand load at mid-span, P [N], rises
        weight_per_length: weight of one metre of tube with what hangs on it, w [N/m], rises
        length: span between the supports, L [m], rises
    Returns:
        M: bending moment at mid-span [N m]
    Source: BEAM-ELASTIC
    Notes: at the supports it is P L / 8 + w L^2 / 12, carried by the whole section unless a thread stands there.
        The ground is never quite stiff: the truth lies between this and pinned_moment.
    """
    return length * (load / 8.0 + weight_per_length * length / 24.0)


def pinned_moment_refusal(load: float, weight_per_length: float, length: float) -> int:
    return _beam_refusal(load, weight_per_length, length)


def pinned_moment(load: float, weight_per_length: float, length: float) -> float:
    """Bending moment at mid-span, where the hole is, of a tube that lies free on two supports.

    Formula:  M = P L / 4 + w L^2 / 8

    Args:
        load: kit and hand load at mid-span, P [N], rises
        weight_per_length: weight of one metre of tube with what hangs on it, w [N/m], rises
        length: span between the supports, L [m], rises
    Returns:
        M: bending moment at mid-span [N m]
    Source: BEAM-ELASTIC
    """
    return length * (load / 4.0 + weight_per_length * length / 8.0)


def cantilever_moment_refusal(load: float, weight_per_length: float, length: float) -> int:
    return _beam_refusal(load, weight_per_length, length)


def cantilever_moment(load: float, weight_per_length: float, length: float) -> float:
    """Bending moment at the root of a stub that stands free after the cut.

    Formula:  M = P L + w L^2 / 2

    Args:
        load: kit and hand load at the free end, P [N], rises
        weight_per_length: weight of one metre of tube with what hangs on it, w [N/m], rises
        length: overhang from the last support, L [m], rises
    Returns:
        M: bending moment at the root [N m]
    Source: BEAM-ELASTIC
    """
    return length * (load + weight_per_length * length / 2.0)


def _spacing_refusal(section_modulus: float, stress_limit: float, load: float, weight_per_length: float) -> int:
    code = first_refusal((positive(section_modulus), positive(stress_limit), not_negative(load),
                          not_negative(weight_per_length)))
    if code == OK and not (load > 0.0 or weight_per_length > 0.0):
        code = NEVER_REACHED
    return code


def longest_prop_spacing_built_in_refusal(section_modulus: float, stress_limit: float, load: float,
                                          weight_per_length: float) -> int:
    return _spacing_refusal(section_modulus, stress_limit, load, weight_per_length)


def longest_prop_spacing_built_in(section_modulus: float, stress_limit: float, load: float,
                                  weight_per_length: float) -> float:
    """Longest span that keeps the stress at mid-span within a limit, ends held stiffly.

    Formula:  L = 16 M / (P + sqrt(P^2 + 32 w M / 3)), M = sigma Z

    Args:
        section_modulus: section modulus at mid-span, drilled, Z [section modulus m3], rises
        stress_limit: nominal bending stress allowed, sigma [Pa], rises
        load: kit and hand load at mid-span, P [N], falls
        weight_per_length: weight of one metre of tube with what hangs on it, w [N/m], falls
    Returns:
        L: longest distance between props [m]
    Source: BEAM-ELASTIC
    """
    moment = section_modulus * stress_limit
    return 16.0 * moment / (load + sqrt(load * load + 32.0 / 3.0 * weight_per_length * moment))


def longest_prop_spacing_pinned_refusal(section_modulus: float, stress_limit: float, load: float,
                                        weight_per_length: float) -> int:
    return _spacing_refusal(section_modulus, stress_limit, load, weight_per_length)


def longest_prop_spacing_pinned(section_modulus: float, stress_limit: float, load: float,
                                weight_per_length: float) -> float:
    """Longest span that keeps the stress at mid-span within a limit, ends free to turn: the careful one.

    Formula:  L = 8 M / (P + sqrt(P^2 + 8 w M)), M = sigma Z

    Args:
        section_modulus: section modulus at mid-span, drilled, Z [section modulus m3], rises
        stress_limit: nominal bending stress allowed, sigma [Pa], rises
        load: kit and hand load at mid-span, P [N], falls
        weight_per_length: weight of one metre of tube with what hangs on it, w [N/m], falls
    Returns:
        L: longest distance between props [m]
    Source: BEAM-ELASTIC
    """
    moment = section_modulus * stress_limit
    return 8.0 * moment / (load + sqrt(load * load + 8.0 * weight_per_length * moment))


def longest_overhang_refusal(section_modulus: float, stress_limit: float, load: float,
                             weight_per_length: float) -> int:
    return _spacing_refusal(section_modulus, stress_limit, load, weight_per_length)


def longest_overhang(section_modulus: float, stress_limit: float, load: float, weight_per_length: float) -> float:
    """Longest free stub after the cut that keeps the stress at its root within a limit.

    Formula:  L = 2 M / (P + sqrt(P^2 + 2 w M)), M = sigma Z

    Args:
        section_modulus: section modulus at the root, Z [section modulus m3], rises
        stress_limit: nominal bending stress allowed, sigma [Pa], rises
        load: kit and hand load at the free end, P [N], falls
        weight_per_length: weight of one metre of tube with what hangs on it, w [N/m], falls
    Returns:
        L: longest overhang from the last support [m]
    Source: BEAM-ELASTIC
    """
    moment = section_modulus * stress_limit
    return 2.0 * moment / (load + sqrt(load * load + 2.0 * weight_per_length * moment))


def wall_left_under_thread_refusal(wall: float, thread_pitch: float) -> int:
    code = first_refusal((positive(wall), positive(thread_pitch)))
    if code == OK and not (0.640327 * thread_pitch < wall):
        code = NO_WALL_LEFT
    return code


def wall_left_under_thread(wall: float, thread_pitch: float) -> float:
    """Wall left under a taper pipe thread cut into the full outside diameter.

    Formula:  t_left = t - 0.640327 p

    Args:
        wall: wall thickness, t [m], rises
        thread_pitch: pitch of the thread, p [m], falls
    Returns:
        t_left: wall under the root of the thread [m]
    Source: ISO-7-1-1994
    Notes: 11 threads per inch from 1 inch up (depth 1.48 mm), 14 for 1/2 and 3/4 inch (1.16 mm). Towards the tube's
        end the taper takes more: in a 1 inch tube about 0.2 mm more at the gauge plane (from memory).
    """
    return wall - 0.640327 * thread_pitch


def kit_load_refusal(mass: float, hand_load: float) -> int:
    return first_refusal((not_negative(mass), not_negative(hand_load)))


def kit_load(mass: float, hand_load: float) -> float:
    """Load that kit and hand put on the pipe.

    Formula:  F = m g + F_hand

    Args:
        mass: mass hanging on the pipe, m [kg], rises
        hand_load: force of a hand on the drill, F_hand [N], rises
    Returns:
        F: load [N]
    Source: STILLBORE-DEFINITION
    """
    return mass * STANDARD_GRAVITY + hand_load


def weight_per_length_refusal(mass_per_length: float) -> int:
    return not_negative(mass_per_length)


def weight_per_length(mass_per_length: float) -> float:
    """Weight of the pipe per length.

    Formula:  w = m g

    Args:
        mass_per_length: mass of the pipe per length, m [kg/m], rises
    Returns:
        w: weight per length [N/m]
    Source: STILLBORE-DEFINITION
    """
    return mass_per_length * STANDARD_GRAVITY


def whole_length_refusal(half_length: float) -> int:
    return not_negative(half_length)


def whole_length(half_length: float) -> float:
    """Length of the saddle.

    Formula:  l = 2 h

    Args:
        half_length: from the saddle's centre to its end, h [m], rises
    Returns:
        l: its length [m]
    Source: STILLBORE-DEFINITION
    """
    return 2.0 * half_length
