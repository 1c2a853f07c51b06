"""Gauge, thermometer and barometer: what they show of what is there, and the eye that reads them.

The gauge lags, is off at zero and in its span, wanders (a staircase of levels that change at every time scale, and a
slow walk), is knocked, flickers between digits, rounds and clips. An eye reads at a slant, prefers whole marks, and
stamps a moment early or late.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numba
import numpy

from stillbore.practice.surroundings import AIR, BAROMETER, BREEZE, CLOCK, PUFF

LAGGED, WALK, KNOCK, THERMOMETER = range(4)  # the gauge's state
LEVEL_TIMES = numpy.array((1.5, 6.0, 25.0, 100.0))  # s; how long a level of the wandering lasts on average


class Gauge(NamedTuple):
    """The instruments: state first, then their build. Pressures in Pa, temperatures in K, times in s."""

    state: numpy.ndarray
    levels: numpy.ndarray
    space: int  # the compartment it reads
    lag: float
    zero: float
    span: float  # relative error
    warm_shift: float  # Pa per K of its own warmth
    warm_from: float
    white: float
    wander: float  # standard deviation of each level
    walk: float  # Pa per root second
    knock_rate: float  # 1/s
    knock: float
    jitter: float  # share of readings that show the next digit
    resolution: float
    full_scale: float
    by_eye: bool
    slant: float  # Pa, standard deviation of reading at a slant
    whole: float  # share of readings by eye put down to the nearest whole millibar
    thermometer_lag: float
    thermometer_zero: float
    thermometer_in_air: float  # how far the probe feels the air instead of the metal
    thermometer_resolution: float
    barometer_zero: float
    barometer_resolution: float


class Record(NamedTuple):
    """What is written down, and beside it what was true: s, Pa gauge, degC, Pa abs. ``count`` holds how many readings
    there are; a full record takes no more."""

    count: numpy.ndarray
    next: numpy.ndarray  # s, when the next reading is due
    interval: float
    time: numpy.ndarray  # s, as stamped
    true_time: numpy.ndarray  # s
    pressure: numpy.ndarray
    temperature: numpy.ndarray
    barometer: numpy.ndarray
    true_pressure: numpy.ndarray  # Pa gauge
    gas_temperature: numpy.ndarray  # K


@numba.njit(cache=True, inline="always")
def sense(rng, gauge, absolute, metal, outside, step):
    """What the instruments feel, between readings."""
    state = gauge.state
    pushed = absolute - outside[BAROMETER] - outside[PUFF]
    state[LAGGED] -= (pushed - state[LAGGED]) * math.expm1(-step / gauge.lag)
    if gauge.knock_rate > 0.0:
        state[KNOCK] *= math.exp(-step / 0.7)
        if rng.random() < gauge.knock_rate * step:
            state[KNOCK] += gauge.knock * rng.standard_normal()
    feels = metal + gauge.thermometer_in_air * (outside[AIR] - metal)
    state[THERMOMETER] -= (feels - state[THERMOMETER]) * math.expm1(-step * min(2.0, outside[BREEZE])
                                                                    / gauge.thermometer_lag)


@numba.njit(cache=True, inline="always")
def rounded(value, mark):
    return value if mark <= 0.0 else mark * math.floor(value / mark + 0.5)


@numba.njit(cache=True, inline="always")
def noise(rng, gauge, interval, shaking):
    """The error of one reading that no second reading shares in full."""
    total = gauge.white * rng.standard_normal()
    if rng.random() < 0.02:
        total *= 3.0
    for level in range(len(LEVEL_TIMES)):
        if rng.random() < -math.expm1(-interval / LEVEL_TIMES[level]):
            gauge.levels[level] = gauge.wander * rng.standard_normal()
        total += gauge.levels[level]
    gauge.state[WALK] += gauge.walk * math.sqrt(interval) * rng.standard_normal()
    if shaking > 0.0:
        total += shaking * rng.standard_normal() * (1.0 + 2.0 * (rng.random() < 0.15))
    return total + gauge.state[WALK]


@numba.njit(cache=True, inline="always")
def read(rng, gauge, record, around, shaking, sampling, absolute, gas, step):
    """Write a reading down if one is due; returned is what the gauge shows, without its noise."""
    outside, clock = around.now, around.state[CLOCK]
    steady = gauge.state[LAGGED] * (1.0 + gauge.span) + gauge.zero + gauge.state[KNOCK]
    steady += gauge.warm_shift * (outside[AIR] - gauge.warm_from)
    if not sampling or clock < record.next[0] - 1e-6 or record.count[0] >= len(record.time):
        return steady
    at = record.count[0]
    stamp, value = clock, steady + noise(rng, gauge, record.interval, shaking)
    if gauge.by_eye:
        value += gauge.slant * rng.standard_normal()
        value = rounded(value, 100.0 if rng.random() < gauge.whole else gauge.resolution)
        stamp += rng.standard_normal() + (0.7 if rng.random() < 0.3 else 0.0)
        record.next[0] = clock + rng.uniform(10.0, 15.0)
    else:
        value = rounded(value, gauge.resolution)
        if rng.random() < gauge.jitter:
            value += gauge.resolution if rng.random() < 0.5 else -gauge.resolution
        record.next[0] += record.interval
    record.time[at], record.true_time[at] = stamp, clock
    record.pressure[at] = min(value, gauge.full_scale)
    record.temperature[at] = rounded(gauge.state[THERMOMETER] + gauge.thermometer_zero - 273.15
                                     + 0.015 * rng.standard_normal(), gauge.thermometer_resolution)
    record.barometer[at] = rounded(outside[BAROMETER] + gauge.barometer_zero + 2.0 * rng.standard_normal(),
                                   gauge.barometer_resolution)
    record.true_pressure[at] = absolute - outside[BAROMETER]
    record.gas_temperature[at] = gas
    record.count[0] = at + 1
    return steady
