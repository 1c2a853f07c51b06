"""Answers and evidence."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.run.place import Place, by_option
from stillbore.errors import StillboreError
from stillbore.gauge.priors import DRIFTS
from stillbore.record import events as log
from stillbore.run.answers import value_of
from stillbore.run.basis import Ask
from stillbore.run.gauge_log import Conditions
from stillbore.store.interface import LARGEST_FILE

FILE = click.Path(dir_okay=False, path_type=Path)
NEGATIVE = {"ignore_unknown_options": True}  # "-22.4 deg" is a value, no option


def read_bytes(path: Path) -> bytes:
    """A file's bytes. Raises StillboreError where it cannot be read, or is too large to be a photo or a log."""
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise StillboreError(f"{path} is larger than {LARGEST_FILE // 1_000_000} MB.", "Keep a smaller copy.")
        return path.read_bytes()
    except OSError as error:
        raise StillboreError(f"{path} cannot be read: {error.strerror}.", "Check the path.") from None


def _ask(place: Place, step: str, name: str) -> Ask:
    found = place.session.step(step)
    ask = next((each for each in found.asks if each.name == name), None)
    if ask is None:
        asked = ", ".join(each.name for each in found.asks) or "nothing"
        raise StillboreError(f"{step} does not ask '{name}'.", f"It asks: {asked}.")
    return ask


def _said(place: Place, key: str) -> str:
    answer = place.session.state.answers[key]
    return answer.sentence or f"{key}: {answer.value.written}."


@click.command("record", context_settings=NEGATIVE)
@click.argument("step")
@click.argument("name")
@click.argument("value")
@click.option("--instrument", default="", help="Which instrument it was read from.")
@click.option("--how", type=click.Choice([how for how in log.HOW if how not in ("judged", "not measured")]),
              help="How it is known; by default measured for a number, seen for words.")
@by_option
@click.pass_obj
def record(place: Place, step: str, name: str, value: str, instrument: str, how: str | None, by: str | None,
           paper_at: str | None) -> None:
    """Answer question NAME of STEP with VALUE: "30.2 +/- 0.3 mbar", "yes", or "not measured: no echo"."""
    ask = _ask(place, step, name)
    found = place.session.answer(step, name, value_of(ask, value, instrument, how or ""), place.hand(by, paper_at))
    place.say(found, lambda: _said(place, ask.key))


@click.command("gauge")
@click.argument("step")
@click.argument("name")
@click.argument("path", metavar="LOG.csv", type=FILE)
@click.option("--drift", type=click.Choice(list(DRIFTS)), default="ordinary", show_default=True,
              help="How the rig stands: in shade, as usual, or in sun or hands.")
@click.option("--gauge-by-eye", is_flag=True, help="The gauge was read by eye.")
@click.option("--instrument", default="", help="Which gauge.")
@by_option
@click.pass_obj
def gauge(place: Place, step: str, name: str, path: Path, drift: str, gauge_by_eye: bool, instrument: str,
          by: str | None, paper_at: str | None) -> None:
    """Keep LOG.csv and answer question NAME of STEP by what the gauge's judge makes of it."""
    ask = _ask(place, step, name)
    hand = place.hand(by, paper_at)
    found = place.session.gauge_log(step, name, read_bytes(path), path.name,
                                    Conditions(drift, gauge_by_eye, instrument), hand)
    place.say(found, lambda: _said(place, ask.key))


@click.command("keep")
@click.argument("step")
@click.argument("sort", type=click.Choice(log.EVIDENCE))
@click.argument("path", type=FILE)
@click.option("--caption", default="", help="What it shows, in a few words; no names.")
@by_option
@click.pass_obj
def keep(place: Place, step: str, sort: str, path: Path, caption: str, by: str | None, paper_at: str | None) -> None:
    """Keep the file PATH as evidence of STEP. SORT: photo, gauge log or file."""
    hand = place.hand(by, paper_at)
    found = place.session.keep(step, sort, read_bytes(path), path.name, caption, hand)
    place.say(found, f"Kept {path.name} with {step}.")


@click.command("correct", context_settings=NEGATIVE)
@click.argument("key", metavar="STEP.NAME")
@click.argument("value")
@click.argument("reason")
@click.option("--instrument", default="", help="Which instrument it was read from.")
@by_option
@click.pass_obj
def correct(place: Place, key: str, value: str, reason: str, instrument: str, by: str | None,
            paper_at: str | None) -> None:
    """Correct the answer STEP.NAME to VALUE and say why. A step that was done with the old one is open again."""
    step, _, name = key.partition(".")
    ask = _ask(place, step, name)
    found = place.session.correct(key, value_of(ask, value, instrument), reason, place.hand(by, paper_at))
    place.say(found, lambda: _said(place, key))


@click.command("district", context_settings=NEGATIVE)
@click.argument("value")
@click.argument("where")
@click.option("--instrument", default="", help="Which gauge.")
@by_option
@click.pass_obj
def district(place: Place, value: str, where: str, instrument: str, by: str | None, paper_at: str | None) -> None:
    """Enter a reading of the district, VALUE ("30.4 mbar") read at WHERE: the rig gauge cannot see past the stopper."""
    ask = Ask("", "district", "quantity", "District", unit="mbar")
    reading = value_of(ask, value, instrument)
    place.say(place.session.attempt(log.District(reading, where), place.hand(by, paper_at)),
              f"District {reading.written} at {where}.")
