"""An instrument on a cable: what is made of its lines, and what the route answers. The page itself: test_serial.py."""

import re
from datetime import datetime

import pytest
from crew_pages import JOB

from stillbore.app.cable_lines import LONGEST_LINE, MOST_LINES, read_lines
from stillbore.errors import StillboreError
from stillbore.gauge.columns import PRESSURE_COLUMNS
from stillbore.gauge.readings import read_text

PLACE = ("step", "D6", "ask.hold")
NAME = "gauge-D6-hold.csv"
AT = "2030-05-14T11:30:{:06.3f}Z"
HOSTILE = "<img src=x onerror=alert(1)>\u202e"


def stamped(*lines):
    return "\n".join(f"{AT.format(second)} {line}" for second, line in enumerate(lines))


def pressures(brought):
    return [float(line.split(",")[1]) for line in brought.readings]


@pytest.mark.parametrize(("lines", "unit", "found"), [
    (["99.8", "99,7", "+0099.60", "\x0299.5\x03", "-0.1"], "mbar", [99.8, 99.7, 99.6, 99.5, -0.1]),
    (["9.98", "9,97 kPa", "99.6 mbar", "9950 Pa"], "kPa", [99.8, 99.7, 99.6, 99.5]),
    # 1 psi is 6894.757 Pa, 1 inH2O 249.0889 Pa (NIST SP 811, appendix B.8, from memory)
    (["1.5"], "psi", [103.4214]), (["40"], "inH2O", [99.6356]), (["0.1"], "bar", [100.0]), (["100"], "hPa", [100.0]),
    (["12.5,99.8", "13.0,99.7,21.5", "13,996"], "mbar", [99.8, 99.7, 996.0]),
    (["12,5;99,8", "13;99,7;21,5"], "mbar", [99.8, 99.7]),
    (["time,pressure_kpa", "12,10", "13,9.98"], "mbar", [100.0, 99.8]),
    (["", "# a comment", "   "], "mbar", []),
])
def test_lines_are_read_as_instruments_write_them(lines, unit, found):
    brought = read_lines(stamped(*lines), unit, "")
    assert pressures(brought) == pytest.approx(found, rel=1e-6)
    assert brought.unread == 0 and brought.last_unread == ""


@pytest.mark.parametrize("lines", [
    ["P=99.8"], ["21 °C"], ["9 9"], ["99.8 bananas"], ["nan"], ["1e7"], ["9" * 30], ["--5"],
    ["12,5,99,8"], ["12,5,30"],  # commas between commas
    ["12.5,99.8,120"], ["12.5,99.8,20,8"],  # no such temperature, no such barometer: the columns are others
    ["x" * (LONGEST_LINE + 1)], ["99.8" + " " * LONGEST_LINE],  # its end was lost
])
def test_what_cannot_be_read_for_sure_is_counted_and_shown_and_no_reading(lines):
    brought = read_lines(stamped(*lines), "mbar", "")
    assert brought.readings == () and brought.unread == 1
    assert lines[-1].startswith(brought.last_unread) and brought.last_unread


@pytest.mark.parametrize(("first", "other"), [
    ("99.8", "12.5,99.8"), ("12.5,99.8", "99.8"), ("12.5,99.8", "99.8 mbar"), ("12,5;99,8", "99,8"),
    ("12,5;99,8", "12.5,99.8"), ("time,pressure_mbar\n12.0,99.8", "12,5,99,8")])
def test_a_line_of_another_sort_than_those_before_is_torn_perhaps_and_no_reading(first, other):
    before = read_lines(stamped(*first.split("\n")), "mbar", "")
    assert len(before.readings) == 1
    assert read_lines(stamped(*first.split("\n"), other), "mbar", "").readings == before.readings
    after = read_lines(stamped(other), "mbar", before.head)  # in the next request too
    assert (after.readings, after.unread, after.head) == ((), 1, before.head)


def test_a_gauge_beyond_its_range_is_in_the_log_as_the_reader_of_logs_knows_it():
    brought = read_lines(stamped("99.8", "OL", "99.9"), "mbar", "")
    log = read_text("time,pressure_mbar,temperature_degC\n" + "".join(brought.readings), "log.csv")
    assert len(log) == 3 and list(log.doubtful) == [1]  # kept, and nothing rests on it
    assert log.times[2] - log.times[0] == pytest.approx(2.0)


