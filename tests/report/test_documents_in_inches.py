"""Documents and drawings in inches and pounds: nothing metric in them but what was written so, and the same size on
paper as the ones in millimetres."""

import functools
import re
import xml.etree.ElementTree as ET

import numpy
import pytest
from cases import squeezed
from variants import PACKAGE, SINGLE_BRANCH, TWO_BRANCHES

from stillbore.display import METRIC, US
from stillbore.job.files import load_job
from stillbore.plan import plan
from stillbore.report.document import data
from stillbore.report.drawings import charts, drawings
from stillbore.report.drawings.ruler import INCHES, MILLIMETRES
from stillbore.report.html import to_html
from stillbore.report.pack import numbers_part, pack, steps_part
from stillbore.report.sheet import sheet

SVG = "{http://www.w3.org/2000/svg}"
EXAMPLES = PACKAGE / "examples"
METRIC_WORD = re.compile(r"\b(mm|mbara?|kPa|MPa|millimetres|mbar, time)\b")
KITS = (TWO_BRANCHES, SINGLE_BRANCH)


@functools.cache
def planned(kit, display=US, survey="service", rules="rules"):
    return plan(load_job(EXAMPLES / f"{survey}.toml", EXAMPLES / f"{kit}.toml", EXAMPLES / f"{rules}.toml"), display)


def texts(value):
    """Every text of a document."""
    if isinstance(value, dict):
        yield from (text for item in value.values() for text in texts(item))
    elif isinstance(value, list):
        yield from (text for item in value for text in texts(item))
    elif isinstance(value, str):
        yield value


def drawn(kit, display=US):
    return {drawing.key: drawing for drawing in drawings(planned(kit, display))}


def places(drawing, first):
    """Where the parts of a drawing lie whose names begin so: (top, height) in millimetres of paper."""
    found = {}
    for element in ET.fromstring(drawing.svg).iter():
        name = element.get("data-name") or ""
        if name.startswith(first):
            if element.get("d"):
                down = [float(number) for number in re.findall(r"-?\d+\.\d+", element.get("d"))[1::2]]
                found[name] = min(down), max(down) - min(down)
            else:
                found.setdefault(name, (float(element.get("y") or element.get("y1")),
                                        float(element.get("height") or 0.0)))
    return found


