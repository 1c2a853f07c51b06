"""Solids for the tests of saw and coupon: tube, saw and pilot in millimetres, the tube along y, the saw down along -z.

Round bodies are prisms of SIDES sides, corners on the circle, so that a radius is short by at most SAG of itself.
The tolerances of the tests are worked from that and from nothing else.
"""

import math

import numpy
import trimesh

SIDES = 360
SAG = 1.0 - math.cos(math.pi / SIDES)
LENGTH = 60.0


def tube(outer, inner, half=None):
    """A tube along y with its axis in the origin; ``half`` 'upper' or 'lower' keeps only that half of it."""
    solid = trimesh.creation.annulus(r_min=inner, r_max=outer, height=LENGTH, sections=SIDES)
    solid.apply_transform(trimesh.transformations.rotation_matrix(math.pi / 2, (1, 0, 0)))
    if half is not None:
        box = trimesh.creation.box(extents=(4 * outer, 2 * LENGTH, 2 * outer))
        box.apply_translation((0, 0, outer if half == "upper" else -outer))
        solid = common(solid, box)
    return solid


def saw(outer_edge, inner_edge, off_centre, top, bottom):
    """The ring that the saw's teeth sweep from ``top`` to ``bottom``."""
    solid = trimesh.creation.annulus(r_min=inner_edge, r_max=outer_edge, height=top - bottom, sections=SIDES)
    solid.apply_translation((off_centre, 0, 0.5 * (top + bottom)))
    return solid


def pilot(radius, point_height, off_centre, top, tip):
    """A drill with a conical point, its tip at height ``tip``."""
    profile = numpy.array([(0.0, tip), (radius, tip + point_height), (radius, top), (0.0, top)])
    solid = trimesh.creation.revolve(profile, sections=SIDES)
    solid.apply_translation((off_centre, 0, 0))
    return solid


def cut(solid, tool):
    return trimesh.boolean.difference([solid, tool], engine="manifold")


def common(solid, other):
    return trimesh.boolean.intersection([solid, other], engine="manifold")


def bodies(solid):
    """The separate bodies of a solid, dust of the mesh left out, the largest first."""
    parts = [part for part in solid.split(only_watertight=False) if abs(part.volume) > 1e-6]
    return sorted(parts, key=lambda part: -part.volume)


def volume(solid):
    return 0.0 if solid.is_empty else solid.volume


def depth_of_change(happens, low, high, step=1e-4):
    """The depth at which ``happens(depth)`` turns from False to True, by halving."""
    assert not happens(low) and happens(high), "the change does not lie between the two depths"
    while high - low > step:
        middle = 0.5 * (low + high)
        if happens(middle):
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def mesh_error(outer, inner, reach, step=1e-4):
    """How far a depth R -/+ sqrt(r^2 - x^2) may be off because the radii are short by up to SAG of themselves."""
    height = math.sqrt(inner**2 - reach**2)
    return SAG * (outer + (inner**2 + reach**2) / height) + step
