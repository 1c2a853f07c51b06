"""A pipe in a bend of another, against a search that knows only circles and lines."""

import math

import pytest
from scipy.optimize import brentq

from stillbore.physics import insert


def corner_by_search(bend_radius, clearance, angle):
    """The radius at which an arc, tangent to the outsides of both straights, just touches the inside of the bend.

    The new pipe may lie c/2 off the old centre line. The old bend's centre is the origin, its bisector the x axis;
    the straights' outer limits are lines R_c + c/2 from the origin, at half the angle to each side.
    An arc of radius R tangent to both has its centre on the bisector. It is pushed towards the origin until its nearest
    point is R_c - c/2 away.
    """
    outer, inner = bend_radius + clearance / 2.0, bend_radius - clearance / 2.0

    def nearest(radius):
        # The centre at x: its distance to each line, whose normal makes half the angle with the axis, is R.
        centre = (outer - radius) / math.cos(angle / 2.0)
        return centre + radius - inner  # the arc's point on the axis, from the origin

    return brentq(nearest, inner, 1e6 * bend_radius, xtol=1e-15, rtol=1e-14)


@pytest.mark.parametrize("bend_radius", [0.1, 0.135, 0.4])
@pytest.mark.parametrize("clearance", [0.0007, 0.0023, 0.0073, 0.0113])
@pytest.mark.parametrize("degrees", [5.0, 16.0, 45.0, 90.0])
def test_a_pipe_in_a_bend_against_a_search(bend_radius, clearance, degrees):
    angle = math.radians(degrees)
    ours = insert.corner_radius(bend_radius=bend_radius, clearance=clearance, bend_angle=angle)
    assert ours == pytest.approx(corner_by_search(bend_radius, clearance, angle), rel=1e-6)
    back = insert.largest_bend_angle(bend_radius=bend_radius, clearance=clearance, least_radius=ours)
    assert back == pytest.approx(angle, rel=1e-9)
