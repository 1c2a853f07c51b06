"""The tube against polygons, the printed masses of BS 1387, and a library of schedules."""

import math

import fluids
import pytest
import shapely

from stillbore import tables
from stillbore.physics import tube

SIDES = 20_000
SIZES = ("3/4", "1", "1 1/4", "1 1/2", "2")


def circle(radius):
    return shapely.Polygon([(radius * math.cos(2 * math.pi * k / SIDES), radius * math.sin(2 * math.pi * k / SIDES))
                            for k in range(SIDES)])


def second_moment(ring):
    """Second moment about the x axis of a closed line of corners."""
    points = list(ring.coords)
    return abs(sum((x0 * y1 - x1 * y0) * (y0 * y0 + y0 * y1 + y1 * y1)
                   for (x0, y0), (x1, y1) in zip(points, points[1:], strict=False))) / 12


@pytest.mark.parametrize(("outside_diameter", "wall"), [(33.7e-3, 3.2e-3), (60.3e-3, 4.5e-3), (26.9e-3, 1.6e-3)])
def test_areas_agree_with_polygons(outside_diameter, wall):
    outer, inner = circle(outside_diameter / 2), circle(outside_diameter / 2 - wall)
    given = {"outside_diameter": outside_diameter, "wall": wall}
    assert tube.metal_area(**given) == pytest.approx(outer.difference(inner).area, rel=1e-6)
    assert tube.bore_area(**given) == pytest.approx(inner.area, rel=1e-6)


@pytest.mark.parametrize(("outside_diameter", "wall"), [(33.7e-3, 3.2e-3), (60.3e-3, 4.5e-3), (26.9e-3, 1.6e-3)])
def test_the_section_modulus_agrees_with_polygons(outside_diameter, wall):
    outer, inner = circle(outside_diameter / 2), circle(outside_diameter / 2 - wall)
    polygon = (second_moment(outer.exterior) - second_moment(inner.exterior)) / (outside_diameter / 2)
    assert tube.section_modulus(outside_diameter=outside_diameter, wall=wall) == pytest.approx(polygon, rel=1e-6)


@pytest.mark.parametrize("row", tables.table("steel_bs1387").rows, ids=lambda row: f"{row[0]}-{row[1]}")
def test_masses_agree_with_the_printed_table(row):
    table = tables.table("steel_bs1387")
    key = {"size": row[0], "grade": row[1]}
    if table.printed("outside_diameter", **key):
        diameter = table.number("outside_diameter", **key)
    else:  # the light series has limits only
        diameter = 0.5 * (table.number("outside_diameter_min", **key) + table.number("outside_diameter_max", **key))
    ours = tube.mass_per_length(outside_diameter=diameter, wall=table.number("wall", **key), steel_density=7850.0)
    assert ours == pytest.approx(table.number("mass_per_length", **key), rel=0.005)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("schedule", ["40", "80"])
def test_the_schedule_table_agrees_with_a_library(size, schedule):
    whole, _, fraction = size.rpartition(" ") if "/" in size else (size, "", "0/1")
    above, below = fraction.split("/")
    nps = float(whole or 0) + float(above) / float(below)
    _, inside, outside, wall = fluids.nearest_pipe(NPS=nps, schedule=schedule)
    table = tables.table("steel_asme_b36_10")
    key = {"size": size, "grade": f"schedule {schedule}"}
    ours = table.number("outside_diameter", **key), table.number("wall", **key)
    assert ours == (pytest.approx(outside, abs=1e-9), pytest.approx(wall, abs=1e-9))
    assert tube.bore(outside_diameter=ours[0], wall=ours[1]) == pytest.approx(inside, abs=1e-5)


def test_ovality_is_nought_for_a_round_tube_and_refuses_a_swapped_pair():
    assert tube.ovality(largest=33.7e-3, smallest=33.7e-3) == 0.0
    assert tube.ovality(largest=34.04e-3, smallest=33.36e-3) == pytest.approx(0.68 / 33.7, rel=1e-9)
    assert tube.ovality_refusal(largest=33.3e-3, smallest=33.7e-3) != 0