def words(drawing):
    return [element.text or "" for element in ET.fromstring(drawing.svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("kit", KITS)
def test_sheet_numbers_and_steps_are_in_inches(kit):
    found = planned(kit)
    sources = {fact.source for row in found.rules.sections.values() for each in row for fact in each.facts.values()}
    for document in (data(sheet(found)), data(numbers_part(found)), data(steps_part(found))):
        said = [text for text in texts(document) if text not in sources]  # a source is quoted
        assert [text for text in said if METRIC_WORD.search(text)] == []
    assert any("in w.c." in text for text in texts(data(sheet(found))))


@pytest.mark.parametrize("kit", KITS)
def test_the_pack_quotes_what_was_written_and_adds_what_it_is_in_inches(kit):
    """The survey says 640 mm: that stays as it was written, beside 25.2 in (640 / 25.4)."""
    text = to_html(pack(planned(kit)))
    assert "640 mm" in text and "taken as 25.20 in" in text
    assert "75 mbar" in text and "30.1\u00a0in\u00a0w.c." in text  # 7500 Pa / 249.08891 Pa
    assert "taken as" in to_html(pack(planned(kit, METRIC))) and "25.20 in" not in to_html(pack(planned(kit, METRIC)))


def test_a_unit_of_two_words_stays_on_one_line():
    """'6.00 in' at the end of a line would be a length."""
    text = to_html(sheet(planned(TWO_BRANCHES)))
    assert "in\u00a0w.c." in text and "in w.c." not in text


@pytest.mark.parametrize("kit", KITS)
def test_the_strip_in_inches_has_the_size_of_the_one_in_millimetres(kit):
    inches, metric = drawn(kit)["travel_strip"], drawn(kit, METRIC)["travel_strip"]
    ticks = sorted(top for top, _ in places(inches, "tick ").values())
    assert numpy.allclose(numpy.diff(ticks), 25.4 / 20, atol=2e-3)  # twentieths of an inch, to a thousandth of a mm
    bar = places(inches, "check bar")["check bar"]
    assert bar[1] == pytest.approx(50.8, abs=1e-9)  # two inches
    for name, (top, height) in places(metric, "band").items():
        zero = places(metric, "tick 0")["tick 0"][0], places(inches, "tick 0")["tick 0"][0]
        other = places(inches, "band")[name]
        assert other[0] - zero[1] == pytest.approx(top - zero[0], abs=1e-9), name  # where in the travel it begins
        if name != "band far":  # it ends at the last tick
            assert other[1] == pytest.approx(height, abs=1e-9), name
    assert any("check that this bar is 2 in" in text for text in words(inches))


@pytest.mark.parametrize("kit", KITS)
def test_what_is_written_on_the_strip_is_the_plan_in_inches(kit):
    found = planned(kit)
    target = found.numbers["travel.feed_target"].node.value / 0.0254
    assert any(text.startswith(f"AIM AT {target:.3f} in") for text in words(drawn(kit)["travel_strip"]))


@pytest.mark.parametrize("key", ["cross_section", "side_view", "travel_strip"])
@pytest.mark.parametrize("kit", KITS)
def test_no_drawing_in_inches_has_millimetres(kit, key):
    drawing = drawn(kit)[key]
    said = [*words(drawing), drawing.description, drawing.scale]
    assert [text for text in said if METRIC_WORD.search(text)] == []
    assert any(METRIC_WORD.search(text) for text in words(drawn(kit, METRIC)[key]))  # and the other one has


@pytest.mark.parametrize("survey, rules", [("service_us", "rules_us"), ("service", "rules_us")])
@pytest.mark.parametrize("kit", KITS)
def test_the_drawings_of_the_renewal_and_the_charts_have_nothing_metric(kit, survey, rules):
    found = planned(kit, US, survey, rules)
    for drawing in (*drawings(found), *charts(found)):
        said = [*words(drawing), drawing.description, drawing.scale]
        assert [text for text in said if METRIC_WORD.search(text)] == [], drawing.key
        if drawing.key in ("route", "force", "pit_air"):
            assert [text for text in said if re.search(r"\d (m|m3|l|N|l/h|m3/h)\b|metre", text)] == [], drawing.key


@pytest.mark.parametrize("kit", KITS)
def test_the_charts_ticks_are_feet_and_pounds(kit):
    """Two ticks apart on paper, worked back with the scale in the title: a foot is 304.8 mm; the force by its words."""
    found = planned(kit, US, "service_us", "rules_us")
    drawing = {one.key: one for one in drawings(found)}["force"]
    labels = [element for element in ET.fromstring(drawing.svg).iter(f"{SVG}text")]
    ratio = int(re.search(r"1:(\d+)", drawing.scale)[1])
    along = {float(one.text): float(one.get("x")) for one in labels
             if one.get("text-anchor") == "middle" and re.fullmatch(r"[\d.]+", one.text) and not one.get("font-weight")}
    first, second = sorted(along)[:2]
    assert (along[second] - along[first]) * ratio == pytest.approx((second - first) * 304.8, rel=1e-3)
    up = {float(one.text): float(one.get("y")) for one in labels
          if one.get("text-anchor") == "end" and re.fullmatch(r"[\d.]+", one.text)}
    hand = float(next(match[1] for match in (re.match(r"hand: may push ([\d.]+) lbf", one.text) for one in labels)
                      if match))
    line = next(float(one.get("y1")) for one in ET.fromstring(drawing.svg).iter() if one.get("data-name") ==
                "limit hand")
    zero, top = up[0.0], up[max(up)]
    assert (line + 1.2 - zero) / (top - zero) * max(up) == pytest.approx(hand, rel=0.01)


@pytest.mark.parametrize("key, survey", [("pit", "service_us"), ("route", "service_us")])
@pytest.mark.parametrize("kit", KITS)
def test_scale_bars_of_pit_and_way_are_as_long_as_they_say(kit, key, survey):
    drawing = {one.key: one for one in drawings(planned(kit, US, survey, "rules_us"))}[key]
    [bar] = [element for element in ET.fromstring(drawing.svg).iter() if element.get("data-name") == "scale bar"]
    length, unit, ratio = next(match.groups() for match in (re.fullmatch(r"([\d.]+) (in|ft) at 1:(\d+)", text)
                                                            for text in words(drawing)) if match)
    inch = 25.4 * (12.0 if unit == "ft" else 1.0)
    assert float(bar.get("width")) == pytest.approx(float(length) * inch / float(ratio), abs=1e-3)


@pytest.mark.parametrize("kit", KITS)
def test_scale_bars_are_as_long_as_they_say(kit):
    """8 in at 1:5 are 1.6 in of paper, 40.64 mm; 2 in at 1:1 are 50.8 mm."""
    for key in ("side_view", "cross_section"):
        drawing = drawn(kit)[key]
        [bar] = [element for element in ET.fromstring(drawing.svg).iter() if element.get("data-name") == "scale bar"]
        length, ratio = next(match.groups() for match in (re.match(r"(\d+) in at 1:(\d+)", text)
                                                          for text in words(drawing)) if match)
        assert float(bar.get("width")) == pytest.approx(float(length) * 25.4 / float(ratio), abs=1e-3)


@pytest.mark.parametrize("ruler", [MILLIMETRES, INCHES])
@pytest.mark.parametrize("value", [0.0, 0.01269, 0.0127, 0.1, 0.14999, 0.15, 0.3601])
def test_limits_are_rounded_to_the_side_that_is_kept_to(ruler, value):
    tenth = ruler.unit / 10**ruler.along
    hair = 2e-6 * tenth
    assert float(ruler.at_most(value)) * ruler.unit <= value + hair
    assert float(ruler.at_least(value)) * ruler.unit >= value - hair
    assert float(ruler.at_least(value)) * ruler.unit - float(ruler.at_most(value)) * ruler.unit <= tenth + hair
    assert float(ruler.whole(value)) * ruler.unit == pytest.approx(value, abs=0.5001 * tenth)


def test_the_sheet_asks_for_inches_where_a_person_writes():
    text = squeezed(" ".join(texts(data(sheet(planned(TWO_BRANCHES))))))
    assert "Pilotlead,measuredonthissawin" in text and "inw.c.,time" in text
