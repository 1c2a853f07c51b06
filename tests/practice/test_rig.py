"""Whole jobs on the virtual rig: nothing lost, labelled throughout, and each fault felt where physics says."""

import dataclasses
import math

import numpy
import pytest

from stillbore.errors import StillboreError
from stillbore.job.files import example_text
from stillbore.job.kit import KIT
from stillbore.job.schema import load_text
from stillbore.practice import jobs
from stillbore.practice.rig import Rig, Site
from stillbore.practice.surroundings import BAROMETER, CLOCK, DISTRICT

R, ATMOSPHERE = 8.314462618, 101325.0
QUIET = Site(hunting_mbar=0.0, leg_volume_l=6.0)


def calm(rig):
    """Still weather and a steady main around a rig."""
    rig.around = rig.around._replace(swing=numpy.zeros(3), trend=0.0, wave=0.0, puff=0.0, sun=0.0, hand=0.0, street=0.0)
    return rig


def contents(rig):
    """Moles of gas, moles of natural gas, joules in gas, metal and lining; heat capacities as gas.py states them."""
    cells = rig.spaces
    warm = ((cells.amount - cells.fuel) * 20.79 + cells.fuel * 26.9) * cells.temperature
    return (cells.amount.sum(), cells.fuel.sum(),
            warm.sum() + (cells.body_capacity * cells.body + cells.lining_capacity * cells.lining).sum())


def part(trace, label, which=0):
    """True pressures [mbar] under the label's ``which``-th stretch."""
    _, start, end = [row for row in trace.labels if row[0] == label][which]
    return trace.true_pressure_mbar[(trace.true_time_s > start) & (trace.true_time_s <= end)]


EVERYTHING = Site(leak_rate_m3_per_h=1e-3, letby_rate_m3_per_h=1e-3, lip_mbar=15.0, lip_rate_m3_per_h=5e-3,
                  leg_leak_m3_per_h=1e-3, neighbour_m3_per_h=0.02, water_mbar=5.0, hunting_mbar=0.5)


@pytest.mark.parametrize("seed,site", [(1, EVERYTHING), (2, EVERYTHING),
                                       (3, dataclasses.replace(EVERYTHING, district_mbar=2000.0))])
def test_every_mole_and_every_joule_of_a_whole_job_is_accounted_for(seed, site):
    """First law for the whole rig: what is in it now is what was, and came in, less what went out and work done."""
    rig = Rig(seed, site=site, drift="sun")
    before = contents(rig)
    jobs.play(rig, jobs.usual_job(reseat=0.1))
    moles, _, joules = contents(rig)
    moles_in, energy_in, heat_in, work_out = rig.tally
    assert moles - before[0] == pytest.approx(moles_in, abs=1e-12)
    assert joules - before[2] == pytest.approx(energy_in + heat_in - work_out, abs=1e-3)
    assert min(abs(energy_in), abs(heat_in), abs(work_out)) > 0.1  # each of them mattered


def test_natural_gas_comes_from_the_main_alone():
    """Nothing lets gas out: what natural gas there is more is what the ways from the main passed."""
    rig = calm(Rig(4, site=dataclasses.replace(QUIET, letby_rate_m3_per_h=1e-2)))
    _, fuel, _ = contents(rig)
    came = rig.openings.passed.copy()
    jobs.drill(rig, before=5.0, live=10.0)
    came = rig.openings.passed - came
    assert contents(rig)[1] - fuel == pytest.approx(came[rig.way["supply"]] + came[rig.way["letby"]], rel=1e-6)
    assert contents(rig)[1] - fuel > 0.5 * 0.03 * rig.volume_l * 1e-3 * ATMOSPHERE / (R * 290.0)


@pytest.mark.parametrize("seed", range(6))
def test_labels_cover_a_random_job_without_overlap(seed):
    trace = jobs.random_job(seed)
    assert trace.labels[0][1] == 0.0
    for (_, _, end), (_, start, _) in zip(trace.labels, trace.labels[1:], strict=False):
        assert start == pytest.approx(end, abs=1e-9)
    assert all(name in jobs.LABELS and end > start for name, start, end in trace.labels)
    assert trace.labels[-1][2] == pytest.approx(trace.true_time_s[-1], abs=1.0)
    assert all(earlier <= later for (earlier, _), (later, _) in zip(trace.events, trace.events[1:], strict=False))
    assert numpy.diff(trace.time_s) == pytest.approx(1.0)


def test_the_same_seed_is_the_same_job_and_another_another():
    first, again, other = (jobs.random_job(seed, 5.0) for seed in (11, 11, 12))
    assert (first.pressure_mbar == again.pressure_mbar).all() and first.labels == again.labels
    assert len(other.pressure_mbar) != len(first.pressure_mbar) or (other.pressure_mbar != first.pressure_mbar).any()


@pytest.mark.parametrize("name", ["kit_single_branch.toml", "kit_two_branches.toml"])
def test_every_example_kit_makes_a_rig(name):
    kit = load_text(KIT, example_text(name), name)
    rig = Rig(1, kit)
    declared = sum(row.fact("volume").value for row in kit.rows("compartment")) * 1e3
    assert rig.volume_l == pytest.approx(declared, rel=0.2)
    trace = jobs.play(rig, jobs.usual_job())
    assert part(trace, "hold").mean() == pytest.approx(100.0, rel=0.1)


