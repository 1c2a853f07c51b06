"""Dirty logs, as files: each fault is found and said with its line, nothing silently repaired, nothing a traceback."""

import contextlib
import csv
import random

import pytest

from stillbore.errors import InputFaults
from stillbore.gauge.feed import Feed
from stillbore.gauge.readings import decode, read_log, read_text
from stillbore.gauge.samples import Doubts

HEADER = "time,pressure_mbar\n"
GOOD = HEADER + "0,100.1\n1,100.0\n2,99.9\n3,100.0\n"
MINUTE = HEADER + "".join(f"{second},99.{second % 3}\n" for second in range(60))  # ends on line 61


def told(text, *words):
    """The log of a text in which one finding has all these words."""
    log = read_text(text, "log.csv")
    assert any(all(word in finding for word in words) for finding in log.findings), log.findings
    return log


def test_a_clean_log_has_nothing_to_say():
    log = read_text(GOOD, "log.csv")
    assert log.findings == [] and not log.doubtful
    assert list(log.pressures) == pytest.approx([10010, 10000, 9990, 10000])


def test_all_columns_in_si():
    log = read_text("time,pressure_kPa,temperature_degC,barometer_mbar,note\n"
                    "10,10,15.0,1013,pumped\n12.5,9.99,,1013.1,\n", "log.csv")
    assert list(log.samples()) == [(0.0, 10_000.0, pytest.approx(288.15), 101_300.0),
                                   (2.5, pytest.approx(9_990.0), None, pytest.approx(101_310.0))]
    assert log.notes == {0: "pumped"}


def test_a_note_is_kept_where_it_begins():
    log = read_text("time,pressure_mbar,note\n0,1,vent open\n1,1,vent open\n2,1,\n3,1,vent open\n", "log.csv")
    assert log.notes == {0: "vent open", 3: "vent open"}


@pytest.mark.parametrize("spoil", ["", "# 7\n", "\n", "1e400,1\n", "x,1\n", '"{time}","99.5"\n'])
def test_what_is_read_a_column_at_a_time_is_what_the_csv_module_and_float_read(spoil):
    """20,000 rows, with dirt between them now and then; the reference is csv.reader and float, row by row."""
    draw = random.Random(11)
    rows = [(f"{number * 0.2:.1f}", f"{draw.uniform(-5, 150):.2f}") for number in range(20_000)]
    text, plain = [HEADER], []
    for number, row in enumerate(rows):
        text.append(",".join(row) + "\n")
        plain.append(row)
        if spoil and number % 700 == 500:
            text.append(spoil.format(time=number * 0.2 + 0.1))
            if "{time}" in spoil:
                plain += csv.reader([text[-1]])
    log = read_text("".join(text), "log.csv", full_scale=20_000.0)
    assert list(log.times) == [float(time) for time, _ in plain]
    assert list(log.pressures) == [float(pressure) * 100.0 for _, pressure in plain]


@pytest.mark.parametrize("dirt", [
    "7000\n7001,7002,5\n", "7000,1,7001,7002,5\n", "7000,1\n7001,7002,5,x\n", "7000,,1\n"])
@pytest.mark.parametrize("header", ["time,pressure_mbar\n", "time,pressure_mbar,note\n"])
def test_cells_never_move_from_line_to_line(dirt, header):
    """Lines that are too short and too long have, beside each other, as many cells as whole ones."""
    end = ",\n" if "note" in header else "\n"
    rows = [f"{second},99.{second % 3}{end}" for second in range(9_000)]
    log = read_text(header + "".join([*rows[:7_000], dirt, *rows[7_003:]]), "log.csv")
    assert 7_002.0 not in log.times and "\n" not in log.notes.values()
    assert set(log.pressures) <= {float(f"99.{digit}") * 100.0 for digit in range(3)} | {100.0, 700_200.0}


