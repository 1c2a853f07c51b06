"""The job pack: the answer in words, what to do, the sheet, the drawings, every number with its source, the steps."""

from __future__ import annotations

from collections.abc import Iterator

from stillbore.derive import Fact, Node, Traced
from stillbore.job.procedure import CARDS
from stillbore.plan import Plan
from stillbore.plan.barriers import PlannedStep
from stillbore.plan.method import APPLIES
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, LEVELS, Check, Finding, Grid, Number, Section
from stillbore.report import words
from stillbore.report.common import LONGEST_NAME, barriers, clipped, document, open_holds, window
from stillbore.report.customer import customer_part
from stillbore.report.document import (
    CAUTION,
    NOTE,
    OPEN,
    STOP,
    Block,
    Callout,
    Cell,
    Document,
    Figure,
    Heading,
    Paragraph,
    Part,
    Step,
    Steps,
    Table,
    cells,
)
from stillbore.report.provenance import provenance_part
from stillbore.report.sheet import sheet_parts
from stillbore.verdicts import MET

STRIP = "travel_strip"  # the key of the drawing that is laid against the feed screw


def pack(plan: Plan) -> Document:
    """The whole job pack, with job sheet and customer's page as parts of it."""
    drawings = drawings_part(plan)
    return document(plan, "pack", f"Job pack {plan.survey.value('job.id')}", answer_part(plan), *sheet_parts(plan),
                    *((drawings,) if drawings.blocks else ()), numbers_part(plan), steps_part(plan),
                    provenance_part(plan), customer_part(plan))


def result_title(plan: Plan) -> str:
    """The result in words; while a deciding hold is open, that it is not yet known."""
    if plan.result == APPLIES and not plan.known_enough:
        return words.NOT_YET_KNOWN
    return words.RESULT[plan.result]


def answer_part(plan: Plan) -> Part:
    """The first page: whether the method applies, what was found, which holds stay open, the cautions."""
    job = plan.survey.row("job")
    facts = (("Place", job.text("place")), ("Job", job.text("id")), ("Asset", job.text("asset")),
             ("Premises", job.text("premises")), ("Window", window(plan)), ("Network", job.text("network")),
             ("Reason", f"{job.text('reason')}; {job.text('route')}"), ("Ranks above this", job.text("procedure")))
    kind = {DOES_NOT_APPLY: STOP, ENGINEER: STOP}.get(plan.result, NOTE)
    blocks: list[Block] = [Callout(kind, result_title(plan), (words.RESULT_MEANS[plan.result],))]
    if plan.open_holds:
        blocks.append(Callout(OPEN, f"Holds that cannot be signed as things stand: {open_holds(plan)}", tuple(
            f"Hold {hold}: {' '.join(finding.what for finding in findings)}"
            for hold, findings in plan.open_holds.items())))
    blocks += _findings(plan)
    cautions = tuple(f"{count}. {line}" for count, line in enumerate(words.cautions(plan), 1))
    blocks.append(Callout(CAUTION, "Always", (*cautions, words.RANKS_BELOW)))
    return Part("answer", f"Job pack: {clipped(job.text('place'), LONGEST_NAME)}",
                "Isolation of a live low-pressure steel gas service with a temporary internal stopper", facts,
                tuple(blocks))


def _findings(plan: Plan) -> Iterator[Block]:
    """Every finding, what it means first, with what to do."""
    for level in LEVELS:
        found = [(section, finding) for section in plan.sections for finding in section.findings
                 if finding.level == level]
        if found:
            yield Table(f"{level.capitalize()}: {words.LEVEL_MEANS[level]}",
                        ("what was found", "what to do", "hold", "section"),
                        tuple(_finding(section, finding) for section, finding in found), (11, 8, 2, 4))


def _finding(section: Section, finding: Finding) -> tuple[Cell, ...]:
    return cells(finding.what, finding.do, ", ".join(map(str, finding.holds)), section.title)


def drawings_part(plan: Plan) -> Part:
    """The drawings, to scale, then the charts; the travel strip at its true size. Where the method does not apply there
    is no strip: it is a tool to be cut out and worked with."""
    from stillbore.report.drawings import Drawing, charts, drawings

    def figure(drawing: Drawing) -> Figure:
        return Figure(drawing.key, drawing.title, drawing.svg, drawing.width_mm, drawing.height_mm, drawing.scale,
                      drawing.description, drawing.key == STRIP)

    figures: list[Block] = [figure(drawing) for drawing in drawings(plan)
                            if drawing.key != STRIP or plan.result != DOES_NOT_APPLY]
    further = [figure(drawing) for drawing in charts(plan)]
    if further:
        figures += [Heading("Charts, not to scale"), *further]
    blocks = (*_not_to_be_started(plan, "Nothing is to be drilled from these drawings."), *figures) if figures else ()
    return Part("drawings", "Drawings", "To scale. Measure the scale bar before anything is laid against the paper.",
                (), blocks)


