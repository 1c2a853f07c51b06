"""Several plans side by side, as a document: one table for every few plans, so that it can still be read on paper."""

from __future__ import annotations

from stillbore.plan.side_by_side import Block, SideBySide
from stillbore.report import words
from stillbore.report.common import made_for, statement
from stillbore.report.document import CAUTION, Callout, Cell, Document, Paragraph, Part, Table, cells
from stillbore.report.html import to_html

ABREAST = 4  # plans in one table
STRONG = "Answer"


def comparison(found: SideBySide) -> Document:
    """The comparison as a document. Its parts are the tables of a few plans each."""
    groups = [range(first, min(first + ABREAST, len(found.plans))) for first in range(0, len(found.plans), ABREAST)]
    parts = tuple(_part(found, group, number) for number, group in enumerate(groups, 1))
    first = found.plans[0]
    jobs = ", ".join(dict.fromkeys(str(plan.survey.value("job.id")) for plan in found.plans))
    return Document("comparison", "Plans side by side", made_for(first), statement(first), f"jobs {jobs}", parts)


def _part(found: SideBySide, group: range, number: int) -> Part:
    kit, rules = found.plans[0].kit.row("kit"), found.plans[0].rules.row("rules")
    facts = (("Kit", kit.text("name")), ("Rules", f"{rules.text('name')}, edition {rules.text('edition')}"))
    tables = tuple(_table(found, block, group) for block in found.blocks)
    return Part(f"comparison-{number}", "Plans side by side", "", facts, (
        Paragraph("Nothing is ranked here and nothing chosen. Where a service is compared with a route that its survey "
                  "does not name, the route is supposed: write it into the survey and plan it before any work."),
        *tables, Callout(CAUTION, "Always", (words.RANKS_BELOW,))))


def _table(found: SideBySide, block: Block, group: range) -> Table:
    columns = range(1) if block.alike else group
    names = ("in all",) if block.alike else tuple(found.names[index] for index in group)
    rows = tuple(cells(label, *(Cell(texts[index], strong=block.title == STRONG) for index in columns))
                 for label, texts in block.rows)
    return Table(block.title, ("", *names), rows, (4,) + (5,) * len(names))


def comparison_html(found: SideBySide) -> bytes:
    """The comparison as one self-contained page."""
    return to_html(comparison(found)).encode("utf-8")
