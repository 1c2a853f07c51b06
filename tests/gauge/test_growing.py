"""A log that is judged again as it grows: at every length the same report as from the beginning, at the cost of what is
new in it."""

import random

from stillbore.gauge.growing import Growing
from stillbore.gauge.hold import Hold, HoldSettings
from stillbore.gauge.hold_log import judge_hold
from stillbore.gauge.letby import LetBySettings, judge_watch
from stillbore.gauge.readings import read_text

HOLD = HoldSettings(5e-4, 3e-5 / 3600.0, 10.0, "ordinary")
WATCH = LetBySettings(6.5e-3, 1e-3 / 3600.0, 2e-2 / 3600.0, 3000.0, 3000.0, 500.0, 300.0, 10.0, "none")


def rows(draw, start, slope, count):
    """Readings with what happens to them: a warm hand on the thermometer, a probe pulled off, a clock that jumps."""
    time, made = 0.0, []
    for number in range(count):
        time += draw.choice((0.5, 1.0, 3.0)) + (4000.0 if number and draw.random() < 0.004 else 0.0)
        pressure = start + slope * number + draw.gauss(0.0, 0.06)
        if draw.random() < 0.02:
            pressure = draw.choice((0.0, 1000.0, -5.0))
        warmth = "" if draw.random() < 0.5 else f"{15.0 + draw.gauss(0.0, 0.1):.1f}"
        made.append(f"{time:.1f},{pressure:.1f},{warmth}\n")
    return made


def grown(draw, made):
    """The log after each key that is pressed: mostly a reading more, sometimes one taken back, once begun anew."""
    log = []
    for row in made:
        log.append(row)
        yield log
        if draw.random() < 0.05:
            log.pop()
            yield log
    del log[:]
    for row in made[len(made) // 2:]:
        log.append(row)
        yield log


def read(log):
    return read_text("time,pressure_mbar,temperature_degC\n" + "".join(log), "log.csv", 16_000.0)


def test_a_hold_judged_as_it_grows_is_the_hold_judged_whole():
    for seed in range(12):
        draw = random.Random(seed)
        growing, compared = Growing(), 0
        for log in grown(draw, rows(draw, 99.8, draw.choice((0.0, -0.02, -0.2)), 120)):
            if log:
                assert judge_hold(read(log), HOLD, growing) == judge_hold(read(log), HOLD)
                compared += 1
        assert compared > 150


def test_a_watch_judged_as_it_grows_is_the_watch_judged_whole():
    for seed in range(12):
        draw = random.Random(100 + seed)
        growing = Growing()
        for log in grown(draw, rows(draw, 0.1, draw.choice((0.0, 0.01, 0.2)), 120)):
            if log:
                assert judge_watch(read(log), WATCH, growing) == judge_watch(read(log), WATCH)


def test_other_settings_begin_anew():
    log, growing = read(rows(random.Random(3), 99.8, 0.0, 60)), Growing()
    other = HoldSettings(5e-4, 3e-5 / 3600.0, 10.0, "sun")
    for settings in (HOLD, other, HOLD):
        assert judge_hold(log, settings, growing) == judge_hold(log, settings)


def test_each_reading_is_given_to_the_judge_once():
    taken = []

    class Counted(Hold):
        def add(self, *sample):
            taken.append(sample)
            return super().add(*sample)

    growing = Growing()
    samples = [(float(second), 9980.0) for second in range(200)]
    for count in range(1, 200):
        growing.judged(Counted, HOLD, samples[:count], to_the_end=True)
    assert taken == samples[:199]
