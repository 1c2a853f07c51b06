"""The second page of the job sheet: what follows the cut. The new pipe, its annulus, tests and purge; or, where the
service is abandoned, what is left of it. On every route the pit, and what moves."""

from __future__ import annotations

from stillbore.derive import Fact, Node
from stillbore.plan import Plan
from stillbore.plan.dead_leg import ABANDON
from stillbore.plan.method import APPLIES
from stillbore.plan.new_pipe import Candidate
from stillbore.plan.parts import MET, NOTE, Finding, verdict_of
from stillbore.report import words
from stillbore.report.common import LONGEST_NAME, clipped, limit_row, number, number_row
from stillbore.report.document import (
    STOP,
    Block,
    Callout,
    Cell,
    Columns,
    FillIn,
    Part,
    Points,
    Table,
    Tile,
    Tiles,
    cells,
)
from stillbore.units import show

MOST_CANDIDATES = 6  # new pipes on the page; the rest are counted, and stand whole in the pack
HALF = (6, 5)  # widths of a table that stands beside another
Rows = tuple[tuple[Cell, ...], ...]


def second_page(plan: Plan) -> Part:
    """The page as a part of a document."""
    job = plan.survey.row("job")
    abandoned = job.text("route") == ABANDON
    facts = (("Job", clipped(job.text("id"), LONGEST_NAME)), ("Asset", clipped(job.text("asset"), LONGEST_NAME)),
             ("Route", job.text("route")))
    warned = () if plan.result == APPLIES else (
        Callout(STOP, f"{words.RESULT[plan.result]} before any work", (words.NOT_BEFORE_PAGE_ONE,)),)
    body = _abandoned(plan) if abandoned else _renewed(plan)
    return Part("sheet_after_cut", "Job sheet: what is left" if abandoned else "Job sheet: the new pipe", "", facts,
                (*warned, *body), True)


def _last_finding(plan: Plan, key: str) -> Finding | None:
    """The last that a section of the plan tells: what its working came to."""
    found = [finding for section in plan.sections if section.key == key for finding in section.findings]
    return found[-1] if found else None


def _renewed(plan: Plan) -> tuple[Block, ...]:
    """The page of a renewal: with the chosen pipe's numbers, or with why there is none."""
    chosen = plan.renewal.chosen if plan.renewal is not None else None
    pit = (_pit(plan), _left(plan))
    if chosen is None:
        told = _last_finding(plan, "renewal")
        lines = (f"{told.what} {told.do}",) if told is not None else ()
        return (Callout(STOP, "No new pipe is planned with", lines), *_candidates(plan),
                Columns((_load(plan), _moves(plan, None)), (pit[0],)), pit[1], *_found(plan, None))
    return (_chosen(plan, chosen), *_candidates(plan),
            Columns((_way(plan, chosen), _annulus(plan), _moves(plan, chosen)), (_tests(plan), _purge(plan), pit[0])),
            pit[1], *_found(plan, chosen), Points(words.NEW_PIPE_RULES))


def _chosen(plan: Plan, chosen: Candidate) -> Block:
    """What is pushed in, how long it is, and the two tests."""
    return Tiles((
        Tile("New pipe", clipped(chosen.name, 24), f"wall {plan.display.span(chosen.wall, 'mm')}"),
        Tile("Whole length, main to meter", plan.display.span(chosen.length, "m"),
             f"old pipe: {_said(plan, chosen.covered)}"),
        Tile("Strength, air", number(plan, "new_pipe.strength_pressure"),
             f"held {number(plan, 'new_pipe.strength_hold')} or more"),
        Tile("Tightness, air", number(plan, "new_pipe.test_pressure"),
             f"held {number(plan, 'new_pipe.hold')} or more"),
    ))


def _said(plan: Plan, node: Node) -> str:
    """A length as it was written in the survey, where it stands there."""
    return plan.display.said(node) if isinstance(node, Fact) else plan.display.span(node, "m")


def _candidates(plan: Plan) -> tuple[Block, ...]:
    """How each new pipe carried fares, and where it stops."""
    grid = next((grid for section in plan.sections if section.key == "renewal" for grid in section.grids), None)
    if grid is None:
        return ()
    rows = [cells(*row) for row in grid.rows[:MOST_CANDIDATES]]
    more = len(grid.rows) - len(rows)
    if more > 0:
        rows.append(cells(f"and {more} more: see the pack", *("" for _ in grid.columns[1:])))
    return (Table("The new pipes carried", grid.columns, tuple(rows), (4, 4, 3, 3, 7)),)


def _load(plan: Plan) -> Block:
    """What a pipe would have to carry, where none is planned with."""
    return Table("The load", ("what", "number"), (
        number_row(plan, "Load to be carried", "renewal.load"),
        limit_row(plan, "The old service: largest load", "renewal.old.most", "low"),
        _rule_row(plan, "Pressure drop allowed", "renewal.pressure_drop"),
    ), HALF)


