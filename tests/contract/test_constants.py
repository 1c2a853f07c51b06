"""The constants are exact by definition, so they are compared with == and each names its source."""

import ast
import re
from decimal import Decimal
from pathlib import Path

from stillbore.physics import constants
from stillbore.sources import SOURCES

TEXT = Path(constants.__file__).read_text(encoding="utf-8")
NAMES = [target.id for node in ast.parse(TEXT).body if isinstance(node, ast.Assign) for target in node.targets]


def unsourced(text, sources):
    """Constants whose comment, in the lines right above, names no key of the bibliography."""
    lines = text.splitlines()
    faults = []
    for number, line in enumerate(lines):
        match = re.match(r"^([A-Z_]+) = ", line)
        if match is None:
            continue
        above = number
        while above > 0 and lines[above - 1].startswith("#"):
            above -= 1
        keys = re.findall(r"Source: ([A-Z][A-Z0-9]*(?:-[A-Z0-9]+)+)", " ".join(lines[above:number]))
        if not keys or any(key not in sources for key in keys):
            faults.append(match[1])
    return faults


def test_the_molar_gas_constant_is_the_product_of_two_exact_ones():
    assert float(Decimal("1.380649e-23") * Decimal("6.02214076e23")) == constants.R_MOLAR


def test_the_conventions_are_as_defined():
    assert constants.STANDARD_ATMOSPHERE == 101325.0
    assert constants.STANDARD_GRAVITY == 9.80665
    assert constants.CELSIUS_ZERO == 273.15


def test_every_constant_is_tested_and_has_a_source():
    assert sorted(NAMES) == ["CELSIUS_ZERO", "R_MOLAR", "STANDARD_ATMOSPHERE", "STANDARD_GRAVITY"]
    assert unsourced(TEXT, SOURCES) == []


def test_the_source_checker_can_fail():
    assert unsourced("# A number. Source: NO-SUCH-KEY.\nFIRST = 1.0\n\nSECOND = 2.0\n", SOURCES) == ["FIRST", "SECOND"]


def test_no_other_physics_module_writes_a_constant_again():
    """R, the atmosphere, gravity and the Celsius zero are imported, not typed a second time (units.py converts)."""
    values = {getattr(constants, name) for name in NAMES}
    for path in Path(constants.__file__).parent.glob("*.py"):
        if path.name != "constants.py":
            typed = {node.value for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                     if isinstance(node, ast.Constant) and isinstance(node.value, float)}
            assert not typed & values, f"{path.name} writes {typed & values}"
