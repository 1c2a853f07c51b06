"""The charts of the plan, read back from the SVG: gas in the pit against time, and the time plan."""

import re
import xml.etree.ElementTree as ET
from math import log

import pytest
from cases import CASES, plan_of
from variants import made

from stillbore.report.drawings import charts

SVG = "{http://www.w3.org/2000/svg}"


def drawn(plan):
    return {chart.key: chart for chart in charts(plan)}


def parts(chart):
    found = {}
    for element in ET.fromstring(chart.svg).iter():
        found.setdefault(element.get("data-name"), element)
    return found


def points(element):
    numbers = [float(text) for text in re.findall(r"-?\d+\.\d+", element.get("d"))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def words(chart):
    return " ".join(element.text or "" for element in ET.fromstring(chart.svg).iter(f"{SVG}text"))


def ticks(chart, texts):
    """Where labels stand across the paper, by their text."""
    return {element.text: float(element.get("x")) for element in ET.fromstring(chart.svg).iter(f"{SVG}text")
            if element.text in texts}


@pytest.fixture(scope="module")
def example():
    return plan_of("two branches")


def test_the_lost_stopper_crosses_the_flammable_limit_when_the_plan_says(example):
    """Read off the paper with the chart's own time ticks: the crossing is the plan's shortest time to the limit."""
    chart = drawn(example)["pit_air"]
    found = parts(chart)
    level = float(found["level limit"].get("y1"))
    scale = ticks(chart, ("1 s", "1 h"))
    per_decade = (scale["1 h"] - scale["1 s"]) / log(3600.0)
    curve = points(found["curve lost_stopper"])
    (x0, y0), (x1, y1) = next((one, other) for one, other in zip(curve, curve[1:], strict=False)
                              if one[1] >= level > other[1])
    x = x0 + (x1 - x0) * (y0 - level) / (y0 - y1)
    from_paper = 2.718281828 ** ((x - scale["1 s"]) / per_decade)
    assert from_paper == pytest.approx(example.numbers["pit_air.cut_end.time_to_limit"].node.low, rel=0.02)


def test_five_curves_differ_by_their_dashes_and_each_has_its_words(example):
    chart = drawn(example)["pit_air"]
    found = parts(chart)
    keys = [name.removeprefix("curve ") for name in found if name and name.startswith("curve ")]
    assert sorted(keys) == ["let_by_airy", "let_by_still", "live_cut_airy", "live_cut_still", "lost_stopper"]
    assert len({found[f"curve {key}"].get("stroke-dasharray") for key in keys}) == 5
    assert {found[f"curve {key}"].get("stroke") for key in keys} == {"#000"}
    assert all(f"words {key}" in found for key in keys)


def test_a_pit_full_of_propane_is_still_on_the_paper():
    """Pure propane is 59 times its limit of 1.7 % (IEC 60079-20-1), the most of any named gas."""
    chart = drawn(made(survey={"gas.name": '"propane"', "gas.composition": None}))["pit_air"]
    curve = points(parts(chart)["curve lost_stopper"])
    assert curve[-1][0] - curve[0][0] > 100.0  # it runs over the whole width, in millimetres


def test_the_levels_are_the_rule_sets(example):
    text = words(drawn(example)["pit_air"])
    assert "10 %: out of the pit" in text and "20 %: emergency" in text and "IEC basis" in text
    other = words(drawn(made(rules={"release.fraction_out": '{ value = "5 %", source = "test" }'}))["pit_air"])
    assert "5 %: out of the pit" in other
    assert "No reason to stay or to enter" in text


def test_bars_lie_against_the_clock_as_the_times_of_the_rules(example):
    """The bars measured with the hour ticks: lowest and highest time of the dig, 40 and 90 minutes (trade.md T13)."""
    chart = drawn(example)["time_plan"]
    found = parts(chart)
    scale = ticks(chart, ("08:00", "16:00"))
    hour = (scale["16:00"] - scale["08:00"]) / 8.0
    least, most = (float(found[f"{name} 2"].get("width")) / hour * 60 for name in ("least", "bar"))
    assert (least, most) == pytest.approx((40.0, 90.0), abs=0.05)
    for place, key in enumerate(("finish_usual", "finish_sure")):
        at = (float(found[f"mark {place}"].get("x1")) - scale["08:00"]) / hour
        assert at == pytest.approx(example.numbers[f"time_plan.{key}"].node.value / 3600, abs=1e-3)
    assert (float(found["mark 2"].get("x1")) - scale["08:00"]) / hour == pytest.approx(8.0, abs=1e-3)


def test_the_house_is_without_gas_from_the_cut_off_until_it_is_lit_up(example):
    chart = drawn(example)["time_plan"]
    found, scale = parts(chart), ticks(chart, ("08:00", "16:00"))
    hour = (scale["16:00"] - scale["08:00"]) / 8.0
    box = found["without gas"]
    right = (float(box.get("x")) + float(box.get("width")) - scale["08:00"]) / hour
    assert right == pytest.approx(example.numbers["time_plan.gas_back_sure"].node.value / 3600, abs=1e-3)
    assert float(box.get("x")) == pytest.approx(float(found["bar 5"].get("x")), abs=1e-3)  # the cut-off's own begin
    capped = drawn(made(survey={"job.route": '"cap and abandon"'}))["time_plan"]
    assert "without gas" not in parts(capped)


@pytest.mark.parametrize("case", CASES)
def test_every_chart_parses_names_itself_and_stays_on_its_paper(case):
    found = charts(plan_of(case))
    assert [chart.key for chart in found] == ["pit_air", "time_plan"]
    for chart in found:
        root = ET.fromstring(chart.svg)
        assert root.find(f"{SVG}title").text == chart.title and len(root.find(f"{SVG}desc").text) > 40
        for element in root.iter():
            xs, ys = [], []
            if element.tag == f"{SVG}path":
                xs, ys = (list(numbers) for numbers in zip(*points(element), strict=True))
            elif element.tag == f"{SVG}line":
                xs, ys = ([float(element.get(f"{axis}{end}")) for end in "12"] for axis in "xy")
            elif element.tag == f"{SVG}rect":
                x, y, width, height = (float(element.get(key)) for key in ("x", "y", "width", "height"))
                xs, ys = [x, x + width], [y, y + height]
            elif element.tag == f"{SVG}text":
                xs, ys = [float(element.get("x"))], [float(element.get("y"))]
            assert all(-0.5 <= x <= chart.width_mm + 0.5 for x in xs), (chart.key, element.attrib)
            assert all(-0.5 <= y <= chart.height_mm + 0.5 for y in ys), (chart.key, element.attrib)


@pytest.mark.parametrize("changes", [
    {"survey": {"window.end": "2030-05-14T09:00:00+00:00"}},
    {"survey": {"window.end": "2030-05-20T16:00:00+00:00"}},
    {"rules": {"task[2].most": '"200 h"'}},
    {"survey": {"site.pit_volume": '"20 m3"'}},
    {"survey": {"pressure.operating": '"2 bar"'}}])
def test_odd_jobs_are_drawn_all_the_same(changes):
    for chart in charts(made(**changes)):
        ET.fromstring(chart.svg)


def test_a_chart_is_the_same_to_the_byte_each_time(example):
    assert [chart.svg for chart in charts(example)] == [chart.svg for chart in charts(example)]


def test_a_route_without_times_has_no_time_plan():
    from variants import example as text

    count = text("rules").count("[[task]]")
    found = made(rules={f"task[{place}]": None for place in range(count)})
    assert [chart.key for chart in charts(found)] == ["pit_air"]
