"""The example job from the command line: secrets, replay, export, verification, and what goes wrong."""

import json
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import stillbore

EXAMPLES = Path(stillbore.__file__).parent / "examples"


def run(folder, *arguments, code=0):
    done = subprocess.run([sys.executable, "-m", "stillbore", *map(str, arguments)], capture_output=True, text=True,
                          cwd=folder, timeout=120)
    assert done.returncode == code, (done.returncode, done.stdout[-2000:], done.stderr)
    assert "Traceback" not in done.stderr
    return done.stdout + done.stderr


def make_keys(folder):
    for person in ("P1", "P2"):
        run(folder, "keys", "new", person, "--secret", f"keys/{person}.secret", "--words-file",
            EXAMPLES / "evidence" / f"{person}.words", "--list", "keys/keys.toml")
    run(folder, "keys", "device", "D1", "--list", "keys/keys.toml")


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """A folder in which the example job was done and exported."""
    folder = tmp_path_factory.mktemp("job")
    make_keys(folder)
    said = run(folder, "run", "replay", EXAMPLES / "job.run", "--set", "KEYS=keys", "--quiet")
    assert "2 were refused, as the file expects" in said
    run(folder, "record", "export", "record", "--geojson", "where.geojson", "--csv", "answers.csv")
    return folder


def test_the_example_job_ends_with_a_record_that_is_verified(job):
    said = run(job, "record", "verify", "record", "--keys", "keys/keys.toml")
    assert said.startswith("Verified")
    assert "does not show that what it says is true" in said
    assert "?" not in said.splitlines()[2]  # an ordinary job raises no question
    shown = run(job, "record", "show", "record")
    assert "REPLAYED FROM A FILE" in shown and "refused: E8 counts for 300 s" in shown
    assert all(f"H{hold} " in shown for hold in range(1, 19))
    assert json.loads((job / "where.geojson").read_text())["type"] == "FeatureCollection"
    assert (job / "answers.csv").read_bytes().count(b"\r\n") > 100


def test_verification_says_what_it_is_and_ends_with_a_code_of_its_own(job, tmp_path):
    assert "signer unknown" in run(job, "record", "verify", "record", code=4)
    assert "end open" in run(job, "record", "verify", "jobs.db", "--keys", "keys/keys.toml", code=4)
    shutil.copytree(job / "record", tmp_path / "record")
    file = tmp_path / "record" / "record.jsonl"
    whole = file.read_bytes()
    file.write_bytes(whole.replace(b'"number":"30.2"', b'"number":"20.2"', 1))
    assert "BROKEN. Line" in run(tmp_path, "record", "verify", "record", "--keys", job / "keys/keys.toml", code=5)
    file.write_bytes(b"".join(whole.splitlines(keepends=True)[:-1]))
    assert "end open" in run(tmp_path, "record", "verify", "record", "--keys", job / "keys/keys.toml", code=4)
    file.write_bytes(whole)
    kept = next((tmp_path / "record" / "files").iterdir())
    kept.write_bytes(kept.read_bytes() + b" ")
    assert "was changed" in run(tmp_path, "record", "verify", "record", "--keys", job / "keys/keys.toml", code=5)
    kept.unlink()
    assert "not at hand" in run(tmp_path, "record", "verify", "record", "--keys", job / "keys/keys.toml", code=5)
    data = json.loads(run(job, "record", "verify", "record", "--keys", "keys/keys.toml", "--json"))
    assert data["state"] == "verified" and data["broken_at"] == 0


def test_two_exports_of_one_job_hold_the_same(job):
    run(job, "record", "export", "again")
    assert "same" in run(job, "record", "compare", "record", "again")


def test_nothing_is_added_by_hand_to_a_replayed_job(job):
    assert "replayed from a file" in run(job, "run", "note", "x", "--by", "P1", code=2)


def test_a_job_by_hand(tmp_path):
    make_keys(tmp_path)
    run(tmp_path, "run", "start", EXAMPLES / "service.toml", "--keys", "keys/keys.toml", "--by", "P1")
    assert "already" in run(tmp_path, "run", "start", EXAMPLES / "service.toml", "--keys", "keys/keys.toml", code=2)
    shown = run(tmp_path, "run", "show")
    assert "BARRIERS 1" in shown and "Order, asset and premises belong together" in shown
    assert "met" in run(tmp_path, "run", "record", "A1", "match", "yes", "--by", "P2")
    assert "A1 done" in run(tmp_path, "run", "done", "A1", "--by", "P1")
    refused = run(tmp_path, "run", "done", "E14", "--by", "P1", code=3)
    assert "REFUSED" in refused and "Hold 13" in refused
    assert "not on this job" in run(tmp_path, "run", "done", "A3", "--by", "P9", code=2)
    assert "no step 'Z1'" in run(tmp_path, "run", "done", "Z1", "--by", "P1", code=2)
    wrong = tmp_path / "wrong.words"
    wrong.write_text("not the words")
    assert "does not open" in run(tmp_path, "run", "sign", "B6", "--secret", "keys/P1.secret", "--words-file", wrong,
                                  "--by", "P1", code=2)
    assert "STOPPED" in run(tmp_path, "run", "stop", "smell of gas")
    assert "Work is stopped" in run(tmp_path, "run", "done", "A3", "--by", "P1", code=3)
    assert "resume" not in run(tmp_path, "run", "abort", "leak in the street", "--by", "P1")
    state = json.loads(run(tmp_path, "run", "show", "--json"))
    assert (state["ended"], state["refused"], state["stopped"]) == ("aborted", 2, "smell of gas")


def test_no_job_and_no_store(tmp_path):
    assert "no job" in run(tmp_path, "run", "show", code=2)
    assert "cannot be read" in run(tmp_path, "record", "verify", "nowhere", code=2)


def test_a_script_is_wrong_by_its_line(tmp_path):
    make_keys(tmp_path)
    script = tmp_path / "x.run"
    script.write_text("at 2030-05-14T08:00:00Z\nsay 'hello\n")
    assert "line 2: A quote is not closed" in run(tmp_path, "run", "replay", script, code=2)
    script.write_text("at 2030-05-14T08:00:00Z\nstart $WHERE/service.toml\n")
    assert "$WHERE is not given" in run(tmp_path, "run", "replay", script, code=2)
    script.write_text("at 2030-05-14T08:00:00Z\ndance\n")
    assert "line 2" in run(tmp_path, "run", "replay", script, code=2)
    script.write_text("stop x\n")
    assert "Begin the file with: at" in run(tmp_path, "run", "replay", script, code=2)


def test_ctrl_c_in_the_middle_leaves_a_log_that_opens(tmp_path):
    make_keys(tmp_path)
    going = subprocess.Popen([sys.executable, "-m", "stillbore", "run", "replay", EXAMPLES / "job.run", "--set",
                              "KEYS=keys"], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    for line in going.stdout:
        if "done C3" in line:
            break
    time.sleep(0.05)
    going.send_signal(signal.SIGINT)
    _, said = going.communicate(timeout=60)
    assert going.returncode == 130 and "Traceback" not in said
    found = run(tmp_path, "record", "verify", "jobs.db", "--keys", "keys/keys.toml", code=4)
    assert "Intact, end open" in found
