"""The plan as data: whole, in SI, and the same text every time."""

import json

import pytest
from cases import CASES, plan_of

from stillbore.derive import Traced
from stillbore.plan.export import plan_json
from stillbore.version import program

EVERY = pytest.mark.parametrize("case", CASES)


@EVERY
def test_it_is_strict_json_and_stable(case):
    plan = plan_of(case)
    text = json.dumps(plan_json(plan), allow_nan=False)
    assert text == json.dumps(plan_json(plan), allow_nan=False)
    assert json.loads(text) == plan_json(plan)


@EVERY
def test_it_names_what_it_was_made_from(case):
    plan = plan_of(case)
    found = plan_json(plan)
    assert found["format"] == "stillbore plan 1" and found["program"] == program()
    assert found["plan"] == plan.version and found["result"] == plan.result
    assert found["inputs"] == {kind: {"name": file.name, "sha256": file.sha256}
                               for kind, file in vars(plan.files).items()}


@EVERY
def test_every_number_is_there_unrounded(case):
    plan = plan_of(case)
    found = plan_json(plan)["numbers"]
    assert list(found) == list(plan.numbers)
    for name, number in plan.numbers.items():
        entry, node = found[name], number.node
        assert (entry["value"], entry["low"], entry["high"], entry["unit"]) == (node.value, node.low, node.high,
                                                                                node.unit)
        assert entry["text"] == number.text and entry["shown"] == number.shown and entry["source"] == node.source
        if isinstance(node, Traced):
            assert entry["inputs"] == [child.name for child in node.inputs.values()]
            assert entry["formula"] == (node.formula.name if node.formula else "")
            assert entry["refusal"] == node.refusal


@EVERY
def test_checks_findings_holds_and_steps_are_all_there(case):
    plan = plan_of(case)
    found = plan_json(plan)
    checks = [check for section in plan.sections for check in section.checks]
    assert [(entry["title"], entry["verdict"], entry["margin"]) for entry in found["checks"]] == [
        (check.title, check.verdict, check.margin) for check in checks]
    assert [(entry["level"], entry["what"], entry["do"], tuple(entry["holds"])) for entry in found["findings"]] == [
        (finding.level, finding.what, finding.do, finding.holds) for finding in plan.findings]
    assert list(found["open_holds"]) == [str(hold) for hold in plan.open_holds]
    assert [(entry["id"], entry["hold"] or 0, entry["barriers"], tuple(entry["weakest_way"]))
            for entry in found["steps"]] == [
        (step.row.text("id"), step.hold, step.barriers, step.way) for step in plan.steps]
