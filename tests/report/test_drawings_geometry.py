"""The drawings' geometry, measured back from shapes alone, and what they leave out where the plan does not know.

test_drawings.py reads the shipped cases; here each file is changed one fact at a time.
"""

import io
import math
import re
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pypdfium2
import pytest
import typst

import stillbore
from stillbore.job.files import load_job
from stillbore.plan import Plan, plan
from stillbore.report.drawings import Drawing, drawings
from stillbore.report.drawings.shapes import Hatch, Label, Line, Sheet, View, box, spread
from stillbore.report.drawings.svg import draw

EXAMPLES = Path(stillbore.__file__).parent / "examples"
KITS = ("kit_two_branches.toml", "kit_single_branch.toml")
ALL = ("cross_section", "side_view", "pit", "travel_strip", "route", "force")
WITHIN = 0.01  # mm on paper
Edit = Callable[[str], str]


def unchanged(text: str) -> str:
    return text


def setting(key: str, value: str) -> Edit:
    """Writes one fact of a job file anew, on every line that has it."""

    def edit(text: str) -> str:
        changed, count = re.subn(rf"^{key} = .*$", lambda _: f"{key} = {value}", text, flags=re.MULTILINE)
        assert count, f"there is no {key} to change"
        return changed

    return edit


def planned(folder: Path, kit: str = KITS[0], survey_edit: Edit = unchanged, kit_edit: Edit = unchanged) -> Plan:
    """The example, with its survey or kit changed."""
    survey_file, kit_file = folder / "survey.toml", folder / "kit.toml"
    survey_file.write_text(survey_edit((EXAMPLES / "service.toml").read_text("utf-8")), "utf-8")
    kit_file.write_text(kit_edit((EXAMPLES / kit).read_text("utf-8")), "utf-8")
    return plan(load_job(survey_file, kit=kit_file))


class Read:
    """A drawing read back from its SVG."""

    def __init__(self, drawing: Drawing) -> None:
        self.root = ElementTree.fromstring(drawing.svg)

    def named(self, name: str) -> ElementTree.Element:
        found = [element for element in self.root.iter() if element.get("data-name") == name]
        assert len(found) == 1, f"{name}: {len(found)} elements"
        return found[0]

    def has(self, name: str) -> bool:
        return any(element.get("data-name") == name for element in self.root.iter())

    def numbers(self, name: str, *keys: str) -> tuple[float, ...]:
        return tuple(float(self.named(name).attrib[key]) for key in keys)

    def height(self, name: str) -> float:
        first, last = self.numbers(name, "y1", "y2")
        return last - first

    def span(self, name: str) -> tuple[float, float]:
        first, last = self.numbers(name, "x1", "x2")
        return first, last

    def points(self, name: str) -> list[tuple[float, float]]:
        pairs = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", self.named(name).attrib["d"])
        return [(float(x), float(y)) for x, y in pairs]

    @property
    def texts(self) -> list[str]:
        return [element.text or "" for element in self.root.iter() if element.tag.endswith("text")]


def by_key(found: Plan) -> dict[str, Drawing]:
    return {drawing.key: drawing for drawing in drawings(found)}


def value(found: Plan, name: str, side: str = "value") -> float:
    """A number of the plan in millimetres."""
    node = found.number(name).node
    number = getattr(node, side)
    assert number is not None
    return 1e3 * number


def far_wall(found: Plan) -> float:
    """The depth from saw contact at which saw or pilot first reaches the far wall of the measured pipe."""
    return min(value(found, f"travel.measured.{tool}_far_wall", "low") for tool in ("saw", "pilot"))


@pytest.fixture(params=KITS)
def found(request: pytest.FixtureRequest, tmp_path: Path) -> Plan:
    return planned(tmp_path, request.param)


