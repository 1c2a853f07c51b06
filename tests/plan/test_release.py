"""Gas released and saved: the handbook's figures (trade.md C18, C35) and plain arithmetic, with the doubt kept."""

import pytest
from variants import NOBODY_KNOWS, made, told

from stillbore.plan.parts import NOTE

LEAK = {"site.leak_rate": '"10 l/h"'}
RIG, LEG = (0.8 * 0.52, 1.2 * 0.52), 10.0  # l and m of the example; see test_numbers


@pytest.fixture(scope="module")
def example():
    return made(survey=LEAK)


def ends(found, name, scale=1.0):
    node = found.numbers[name].node
    return node.low * scale, node.high * scale


def test_a_cubic_metre_of_natural_gas_warms_as_the_trade_has_it(example):
    """trade.md C35: 0.63 kg of methane, x 29.8 = 18.8 kg."""
    methane = example.numbers["release.methane"].node.value
    assert methane == pytest.approx(0.63, abs=0.005)
    low, high = ends(example, "release.live.warming")
    gas = ends(example, "release.live.gas")
    assert (low / gas[0], high / gas[1]) == pytest.approx((18.8, 18.8), rel=0.01)


def test_the_warming_factor_is_the_rule_sets_with_its_source(example):
    factor = example.numbers["release.warming_factor"].node
    assert factor.value == 29.8  # IPCC AR6, fossil methane over a hundred years, check values 4.4
    assert "IPCC" in factor.source
    doubled = made(survey=LEAK, rules={"release.warming_factor": '{ value = "82.5", source = "AR6, twenty years" }'})
    assert (doubled.numbers["release.leak.warming"].node.high
            == pytest.approx(82.5 / 29.8 * example.numbers["release.leak.warming"].node.high, rel=1e-12))


def test_ten_litres_an_hour_for_a_year_as_the_trade_has_it(example):
    """trade.md C35: 88 m3 a year, 1.6 t of carbon dioxide, right within a half."""
    gas, warming = ends(example, "release.leak.gas"), ends(example, "release.leak.warming", 1e-3)
    assert sum(gas) / 2 == pytest.approx(88, abs=0.5)
    assert sum(warming) / 2 == pytest.approx(1.6, abs=0.06)
    assert (gas[0] / sum(gas), gas[1] / sum(gas)) == pytest.approx((0.25, 0.75))  # half and three halves of the middle


def test_this_job_loses_about_ten_litres(example):
    """trade.md C18: rig volume some times, the leg once, trace; about 0.01 m3. And the same by plain arithmetic."""
    low, high = ends(example, "release.job.gas", 1e3)
    assert low < 10.0 < high
    bore = (33.8 - 2 * 2.9) / 100  # dm, the widest the readings allow
    leg = 3.14159265 / 4 * bore**2 * LEG * 10 + RIG[1]
    over = [1.0 + pressure / air for pressure, air in ((29.9, 1010.0), (30.5, 1008.0))]
    assert low == pytest.approx(0.5 * (leg + 2 * RIG[1]) * over[0], rel=1e-6)
    assert high == pytest.approx(1.5 * ((leg + 4 * RIG[1]) * over[1] + 2.0), rel=1e-6)


def test_a_live_cut_loses_what_its_open_end_passes(example):
    """trade.md C18: open end for 10 to 30 s; 0.12 to 0.45 m3 at 30 to 45 mbar out of ten metres."""
    flow = example.numbers["if_it_goes_wrong.open_end"].node
    low, high = ends(example, "release.live.gas")
    assert (low, high) == pytest.approx((0.5 * 10 * flow.low, 1.5 * 30 * flow.high), rel=1e-12)
    ten_metres = made(survey={"site.upstream_length": '"10 m"'})
    low, high = ends(ten_metres, "release.live.gas")
    assert low < 0.12 and high > 0.45


def test_heat_is_volume_by_calorific_value(example):
    """A kilowatt-hour is 3.6 MJ; ISO 6976 Annex D example 1, near our gas, has 38.41 MJ/m3."""
    gas, heat = ends(example, "release.live.gas"), ends(example, "release.live.heat", 1 / 3.6e6)
    assert heat[1] == pytest.approx(gas[1] * 38.41 / 3.6, rel=0.01)


def test_small_and_large_stand_in_one_sentence_with_their_doubt(example):
    finding = told(example, "this job loses", "live cut would lose", "each year", "50..150 %", "IPCC")
    assert finding.level == NOTE and "with their doubt" in finding.do
    for word in ("save", "only", "green", "as much as"):
        assert word not in finding.what.lower()
    [grid] = [grid for section in example.sections if section.key == "release" for grid in section.grids]
    assert [row[0] for row in grid.rows] == ["this job, with the stopper", "a live cut-off instead",
                                             "the leak that this job ends, each year"]


@pytest.mark.parametrize("fact", [None, {"site.leak_rate": NOBODY_KNOWS}])
def test_a_leak_nobody_measured_is_not_made_up(fact):
    found = made(survey=fact or {})
    assert not any(name.startswith("release.leak") for name in found.numbers)
    told(found, "this job loses", "nobody has measured")


def test_of_a_blend_only_the_methane_is_reckoned():
    blend = made(survey={**LEAK, "gas.composition": '"CH4 0.8, H2 0.2"'})
    pure = made(survey={**LEAK, "gas.composition": '"CH4 1"'})
    ratio = blend.numbers["release.leak.warming"].node.high / pure.numbers["release.leak.warming"].node.high
    assert ratio == pytest.approx(0.8, rel=3e-3)
