"""The stopper against quadrature: pressure added up over the face, friction added up over the wall."""

import math

import pytest
from scipy.integrate import dblquad, quad
from scipy.optimize import brentq

from stillbore.physics import stopper


def push_over_face(pressure, bore):
    """Pressure on the face, added up strip by strip across the circle."""
    radius = 0.5 * bore
    return dblquad(lambda y, x: pressure, -radius, radius, lambda x: -math.sqrt(max(0.0, radius**2 - x**2)),
                   lambda x: math.sqrt(max(0.0, radius**2 - x**2)), epsabs=0.0, epsrel=1e-11)[0]


def friction_over_wall(friction, contact, bore, length):
    """Friction on the wall, added up round the circle and along the stopper."""
    return quad(lambda angle: quad(lambda z: friction * contact * 0.5 * bore, 0.0, length)[0], 0.0, 2.0 * math.pi)[0]


@pytest.mark.parametrize("bore", [0.0205, 0.0273, 0.0531])
def test_push_out_against_quadrature_over_the_face(bore):
    force = push_over_face(7500.0, bore)
    assert stopper.push_out_force(bore=bore, gauge_pressure=7500.0) == pytest.approx(force, rel=1e-9)
    assert stopper.largest_gauge_pressure(force=force, bore=bore) == pytest.approx(7500.0, rel=1e-9)


@pytest.mark.parametrize("bore", [0.0205, 0.0273, 0.0531])
def test_grip_against_quadrature_and_the_pressure_at_which_it_slips(bore):
    held = friction_over_wall(0.15, 20e3, bore, 0.04)
    assert stopper.grip_force(friction_coefficient=0.15, contact_pressure=20e3, bore=bore, stopper_length=0.04
                              ) == pytest.approx(held, rel=1e-9)
    slips = brentq(lambda pressure: push_over_face(pressure, bore) - held, 100.0, 1e6, xtol=1e-9, rtol=1e-12)
    assert stopper.grip_factor(friction_coefficient=0.15, contact_pressure=20e3, bore=bore, stopper_length=0.04,
                               gauge_pressure=slips) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("bore", [0.0257, 0.0273, 0.0285])
def test_squeeze_against_the_lengths_of_two_rims(bore):
    """The rim of the free stopper must shorten to the rim of the bore; both measured along a fine polygon."""
    def rim(diameter, sides=20_000):
        return sides * diameter * math.sin(math.pi / sides)

    assert stopper.squeeze(stopper_diameter=0.029, bore=bore) == pytest.approx(
        (rim(0.029) - rim(bore)) / rim(bore), rel=1e-9)
