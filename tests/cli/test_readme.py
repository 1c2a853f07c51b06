"""The README is run: each command of a console block, and what it prints; its Python version and its make targets."""

import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```console\n\$ stillbore (.+?)\n(.*?)```", README, re.S)


def pieces(expected):
    """The printed lines of a block, cut at the lines that say '…'."""
    found = [[]]
    for line in expected.rstrip("\n").splitlines():
        if line == "…":
            found.append([])
        else:
            found[-1].append(line.rstrip())
    return ["\n".join(lines) for lines in found if lines]


@pytest.mark.parametrize(("command", "expected"), BLOCKS, ids=[command[:30] for command, _ in BLOCKS])
def test_a_readme_command_prints_what_the_readme_says(command, expected):
    done = subprocess.run([sys.executable, "-m", "stillbore", *shlex.split(command)], capture_output=True, text=True,
                          cwd=ROOT, timeout=60)
    printed = "\n".join(line.rstrip() for line in done.stdout.splitlines())
    assert done.returncode == 0, done.stderr
    for piece in pieces(expected):
        assert piece in printed


def test_there_are_commands_to_run():
    assert len(BLOCKS) >= 3


def test_the_readme_and_pyproject_name_the_same_python():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["requires-python"] == ">=" + re.search(r"Python (3\.\d+) or newer", README)[1]


def test_every_make_target_the_readme_names_exists():
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    for target in re.findall(r"(?:^|`)make (\w+)", README, re.M):
        assert re.search(rf"^{target}:", makefile, re.M), target


def test_every_path_the_readme_names_exists():
    for path in re.findall(r"`((?:docs|src|decisions|tests)/[\w./]*|\w+\.md)`", README):
        assert (ROOT / path).exists(), path
