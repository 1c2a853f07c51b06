"""What the plan tells of each shipped example service, in its own words, with both kits."""

import pytest
from variants import PACKAGE, SINGLE_BRANCH, TWO_BRANCHES, silent, told

from stillbore.job.files import EXAMPLES, load_job
from stillbore.plan import plan
from stillbore.plan.method import APPLIES
from stillbore.plan.parts import ENGINEER, HOLD_OPEN, NOTE

FOLDER = PACKAGE / "examples"
KITS = [TWO_BRANCHES, SINGLE_BRANCH]


def planned(survey, kit, rules="rules"):
    return plan(load_job(*(FOLDER / f"{name}.toml" for name in (survey, kit, rules))))


def candidates(found):
    """The table of new pipes by name: (passes, carries the load, can be pushed, why not)."""
    [grid] = [grid for section in found.sections for grid in section.grids if grid.title == "Candidates"]
    return {row[0]: row[1:] for row in grid.rows}


def test_every_shipped_example_is_named_and_says_that_it_is_invented():
    named = {name for names in EXAMPLES.values() for name in names}
    assert named == {path.name for path in FOLDER.glob("*.toml")}
    assert all((FOLDER / name).read_text(encoding="utf-8").startswith("# INVENTED.") for name in named)


@pytest.mark.parametrize("kit", KITS)
def test_the_bent_service_cannot_be_renewed_by_insertion(kit):
    found = planned("bent", kit)
    assert found.result == ENGINEER
    finding = told(found, "None of the new pipes carried passes", level=ENGINEER)
    assert "Open cut, another route, or a transfer" in finding.do
    rows = candidates(found)
    assert rows and all(row[0] == "does not pass" for row in rows.values())
    # The smallest would go round the pulled bend; no pipe goes through a screwed elbow.
    assert rows["PE-16"][-1].startswith("screwed elbow")
    # The larger ones stop before it: 25 mm, warm, wants 15 x 25 = 375 mm of radius, and the bend has 150 and its room.
    assert rows["PE-25"][-1].startswith("pulled bend")
    dig = told(found, "PE-25", "fits the bore, but not the way", "does not pass", level=NOTE)
    assert "Dig where it stops" in dig.do


@pytest.mark.parametrize("kit", KITS)
def test_the_bend_of_the_bent_service_alone_would_decide_it(kit, tmp_path):
    """Without bend, step and elbow a new pipe passes: the plan speaks of them, not of the rest of the survey."""
    lines = (FOLDER / "bent.toml").read_text(encoding="utf-8")
    head, _, rest = lines.partition("[[bend]]")
    straight = tmp_path / "straight.toml"
    straight.write_text(head + "[pressure]" + rest.partition("[pressure]")[2], encoding="utf-8")
    found = plan(load_job(straight, FOLDER / f"{kit}.toml"))
    assert any(row[0] == "passes" for row in candidates(found).values())


@pytest.mark.parametrize("kit", KITS)
def test_the_twin_service_feeds_a_neighbour(kit):
    found = planned("twin", kit)
    assert found.result == ENGINEER
    both = told(found, "2 houses are fed by this service", "H-0160", "H-0162", level=ENGINEER)
    assert "Each must agree, be off, and be put back" in both.do and both.holds == (2,)
    told(found, "Somebody in H-0162 needs care", level=ENGINEER)
    told(found, "H-0162 has not agreed to be off gas", level=HOLD_OPEN)
    assert list(found.open_holds) == [2]
    assert silent(found, "H-0160 has not agreed") and silent(found, "list of who is fed")


@pytest.mark.parametrize("kit", KITS)
def test_the_twin_service_is_reckoned_with_both_houses(kit):
    """30 kW and 24 kW at the gross calorific value of the gas, with diversity from half to one: never less than the
    larger house alone, never more than both."""
    found = planned("twin", kit)
    calorific = found.numbers["renewal.calorific_value"].node.value
    load = found.numbers["renewal.load"].node
    assert 30e3 / calorific < load.low <= load.high <= 54e3 / calorific * (1 + 1e-9)


@pytest.mark.parametrize("kit", KITS)
def test_the_service_in_inches_applies_by_the_rule_set_in_inches(kit):
    found = planned("service_us", kit, "rules_us")
    assert found.result == APPLIES and not found.open_holds
    assert "schedule 40" in told(found, "the wall measured", "agrees with").what
    rows = candidates(found)
    assert rows["PE-20"][:3] == ("passes", "met", "met")
    # 25.3 mm and 1 mm for scale in a bore of 26.4 mm at the least: with 3 % flattened nothing is left.
    assert rows["PE-25"][0] == "doubtful, rod first"


def test_the_rule_set_in_inches_has_the_codes_figures():
    """0.5 in w.c. is the drop of the fuel gas code's tables 402.4(3) and 402.4(21) (IFGC 2018); 49 CFR 192.513 asks for
    50 psi at the least."""
    rules = planned("service_us", TWO_BRANCHES, "rules_us").rules
    assert rules.fact("renewal.pressure_drop").value == pytest.approx(0.5 * 249.08891)
    assert rules.fact("new_pipe.test_pressure").value == pytest.approx(50 * 6894.757)
    assert "IFGC-2018" in rules.fact("renewal.pressure_drop").source
    assert "192.513" in rules.fact("new_pipe.test_pressure").source


def test_the_service_in_inches_is_of_schedule_40_tube():
    """ASME B36.10: 1 inch schedule 40 is 1.315 in outside with a wall of 0.133 in; A53 allows 1/64 in on the diameter
    and 12.5 % under the wall (from memory)."""
    survey = planned("service_us", TWO_BRANCHES, "rules_us").survey
    outside, wall = survey.fact("pipe.outside_diameter"), survey.fact("pipe.wall")
    assert abs(outside.value / 0.0254 - 1.315) < 1 / 64
    assert wall.low / 0.0254 > 0.875 * 0.133 and wall.value / 0.0254 == pytest.approx(0.133, abs=0.003)