def test_both_kits_get_every_drawing_and_each_says_size_scale_and_words(found: Plan) -> None:
    made = drawings(found)
    assert tuple(drawing.key for drawing in made) == ALL
    for drawing in made:
        root = Read(drawing).root
        assert root.attrib["width"] == f"{drawing.width_mm:.3f}mm"
        assert root.attrib["height"] == f"{drawing.height_mm:.3f}mm"
        assert root.attrib["viewBox"] == f"0 0 {drawing.width_mm:.3f} {drawing.height_mm:.3f}"
        assert drawing.width_mm <= 180.0
        first, second = list(root)[:2]
        assert (first.tag.split("}")[1], first.text) == ("title", drawing.title)
        assert (second.tag.split("}")[1], second.text) == ("desc", drawing.description)
        assert root.attrib["aria-labelledby"].split() == [first.attrib["id"], second.attrib["id"]]
        ratio = re.match(r"1:\d+", drawing.scale)
        assert ratio is not None
        assert any(ratio.group() in text for text in Read(drawing).texts)


def test_attributes_are_sorted(found: Plan) -> None:
    for drawing in drawings(found):
        for tag in re.findall(r"<\w+((?: [\w-]+=\"[^\"]*\")+)/?>", drawing.svg):
            keys = re.findall(r" ([\w-]+)=", tag)
            assert keys == sorted(keys)


def test_black_on_white_and_no_letter_under_the_least_size(found: Plan) -> None:
    for drawing in drawings(found):
        paints = set(re.findall(r'(?:fill|stroke)="([^"]*)"', drawing.svg))
        assert paints <= {"#000", "#fff", "none"}
        sizes = [float(size) for size in re.findall(r'font-size="([^"]*)"', drawing.svg)]
        assert sizes and min(sizes) >= 2.8
        assert "sans-serif" in Read(drawing).root.attrib["font-family"]


@pytest.mark.parametrize(("stage", "name", "side"), [
    ("loose", "travel.measured.loose", "high"), ("full", "travel.measured.full", "high")])
def test_the_depths_drawn_are_the_plans(found: Plan, stage: str, name: str, side: str) -> None:
    section = Read(by_key(found)["cross_section"])
    assert section.height(f"{stage} depth") == pytest.approx(value(found, name, side), abs=WITHIN)


def test_target_and_far_wall_are_drawn_at_the_plans_depth(found: Plan) -> None:
    section = Read(by_key(found)["cross_section"])
    lead = value(found, "travel.datum_lead")
    assert section.height("target depth") == pytest.approx(value(found, "travel.feed_target") - lead, abs=WITHIN)
    far = far_wall(found)
    assert section.height("far depth") == pytest.approx(far, abs=WITHIN)


def test_the_picture_itself_shows_loose_full_and_far_wall(found: Plan) -> None:
    """From the shapes alone: teeth, kerf and circles, without the plan. The last corner of the kerf to come through
    lies on the bore; when the far wall is reached, saw or pilot touches it and neither is in it."""
    section = Read(by_key(found)["cross_section"])
    # Every stage has its own pilot and saw of the same names: take them in order.
    order = ["start", "loose", "full", "target", "far"]
    elements = list(section.root.iter())
    rights = [element for element in elements if element.get("data-name") == "saw right"]
    pilots = [element for element in elements if element.get("data-name") == "pilot"]
    assert len(rights) == len(pilots) == len(order)

    def from_axis(stage: str, x: float, y: float) -> float:
        cx, cy = section.numbers(f"{stage} bore", "cx", "cy")
        return math.hypot(x - cx, y - cy)

    def corners(stage: str) -> tuple[tuple[float, float], tuple[float, float]]:
        x, y, width, height = (float(rights[order.index(stage)].attrib[key]) for key in ("x", "y", "width", "height"))
        return (x, y + height), (x + width, y + height)

    def bore(stage: str) -> float:
        return section.numbers(f"{stage} bore", "r")[0]

    assert from_axis("loose", *corners("loose")[0]) == pytest.approx(bore("loose"), abs=WITHIN)
    assert from_axis("loose", *corners("loose")[1]) > bore("loose") + 0.1  # a ledge is left
    assert from_axis("full", *corners("full")[1]) == pytest.approx(bore("full"), abs=WITHIN)
    assert from_axis("target", *corners("target")[1]) < bore("target") - 0.1
    tips = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", pilots[order.index("far")].attrib["d"])
    tip_x, tip_y = max(((float(x), float(y)) for x, y in tips), key=lambda point: point[1])
    cx, cy = section.numbers("far bore", "cx", "cy")
    room = [cy + bore("far") - tip_y, bore("far") - from_axis("far", *corners("far")[1])]
    assert min(room) == pytest.approx(0.0, abs=WITHIN)
    assert abs(tip_x - cx) < bore("far")


