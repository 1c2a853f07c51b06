"""The filter under the verdicts against certified regressions and Wald's figures: with no drift, no relaxation and a
free level it must be plain least squares, and its likelihood ratio plain arithmetic."""

import math
import random

import numpy as np
import pytest
import scipy.stats

from stillbore.gauge.filter import (
    GAUGE,
    INFORMATION,
    LENGTH,
    SENSITIVITY,
    THERMOMETER,
    log_likelihood,
    predict,
    start,
    update,
)

# NIST StRD "Norris", linear regression, 36 points; certified values printed on its page.
NORRIS_X = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
            447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
            229.2, 669.1, 448.9, 0.5]
NORRIS_Y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
            448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
            228.9, 668.4, 449.2, 0.2]
# GUM (JCGM 100:2008) H.3, calibration of a thermometer: readings and corrections; y2 0.00218 with u 0.00067, s 0.0035.
GUM_T = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
GUM_B = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def slope_by_filter(xs, ys, residual):
    """Slope and its standard deviation by the filter with everything but a free level switched off."""
    state = [0.0] * LENGTH
    start(state, 0, (0.0,) * 6, (1e5 * residual, 0.0, 0.0, 0.0, 0.0, 0.0))
    last = None
    for x, y in sorted(zip(xs, ys, strict=True)):
        if last is not None and x > last:
            predict(state, 0, x - last, -1.0, 0.0, 300.0, (5.0, 20.0, 80.0), (0.0, 0.0, 0.0), 0.0)
        update(state, 0, y, GAUGE, residual**2)
        last = x
    a, b = state[INFORMATION], state[INFORMATION + 1]
    return b / a, a**-0.5


def test_norris_certified_slope_and_its_deviation():
    slope, deviation = slope_by_filter(NORRIS_X, NORRIS_Y, 0.884796396144373)
    assert slope == pytest.approx(1.00211681802045, rel=1e-8)
    assert deviation == pytest.approx(0.000429796848199937, rel=1e-6)


def test_gum_h3():
    slope, deviation = slope_by_filter(GUM_T, GUM_B, 0.00349756)
    assert round(slope, 5) == 0.00218
    assert round(deviation, 5) == 0.00067


def test_random_lines_against_scipy():
    draw = random.Random(3)
    for _ in range(20):
        xs = sorted(draw.uniform(0, 500) for _ in range(40))
        ys = [3.0 - 0.7 * x + draw.gauss(0, 2.0) for x in xs]
        slope, _ = slope_by_filter(xs, ys, 2.0)
        assert slope == pytest.approx(scipy.stats.linregress(xs, ys).slope, rel=1e-7)


def test_wald_ratio_of_a_normal_mean():
    """Wald's sequential test, alpha 0.05, beta 0.20, means 0 against 1, ten values of sum 0.7462564: the published run
    accepts 0 (boundary -1.558); ten readings of a known level that a leak of one lifts by one are the same test."""
    state = [0.0] * LENGTH
    start(state, 0, (0.0,) * 6, (0.0,) * 6)
    state[SENSITIVITY] = 1.0
    draw = random.Random(1)
    values = [draw.gauss(0, 1) for _ in range(9)]
    values.append(0.7462564 - sum(values))
    for value in values:
        update(state, 0, value, GAUGE, 1.0)
    ratio = log_likelihood(state, 0, 1.0) - log_likelihood(state, 0, 0.0)
    assert ratio == pytest.approx(-4.253744, abs=1e-5)
    assert ratio < -1.558


