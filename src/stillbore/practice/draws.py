"""What a rig, its gauge and its weather are made of: every figure a physical quantity with a spread, drawn by a seed.

The spreads are common practice where docs/rig.md says so, and invented elsewhere; none is known to the judges.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy
from numpy.random import Generator

from stillbore.errors import StillboreError
from stillbore.practice.gas import ATMOSPHERE, GAS_CONSTANT
from stillbore.practice.instruments import LEVEL_TIMES, THERMOMETER, Gauge, Record
from stillbore.practice.march import CREEP_TIMES, Openings, Spaces, Water
from stillbore.practice.surroundings import AIR, BAROMETER, BREEZE, DISTRICT, GROUND, Surroundings

NEVER = 1e12  # s
VOLUME_SPREAD = 0.08  # of the logarithm; a rig's own volume against the kit's
LEG_SPREAD = 0.12  # the same for a leg, whose course nobody has seen
SAWN_AREA = 0.7 * math.pi * 12e-3**2  # m2, effective; what stands open between leg and saddle when all is sawn


class Causes(NamedTuple):
    """Causes of drift of one class: temperatures in K, powers in W. ``drift_scale`` multiplies all but the chances."""

    offset: float  # metal against air at the start, standard deviation
    ground: float  # ground against air, standard deviation
    swing: float  # slow waves of the air, standard deviation of each amplitude
    sun: float  # sun taken up under a clear sky, mean
    sun_chance: float
    hand: float  # somebody touching the rig, mean
    hand_chance: float


# Set so that the gas in a hold of ten minutes warms or cools by 0.03, 0.10 and 0.40 K/min, rms over half minutes after
# the first minute; those three figures are common practice, the causes behind them are invented.
CAUSES = {
    "shade": Causes(0.55, 1.0, 0.08, 0.3, 0.3, 0.3, 0.10),
    "ordinary": Causes(1.8, 3.0, 0.28, 2.0, 0.5, 2.0, 0.30),
    "sun": Causes(3.0, 5.0, 0.40, 17.0, 1.0, 8.0, 0.50),
}


def draw_surroundings(rng: Generator, drift: str, drift_scale: float = 1.0, *, duration: float = 600.0,
                      district: float = 0.0, hunting: float = 0.0, district_step: float = 0.0,
                      district_step_at: float = NEVER, district_trend: float = 0.0) -> Surroundings:
    """Weather, sun, hands and main for one job; ``duration`` [s] is the span in which a hand may come. What is said of
    the district is in Pa gauge, Pa/s and s. A StillboreError names a drift class that does not exist."""
    if drift not in CAUSES:
        raise StillboreError(f"There is no drift class '{drift}'.", f"Write one of: {', '.join(CAUSES)}.")
    causes = CAUSES[drift]
    air = rng.uniform(274.0, 300.0)
    sunny = rng.random() < causes.sun_chance
    hand_from = rng.uniform(-10.0, 0.8 * duration) if rng.random() < causes.hand_chance else NEVER
    barometer = rng.uniform(97500.0, 103500.0)
    now = numpy.zeros(8)
    now[AIR], now[GROUND] = air, air + drift_scale * rng.normal(0.0, causes.ground)
    now[BAROMETER], now[BREEZE], now[DISTRICT] = barometer, 1.0, barometer + district
    state = numpy.zeros(5)
    state[1] = state[2] = float(rng.random() < 0.5)
    return Surroundings(
        now, state, air=air, swing=drift_scale * causes.swing * rng.standard_normal(3),
        swing_time=numpy.exp(rng.uniform(math.log(180.0), math.log(3600.0), 3)),
        swing_phase=rng.uniform(0.0, 2.0 * math.pi, 3), barometer=barometer, trend=rng.normal(0.0, 0.02),
        wave=abs(rng.normal(0.0, 4.0)), wave_time=rng.uniform(300.0, 2400.0), wave_phase=rng.uniform(0.0, 6.28),
        puff_rate=rng.uniform(0.05, 0.4), puff=abs(rng.normal(0.0, 2.0)), puff_time=rng.uniform(1.0, 5.0),
        sun=drift_scale * causes.sun * rng.lognormal(0.0, 0.35) if sunny else 0.0,
        clear_time=rng.uniform(40.0, 240.0), cloud_time=rng.uniform(30.0, 180.0), cloud_edge=rng.uniform(3.0, 20.0),
        hand=drift_scale * causes.hand * rng.uniform(0.5, 1.5), hand_from=hand_from,
        hand_until=hand_from + rng.uniform(5.0, 60.0), district=district, district_trend=district_trend,
        district_step=district_step, district_step_at=district_step_at, hunting=hunting,
        hunting_time=rng.uniform(6.0, 45.0), street_rate=1.0 / rng.uniform(30.0, 200.0) if district > 0.0 else 0.0,
        street=rng.uniform(2.0, 15.0) if district > 0.0 else 0.0)


def draw_gauge(rng: Generator, metal: float, *, space: int = 0, resolution: float = 10.0, full_scale: float = 16000.0,
               by_eye: bool = False) -> Gauge:
    """A gauge [Pa], thermometer and barometer, standing at ``metal`` [K] on compartment ``space``; noise in proportion
    to what the gauge resolves, no finer than 0.02 mbar."""
    fine = min(max(resolution, 2.0), 20.0)
    state = numpy.zeros(4)
    state[THERMOMETER] = metal
    wander = fine * rng.uniform(0.05, 0.25)
    return Gauge(
        state, wander * rng.standard_normal(len(LEVEL_TIMES)), space, lag=rng.uniform(0.15, 0.9),
        zero=rng.normal(0.0, 12.0), span=rng.normal(0.0, 0.002), warm_shift=rng.normal(0.0, 1.5), warm_from=metal,
        white=fine * rng.uniform(0.1, 0.4), wander=wander, walk=fine * rng.uniform(0.0, 0.03),
        knock_rate=1.0 / rng.uniform(60.0, 600.0), knock=rng.uniform(2.0, 15.0), jitter=0.0 if by_eye else 0.01,
        resolution=resolution, full_scale=full_scale, by_eye=by_eye, slant=rng.uniform(0.1, 0.3) * resolution,
        whole=rng.uniform(0.2, 0.6), thermometer_lag=rng.uniform(8.0, 40.0), thermometer_zero=rng.normal(0.0, 0.3),
        thermometer_in_air=rng.uniform(0.0, 0.15), thermometer_resolution=0.1 if rng.random() < 0.5 else 0.05,
        barometer_zero=rng.normal(0.0, 60.0), barometer_resolution=10.0)


def empty_record(samples: int, interval: float, first: float = 0.0) -> Record:
    """Room for readings, the first of which is due at ``first`` [s]."""
    columns = [numpy.zeros(samples) for _ in range(7)]
    return Record(numpy.zeros(1, numpy.int64), numpy.array([first]), interval, *columns)


def own_volume(rng: Generator, declared: float, spread: float = VOLUME_SPREAD, most: float = 0.2) -> float:
    """The volume a rig or leg truly has: lognormal about what was declared, cut off ``most`` of it away."""
    return declared * float(numpy.clip(math.exp(rng.normal(0.0, spread)), 1.0 - most, 1.0 + most))


def put_gas(spaces: Spaces, c: int, pressure: float, fuel: float) -> None:
    """Fill a compartment at its temperature to ``pressure`` [Pa abs]; ``fuel`` is the share of natural gas."""
    spaces.amount[c] = pressure * spaces.volume[c] / (GAS_CONSTANT * spaces.temperature[c])
    spaces.fuel[c] = fuel * spaces.amount[c]


def draw_spaces(rng: Generator, volumes: list[float], hose: int, around: Surroundings, drift: str,
                drift_scale: float = 1.0, *, leg: int = -1) -> Spaces:
    """Compartments of a rig at rest under the barometer, all of one iron temperature. ``volumes`` are theirs [m3];
    ``hose`` is the compartment that has hose in it (and creeps), ``leg`` the one that is pipe in the ground, if any."""
    count, volume = len(volumes), numpy.array(volumes)
    in_ground = numpy.arange(count) == leg
    litres = numpy.where(in_ground, volume / 1e-3, volume / max(1e-9, volume[~in_ground].sum()))  # or share of the rig
    area = 4.0 * volume / numpy.where(in_ground, rng.uniform(0.022, 0.05), rng.uniform(0.022, 0.045))
    film = rng.uniform(2.5, 5.0) * area
    soft = numpy.full(count, rng.uniform(0.04, 0.12))  # share of the inner face that is gasket, seal or hose
    hose_share = rng.uniform(0.2, 0.6) if count == 1 else rng.uniform(0.5, 0.95)
    if hose >= 0:
        soft[hose] += 0.3 * hose_share if count == 1 else 0.7 * hose_share
    soft[in_ground] = 0.02
    skin = litres * soft
    metal = around.air + drift_scale * rng.normal(0.0, CAUSES[drift].offset)
    body = numpy.where(in_ground, around.now[GROUND], metal)
    lining = body + drift_scale * rng.normal(0.0, 0.1 * CAUSES[drift].offset)
    give = numpy.zeros((count, len(CREEP_TIMES)))
    if hose >= 0:
        power = rng.uniform(0.0, 0.35)  # creep grows with time to this power; 0 is the logarithm of time
        give[hose] = CREEP_TIMES**power / (CREEP_TIMES**power).sum()
        give[hose] *= rng.lognormal(math.log(0.5), 0.5) * 1e-6 / 1e4  # m3/Pa; half a millilitre at 100 mbar in the end
    pressure = around.now[BAROMETER]
    return Spaces(
        amount=pressure * volume / (GAS_CONSTANT * body), fuel=numpy.zeros(count), temperature=body.copy(),
        body=body, lining=lining, creep=numpy.zeros((count, len(CREEP_TIMES))),
        grown=numpy.zeros(count), volume=volume,
        film_body=film * (1.0 - soft), film_lining=film * soft, lining_body=skin * rng.uniform(0.3, 1.5),
        body_air=litres * numpy.where(in_ground, 0.05, rng.uniform(0.4, 1.3)),
        lining_air=numpy.where(in_ground, 0.0, skin * rng.uniform(0.5, 2.5)),
        body_ground=litres * numpy.where(in_ground, rng.uniform(1.0, 3.5), rng.uniform(0.2, 1.2)),
        body_capacity=litres * numpy.where(in_ground, 1900.0, 460.0 * rng.uniform(2.5, 6.0)),
        lining_capacity=skin * rng.uniform(60.0, 300.0),
        sunlit=numpy.where(in_ground, 0.02, 0.98 * litres if in_ground.any() else litres),
        lining_sunlit=0.3 * soft, give=give)


def openings(*rows: tuple[int, int, float, float], open_at_first: float = 1.0) -> Openings:
    """Openings from rows of (start, end, crack coefficient [mol K/Pa], hole area [m2])."""
    table = numpy.array(rows, dtype=float).reshape(-1, 4)
    zero = numpy.zeros(len(table))
    return Openings(table[:, 0].astype(numpy.int64), table[:, 1].astype(numpy.int64), table[:, 2].copy(),
                    table[:, 3].copy(), zero + open_at_first, *(zero.copy() for _ in range(5)))


def dry() -> Water:
    """No water in the service."""
    return Water(numpy.zeros(2), 0.0, 1.0, 0.0, 0.0, 0, 0)


def pumped_per_second(rng: Generator, volume: float, pressure: float, air: float) -> float:
    """Moles a second of a hand that fills ``volume`` [m3] of air at ``air`` [K] to ``pressure`` [Pa gauge] in some 6 to
    14 seconds."""
    return pressure / ATMOSPHERE * volume / rng.uniform(6.0, 14.0) * ATMOSPHERE / (GAS_CONSTANT * air)