def _way(plan: Plan, chosen: Candidate) -> Block:
    """What it carries, and what pushing it takes."""
    key = chosen.key
    rows: Rows = (
        number_row(plan, "Load to be carried", "renewal.load"),
        limit_row(plan, "Pressure drop at the load, at the most", f"{key}.drop", "high"),
        limit_row(plan, "Left at the meter, at the least", f"{key}.at_meter", "low"),
        limit_row(plan, "Room in the bore, at the least", f"{key}.room", "low"),
        limit_row(plan, "Push of the hand, at the worst", f"{key}.push", "high"),
    )
    if chosen.curve is not None:
        rows += (_least_row(plan, "– nobody pushes more than", chosen.curve.hand, "N"),)
    rows += (limit_row(plan, "– it may snake from, in the bore", f"{key}.snakes", "low"),
             limit_row(plan, "Pull that it bears", f"{key}.pull", "low"))
    return Table("The way in", ("what", "number"), rows, HALF)


def _rule_row(plan: Plan, label: str, name: str) -> tuple[Cell, ...]:
    """A row with a limit of the rule set."""
    return cells(label, Cell(plan.display.said(plan.rules.fact(name)), strong=True))


def _least_row(plan: Plan, label: str, node: Node, metric: str) -> tuple[Cell, ...]:
    """A row with the low end of a limit that has no number of its own in the plan."""
    text = "unknown" if node.low is None else plan.display.show(node.low, node.unit, metric)
    return cells(label, Cell(text, strong=True))


def _annulus(plan: Plan) -> Block:
    """How much is filled round the new pipe, and the watch after it."""
    return Table("Annulus to fill", ("what", "number"), (
        number_row(plan, "Round the whole length", "annulus.volume"),
        _band(plan, "Inject, all in all", "annulus", "m3", "l"),
        _band(plan, "– for each length that is in", "annulus.each_metre", "m3/m", "l/m"),
        number_row(plan, "Vented, then watched for", "annulus.watch"),
        limit_row(plan, "– largest rise", "annulus.largest_rise", "low"),
        limit_row(plan, "– warming that looks like it", "annulus.warmth", "low"),
    ), HALF)


def _band(plan: Plan, label: str, name: str, si_unit: str, metric: str) -> tuple[Cell, ...]:
    """Between which amounts the filling is neither a void nor a leak, where there are any such amounts. What fills one
    metre [m3] is the number of m3/m."""
    least, most = (plan.numbers.get(f"{name}.{key}") for key in ("least", "most"))
    if least is None or most is None or least.node.high is None or most.node.low is None:
        return cells(label, Cell("not worked out", strong=True))
    if verdict_of(least.node, most.node, "at most") != MET:
        return cells(label, Cell("no amount shows it is full", "go by the vent and the watch", strong=True))
    unit = plan.display.unit(si_unit, metric, most.node.low)
    band = " to ".join(show(end, si_unit, unit) for end in (least.node.high, most.node.low))
    return cells(label, Cell(band, "less: a void; more: it runs elsewhere", strong=True))


def _moves(plan: Plan, chosen: Candidate | None) -> Block:
    """What moves with warmth and when it is cut."""
    rows: Rows = (number_row(plan, "Old pipe may spring at the cut", "movement.spring"),)
    if chosen is not None:
        rows += (number_row(plan, "New pipe moves with warmth", "movement.new_pipe"),
                 number_row(plan, "– leave over in a snake, outside", "movement.snake"))
    return Table("What moves", ("what", "number"), rows, HALF)


def _tests(plan: Plan) -> Block:
    """Strength, then tightness."""
    return Table("Tests, with air", ("what", "number"), (
        number_row(plan, "Strength: pressure, at the least", "new_pipe.strength_pressure"),
        number_row(plan, "– hold, at the least", "new_pipe.strength_hold"),
        limit_row(plan, "– push of the air on an end", "new_pipe.cap_force", "high"),
        number_row(plan, "Tightness: pressure", "new_pipe.test_pressure"),
        number_row(plan, "– pumped up, leave it first", "new_pipe.settle"),
        number_row(plan, "– hold, at the least", "new_pipe.hold"),
        limit_row(plan, "– largest fall", "new_pipe.largest_fall", "low"),
        _rule_row(plan, "– temperature steady within", "new_pipe.temperature_change"),
        limit_row(plan, "– a change of this looks like the limit", "new_pipe.temperature_tolerance", "low"),
    ), HALF)


