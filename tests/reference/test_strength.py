"""The drilled section against polygons; moments and prop spacings against beam elements."""

import math

import numpy
import pytest
import shapely
from scipy.optimize import brentq

from stillbore.physics import strength, tube

SIDES = 20_000
SECTIONS = [(33.7, 3.2, 24.0), (33.7, 4.0, 24.0), (33.7, 1.6, 24.0), (26.9, 2.6, 18.0), (60.3, 4.5, 44.0),
            (33.7, 3.2, 3.0)]


def circle(radius):
    return shapely.Polygon([(radius * math.cos(2 * math.pi * k / SIDES), radius * math.sin(2 * math.pi * k / SIDES))
                            for k in range(SIDES)])


def drilled_polygon(outside_diameter, wall, hole_diameter):
    ring = circle(outside_diameter / 2).difference(circle(outside_diameter / 2 - wall))
    return ring, ring.difference(shapely.box(-hole_diameter / 2, 0, hole_diameter / 2, outside_diameter))


def second_moments(polygon):
    """Second moments about the x and y axes through the origin, from the corners."""
    about_x = about_y = 0.0
    oriented = shapely.geometry.polygon.orient(polygon)
    for line in (oriented.exterior, *oriented.interiors):
        points = list(line.coords)
        for (x0, y0), (x1, y1) in zip(points, points[1:], strict=False):
            cross = x0 * y1 - x1 * y0
            about_x += cross * (y0 * y0 + y0 * y1 + y1 * y1) / 12
            about_y += cross * (x0 * x0 + x0 * x1 + x1 * x1) / 12
    return about_x, about_y


@pytest.mark.parametrize("section", SECTIONS)
def test_the_drilled_section_agrees_with_polygons(section):
    whole, left = drilled_polygon(*section)
    about_x, about_y = second_moments(left)
    centre = left.centroid.y
    _, bottom, _, top = left.bounds
    in_plane = (about_x - left.area * centre**2) / max(top - centre, centre - bottom)
    sideways = about_y / (section[0] / 2)
    given = dict(zip(("outside_diameter", "wall", "hole_diameter"), (value / 1e3 for value in section), strict=True))
    assert 1e9 * strength.drilled_section_modulus(**given) == pytest.approx(in_plane, rel=1e-5)
    assert 1e9 * strength.drilled_section_modulus_sideways(**given) == pytest.approx(sideways, rel=1e-5)
    assert strength.hole_area_fraction(**given) == pytest.approx(1 - left.area / whole.area, rel=1e-5)


@pytest.mark.parametrize(("wall", "in_plane", "sideways"), [(3.2e-3, "0.38", "0.87"), (4e-3, "0.36", "0.85")])
def test_what_is_left_is_what_the_trade_prints(wall, in_plane, sideways):
    """Handbook of the trade, C8: 38 and 36 % in the plane of the hole, 85 to 87 % sideways."""
    given = {"outside_diameter": 33.7e-3, "wall": wall}
    whole = tube.section_modulus(**given)
    assert f"{strength.drilled_section_modulus(**given, hole_diameter=24e-3) / whole:.2f}" == in_plane
    assert f"{strength.drilled_section_modulus_sideways(**given, hole_diameter=24e-3) / whole:.2f}" == sideways


def beam_moment(ends, load, weight_per_length, length):
    """Largest moment at the middle (or at the root of a cantilever) from two beam elements of unit stiffness."""
    part = length / 2
    block = numpy.array([[12, 6 * part, -12, 6 * part], [6 * part, 4 * part**2, -6 * part, 2 * part**2],
                         [-12, -6 * part, 12, -6 * part], [6 * part, 2 * part**2, -6 * part, 4 * part**2]]) / part**3
    even = weight_per_length * part * numpy.array([0.5, part / 12, 0.5, -part / 12])  # consistent nodal loads
    stiffness, forces = numpy.zeros((6, 6)), numpy.zeros(6)
    for first in (0, 2):
        stiffness[first:first + 4, first:first + 4] += block
        forces[first:first + 4] += even
    forces[4 if ends == "cantilever" else 2] += load
    held = {"built in": (0, 1, 4, 5), "pinned": (0, 4), "cantilever": (0, 1)}[ends]
    free = [index for index in range(6) if index not in held]
    moved = numpy.zeros(6)
    moved[free] = numpy.linalg.solve(stiffness[numpy.ix_(free, free)], forces[free])
    at_ends = block @ moved[:4] - even  # shear and moment at both ends of the first element
    return abs(at_ends[1] if ends == "cantilever" else at_ends[3])


KINDS = {"built in": (strength.built_in_moment, strength.longest_prop_spacing_built_in),
         "pinned": (strength.pinned_moment, strength.longest_prop_spacing_pinned),
         "cantilever": (strength.cantilever_moment, strength.longest_overhang)}
LOADS = [(358.8, 0.0), (358.8, 23.6), (0.0, 23.6), (500.0, 60.0)]


@pytest.mark.parametrize(("load", "weight_per_length"), LOADS)
@pytest.mark.parametrize("ends", KINDS)
def test_moments_agree_with_beam_elements(ends, load, weight_per_length):
    for length in (0.4, 0.9, 2.5):
        ours = KINDS[ends][0](load=load, weight_per_length=weight_per_length, length=length)
        assert ours == pytest.approx(beam_moment(ends, load, weight_per_length, length), rel=1e-8)


@pytest.mark.parametrize(("load", "weight_per_length"), LOADS)
@pytest.mark.parametrize("ends", KINDS)
def test_spacings_agree_with_a_root_search_on_beam_elements(ends, load, weight_per_length):
    modulus, limit = 808e-9, 60e6
    found = brentq(lambda length: beam_moment(ends, load, weight_per_length, length) / modulus - limit, 1e-3, 100.0,
                   xtol=1e-12, rtol=1e-12)
    ours = KINDS[ends][1](section_modulus=modulus, stress_limit=limit, load=load, weight_per_length=weight_per_length)
    assert ours == pytest.approx(found, rel=1e-6)


def test_a_thread_that_eats_the_wall_is_refused():
    assert strength.wall_left_under_thread_refusal(wall=1.4e-3, thread_pitch=2.309e-3) != 0
    assert strength.wall_left_under_thread_refusal(wall=1.5e-3, thread_pitch=2.309e-3) == 0
