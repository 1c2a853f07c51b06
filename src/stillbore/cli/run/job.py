"""The job as a whole: its beginning, stops, new plans, its end."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.plan import job_options
from stillbore.cli.run.place import Place, by_option
from stillbore.errors import StillboreError
from stillbore.job.files import load_job
from stillbore.plan import plan as work_out
from stillbore.record import events as log
from stillbore.run.files import people_of
from stillbore.run.session import Hand, Session
from stillbore.store import keys
from stillbore.version import program

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("start")
@job_options
@click.option("--keys", "key_list", type=FILE, required=True, help="Key list: who has which public key.")
@click.option("--training", is_flag=True, help="Stamp the record TRAINING; it can never be taken for a live one.")
@by_option
@click.pass_obj
def start(place: Place, survey: Path, kit: Path | None, rules: Path | None, procedure: Path | None, key_list: Path,
          training: bool, by: str | None, paper_at: str | None) -> None:
    """Open the job described in SURVEY. Its files are kept by their hash; its plan is the first that counts."""
    plan = work_out(load_job(survey, kit, rules, procedure))
    people = people_of(plan, keys.load_keys(key_list).people)
    roles = {person.id: person.role for person in people}
    if by is not None and by not in roles:
        raise StillboreError(f"{by} is not on this job.", f"Write --by with one of: {', '.join(roles)}.")
    hand = Hand(by or people[0].id, roles[by or people[0].id])
    session = Session.start(place.store, plan, hand, people, place.device(), place.clock, keys.check,
                            program=program(), replayed=place.replayed, training=training)
    place.opened(session)
    without = [person.id for person in people if not person.key]
    click.echo(f"{session.job} open: plan {plan.version[:16]}, {len(session.state.basis.steps)} steps, "
               f"{len(people)} people.")
    if without:
        click.echo(f"Without a key, so they cannot sign: {', '.join(without)}.")
    for hold, findings in plan.open_holds.items():
        click.echo(f"Hold {hold} cannot be signed as things stand: {findings[0].what}")


@click.command("stop")
@click.argument("reason")
@by_option
@click.pass_obj
def stop(place: Place, reason: str, by: str | None, paper_at: str | None) -> None:
    """Stop the work, and say why. Always accepted; never scored against anybody."""
    hand = place.hand(by, paper_at) if by else Hand("not named", "")  # a stop waits for nobody's name
    place.say(place.session.attempt(log.Stopped(reason), hand), "STOPPED. Make good what is open.")


@click.command("resume")
@click.argument("reason")
@by_option
@click.pass_obj
def resume(place: Place, reason: str, by: str | None, paper_at: str | None) -> None:
    """Say why the work goes on after a stop."""
    place.say(place.session.attempt(log.Resumed(reason), place.hand(by, paper_at)), "Work goes on.")


@click.command("replan")
@job_options
@click.argument("reason")
@by_option
@click.pass_obj
def replan(place: Place, survey: Path, kit: Path | None, rules: Path | None, procedure: Path | None, reason: str,
           by: str | None, paper_at: str | None) -> None:
    """Plan again from the changed SURVEY (kit, rules), and say what was found different. A file not given stays as it
    was in the job."""
    session = place.session
    old = session.plan()
    files = load_job(survey, kit, rules, procedure)
    kept = {"kit": kit, "rules": rules, "procedure": procedure}
    same = {kind: getattr(old.files, kind) for kind, path in kept.items() if path is None}
    plan = work_out(type(files)(**{**vars(files), **same}))
    before = {step for step in session.state.done if session.state.stands(step)}
    found = session.replan(plan, reason, place.hand(by, paper_at))
    place.say(found, f"Plan {plan.version[:16]} counts from here.")
    change = next(line.event.happening for line in reversed(session.lines)
                  if isinstance(line.event.happening, log.Replanned))
    for each in change.changes[:20]:
        click.echo(f"  {each.name}: {each.before or 'none'} -> {each.after or 'none'}")
    if len(change.changes) > 20:
        click.echo(f"  and {len(change.changes) - 20} more")
    reopened = sorted(step for step in before if not session.state.stands(step))
    click.echo(f"Open again: {', '.join(reopened) or 'nothing'}.")


@click.command("note")
@click.argument("text")
@click.option("--step", default="", help="The step it belongs to.")
@by_option
@click.pass_obj
def note(place: Place, text: str, step: str, by: str | None, paper_at: str | None) -> None:
    """Write a remark. No names and nothing about health: it stays in the log for ever."""
    place.say(place.session.attempt(log.Noted(step, text), place.hand(by, paper_at)), "Noted.")


@click.command("clock")
@click.argument("trusted", metavar="TIME")
@click.argument("source")
@by_option
@click.pass_obj
def clock(place: Place, trusted: str, source: str, by: str | None, paper_at: str | None) -> None:
    """Note that the trusted clock SOURCE says TIME now."""
    log.moment(trusted)
    place.say(place.session.attempt(log.Clock(trusted, source), place.hand(by, paper_at)), "Noted beside this clock.")


@click.command("abort")
@click.argument("reason")
@by_option
@click.pass_obj
def abort(place: Place, reason: str, by: str | None, paper_at: str | None) -> None:
    """End the job without its purpose, and say why: a depot learns from these."""
    place.say(place.session.attempt(log.Aborted(reason), place.hand(by, paper_at)), "The job has ended: aborted.")


@click.command("finish")
@by_option
@click.pass_obj
def finish(place: Place, by: str | None, paper_at: str | None) -> None:
    """End the job: every step done."""
    place.say(place.session.attempt(log.Finished(), place.hand(by, paper_at)),
              "The job has ended: finished. Export the record with: stillbore record export")


@click.command("seal")
@by_option
@click.pass_obj
def seal(place: Place, by: str | None, paper_at: str | None) -> None:
    """Sign the head of this device's chain. A seal shows that nothing was changed since; not that it is true."""
    place.session.seal(place.hand(by, paper_at))
    click.echo(f"Sealed: {place.session.lines[-1].hash}")
