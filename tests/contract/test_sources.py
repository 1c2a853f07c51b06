"""Every source is used, and every use has its entry in the bibliography.

A use is: the ``Source:`` line of a physics docstring, ``source`` of a table or one of its cells, ``source`` of a
published case, or the key written anywhere else in the package's text (a comment, a note, a rule set, an example).
"""

import re
from pathlib import Path

import stillbore
from stillbore import published, tables
from stillbore.formulas import formula, functions
from stillbore.sources import SOURCES

PACKAGE = Path(stillbore.__file__).parent
KEY = re.compile(r"(?<![\w-])[A-Z][A-Z0-9]*(?:-[A-Z0-9]+(?:\.[0-9]+)*)+(?![\w-])")
TEXT_FILES = (".py", ".toml", ".json", ".typ", ".md")


def declared_uses():
    """Keys in the places where a key is meant: (where, key)."""
    uses = [(f"physics {name}", key) for name in functions() for key in formula(name).sources]
    uses += [(f"table {name}", tables.table(name).source) for name in tables.names()]
    uses += [(f"published {case.function}, {case.where}", case.source) for case in published.cases()]
    return uses


def package_texts():
    """The text of every file of the package except the bibliography itself."""
    return {str(path.relative_to(PACKAGE)): path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*"))
            if path.suffix in TEXT_FILES and path != PACKAGE / "sources.py"}


def source_faults(sources, uses, texts):
    """What is wrong between bibliography and uses, as sentences."""
    faults = [f"{where}: source {key} is not in sources.SOURCES" for where, key in uses if key not in sources]
    # Written outside the declared places, "Source: KEY" is meant as a key as well (the comments of constants.py).
    for name, text in texts.items():
        for line in re.findall(r"Source: (.+)", text):
            faults += [f"{name}: source {key} is not in sources.SOURCES"
                       for key in KEY.findall(line) if key not in sources]
    written = {key for _, key in uses} | {key for text in texts.values() for key in KEY.findall(text)}
    faults += [f"source {key} is used nowhere" for key in sources if key not in written]
    faults += [f"source {key} is not a key: capitals and at least one hyphen" for key in sources
               if KEY.fullmatch(key) is None]
    faults += [f"source {key} says nothing" for key, text in sources.items() if len(text) < 20]
    return sorted(set(faults))


def test_every_source_is_used_and_every_use_is_keyed():
    assert source_faults(SOURCES, declared_uses(), package_texts()) == []


def test_the_source_checker_can_fail():
    sources = {"USED-1": "A standard that is used.", "UNUSED-2": "A standard nobody uses.",
               "BAD": "Not a key at all, it has no hyphen.", "SHORT-3": "ISO"}
    uses = [("physics a.b", "USED-1"), ("table c", "MISSING-4")]
    texts = {"physics/a.py": "# Source: SHORT-3, GONE-5.\n# BAD and UNUSED-22 and NOT-UNUSED-2"}
    assert source_faults(sources, uses, texts) == sorted([
        "table c: source MISSING-4 is not in sources.SOURCES",
        "physics/a.py: source GONE-5 is not in sources.SOURCES",
        "source UNUSED-2 is used nowhere",
        "source BAD is used nowhere",
        "source BAD is not a key: capitals and at least one hyphen",
        "source SHORT-3 says nothing",
    ])
