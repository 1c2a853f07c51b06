"""Two systems of units: the same service written in either gives the same plan, and each plan keeps to its own.

Factors are written out here from the definitions of the inch, the pound and the inch of water (NIST SP 811, from
memory), not taken from the program.
"""

import re
import threading

import pytest
from variants import SINGLE_BRANCH, TWO_BRANCHES, edited, example

from stillbore.derive import Fact
from stillbore.display import INCH_POUND, METRIC, US
from stillbore.job.files import load_job
from stillbore.plan import plan
from stillbore.plan.export import plan_json
from stillbore.plan.pit_air import curves
from stillbore.units import UNITS

INCH_OF_WATER, POUND_FORCE, PSI, BTU = 249.08891, 4.4482216152605, 6894.757293168, 1055.05585262
# A metric unit -> (the unit it is written over into, how many of them it is)
OVER = {
    "mm": ("in", 1 / 25.4), "m": ("ft", 1 / 0.3048), "mm2": ("in2", 1 / 645.16), "l": ("in3", 1e-3 / 0.0254**3),
    "m3": ("ft3", 1 / 0.3048**3), "l/h": ("ft3/h", 1e-3 / 0.3048**3), "m3/h": ("cfh", 1 / 0.3048**3),
    "mbar": ("in w.c.", 100 / INCH_OF_WATER), "bar": ("psi", 1e5 / PSI), "kPa": ("psi", 1e3 / PSI),
    "MPa": ("psi", 1e6 / PSI), "mbara": ("inHg", 100 / 3386.38864), "kg": ("lb", 1 / 0.45359237),
    "N": ("lbf", 1 / POUND_FORCE), "K": ("degF", 1.8), "kW": ("Btu/h", 3.6e6 / BTU),
    "kg/m3": ("lb/ft3", 0.3048**3 / 0.45359237), "um/(m K)": ("uin/(in degF)", 1 / 1.8)}
NUMBER = r"-?\d+(?:\.\d+)?"
QUANTITY = re.compile(rf'"({NUMBER})(?:(\.\.| \+/- )({NUMBER}))? ([^"\d][^"]*)"')
METRIC_UNIT = re.compile(r"\d ?(?:mm|mbara?|m|ml|l|kPa|MPa|bar|N|g|kg|K|degC|l/h|m3|m3/h|MJ/m3|mm3|Pa|kW|l/m)"
                         r"(?![\w/.])")
INCH_POUND_UNIT = re.compile(r"\d ?(?:in|ft|in3|ft3|ft3/h|psi|lbf|degF|oz|lb|in w\.c\.)(?![\w/])")
# What is a name and no quantity: the class of a fire extinguisher, in the rule set's list of kit.
QUOTED = re.compile(r"powder extinguisher, (?:9 kg|20 lb)")


def written_over(text):
    """A file with every metric quantity written in inches and pounds, closely: a check may lie on its limit."""

    def over(match):
        first, join, second, unit = match.groups()
        if unit == "degC":
            numbers, unit = [1.8 * float(number) + 32.0 for number in (first, second) if number], "degF"
        elif unit in OVER:
            unit, factor = OVER[unit]
            numbers = [float(number) * factor for number in (first, second) if number]
        else:
            return match[0]
        return f'"{(join or "").join(f"{number:.12f}" for number in numbers)} {unit}"'

    return QUANTITY.sub(over, text)


def planned(folder, survey="service", kit=TWO_BRANCHES, rules="rules", display=METRIC, make=str, edits=()):
    paths = {}
    for key, name in (("survey", survey), ("kit", kit), ("rules", rules)):
        paths[key] = folder / f"{key}.toml"
        paths[key].write_text(make(edited(example(name), dict(edits) if key == "survey" else {})), encoding="utf-8")
    return plan(load_job(**paths), display)


def sentences(found):
    """Every text of a plan that a person reads, but for the order of work's own words."""
    for number in found.numbers.values():
        yield f"{number.title} {number.text}"
    for section in found.sections:
        for check in section.checks:
            yield f"{check.title} {check.text} {check.margin}"
        for finding in section.findings:
            yield f"{finding.what} {finding.do}"
        for grid in section.grids:
            yield " ".join((grid.title, *grid.columns, *(cell for row in grid.rows for cell in row)))


