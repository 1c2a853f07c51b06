"""Every published case: ours rounds to what is printed, or differs as the case says it does."""

import ast
from pathlib import Path

import pytest

from stillbore.formulas import functions
from stillbore.published import STATUSES, agrees, cases, references, row
from stillbore.sources import SOURCES

TESTS = Path(__file__).parents[1]


@pytest.mark.parametrize("case", cases(), ids=lambda case: f"{case.function}-{case.where[:40]}-{case.printed}")
def test_ours_agrees_with_what_is_printed(case):
    result = row(case)
    if case.differs:
        assert not result.agrees, "the disagreement has gone; delete 'differs'"
        assert agrees(result.ours, case.differs), f"ours is {result.ours!r}, the case says {case.differs}"
    else:
        assert result.agrees, f"ours is {result.ours!r} {case.unit}, printed is {case.printed}"


@pytest.mark.parametrize("case", cases(), ids=lambda case: f"{case.function}-{case.where[:40]}-{case.printed}")
def test_a_case_says_where_it_is_from(case):
    assert case.source in SOURCES
    assert case.status in STATUSES
    assert case.function in functions()
    assert case.where
    assert bool(case.because) == (bool(case.differs) or case.widen != 1.0), "because goes with differs or widen"


@pytest.mark.parametrize("reference", references(), ids=lambda reference: f"{reference.function}-{reference.test}")
def test_a_reference_check_exists(reference):
    assert reference.function in functions()
    path, _, name = reference.test.partition("::")
    tree = ast.parse((TESTS / path).read_text(encoding="utf-8"))
    assert name in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_the_comparison_can_fail():
    assert agrees(0.528282, "0.5283")
    assert not agrees(0.528282, "0.5284")
