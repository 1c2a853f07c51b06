"""The drawings, read back: from the SVG in millimetres, and the travel strip from the printed page in pixels."""

import re
import xml.etree.ElementTree as ET

import numpy
import pypdfium2
import pytest
from cases import CASES, plan_of

from stillbore.report.drawings import drawings
from stillbore.report.files import pack_pdf

SVG = "{http://www.w3.org/2000/svg}"
DRAWABLE = [case for case in CASES if case != "size between bands"]


def drawn(case):
    return {drawing.key: drawing for drawing in drawings(plan_of(case))}


def parts(drawing):
    """Every element of a drawing by its data-name, first one of each."""
    found = {}
    for element in ET.fromstring(drawing.svg).iter():
        found.setdefault(element.get("data-name"), element)
    return found


def extent(element):
    """Left, top, right, bottom of an element, in millimetres of paper."""
    if element.tag == f"{SVG}rect":
        x, y, width, height = (float(element.get(key)) for key in ("x", "y", "width", "height"))
        return x, y, x + width, y + height
    if element.tag == f"{SVG}line":
        xs, ys = ([float(element.get(f"{axis}{end}")) for end in "12"] for axis in "xy")
    else:
        numbers = [float(text) for text in re.findall(r"-?\d+\.\d+", element.get("d"))]
        xs, ys = numbers[::2], numbers[1::2]
    return min(xs), min(ys), max(xs), max(ys)


def millimetres(case, name, end="high"):
    return getattr(plan_of(case).numbers[name].node, end) * 1e3


@pytest.mark.parametrize("case", ["two branches", "single branch"])
def test_the_travel_strip_is_true_to_size_and_to_the_plan(case):
    strip = parts(drawn(case)["travel_strip"])
    zero = extent(strip["tick 0"])[1]
    ticks = [extent(element)[1] for name, element in strip.items() if name and name.startswith("tick ")]
    assert numpy.allclose(numpy.diff(sorted(ticks)), 1.0, atol=1e-6)
    window = extent(strip["band window"])
    assert window[1] - zero == pytest.approx(millimetres(case, "travel.feed_from"), abs=0.01)
    assert window[3] - zero == pytest.approx(millimetres(case, "travel.feed_to", "low"), abs=0.01)
    assert extent(strip["target"])[1] - zero == pytest.approx(millimetres(case, "travel.feed_target"), abs=0.01)
    bar = extent(strip["check bar"])
    assert bar[3] - bar[1] == pytest.approx(50.0, abs=1e-9)


@pytest.mark.parametrize("case", ["two branches", "single branch"])
def test_the_marks_of_the_feed_screw_stand_one_pitch_apart(case):
    strip = parts(drawn(case)["travel_strip"])
    marks = sorted(sum(extent(element)[1::2]) / 2 for name, element in strip.items()
                   if re.fullmatch(r"turns \d+", name or ""))
    pitch = plan_of(case).kit.fact("travel.screw_pitch").value * 1e3
    assert len(marks) > 5
    assert numpy.allclose(numpy.diff(marks), pitch, atol=0.002)


@pytest.mark.parametrize("case", ["two branches", "single branch"])
def test_the_cross_section_shows_tube_and_saw_at_its_scale(case):
    plan, drawing = plan_of(case), drawn(case)["cross_section"]
    scale = float(re.match(r"(\d+):1", drawing.scale)[1])
    left, _, right, _ = extent_of_circle(parts(drawing)["start outside"])
    assert (right - left) / scale == pytest.approx(plan.tubes[0].outside_diameter.low * 1e3, abs=0.5)
    outside = extent(parts(drawing)["saw left"])[0], extent(parts(drawing)["saw right"])[2]
    running = millimetres(case, "travel.saw_diameter_running")
    assert (outside[1] - outside[0]) / scale == pytest.approx(running, abs=0.01)


def extent_of_circle(element):
    if element.tag == f"{SVG}circle":
        x, y, r = (float(element.get(key)) for key in ("cx", "cy", "r"))
        return x - r, y - r, x + r, y + r
    return extent(element)


@pytest.mark.parametrize("case", ["two branches", "single branch"])
def test_the_side_view_has_the_cutting_window_at_its_scale(case):
    drawing = drawn(case)["side_view"]
    ratio = float(re.match(r"1:(\d+)", drawing.scale)[1])
    window = extent(parts(drawing)["window"])
    assert (window[2] - window[0]) * ratio == pytest.approx(millimetres(case, "window.width"), abs=0.02 * ratio)
    saddle = extent(parts(drawing)["saddle"])
    half = plan_of(case).kit.fact("saddle.half_length").value * 1e3
    assert (saddle[2] - saddle[0]) * ratio == pytest.approx(2 * half, abs=0.02 * ratio)
    assert (window[0] - (saddle[0] + saddle[2]) / 2) * ratio == pytest.approx(
        millimetres(case, "window.from"), abs=0.02 * ratio)


@pytest.mark.parametrize("case", DRAWABLE)
def test_every_drawing_parses_names_itself_and_stays_on_its_paper(case):
    for drawing in drawings(plan_of(case)):
        root = ET.fromstring(drawing.svg)
        assert root.find(f"{SVG}title").text == drawing.title
        assert len(root.find(f"{SVG}desc").text) > 40
        assert root.get("width") == f"{drawing.width_mm:.3f}mm"
        assert root.get("viewBox") == f"0 0 {drawing.width_mm:.3f} {drawing.height_mm:.3f}"
        sizes = [float(element.get("font-size")) for element in root.iter() if element.get("font-size")]
        assert min(sizes) >= 2.8
        for element in root.iter():
            if element.tag in (f"{SVG}rect", f"{SVG}line", f"{SVG}path"):
                left, top, right, bottom = extent(element)
                where = (drawing.key, element.attrib)
                assert left >= -0.5 and top >= -0.5, where
                assert right <= drawing.width_mm + 0.5 and bottom <= drawing.height_mm + 0.5, where