@pytest.mark.parametrize("skipped", ["# a\n", "\n", "x,1\n", "# a\n# b\n"])
def test_a_finding_names_the_line_it_stands_on(skipped):
    """However many lines were passed over before it; counted here by the text itself."""
    draw = random.Random(4)
    lines = ["time,pressure_mbar"]
    for second in range(12_000):
        if draw.random() < 0.001:
            lines += skipped.splitlines()
        lines.append(f"{second},{66.6 if second in (5_000, 11_000) else 30.0}")
    text = "\n".join(lines) + "\n"
    log = read_text(text, "log.csv")
    spikes = [number for number, line in enumerate(lines, 1) if line.endswith("66.6")]
    assert [log.places.line(index) for index in log.doubtful] == spikes
    assert any(finding.startswith(f"Line {spikes[0]}: 2 readings") for finding in log.findings)


def test_doubts_are_a_dictionary_that_keeps_the_first_reason():
    draw, doubts, model = random.Random(2), Doubts(), {}
    for _ in range(2_000):
        first, reason = draw.randrange(300), draw.choice(["clock", "unit", "spike"])
        match draw.randrange(4):
            case 0:
                end = first + draw.randrange(40)
                doubts.mark(first, end, reason)
                for index in range(first, end):
                    model.setdefault(index, reason)
            case 1:
                doubts[first] = model[first] = reason
            case 2:
                assert doubts.setdefault(first, reason) == model.setdefault(first, reason)
            case 3:
                assert doubts.pop(first, None) == model.pop(first, None)
        assert len(doubts) == len(model)
    assert doubts == model and list(doubts) == sorted(model)
    for index in range(-5, 400):
        assert doubts.get(index) == model.get(index) and (index in doubts) == (index in model)


# How numbers and columns are written.


@pytest.mark.parametrize(("separator", "name"), [(";", "semicolons"), ("\t", "tabs")])
@pytest.mark.parametrize("count", [3, 5_000])
def test_other_separators_with_decimal_commas(separator, name, count):
    rows = [f"{number},5{separator}99,{number % 10}\n" for number in range(count)]
    log = told(f"time{separator}pressure_mbar\n{''.join(rows)}", "separated by", name)
    assert f"Line 2 and {2 * count - 1} more: a decimal comma, read as a point." in log.findings
    assert list(log.times) == list(range(count))
    assert log.pressures[2] == pytest.approx(9920.0)


def test_decimal_commas_between_commas_cannot_be_told_from_columns():
    log = told(HEADER + "0,100.0\n1,100,1\n2,99.9\n", "Line 3", "more columns", "semicolons")
    assert len(log) == 2


def test_quoted_cells():
    log = read_text('"time","pressure_mbar","note"\n"0","100.1","a, b"\n"1","100,0",""\n', "log.csv")
    assert list(log.pressures) == pytest.approx([10_010.0, 10_000.0]) and log.notes == {0: "a, b"}
    told(HEADER + '0,100\n"1,100\n2,100\n', "Line 3", "no pressure")  # a lost quotation mark costs one line


def test_a_loggers_own_lines_comments_empty_lines_and_a_second_header():
    log = told("Logger 7\nsep=;\n# calibrated\n\ntime;pressure_mbar\n"
               "0;1.0\n# hand\n\n;\n1;1.1\ntime;pressure_mbar\n2;1.0\n", "named on line 5")
    assert list(log.times) == [0.0, 1.0, 2.0]
    assert "Line 7: a comment, passed over." in log.findings
    assert "Line 8 and 1 more: an empty line, passed over." in log.findings
    assert "Line 11: the header again (two logs in one file?), passed over." in log.findings


def test_dropouts_words_and_numbers_that_cannot_be():
    words = ["", "ERR", "nan", "inf", "1e400", "1_0", "---", "-OL", "1e300"]
    log = told(HEADER + "0,100\n" + "".join(f"{second},{word}\n" for second, word in enumerate(words, 1)) + "10,99.9\n",
               "Line 3 and 8 more: no pressure")
    assert list(log.times) == [0.0, 10.0]


