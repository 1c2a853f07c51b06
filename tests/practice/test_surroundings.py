"""What acts on the rig from outside: each cause by itself, as large, as often and as long as it was told."""

import math

import numpy
import pytest

from stillbore.practice.surroundings import AIR, BAROMETER, DISTRICT, HAND

T = 288.15


def followed(rig, which, seconds, step=0.5):
    """Every value of ``now[which]``."""
    values = []
    for _ in range(round(seconds / step)):
        rig.run(step, step=step)
        values.append(rig.around.now[which])
    return numpy.array(values)


def test_the_air_follows_its_waves(bench):
    rig = bench([5e-4])
    rig.around = rig.around._replace(swing=numpy.array([0.5, 0.0, 0.2]), swing_time=numpy.array([200.0, 1.0, 700.0]),
                                     swing_phase=numpy.array([0.3, 0.0, 2.0]))
    clock = numpy.arange(0.5, 1000.1, 0.5)
    expected = T + 0.5 * numpy.sin(math.tau * clock / 200.0 + 0.3) + 0.2 * numpy.sin(math.tau * clock / 700.0 + 2.0)
    assert followed(rig, AIR, 1000.0) == pytest.approx(expected, abs=1e-9)


def test_the_barometer_has_a_trend_and_a_swell(bench):
    rig = bench([5e-4])
    rig.around = rig.around._replace(trend=0.03, wave=4.0, wave_time=600.0, wave_phase=1.0)
    clock = numpy.arange(0.5, 900.1, 0.5)
    expected = 1e5 + 0.03 * clock + 4.0 * numpy.sin(math.tau * clock / 600.0 + 1.0)
    assert followed(rig, BAROMETER, 900.0) == pytest.approx(expected, abs=1e-6)


def test_a_hand_warms_the_metal_while_it_is_there(bench):
    """8 W for 30 s are 240 J, into 800 J/K."""
    rig = bench([5e-4])
    rig.spaces.sunlit[0], rig.spaces.body_capacity[0] = 1.0, 800.0
    rig.around = rig.around._replace(hand=8.0, hand_from=20.0, hand_until=50.0)
    hands = followed(rig, HAND, 100.0)
    assert set(hands) == {0.0, 8.0}
    assert rig.spaces.body[0] - T == pytest.approx(240.0 / 800.0, rel=0.02)
    assert rig.tally[2] == pytest.approx(240.0, rel=0.02)


def test_the_sun_falls_on_metal_and_on_hose(bench):
    """All clear, 10 W for 100 s: a fifth into the lining of 50 J/K, the rest into metal of 900 J/K."""
    rig = bench([5e-4])
    cells = rig.spaces
    cells.sunlit[0], cells.lining_sunlit[0], cells.lining_capacity[0], cells.body_capacity[0] = 1.0, 0.2, 50.0, 900.0
    rig.around = rig.around._replace(sun=10.0, clear_time=1e12)
    rig.around.state[1:3] = 1.0
    rig.run(100.0)
    assert cells.lining[0] - T == pytest.approx(200.0 / 50.0, rel=1e-6)
    assert cells.body[0] - T == pytest.approx(800.0 / 900.0, rel=1e-6)


def test_a_breeze_cools_the_better(bench):
    """Lining in air: exp(-G B t / C), B the breeze, which a standing puff of size 1 makes 1.4."""
    left = []
    for puff in (0.0, 1.0):
        rig = bench([5e-4])
        rig.spaces.lining_air[0], rig.spaces.lining_capacity[0] = 1.0, 60.0
        rig.spaces.lining[0] = T + 5.0
        rig.around = rig.around._replace(puff_time=1e12)
        rig.around.state[3] = puff
        rig.run(60.0, step=0.05)
        left.append((rig.spaces.lining[0] - T) / 5.0)
    assert left == pytest.approx([math.exp(-1.0), math.exp(-1.4)], rel=2e-3)


def test_puffs_come_as_often_as_said(bench):
    """Shot noise of rate r, marks +-E of mean square 2, decay time t: variance r t (Campbell), in units of the puff.
    Up comes six times in ten: mean 0.2 r t."""
    rig = bench([5e-4], interval=1.0, samples=40000)
    rig.around = rig.around._replace(puff_rate=0.2, puff=3.0, puff_time=3.0)
    rig.gauge = rig.gauge._replace(lag=1e-9)
    rig.run(40000.0, sampling=True)
    pushed = -rig.record.pressure
    assert pushed.mean() == pytest.approx(3.0 * 0.2 * 0.2 * 3.0, rel=0.25)
    assert pushed.var() == pytest.approx(9.0 * 0.2 * 3.0, rel=0.15)


def test_the_street_comes_on_and_goes_off(bench):
    """Shot noise again: variance r t of steps that die away in 25 s, mean nought."""
    rig = bench([5e-4], district=3e3)
    rig.around = rig.around._replace(street=10.0, street_rate=0.02)
    main = followed(rig, DISTRICT, 40000.0) - 1e5 - 3e3
    assert main.var() == pytest.approx(100.0 * 0.02 * 25.0, rel=0.2)
    assert abs(main.mean()) < 2.0


def test_a_main_never_sucks(bench):
    rig = bench([5e-4], district=5.0)
    rig.around = rig.around._replace(hunting=50.0, hunting_time=20.0)
    main = followed(rig, DISTRICT, 100.0) - 1e5
    assert main.min() == 0.0 and main.max() > 50.0
