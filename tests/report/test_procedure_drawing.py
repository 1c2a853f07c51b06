"""The drawing of an order of work, read back from its SVG: steps, holds and windows by name, the barrier line by where
it lies on its axis."""

import re
import xml.etree.ElementTree as ET

import pytest

from stillbore.job.files import example_text
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.schema import load_text
from stillbore.job.shipped import BUILDS, ROUTES, composed
from stillbore.plan.barriers import PIPE_WALL, planned_steps
from stillbore.report.drawings.svg import SIZES, WIDEST, draw
from stillbore.report.procedure_drawing import DrawnStep, procedure_sheet
from stillbore.run.procedure_barriers import stages

SVG = "{http://www.w3.org/2000/svg}"
EVERY = pytest.mark.parametrize("build,route", [(build, route) for build in BUILDS for route in ROUTES])


def files(build, route):
    return (load_text(PROCEDURE, composed(build, route), "mine.toml"),
            load_text(KIT, example_text(f"kit_{build}.toml"), "kit.toml"))


def drawn(build, route):
    steps = [DrawnStep(stage.step.id, stage.step.card, stage.step.action, stage.step.hold, stage.step.signers,
                       stage.barriers, stage.windows[0].held_by[0] if stage.windows else "")
             for stage in stages(*files(build, route))]
    return draw(procedure_sheet("An order of work", "Invented.", steps)).svg


def named(svg):
    return {element.get("data-name"): element for element in ET.fromstring(svg).iter() if element.get("data-name")}


def place(element):
    return float(element.get("x")), float(element.get("y"))


def barrier_lines(svg):
    """Each column's step line as points, left to right."""
    return [[tuple(map(float, pair.split())) for pair in re.findall(r"[ML](\S+ \S+)", element.get("d"))]
            for element in ET.fromstring(svg).iter() if element.get("data-name") == "barriers"]


@EVERY
def test_the_barrier_line_lies_at_the_count_of_the_plan_beside_each_step(build, route):
    """The count is worked out here by the plan's own way, from the files; the drawing is measured in millimetres."""
    svg = drawn(build, route)
    parts = named(svg)
    planned = {step.row.text("id"): step.barriers for step in planned_steps(*files(build, route), {})}
    axes = {}  # the left edge of a column's axis: count to place
    for element in ET.fromstring(svg).iter():
        if (element.get("data-name") or "").startswith("axis "):
            axes.setdefault(element.get("data-name")[5:], []).append(float(element.get("x")))
    lines = barrier_lines(svg)
    assert len(lines) == 2
    for step_id, barriers in planned.items():
        x, y = place(parts[f"step {step_id}"])
        column = 0 if x < 210.0 else 1
        upright = [(a, b) for a, b in zip(lines[column][::2], lines[column][1::2], strict=True)
                   if a[1] < y < b[1]]
        assert len(upright) == 1 and upright[0][0][0] == upright[0][1][0], step_id
        word = "wall" if barriers == PIPE_WALL else str(barriers)
        assert upright[0][0][0] == pytest.approx(axes[word][column], abs=0.01), step_id


@EVERY
def test_every_step_every_hold_and_every_window_is_in_it_by_word_and_number(build, route):
    svg = drawn(build, route)
    parts = named(svg)
    course = stages(*files(build, route))
    assert {name for name in parts if name.startswith("step ")} == {f"step {stage.step.id}" for stage in course}
    for number in range(1, 19):
        assert parts[f"hold {number}"].text == f"HOLD {number}"
    windows = {f"window {stage.step.id}" for stage in course if stage.windows}
    assert {name for name in parts if name.startswith("window ")} == windows and windows
    description = ET.fromstring(svg).find(f"{SVG}desc").text
    assert "one-barrier windows after" in description and "E14 (stopper)" in description


@EVERY
def test_it_is_black_on_white_and_nothing_runs_off_the_paper(build, route):
    svg = drawn(build, route)
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg)) <= {"#000", "#fff", "none"}
    for element in ET.fromstring(svg).iter(f"{SVG}text"):
        x, y = place(element)
        # ``text_width`` of the drawings reckons on the wide side; so does this, from the type size alone.
        width = len(element.text) * float(element.get("font-size")) * WIDEST
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor")] * width
        assert left > 0.0 and left + width < 420.0 and SIZES["small"] < y < 297.0, element.text


def test_no_card_is_cut_and_its_frame_holds_its_steps():
    svg = drawn("two_branches", "renew towards the main")
    parts = named(svg)
    for stage in stages(*files("two_branches", "renew towards the main")):
        frame = parts[f"card {stage.step.card}"]
        x, y = place(parts[f"step {stage.step.id}"])
        left, top = place(frame)
        assert left < x < left + float(frame.get("width")), stage.step.id
        assert top < y < top + float(frame.get("height")), stage.step.id


def test_one_card_alone_is_drawn_too():
    step = DrawnStep("X1", "Arrive", "Look", 0, 0, 0, "")
    svg = draw(procedure_sheet("One step", "Invented.", [step])).svg
    assert "step X1" in named(svg) and "no step" in ET.fromstring(svg).find(f"{SVG}desc").text
