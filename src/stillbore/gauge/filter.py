"""The filter under every verdict: what the gauge would do without a leak, and how a leak would show beside it.

State: level, drift, three relaxations, and what a thermometer on the rig shows. The drift moves the gauge and the
thermometer alike and a leak moves the gauge alone, so a thermometer is a second witness of the drift. One Kalman filter
runs as if there were no leak; the sensitivity of its state to a leak rate is carried along, so that the likelihood of
*any* leak rate L is known at every moment as exp(c + L B - L^2 A/2). The cost of a reading is constant.

Plain functions on a flat sequence of floats: studies/ compiles these very functions to run a hundred thousand rigs.
"""

from __future__ import annotations

from collections.abc import MutableSequence
from math import exp, log

SIZE = 6  # level, drift, three relaxations, shown by the thermometer
SHOWN = SIZE - 1
COVARIANCE = SIZE  # where the covariance begins in the flat state
SENSITIVITY = COVARIANCE + SIZE * SIZE
INFORMATION = SENSITIVITY + SIZE  # A, B, c
LENGTH = INFORMATION + 3

# What a reading is made of: the weight of each of the six.
GAUGE = (1.0, 0.0, 1.0, 1.0, 1.0, 0.0)
THERMOMETER = (0.0, 0.0, 0.0, 0.0, 0.0, 1.0)


def start(state: MutableSequence[float], offset: int, means: tuple[float, ...], spreads: tuple[float, ...]) -> None:
    """Set one filter of a flat state to its prior: means and standard deviations of the six."""
    for index in range(LENGTH):
        state[offset + index] = 0.0
    for index in range(SIZE):
        state[offset + index] = means[index]
        state[offset + COVARIANCE + index * SIZE + index] = spreads[index] * spreads[index]


def predict(state: MutableSequence[float], offset: int, step: float, leak_factor: float, drift_spread: float,
            drift_time: float, times: tuple[float, float, float], wanders: tuple[float, float, float],
            wander: float, apart: float = 0.0) -> None:
    """Carry one filter forward by ``step`` seconds; ``leak_factor`` is how hard the leak blows at this pressure, and
    ``apart`` how far thermometer and gas part [Pa per root second]."""
    keep = (1.0, exp(-step / drift_time), exp(-step / times[0]), exp(-step / times[1]), exp(-step / times[2]), 1.0)
    covariance, sensitivity = offset + COVARIANCE, offset + SENSITIVITY
    state[offset] += step * state[offset + 1]
    state[offset + SHOWN] += step * state[offset + 1]
    state[sensitivity] += step * state[sensitivity + 1] - leak_factor * step
    state[sensitivity + SHOWN] += step * state[sensitivity + 1]
    for index in range(1, SIZE):
        state[offset + index] *= keep[index]
        state[sensitivity + index] *= keep[index]
    # Rows, then columns: level and thermometer take up the drift, then each one decays.
    for column in range(SIZE):
        state[covariance + column] += step * state[covariance + SIZE + column]
        state[covariance + SHOWN * SIZE + column] += step * state[covariance + SIZE + column]
    for row in range(SIZE):
        state[covariance + row * SIZE] += step * state[covariance + row * SIZE + 1]
        state[covariance + row * SIZE + SHOWN] += step * state[covariance + row * SIZE + 1]
    for row in range(SIZE):
        place, keeps = covariance + row * SIZE, keep[row]
        for column in range(SIZE):
            state[place + column] *= keeps * keep[column]
    state[covariance] += wander * wander * step
    state[covariance + SHOWN * SIZE + SHOWN] += apart * apart * step
    state[covariance + SIZE + 1] += drift_spread * drift_spread * (1.0 - keep[1] * keep[1])
    for index in range(3):
        place = covariance + (index + 2) * SIZE + index + 2
        state[place] += wanders[index] * wanders[index] * (1.0 - keep[index + 2] * keep[index + 2])


def update(state: MutableSequence[float], offset: int, reading: float, weights: tuple[float, ...],
           noise: float) -> None:
    """Take in a reading [Pa] of what ``weights`` says: GAUGE, or THERMOMETER as the change of the gauge that its change
    stands for. ``noise`` is the variance of a reading."""
    covariance, sensitivity, information = offset + COVARIANCE, offset + SENSITIVITY, offset + INFORMATION
    expected = 0.0
    shows = 0.0
    for index in range(SIZE):
        expected += weights[index] * state[offset + index]
        shows += weights[index] * state[sensitivity + index]
    # The gain needs the covariance as it was; the six sums are kept before any of it is changed.
    g0 = g1 = g2 = g3 = g4 = g5 = 0.0
    for column in range(SIZE):
        w = weights[column]
        if w == 0.0:
            continue
        g0 += w * state[covariance + column]
        g1 += w * state[covariance + SIZE + column]
        g2 += w * state[covariance + 2 * SIZE + column]
        g3 += w * state[covariance + 3 * SIZE + column]
        g4 += w * state[covariance + 4 * SIZE + column]
        g5 += w * state[covariance + 5 * SIZE + column]
    gain = (g0, g1, g2, g3, g4, g5)
    spread = noise
    for row in range(SIZE):
        spread += weights[row] * gain[row]
    surprise = reading - expected
    state[information] += shows * shows / spread
    state[information + 1] += shows * surprise / spread
    state[information + 2] -= 0.5 * (log(spread) + surprise * surprise / spread)
    for row in range(SIZE):
        share, place = gain[row] / spread, covariance + row * SIZE
        state[offset + row] += share * surprise
        state[sensitivity + row] -= share * shows
        for column in range(SIZE):
            state[place + column] -= share * gain[column]


def log_likelihood(state: MutableSequence[float], offset: int, leak: float) -> float:
    """Logarithm of the likelihood of a leak [Pa/s] in one filter, up to a constant shared by all leaks and filters."""
    information = offset + INFORMATION
    return state[information + 2] + leak * state[information + 1] - 0.5 * leak * leak * state[information]


def log_mixture(state: MutableSequence[float], log_weights: tuple[float, ...], leak: float,
                or_more: bool = False) -> float:
    """Logarithm of the likelihood of a leak [Pa/s] over all filters of a flat state, by their weights. With ``or_more``
    each filter takes the larger leak that suits it best, if there is one."""
    total = log_weights[0] + log_likelihood(state, 0, _or_more(state, 0, leak, or_more))
    for index in range(1, len(log_weights)):
        offset = index * LENGTH
        part = log_weights[index] + log_likelihood(state, offset, _or_more(state, offset, leak, or_more))
        total = max(total, part) + log(1.0 + exp(-abs(total - part)))
    return total


def _or_more(state: MutableSequence[float], offset: int, leak: float, wanted: bool) -> float:
    a, b = state[offset + INFORMATION], state[offset + INFORMATION + 1]
    return b / a if wanted and a > 0.0 and b > leak * a else leak
