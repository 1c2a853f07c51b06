"""What must have been measured: a record, an assumption or a single unqualified reading may be planned with, but it
signs no hold."""

from __future__ import annotations

from datetime import datetime, timedelta

from stillbore.derive import Fact
from stillbore.plan.parts import HOLD_OPEN, Workings

# Facts that a hold rests on, with the holds. Common practice.
MEASURED = {
    "pipe.outside_diameter": (5,), "pipe.wall": (5,), "pipe.deepest_pit": (5,), "pressure.operating": (1, 9),
    "electrical.pipe_to_earth_voltage": (13,), "electrical.bond_current": (13, 16), "site.nearest_thread": (13,),
    "site.clear_length": (13,), "site.pit_end": (13,),
}


def provenance(work: Workings) -> None:
    """Check how the facts are known: measured, by somebody of this job, in time, often enough, with an uncertainty."""
    work.section("provenance", "How it is known")
    people = {row.text("id") for row in work.survey.rows("person")}
    for name, holds in MEASURED.items():
        fact = work.survey.fact(name)
        if not fact.known:
            continue
        if fact.how != "measured":
            work.tell(HOLD_OPEN, f"{name} is known by {'record' if fact.how == 'record' else 'assumption'} only "
                      f"({work.said(fact)}).", "Measure it on site.", *holds)
            continue
        if fact.by not in people:
            work.tell(HOLD_OPEN, f"{name} was measured by {fact.by}, who is nobody of this job.",
                      "Name the person, or measure again.", *holds)
        _age(work, name, fact, holds)
    _readings(work)


def _age(work: Workings, name: str, fact: Fact, holds: tuple[int, ...]) -> None:
    start, end = work.survey.value("window.start"), work.survey.value("window.end")
    assert isinstance(start, datetime) and isinstance(end, datetime)
    try:
        when = datetime.fromisoformat(fact.when)
    except ValueError:
        return  # the loader has said so
    when = when if when.tzinfo else when.replace(tzinfo=start.tzinfo)
    oldest = timedelta(seconds=work.limit("people.oldest_measurement").high or 0.0)
    if when > end or when < start - oldest:
        work.tell(HOLD_OPEN, f"{name} was measured at {fact.when}, {'after' if when > end else 'long before'} the job.",
                  "Measure it again, or mend the date.", *holds)


def _readings(work: Workings) -> None:
    least = work.limit("pipe.least_uncertainty")
    for name, key, what in (("pipe.outside_diameter", "pipe.diameter_readings", "outside diameter"),
                            ("pipe.wall", "pipe.wall_readings", "wall")):
        fact, wanted = work.survey.fact(name), work.limit(key)
        if not fact.measured:
            continue
        if fact.readings < (wanted.high or 0.0):
            work.tell(HOLD_OPEN, f"There is {fact.readings} reading of the {what}; {wanted.text} are wanted."
                      if fact.readings == 1 else
                      f"There are {fact.readings} readings of the {what}; {wanted.text} are wanted.",
                      "Measure all round and along.", 5)
        if fact.spread < (least.low or 0.0):
            work.tell(HOLD_OPEN, f"The {what} has no uncertainty, or one below "
                      f"{work.show(least.low or 0.0, 'm', 'mm')}.",
                      'Write the instrument\'s: uncertainty = "0.2 mm".', 5)