@pytest.mark.parametrize("kit", [TWO_BRANCHES, SINGLE_BRANCH])
def test_the_same_service_in_both_systems_gives_the_same_plan(tmp_path, kit):
    """All three files written over; every number, verdict and finding stays."""
    assert '"33.6 mm"' in example("service") and '"1.322834645669 in"' in written_over(example("service"))
    for name in ("service", kit, "rules"):
        assert not re.search(r'" ?[\d.]+[^"]* (mm|mbar|kPa|MPa|N|kg|degC|m3)"', written_over(example(name)))
    metric = planned(tmp_path, kit=kit)
    other = planned(tmp_path, kit=kit, make=written_over)
    assert metric.result == other.result and metric.open_holds.keys() == other.open_holds.keys()
    assert metric.numbers.keys() == other.numbers.keys()
    for name, number in metric.numbers.items():
        for end in ("value", "low", "high"):
            ours, theirs = getattr(number.node, end), getattr(other.numbers[name].node, end)
            # The stated travel lies within hundredths of a millimetre of a full hole: a difference of rounded numbers.
            assert theirs == (None if ours is None else pytest.approx(ours, rel=2e-6, abs=1e-11)), name
    verdicts = [[(check.title, check.verdict) for section in found.sections for check in section.checks]
                for found in (metric, other)]
    assert [verdict for _, verdict in verdicts[0]] == [verdict for _, verdict in verdicts[1]]
    assert [finding.level for finding in metric.findings] == [finding.level for finding in other.findings]


@pytest.mark.parametrize("survey,rules", [("service", "rules"), ("bent", "rules"), ("twin", "rules"),
                                          ("service_us", "rules_us")])
@pytest.mark.parametrize("kit", [TWO_BRANCHES, SINGLE_BRANCH])
def test_a_plan_in_inches_says_nothing_in_millimetres(tmp_path, survey, rules, kit):
    found = planned(tmp_path, survey, kit, rules, US)
    assert [text for text in sentences(found) if METRIC_UNIT.search(QUOTED.sub("", text))] == []
    assert "in w.c." in found.numbers["pressure.operating"].text and " in" in found.numbers["pipe.wall"].text


@pytest.mark.parametrize("kit", [TWO_BRANCHES, SINGLE_BRANCH])
def test_a_service_written_in_inches_is_told_in_millimetres_where_that_is_asked(tmp_path, kit):
    found = planned(tmp_path, "service_us", kit, "rules_us")
    assert [text for text in sentences(found) if INCH_POUND_UNIT.search(QUOTED.sub("", text))] == []


@pytest.mark.parametrize("key,written", [
    ("job.route", "cap and abandon"), ("job.route", "renew towards the house"), ("site.water_depth", "60 mm"),
    ("site.leak_rate", "10 l/h"), ("site.cover", "1.3 m"), ("pipe.wall", "unknown"), ("gas.name", "propane"),
    ("fed[0].heat_input", "unknown")])
def test_what_the_examples_do_not_say_is_said_in_inches_too(tmp_path, key, written):
    found = planned(tmp_path, display=US, edits={key: f'"{written}"'})
    assert [text for text in sentences(found) if METRIC_UNIT.search(QUOTED.sub("", text))] == []
    assert not [curve.title for curve in curves(found.numbers, found.rules) if METRIC_UNIT.search(curve.title)]


def test_walls_that_nobody_knows_are_named_in_inches(tmp_path):
    """EN 1555-2: 20 mm, SDR 11, in two rows; 2.3 mm is 0.0906 in and 2.7 mm 0.106 in."""
    planned(tmp_path)  # writes the files
    (tmp_path / "kit.toml").write_text(edited(example(TWO_BRANCHES), {"insert[1].wall": '"unknown"'}), encoding="utf-8")
    found = plan(load_job(*(tmp_path / f"{key}.toml" for key in ("survey", "kit", "rules"))), US)
    assert "PE-20 with wall 0.0906 to 0.106 in, SDR 11" in [each.name for each in found.renewal.candidates]
    assert [text for text in sentences(found) if METRIC_UNIT.search(QUOTED.sub("", text))] == []


def test_the_leak_tests_can_fail():
    assert METRIC_UNIT.search("wall 3.2 mm") and METRIC_UNIT.search("75 mbar;") and METRIC_UNIT.search("0.5 m3")
    assert INCH_POUND_UNIT.search("0.126 in (0.114") and not INCH_POUND_UNIT.search("3/4 to 2 inch")
    assert not METRIC_UNIT.search("5 mohm 30 min 3 metres 0.28 mJ 4 MGC")


