"""Gauge logs with anything wrong in them: a clear error or a right answer, never a traceback, in the reader and in
every judge. The logs that are spoilt are the shipped ones, cut short so that a change falls somewhere that matters."""

import math
import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillbore.errors import InputFaults
from stillbore.gauge.breakthrough import Expected
from stillbore.gauge.hold import HoldSettings
from stillbore.gauge.hold_log import judge_hold
from stillbore.gauge.letby import LetBySettings, judge_watch
from stillbore.gauge.readings import read_log, read_text
from stillbore.gauge.trace_report import TraceSettings, judge_trace
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

sys.path.insert(0, str(Path(__file__).parents[1] / "job"))  # the spoilers stand with those of the files
from fuzzed import WORDS, moved_lines, spoilt_bytes

EVIDENCE = Path(__file__).parents[2] / "src" / "stillbore" / "examples" / "evidence"
FULL_SCALE = 1.6e4  # Pa, of the example's gauge
CELLS = ("inf", "nan", "-inf", "1e999", "OL", "", " ", "-", "1,5", "0x10", "1e-320", "٣", "1_0", "-0.0", "9" * 14,
         "2030-05-14T08:00:00Z", "2030-05-14T08:00:00", "08:00:00", "24:00:00", "9999-12-31T23:59:59Z", '"', "'=1",
         "\0", "time", "5" * 400)
HOLD = HoldSettings(5e-4, 8e-9, 10.0, "ordinary")
LET_BY = LetBySettings(6e-3, 3e-8, 6e-7, 3000.0, 4000.0, 500.0, 300.0, 10.0, "none")
EXAMPLES = int(os.environ.get("FUZZ", "150"))  # each; more by hand: FUZZ=5000 pytest tests/gauge/test_fuzzed_logs.py


def shipped(name, lines=70):
    return "\n".join((EVIDENCE / f"{name}.csv").read_text(encoding="utf-8").split("\n")[:lines]) + "\n"


DATED = "time;pressure_mbar;temperature_degC;note\n" + "".join(
    f"2030-05-14T08:{at // 60:02d}:{at % 60:02d}+00:00;{100 - 0.01 * at:.1f};11.{at % 10};{'shut' if at == 9 else ''}\n"
    for at in range(60))
LOGS = {"hold": shipped("hold"), "let_by": shipped("let_by"), "rise": shipped("rise"), "dated": DATED}


@st.composite
def strange_cells(draw, text):
    """A log in which a few cells are strange."""
    lines = text.rstrip("\n").split("\n")
    for _ in range(draw(st.integers(1, 6))):
        row = draw(st.integers(0, len(lines) - 1))
        mark = ";" if ";" in lines[row] else ","
        cells = lines[row].split(mark)
        cells[draw(st.integers(0, len(cells) - 1))] = draw(st.sampled_from(CELLS) | st.text(max_size=4))
        lines[row] = mark.join(cells)
    return ("\n".join(lines) + "\n").encode("utf-8")


def spoilt_log(text):
    return spoilt_bytes(text) | moved_lines(text) | strange_cells(text)


def judged(log):
    """Every judge gives a verdict, and numbers that are numbers."""
    hold, watch = judge_hold(log, HOLD), judge_watch(log, LET_BY)
    trace = judge_trace(log, TraceSettings(Expected(2100.0, 4000.0, 7500.0, FULL_SCALE), HOLD, LET_BY))
    for verdict in (hold.verdict, watch.verdict, *(each.verdict for each in trace.break_throughs)):
        assert verdict in (MET, NOT_MET, NOT_PROVEN)
    if hold.rate is not None:
        assert all(map(math.isfinite, (hold.rate.best, hold.rate.low, hold.rate.high)))
    assert all(isinstance(words, str) and words for words in (*hold.findings, *watch.findings, *trace.findings))


@pytest.mark.parametrize("name", LOGS)
@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_spoilt_log_is_refused_in_words_or_read_and_judged(name, data, tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes(data.draw(spoilt_log(LOGS[name])))
    try:
        log = read_log(path, FULL_SCALE)
    except InputFaults as error:
        assert error.faults and all(fault.what and fault.fix for fault in error.faults)
        return
    assert len(log) > 0 and all(map(math.isfinite, log.times))
    assert all(later >= earlier for earlier, later in zip(log.times, log.times[1:], strict=False))
    judged(log)


@given(st.text(max_size=120) | st.lists(st.sampled_from((*WORDS, *CELLS, "time", "pressure_mbar", ",", "\n")),
                                        max_size=30).map("".join))
def test_any_text_at_all(text):
    try:
        judged(read_text(text, "log.csv", None))
    except InputFaults as error:
        assert all(fault.what and fault.fix for fault in error.faults)


@pytest.mark.parametrize("name", LOGS)
def test_the_logs_are_read_before_they_are_spoilt(name):
    log = read_text(LOGS[name], name, FULL_SCALE)
    assert len(log) >= 55 and not log.doubtful
    judged(log)
