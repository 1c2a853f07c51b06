"""The rig measures the judges: neither may know the other, nor the other's constants."""

import ast
from pathlib import Path

import pytest

import stillbore

PACKAGE = Path(stillbore.__file__).parent


def imports_of(source):
    """Every module that a source imports, also inside functions, whichever way it is written."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("folder,forbidden", [("practice", "stillbore.gauge"), ("gauge", "stillbore.practice")])
def test_judge_and_rig_share_no_import(folder, forbidden):
    paths = list((PACKAGE / folder).glob("**/*.py"))
    assert len(paths) > 5
    for path in paths:
        for name in imports_of(path.read_text(encoding="utf-8")):
            assert not (name + ".").startswith(forbidden + "."), path


@pytest.mark.parametrize("source", ["import stillbore.gauge.hold", "from stillbore import gauge",
                                    "def f():\n    from stillbore.gauge.hold import judge"])
def test_the_checker_sees_every_way_of_importing(source):
    assert any((name + ".").startswith("stillbore.gauge.") for name in imports_of(source))