def test_plans_of_one_process_are_shown_each_in_its_own_system(tmp_path):
    """Made and read in turns, and in threads: nothing of one shows in the other."""
    first = planned(tmp_path, display=METRIC)
    second = planned(tmp_path, display=US)
    alone = [plan_json(planned(tmp_path, display=display)) for display in (METRIC, US)]
    assert [plan_json(first), plan_json(second)] == alone
    again = {}
    files = [tmp_path / f"{key}.toml" for key in ("survey", "kit", "rules")]  # written above; the threads only read

    def make(display):
        again[display.name] = plan_json(plan(load_job(*files), display))

    threads = [threading.Thread(target=make, args=(display,)) for display in (METRIC, US)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert again == {"metric": alone[0], "us": alone[1]}


def test_values_are_si_and_the_plan_is_the_same_one_in_every_system(tmp_path):
    metric, us = (planned(tmp_path, display=display) for display in (METRIC, US))
    assert metric.version == us.version
    ours, theirs = plan_json(metric), plan_json(us)
    assert (ours["units"], theirs["units"]) == ("metric", "us")
    for name, number in ours["numbers"].items():
        other = theirs["numbers"][name]
        assert {key: number[key] for key in ("value", "low", "high", "unit")} \
            == {key: other[key] for key in ("value", "low", "high", "unit")}


@pytest.mark.parametrize("si", INCH_POUND)
def test_every_counterpart_is_a_unit_of_its_kind(si):
    sizes = [most for most, _ in INCH_POUND[si]]
    assert sizes == sorted(sizes) and sizes[-1] == float("inf")
    assert all(unit in UNITS[si] for _, unit in INCH_POUND[si])


@pytest.mark.parametrize("metres,text", [(0.9, "35.43 in"), (0.95, "3.12 ft"), (9.5, "31.2 ft"), (0.0032, "0.126 in")])
def test_lengths_over_three_feet_are_in_feet(metres, text):
    assert US.show(metres, "m", "m") == text  # 1 ft is 0.3048 m: 0.95 m is 3.117 ft


@pytest.mark.parametrize("si,value,metric,us", [
    ("Pa gauge", 3000.0, "30.0 mbar", "12.0 in w.c."), ("Pa gauge", 35000.0, "350 mbar", "5.08 psi"),
    ("m3/s", 1e-4 / 3600, "1.00e-04 m3/h", "6.10 in3/h"), ("m3/s", 6 / 3600, "6.00 m3/h", "212 ft3/h"),
    ("K", 283.15, "10.0 degC", "50.0 degF"), ("kg", 0.0085, "8.50 g", "0.300 oz"), ("kg", 6.0, "6000 g", "13.2 lb"),
    ("m3", 0.0005, "0.500 l", "30.5 in3"), ("m3", 0.5, "500 l", "17.7 ft3"), ("W", 30e3, "30.0 kW", "102364 Btu/h"),
    ("s", 120.0, "120 s", "120 s"), ("-", 0.1, "0.100", "0.100"), ("V", 25.0, "25.0 V", "25.0 V")])
def test_numbers_are_shown_in_either_system(si, value, metric, us):
    """Each counterpart worked out by hand from the definitions."""
    assert (METRIC.show(value, si), US.show(value, si)) == (metric, us)


def test_a_check_shows_number_and_limit_in_one_unit(tmp_path):
    """Though one alone would be in inches of water and the other in psi."""
    found = planned(tmp_path, display=US, edits={
        "pressure.maximum_operating_pressure": '{ value = "1 bar", how = "record" }'})
    [check] = [check for section in found.sections for check in section.checks
               if check.title == "maximum operating pressure"]
    assert check.text == "14.5 psi; wanted at most 1.09 psi" and check.margin == "13 psi too much"


def test_a_fact_is_said_as_it_was_written_or_worked_over():
    fact = Fact("pressure", "Pa gauge", 3000.0, 3000.0, 3000.0, "measured", "", text="30 mbar")
    assert (METRIC.said(fact), US.said(fact)) == ("30 mbar", "12.0 in w.c.")
    fact = Fact("wall", "m", 0.0032, 0.0032, 0.0032, "measured", "", text="0.126 in")
    assert (METRIC.said(fact), US.said(fact)) == ("3.20 mm", "0.126 in")
    for text, unit, value in (("unknown", "m", None), ("10 %", "-", 0.1), ("120 s", "s", 120.0)):
        fact = Fact("other", unit, value, value, value, "rule", "", text=text)
        assert METRIC.said(fact) == US.said(fact) == text


