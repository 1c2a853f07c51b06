"""The virtual rig against physics worked out apart: it is what measures the judges, so it is measured itself."""

import numpy
import pytest

from stillbore.practice import hold_batch as rig
from stillbore.practice.hold_batch import hold_batch
from stillbore.practice.weather import CAUSES, Causes

STILL = Causes(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@pytest.fixture
def still(monkeypatch):
    """A class without weather: no sun, hands, wind, nor a difference between rig and air."""
    monkeypatch.setitem(CAUSES, "still", STILL)


def settled(batch, since=400):
    return batch.pressures[:, -1] - batch.pressures[:, since]


def test_a_tight_rig_without_weather_stands_still(still):
    assert numpy.abs(settled(hold_batch(50, 1, leak_rate=0.0, drift="still"))).max() <= 60.0


def test_a_leak_falls_as_the_gas_law_says(still):
    """dp/dt = p_a Q / V at the test pressure; each rig's own volume lies within 20 % of the declared one."""
    leak = 2e-5 / 3600.0
    fall = -settled(hold_batch(200, 2, leak_rate=leak, drift="still")) / 200.0
    expected = 101325.0 * leak / 5e-4
    assert numpy.median(fall) == pytest.approx(expected, rel=0.08)
    assert fall.min() > 0.7 * expected and fall.max() < 1.35 * expected


def test_warmth_moves_the_gauge_by_the_ideal_gas_law():
    batch = hold_batch(60, 3, leak_rate=0.0, drift="sun")
    change = batch.gas[:, -1] - batch.gas[:, 300]
    moved = batch.pressures[:, -1] - batch.pressures[:, 300]
    absolute = batch.pressures[:, 300] + batch.barometers[:, 300]
    weather = batch.barometers[:, -1] - batch.barometers[:, 300]
    expected = absolute * change / batch.gas[:, 300] - weather
    big = numpy.abs(change) > 0.5
    assert big.sum() > 20
    assert numpy.median(moved[big] / expected[big]) == pytest.approx(1.0, abs=0.03)


def test_pumping_warms_the_gas_by_less_than_the_adiabatic_rise_and_it_cools_again():
    """Adiabatic from 1013 to 1113 mbar with k 1.4: T (p2/p1)^(2/7) - T is 7.9 K at 290 K (handbook of the trade)."""
    batch = hold_batch(100, 4, leak_rate=0.0, drift="shade")
    excess = batch.gas[:, 0] - batch.gas[:, 120]
    assert 0.0 < numpy.median(excess) < 7.9


def test_the_three_classes_have_the_slopes_their_names_stand_for():
    """0.03, 0.10 and 0.40 K/min, rms over half minutes after the first (common practice), within a fifth."""
    for drift, wanted in (("shade", 0.03), ("ordinary", 0.10), ("sun", 0.40)):
        gas = hold_batch(600, 6, leak_rate=0.0, drift=drift).gas[:, 60::30]
        slopes = numpy.diff(gas, axis=1) * 2.0
        assert numpy.sqrt((slopes**2).mean()) == pytest.approx(wanted, rel=0.2)


def test_a_gauge_rounds_to_its_resolution_and_an_eye_to_half_a_millibar():
    digital = hold_batch(5, 7, leak_rate=0.0)
    assert numpy.allclose(digital.pressures / 10.0, numpy.round(digital.pressures / 10.0))
    eye = hold_batch(5, 7, leak_rate=0.0, by_eye=True)
    assert numpy.allclose(eye.pressures / 50.0, numpy.round(eye.pressures / 50.0))
    assert (numpy.diff(eye.times, axis=1).mean()) == pytest.approx(12.5, abs=1.0)


def test_the_same_seed_gives_the_same_rigs_and_another_others():
    first, again, other = (hold_batch(3, seed, leak_rate=0.0).pressures for seed in (9, 9, 10_000))
    assert (first == again).all()
    assert (first != other).any()


def test_judge_and_rig_share_no_import():
    """The rig measures the judges: neither may know the other, nor the other's constants."""
    import ast
    from pathlib import Path

    for folder, forbidden in ((Path(rig.__file__).parent, "stillbore.gauge"),
                              (Path(rig.__file__).parents[1] / "gauge", "stillbore.practice")):
        for path in folder.glob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ImportFrom):
                    assert not (node.module or "").startswith(forbidden), path