def test_depths_are_written_in_the_kits_datum_and_from_saw_contact(found: Plan) -> None:
    section = Read(by_key(found)["cross_section"])
    datum = str(found.kit.value("travel.counted_from"))
    lead = value(found, "travel.datum_lead")
    for stage in ("start", "loose", "full", "target", "far"):
        kit_text, teeth_text = section.named(f"{stage} caption 1").text, section.named(f"{stage} caption 2").text
        kit_words = re.fullmatch(r"kit: (-?[\d.]+) mm from (.+)", kit_text or "")
        teeth_words = re.fullmatch(r"teeth: (-?[\d.]+) mm from saw contact", teeth_text or "")
        assert kit_words and teeth_words and kit_words.group(2) == datum
        assert float(kit_words.group(1)) - float(teeth_words.group(1)) == pytest.approx(lead, abs=0.1 + 1e-9)


def test_the_thickest_tube_is_drawn(tmp_path: Path) -> None:
    found = planned(tmp_path, survey_edit=setting("wall", '"unknown"'))
    assert len(found.tubes) > 1
    section = Read(by_key(found)["cross_section"])
    walls = [tube.wall.high or 0.0 for tube in found.tubes]
    drawn = section.numbers("start outside", "r")[0] - section.numbers("start bore", "r")[0]
    assert drawn == pytest.approx(1e3 * max(walls), abs=WITHIN)


@pytest.mark.parametrize("kit", KITS)
def test_with_an_unknown_wall_that_the_saw_cannot_suit_there_is_no_travel_strip(tmp_path: Path, kit: str) -> None:
    found = planned(tmp_path, kit, survey_edit=setting("wall", '"unknown"'))
    assert "travel.feed_target" not in found.numbers
    assert tuple(by_key(found)) == ("cross_section", "side_view", "pit", "route", "force")
    section = Read(by_key(found)["cross_section"])
    assert section.has("never title") and not section.has("full title") and not section.has("target title")


def test_an_unknown_wall_with_a_travel_for_every_tube_gets_a_strip_of_the_worst(tmp_path: Path) -> None:
    def two_inch(text: str) -> str:
        text = setting("outside_diameter", '{ value = "60.3 mm", instrument = "C7" }')(text)
        return setting("size", '"2"')(setting("wall", '"unknown"')(text))

    found = planned(tmp_path, KITS[1], survey_edit=two_inch)
    assert len(found.tubes) > 1
    strip = Read(by_key(found)["travel_strip"])
    loose = min(value(found, f"travel.{tube.key}.loose", "low") for tube in found.tubes)
    zero = strip.numbers("tick 0", "y1")[0]
    assert min(y for _, y in strip.points("band loose")) - zero == pytest.approx(loose, abs=WITHIN)
    assert by_key(found)["cross_section"].scale.startswith("1:2")


@pytest.mark.parametrize("diameter", ["30 mm", "100 mm"])
def test_an_undecided_size_gives_no_drawing(tmp_path: Path, diameter: str) -> None:
    edit = setting("outside_diameter", f'{{ value = "{diameter}", instrument = "C7" }}')
    found = planned(tmp_path, survey_edit=edit)
    assert found.tubes == ()
    assert drawings(found) == ()


def test_a_kit_without_a_saw_of_the_size_still_gets_its_side_view(tmp_path: Path) -> None:
    edit = setting("outside_diameter", '{ value = "60.3 mm", instrument = "C7" }')
    found = planned(tmp_path, KITS[0], survey_edit=edit)
    assert found.tubes
    assert tuple(by_key(found)) == ("side_view", "pit", "route", "force")


