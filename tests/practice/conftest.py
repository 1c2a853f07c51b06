"""A bench: the march of the rig with compartments built by hand, in still weather, under a gauge without error."""

from dataclasses import dataclass

import numpy
import pytest

from stillbore.practice import draws
from stillbore.practice.march import CREEP_TIMES, Controls, Spaces, march, pressure
from stillbore.practice.surroundings import BAROMETER, BREEZE, CLOCK, DISTRICT

CALM = {"trend": 0.0, "wave": 0.0, "puff_rate": 0.0, "puff": 0.0, "sun": 0.0, "hand": 0.0, "district_trend": 0.0,
        "district_step": 0.0, "hunting": 0.0, "street": 0.0}
PERFECT = {"lag": 1e-9, "zero": 0.0, "span": 0.0, "warm_shift": 0.0, "white": 0.0, "wander": 0.0, "walk": 0.0,
           "knock_rate": 0.0, "jitter": 0.0, "resolution": 0.0, "full_scale": 1e9}
FOREVER = 1e15  # J/K of a body that nothing warms


@dataclass
class Bench:
    rng: numpy.random.Generator
    spaces: Spaces
    openings: object
    water: object
    around: object
    gauge: object
    record: object
    tally: numpy.ndarray

    def run(self, seconds, step=0.1, bites=1, sampling=False, drawn=0.0, drawn_space=0, pump=0.0, shaking=0.0,
            above=1e12):
        controls = Controls(pump=pump, pump_space=0, drawn=drawn, drawn_space=drawn_space, shaking=shaking, hand=0.0,
                            sampling=sampling, bites=bites, stop_above=above, stop_below=-1e12)
        return march(self.rng, self.spaces, self.openings, self.water, self.around, self.gauge, self.record, controls,
                     self.tally, step, round(seconds / step))

    def pressure(self, space=0):
        """Absolute [Pa]."""
        return pressure(self.spaces, self.water, space)

    @property
    def clock(self):
        return self.around.state[CLOCK]


def spaces_of(volumes, temperature, barometer):
    """Compartments of air at the barometer that exchange no heat with anything."""
    count = len(volumes)

    def every(value):
        return numpy.full(count, float(value))

    table = numpy.zeros((count, len(CREEP_TIMES)))
    volume = numpy.array(volumes, float)
    return Spaces(
        amount=barometer * volume / (8.314462618 * temperature), fuel=every(0), temperature=every(temperature),
        body=every(temperature), lining=every(temperature), creep=table.copy(), grown=every(0), volume=volume,
        film_body=every(0), film_lining=every(0), lining_body=every(0), body_air=every(0), lining_air=every(0),
        body_ground=every(0), body_capacity=every(FOREVER), lining_capacity=every(FOREVER), sunlit=every(0),
        lining_sunlit=every(0), give=table.copy())


@pytest.fixture
def bench():
    """``bench(volumes [m3], *rows of (start, end, crack, hole))``."""

    def build(volumes, *rows, temperature=288.15, barometer=1e5, district=0.0, interval=1.0, samples=2000):
        rng = numpy.random.Generator(numpy.random.PCG64(5))
        around = draws.draw_surroundings(rng, "shade")._replace(
            air=temperature, swing=numpy.zeros(3), barometer=barometer, district=district, **CALM)
        around.now[:] = 0.0
        around.now[:2], around.now[BAROMETER], around.now[BREEZE] = temperature, barometer, 1.0
        around.now[DISTRICT] = barometer + district
        gauge = draws.draw_gauge(rng, temperature)._replace(**PERFECT)
        gauge.levels[:] = 0.0
        openings = draws.openings(*(rows or ((0, len(volumes), 0.0, 0.0),)))
        return Bench(rng, spaces_of(volumes, temperature, barometer), openings, draws.dry(), around, gauge,
                     draws.empty_record(samples, interval, interval), numpy.zeros(4))

    return build


@pytest.fixture
def still(monkeypatch):
    """A drift class without sun, hands, waves of the air, or a difference between rig, air and ground."""
    monkeypatch.setitem(draws.CAUSES, "still", draws.Causes(*[0.0] * len(draws.Causes._fields)))
    return "still"
