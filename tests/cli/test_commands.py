"""The commands as a user meets them: a process, its output, its exit code, and what it leaves on disk."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from stillbore.cli import COMMANDS

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "src/stillbore/examples/service.toml"


def stillbore(*arguments, **options):
    return subprocess.run([sys.executable, "-m", "stillbore", *map(str, arguments)], capture_output=True, text=True,
                          timeout=60, **options)


def test_help_lists_every_command():
    text = stillbore("--help").stdout
    assert all(command in text for command in COMMANDS)


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_help_and_a_place_in_the_manual(command):
    assert stillbore(command, "--help").returncode == 0
    assert f"\n## stillbore {command}\n" in (ROOT / "docs/manual.md").read_text(encoding="utf-8")


def test_the_manual_has_no_command_that_does_not_exist():
    lines = (ROOT / "docs/manual.md").read_text(encoding="utf-8").splitlines()
    named = {line.removeprefix("## stillbore ") for line in lines if line.startswith("## stillbore ")}
    assert named == set(COMMANDS)


def test_calc_gives_json_in_si():
    done = stillbore("calc", "saw.full_hole_depth", "outside_diameter=33.7 mm", "wall=3.2 mm", "saw_diameter=24 mm",
                     "off_centre=0 mm", "--json")
    data = json.loads(done.stdout)
    # R - sqrt(r^2 - a^2) with R 16.85, r 13.65, a 12 (mm), by hand
    assert data["value"] == pytest.approx(0.01685 - (0.01365**2 - 0.012**2) ** 0.5, rel=1e-12)
    assert data["unit"] == "m"
    assert "GEOM-SAW" in data["source"]


def test_calc_names_every_fault_of_its_arguments_at_once():
    done = stillbore("calc", "saw.full_hole_depth", "outside_diametr=33,7 mm", "wall=3.2")
    assert done.returncode == 2
    for words in ("outside_diameter?", "has no unit", "saw_diameter", "off_centre"):
        assert words in done.stderr


def test_calc_says_why_a_number_does_not_exist():
    done = stillbore("calc", "saw.full_hole_depth", "outside_diameter=33.7 mm", "wall=5 mm", "saw_diameter=24 mm",
                     "off_centre=0.5 mm")
    assert done.returncode == 2
    assert "never makes a full hole" in done.stderr


def test_calc_tells_gauge_from_absolute():
    done = stillbore("calc", "orifice.throat_pressure", "pressure_up=30 mbar", "heat_ratio=1.3")
    assert done.returncode == 2
    assert "gauge" in done.stderr and "absolute" in done.stderr


def test_calc_takes_a_composition():
    data = json.loads(stillbore("calc", "gas.molar_mass", "fractions=CH4 1.0", "--json").stdout)
    assert data["value"] == pytest.approx(0.01604246)  # ISO 6976:2016 table 1, methane


def test_plan_as_json_and_as_a_table():
    data = json.loads(stillbore("plan", EXAMPLE, "--json").stdout)
    assert data["format"] == "stillbore plan 1"
    assert data["result"] == "applies"
    table = stillbore("plan", EXAMPLE).stdout
    assert "THE METHOD APPLIES" in table
    assert "travel.feed_target" in table
    assert "invented" in table


def test_faults_of_all_files_at_once_exit_2_and_nothing_written(tmp_path):
    survey = tmp_path / "survey.toml"
    survey.write_text(EXAMPLE.read_text(encoding="utf-8").replace('"21 mbar"', '"36..21 mbar"')
                      .replace('feeds = "one side"', 'feeds = "one"'), encoding="utf-8")
    rules = tmp_path / "rules.toml"
    rules.write_text((EXAMPLE.parent / "rules.toml").read_text(encoding="utf-8").replace("least_wall", "least_wal"),
                     encoding="utf-8")
    page = tmp_path / "out" / "pack.html"
    done = stillbore("plan", survey, "--rules", rules, "--html", page)
    assert done.returncode == 2
    for words in ("runs backwards", "'one'", "least_wal", "survey.toml, line", "rules.toml, line"):
        assert words in done.stderr
    assert not page.parent.exists()
    assert "Traceback" not in done.stderr


def test_a_file_that_is_not_there(tmp_path):
    done = stillbore("plan", tmp_path / "none.toml")
    assert done.returncode == 2
    assert "cannot be read" in done.stderr and "stillbore new" in done.stderr


def test_new_writes_a_file_that_names_all_that_is_missing_and_leaves_an_old_one_alone(tmp_path):
    path = tmp_path / "survey.toml"
    assert stillbore("new", path).returncode == 0
    done = stillbore("plan", path)
    assert done.returncode == 2
    assert "outside_diameter" in done.stderr and "feeds" in done.stderr
    path.write_text("mine", encoding="utf-8")
    assert stillbore("new", path).returncode == 2
    assert path.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("kind", ["survey", "kit", "rules"])
def test_new_can_write_the_example(tmp_path, kind):
    path = tmp_path / f"{kind}.toml"
    assert stillbore("new", path, "--kind", kind, "--example").returncode == 0
    assert "INVENTED" in path.read_text(encoding="utf-8")


def test_explain_goes_down_to_the_survey():
    text = stillbore("explain", EXAMPLE, "travel.measured.full").stdout
    assert "pipe.wall = " in text and "measured by P2" in text and "service.toml, line" in text
    assert "% narrower" in text


def test_explain_a_number_that_is_not_there():
    done = stillbore("explain", EXAMPLE, "travel.feed_targt")
    assert done.returncode == 2
    assert "travel.feed_target" in done.stderr


def test_published_agrees_and_says_what_has_no_case():
    done = stillbore("published")
    assert done.returncode == 0
    assert "DISAGREES" not in done.stdout
    assert "Definitions, with property tests only" in done.stdout


def test_tables_print_source_and_status():
    text = stillbore("tables", "steel_en10255").stdout
    assert "EN 10255:2004" in text and "Status:" in text and "33.3" in text
    assert stillbore("tables", "nothing").returncode == 2


def test_documents_are_written_whole(tmp_path):
    paths = [tmp_path / name for name in ("pack.html", "pack.pdf", "sheet.pdf")]
    done = stillbore("plan", EXAMPLE, "--html", paths[0], "--pdf", paths[1], "--sheet", paths[2])
    assert done.returncode == 0
    assert paths[0].read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert all(path.read_bytes().startswith(b"%PDF") for path in paths[1:])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["pack.html", "pack.pdf", "sheet.pdf"]


def test_a_place_that_cannot_be_written_is_said(tmp_path):
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder is wanted", encoding="utf-8")
    done = stillbore("plan", EXAMPLE, "--html", blocked / "pack.html")
    assert done.returncode == 2
    assert "cannot be written" in done.stderr
    assert "Traceback" not in done.stderr
