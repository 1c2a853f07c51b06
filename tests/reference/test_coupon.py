"""The coupon against the body that falls out of a cut solid, and its quadrature against others."""

import math

import pytest
import solids
from scipy.integrate import quad

from stillbore.physics import coupon

DENSITY = 7850.0
CUTS = [(33.7, 3.2, 24.0, 1.5), (33.7, 4.0, 24.0, 2.0), (26.9, 3.2, 18.0, 1.5), (60.3, 4.5, 44.0, 2.0)]
# A regular polygon's area is short of its circle's by this part. The coupon's outline and both faces are polygons.
AREA_SHORT = 1.0 - math.sin(2 * math.pi / solids.SIDES) / (2 * math.pi / solids.SIDES)


def arguments(outside_diameter, wall, saw_diameter, kerf):
    return {"outside_diameter": outside_diameter / 1e3, "wall": wall / 1e3, "saw_diameter": saw_diameter / 1e3,
            "kerf": kerf / 1e3}


def cut_out(outside_diameter, wall, saw_diameter, kerf):
    """Whole tube, and its bodies after pilot and saw have gone down to the tube's axis: rest of the tube, coupon."""
    outer, edge = outside_diameter / 2, saw_diameter / 2
    whole = solids.tube(outer, outer - wall)
    drilled = solids.cut(whole, solids.pilot(3.0, 1.8, 0.0, outer + 5, -5))
    parts = solids.bodies(solids.cut(drilled, solids.saw(edge, edge - kerf, 0.0, outer + 1, 0.0)))
    assert len(parts) == 2
    return whole, parts[0], parts[1]


@pytest.mark.parametrize("size", CUTS)
def test_the_coupon_weighs_what_the_solid_weighs(size):
    _, _, piece = cut_out(*size)
    ours = coupon.coupon_mass(**arguments(*size), pilot_diameter=6e-3, steel_density=DENSITY)
    assert 4 * AREA_SHORT < 3e-4
    assert ours == pytest.approx(DENSITY * piece.volume * 1e-9, rel=4 * AREA_SHORT)


@pytest.mark.parametrize("size", CUTS)
def test_the_swarf_is_what_the_solid_lost(size):
    whole, rest, piece = cut_out(*size)
    ours = coupon.swarf_mass(**arguments(*size), pilot_diameter=6e-3, steel_density=DENSITY)
    assert ours == pytest.approx(DENSITY * (whole.volume - rest.volume - piece.volume) * 1e-9, rel=1e-3)


@pytest.mark.parametrize("size", CUTS)
def test_the_coupon_is_as_long_as_the_solid(size):
    _, _, piece = cut_out(*size)
    ours = 1e3 * coupon.coupon_diameter(saw_diameter=size[2] / 1e3, kerf=size[3] / 1e3)
    assert piece.extents[1] == pytest.approx(ours, abs=2 * solids.SAG * size[2])


@pytest.mark.parametrize("size", CUTS)
def test_the_coupon_stands_as_high_as_the_solid(size):
    # Without the pilot's hole, and a cap instead of the wall: the outer face alone, from its middle to its lowest edge.
    outside_diameter, _, saw_diameter, kerf = size
    outer, half = outside_diameter / 2, saw_diameter / 2 - kerf
    rod = solids.trimesh.creation.cylinder(radius=outer, height=solids.LENGTH, sections=solids.SIDES)
    rod.apply_transform(solids.trimesh.transformations.rotation_matrix(math.pi / 2, (1, 0, 0)))
    core = solids.trimesh.creation.cylinder(radius=half, height=4 * outer, sections=solids.SIDES)
    top = solids.common(rod, core).vertices
    edge = top[(abs(top[:, 1]) < 1e-3) & (abs(abs(top[:, 0]) - half) < 1e-3) & (top[:, 2] > 0)]
    assert len(edge)
    ours = 1e3 * coupon.coupon_sagitta(outside_diameter=outside_diameter / 1e3, saw_diameter=saw_diameter / 1e3,
                                       kerf=kerf / 1e3)
    assert top[:, 2].max() - edge[:, 2].min() == pytest.approx(ours, abs=solids.mesh_error(outer, outer, half) + 2e-3)


@pytest.mark.parametrize("part", [0.2, 0.6, 0.9, 0.999])
def test_the_fixed_steps_agree_with_adaptive_quadrature(part):
    outer, inner = 16.85e-3, 12.85e-3
    radius = part * inner

    def chord(across):
        return 2 * math.sqrt(radius**2 - across**2) * (math.sqrt(outer**2 - across**2)
                                                       - math.sqrt(inner**2 - across**2))

    volume, _ = quad(chord, -radius, radius, epsabs=0, epsrel=1e-10, limit=200)
    ours = coupon.coupon_mass(outside_diameter=2 * outer, wall=outer - inner, saw_diameter=2 * radius + 2e-3, kerf=1e-3,
                              pilot_diameter=0.0, steel_density=DENSITY)
    assert ours == pytest.approx(DENSITY * volume, rel=1e-8)


def test_the_volume_of_two_equal_cylinders_crossing():
    # The saw as wide as the bore: what lies between crown and bore's top is known in closed form on the bore's side.
    outer, wall = 16.85e-3, 4e-3
    inner = outer - wall
    under_bore = 8 / 3 * inner**3  # half of 16 r^3 / 3
    under_outside, _ = quad(lambda x: 2 * math.sqrt(inner**2 - x**2) * math.sqrt(outer**2 - x**2), -inner, inner,
                            epsabs=0, epsrel=1e-11)
    given = {"outside_diameter": 2 * outer, "wall": wall, "saw_diameter": 2 * inner, "kerf": 1e-3,
             "pilot_diameter": 0.0, "steel_density": DENSITY}
    ours = coupon.swarf_mass(**given) + coupon.coupon_mass(**given)
    assert ours == pytest.approx(DENSITY * (under_outside - under_bore), rel=1e-7)


def test_the_coupon_tells_medium_from_heavy_and_corroded_from_new():
    """Handbook of the trade, C7: 2.3 g apart, about 2.7 g for each millimetre of wall, read on a 0.1 g balance."""
    grams = [1e3 * coupon.coupon_mass(**arguments(33.7, wall, 24.0, 1.5), pilot_diameter=6e-3, steel_density=DENSITY)
             for wall in (2.2, 3.2, 4.0)]
    assert grams[2] - grams[1] == pytest.approx(2.3, abs=0.1)
    assert grams[1] - grams[0] == pytest.approx(2.7, abs=0.1)
