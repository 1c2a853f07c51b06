"""Variants of the shipped example files, made by editing their text: no internal code takes part in the edit.

A change is ``{"pipe.wall": '"unknown"'}``: the key of a section and the TOML to write there; None takes the key out.
The second ``[[saw]]`` is ``saw[1]``; a whole table is taken out with ``{"permit[0]": None}``.
"""

import re
import tempfile
from pathlib import Path

import stillbore
from stillbore.errors import InputFaults
from stillbore.job.files import load_job
from stillbore.job.shipped import composed
from stillbore.plan import plan

PACKAGE = Path(stillbore.__file__).parent
TWO_BRANCHES, SINGLE_BRANCH = "kit_two_branches", "kit_single_branch"
NOBODY_KNOWS = '"unknown"'


def example(name):
    return (PACKAGE / "examples" / f"{name}.toml").read_text(encoding="utf-8")


def procedure(name, route="renew towards the main"):
    return composed(name, route)


def blocks(text):
    """The text cut at its table headers: [name as 'saw[1]', lines]."""
    found, counts = [["", []]], {}
    for line in text.splitlines():
        header = re.match(r"^(\[\[?)([^\[\]]+)\]\]?\s*$", line)
        if header:
            name = header[2]
            if header[1] == "[[":
                counts[name] = counts.get(name, -1) + 1
                name = f"{name}[{counts[name]}]"
            found.append([name, []])
        found[-1][1].append(line)
    return found


def edited(text, changes, added=""):
    """The text with its changes made; a change that finds no place is an error of the test."""
    tables = blocks(text)
    for path, value in changes.items():
        table, _, key = path.rpartition(".") if "." in path else (path, "", "")
        block = next((block for block in tables if block[0] == table), None)
        assert block is not None, f"the example has no table {table}"
        if not key:
            assert value is None
            tables.remove(block)
            continue
        place = next((index for index, line in enumerate(block[1]) if re.match(rf"^{re.escape(key)}\s*=", line)), None)
        assert place is not None or value is not None, f"the example has no {path}"
        if place is None:
            block[1].insert(1 if block[0] else 0, f"{key} = {value}")
        elif value is None:
            del block[1][place]
        else:
            block[1][place] = f"{key} = {value}"
    return "\n".join(line for _, lines in tables for line in lines) + "\n" + added


def job(survey=None, kit=None, rules=None, steps=None, base_kit=TWO_BRANCHES, added="", added_kit=""):
    """The four files of the example with changes, loaded from disk as a user would."""
    texts = {"survey": edited(example("service"), survey or {}, added),
             "kit": edited(example(base_kit), kit or {}, added_kit),
             "rules": edited(example("rules"), rules or {})}
    if steps is not None:
        texts["procedure"] = steps
    with tempfile.TemporaryDirectory() as folder:
        paths = {}
        for name, text in texts.items():
            paths[name] = Path(folder) / f"{name}.toml"
            paths[name].write_text(text, encoding="utf-8")
        return load_job(**paths)


def made(**changes):
    """The plan of the example with changes."""
    return plan(job(**changes))


def faults_of(**changes):
    """What the loader finds wrong with the example with changes; an error of the test if nothing is."""
    try:
        job(**changes)
    except InputFaults as error:
        return error.faults
    raise AssertionError("the loader found nothing wrong")


def has(sentence, words):
    """Whether a sentence has all these words, whichever of them stands first with a capital."""
    return all(word.lower() in sentence.lower() for word in words)


def told(found, *words, level=None):
    """The one finding that has all these words, for its level, sentence and holds."""
    matching = [finding for finding in found.findings if has(f"{finding.what} {finding.do}", words)]
    if level is not None:
        matching = [finding for finding in matching if finding.level == level]
    sentences = "\n".join(f"{finding.level}: {finding.what}" for finding in found.findings)
    assert len(matching) == 1, f"{len(matching)} findings have {words}; all of them:\n{sentences}"
    return matching[0]


def silent(found, *words):
    """No finding has all these words."""
    return not any(has(finding.what, words) for finding in found.findings)


def check(found, title):
    """The one check of that title."""
    matching = [check for section in found.sections for check in section.checks if check.title == title]
    assert len(matching) == 1, f"{len(matching)} checks are called {title}"
    return matching[0]


def millimetres(found, name, end="value"):
    return getattr(found.numbers[name].node, end) * 1e3