def _not_to_be_started(plan: Plan, sentence: str) -> tuple[Block, ...]:
    """Says again, where somebody may open the pack in the middle, that the method does not plainly apply."""
    return () if plan.result == APPLIES else (Callout(STOP, words.RESULT[plan.result], (sentence,)),)


def where_from(node: Node) -> Cell:
    """How a number came about: formula and sources, or how the fact is known."""
    if isinstance(node, Fact):
        return Cell(node.how, " ".join(filter(None, (node.source, node.instrument))))
    if node.formula is not None:
        return Cell(node.formula.name, node.source)
    if node.result:
        inner = node.inputs[node.result]
        ending = f"{node.result} end of {inner.name}"
        return Cell(ending, inner.source)
    return Cell("all it may be", ", ".join(dict.fromkeys(child.source for child in node.inputs.values()
                                                          if child.source)))


def _number(number: Number) -> tuple[Cell, ...]:
    node = number.node
    reason = node.refusal if isinstance(node, Traced) and not node.known else ""
    return cells(Cell(number.title, number.name), Cell(number.text, reason, strong=True), where_from(node))


def _check(check: Check) -> tuple[Cell, ...]:
    verdict = Cell(check.verdict.upper() if check.verdict != MET else check.verdict, strong=check.verdict != MET)
    return cells(check.title, verdict, check.text, check.margin, check.means)


def _widths(grid: Grid) -> tuple[float, ...]:
    """Shares of the line by the longest text of each column, none so narrow that a number with its unit is broken, and
    none so wide that it takes the room of the others."""
    columns = zip(grid.columns, *grid.rows, strict=True)
    return tuple(float(min(max(12, *map(len, texts)), 30)) for texts in columns)


def numbers_part(plan: Plan) -> Part:
    """Every number, check and grid, by section of the plan."""
    blocks: list[Block] = [Paragraph("Each number: best value, and in brackets the range it may lie in; then the "
                                     "formula or how it is known, with the key of its source. The small name is what "
                                     "'stillbore explain' asks for.")]
    for section in plan.sections:
        if not (section.numbers or section.checks or section.grids):
            continue
        blocks.append(Heading(section.title))
        if section.checks:
            blocks.append(Table("Checks", ("check", "verdict", "value and what is wanted", "margin", "if not met"),
                                tuple(map(_check, section.checks)), (6, 3, 7, 4, 4)))
        if section.numbers:
            blocks.append(Table("Numbers", ("number", "value (range)", "from"), tuple(map(_number, section.numbers)),
                                (8, 6, 8)))
        blocks += [Table(grid.title, grid.columns, tuple(cells(*row) for row in grid.rows), _widths(grid))
                   for grid in section.grids]
    return Part("numbers", "The plan, number by number", "", (), tuple(blocks))


def steps_part(plan: Plan) -> Part:
    """The order of work by card, with hold points, numbers and barriers."""
    procedure = plan.files.procedure.row("procedure")
    blocks: list[Block] = [*_not_to_be_started(plan, "This order of work is not to be started.")]
    blocks += [Paragraph(
        "Two people witness a step marked so. A hold is signed by a person with authority. Barriers are the fewest "
        "proved parts that gas has to pass on any way from the main to the pit, after the step; a part that is shut "
        "but not proved does not count.")]
    for card in CARDS:
        steps = tuple(_step(step) for step in plan.steps if step.row.text("card") == card)
        if steps:
            blocks.append(Steps(card, steps))
    return Part("steps", "Order of work", f"{procedure.text('name')}, edition {procedure.text('edition')}. "
                f"{procedure.text('statement')}", (), tuple(blocks))


def _step(step: PlannedStep) -> Step:
    row = step.row
    count, way = barriers(step.barriers, step.way)
    return Step(row.text("id"), f"Hold {step.hold}" if step.hold else "", row.text("action"), row.text("must_be_true"),
                row.text("stop_if"), "two people" if row.values.get("two_people") else "",
                tuple((number.title, number.text) for number in step.numbers), count, way)
