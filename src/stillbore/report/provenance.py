"""Where everything came from: files and their hashes, the facts, what would narrow the ranges, and every source."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from stillbore.derive import Fact, Node, Traced, shares, span_text
from stillbore.display import Display
from stillbore.job.schema import JobFile
from stillbore.plan import Plan
from stillbore.report.document import Block, Cell, Heading, Paragraph, Part, Table, cells
from stillbore.sources import SOURCES
from stillbore.tables import names, table
from stillbore.units import unit_written
from stillbore.version import program

# Numbers whose range a crew feels at the pit; for each the fact is named that would narrow it most.
WIDE = ("travel.from", "travel.to", "stopper.squeeze", "integrity.fall_at_limit", "let_by.rise_at_limit",
        "break_through.lowest", "break_through.highest", "strength.prop_spacing", "window.width")
FACTS_NAMED = 2
PRACTICE = "common practice"
ORIGINS = {"constant": "a figure set by the program itself", "rule": "named so in the rule set",
           "kit": "named so in the kit", "measured": "named so in the survey", "record": "named so in the survey",
           "assumed": "named so in the survey"}
KEY = re.compile(r"[A-Z][A-Z0-9]*(?:-[A-Z0-9.]+)+")


def provenance_part(plan: Plan) -> Part:
    """The last pages: nothing in the pack is without an origin."""
    kit, rules = plan.kit.row("kit"), plan.rules.row("rules")
    procedure = plan.files.procedure.row("procedure")
    facts = (("Program", f"stillbore {program()}"), ("Kit", kit.text("name")),
             ("Rule set", f"{rules.text('name')}, edition {rules.text('edition')}, {rules['date']}"))
    files = Table("Files, and the plan they make", ("what", "name", "SHA-256"), (
        *(cells(kind, file.name, Cell("", file.sha256)) for kind, file in vars(plan.files).items()),
        cells("plan", "", Cell("", plan.version))), (1.8, 7.3, 9))
    behind = Table("Who stands behind these figures", ("what", "name", "statement"), (
        cells("kit", kit.text("name"), kit.text("statement")),
        cells("rule set", f"{rules.text('name')}, edition {rules.text('edition')}, {rules['date']}",
              rules.text("statement")),
        cells("order of work", f"{procedure.text('name')}, edition {procedure.text('edition')}",
              procedure.text("statement"))), (2, 5, 8))
    used = {id(fact): fact for fact in _roots(plan)}
    blocks: list[Block] = [
        Paragraph("The four files are embedded in the PDF as they were read, with the plan as JSON. The plan's number "
                  "is the hash of the program's version and of these four."),
        files, behind, *_narrowing(plan), Heading("Facts of the survey"),
        _facts(plan.display, "What is known of this service, and how", plan.survey),
        Heading("Figures of the kit used here"), _figures(plan.display, "Kit", plan.kit, used.values()),
        Heading("Limits of the rule set used here"), _figures(plan.display, "Rule set", plan.rules, used.values()),
        Heading("Sources"), *_sources(plan),
    ]
    return Part("provenance", "Where it all came from", "", facts, tuple(blocks))


def _nodes(plan: Plan) -> Iterator[Node]:
    """Every node below every number and check of the plan, each once."""
    seen: set[int] = set()
    stack: list[Node] = [number.node for number in plan.numbers.values()]
    stack += [node for section in plan.sections for check in section.checks for node in (check.measured, check.limit)]
    while stack:
        node = stack.pop()
        if id(node) in seen:
            continue
        seen.add(id(node))
        yield node
        if isinstance(node, Traced):
            stack.extend(node.inputs.values())


def _roots(plan: Plan) -> Iterator[Fact]:
    return (node for node in _nodes(plan) if isinstance(node, Fact))


def _facts_of(file: JobFile) -> Iterator[tuple[str, Fact]]:
    for section in file.schema.sections:
        for row in file.rows(section.key):
            about = f" {row.text('id') or row.text('premises')}".rstrip() if section.many else ""
            for field in section.fields:
                if field.key in row.facts:
                    yield f"{field.about}{about and f',{about}'}", row.facts[field.key]


def _taken_as(display: Display, fact: Fact) -> str:
    """Value and range that were taken from what was written, in the unit it was written in; in the plan's system, where
    that is another."""
    if fact.composition or not fact.known:
        return ""
    written = unit_written(fact.text, fact.unit)
    own = written is not None and display.is_own(written)
    return f"taken as {span_text(fact, written if own else display.unit_of(None, fact))}"


def _otherwise(display: Display, fact: Fact) -> str:
    """A figure in the plan's system of units, where it was written in another ("" where it was not)."""
    said = display.said(fact)
    return said if said != fact.text else ""


