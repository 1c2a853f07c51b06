"""Many rigs at once, for studies: holds, and let-by watches. Each rig is marched by the same compiled code as a job.

The seed of a rig is the pair (seed of the batch, its number), so the first rigs of a batch do not depend on how many
there are. Units here are those of a gauge log: seconds, millibar, degrees Celsius.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy
from numpy.random import PCG64, Generator, SeedSequence

from stillbore.practice import draws
from stillbore.practice.gas import ATMOSPHERE, GAS_CONSTANT, moles_per_second, opening_for
from stillbore.practice.instruments import Record
from stillbore.practice.march import Controls, march
from stillbore.practice.rig import MILLIBAR, NO_STOP, PER_HOUR, QUICK, VENT_AREA, Site, leg_ways, set_lip
from stillbore.practice.surroundings import BAROMETER, CLOCK, DISTRICT, GROUND, Surroundings

LONGEST_STEP = 0.25  # s
STRETCH = 200.0  # s, marched at a time where somebody says of which rigs more has to be seen
NOT_READ = -1.0  # s, the time of a reading that was not marched to
RESTING = Controls(pump=0.0, pump_space=0, drawn=0.0, drawn_space=0, shaking=0.0, hand=0.0, sampling=False, bites=1,
                   stop_above=NO_STOP, stop_below=-NO_STOP)


class Batch(NamedTuple):
    """What was shown, rigs x samples, and beside it what was true."""

    time_s: numpy.ndarray
    pressure_mbar: numpy.ndarray
    temperature_degC: numpy.ndarray
    barometer_mbar: numpy.ndarray
    true_pressure_mbar: numpy.ndarray
    gas_temperature_K: numpy.ndarray
    truth: dict[str, numpy.ndarray]  # one figure a rig


def generator(seed: int, number: int) -> Generator:
    return Generator(PCG64(SeedSequence([seed, number])))


def _step(interval: float) -> float:
    """The longest step that fits a whole number of times between readings."""
    return interval / math.ceil(interval / LONGEST_STEP)


def _begin(rng: Generator, around: Surroundings, record: Record, by_eye: bool) -> float:
    """What is watched begins now: put the first reading in its place, and return the clock.

    The clock itself goes on: to set it back would make the barometer and the air's warmth jump.
    """
    begin = float(around.state[CLOCK])
    record.next[0] = begin + (rng.uniform(2.0, 10.0) if by_eye else record.interval)
    return begin


Truth = dict[str, float]
Marched = Iterator[tuple[Record, float, Truth]]  # after each stretch: readings, clock at time nought, what is true
Still = Callable[[Batch], numpy.ndarray]


def _stretches(seconds: float, still: Still | None) -> list[float]:
    """The seconds of a watch in the stretches that are marched at a time."""
    if still is None:
        return [seconds]
    whole = int(seconds / STRETCH)
    return [STRETCH] * whole + [seconds - whole * STRETCH]


def _collect(count: int, samples: int, one: Callable[[int], Marched], with_thermometer: bool,
             still: Still | None) -> Batch:
    """March rigs stretch by stretch, each as long as ``still`` says that it has to go on."""
    columns = [numpy.full((count, samples), NOT_READ if number == 0 else 0.0) for number in range(6)]
    rigs, truths = [one(number) for number in range(count)], [Truth() for _ in range(count)]
    going = numpy.ones(count, bool)
    while going.any():
        for number in numpy.flatnonzero(going):
            record, begin, truths[number] = next(rigs[number], (None, 0.0, truths[number]))
            if record is None:
                going[number] = False
                continue
            read = int(record.count[0])
            made = (record.time - begin, record.pressure / 100.0, record.temperature, record.barometer / 100.0,
                    record.true_pressure / 100.0, record.gas_temperature)
            for column, values in zip(columns, made, strict=True):
                column[number, :read] = values[:read]
        if still is None:
            break
        if going.any():
            going &= still(_batch(columns, truths, with_thermometer))
    return _batch(columns, truths, with_thermometer)


def _batch(columns: list[numpy.ndarray], truths: list[Truth], with_thermometer: bool) -> Batch:
    time, pressure, temperature, *rest = columns
    if not with_thermometer:
        temperature = numpy.full_like(temperature, math.nan)
    names = truths[0] if truths else ()
    return Batch(time, pressure, temperature, *rest, {name: numpy.array([truth[name] for truth in truths])
                                                      for name in names})


def hold_batch(count: int, seed: int, *, leak_rate_m3_per_h: float, volume_l: float = 0.5, drift: str = "ordinary",
               drift_scale: float = 1.0, duration_s: float = 600.0, rate_hz: float = 1.0, resolution_mbar: float = 0.1,
               by_eye: bool = False, start_pressure_mbar: float = 100.0, with_thermometer: bool = False,
               still: Still | None = None) -> Batch:
    """March ``count`` rigs through pumping and a hold; time nought is the last stroke of the pump.

    The leak is the flow of air at 1013.25 mbar and the rig's temperature while it stands at the start pressure; below
    nought it leaks inwards from a cylinder left open. ``volume_l`` is the declared volume; each rig's own is within
    20 % of it. By eye a reading comes every 10 to 15 s whatever the rate.

    ``still`` is asked after every ``STRETCH`` of which rigs more has to be seen; of the others the readings not marched
    to have the time ``NOT_READ``. What is read of a rig does not depend on it.
    """
    interval = 12.5 if by_eye else 1.0 / rate_hz
    samples = int(duration_s / interval)
    step = _step(0.25 if by_eye else interval)

    def one(number):
        return _hold(generator(seed, number), leak_rate_m3_per_h * PER_HOUR, volume_l * 1e-3, drift, drift_scale,
                     samples, interval, step, resolution_mbar * 100.0, by_eye, start_pressure_mbar * 100.0,
                     _stretches((samples + 2) * (15.0 if by_eye else interval), still))

    return _collect(count, samples, one, with_thermometer, still)


def _hold(rng, leak, declared, drift, drift_scale, samples, interval, step, resolution, by_eye, start, stretches):
    volume = draws.own_volume(rng, declared)
    around = draws.draw_surroundings(rng, drift, drift_scale, duration=samples * interval)
    spaces = draws.draw_spaces(rng, [volume], 0, around, drift, drift_scale)
    gauge = draws.draw_gauge(rng, spaces.body[0], resolution=resolution, by_eye=by_eye, full_scale=1.6 * start)
    share = float(rng.random())
    barometer = around.now[BAROMETER]
    crack, hole = opening_for(abs(leak), share, barometer + start, barometer, spaces.body[0])
    # A leak inwards comes from something at twice the start pressure: a cylinder's valve that lets by.
    openings = draws.openings((0, 1 if leak >= 0.0 else 2, crack, hole))
    if leak < 0.0:
        around = around._replace(district=2.0 * start)
    record = draws.empty_record(samples, interval)
    tally, water = numpy.zeros(4), draws.dry()

    def run(controls, seconds):
        return march(rng, spaces, openings, water, around, gauge, record, controls, tally, step,
                     int(seconds / step + 0.5))

    # Pumped up, left a few seconds while the warm air cools, and topped up: common practice. A hand gives up after
    # forty seconds, so a rig that leaks as fast as it is filled starts lower.
    around.state[CLOCK] = -20.0  # about as long as this takes
    flow = draws.pumped_per_second(rng, volume, start, around.air)
    aim = start * (1.0 + rng.normal(0.0, 0.005)) + gauge.zero
    pumping = RESTING._replace(pump=flow, stop_above=aim)
    run(pumping, 40.0)
    run(RESTING, rng.uniform(4.0, 9.0))
    run(pumping._replace(pump=0.4 * flow), 20.0)
    begin = _begin(rng, around, record, by_eye)
    truth = {"leak_rate_m3_per_h": leak / PER_HOUR, "laminar_share": share, "volume_l": volume / 1e-3,
             "barometer_trend_mbar_per_min": around.trend * 0.6}
    for seconds in stretches:
        run(RESTING._replace(sampling=True), seconds)
        yield record, begin, truth


def letby_batch(count: int, seed: int, *, letby_rate_m3_per_h: float, leg_volume_l: float = 6.0,
                rig_volume_l: float = 0.5, district_mbar: float = 30.0, lip_mbar: float = 0.0,
                lip_rate_m3_per_h: float = 0.0, leg_leak_m3_per_h: float = 0.0, neighbour_m3_per_h: float = 0.0,
                vented_for_s: float = 30.0, duration_s: float = 300.0, rate_hz: float = 1.0,
                resolution_mbar: float = 0.1, by_eye: bool = False, drift: str = "ordinary", drift_scale: float = 1.0,
                with_thermometer: bool = False, still: Still | None = None) -> Batch:
    """March ``count`` legs through isolation, venting and a watch; time nought is the shutting of the vent.

    The let-by is natural gas at 1013.25 mbar and the ground's temperature, the full district pressure on one side and
    an empty leg on the other. Both volumes are as declared: a leg's own is within 30 % of it, a rig's within 20 %; both
    fill. The other rates are those of rig.Site. The truth holds also ``vent_flow_m3_per_h``, the mean out of the open
    vent in the last seconds before it was shut. Gas that still warms flows out too: of a tight leg some 1e-4 m3/h are
    left after half a minute of venting, 1e-5 after a minute. ``still``: as for a hold.
    """
    interval = 12.5 if by_eye else 1.0 / rate_hz
    samples = int(duration_s / interval)
    step = _step(0.25 if by_eye else interval)

    def one(number):
        rng = generator(seed, number)
        site = Site(leg_volume_l=draws.own_volume(rng, leg_volume_l, draws.LEG_SPREAD, 0.3),
                    laminar_share=float(rng.random()), district_mbar=district_mbar,
                    hunting_mbar=float(rng.choice([0.0, 0.1, 0.3, 0.8])), letby_rate_m3_per_h=letby_rate_m3_per_h,
                    lip_mbar=lip_mbar, lip_rate_m3_per_h=lip_rate_m3_per_h, leg_leak_m3_per_h=leg_leak_m3_per_h,
                    neighbour_m3_per_h=neighbour_m3_per_h)
        return _letby(rng, site, rig_volume_l * 1e-3, drift, drift_scale, samples, interval, step,
                      resolution_mbar * MILLIBAR, by_eye, vented_for_s,
                      _stretches((samples + 2) * (15.0 if by_eye else interval), still))

    return _collect(count, samples, one, with_thermometer, still)


def _letby(rng, site, declared, drift, drift_scale, samples, interval, step, resolution, by_eye, vented_for,
           stretches):
    small, leg, air, main = range(4)
    around = draws.draw_surroundings(rng, drift, drift_scale, duration=samples * interval,
                                     district=site.district_mbar * MILLIBAR, hunting=site.hunting_mbar * MILLIBAR)
    rows = {"sawn": (leg, small, 0.0, draws.SAWN_AREA), "vent": (small, air, 0.0, VENT_AREA * rng.uniform(0.3, 1.0))}
    rows |= leg_ways(site, around, leg=leg, air=air, main=main)
    way = {name: number for number, name in enumerate(rows)}
    openings = draws.openings(*rows.values())
    openings.open[way["vent"]], openings.open[way["lip"]] = 0.0, float(site.lip_mbar > 0.0)
    set_lip(site, openings, way["lip"])
    spaces = draws.draw_spaces(rng, [draws.own_volume(rng, declared), site.leg_volume_l * 1e-3], small, around, drift,
                               drift_scale, leg=leg)
    draws.put_gas(spaces, leg, around.now[DISTRICT], 1.0)
    draws.put_gas(spaces, small, around.now[DISTRICT], rng.uniform(0.5, 1.0))  # the saw's hole was flushed, or hardly
    gauge = draws.draw_gauge(rng, spaces.body[small], space=small, resolution=resolution, by_eye=by_eye)
    record, tally, water = draws.empty_record(samples, interval), numpy.zeros(4), draws.dry()
    ground = float(around.now[GROUND])
    resting = RESTING._replace(drawn=moles_per_second(site.neighbour_m3_per_h * PER_HOUR, ground), drawn_space=leg)

    def run(seconds, bites=1, sampling=False):
        march(rng, spaces, openings, water, around, gauge, record, resting._replace(bites=bites, sampling=sampling),
              tally, step, int(seconds / step + 0.5))

    watched = rng.uniform(30.0, 90.0)
    around.state[CLOCK] = -watched - vented_for
    run(watched)
    openings.open[way["vent"]] = 1.0
    rush, last = min(5.0, 0.5 * vented_for), min(5.0, 0.5 * vented_for)
    run(rush, bites=int(QUICK * step / 0.1 + 0.5))
    run(vented_for - rush - last, bites=4)
    before = float(openings.passed[way["vent"]])
    run(last, bites=4)
    flow = (float(openings.passed[way["vent"]]) - before) / last * GAS_CONSTANT * ground / ATMOSPHERE / PER_HOUR
    openings.open[way["vent"]] = 0.0
    begin = _begin(rng, around, record, by_eye)
    truth = {"letby_rate_m3_per_h": site.letby_rate_m3_per_h, "leg_volume_l": site.leg_volume_l,
             "rig_volume_l": float(spaces.volume[small]) / 1e-3, "vent_flow_m3_per_h": flow,
             "laminar_share": site.laminar_share, "barometer_trend_mbar_per_min": around.trend * 0.6}
    for seconds in stretches:
        run(seconds, sampling=True)
        yield record, begin, truth
