"""Who signs, who says a step is done, who is at the pit."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from stillbore.cli.run.place import Place, by_option, open_secret, secret_options
from stillbore.job.survey import ROLES
from stillbore.plan.barriers import PIPE_WALL
from stillbore.record import events as log
from stillbore.store import keys

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("sign")
@click.argument("step")
@secret_options
@by_option
@click.pass_obj
def sign(place: Place, step: str, secret: Path, words_file: Path | None, by: str | None, paper_at: str | None) -> None:
    """Sign STEP as it stands now, with your own secret. Two people sign with two secrets; a name is no signature."""
    hand = place.hand(by, paper_at)
    key = open_secret(secret, words_file)
    place.say(place.session.sign(step, hand, key.public, key.sign), f"{step} signed by {hand.person}.")


@click.command("done")
@click.argument("step")
@by_option
@click.pass_obj
def done(place: Place, step: str, by: str | None, paper_at: str | None) -> None:
    """Say that STEP is done."""
    hand = place.hand(by, paper_at)
    found = place.session.attempt(log.Done(place.session.step(step).id), hand)
    state = place.session.state
    count = "pipe wall" if state.barriers == PIPE_WALL else f"{state.barriers} ({', '.join(state.way)})"
    place.say(found, f"{step} done. Barriers between the gas and the pit: {count}.")


@click.command("override")
@click.argument("step")
@click.argument("red")
@click.argument("reason")
@click.option("--authoriser", required=True, help="The authorising engineer, as P3, who signs.")
@secret_options
@by_option
@click.pass_obj
def override(place: Place, step: str, red: str, reason: str, authoriser: str, secret: Path, words_file: Path | None,
             by: str | None, paper_at: str | None) -> None:
    """Pass RED of STEP (as B6.pressure, or D3.plan) for REASON. The authoriser signs, a second person enters it; it is
    counted. Some reds nobody may pass."""
    hand = place.hand(by, paper_at)
    key = open_secret(secret, words_file)
    place.say(place.session.override(step, red, reason, authoriser, hand, key.public, key.sign),
              f"{red} passed by {authoriser}; it stands in the record.")


@click.command("present")
@click.argument("who")
@click.option("--away", is_flag=True, help="The person leaves.")
@by_option
@click.pass_obj
def present(place: Place, who: str, away: bool, by: str | None, paper_at: str | None) -> None:
    """WHO comes to the pit, or leaves it."""
    hand = place.hand(by or who, paper_at)
    place.say(place.session.attempt(log.Present(who, not away), hand),
              f"At the pit: {', '.join(place.session.state.here) or 'nobody'}.")


@click.command("enrol")
@click.argument("who")
@click.option("--role", required=True, type=click.Choice(ROLES), help="Role on this job.")
@click.option("--authorisation", required=True, help="Number of the authorisation.")
@click.option("--expires", required=True, type=click.DateTime(["%Y-%m-%d"]), help="Its last day, as 2031-01-31.")
@click.option("--keys", "key_list", type=FILE, required=True, help="Key list: who has which public key.")
@by_option
@click.pass_obj
def enrol(place: Place, who: str, role: str, authorisation: str, expires: datetime, key_list: Path, by: str | None,
          paper_at: str | None) -> None:
    """WHO joins the job after it was opened, or gets the key that was lacking then."""
    key = keys.load_keys(key_list).people.get(who, "")
    hand = place.hand(by, paper_at)
    person = log.Person(who, role, key, authorisation, expires.date().isoformat())
    without = "" if key else " Without a key in the list, so without a signature."
    place.say(place.session.attempt(log.Enrolled(person), hand), f"{who} is on the job.{without}")


@click.command("monitor")
@click.argument("instrument")
@click.option("--bumped", is_flag=True, help="It was bump tested today.")
@click.option("--off", is_flag=True, help="It is off, or has failed.")
@by_option
@click.pass_obj
def monitor(place: Place, instrument: str, bumped: bool, off: bool, by: str | None, paper_at: str | None) -> None:
    """The gas monitor INSTRUMENT is on; or off."""
    hand = place.hand(by, paper_at)
    place.say(place.session.attempt(log.Monitor(instrument, not off, bumped), hand),
              f"Gas monitor running: {place.session.state.monitor or 'none'}.")
