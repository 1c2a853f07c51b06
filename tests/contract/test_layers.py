"""The house of design.md section 3, by reading the code: imports go downwards, the trunk is standard library, and a
file is a room."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import stillbore

PACKAGE = Path(stillbore.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))

# From the ground up: a module imports from its own floor's same package, and from any floor below. The rooms of one
# floor do not know each other.
FLOORS = (
    # Words, shipped files, and which program it is: they import nothing.
    ("errors", "sources", "verdicts", "version", "examples", "procedures"),
    ("units",),
    ("tables",),
    ("physics",),
    ("formulas",),
    ("derive", "published"),
    ("display",),
    ("job",),
    ("plan", "gauge", "practice"),  # practice runs physics forwards, and shares no model or parameter with gauge
    ("record",),  # the log itself; what a line of it means is run's
    ("run",),
    ("report", "programme", "store"),
    ("app",),  # pages, and the machines they run on
    ("cli",),
    ("__main__",),
)
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}
# Above the line of design.md: these may use what pyproject.toml names.
ABOVE_THE_LINE = ("cli", "report", "programme", "practice", "store", "app", "__main__")

LONGEST_FILE, LONGEST_BODY = 400, 60
# The exceptions, each with its reason. Take a name off as soon as it fits.
LONG_FILES = {"physics/gas.py": "one subject, the gas by ISO 6976; most of it is docstrings"}
LONG_BODIES: dict[str, str] = {}


def imported(tree):
    """Every module a file imports, also inside functions: (line, dotted name)."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            if base == "stillbore":
                yield from ((node.lineno, f"stillbore.{alias.name}") for alias in node.names)
            else:
                yield node.lineno, base


def room_of(path):
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return "" if parts == ("__init__",) else parts[0]


def layer_faults(room, source):
    """What a file of a room breaks of the layers, as sentences."""
    faults = []
    for line, name in imported(ast.parse(source)):
        top, *rest = name.split(".")
        if name.startswith("."):
            faults.append(f"line {line}: relative import {name}; write it in full")
        elif top == "stillbore":
            other = rest[0] if rest else ""
            if not other or other.startswith("__version__") or other == room:
                continue
            if other not in FLOOR:
                faults.append(f"line {line}: {name} has no floor")
            elif FLOOR[other] >= FLOOR[room]:
                faults.append(f"line {line}: {room} imports {name}, which is not below it")
        elif top not in sys.stdlib_module_names and room not in ABOVE_THE_LINE:
            faults.append(f"line {line}: {room} is in the trunk and imports {top}, which is not the standard library's")
    return faults


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_go_downwards_and_the_trunk_is_standard_library(path):
    room = room_of(path)
    if room == "":
        assert list(imported(ast.parse(path.read_text(encoding="utf-8")))) == []
        return
    assert room in FLOOR, f"{room} has no floor in tests/contract/test_layers.py"
    assert layer_faults(room, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("room,source,word", [
    ("physics", "from stillbore.derive import Fact", "not below"),
    ("physics", "import stillbore.plan.travel", "not below"),
    ("plan", "def f():\n    from stillbore.report import html", "not below"),
    ("plan", "from stillbore import cli", "not below"),
    ("gauge", "from stillbore.practice import rig", "not below"),
    ("practice", "from stillbore.gauge import hold", "not below"),
    ("job", "import numpy", "standard library"),
    ("units", "import rich.table", "standard library"),
    ("derive", "from .units import show", "relative"),
    ("plan", "from stillbore.nowhere import x", "no floor")])
def test_the_layer_checker_can_fail(room, source, word):
    [fault] = layer_faults(room, source)
    assert word in fault


@pytest.mark.parametrize("room,source", [("plan", "from stillbore.job.schema import Row\nimport math"),
                                         ("cli", "import rich\nfrom stillbore.plan import plan"),
                                         ("physics", "from stillbore.physics.tube import bore"),
                                         ("plan", "from stillbore import __version__")])
def test_the_layer_checker_can_pass(room, source):
    assert layer_faults(room, source) == []


def test_the_trunk_loads_without_anything_installed():
    """In a fresh interpreter without site packages: what the browser will have."""
    code = ("import sys; sys.path.insert(0, sys.argv[1]); from pathlib import Path; "
            "from stillbore.job.files import load_job; from stillbore.plan import plan; "
            "print(plan(load_job(Path(sys.argv[1]) / 'stillbore/examples/service.toml')).result)")
    ran = subprocess.run([sys.executable, "-I", "-S", "-c", code, str(PACKAGE.parent)], capture_output=True, text=True,
                         check=False)
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.strip() in ("applies", "does not apply", "refer to an engineer")


# A file is a room


def body_lines(function):
    """Lines of a function from the first statement after its docstring to the last, blank lines and comments too."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


def long_functions(source):
    return {node.name: body_lines(node) for node in ast.walk(ast.parse(source))
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and body_lines(node) > LONGEST_BODY}


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_file_is_a_room(path):
    name = str(path.relative_to(PACKAGE))
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST_FILE or name in LONG_FILES, f"{name} has {lines} lines"
    found = long_functions(path.read_text(encoding="utf-8"))
    assert {f"{name}:{function}" for function in found} <= set(LONG_BODIES), found


def test_every_exception_is_still_needed():
    for name in LONG_FILES:
        assert len((PACKAGE / name).read_text(encoding="utf-8").splitlines()) > LONGEST_FILE, f"{name} fits now"
    for name in LONG_BODIES:
        file, _, function = name.partition(":")
        assert function in long_functions((PACKAGE / file).read_text(encoding="utf-8")), f"{name} fits now"


def test_the_length_checker_can_fail():
    long = "def f():\n" + '    """Says\n    much.\n    """\n' + "    x = 1\n" * (LONGEST_BODY + 1)
    assert long_functions(long) == {"f": LONGEST_BODY + 1}
    assert long_functions(long.replace("    x = 1\n", "", 1)) == {}
