"""Dirty logs: each fault is found and said, nothing is silently repaired, and nothing is a traceback."""

import contextlib
import random

import pytest

from stillbore.errors import InputFaults
from stillbore.gauge.readings import read_log, read_text

GOOD = "time,pressure_mbar\n0,100.1\n1,100.0\n2,99.9\n3,100.0\n"


def told(text, *words):
    log = read_text(text, "log.csv")
    assert any(all(word in finding for word in words) for finding in log.findings), log.findings
    return log


def test_a_clean_log_has_nothing_to_say():
    log = read_text(GOOD, "log.csv")
    assert log.findings == []
    assert list(log.pressures) == pytest.approx([10010, 10000, 9990, 10000])


def test_rfc_3339_times_and_all_columns():
    log = read_text("time,pressure_mbar,temperature_degC,barometer_mbar,note\n"
                    "2030-05-14T09:00:00Z,100,15.0,1013,pumped\n2030-05-14T09:00:02.5Z,99.9,15.1,1013.1,\n", "log.csv")
    assert list(log.times) == [0.0, 2.5]
    assert log.temperatures[1] == pytest.approx(288.25)
    assert log.barometers[0] == pytest.approx(101300.0)
    assert log.notes == {0: "pumped"}


def test_decimal_commas():
    log = told("time;pressure_mbar\n0;100,1\n1;99,9\n", "decimal comma")
    assert log.pressures[0] == pytest.approx(10010.0)
    log = told("time,pressure_mbar\n0,100.0\n1,100,1\n2,99.9\n", "Line 3", "more columns")
    assert len(log) == 2


@pytest.mark.parametrize("bad", ["0,100\n2,100\n1,100\n3,100\n", "0,100\n1,100\n1,101\n2,100\n"])
def test_backward_and_standing_times(bad):
    log = told("time,pressure_mbar\n" + bad, "a time that")
    assert list(log.times) == sorted(set(log.times))


def test_gaps_and_clock_jumps():
    rows = "".join(f"{second},100.{second % 3}\n" for second in range(50))
    told("time,pressure_mbar\n" + rows + "90,100\n91,100.1\n", "gap", "nothing was read")
    told("time,pressure_mbar\n" + rows + "7300,100\n7301,100.1\n", "clock jumped")


def test_dropouts_words_and_hostile_numbers():
    text = "time,pressure_mbar\n0,100\n1,\n2,ERR\n3,nan\n4,1e999\n5,99.9\n"
    log = told(text, "no pressure")
    assert len(log) == 2


def test_an_unplugged_probe():
    log = told("time,pressure_mbar\n" + "".join(f"{n},{99.9 if n < 20 else -999}\n" for n in range(60)), "unplugged")
    assert set(log.doubtful.values()) == {"unplugged"}


def test_a_line_cut_in_the_middle(tmp_path):
    path = tmp_path / "cut.csv"
    path.write_bytes(GOOD.encode() + b"4,9")
    log = read_log(path)
    assert any("cut" in finding for finding in log.findings)
    assert log.doubtful == {4: "cut line"}


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "latin-1"])
def test_other_encodings(tmp_path, encoding):
    path = tmp_path / "log.csv"
    path.write_bytes("time,pressure_mbar,note\n0,100,räumt\n1,100.1,\n".encode(encoding))
    log = read_log(path)
    assert list(log.times) == [0.0, 1.0]
    assert log.notes[0] == "räumt"


@pytest.mark.parametrize("text", ["", "\n", "time,pressure_mbar\n", "0,100\n1,100\n", "time,pressure_psi\n0,1\n",
                                  "time,pressure_mbar,pressure_kPa\n0,1,1\n"])
def test_what_cannot_be_read_says_what_to_write(text):
    with pytest.raises(InputFaults, match="time,pressure_mbar|one line for each reading|columns"):
        read_text(text, "log.csv")


def test_a_folder_and_a_file_that_is_not_there(tmp_path):
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(InputFaults, match="cannot be read"):
            read_log(path)


def test_random_bytes_never_give_a_traceback(tmp_path):
    draw = random.Random(5)
    for number in range(200):
        path = tmp_path / f"{number}.csv"
        start = b"time,pressure_mbar\n" if number % 2 else b""
        path.write_bytes(start + bytes(draw.randrange(256) for _ in range(draw.randrange(400))))
        with contextlib.suppress(InputFaults):
            read_log(path)