def test_a_thermometer_and_a_barometer_that_cannot_be_right_are_left_out():
    log = read_text("time,pressure_mbar,temperature_degC,barometer_mbar\n"
                    "0,1,15,1013\n1,1,999,101.3\n2,1,x,\n", "log.csv")
    assert [sample[2:] for sample in log.samples()][1:] == [(None, None), (None, None)]
    assert "Line 3 and 1 more: a temperature that is no number or cannot be, left out." in log.findings
    assert "Line 3: a barometer that is no number or cannot be, left out." in log.findings


# How times are written.


def test_times_by_rfc_3339():
    """RFC 3339, section 5.8: 1996-12-19T16:39:57-08:00 is the instant 1996-12-20T00:39:57Z."""
    log = read_text(HEADER + "1996-12-19T16:39:57-08:00,100\n1996-12-20T00:39:57.5Z,99.9\n1996-12-20T00:39:59z,99.9\n"
                    "1996-12-20T00:40:00,99.9\n63,99.9\n", "log.csv")
    assert list(log.times) == [0.0, 0.5, 2.0]
    assert any("Line 5 and 1 more: no time that is written as the first" in finding for finding in log.findings)


def test_dates_without_a_zone_do_not_hang_on_the_clock_of_the_machine(monkeypatch):
    """On the last Sunday in March 2030 clocks in Europe go from 02:00 to 03:00; a log has no such clock."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    log = read_text(HEADER + "2030-03-31T01:59:59,100\n2030-03-31 03:00:00,99\n", "log.csv")
    assert list(log.times) == [0.0, 3601.0]


@pytest.mark.parametrize("count", [4, 6_000])
def test_a_time_of_day_runs_on_over_midnight(count):
    begin = 86_400 - count // 2
    rows = [f"{second // 3600 % 24}:{second // 60 % 60:02d}:{second % 60:02d},100.{second % 3}\n"
            for second in range(begin, begin + count)]
    log = read_text(HEADER + "".join(rows), "log.csv")
    assert list(log.times) == list(range(count))
    assert log.findings == ["The times are times of day: over midnight they were counted on. Write the date as well."]


@pytest.mark.parametrize("text", ["24:00:00", "1:60:00", "1:2", "noon", "1985-13-01T00:00:00Z", "1e13", "-1e400"])
def test_what_is_no_time(text):
    log = told(f"{HEADER}{text},99\n10,100\n11,100\n", "Line 2: no time", "seconds, RFC 3339, or HH:MM:SS")
    assert list(log.times) == [0.0, 1.0]


# Bytes.


@pytest.mark.parametrize(("encoding", "said"), [
    ("utf-8-sig", None), ("utf-16", "The file is utf-16, not UTF-8; it was read as that."),
    ("utf-16-le", "The file is utf-16-le, not UTF-8; it was read as that."),
    ("utf-16-be", "The file is utf-16-be, not UTF-8; it was read as that."),
    ("latin-1", "Line 2: it is not UTF-8; it was read as Latin-1. Save logs as UTF-8.")])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_ends_of_lines(tmp_path, encoding, said, end):
    path = tmp_path / "log.csv"
    text = "time,pressure_mbar,note\n0,100,räumt\n1,100.1,\n".replace("\n", end)
    path.write_bytes(text.encode(encoding))
    log = read_log(path)
    assert list(log.times) == [0.0, 1.0] and log.notes == {0: "räumt"}
    assert log.findings == ([said] if said else [])
    assert decode(path.read_bytes())[0] == text


@pytest.mark.parametrize("cut", ["60,9", "60", "60,99.0"])
def test_a_file_cut_in_the_middle_of_a_line(cut, tmp_path):
    path = tmp_path / "cut.csv"
    path.write_bytes((MINUTE + cut).encode())
    log = read_log(path)
    assert ("Line 62, the last, has no end: the file may have been cut there. A reading on it is doubtful."
            in log.findings)
    assert log.doubtful == ({60: "cut line"} if "," in cut else {})


def test_power_lost_while_writing():
    log = told(MINUTE + "60,\0\0" + "99.0\n" + "\0" * 50 + "\n61,99.1\n", "Line 62 and 1 more: empty bytes")
    assert list(log.times) == list(range(62))


# What cannot be read, and what is meant to do harm.


@pytest.mark.parametrize(("text", "place", "words"), [
    ("", "", "empty"), ("\n", "", "empty"), ("\0" * 100_000, "line 1", "longer than 10,000"),
    (HEADER, "", "one line for each reading"), (HEADER + "0,x\n", "line 2", "No pressure"),
    (HEADER + "0,OL\n", "line 2", "beyond the end of its range"), ("0,100\n1,100\n", "line 1", "time,pressure_mbar"),
    ("time,pressure_psj\n0,1\n", "line 1", "Did you mean pressure_p"),
    ("time,pressure_mbar,presure_kpa\n0,1,1\n", "line 1", "Did you mean pressure_kpa"),
    ("time,pressure_mbar,pressure_kPa\n0,1,1\n", "line 1", "2 columns of pressure"),
    ("time,time,pressure_mbar\n0,0,1\n", "line 1", "named twice"),
    ("time" + ",a" * 1_000_000, "line 1", "longer than")])
def test_what_cannot_be_read_says_where_and_what_to_write(text, place, words):
    with pytest.raises(InputFaults) as caught:
        read_text(text, "log.csv")
    assert any(place in fault.place and words in f"{fault.what} {fault.fix}" for fault in caught.value.faults)


@pytest.mark.parametrize("line", ["9" * 3_000_000, "60" + ",1" * 1_000_000, "\0" * 200_000])
@pytest.mark.parametrize("after", ["\n61,99.0\n", ""])
def test_a_line_without_end_is_passed_over_and_not_held(line, after):
    log = told(MINUTE + line + after, "Line 62: it is longer than 10,000 characters", "left out")
    assert len(log) == (61 if after else 60)


def test_a_folder_and_a_file_that_is_not_there(tmp_path):
    for path in (tmp_path, tmp_path / "none.csv", tmp_path / "no\0path"):
        with pytest.raises(InputFaults, match="cannot be read"):
            read_log(path)


def test_random_bytes_and_random_cells_never_give_a_traceback(tmp_path):
    draw = random.Random(5)
    cells = ["", "0", "1", "-1", "1e12", "9e11", "-9e11", "nan", "OL", "1e308", '"', "10", "100.0", "-999", "9999", "#"]
    for number in range(400):
        path = tmp_path / f"{number}.csv"
        rows = "".join(f"{draw.choice(cells)},{draw.choice(cells)}\n" for _ in range(draw.randrange(60)))
        body = rows.encode() if number % 4 > 1 else bytes(draw.randrange(256) for _ in range(draw.randrange(400)))
        path.write_bytes((HEADER.encode() if number % 2 else b"") + body)
        with contextlib.suppress(InputFaults):
            log = read_log(path, draw.choice([None, 16_000.0]))
            assert list(log.times) == sorted(set(log.times))
            assert all(0 <= index < len(log) for index in log.doubtful)


@pytest.mark.parametrize("column,shown,pascal", [
    ("pressure_psi", 0.5, 0.5 * 0.45359237 * 9.80665 / 0.0254**2),  # NIST SP 811, B.8: pound-force per square inch
    ("pressure_inH2O", 12.0, 12.0 * 0.0254 * 1000.0 * 9.80665)])  # the same: conventional inch of water
def test_a_column_in_psi_or_inches_of_water_column(column, shown, pascal):
    log = read_text(f"time,{column}\n0,{shown}\n1,{shown}\n", "inches.csv")
    assert list(log.pressures) == pytest.approx([pascal, pascal], rel=1e-7)
    assert Feed(0.0).take(f"time,{column}", 0.0) is None