@pytest.mark.parametrize("key", ["nearest_thread", "pit_end", "clear_length"])
def test_an_unknown_length_of_the_pit_is_said_not_drawn(tmp_path: Path, key: str) -> None:
    found = planned(tmp_path, survey_edit=setting(key, '"unknown"'))
    view = Read(by_key(found)["side_view"])
    names = {"nearest_thread": ["thread distance", "thread"], "pit_end": ["pit end"], "clear_length": []}
    for name in names[key]:
        assert not view.has(name)
    if key != "clear_length":  # without either the window has no far end
        assert not view.has("window")
        assert "WINDOW NOT KNOWN" in view.texts


def test_an_empty_cutting_window_is_said_in_words(tmp_path: Path) -> None:
    found = planned(tmp_path, survey_edit=setting("pit_end", '"200 mm"'))
    view = Read(by_key(found)["side_view"])
    assert "NO PLACE TO CUT" in view.texts
    assert not view.has("window")


def test_the_side_view_keeps_its_scale(found: Plan) -> None:
    drawing = by_key(found)["side_view"]
    view = Read(drawing)
    ratio = float(re.search(r"1:(\d+)", drawing.scale).group(1))  # type: ignore[union-attr]
    kit = found.kit.fact
    for name, wanted in (("window from", value(found, "window.from")), ("window to", value(found, "window.to")),
                         ("thread distance", 1e3 * (found.survey.fact("site.nearest_thread").value or 0.0)),
                         ("pit end", 1e3 * (found.survey.fact("site.pit_end").value or 0.0)),
                         ("overhang", value(found, "strength.overhang"))):
        first, last = view.span(name)
        assert (last - first) * ratio == pytest.approx(wanted, abs=WITHIN * ratio)
    left, width = view.numbers("saddle", "x", "width")
    assert width * ratio == pytest.approx(2e3 * (kit("saddle.half_length").value or 0.0), abs=WITHIN * ratio)
    centre = left + 0.5 * width
    xs = [x for x, _ in view.points("window")]
    assert (min(xs) - centre) * ratio == pytest.approx(value(found, "window.from"), abs=2 * WITHIN * ratio)
    assert (max(xs) - centre) * ratio == pytest.approx(value(found, "window.to"), abs=2 * WITHIN * ratio)
    stopper = [x for x, _ in view.points("stopper")]
    assert max(stopper) < centre  # towards the main, which is on the left
    row = next(row for row in found.kit.rows("stopper") if row["size"] == found.size)
    assert (max(stopper) - min(stopper)) * ratio == pytest.approx(1e3 * (row.fact("length").value or 0.0),
                                                                  abs=2 * WITHIN * ratio)


def test_props_and_clamps_stand_where_they_may(found: Plan) -> None:
    drawing = by_key(found)["side_view"]
    view = Read(drawing)
    ratio = float(re.search(r"1:(\d+)", drawing.scale).group(1))  # type: ignore[union-attr]
    left, width = view.numbers("saddle", "x", "width")
    main = [x for x, _ in view.points("prop main")]
    house = [x for x, _ in view.points("prop house")]
    assert max(main) <= left and min(house) >= left + width
    first, last = view.span("props")
    assert first == pytest.approx(0.5 * (min(main) + max(main)), abs=WITHIN)
    assert last == pytest.approx(0.5 * (min(house) + max(house)), abs=WITHIN)
    assert (last - first) * ratio <= value(found, "strength.prop_spacing")
    window = [x for x, _ in view.points("window")]
    clamp, clamp_width = view.numbers("clamp main", "x", "width")
    assert clamp + clamp_width <= left
    assert view.numbers("clamp house", "x")[0] >= max(window)
    lead = [x for x, _ in view.points("bond lead")]
    assert min(lead) < min(main) and max(lead) > max(window)


@pytest.mark.parametrize(("kit", "branches"), [(KITS[0], 2), (KITS[1], 1)])
def test_as_many_branches_as_the_kit_is_built_with(tmp_path: Path, kit: str, branches: int) -> None:
    svg = by_key(planned(tmp_path, kit))["side_view"].svg
    assert svg.count('data-name="flange"') == branches
    assert svg.count('data-name="cap"') == branches - 1  # the drill branch is capped before the cut


