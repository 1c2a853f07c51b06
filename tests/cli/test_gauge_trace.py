"""gauge read and gauge watch as a user runs them: files, pipes, a growing file, a serial line, wrong input."""

import json
import os
import signal
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from stillbore.practice.glitches import write_csv
from stillbore.practice.jobs import random_job, with_notes

SURVEY = str(Path(__file__).parents[2] / "src/stillbore/examples/service.toml")


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    path = tmp_path_factory.mktemp("logs") / "job.csv"
    write_csv(with_notes(random_job(4000, 1.0, fault="", district_mbar=30.3), "vent shut"), path)
    return path


def run(*arguments, **options):
    return subprocess.run([sys.executable, "-m", "stillbore", *map(str, arguments)], stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, timeout=60, **options)


def test_read_gives_segments_verdicts_and_documents(log, tmp_path):
    made = [tmp_path / name for name in ("chart.svg", "report.html", "report.pdf")]
    found = run("gauge", "read", log, "--job", SURVEY, "--vent", "none", "--chart", made[0], "--html", made[1], "--pdf",
                made[2])
    assert found.returncode == 0, found.stdout
    assert "AS EXPECTED" in found.stdout and "watch for let-by" in found.stdout
    assert made[0].read_text().startswith("<svg") and b"<html" in made[1].read_bytes()
    assert made[2].read_bytes().startswith(b"%PDF")


def test_read_as_json_has_the_shape_that_was_promised(log):
    found = run("gauge", "read", log, "--job", SURVEY, "--vent", "none", "--json")
    data = json.loads(found.stdout)
    assert data["file"] == str(log)
    assert {"label", "start_s", "end_s", "seen"} == set(data["segments"][0])
    assert [one["kind"] for one in data["break_throughs"]] == ["as expected"]
    assert data["holds"][0]["limit_m3_per_h"] > 0 and isinstance(data["findings"], list)


def test_read_says_every_fault_of_its_options_at_once(log):
    found = run("gauge", "read", log, "--volume", "half a litre", "--band", "30 mbar", "--maximum", "75")
    assert found.returncode != 0
    for word in ("--volume", "--band", "--maximum"):
        assert word in found.stdout


def test_watch_reads_standard_input_and_a_word_about_the_vent(log):
    lines = []
    for line in log.read_text().splitlines()[1:]:
        lines.append(",".join(line.split(",")[:2]))
        if line.endswith("vent shut"):
            lines.append("vent shut")
    found = run("gauge", "watch", "--job", SURVEY, "--vent", "none", input="\n".join(lines) + "\n")
    assert found.returncode == 0, found.stdout
    assert "BREAK-THROUGH" in found.stdout and "Let-by:" in found.stdout
    assert "ABOVE MAXIMUM" not in found.stdout


def test_watch_follows_a_growing_file(log, tmp_path):
    growing = tmp_path / "growing.csv"
    growing.write_text("")
    lines = log.read_text().splitlines(keepends=True)
    process = subprocess.Popen([sys.executable, "-m", "stillbore", "gauge", "watch", "--job", SURVEY, "--file",
                                str(growing), "--until-quiet", "3", "--json"], stdout=subprocess.PIPE, text=True)
    with growing.open("a") as file:
        for first in range(0, len(lines), 50):
            text = "".join(lines[first:first + 50])
            file.write(text[:-3])  # a line is cut in the middle, and goes on later
            file.flush()
            time.sleep(0.02)
            file.write(text[-3:])
            file.flush()
    said = [json.loads(line) for line in process.communicate(timeout=60)[0].splitlines()]
    assert any("BREAK-THROUGH" in one["words"] for one in said)


def test_watch_reads_a_serial_line(log):
    """A pseudo terminal stands for the gauge: the same driver calls, without a cable."""
    gauge, port = os.openpty()
    process = subprocess.Popen([sys.executable, "-m", "stillbore", "gauge", "watch", "--job", SURVEY, "--port",
                                os.ttyname(port), "--until-quiet", "3"], stdout=subprocess.PIPE, text=True)
    until = time.monotonic() + 60.0  # the program is ready when it has made the line raw, however busy the machine is
    while termios.tcgetattr(port)[3] & termios.ICANON and time.monotonic() < until:
        time.sleep(0.05)
    for line in log.read_text().splitlines()[1:]:
        os.write(gauge, (",".join(line.split(",")[:2]) + "\r\n").encode())
    output = process.communicate(timeout=60)[0]
    os.close(gauge)
    os.close(port)
    assert "BREAK-THROUGH" in output


def test_ctrl_c_ends_a_watch_with_what_is_open(tmp_path):
    growing = tmp_path / "growing.csv"
    growing.write_text("time,pressure_mbar\n" + "".join(f"{second},100.0\n" for second in range(12)))
    process = subprocess.Popen([sys.executable, "-m", "stillbore", "gauge", "watch", "--job", SURVEY, "--file",
                                str(growing)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert "hold" in process.stdout.readline()
    process.send_signal(signal.SIGINT)
    output, errors = process.communicate(timeout=30)
    assert process.returncode == 0
    assert "not proven" in output and "Traceback" not in errors


def test_a_port_that_is_not_there_is_said():
    found = run("gauge", "watch", "--port", "/dev/no-such-port")
    assert found.returncode != 0 and "cannot be read" in found.stdout


def test_let_by_is_not_met_on_a_gauge_that_stands_at_the_end_of_its_range(tmp_path):
    """A gauge of 10 mbar that reads 9.9 for eight minutes is flat because it can go no further."""
    log = tmp_path / "watch.csv"
    log.write_text("time,pressure_mbar\n" + "".join(f"{second},9.9\n" for second in range(480)), encoding="utf-8")
    words = ["gauge", "letby", str(log), "--volume", "6 l", "--district", "30 mbar", "--limit", "0.1 l/h", "--margin",
             "5 mbar", "--vent", "none", "--json"]
    verdicts = [json.loads(run(*words, *more).stdout)["verdict"] for more in ([], ["--range", "10 mbar"])]
    assert verdicts == ["met", "not met"]
