"""Many rigs under a hold at once, physics run forwards: gas mass and temperature, metal and hose walls, sun, hands,
wind, barometer, a hose that creeps, a leak, and a gauge that lags, wanders and rounds.

One rig is one gas space (every valve of the rig is open in a hold) with three heat nodes: gas, metal, and the inner
skin of hoses and seals. The gas is ideal; its mass changes by the pump and by the leak, its temperature by what flows
in and out of it. Compiled by numba; seeded; the seed of a rig is the seed of the batch plus its number.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numba
import numpy

from stillbore.practice.weather import CAUSES, Causes

GAS_CONSTANT_AIR = 287.05  # J/(kg K)
CV_AIR = 717.6  # J/(kg K)
STEP = 0.2  # s, of the march


class Batch(NamedTuple):
    """What the gauge showed: times [s after pumping], pressures [Pa gauge], thermometer [K], barometer [Pa abs]; each
    rigs x samples. ``gas`` is the true gas temperature [K], which nobody at a pit can see."""

    times: numpy.ndarray
    pressures: numpy.ndarray
    temperatures: numpy.ndarray
    barometers: numpy.ndarray
    gas: numpy.ndarray


def hold_batch(count: int, seed: int, *, leak_rate: float, volume: float = 5e-4, drift: str = "ordinary",
               drift_scale: float = 1.0, duration: float = 600.0, interval: float = 1.0, resolution: float = 10.0,
               by_eye: bool = False, test_pressure: float = 1e4) -> Batch:
    """March ``count`` rigs through pumping and a hold.

    Args:
        leak_rate: flow of air at atmospheric pressure at the test pressure [m3/s].
        volume: volume as the kit declares it [m3]; each rig's own differs by up to 20 %.
        drift: a class of weather.CAUSES; ``drift_scale`` multiplies its causes.
        interval: seconds between readings; by eye every 10 to 15 s whatever it is.
        resolution: of the gauge [Pa].
    """
    causes = Causes(*(value * drift_scale if name in ("offset", "air_swing", "sun", "hand") else value
                      for name, value in CAUSES[drift]._asdict().items()))
    samples = int(duration / (12.5 if by_eye else interval))
    shape = (count, samples)
    times, pressures, temperatures, barometers, gas = (numpy.empty(shape) for _ in range(5))
    _march(seed, leak_rate, volume, tuple(causes), interval, resolution, by_eye, test_pressure, times, pressures,
           temperatures, barometers, gas)
    return Batch(times, pressures, temperatures, barometers, gas)


@numba.njit(cache=True)
def _march(seed, leak_rate, volume, causes, interval, resolution, by_eye, test_pressure,
           times, pressures, temperatures, barometers, gas):
    for rig in range(times.shape[0]):
        np_seed = seed + rig
        numpy.random.seed(np_seed % 2147483647)
        _one(leak_rate, volume, causes, interval, resolution, by_eye, test_pressure, times[rig], pressures[rig],
             temperatures[rig], barometers[rig], gas[rig])


@numba.njit(cache=True)
def _one(leak_rate, volume, causes, interval, resolution, by_eye, test_pressure,
         times, pressures, temperatures, barometers, gas):
    offset, air_swing, sun_mean, sun_chance, hand_mean, hand_chance, puff, slope = causes
    normal, uniform = numpy.random.normal, numpy.random.uniform
    # The rig.
    own_volume = volume * min(1.2, max(0.8, math.exp(normal(0.0, 0.08))))
    metal_capacity = 460.0 * uniform(2.5, 6.0)
    gas_metal = uniform(0.06, 0.25)
    gas_skin = uniform(0.01, 0.06)
    skin_capacity = uniform(1.0, 6.0)
    skin_metal = uniform(0.01, 0.05)
    metal_air = uniform(0.3, 1.2)
    creep_size = numpy.array((uniform(0.02, 0.5), uniform(0.02, 0.4), uniform(0.02, 0.3))) * 1e-6 / 1e4
    creep_time = numpy.array((math.exp(uniform(1.1, 2.3)), math.exp(uniform(2.5, 3.6)), math.exp(uniform(3.7, 4.7))))
    creep = numpy.zeros(3)
    laminar = uniform(0.0, 1.0)
    # What acts on it.
    air_start = uniform(276.0, 298.0)
    air = air_start
    barometer_start = uniform(98500.0, 102500.0)
    rises = normal(0.0, slope)
    sunny = uniform(0.0, 1.0) < sun_chance
    shines = sunny and uniform(0.0, 1.0) < 0.5
    sun_power = sun_mean * math.exp(normal(0.0, 0.4))
    hand_from = uniform(0.0, 400.0) if uniform(0.0, 1.0) < hand_chance else 1e9
    hand_until = hand_from + uniform(5.0, 40.0)
    hand_power = hand_mean * uniform(0.5, 1.5)
    gust = 0.0
    breeze = 0.0
    # The gauge.
    lag = uniform(0.2, 1.0)
    zero = normal(0.0, 15.0)
    warm_shift = normal(0.0, 2.0)  # Pa per K of the gauge's own temperature
    white = uniform(1.5, 4.0)
    slow = 0.0
    fast = 0.0
    thermometer_lag = uniform(8.0, 30.0)
    thermometer_error = normal(0.0, 0.3)
    # Before pumping: air at the barometer, everything at the rig's temperature.
    metal = air + normal(0.0, offset)
    skin = metal
    temperature = metal
    thermometer = metal
    barometer = barometer_start
    mass = barometer * own_volume / (GAS_CONSTANT_AIR * temperature)
    pumping = uniform(6.0, 12.0)
    inflow = test_pressure * own_volume / (GAS_CONSTANT_AIR * temperature) / pumping
    density = 101325.0 / (GAS_CONSTANT_AIR * 288.15)
    shown = 0.0
    clock = -pumping
    reached = False
    strokes = 0
    waiting = 0.0
    sample = 0
    next_reading = interval if not by_eye else uniform(10.0, 15.0)
    while sample < times.shape[0]:
        # Outside.
        air += -(air - air_start) / 600.0 * STEP + air_swing * math.sqrt(2.0 * STEP / 600.0) * normal(0.0, 1.0)
        breeze += -breeze / 40.0 * STEP + math.sqrt(2.0 * STEP / 40.0) * normal(0.0, 0.5)
        gust += -gust / 6.0 * STEP + puff * math.sqrt(2.0 * STEP / 6.0) * normal(0.0, 1.0)
        barometer = barometer_start + rises * clock + gust
        if sunny and uniform(0.0, 1.0) < STEP / 80.0:
            shines = not shines
        heat = sun_power if shines else 0.0
        if hand_from <= clock < hand_until:
            heat += hand_power
        # Heat.
        to_gas = gas_metal * (metal - temperature) + gas_skin * (skin - temperature)
        metal_flow = heat + metal_air * max(0.2, 1.0 + breeze) * (air - metal) - gas_metal * (metal - temperature)
        metal_flow += skin_metal * (skin - metal)
        skin_flow = gas_skin * (temperature - skin) + skin_metal * (metal - skin)
        # Volume: elements that give way and come back, each in its own time.
        absolute = mass * GAS_CONSTANT_AIR * temperature / (own_volume + creep.sum())
        gauge = absolute - barometer
        for element in range(3):
            creep[element] += (creep_size[element] * gauge - creep[element]) * STEP / creep_time[element]
        # Mass.
        waiting -= STEP
        if not reached and waiting <= 0.0:
            # Pumped up once, left a few seconds while the warm air cools, and topped up: common practice.
            entering = inflow * (1.0 + 0.5 * math.sin(8.0 * clock))
            mass += entering * STEP
            work = entering * (GAS_CONSTANT_AIR + CV_AIR) * air - entering * CV_AIR * temperature
            to_gas += work
            if gauge >= test_pressure:
                inflow *= 0.5
                strokes += 1
                waiting = uniform(4.0, 9.0)
                reached = strokes == 2
                clock = 0.0
        share = max(0.0, gauge) / test_pressure
        leaving = leak_rate * density * (laminar * share + (1.0 - laminar) * math.sqrt(share))
        mass -= leaving * STEP
        to_gas -= leaving * GAS_CONSTANT_AIR * temperature
        temperature += to_gas * STEP / (mass * CV_AIR)
        metal += metal_flow * STEP / metal_capacity
        skin += skin_flow * STEP / skin_capacity
        # Instruments.
        shown += (gauge - shown) * min(1.0, STEP / lag)
        slow += -slow / 50.0 * STEP + 2.0 * math.sqrt(2.0 * STEP / 50.0) * normal(0.0, 1.0)
        fast += -fast / 2.5 * STEP + 2.0 * math.sqrt(2.0 * STEP / 2.5) * normal(0.0, 1.0)
        thermometer += (metal - thermometer) * STEP / thermometer_lag
        clock += STEP
        if reached and clock >= next_reading - 1e-9:
            reading = shown + zero + warm_shift * (metal - air_start) + slow + fast + white * normal(0.0, 1.0)
            stamp = clock
            if by_eye:
                # Read at a slant, to the nearest mark or the nearest whole one, stamped a moment early or late.
                reading += normal(0.0, 12.0)
                mark = 100.0 if uniform(0.0, 1.0) < 0.4 else 50.0
                reading = mark * math.floor(reading / mark + 0.5)
                stamp += normal(0.0, 1.0)
                next_reading += uniform(10.0, 15.0)
            else:
                reading = resolution * math.floor(reading / resolution + 0.5)
                if uniform(0.0, 1.0) < 0.01:
                    reading += resolution if uniform(0.0, 1.0) < 0.5 else -resolution
                next_reading += interval
            times[sample] = stamp
            pressures[sample] = reading
            temperatures[sample] = 0.05 * math.floor((thermometer + thermometer_error) / 0.05 + 0.5)
            barometers[sample] = 10.0 * math.floor(barometer / 10.0 + 0.5)
            gas[sample] = temperature
            sample += 1
