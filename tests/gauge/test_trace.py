"""Whole logs read, on the virtual rig, which shares nothing with the reader. Seeds here are not those of the study."""

import importlib.util
from dataclasses import replace
from pathlib import Path

import numpy
import pytest

from stillbore.gauge import breakthrough, trace_model
from stillbore.gauge.breakthrough import Expected
from stillbore.gauge.hold import HoldSettings
from stillbore.gauge.letby import LetBySettings
from stillbore.gauge.readings import read_text
from stillbore.gauge.trace import NOTES, read_trace
from stillbore.gauge.trace_report import UNSEEN, TraceSettings, judge_trace
from stillbore.practice.glitches import write_csv
from stillbore.practice.jobs import random_job, with_notes

PATH = Path(__file__).parents[2] / "studies" / "trace.py"
spec = importlib.util.spec_from_file_location("study_of_traces", PATH)
study = importlib.util.module_from_spec(spec)
import sys  # noqa: E402

sys.modules["study_of_traces"] = study
sys.path.insert(0, str(PATH.parent))
spec.loader.exec_module(study)

EXPECTED = Expected(low=2700.0, high=3300.0, maximum=7500.0, range_end=16000.0)
LET_BY = LetBySettings(volume=7e-3, limit=2.8e-8, stop=5.6e-7, district=0.0, highest=3200.0, margin=500.0, fresh=300.0,
                       resolution=10.0, vent="none")
SETTINGS = TraceSettings(EXPECTED, HoldSettings(6e-4, 1e-4 / 3600.0, 10.0, "ordinary"), LET_BY)


def log_of(trace, tmp_path, full_scale=16000.0):
    path = tmp_path / "job.csv"
    write_csv(trace, path)
    return read_text(path.read_text(encoding="utf-8"), "job.csv", full_scale)


@pytest.mark.parametrize("rate,glitches,wanted", [
    (5.0, study.GLITCHES, 0.92), (1.0, (), 0.90), (1.0, study.GLITCHES, 0.90)])
def test_labels_are_right_within_three_seconds(rate, glitches, wanted, tmp_path):
    """The goals of the handbook's way, F1 0.92 at 5 Hz and 0.90 at 1 Hz; the full table is studies/trace.md."""
    scores = study.figures(study.Cell(rate, glitches=glitches), 30, 2000, tmp_path)
    assert scores["labels"].f1 >= wanted
    assert scores["labels read"].f1 >= scores["labels"].f1


def test_the_score_counts_a_wrong_label_a_late_one_and_a_missing_one():
    score = study.Score()
    score.add([("pump", 10.0), ("hold", 30.0), ("vent", 60.0)], [("pump", 12.0), ("hold", 34.0), ("drill", 60.0)])
    assert (len(score.off), score.missed, score.wrong) == (1, 2, 2)
    assert score.f1 == pytest.approx(2 / 6)


def test_every_phase_can_be_reached_and_its_ways_on_are_shares():
    for state in trace_model.STATES:
        assert sum(state.follows.values()) == pytest.approx(1.0)
        assert set(state.follows) <= set(trace_model.PHASES)
    assert {state.label for state in trace_model.STATES} == set(trace_model.LABELS)
    assert set(NOTES.values()) <= set(trace_model.LABELS)


def test_segments_have_no_holes(tmp_path):
    log = log_of(random_job(2100, 1.0, glitches=study.GLITCHES[:4]), tmp_path)
    segments = read_trace(log)
    assert segments[0].start == log.times[0]
    for earlier, later in zip(segments, segments[1:], strict=False):
        assert earlier.end == later.start
        assert earlier.label != later.label
        assert earlier.last < later.first


@pytest.mark.parametrize("fault,district,kind", [
    ("", 30.0, breakthrough.AS_EXPECTED), ("water", 30.0, breakthrough.SHORT), ("slow", 30.0, breakthrough.SLOW),
    ("no rise", 0.0, breakthrough.NO_RISE), ("medium pressure", 2000.0, breakthrough.ABOVE_MAXIMUM)])
def test_break_through_on_the_virtual_rig(fault, district, kind, tmp_path):
    """Of twelve jobs each at least eleven are called by their name, and none but the clear one is met."""
    named = 0
    for seed in range(2200, 2212):
        log = log_of(random_job(seed, 1.0 if seed % 2 else 5.0, fault=fault, district_mbar=district), tmp_path)
        found = judge_trace(log, SETTINGS).break_throughs
        named += [one.kind for one in found] == [kind]
        if fault:
            assert all(one.verdict != "met" for one in found), seed
    assert named >= 11


def test_medium_pressure_is_said_whatever_the_labels_are(tmp_path):
    for seed in range(2300, 2312):
        log = log_of(random_job(seed, 1.0, fault="medium pressure"), tmp_path)
        said = " ".join([*judge_trace(log, SETTINGS).findings])
        assert "medium pressure" in said and "clear the pit" in said


