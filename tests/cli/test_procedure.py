"""stillbore procedure and stillbore new --kind procedure, as processes."""

import json
import subprocess
import sys

import pytest

from stillbore.job.shipped import BUILDS, ROUTES, composed


def stillbore(*arguments, cwd=None):
    return subprocess.run([sys.executable, "-m", "stillbore", *map(str, arguments)], capture_output=True, text=True,
                          timeout=60, check=False, cwd=cwd)


@pytest.fixture
def mine(tmp_path):
    path = tmp_path / "mine.toml"
    done = stillbore("new", path, "--kind", "procedure", "--route", "cap and abandon", "--build", "single_branch")
    assert done.returncode == 0, done.stderr
    return path


def test_a_procedure_to_start_from_is_the_shipped_one_and_is_not_written_over(mine):
    assert mine.read_text(encoding="utf-8") == composed("single_branch", "cap and abandon")
    again = stillbore("new", mine, "--kind", "procedure", "--route", "cap and abandon", "--build", "two_branches")
    assert again.returncode == 2 and "exists" in again.stderr
    assert mine.read_text(encoding="utf-8") == composed("single_branch", "cap and abandon")


def test_without_route_and_build_none_is_written(tmp_path):
    done = stillbore("new", tmp_path / "mine.toml", "--kind", "procedure")
    assert done.returncode == 2
    assert all(name in done.stderr for name in (*ROUTES, *BUILDS))
    assert list(tmp_path.iterdir()) == []


def test_check_says_what_it_looked_at_and_judges_nothing(mine):
    done = stillbore("procedure", "check", mine)
    assert done.returncode == 0, done.stderr
    assert "no fault found in 71 steps, 18 hard holds" in done.stdout
    assert "single branch" in done.stdout and "for its owner to say" in done.stdout
    assert "approved" not in done.stdout and "safe" not in done.stdout


def test_check_prints_every_fault_with_its_line(mine):
    text = mine.read_text(encoding="utf-8")
    text = text.replace('limit = "bond.current_limit"', 'limit = "bond.no"').replace('rests_on = ["E17"]',
                                                                                    'rests_on = ["E19"]')
    mine.write_text(text, encoding="utf-8")
    done = stillbore("procedure", "check", mine)
    assert done.returncode == 2 and done.stdout == ""
    assert done.stderr.count("bond.no") == 3 and "E18 rests on E19, which comes later" in done.stderr
    assert done.stderr.count("mine.toml, line ") == done.stderr.count("\n") - 1


def test_check_with_the_wrong_kit_tells_so(mine):
    kit = mine.parent / "kit.toml"
    assert stillbore("new", kit, "--kind", "kit", "--example").returncode == 0
    done = stillbore("procedure", "check", mine, "--kit", kit)
    assert done.returncode == 2 and "branch valve" in done.stderr


def test_show_goes_card_by_card():
    done = stillbore("procedure", "show", "--route", "renew towards the house", "--build", "two_branches")
    assert done.returncode == 0, done.stderr
    for words in ("Arrive ---", "Give back ---", "HOLD 13", "gland valve", "WINDOW", "again E8", "opens stopper"):
        assert words in done.stdout, words


def test_show_as_json_has_every_step_with_its_questions_and_barriers(mine):
    data = json.loads(stillbore("procedure", "show", mine, "--json").stdout)
    assert len(data["steps"]) == 71 and data["name"].endswith("(invented)")
    cut = next(step for step in data["steps"] if step["id"] == "E14")
    assert cut["opens"] == ["pipe at the cut"] and cut["barriers"] == 1 and cut["way"] == ["stopper"]
    assert cut["windows"] == [{"end": "pipe at the cut", "held_by": ["stopper"]}]
    assert sum(len(step["asks"]) for step in data["steps"]) == mine.read_text(encoding="utf-8").count("[[ask]]")


def test_show_draws(mine):
    drawing = mine.parent / "mine.svg"
    done = stillbore("procedure", "show", mine, "--svg", drawing)
    assert done.returncode == 0 and str(drawing) in done.stdout
    assert drawing.read_text(encoding="utf-8").startswith("<svg") and "HOLD 18" in drawing.read_text(encoding="utf-8")


def test_show_prints_one_step_whole(mine):
    done = stillbore("procedure", "show", mine, "--step", "E19")
    for words in ("Hard hold:       15", "Two people sign", "E18", "pieces (count)", "the same as E5.pieces",
                  "no override", "opens stopper", "photo", "A piece is missing"):
        assert words in done.stdout, words
    lost = stillbore("procedure", "show", mine, "--step", "E99")
    assert lost.returncode == 2 and "E99" in lost.stderr and "E19" in lost.stderr
