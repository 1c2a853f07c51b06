"""Plans side by side, and plans in inches and pounds, as a user meets them."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "src/stillbore/examples"
SERVICE, BENT, TWIN = (EXAMPLES / f"{name}.toml" for name in ("service", "bent", "twin"))


def stillbore(*arguments):
    return subprocess.run([sys.executable, "-m", "stillbore", *map(str, arguments)], capture_output=True, text=True,
                          timeout=60, check=False)


def test_services_stand_side_by_side():
    text = stillbore("compare", SERVICE, BENT, TWIN).stdout
    for words in ("J-0001, renew towards the main", "J-0002", "27 Pattern Lane", "J-0003", "What decides", "H-0162",
                  "screwed elbow", "Numbers: different", "Numbers: the same in all", "to spare", "Nothing is ranked"):
        assert words in text, words


def test_what_differs_is_parted_from_what_does_not():
    text = stillbore("compare", SERVICE, BENT).stdout
    different, alike = text.partition("Numbers: different")[2].partition("Numbers: the same in all")[::2]
    assert "volume of the leg with the rig" in different and "volume of the leg with the rig" not in alike
    assert "load to be carried" in alike and "load to be carried" not in different


def test_a_comparison_says_of_each_what_its_own_plan_says():
    data = json.loads(stillbore("compare", SERVICE, TWIN, "--json").stdout)
    assert data["format"] == "stillbore side by side 1" and data["units"] == "metric"
    for case, survey in zip(data["cases"], (SERVICE, TWIN), strict=True):
        alone = json.loads(stillbore("plan", survey, "--json").stdout)
        assert case["inputs"] == alone["inputs"] and case["result"] == alone["result"]
        assert case["findings"] == alone["findings"] and case["open_holds"] == alone["open_holds"]
        assert all(alone["numbers"][name] == number for name, number in case["numbers"].items())
        assert "travel.feed_target" in case["numbers"] and "renewal.load" in case["numbers"]
        assert case["checks"] and all(check in alone["checks"] for check in case["checks"])
        assert "PE-25" in case["new_pipes"]


def test_routes_of_one_service_stand_side_by_side(tmp_path):
    data = json.loads(stillbore("compare", SERVICE, "--route", "cap and abandon", "--route", "renew towards the house",
                                "--json").stdout)
    assert [case["route"] for case in data["cases"]] == ["cap and abandon", "renew towards the house"]
    for case in data["cases"]:  # as if the survey had been written so
        survey = tmp_path / "survey.toml"
        survey.write_text(SERVICE.read_text(encoding="utf-8").replace("renew towards the main", case["route"]), "utf-8")
        alone = json.loads(stillbore("plan", survey, "--json").stdout)
        assert case["result"] == alone["result"]
        assert case["inputs"]["procedure"]["sha256"] == alone["inputs"]["procedure"]["sha256"]
        assert [finding["what"] for finding in case["findings"]] == [finding["what"] for finding in alone["findings"]]


def test_one_plan_is_no_comparison():
    done = stillbore("compare", SERVICE)
    assert done.returncode == 2 and "one plan only" in done.stderr


def test_two_of_one_name_are_told_apart(tmp_path):
    other = tmp_path / "other.toml"
    other.write_text(SERVICE.read_text(encoding="utf-8"), encoding="utf-8")
    data = json.loads(stillbore("compare", SERVICE, other, "--json").stdout)
    assert [case["name"].partition("(")[2] for case in data["cases"]] == ["service.toml)", "other.toml)"]


def test_the_faults_of_every_survey_are_printed_at_once(tmp_path):
    paths = []
    for name, word in (("one", "renewall"), ("two", "renuwal")):
        paths.append(tmp_path / f"{name}.toml")
        text = SERVICE.read_text(encoding="utf-8").replace('reason = "renewal"', f'reason = "{word}"')
        paths[-1].write_text(text, encoding="utf-8")
    done = stillbore("compare", *paths, "--html", tmp_path / "page.html")
    assert done.returncode == 2 and "one.toml, line" in done.stderr and "two.toml, line" in done.stderr
    assert not (tmp_path / "page.html").exists()


def test_a_comparison_can_be_a_page(tmp_path):
    page = tmp_path / "page.html"
    surveys = []
    for number in range(5):  # more than stand abreast in one table
        surveys.append(tmp_path / f"s{number}.toml")
        text = SERVICE.read_text(encoding="utf-8").replace('"J-0001"', f'"J-1{number}"')
        surveys[-1].write_text(text, encoding="utf-8")
    done = stillbore("compare", *surveys, "--units", "us", "--html", page)
    assert done.returncode == 0 and f"Wrote {page}" in done.stdout
    text = page.read_text(encoding="utf-8")
    assert all(f"J-1{number}" in text for number in range(5)) and text.count("<h1>") == 2
    assert "in\u00a0w.c." in text and "Nothing is ranked" in text and " mbar" not in text


@pytest.mark.parametrize("command", [("plan",), ("explain", "travel.from")])
def test_plan_and_explain_take_units(command):
    name, *number = command
    us, metric = (stillbore(name, SERVICE, *number, "--units", units).stdout for units in ("us", "metric"))
    assert stillbore(name, SERVICE, *number).stdout == metric
    assert " in" in us and " mm" in metric
    # 3.2 mm is 0.126 in; the inch is 25.4 mm
    assert "3.18 mm (2.90 to 3.50)" in metric and "0.125 in (0.114 to 0.138)" in us


def test_explain_in_inches_says_nothing_in_millimetres():
    text = stillbore("explain", SERVICE, "travel.feed_from", "--units", "us").stdout
    assert " mm" not in text and "in (" in text


def test_units_are_one_of_two():
    assert stillbore("plan", SERVICE, "--units", "imperial").returncode == 2


@pytest.mark.parametrize("like,kind", [("bent", "survey"), ("twin", "survey"), ("service_us", "survey"),
                                       ("rules_us", "rules"), ("kit_single_branch", "kit")])
def test_new_can_copy_each_example(tmp_path, like, kind):
    path = tmp_path / "mine.toml"
    assert stillbore("new", path, "--kind", kind, "--like", like).returncode == 0
    assert path.read_bytes() == (EXAMPLES / f"{like}.toml").read_bytes()


def test_new_copies_no_rule_set_for_a_survey(tmp_path):
    done = stillbore("new", tmp_path / "mine.toml", "--like", "rules_us")
    assert done.returncode == 2 and "no survey" in done.stderr and "bent, twin" in done.stderr
    assert not (tmp_path / "mine.toml").exists()