def test_let_by_is_judged_only_where_the_shutting_of_the_vent_is_known(tmp_path):
    trace = random_job(2404, 1.0, fault="", letby_rate_m3_per_h=0.0, district_mbar=30.0, drift="shade")
    unseen = judge_trace(log_of(trace, tmp_path), SETTINGS).watches[-1]
    assert not unseen.segment.seen
    assert unseen.verdict == "not proven" and UNSEEN in unseen.findings
    noted = judge_trace(log_of(with_notes(trace, "vent shut"), tmp_path), SETTINGS).watches[-1]
    assert noted.segment.seen
    shut = next(when for when, what in trace.events if what == "vent shut")
    assert noted.segment.start == pytest.approx(shut, abs=1.1)


def test_a_leg_that_fills_shows_when_the_vent_was_shut(tmp_path):
    trace = random_job(2401, 1.0, fault="letby", letby_rate_m3_per_h=5e-3, district_mbar=30.0)
    watch = judge_trace(log_of(trace, tmp_path), SETTINGS).watches[-1]
    shut = next(when for when, what in trace.events if what == "vent shut")
    assert watch.segment.seen
    assert watch.segment.start == pytest.approx(shut, abs=3.0)
    assert watch.verdict == "not met"


def test_a_neighbours_pilot_is_seen_before_venting_and_let_by_is_then_not_proven(tmp_path):
    """A pilot takes about 0.02 m3/h (common practice); 0.02 m3/h out of 6.5 l is 52 mbar a minute."""
    trace = with_notes(random_job(2402, 1.0, fault="neighbour", leg_volume_l=6.0), "vent shut")
    watches = judge_trace(log_of(trace, tmp_path), SETTINGS).watches
    before = next(watch for watch in watches if watch.before_venting)
    assert "another user" in before.findings[0]
    after = watches[-1]
    assert after.verdict != "met"
    assert any("hides let-by" in finding for finding in after.findings)


def test_a_small_leg_that_a_neighbour_empties_at_once_is_not_met(tmp_path):
    """It falls from 20 mbar to nought in twelve seconds while the stopper is set, and then stands flat."""
    log = log_of(with_notes(random_job(5019, 1.0), "vent shut"), tmp_path)
    assert all(watch.verdict != "met" for watch in judge_trace(log, SETTINGS).watches)


def test_a_rise_over_which_the_clock_jumps_is_not_proven(tmp_path):
    trace = random_job(2405, 1.0, fault="", district_mbar=30.0)
    begins = next(start for label, start, _ in trace.labels if label == "break")
    later = trace.time_s + 3600.0 * (trace.time_s > begins + 6.0)
    found = judge_trace(log_of(replace(trace, time_s=later), tmp_path), SETTINGS).break_throughs
    assert [one.verdict for one in found] == ["not proven"]
    assert "clock jumped" in found[0].findings[0]


def test_what_is_not_given_is_read_and_not_judged(tmp_path):
    report = judge_trace(log_of(random_job(2403, 1.0, fault=""), tmp_path), TraceSettings(Expected()))
    assert all(hold is None for _, hold in report.holds) and report.holds
    assert any("The hold is not judged" in finding for finding in report.findings)
    assert all(found.verdict == "not proven" for found in report.break_throughs)


def test_the_hold_in_a_whole_log_is_judged_as_the_hold_alone(tmp_path):
    """Rigs that leak far above the limit fail, wherever their hold lies in the log."""
    for seed in range(2410, 2416):
        log = log_of(random_job(seed, 1.0, fault="leak", leak_rate_m3_per_h=2e-3), tmp_path)
        holds = judge_trace(log, SETTINGS).holds
        assert holds and all(hold.verdict == "not met" for _, hold in holds)


def test_a_log_of_one_reading_and_a_log_of_nothing_usable():
    assert [segment.label for segment in read_trace(read_text("time,pressure_mbar\n0,0.1\n", "one.csv"))] == ["zero"]
    log = read_text("time,pressure_mbar\n0,0.1\n1,0.1\n", "none.csv")
    assert read_trace(replace(log, doubtful={0: "spike", 1: "spike"})) == []


def test_ruptures_finds_the_same_great_steps(tmp_path):
    """Steps found by a library that knows nothing of the job: releasing and venting lie at one of them."""
    from ruptures import Pelt

    for seed in (2420, 2421, 2422):
        log = log_of(random_job(seed, 1.0, fault="", district_mbar=30.0), tmp_path)
        signal = numpy.array(log.pressures)[:, None] / 100.0
        ends = Pelt(model="l2", min_size=2, jump=1).fit(signal).predict(pen=100.0)[:-1]
        steps = numpy.array([log.times[end] for end in ends])
        for segment in read_trace(log):
            if segment.label in ("release", "vent"):
                assert numpy.abs(steps - segment.start).min() <= 5.0, (seed, segment.label)
