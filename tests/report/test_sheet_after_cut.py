"""The second page of the job sheet: the plan's own numbers, each limit at the end that is kept to; where there is no
pipe or no band, that it says so."""

import pytest
from cases import plan_of, strings
from variants import PACKAGE, made

from stillbore.job.files import load_job
from stillbore.plan import plan
from stillbore.report import document as model
from stillbore.report.sheet import sheet
from stillbore.units import show

NUMBERS = ("new_pipe.strength_pressure", "new_pipe.strength_hold", "new_pipe.test_pressure", "new_pipe.settle",
           "new_pipe.hold", "annulus.volume", "annulus.watch", "purge.velocity", "purge.time", "purge.least_velocity",
           "renewal.load", "movement.new_pipe", "movement.snake", "movement.spring", "dig.length", "dig.width",
           "dig.depth", "dig.setback", "dead_leg.main_length", "dead_leg.main_volume", "dead_leg.house_length",
           "dead_leg.house_volume")
# (label, number, the end that is the worse of the two for whoever relies on it)
LIMITS = (("Pressure drop at the load, at the most", "renewal.pe_20.drop", "high"),
          ("Left at the meter, at the least", "renewal.pe_20.at_meter", "low"),
          ("Push of the hand, at the worst", "renewal.pe_20.push", "high"),
          ("– it may snake from, in the bore", "renewal.pe_20.snakes", "low"),
          ("– largest fall", "new_pipe.largest_fall", "low"),
          ("– a change of this looks like the limit", "new_pipe.temperature_tolerance", "low"),
          ("– push of the air on an end", "new_pipe.cap_force", "high"),
          ("Gas to pass, at the most", "purge.gas", "high"))


def page(found):
    return sheet(found).parts[1]


def rows(blocks):
    """First cell to second, in every table, also in columns."""
    said = {}
    for block in blocks:
        if isinstance(block, model.Table):
            said |= {row[0].text: row[1] for row in block.rows}
        elif isinstance(block, model.Columns):
            said |= rows((*block.left, *block.right))
    return said


@pytest.mark.parametrize("case", ["two branches", "single branch"])
def test_it_has_the_numbers_of_the_plan(case):
    found = plan_of(case)
    said = strings(model.data(page(found)))
    assert [name for name in NUMBERS if found.numbers[name].text not in " | ".join(said)] == []
    table = rows(page(found).blocks)
    for label, name, end in LIMITS:
        number = found.numbers[name]
        assert table[label].text == show(getattr(number.node, end), number.node.unit, number.shown), label
    assert any("THE INSTRUMENT ENDS IT" in text for text in said)
    assert found.renewal.chosen.name in said


def test_the_candidates_are_all_there_with_why_not():
    found = plan_of("two branches")
    [table] = [block for block in page(found).blocks if isinstance(block, model.Table)
               and block.caption == "The new pipes carried"]
    assert [row[0].text for row in table.rows] == [each.name for each in found.renewal.candidates]
    assert table.rows[0][-1].text == "starves the house"


def test_the_amount_to_inject_lies_inside_what_the_annulus_may_be_and_its_factors():
    """Litres a metre worked again from the survey's diameters: (bore2 - outside2) pi/4, over both ends of the bore; the
    band is the largest of it times the least share, to the smallest times the most."""
    found = plan_of("two branches")
    text = rows(page(found).blocks)["– for each length that is in"].text
    least, most = (float(part.split()[0]) for part in text.split(" to "))
    bores = [found.numbers[f"pipe.{tube.key}.bore"].node for tube in found.tubes]
    outside = found.renewal.chosen.outside_diameter
    area = [0.25 * 3.141592653589793 * (bore**2 - size**2) * 1e3 for bore, size in (
        (min(node.low for node in bores), outside.high), (max(node.high for node in bores), outside.low))]
    shares = [found.rules.fact(f"renewal.annulus_{key}").value for key in ("least", "most")]
    assert least == pytest.approx(area[1] * shares[0], rel=0.005)
    assert most == pytest.approx(area[0] * shares[1], rel=0.005)


@pytest.mark.parametrize("survey", ["bent", "twin"])
def test_without_a_pipe_it_says_so_and_has_no_test_to_work_to(survey):
    found = plan(load_job(PACKAGE / "examples" / f"{survey}.toml"))
    assert found.renewal.chosen is None
    titles = [block.title for block in page(found).blocks if isinstance(block, model.Callout)]
    assert "No new pipe is planned with" in titles
    assert not {"Tightness: pressure", "Inject, all in all", "Gas to pass, at the most"} & set(rows(page(found).blocks))


def test_a_band_that_there_is_not_is_not_printed():
    found = made(survey={"site.upstream_length": '"1.8..3.2 m"'})
    ends = [found.numbers[f"annulus.{key}"] for key in ("least", "most")]
    assert ends[0].node.value > ends[1].node.value  # a void on one side of it and a spill on the other: none will do
    cell = rows(page(found).blocks)["Inject, all in all"]
    assert cell.text == "no amount shows it is full" and not any(end.text in cell.text for end in ends)


def test_an_abandonment_has_its_stub_its_dead_pipe_and_its_caps():
    found = made(survey={"job.route": '"cap and abandon"'})
    said = " | ".join(strings(model.data(page(found))))
    for name in ("dead_leg.main_length", "dead_leg.house_length", "dead_leg.house_volume", "stopper.proof_pressure"):
        assert found.numbers[name].text in said
    assert found.rules.fact("abandoned.longest_stub").text in said and "permanent cap" in said
    assert "new_pipe.test_pressure" not in found.numbers and "Tightness" not in said
