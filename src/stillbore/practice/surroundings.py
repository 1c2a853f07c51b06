"""What acts on the rig from outside: air, ground, sun and clouds, hands, wind, the barometer, and the district's main.

Each is built from its cause: warmth from a few slow waves of the air, sun that clouds switch off and on with a soft
edge, puffs of wind that come as single knocks and die away, a governor that hunts, appliances in the street that come
on and go off.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numba
import numpy

AIR, GROUND, BAROMETER, PUFF, SUN, HAND, DISTRICT, BREEZE = range(8)  # what acts now: K, K, Pa abs, Pa, W, W, Pa abs, -
CLOCK, CLEAR, SKY, GUST, STREET = range(5)  # the state: s, 0 or 1, 0 to 1, -, Pa


class Surroundings(NamedTuple):
    """First what acts now and the state behind it, then how they move. Pressures in Pa, powers in W, times in s."""

    now: numpy.ndarray
    state: numpy.ndarray
    air: float  # K, mean
    swing: numpy.ndarray  # K, amplitudes of the waves of the air
    swing_time: numpy.ndarray
    swing_phase: numpy.ndarray
    barometer: float  # Pa abs at time nought
    trend: float  # Pa/s
    wave: float  # Pa, a slow swell of the weather on top of the trend
    wave_time: float
    wave_phase: float
    puff_rate: float  # 1/s
    puff: float  # Pa, mean size of a knock of wind at the gauge's open side
    puff_time: float
    sun: float  # W taken up by the whole rig under a clear sky
    clear_time: float
    cloud_time: float
    cloud_edge: float  # time in which a cloud's edge passes
    hand: float  # W of somebody touching the rig
    hand_from: float
    hand_until: float
    district: float  # Pa gauge
    district_trend: float  # Pa/s
    district_step: float  # Pa, a step of the governor's profile
    district_step_at: float
    hunting: float  # Pa, amplitude of the governor's hunting
    hunting_time: float
    street_rate: float  # 1/s, appliances in the street that come on or go off
    street: float  # Pa, mean dip


@numba.njit(cache=True, inline="always")
def surround(rng, around, step, hands):
    """Move everything outside on by one step."""
    now, state = around.now, around.state
    state[CLOCK] += step
    clock = state[CLOCK]
    warmth = around.air
    for wave in range(len(around.swing)):
        warmth += around.swing[wave] * math.sin(2.0 * math.pi * clock / around.swing_time[wave]
                                                + around.swing_phase[wave])
    now[AIR] = warmth
    state[GUST] *= math.exp(-step / around.puff_time)
    if rng.random() < around.puff_rate * step:
        state[GUST] += rng.standard_exponential() * (1.0 if rng.random() < 0.6 else -1.0)
    now[PUFF] = around.puff * state[GUST]
    now[BREEZE] = 1.0 + min(1.5, 0.4 * abs(state[GUST]))
    now[BAROMETER] = around.barometer + around.trend * clock + around.wave * math.sin(
        2.0 * math.pi * clock / around.wave_time + around.wave_phase)
    if around.sun > 0.0:
        stay = around.clear_time if state[CLEAR] > 0.5 else around.cloud_time
        if rng.random() < step / stay:
            state[CLEAR] = 1.0 - state[CLEAR]
        state[SKY] += (state[CLEAR] - state[SKY]) * min(1.0, step / around.cloud_edge)
    now[SUN] = around.sun * (0.15 + 0.85 * state[SKY])
    now[HAND] = hands + (around.hand if around.hand_from <= clock < around.hand_until else 0.0)
    main = around.district + around.district_trend * clock
    if clock >= around.district_step_at:
        main += around.district_step * min(1.0, (clock - around.district_step_at) / 60.0)
    if around.hunting > 0.0:
        # A governor that hunts goes up quicker than it comes down.
        turn = 2.0 * math.pi * clock / around.hunting_time
        main += around.hunting * math.sin(turn + 0.4 * math.sin(turn))
    if around.street > 0.0:
        state[STREET] *= math.exp(-step / 25.0)
        if rng.random() < around.street_rate * step:
            state[STREET] += around.street * rng.standard_exponential() * (1.0 if rng.random() < 0.5 else -1.0)
        main += state[STREET]
    now[DISTRICT] = now[BAROMETER] + max(0.0, main)
