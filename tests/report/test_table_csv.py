"""Tables of a record. The grammar of RFC 4180 is written out here anew and every table must match it; Python's own
reader must give the cells back; no cell may begin what a spreadsheet takes for a formula."""

import csv
import io
import re
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from stillbore.job.files import load_job
from stillbore.plan import plan
from stillbore.record import events as log
from stillbore.record.chain import seal_line
from stillbore.record.events import Value
from stillbore.report.table_csv import ANSWERS, EVENTS, HOLDS, answers, cell, events, holds, table
from stillbore.verdicts import MET, NOT_PROVEN

EXAMPLES = Path(__file__).parents[2] / "src" / "stillbore" / "examples"
EXAMPLE = plan(load_job(EXAMPLES / "service.toml"))
# RFC 4180, 2: file = record *(CRLF record) [CRLF]; TEXTDATA is widened from ASCII to all of Unicode, as UTF-8 needs.
FIELD = '(?:"(?:[^"]|"")*"|[^",\r\n]*)'
RECORD = f"{FIELD}(?:,{FIELD})*"
GRAMMAR = re.compile(f"{RECORD}(?:\r\n{RECORD})*(?:\r\n)?")


def rows(data):
    """A table as Python's csv reader has it, after the grammar was looked at."""
    text = data.decode("utf-8")
    assert GRAMMAR.fullmatch(text) and text.endswith("\r\n") and not text.startswith("\ufeff")
    found = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert len({len(row) for row in found}) == 1  # RFC 4180, 2.4: every line has as many fields
    return found


def named(data):
    header, *rest = rows(data)
    return [dict(zip(header, row, strict=True)) for row in rest]


def written(*happenings):
    lines, prev = [], ""
    for n, what in enumerate(happenings):
        at = f"2030-05-14T08:{n:02d}:00+00:00"
        lines.append(seal_line(log.Event("J-0001", "D1", n, n, "P1", "team leader", at, what, prev)))
        prev = lines[-1].hash
    return lines


OPENED = log.Opened((), EXAMPLE.version, "0", (), "d" * 64)
PRESSURE = log.Answered("B6", "pressure", Value("30.2", "0.3", "mbar", instrument="G-11"), MET, "75 mbar",
                        "pressure.x", "Said.", ("e" * 64,))
LINES = written(OPENED, PRESSURE, log.Answered("B6", "regulator", Value(text="none, \"old\"\r\nbox", how="seen")),
                log.Answered("C9", "least", Value(how="not measured", reason="no echo"), NOT_PROVEN),
                log.Done("B6"), log.Noted("", "=HYPERLINK(\"x\")"))


@given(st.lists(st.lists(st.text(max_size=6), min_size=2, max_size=2), max_size=4))
def test_any_text_makes_a_table_by_the_rfc_that_reads_back(given_rows):
    data = table(("a", "b"), given_rows)
    assert rows(data)[1:] == [[cell(text) for text in row] for row in given_rows]


@given(st.text(alphabet="=+-@\t\r\n \x00＝a1.,\"'", max_size=5))
def test_no_cell_begins_a_formula(text):
    """OWASP on injection into CSV: what begins with = + - @, a tab or a line end; blanks before do not help."""
    made = cell(text)
    number = re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", made)
    assert number or not made.lstrip(" \x00").startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝"))
    assert made in (text, f"'{text}")  # nothing is lost


def test_numbers_stay_numbers():
    assert [cell(text) for text in ("-22.4", "+3", "0.1", "-", "-1+1", "1=1")] == ["-22.4", "+3", "0.1", "'-", "'-1+1",
                                                                                    "1=1"]


def test_every_event_is_a_line_with_what_happened():
    found = named(events(LINES))
    assert len(found) == len(LINES) and list(found[0]) == list(EVENTS)
    assert [row["kind"] for row in found] == ["opened", "answered", "answered", "answered", "done", "noted"]
    assert [row["hash"] for row in found] == [line.hash for line in LINES]
    assert found[4]["step"] == "B6" and found[0]["offset_s"] == "unknown"
    assert found[5]["what"] == '{"step":"","text":"=HYPERLINK(\\"x\\")"}'  # a brace begins no formula


def test_answers_with_what_they_took_the_place_of():
    right = log.Corrected(LINES[1].hash, Value("29.9", "0.3", "mbar"), "misread", MET)
    again = log.Answered("C9", "least", Value("3.1", "0.2", "mm"), MET)
    found = named(answers([*LINES, *written(OPENED, right, again)[1:]]))
    assert list(found[0]) == list(ANSWERS)
    pressure = [row for row in found if row["question"] == "pressure"]
    assert [(row["number"], row["counts"], row["verdict"]) for row in pressure] == [("30.2", "no", "met"),
                                                                                     ("29.9", "yes", "met")]
    assert pressure[0]["value"] == "30.2 +/- 0.3 mbar" and pressure[0]["instrument"] == "G-11"
    assert pressure[0]["uncertainty"] == "0.3"
    unsaid = written(OPENED, log.Answered("B9", "voltage", Value("0.2", "", "V")))
    assert named(answers(unsaid))[0]["uncertainty"] == "unknown"
    assert pressure[0]["evidence"] == "e" * 64 and pressure[0]["event"] == LINES[1].hash
    least = [row for row in found if row["question"] == "least"]
    assert [(row["value"], row["reason"], row["counts"]) for row in least] == [
        ("not measured: no echo", "no echo", "no"), ("3.1 +/- 0.2 mm", "", "yes")]
    assert found[1]["text"] == "none, \"old\"\r\nbox" and found[1]["instrument"] == "unknown"


def test_every_hard_hold_is_there_with_each_question_answered_or_not():
    found = named(holds(LINES, EXAMPLE))
    assert list(found[0]) == list(HOLDS)
    assert {int(row["hold"]) for row in found} == set(range(1, 19))  # trade.md 2: eighteen hard holds
    first = {row["question"]: row for row in found if row["hold"] == "1"}
    assert (first["pressure"]["state"], first["pressure"]["value"]) == ("stands", "30.2 +/- 0.3 mbar")
    assert first["pressure"]["people"] == "P1" and first["pressure"]["done_at"].startswith("2030-05-14T08:04")
    fifth = next(row for row in found if row["hold"] == "5" and row["question"] == "least")
    assert (fifth["state"], fifth["value"], fifth["verdict"]) == ("not done", "not measured: no echo", "not proven")
    rest = [row for row in found if row["hold"] not in ("1", "5")]
    assert {(row["state"], row["value"]) for row in rest} == {("not done", "not answered")}


def test_a_hold_that_was_opened_again_says_so():
    right = log.Corrected(LINES[1].hash, Value("29.9", "0.3", "mbar"), "misread", MET)
    lines = [*LINES, *written(OPENED, right)[1:]]
    row = next(row for row in named(holds(lines, EXAMPLE)) if row["question"] == "pressure")
    assert row["state"] == "open again" and "corrected" in row["why"] and row["value"] == "29.9 +/- 0.3 mbar"