def test_a_leak_lets_the_rig_down_as_stated():
    """dp/dt = p_a Q / V at 100 mbar; laminar, with (p - pa)/(p + pa) falling exponentially, see test_march.py."""
    rig = calm(Rig(5, site=dataclasses.replace(QUIET, leak_rate_m3_per_h=5e-4, laminar_share=1.0), drift="shade",
                   drift_scale=0.0))
    rig.spaces.give[:] = 0.0
    jobs.play(rig, [(jobs.pump, {"top_up_after": 6.0}), (jobs.hold, {"seconds": 60.0})])
    outside, start = float(rig.around.now[BAROMETER]), rig.gauge_mbar(0) * 100.0
    rig.run(120.0)
    square = ATMOSPHERE * 5e-4 / 3600.0 / (rig.volume_l * 1e-3) / ((outside + 1e4) ** 2 - outside**2)
    x = start / (start + 2.0 * outside) * math.exp(-2.0 * square * outside * 120.0)
    assert rig.gauge_mbar(0) * 100.0 == pytest.approx(2.0 * outside * x / (1.0 - x), rel=5e-3)
    assert rig.gauge_mbar(0) * 100.0 < 0.8 * start


def test_a_valve_that_lets_by_passes_its_rate_when_shut():
    rig = calm(Rig(6, site=dataclasses.replace(QUIET, passing_valves=(("gauge valve", 1e-4),)), drift_scale=0.0))
    jobs.pump(rig)
    rig.run(30.0)
    rig.set("gauge valve", 0.0)
    rig.set("vent", 1.0)
    rig.run(3.0, bites=40)
    start = rig.gauge_mbar(rig.gauge.space)
    flow = jobs.flow_through(rig, "gauge valve", 2.0)
    assert start > 90.0  # all but shut
    assert abs(flow) == pytest.approx(1e-4 * math.sqrt(start / 100.0), rel=0.1)


def test_the_main_comes_up_at_the_gauge_when_the_drill_is_through():
    trace = jobs.random_job(3, fault="")
    district = [value for name, value in trace.truth.items() if name == "district_mbar before venting"][0]
    assert part(trace, "drill")[-1] < 2.0
    assert part(trace, "live", 1).mean() == pytest.approx(district, rel=0.1)


def test_medium_pressure_clips_the_gauge_and_ends_the_job():
    trace = jobs.random_job(2, fault="medium pressure", range_mbar=160.0)
    assert trace.true_pressure_mbar.max() > 1000.0
    assert trace.pressure_mbar.max() == 160.0
    assert trace.labels[-1][0] == "live" and "stopper" not in [row[0] for row in trace.labels]


def test_a_dead_main_does_not_rise_and_ends_the_job():
    trace = jobs.random_job(2, fault="no rise")
    broken = next(time for time, what in trace.events if what == "break-through")
    assert abs(trace.true_pressure_mbar[trace.true_time_s > broken]).max() < 1.5
    assert {"break", "live", "stopper"}.isdisjoint(row[0] for row in trace.labels)


def test_a_choked_drill_hole_is_slow():
    quick, slow = (jobs.random_job(3, fault=fault, hole_share=share) for fault, share in (("", 0.1), ("slow", 1e-4)))
    spans = [next(end - start for name, start, end in trace.labels if name == "break") for trace in (quick, slow)]
    assert spans[0] < 6.0 and spans[1] > 15.0


def isolated(seconds=120.0, **changed):
    """The leg shut off, vented for two minutes and watched, in still weather: the rig, and the rise [mbar]."""
    rig = calm(Rig(8, site=dataclasses.replace(QUIET, **changed), drift="shade", drift_scale=0.0))
    rig.drill_area(3e-4)
    rig.run(5.0, bites=40)
    rig.seat()
    before = rig.gauge_mbar(rig.leg)
    rig.run(60.0)
    fall = before - rig.gauge_mbar(rig.leg)
    jobs.vent(rig, open_for=120.0)
    rig.run(seconds)
    return rig, fall


def test_letby_is_passed_as_stated_and_seen_at_the_open_vent():
    rig, _ = isolated(letby_rate_m3_per_h=5e-4)
    assert rig.truth["vent_flow_m3_per_h"] == pytest.approx(5e-4, rel=0.05)
    room = (rig.volume_l + 6.0) * 1e-3
    assert rig.gauge_mbar(rig.leg) == pytest.approx(5e-4 / 3600.0 * 120.0 / room * 1013.25, rel=0.1)


def test_a_tight_leg_neither_rises_nor_falls():
    rig, fall = isolated()
    assert abs(rig.gauge_mbar(rig.leg)) < 0.05 and abs(fall) < 0.1
    assert abs(rig.truth["vent_flow_m3_per_h"]) < 2e-5


