"""What to bring: quantities from the plan's lengths by the handbook's allowances (trade.md T15, C24, C34)."""

from math import pi

import pytest
from variants import NOBODY_KNOWS, made, told

from stillbore.plan.parts import NOTE

# A straight service and a hand that may push harder: PE-20 passes, carries and can be pushed.
CHOSEN = {"survey": {"bend[0]": None, "fed[0].heat_input": '"20 kW"'},
          "rules": {"renewal.gland": '{ value = "30 N", source = "test" }'}}


def rows(found, use=""):
    """What is listed: name -> (how much, by)."""
    section = next(section for section in found.sections if section.key == "materials")
    return {row[0]: row[1:] for grid in section.grids if grid.title.startswith(use) for row in grid.rows}


@pytest.fixture(scope="module")
def chosen():
    return made(**CHOSEN)


def test_everything_of_the_trade_is_in_the_list(chosen):
    """trade.md T15."""
    listed = " ".join(rows(chosen)).lower()
    for what in ("saddle", "gasket", "plug", "end cap", "gland", "pe pipe", "coupler or tee", "transition",
                 "marker tape", "sealant for the annulus", "fill", "leak fluid", "wipes", "tag", "pe end cap",
                 "bond lead", "emergency plug", "waste"):
        assert what in listed, what


def test_pipe_and_sealant_by_the_lengths_of_this_plan(chosen):
    """T15: pipe + 10 %; C24: annulus pi/4 (D^2 - d^2) L, x 1.3. Main to meter 11 to 13 m; towards the main 2 to 3 m."""
    pipe = chosen.numbers["materials.pe_pipe"].node
    assert (pipe.low, pipe.high) == pytest.approx((1.1 * 11.0, 1.1 * 13.0))
    name = next(name for name in rows(chosen) if name.startswith("PE pipe, "))
    insert = next(row for row in chosen.kit.rows("insert") if row.text("id") == name.removeprefix("PE pipe, "))
    outer = insert.fact("outside_diameter")
    bores = [(chosen.numbers[f"pipe.{tube.key}.bore"].node.low, chosen.numbers[f"pipe.{tube.key}.bore"].node.high)
             for tube in chosen.tubes]
    most = pi / 4 * (max(high for _, high in bores)**2 - outer.low**2) * 3.0
    sealant = chosen.numbers["materials.sealant_for_the_annulus"].node
    assert sealant.low == sealant.high == pytest.approx(1.3 * most, rel=1e-9)  # what runs short leaves a void


def test_fill_is_the_pit_and_its_bulking(chosen):
    """The pit of the example, 0.4 to 0.6 m3, x 1.3 (trade.md C21)."""
    fill = chosen.numbers["materials.fill_for_the_pit_loose"].node
    assert (fill.low, fill.high) == pytest.approx((1.3 * 0.4, 1.3 * 0.6))


def test_kit_comes_back_and_material_does_not(chosen):
    kit, used = rows(chosen, "Kit"), rows(chosen, "Used up")
    assert "emergency plug for the open end, 1 inch" in kit
    assert "saddle with its gasket, 1 inch" in used
    assert "hole saw with its pilot, SAW-100" in kit and "stopper, ST-100" in kit
    assert "bond lead with clamps, B-3, 3 m" in kit
    assert not set(kit) & set(used)


def test_what_is_not_known_says_so_and_is_not_guessed():
    found = made(survey={"pipe.outside_diameter": NOBODY_KNOWS, "record.size": NOBODY_KNOWS})
    listed = rows(found)
    assert listed["PE pipe"][0] == "not known: no new pipe is chosen"
    assert listed["sealant for the annulus"][0] == "not known: no new pipe is chosen"
    assert told(found, "Some quantities are not known yet").level == NOTE


def test_between_two_sizes_no_size_is_brought_for():
    listed = rows(made(survey={"pipe.outside_diameter": '"31.0 mm"'}))
    assert "emergency plug for the open end, size not known" in listed
    assert listed["stopper"][0].startswith("not known")


def test_a_capped_service_needs_no_new_pipe():
    listed = rows(made(survey={"job.route": '"cap and abandon"'}))
    assert not any(word in name for name in listed for word in ("PE", "electrofusion", "annulus", "gland"))
    assert listed["end cap, 1 inch"][0] == "2"
    assert "emergency plug for the open end, 1 inch" in listed