def _facts(display: Display, caption: str, file: JobFile) -> Table:
    """Every fact of the survey: what was written, what was taken from it, how, by whom, when and with what."""
    rows = []
    for about, fact in _facts_of(file):
        known = ", ".join(filter(None, (fact.how, fact.by, fact.when, fact.instrument, fact.source)))
        rows.append(cells(Cell(about, fact.name), Cell(fact.text, _taken_as(display, fact), strong=True),
                          Cell(known, fact.origin)))
    return Table(caption, ("fact", "as written", "how, by, when, instrument"), tuple(rows), (7, 8, 7))


def _figures(display: Display, caption: str, file: JobFile, used: Iterable[Fact]) -> Table:
    """The facts of the kit or the rule set on which the plan's numbers and checks rest."""
    wanted = {fact.origin for fact in used}
    rows = tuple(cells(Cell(about, fact.name), Cell(fact.text, _otherwise(display, fact), strong=True),
                       fact.source or fact.how)
                 for about, fact in _facts_of(file) if fact.origin in wanted)
    return Table(caption, ("figure", "value", "source"), rows, (11, 4, 6))


def _narrowing(plan: Plan) -> Iterator[Block]:
    """For the wide numbers, the facts that would narrow them most."""
    rows = []
    for name in WIDE:
        number = plan.numbers.get(name)
        if number is None or not number.node.known:
            continue
        found = [share for share in shares(_ranged(number.node)) if share.share >= 0.01][:FACTS_NAMED]
        if found:
            best = "; ".join(f"{share.fact.name} (narrower by {share.share:.0%})" for share in found)
            rows.append(cells(Cell(number.title, number.name), Cell(number.text, strong=True), best))
    if rows:
        yield Heading("What would narrow the ranges most")
        yield Table("If this fact were known exactly", ("number", "now", "fact"), tuple(rows), (8, 5, 9))


def _ranged(node: Node) -> Node:
    """The number behind a worst end."""
    while isinstance(node, Traced) and node.formula is None and node.result:
        node = node.inputs[node.result]
    return node


def _table_sources() -> Mapping[str, str]:
    """The source of a published table, by its title; a fact taken from a table names the title."""
    found = {}
    for name in names():
        entry = table(name)
        found[entry.title] = entry.source
    return found


def _sources(plan: Plan) -> Iterator[Block]:
    """Every source that a number of the document rests on, spelled out; then those that are no publication."""
    titles = _table_sources()
    keys: set[str] = set()
    others: dict[str, str] = {}
    for node in _nodes(plan):
        text = titles.get(node.source, node.source)
        found = [key for key in KEY.findall(text) if key in SOURCES]
        keys.update(found)
        if node.source in titles:
            keys.update(key for key in KEY.findall(titles[node.source]) if key in SOURCES)
        if node.source and not found:
            others[node.source] = ("common practice of the trade, without a published source" if node.source == PRACTICE
                                   else ORIGINS.get(node.how if isinstance(node, Fact) else "", "as written there"))
    yield Table("Publications and definitions", ("key", "what it is"),
                tuple(cells(key, SOURCES[key]) for key in sorted(keys)), (3, 10))
    if others:
        yield Table("Other origins", ("origin", "what it is"), tuple(
            cells(other, meaning) for other, meaning in sorted(others.items())), (5, 8))
