"""What commands print with --json is what docs/schemas/ says; the judge is jsonschema, an independent implementation.

Each command is called as a user calls it, and every key of what it prints is taken away once: the schema must notice.
"""

import copy
import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from stillbore.cli import program
from stillbore.cli.json_schema import PRINTED, schema, text_of, write
from stillbore.practice.glitches import write_csv
from stillbore.practice.jobs import random_job, with_notes

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "src" / "stillbore" / "examples"
SURVEY, KIT = str(EXAMPLES / "service.toml"), str(EXAMPLES / "kit_two_branches.toml")
TIGHT = "time,pressure_mbar\n" + "".join(f"{second},{100.0 - second * 0.00001:.3f}\n" for second in range(0, 400))


@pytest.fixture(scope="module")
def logs(tmp_path_factory):
    folder = tmp_path_factory.mktemp("logs")
    (folder / "hold.csv").write_text(TIGHT)
    write_csv(with_notes(random_job(4000, 1.0, fault="", district_mbar=30.3), "vent shut"), folder / "job.csv")
    return folder


def printed(*arguments, given=None):
    done = CliRunner().invoke(program, [*map(str, arguments), "--json"], input=given, standalone_mode=False)
    assert done.exception is None or isinstance(done.exception, SystemExit), (done.output, done.exception)
    return done.stdout


def command(folder, *arguments):
    done = subprocess.run([sys.executable, "-m", "stillbore", *map(str, arguments)], capture_output=True, text=True,
                          cwd=folder, timeout=120)
    assert done.returncode == 0, done.stderr
    return done.stdout


def calls(logs):
    limit = ("--volume", "0.5 l", "--limit", "1e-4 m3/h", "--resolution", "0.1 mbar", "--drift", "shade")
    return {
        "gauge_hold": [("gauge", "hold", logs / "hold.csv", *limit)],
        "gauge_letby": [("gauge", "letby", logs / "hold.csv", "--volume", "6 l", "--district", "30 mbar", "--rules",
                         EXAMPLES / "rules.toml")],
        "gauge_read": [("gauge", "read", logs / "job.csv", "--job", SURVEY, "--vent", "none")],
        "locate": [("locate", KIT)],
        "procedure_show": [("procedure", "show")],
        "explain": [("explain", SURVEY, "travel.feed_target")],
        "calc": [("calc",), ("calc", "tube.bore"), ("calc", "tube.bore", "outside_diameter=33.7 mm", "wall=3.2 mm")],
        "tables": [("tables",), ("tables", "flammability")],
        "published": [("published", "tube.bore")],
    }


def agrees(name, data):
    """The data validates, and no longer does with any one key of its outermost object gone or strange."""
    judge = jsonschema.Draft202012Validator(schema(name))
    judge.validate(data)
    if isinstance(data, dict) and name != "calc":
        for key in data:
            less = copy.deepcopy(data)
            del less[key]
            assert not judge.is_valid(less), key
        assert not judge.is_valid(data | {"strange": 1})
    assert not judge.is_valid("a word")


@pytest.mark.parametrize("name", sorted(set(PRINTED) - {"gauge_watch", "run_show"}))
def test_what_is_printed_validates(name, logs):
    for call in calls(logs)[name]:
        agrees(name, json.loads(printed(*call)))


def test_what_watch_says_validates(logs):
    said = printed("gauge", "watch", "--job", SURVEY, given=(logs / "job.csv").read_text()).splitlines()
    assert said
    for line in said:
        agrees("gauge_watch", json.loads(line))


def test_the_state_of_a_job_validates(tmp_path):
    for person in ("P1", "P2"):
        command(tmp_path, "keys", "new", person, "--secret", f"keys/{person}.secret", "--words-file",
                EXAMPLES / "evidence" / f"{person}.words", "--list", "keys/keys.toml")
    command(tmp_path, "keys", "device", "D1", "--list", "keys/keys.toml")
    command(tmp_path, "run", "start", SURVEY, "--keys", "keys/keys.toml", "--by", "P1")
    command(tmp_path, "run", "record", "A1", "match", "yes", "--by", "P2")
    command(tmp_path, "run", "done", "A1", "--by", "P1")
    data = json.loads(command(tmp_path, "run", "show", "--json"))
    assert data["done"] and data["answers"]
    agrees("run_show", data)


def test_the_committed_schemas_are_those_of_the_program(tmp_path):
    made = {path.name: path.read_text() for path in write(tmp_path)}
    assert made == {path.name: path.read_text() for path in (ROOT / "docs" / "schemas").iterdir()}
    for name in PRINTED:
        jsonschema.Draft202012Validator.check_schema(schema(name))
        assert made[f"{name}.schema.json"] == text_of(name)