def _purge(plan: Plan) -> Block:
    """What to expect; what ends it is the instrument."""
    return Table("Purge", ("what", "number"), (
        limit_row(plan, "Gas to pass, at the most", "purge.gas", "high"),
        number_row(plan, "– velocity, vent wide open", "purge.velocity"),
        number_row(plan, "– not slower than", "purge.least_velocity"),
        number_row(plan, "– time, vent wide open", "purge.time"),
        _rule_row(plan, "THE INSTRUMENT ENDS IT, at gas", "new_pipe.purged_to"),
    ), HALF)


def _pit(plan: Plan) -> Block:
    return Table("The pit", ("what", "number"), (
        number_row(plan, "Length, at the least", "dig.length"),
        number_row(plan, "– main's end from the saddle's centre", "dig.main_end"),
        number_row(plan, "Width", "dig.width"),
        number_row(plan, "Depth", "dig.depth"),
        number_row(plan, "Spoil and kit from the edge, at the least", "dig.setback"),
    ), HALF)


def _left(plan: Plan) -> Block:
    """Lengths and volumes on each side of the cut."""
    rows = tuple(
        cells(plan.numbers[length].title[0].upper() + plan.numbers[length].title[1:],
              Cell(number(plan, length), strong=True), Cell(number(plan, volume), strong=True))
        for length, volume in ((f"dead_leg.{side}_length", f"dead_leg.{side}_volume") for side in ("main", "house"))
        if length in plan.numbers)
    rows = rows or (cells("On both sides of the cut", Cell("not worked out", strong=True), ""),)
    return Table("Old pipe on each side of the cut", ("what", "length", "volume"), rows, (6, 4, 4))


def _unit(plan: Plan, name: str, si_unit: str, metric: str) -> str:
    """The unit in which a number of the plan is shown, to be written in beside it."""
    found = plan.numbers.get(name)
    return plan.display.unit(si_unit, metric) if found is None else found.shown


def _found(plan: Plan, chosen: Candidate | None) -> tuple[Block, ...]:
    """What was found and done, to be written in."""
    far = _unit(plan, "dead_leg.house_length", "m", "m")
    pressure = plan.display.unit("Pa gauge", "mbar")
    way = FillIn("Found on the way", (
        ("Rodded with a gauge of, went through", plan.display.unit("m", "mm")),
        ("It stopped at, because of", far),
        ("Cover to the pipe's crown", plan.display.unit("m", "mm")),
        ("Dead ends closed: main's side, house side", "by whom")))
    if chosen is None:
        return (way,)
    done = FillIn("Measured", (
        ("Length of new pipe that went in", far),
        ("Annulus: injected, rise in the watch", f"{_unit(plan, 'annulus.volume', 'm3', 'l')}, {pressure}"),
        ("Strength: held at, for", f"{_unit(plan, 'new_pipe.strength_pressure', 'Pa gauge', 'mbar')}, min"),
        ("Tightness: fall, over", f"{pressure}, min"),
        ("– temperature moved in it by", plan.display.unit("K difference", "K")),
        ("Purge ended at gas of, by instrument no.", "%")))
    return (Columns((way,), (done,)),)


def _abandoned(plan: Plan) -> tuple[Block, ...]:
    """The page of an abandonment: stub, dead pipe, caps."""
    stub = plan.rules.fact("abandoned.longest_stub")
    tiles = Tiles((
        Tile("Live stub, main to cap", number(plan, "dead_leg.main_length"), "as short as can be"),
        Tile("Stub: longest allowed", plan.display.said(stub), "longer: an engineer decides"),
        Tile("Dead pipe, cut to meter", number(plan, "dead_leg.house_length"),
             f"holds {number(plan, 'dead_leg.house_volume')}"),
        Tile("Cap proved at, at most", number(plan, "stopper.proof_pressure"), "with gas behind the stopper"),
    ))
    told = [finding for section in plan.sections if section.key == "dead_leg" for finding in section.findings
            if finding.level == NOTE]
    true = Table("Before it counts as abandoned", ("what has to be so", "what to do"),
                 tuple(cells(finding.what, finding.do) for finding in told), (6, 6))
    length, pressure = _unit(plan, "dead_leg.main_length", "m", "m"), plan.display.unit("Pa gauge", "mbar")
    stub_found = FillIn("Live stub", (
        ("Length left", length), ("Cap: kind and number", ""), ("Cap proved at, for", f"{pressure}, min"),
        ("Bubbles: none, or where", ""), ("Saddle: out, or stays by whose word", "")))
    dead_found = FillIn("Dead pipe", (
        ("Proved dead: rise, over", f"{pressure}, min"), ("Gas at its end", "%"), ("Cap at the cut: kind", ""),
        ("Cap at the meter: kind", ""), ("Entry sealed, pipe tagged", "by whom")))
    return (tiles, true, Columns((_moves(plan, None),), (_pit(plan),)), _left(plan),
            Columns((stub_found,), (dead_found,)))