def test_scale_bars_are_as_long_as_they_say(found: Plan) -> None:
    for key in ("cross_section", "side_view"):
        drawing = by_key(found)[key]
        read = Read(drawing)
        words = next(match for match in (re.match(r"(\d+) mm at 1:(\d+)", text) for text in read.texts) if match)
        length, ratio = float(words.group(1)), float(words.group(2))
        assert read.numbers("scale bar", "width")[0] == pytest.approx(length / ratio, abs=WITHIN)


def test_the_strip_marks_what_the_plan_says(found: Plan) -> None:
    strip = Read(by_key(found)["travel_strip"])
    zero = strip.numbers("tick 0", "y1")[0]

    def edges(name: str) -> tuple[float, float]:
        heights = [y - zero for _, y in strip.points(name)]
        return min(heights), max(heights)

    lead = value(found, "travel.datum_lead")
    assert strip.numbers("target", "y1")[0] - zero == pytest.approx(value(found, "travel.feed_target"), abs=WITHIN)
    assert edges("band window") == pytest.approx(
        (value(found, "travel.feed_from"), value(found, "travel.feed_to")), abs=WITHIN)
    assert edges("band loose") == pytest.approx(
        (lead + value(found, "travel.measured.loose", "low"), lead + value(found, "travel.measured.full", "high")),
        abs=WITHIN)
    far = far_wall(found)
    assert strip.numbers("band far", "y")[0] - zero == pytest.approx(lead + far, abs=WITHIN)


def test_turns_lie_where_the_plan_counts_them(found: Plan) -> None:
    """The plan says at which turns the mark to aim at is reached; between two whole turns of the strip that agrees."""
    strip = Read(by_key(found)["travel_strip"])
    zero = strip.numbers("tick 0", "y1")[0]
    target = value(found, "travel.feed_target")
    node = found.number("travel.turns").node
    pitch = 1e3 * (found.kit.fact("travel.screw_pitch").value or 0.0)
    assert node.low is not None and node.high is not None
    below = math.floor(node.low)
    top, height = strip.numbers(f"turns {below}", "y", "height")
    # The most play puts a turn highest on the strip, and makes the most turns to a feed.
    assert target - (top - zero) == pytest.approx((node.high - below) * pitch, abs=WITHIN)
    assert target - (top + height - zero) == pytest.approx((node.low - below) * pitch, abs=WITHIN)


@pytest.mark.parametrize("system_fonts", [True, False])
def test_the_check_bar_measured_back_from_a_pdf(found: Plan, system_fonts: bool) -> None:
    """A typst page with the strip at its stated size, rendered at a known number of dots per inch."""
    drawing = by_key(found)["travel_strip"]
    page = (f"#set page(width: 210mm, height: 297mm, margin: 10mm)\n"
            f"#image(bytes(sys.inputs.svg), format: \"svg\", width: {drawing.width_mm}mm, "
            f"height: {drawing.height_mm}mm)")
    pdf = typst.compile(page.encode(), sys_inputs={"svg": drawing.svg}, ignore_system_fonts=not system_fonts)
    dots = 600.0
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    picture = document[0].render(scale=dots / 72.0, grayscale=True).to_pil()
    x, y, width = (float(bar.attrib[key]) for bar in Read(drawing).root.iter() if bar.get("data-name") == "check bar"
                   for key in ("x", "y", "width"))
    column = round((10.0 + x + 0.5 * width) * dots / 25.4)
    black = [row for row in range(picture.height) if picture.getpixel((column, row)) < 128]
    run = [row for row in black if row > (10.0 + y - 3.0) * dots / 25.4]
    assert run == list(range(run[0], run[-1] + 1)), "the bar is one unbroken run"
    assert len(run) * 25.4 / dots == pytest.approx(50.0, abs=0.2)
    text = document[0].get_textpage().get_text_range()
    assert "check that this bar is 50 mm" in text and "AIM AT" in text