def test_the_sensitivity_is_how_the_state_moves_with_a_leak():
    """Run the filter on readings, and on the same readings with a leak's fall added: the shift is the sensitivity's."""
    draw = random.Random(8)
    readings = [10_000 + draw.gauss(0, 6) for _ in range(60)]
    shifts = []
    for leak in (0.0, 1e-3):
        state = [0.0] * LENGTH
        start(state, 0, (1e4, 0.0, 28.0, 14.0, 14.0, 0.85), (5000.0, 0.6, 112.0, 56.0, 42.0, 0.25))
        for number, reading in enumerate(readings):
            if number:
                predict(state, 0, 1.0, 1.0, 0.6, 300.0, (5.0, 20.0, 80.0), (2.0, 1.0, 0.8), 0.5)
                state[0] -= leak
            update(state, 0, reading, GAUGE, 50.0)
        shifts.append(state[0])
        sensitivity = state[SENSITIVITY]
    assert (shifts[1] - shifts[0]) / 1e-3 == pytest.approx(sensitivity, rel=1e-6)


def joint_log_likelihood(steps, gauge, thermometer, noises, leak):
    """Logarithm of the density of all readings at once, from their joint normal distribution: nothing is filtered.

    The six of the filter, as they follow from its docstring: what a leak takes and what drifts adds up over time.
    """
    keep = np.exp(-steps / np.array([np.inf, 300.0, 5.0, 20.0, 80.0, np.inf]))
    carry = np.diag(keep)
    carry[0, 1] = carry[5, 1] = steps
    spreads = np.array([50.0, 0.6, 112.0, 56.0, 42.0, 30.0])
    wandering = np.diag(np.array([0.25 * steps, 0.4**2 * (1 - keep[1] ** 2), 2.0**2 * (1 - keep[2] ** 2),
                                  1.0**2 * (1 - keep[3] ** 2), 0.8**2 * (1 - keep[4] ** 2), 4.0 * steps]))
    seen = np.array([[1.0, 0, 1, 1, 1, 0], [0, 0, 0, 0, 0, 1.0]])
    count = len(gauge)
    mean, shift = np.array([1e4, 0.0, 28.0, 14.0, 14.0, 0.0]), np.zeros(6)
    means, spread = [], [np.diag(spreads**2)]
    for _ in range(count):
        means.append(seen @ (mean + shift))
        mean, shift = carry @ mean, carry @ shift - np.array([leak * steps, 0, 0, 0, 0, 0])
        spread.append(carry @ spread[-1] @ carry.T + wandering)
    covariance = np.zeros((2 * count, 2 * count))
    for later in range(count):
        for earlier in range(later + 1):
            block = seen @ np.linalg.matrix_power(carry, later - earlier) @ spread[earlier] @ seen.T
            covariance[2 * later:2 * later + 2, 2 * earlier:2 * earlier + 2] = block
            covariance[2 * earlier:2 * earlier + 2, 2 * later:2 * later + 2] = block.T
    covariance += np.diag(np.tile(noises, count))
    readings = np.column_stack([gauge, thermometer]).ravel()
    return scipy.stats.multivariate_normal(np.concatenate(means), covariance).logpdf(readings)


def test_gauge_and_thermometer_are_as_likely_as_their_joint_normal_distribution_says():
    """The filter's likelihood of any leak, against the density of all readings at once (numpy and scipy)."""
    draw = random.Random(4)
    gauge = [10_000.0 - 0.4 * number + draw.gauss(0, 7) for number in range(15)]
    thermometer = [0.5 * number + draw.gauss(0, 20) for number in range(15)]
    state = [0.0] * LENGTH
    start(state, 0, (1e4, 0.0, 28.0, 14.0, 14.0, 0.0), (50.0, 0.6, 112.0, 56.0, 42.0, 30.0))
    for number in range(15):
        if number:
            predict(state, 0, 3.0, 1.0, 0.4, 300.0, (5.0, 20.0, 80.0), (2.0, 1.0, 0.8), 0.5, 2.0)
        update(state, 0, gauge[number], GAUGE, 50.0)
        update(state, 0, thermometer[number], THERMOMETER, 900.0)
    constant = 0.5 * 30 * math.log(2.0 * math.pi)
    for leak in (0.0, 0.7, -2.0):
        expected = joint_log_likelihood(3.0, gauge, thermometer, (50.0, 900.0), leak)
        assert log_likelihood(state, 0, leak) - constant == pytest.approx(expected, abs=1e-6)
