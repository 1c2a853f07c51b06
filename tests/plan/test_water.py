"""Water in a low point: the seal against the district's pressure (trade.md C32: 1 mbar is 10.2 mm of water)."""

import pytest
from variants import NOBODY_KNOWS, made, silent, told

from stillbore.plan.parts import HOLD_OPEN


def with_water(depth):
    return made(survey={"site.water_depth": f'"{depth}"'})


def test_three_tenths_of_a_metre_hold_back_29_mbar():
    """trade.md C32: a 0.3 m leg holds back 29 mbar; a district at 21 mbar (214 mm) cannot be seen through it."""
    found = with_water("0.3 m")
    assert found.numbers["water.seal"].node.value / 100 == pytest.approx(29.4, abs=0.05)
    finding = told(found, "Water in a low point holds back up to 29.4 mbar", "cannot be seen through it", "is live")
    assert finding.level == HOLD_OPEN and {8, 9, 11} == set(finding.holds)
    assert "lowest pressure to be expected, 21 mbar" in finding.what
    assert "pressure measured" not in finding.what  # 30.2 mbar pushes through it


@pytest.mark.parametrize("millimetres, hidden", [(213, False), (215, True)])
def test_the_district_shows_through_up_to_214_mm(millimetres, hidden):
    found = with_water(f"{millimetres} mm")
    assert hidden != silent(found, "cannot be seen through it")
    assert {9} <= set(found.open_holds)


def test_deeper_water_hides_the_pressure_measured_too():
    told(with_water("0.5 m"), "lowest pressure to be expected, 21 mbar and the pressure measured, 30.2", "is live")


def test_shallow_water_still_makes_the_gauge_read_low():
    finding = told(with_water("0.1 m"), "reads that much less")
    assert finding.level == HOLD_OPEN and finding.holds == (9,)


def test_water_of_unknown_depth_is_the_worst():
    finding = told(made(survey={"site.water_depth": NOBODY_KNOWS}), "nobody knows how deep", "proves nothing")
    assert finding.level == HOLD_OPEN and set(finding.holds) == {8, 9}


def test_a_dry_service_says_nothing():
    for found in (made(), with_water("0 mm")):
        assert not any(section.key == "water" for section in found.sections)
