"""stillbore run replay: a job done from a file. The same commands, one a line, with the times in the file."""

from __future__ import annotations

import os
import re
import shlex
from datetime import timedelta
from pathlib import Path

import click

from stillbore.cli.run.place import EXIT_REFUSED, Place
from stillbore.errors import Fault, InputFaults, StillboreError
from stillbore.record.events import moment
from stillbore.run.session import Now

FILE = click.Path(dir_okay=False, path_type=Path)
BOOT = "replay"
NAME = re.compile(r"\$([A-Z]+)")


class ScriptClock:
    """The clock of a replay: set by the lines ``at TIME`` and ``wait SECONDS``; a second passes with each command."""

    def __init__(self) -> None:
        self.at = None
        self.first = None

    def set(self, text: str) -> None:
        self.at = moment(text)
        self.first = self.first or self.at

    def wait(self, seconds: float) -> None:
        if self.at is None:
            raise StillboreError("Nothing says what time it is.", "Begin the file with: at 2030-05-14T08:00:00+00:00")
        self.at += timedelta(seconds=seconds)

    def __call__(self) -> Now:
        self.wait(0.0)
        assert self.at is not None and self.first is not None
        tick = max(int((self.at - self.first).total_seconds() * 1000.0), 0)
        return Now(self.at.isoformat(timespec="milliseconds"), BOOT, tick)


@click.command("replay")
@click.argument("script", type=FILE)
@click.option("--set", "given", multiple=True, metavar="NAME=PATH", help="What $NAME stands for in the script.")
@click.option("--quiet", is_flag=True, help="Say only what was refused, and the end.")
@click.pass_obj
def replay(place: Place, script: Path, given: tuple[str, ...], quiet: bool) -> None:
    """Do the job written in SCRIPT: one command a line, as after 'stillbore run'; 'at TIME' and 'wait SECONDS' move its
    clock; '# ...' is a remark; a line that begins with '!' must be refused. Paths are relative to the script.

    The record says REPLAYED for ever: its times are the script's. A refusal that the script does not expect ends it.
    """
    lines = _lines(script, dict(_pair(text) for text in given))
    clock = ScriptClock()
    replaying = Place(place.path, place.job, place.device_name, clock, replayed=True)
    here = Path.cwd()
    store = replaying.path = place.path.resolve()
    assert replaying.store  # opened here, so that it stays open from line to line
    os.chdir(script.parent)
    try:
        refused = sum(_do(replaying, clock, number, words, script, quiet) for number, words in lines)
    finally:
        replaying.close()
        os.chdir(here)
    click.echo(f"Replayed {len(lines)} lines of {script.name} into {store.name}; {refused} were refused, as the file "
               "expects.")


def _pair(text: str) -> tuple[str, str]:
    name, sign, path = text.partition("=")
    if not (sign and name.isidentifier()):
        raise StillboreError(f"'{text}' sets nothing.", "Write it as NAME=PATH, as KEYS=out/keys.")
    return name, str(Path(path).resolve())


def _lines(script: Path, given: dict[str, str]) -> list[tuple[int, list[str]]]:
    """The lines that say something, split as a shell would, each $NAME filled in. Raises InputFaults with every line
    that cannot be."""
    try:
        text = script.read_text(encoding="utf-8")
    except (OSError, ValueError):
        raise StillboreError(f"{script} cannot be read.", "Give a text file in UTF-8.") from None
    found, faults = [], []
    for number, line in enumerate(text.splitlines(), 1):
        try:
            words = shlex.split(line, comments=True)
        except ValueError:
            faults.append(Fault(f"{script.name}, line {number}", "A quote is not closed.", "Close it."))
            continue
        unknown = [name for word in words for name in NAME.findall(word) if name not in given]
        faults += [Fault(f"{script.name}, line {number}", f"${name} is not given.", f"Add: --set {name}=PATH")
                   for name in unknown]
        if words and not unknown:
            found.append((number, [NAME.sub(lambda match: given[match[1]], word) for word in words]))
    if faults:
        raise InputFaults(faults)
    return found


def _do(place: Place, clock: ScriptClock, number: int, words: list[str], script: Path, quiet: bool) -> int:
    """One line; 1 where it was refused, as it says it must be."""
    where = f"{script.name}, line {number}"
    expected = words[0].startswith("!")
    words = [words[0].lstrip("!"), *words[1:]] if len(words[0].lstrip("!")) else words[1:]
    if words[0] in ("at", "wait") and len(words) == 2:
        clock.set(words[1]) if words[0] == "at" else clock.wait(_seconds(words[1], where))
        return 0
    clock.wait(1.0)
    refused = _call(place, words, where, quiet)
    if refused != expected:
        what = "It was refused." if refused else "It was to be refused, and was accepted."
        raise InputFaults([Fault(where, what, "Mend the script, or begin the line with '!' where a refusal is "
                                              "expected. What was done before stays in the log.")])
    return int(refused)


def _seconds(text: str, where: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputFaults([Fault(where, f"'{text}' is no number of seconds.", "Write: wait 30")]) from None


def _call(place: Place, words: list[str], where: str, quiet: bool) -> bool:
    """Call a command as if typed; whether it was refused."""
    from stillbore.cli.run import command

    if words[0] == "replay":
        raise InputFaults([Fault(where, "A replay cannot replay.", "Take the line out.")])
    if not quiet:
        click.echo(f"> {shlex.join(words)}")
    if quiet:
        place.say_accepted = False
    try:
        return command.main(words, prog_name="stillbore run", standalone_mode=False, obj=place) == EXIT_REFUSED
    except click.ClickException as error:
        raise InputFaults([Fault(where, error.format_message(), "See: stillbore run --help")]) from None
    except InputFaults:
        raise
    except StillboreError as error:
        raise InputFaults([Fault(where, error.what, error.fix)]) from None
