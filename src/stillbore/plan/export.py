"""The whole plan as plain data, ready for JSON: for other programs, and embedded in the job pack.

Key order is fixed and nothing is rounded, so the same plan always gives the same text.
"""

from __future__ import annotations

import json

from stillbore.derive import Fact, Node, Traced
from stillbore.plan import Plan
from stillbore.plan.barriers import PlannedStep
from stillbore.plan.parts import Check, Finding, Number
from stillbore.version import program

FORMAT = "stillbore plan 1"


def _node(node: Node) -> dict[str, object]:
    """Value and range of a node in SI; null where there is none."""
    return {"name": node.name, "value": node.value, "low": node.low, "high": node.high, "unit": node.unit}


def _number(number: Number) -> dict[str, object]:
    """A number: ``unit`` is SI and belongs to value, low and high; ``shown`` is the unit of ``text``."""
    node = number.node
    traced = node if isinstance(node, Traced) else None
    return {
        "title": number.title,
        "value": node.value,
        "low": node.low,
        "high": node.high,
        "unit": node.unit,
        "shown": number.shown,
        "text": number.text,
        "formula": traced.formula.name if traced and traced.formula else "",
        "source": node.source,
        "how": node.how if isinstance(node, Fact) else "derived",
        "refusal": traced.refusal if traced else "",
        "inputs": [child.name for child in traced.inputs.values()] if traced else [],
    }


def _check(section: str, check: Check) -> dict[str, object]:
    return {
        "section": section,
        "title": check.title,
        "verdict": check.verdict,
        "measured": _node(check.measured),
        "wanted": check.wanted,
        "limit": _node(check.limit),
        "margin": check.margin,
        "text": check.text,
        "if_not_met": check.means,
    }


def _finding(section: str, finding: Finding) -> dict[str, object]:
    return {"section": section, "level": finding.level, "what": finding.what, "do": finding.do,
            "holds": list(finding.holds)}


def _step(step: PlannedStep) -> dict[str, object]:
    row = step.row
    return {
        "id": row.text("id"),
        "card": row.text("card"),
        "action": row.text("action"),
        "must_be_true": row.text("must_be_true"),
        "stop_if": row.text("stop_if"),
        "hold": step.hold or None,
        "two_people": bool(row.values.get("two_people", False)),
        "shows": [number.name for number in step.numbers],
        "barriers": step.barriers,
        "weakest_way": list(step.way),
    }


def plan_json(plan: Plan) -> dict[str, object]:
    """The plan as a dictionary of plain values, in a fixed order.

    ``units`` is the system of the texts; values are SI whatever it is.
    ``barriers`` of a step is the least number of proved elements between the gas and the pit after it; -1 where every
    way is closed by pipe wall.
    """
    return {
        "format": FORMAT,
        "program": program(),
        "plan": plan.version,
        "inputs": {kind: {"name": file.name, "sha256": file.sha256} for kind, file in vars(plan.files).items()},
        "units": plan.display.name,
        "result": plan.result,
        "size": plan.size,
        "tubes": [{"key": tube.key, "title": tube.title} for tube in plan.tubes],
        "numbers": {name: _number(number) for name, number in plan.numbers.items()},
        "checks": [_check(section.key, check) for section in plan.sections for check in section.checks],
        "findings": [_finding(section.key, finding) for section in plan.sections for finding in section.findings],
        "open_holds": {str(hold): [finding.what for finding in findings]
                       for hold, findings in plan.open_holds.items()},
        "steps": [_step(step) for step in plan.steps],
    }


def plan_text(plan: Plan) -> bytes:
    """The plan as it is kept: the same plan of the same program always gives the same bytes."""
    return (json.dumps(plan_json(plan), indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
