"""A pipe that grows under pressure, against a wall cut into rings and the gas law; no formula of the program's is used.

Figures of PE 100 from a public data sheet (check values, 2.4): 1000 MPa short, 200 MPa after 50 years, 0.45.
"""

import math

import numpy
import pytest

from stillbore.physics import creep

AIR = 101325.0


def displaced(pressure, inner, outer, elasticity, poisson, rings=400):
    """Displacement of the bore and axial strain of a closed tube, by finite differences of the equilibrium in u(r).

    r^2 u'' + r u' - u = 0 holds for any constant axial strain; the boundary conditions are the radial stress at both
    faces, and the axial strain is the one at which the wall carries the push on the ends.
    """
    radii = numpy.linspace(inner, outer, rings)
    step = radii[1] - radii[0]
    lame = elasticity * poisson / ((1 + poisson) * (1 - 2 * poisson))
    shear = elasticity / (2 * (1 + poisson))
    matrix, right = numpy.zeros((rings + 1, rings + 1)), numpy.zeros(rings + 1)
    for row in range(1, rings - 1):
        r = radii[row]
        matrix[row, row - 1] = r * r / step**2 - r / (2 * step)
        matrix[row, row] = -2 * r * r / step**2 - 1
        matrix[row, row + 1] = r * r / step**2 + r / (2 * step)
    slopes = {0: (numpy.array([-1.5, 2.0, -0.5]) / step, (0, 1, 2)),
              rings - 1: (numpy.array([1.5, -2.0, 0.5]) / step, (rings - 1, rings - 2, rings - 3))}
    for row, load in ((0, -pressure), (rings - 1, 0.0)):  # (lame + 2 shear) u' + lame (u / r + axial strain)
        weights, places = slopes[row]
        for weight, place in zip(weights, places, strict=True):
            matrix[row, place] += (lame + 2 * shear) * weight
        matrix[row, row] += lame / radii[row]
        matrix[row, rings] = lame
        right[row] = load
    # Axial: the integral over the wall of lame (u' + u/r) + (lame + 2 shear) e, times 2 pi r, is p pi inner^2; and the
    # integral of (u' + u/r) r is that of (r u)', which is outer u(outer) - inner u(inner).
    matrix[rings, rings - 1], matrix[rings, 0] = lame * outer, -lame * inner
    matrix[rings, rings] = (lame + 2 * shear) * 0.5 * (outer**2 - inner**2)
    right[rings] = 0.5 * pressure * inner**2
    solved = numpy.linalg.solve(matrix, right)
    return solved[0], solved[rings]


def test_the_wall_of_rings_knows_a_thin_tube():
    """A thin tube: p r / t hoop, half of it axial (any textbook)."""
    pressure, radius, wall, elasticity, poisson = 1e5, 0.05, 0.0005, 2e11, 0.3
    moved, axial = displaced(pressure, radius - wall / 2, radius + wall / 2, elasticity, poisson)
    hoop = pressure * radius / wall / elasticity
    assert moved / radius == pytest.approx(hoop * (1 - poisson / 2), rel=0.02)
    assert axial == pytest.approx(hoop * (0.5 - poisson), rel=0.02)


@pytest.mark.parametrize(("outside", "wall"), [(0.025, 0.0023), (0.025, 0.0030), (0.063, 0.0058), (0.032, 0.0020)])
@pytest.mark.parametrize("gauge", [35e3, 345e3])
def test_the_fall_against_a_wall_of_rings(outside, wall, gauge):
    """The gas keeps p V; V grows from the start of the hold to its end as the modulus falls with the time's power."""
    exponent = math.log(5.0) / math.log(50 * 365.25 * 1440)  # 1000 to 200 MPa from a minute to fifty years
    settled, duration = 120.0, 600.0

    def volume(time):
        elasticity = 1e9 * (time / 60.0) ** -exponent
        inner = outside / 2 - wall
        moved, axial = displaced(gauge, inner, outside / 2, elasticity, 0.45)
        return math.pi * (inner + moved) ** 2 * (1 + axial)

    first, last = volume(settled), volume(settled + duration)
    fall = (gauge + AIR) * (1 - first / last)
    ours = creep.creep_fall(gauge_pressure=gauge, atmospheric_pressure=AIR, outside_diameter=outside, wall=wall,
                            elasticity=1e9, poisson=0.45, exponent=exponent, reference_time=60.0, settled=settled,
                            duration=duration)
    assert ours == pytest.approx(fall, rel=0.05 if gauge > 1e5 else 0.01)  # at 3.45 bar the bore itself is wider by 3 %


def test_the_exponent_is_the_slope_between_two_moduli():
    slope = -numpy.polyfit(numpy.log([60.0, 1.6e9]), numpy.log([1000.0, 200.0]), 1)[0]
    ours = creep.creep_exponent(elasticity=1e9, elasticity_late=2e8, time=60.0, time_late=1.6e9)
    assert ours == pytest.approx(slope, rel=1e-12)