def test_every_label_is_escaped(tmp_path: Path) -> None:
    awkward = '<a href="x">&amp; ]]> \\u0007'

    def edit(text: str) -> str:
        quoted = awkward.replace('"', '\\"')
        text = re.sub(r'^id = "(?:SAW|ST)-100"$', lambda _: f'id = "{quoted}"', text, flags=re.MULTILINE)
        return setting("name", f'"{quoted}"')(text)

    found = planned(tmp_path, kit_edit=edit)
    made = by_key(found)
    assert tuple(made) == ALL
    for drawing in made.values():
        read = Read(drawing)  # parses: nothing leaked out of a text
        assert not [element for element in read.root.iter() if element.tag.endswith("}a")]
    assert any('<a href="x">&amp; ]]>' in text for text in Read(made["cross_section"]).texts)


def test_a_label_keeps_its_own_text_whatever_it_holds() -> None:
    text = "<&>\"'\x00\x1b ]]> end"
    sheet = Sheet("key", text, "1:1", text, 0.1, 0.1, (View(1.0, (0.0, 0.0), (Label((0.01, 0.01), text),)),))
    read = Read(draw(sheet))
    assert read.texts == [text.replace("\x00", " ").replace("\x1b", " ")]


@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("wall", ["as measured", '"unknown"'])
def test_labels_do_not_run_into_each_other_or_off_the_paper(tmp_path: Path, kit: str, wall: str) -> None:
    found = planned(tmp_path, kit, survey_edit=unchanged if wall == "as measured" else setting("wall", wall))
    for drawing in drawings(found):
        boxes = []
        for element in Read(drawing).root.iter():
            if not element.tag.endswith("text") or not element.text:
                continue
            size = float(element.attrib["font-size"])
            wide = 0.5 * size * len(element.text)  # the mean letter of the first font named
            x, y = float(element.attrib["x"]), float(element.attrib["y"])
            left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[element.attrib["text-anchor"]] * wide
            assert left >= -0.5 and left + wide <= drawing.width_mm + 0.5, element.text
            assert size <= y + 1e-6 and y <= drawing.height_mm, element.text
            boxes.append((left, y - 0.72 * size, left + wide, y, element.text))
        for index, first in enumerate(boxes):
            for second in boxes[index + 1:]:
                apart = (first[2] <= second[0] or second[2] <= first[0] or first[3] <= second[1]
                         or second[3] <= first[1])
                assert apart, f"{drawing.key}: '{first[4]}' over '{second[4]}'"


def test_hatching_stays_inside_its_area_and_out_of_its_hole() -> None:
    outside, hole = box(0.0, 0.0, 0.02, 0.02), box(0.005, 0.005, 0.015, 0.015)
    sheet = Sheet("key", "title", "1:1", "words", 0.02, 0.02,
                  (View(1.0, (0.0, 0.0), (Hatch((outside, hole), "steel", "hatch"),)),))
    points = Read(draw(sheet)).points("hatch")
    assert len(points) > 40
    for x, y in points:
        on_outside = min(abs(x), abs(x - 20.0), abs(y), abs(y - 20.0)) < 2e-3
        on_hole = min(abs(x - 5.0), abs(x - 15.0), abs(y - 5.0), abs(y - 15.0)) < 2e-3
        assert on_outside or on_hole
    for (x1, y1), (x2, y2) in zip(points[::2], points[1::2], strict=True):
        middle = (0.5 * (x1 + x2), 0.5 * (y1 + y2))
        assert not (5.0 < middle[0] < 15.0 and 5.0 < middle[1] < 15.0)


def test_a_view_turns_metres_into_millimetres_at_its_scale() -> None:
    sheet = Sheet("key", "title", "2:1", "words", 0.1, 0.1,
                  (View(2.0, (0.01, 0.02), (Line((0.0, 0.0), (0.003, 0.004), "pipe", "line"),)),))
    assert Read(draw(sheet)).numbers("line", "x1", "y1", "x2", "y2") == (10.0, 20.0, 16.0, 28.0)


def test_crowded_labels_are_spread_in_order_and_lonely_ones_stay() -> None:
    wanted = [0.0, 10.0, 10.2, 10.4, 30.0]
    places = spread(wanted, 4.0)
    assert all(second - first >= 4.0 - 1e-9 for first, second in zip(places, places[1:], strict=False))
    assert places[0] == 0.0 and places[4] == 30.0
    assert sum(places[1:4]) == pytest.approx(sum(wanted[1:4]))