def test_a_leak_in_the_leg_masks_letby():
    """Open loop: the let-by fills the leg only to where the leak lets out as much, far below what it would reach."""
    masked, fall = isolated(letby_rate_m3_per_h=1e-3, leg_leak_m3_per_h=3e-2, seconds=600.0)
    bare, _ = isolated(letby_rate_m3_per_h=1e-3, seconds=600.0)
    assert masked.gauge_mbar(masked.leg) < 0.2 * bare.gauge_mbar(bare.leg)
    assert fall > 10.0  # but the watch before venting shows it


def test_a_neighbour_pulls_the_leg_down_before_it_is_vented():
    """A pilot of 0.02 m3/h out of leg and rig: 1013 mbar x 0.02 / 60 / 6.5 l is 52 mbar a minute; it goes out first."""
    rig, fall = isolated(neighbour_m3_per_h=0.02)
    assert fall > 25.0
    assert rig.gauge_mbar(rig.leg) < 0.05


def test_a_lip_that_lifts_lets_gas_by_and_one_that_does_not_is_tight():
    lifted, _ = isolated(lip_mbar=25.0, lip_rate_m3_per_h=5e-3)
    seated, _ = isolated(lip_mbar=35.0, lip_rate_m3_per_h=5e-3)
    assert lifted.truth["vent_flow_m3_per_h"] > 5e-4 and lifted.gauge_mbar(lifted.leg) > 5.0
    assert abs(seated.gauge_mbar(seated.leg)) < 0.05


def test_seating_again_seats_a_lip_that_had_lifted():
    """The leg is open. Lifted at 30 mbar the lip lets by at 24 too, until it is seated again: 24 is below its 25."""
    rig, _ = isolated(lip_mbar=25.0, lip_rate_m3_per_h=5e-3)
    rig.set("vent", 1.0)
    rig.run(5.0)
    rig.around = rig.around._replace(district=2400.0)
    assert jobs.flow_through(rig, "lip", 20.0) > 5e-4
    rig.seat()
    assert jobs.flow_through(rig, "lip", 20.0) == 0.0


@pytest.mark.parametrize("letby,seen", [(0.0, "none"), (2e-3, "bubbles"), (6e-2, "flow")])
def test_what_is_seen_at_the_open_vent(letby, seen):
    """2 l/h bubble, and 60 l/h are felt; a tight leg after two minutes gives less than a hundredth of a litre."""
    rig, _ = isolated(letby_rate_m3_per_h=letby, seconds=0.1)
    assert rig.truth["vent_observation"] == seen


def test_a_lip_passes_its_rate_15_mbar_above_its_pressure():
    rig, _ = isolated(lip_mbar=20.0, district_mbar=35.0, lip_rate_m3_per_h=5e-3)
    assert rig.truth["vent_flow_m3_per_h"] == pytest.approx(5e-3, rel=0.05)


def test_water_in_the_service_keeps_its_head_from_the_gauge():
    """The leg under water of 8 mbar stands between main less head and main."""
    site = dataclasses.replace(QUIET, water_mbar=8.0)
    for seed in range(3):
        rig = calm(Rig(seed, site=site))
        assert rig.gauge_mbar(rig.leg) == pytest.approx(22.0, abs=0.1)
        rig.drill_area(3e-4)
        rig.run(60.0, bites=40)
        assert 21.9 <= rig.gauge_mbar(rig.leg) < 30.0


def test_seating_again_lets_less_by():
    trace = jobs.play(Rig(9, site=dataclasses.replace(QUIET, letby_rate_m3_per_h=3e-3)), jobs.usual_job(reseat=0.1))
    first, again = (numpy.ptp(part(trace, "watch", which)) for which in (1, 2))
    assert again < 0.3 * first


def test_the_main_follows_its_governor():
    """A step of 24 mbar in a minute, from the moment named, and hunting of its amplitude on top."""
    site = Site(district_step_mbar=24.0, district_step_at_s=100.0, hunting_mbar=1.0)
    rig = calm(Rig(1, site=site))
    shown = []
    for _ in range(3000):
        rig.run(0.1)
        shown.append(float(rig.around.now[DISTRICT] - rig.around.now[BAROMETER]) / 100.0)
    assert numpy.mean(shown[:990]) == pytest.approx(30.0, abs=0.5)
    assert numpy.mean(shown[1650:]) == pytest.approx(54.0, abs=0.5)
    assert numpy.ptp(shown[:990]) == pytest.approx(2.0, rel=0.02)
    assert rig.around.state[CLOCK] == pytest.approx(300.0)


def test_a_word_in_the_note_column_stands_at_the_next_reading():
    rig = Rig(1)
    rig.run(10.0)
    rig.note("valve shut")
    rig.run(5.0)
    trace = rig.trace()
    assert trace.notes == {10: "valve shut"} and trace.true_time_s[10] == pytest.approx(11.0)


@pytest.mark.parametrize("words,named", [
    ("no joint 'lid'", {"site": Site(leak_joint="lid")}),
    ("no valve 'tap'", {"site": Site(passing_valves=(("tap", 1e-4),))}),
    ("no drift class 'fog'", {"drift": "fog"})])
def test_what_is_not_there_is_named(words, named):
    with pytest.raises(StillboreError, match=words):
        Rig(1, **named)