@pytest.mark.parametrize(("text", "unit", "words"), [
    (stamped("99.8"), "furlong", "is no unit"), (stamped("99.8"), "", "is no unit"),
    (stamped("99.8"), "mbar,time", "is no unit"), ("99.8", "mbar", "is no time"),
    ("2030-05-14T11:30:00 99.8", "mbar", "is no time"),
    ("\n".join([stamped("99.8")] * (MOST_LINES + 1)), "mbar", f"at most {MOST_LINES}")])
def test_what_no_page_sends_is_refused(text, unit, words):
    with pytest.raises(StillboreError, match=words):
        read_lines(text, unit, "")


# The route

@pytest.fixture
def crew(tmp_path, halfway):
    made = halfway(tmp_path, "gauge", "D6")
    yield made
    made.host.store.close()


def sent(crew, *lines, unit="mbar", **more):
    return crew.pages.post(crew.at("P2", *PLACE, "gauge"),
                           {"act": "serial", "lines": stamped(*lines), "unit": unit, **more})


def draft(crew):
    return crew.host.documents.read(JOB, NAME)


def test_a_reading_of_the_instrument_stands_in_the_log_as_one_that_was_typed(crew):
    crew.send("P2", *PLACE, "gauge", act="reading", pressure="99.8", temperature="20.5")
    typed = draft(crew).splitlines()[-1]
    at = datetime.fromisoformat(typed.split(",")[0]).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    crew.send("P2", *PLACE, "gauge", act="undo")
    answer = crew.pages.post(crew.at("P2", *PLACE, "gauge"),
                             {"act": "serial", "lines": f"{at} 0.0;99,8;20,5", "unit": "mbar"})
    assert answer.status_code == 200 and draft(crew).splitlines()[1:] == [typed]
    assert "1 readings" in answer.text and "<html" not in answer.text


def test_lines_whose_answer_was_lost_are_not_taken_twice(crew):
    for _ in range(2):
        assert sent(crew, "99.8", "99.8", "99.7").status_code == 200
    assert len(draft(crew).splitlines()) == 4


def test_what_is_hostile_in_a_line_is_shown_as_it_is(crew):
    answer = sent(crew, HOSTILE, "99.8", HOSTILE, unread="3", head="")
    assert "Lines that could not be read: 5." in answer.text
    assert "<img" not in answer.text and "\u202e" not in answer.text and "&lt;img src=x" in answer.text
    again = sent(crew, "99.7", head='"><img src=x>', unread='7"><img src=x>')
    assert "<img" not in again.text and again.status_code == 200


def test_what_is_refused_is_said_and_nothing_of_it_is_written(crew):
    sent(crew, "99.8")
    before = draft(crew)
    for answer in (sent(crew, "99.8", unit="furlong"), sent(crew, *["99.8"] * (MOST_LINES + 1))):
        assert answer.status_code == 422 and "data-refused" in answer.text
    assert draft(crew) == before
    assert crew.pages.post(crew.at("P2", "step", "B6", "ask.pressure", "gauge"), {"act": "serial"}).status_code == 404


def test_a_log_that_was_brought_in_is_not_written_over(crew):
    crew.send("P2", *PLACE, "gauge", act="log", text="time,pressure_mbar\n0,99.8\n1,99.8")
    before = draft(crew)
    assert "has other columns" in sent(crew, "50").text and draft(crew) == before
    crew.send("P2", *PLACE, "gauge", act="begin")
    assert sent(crew, "50").status_code == 200 and len(draft(crew).splitlines()) == 2


def test_the_page_offers_the_units_that_the_route_knows(crew):
    page = crew.pages.get(crew.at("P2", *PLACE)).text
    offered = re.findall(r"<option>(.*?)</option>", re.search(r'data-cable="unit">(.*?)</select>', page, re.S)[1])
    assert {f"pressure_{unit.lower()}" for unit in offered} == set(PRESSURE_COLUMNS) and offered[0] == "mbar"
    for part in ("panel", "setup", "running"):  # nothing of it is seen where the browser cannot do it
        assert re.search(rf'data-cable="{part}"[^>]* hidden>', page), part
