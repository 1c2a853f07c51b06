"""What the watch says wrongly and how soon it says what is right, on whole virtual jobs: a small cell of the study."""

import importlib.util
import sys
from pathlib import Path

import pytest

PATH = Path(__file__).parents[2] / "studies" / "watch.py"
sys.path.insert(0, str(PATH.parent))
spec = importlib.util.spec_from_file_location("study_of_watches", PATH)
study = importlib.util.module_from_spec(spec)
sys.modules["study_of_watches"] = study
spec.loader.exec_module(study)

NEVER = ("break-through not said", "above maximum said, and was not", "above maximum not said", "hold met, and leaked",
         "hold not met, and was tight", "break-through not met, and was clear", "let-by not met, and was tight")
# A way that the saw opens late comes up late; a small leg that a neighbour empties at once looks vented. Both are in
# studies/watch.md with how often.
SELDOM = ("break-through said, and was none", "break-through met, and was hindered", "leg falls not said",
          "let-by met, and let by or was hidden")


@pytest.mark.parametrize("rate,count", [(1.0, 24), (5.0, 12)])
def test_over_whole_jobs_little_false_is_said_and_break_through_within_a_second(rate, count):
    """The goal of the issue: break-through within a second of it. Seeds are not those of the study."""
    found = study.figures(study.Cell(rate), count, 5000)
    assert found.hours > 1.5
    assert {kind: found.wrong[kind] for kind in NEVER if found.wrong.get(kind)} == {}
    assert all(found.wrong.get(kind, 0) <= 1 for kind in SELDOM)
    assert found.delays and sum(delay < 1.05 for delay in found.delays) >= 0.9 * len(found.delays)
    assert found.wrong["leg falls said, and did not"] <= 2


def test_glitches_begin_little_and_hide_no_break_through():
    """Spikes, dropouts, a unit key pressed: of 96 break-throughs at 1 Hz four were missed and 29 false ones said,
    before a lone reading was taken back by the next. A unit key pressed in the very seconds of the break-through may
    still hide it."""
    found = study.figures(study.Cell(1.0, study.GLITCHES), 24, 5000)
    assert found.wrong["break-through not said"] <= 1
    for_good = found.wrong["break-through said, and was none"] - found.wrong["of these taken back by the next reading"]
    assert for_good <= 3
    assert found.wrong["hold met, and leaked"] == 0
    assert found.wrong["above maximum not said"] == 0


def test_the_study_tells_false_from_true():
    """An alarm before the hole and one after it: one false, one right, 1.5 s after the gauge showed it."""
    trace = study.random_job(5100, 1.0, fault="", district_mbar=30.0)
    begins = next(start for label, start, _ in trace.labels if label == "break")
    shown = trace.true_time_s[(trace.true_time_s >= begins) & (trace.true_pressure_mbar > study.SHOWN)][0]
    said = [(time, study.Said(time, study.ALARM, "BREAK-THROUGH: x"))
            for time in (begins - 60.0, float(shown) + 1.5)]
    tally = study.Tally()
    study.judge(trace, said, tally)
    assert tally.wrong["break-through said, and was none"] == 1 and tally.wrong["break-through not said"] == 0
    assert tally.delays == [pytest.approx(1.5)]