def test_a_drawing_is_the_same_to_the_byte_each_time():
    from stillbore.plan import plan

    first = [drawing.svg for drawing in drawings(plan_of("two branches"))]
    again = [drawing.svg for drawing in drawings(plan(plan_of("two branches").files))]
    assert first == again and len(first) == 6


def test_hostile_names_are_text_and_not_markup():
    for drawing in drawings(plan_of("hostile")):
        tags = {element.tag for element in ET.fromstring(drawing.svg).iter()}
        assert f"{SVG}script" not in tags


def test_a_plan_without_a_size_has_no_drawing():
    assert drawings(plan_of("size between bands")) == ()


def test_without_a_window_there_is_no_strip_to_work_from():
    assert "travel_strip" not in drawn("wall unknown")


def test_the_check_bar_is_50_mm_on_the_printed_page():
    """Measured back from the PDF as it is printed: the solid bar, in pixels at 300 dpi."""
    pages = pypdfium2.PdfDocument(pack_pdf(plan_of("two branches")))
    page = next(page for page in pages if "check that this bar is 50 mm" in page.get_textpage().get_text_range())
    scale = 300 / 72
    dark = numpy.asarray(page.render(scale=scale).to_pil().convert("L")) < 100
    right = dark[:, dark.shape[1] // 2:]
    # Columns of the bar are dark over its whole height; nothing else on that half of the page is so thick and so long.
    runs = [longest_run(column) for column in right.T]
    bar = [run for run, left, after in zip(runs[1:-1], runs[:-2], runs[2:], strict=True) if min(run, left, after) > 400]
    assert len(bar) >= 8
    length = numpy.median(bar) / 300 * 25.4
    assert length == pytest.approx(50.0, abs=0.2)


def longest_run(column):
    padded = numpy.concatenate(([0], column.astype(int), [0]))
    edges = numpy.flatnonzero(numpy.diff(padded))
    return int((edges[1::2] - edges[::2]).max(initial=0))


# The pit: measured back from the paper against the handbook's arithmetic (C17, C21) and the example files.


def length_of(element, upright=False):
    left, top, right, bottom = extent(element)
    return bottom - top if upright else right - left


@pytest.mark.parametrize("case", ["two branches", "single branch"])
def test_the_pit_is_drawn_to_its_scale(case):
    drawing = drawn(case)["pit"]
    pit, ratio = parts(drawing), float(re.match(r"1:(\d+)", drawing.scale)[1])
    # Rule set: 0.9 m at the least, 0.8 m wide at the most, 0.6 m back; half a saddle and 0.3 m on the main's side.
    saddle = plan_of(case).kit.fact
    half, start = saddle("saddle.half_length").value, sum(
        saddle(f"saddle.{key}").value for key in ("half_length", "stopper_tail", "gland_grip", "cutter_half_width"))
    length = max(0.9, start + 0.02 + 0.3 + half + 0.3)
    for name, real, upright in (("length", length, False), ("width", 0.8, True), ("setback", 0.6, True),
                                ("main end", half + 0.3, False), ("house end", length - half - 0.3, False),
                                ("cover", 0.47, True), ("below pipe", 0.2, True),
                                ("depth", 0.47 + 0.0338 + 0.2, True)):
        element = next(each for each in ET.fromstring(drawing.svg).iter(f"{SVG}line") if each.get("data-name") == name)
        assert length_of(element, upright) * ratio == pytest.approx(1e3 * real, abs=0.02 * ratio), name
    assert length_of(pit["pit from above"]) * ratio == pytest.approx(1e3 * length, abs=0.02 * ratio)
    line = extent(pit["setback"])
    assert (line[2] - line[0]) * ratio == pytest.approx(1e3 * (length + 1.2), abs=0.02 * ratio)
    assert (line[3] - line[1]) * ratio == pytest.approx(1e3 * (0.8 + 1.2), abs=0.02 * ratio)


def test_the_layers_of_the_filled_pit_are_none_too_thick():
    drawing = drawn("two branches")["pit"]
    ratio = float(re.match(r"1:(\d+)", drawing.scale)[1])
    lines = {name: element for name, element in parts(drawing).items() if re.match(r"layer \d", name or "")}
    heights = sorted(extent(element)[1] for element in lines.values())
    assert len(heights) == 3  # 0.47 m of cover less 75 mm of fine fill: 395 mm, at most 150 mm each
    assert max(numpy.diff(heights)) * ratio <= 150.0 + 0.02 * ratio
    tape, pipe = extent(parts(drawing)["tape"]), extent_of_circle(parts(drawing)["pipe across"])
    assert (pipe[1] - tape[1]) * ratio == pytest.approx(250.0, abs=0.02 * ratio)


def test_without_a_cover_the_pit_is_drawn_from_above_and_says_so():
    from variants import made

    found = {drawing.key: drawing for drawing in drawings(made(survey={"site.cover": None}))}["pit"]
    assert "depth" not in parts(found) and "length" in parts(found)
    assert "not known, because the cover is not" in found.description
    deep = {drawing.key: drawing for drawing in drawings(made(survey={"site.cover": '"2.5..3 m"'}))}["pit"]
    assert deep.height_mm <= 240.0 and deep.scale != found.scale
