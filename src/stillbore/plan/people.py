"""People, permits, customers and dates: what is late, missing or expired."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, NOTE, Workings

NEEDED_ROLES = ("team leader", "second operative")


def _dates(work: Workings) -> tuple[date, date, timedelta]:
    start, end = work.survey.value("window.start"), work.survey.value("window.end")
    assert isinstance(start, datetime) and isinstance(end, datetime)
    warning = timedelta(seconds=work.limit("people.expiry_warning").high or 0.0)
    return start.date(), end.date(), warning


def _expiry(work: Workings, what: str, until: object, hold: int) -> None:
    """Expired by the end of the window keeps a hold open; soon after it is a note."""
    assert isinstance(until, date)
    _, end, warning = _dates(work)
    if until < end:
        work.tell(HOLD_OPEN, f"{what} is valid until {until} only; the work ends on {end}.",
                  "Renew it, or replace it.", hold)
    elif until < end + warning:
        work.tell(NOTE, f"{what} expires on {until}, within {warning.days} days of the work.", "Renew it in time.")


def people(work: Workings) -> None:
    """Check everything that has a date or a name behind it."""
    work.section("job", "People, permits, customers")
    start, end, _ = _dates(work)
    if end < start or work.survey.value("window.end") <= work.survey.value("window.start"):  # type: ignore[operator]
        work.tell(HOLD_OPEN, "The working window ends before it starts.", "Write start before end.", 8)
    rows = work.survey.rows("person")
    least = work.limit("people.least")
    if len({row.text("id") for row in rows}) < (least.high or 0.0):
        work.tell(DOES_NOT_APPLY, f"On the job: {len(rows)}. At the pit there are always {least.text} at the least. "
                  "A lone worker does not do this job.", "Name the second person.", 8)
    roles = {row.text("role") for row in rows}
    for role in NEEDED_ROLES:
        if role not in roles:
            work.tell(HOLD_OPEN, f"Nobody on the job is {role}.", f"Name the {role}.", 8)
    leaders = {row.text("id") for row in rows if row["role"] == NEEDED_ROLES[0]}
    seconds = {row.text("id") for row in rows if row["role"] == NEEDED_ROLES[1]}
    if leaders and seconds and len(leaders | seconds) < 2:
        work.tell(HOLD_OPEN, "Team leader and second operative are the same person.", "Name two people.", 8)
    for row in rows:
        _expiry(work, f"The authorisation {row.text('authorisation')} of {row.text('id')} ({row.text('role')})",
                row["expires"], 8)
    permits = work.survey.rows("permit")
    if not permits:
        work.tell(HOLD_OPEN, "There is no permit or notice for the street.", "Get one, or say why none is needed.", 8)
    for row in permits:
        if row["from"] > start or row["until"] < end:  # type: ignore[operator]
            work.tell(HOLD_OPEN, f"The permit {row.text('reference')} ({row.text('kind')}) is live from {row['from']} "
                      f"to {row['until']}, not for all of the window ({start} to {end}).", "Have it changed.", 8)
    _customers(work)
    _kit_dates(work)


def _customers(work: Workings) -> None:
    fed = work.survey.rows("fed")
    complete = work.survey.value("supply.fed_list_complete")
    if complete != "yes":
        work.tell(HOLD_OPEN, "It is not known whether the list of who is fed is complete.",
                  "Shut the valve at the meter, watch the test point, look at the neighbours' boxes, ask.", 2)
    premises = work.survey.value("job.premises")
    if premises not in {row.text("premises") for row in fed}:
        work.tell(HOLD_OPEN, f"The job is for {premises}, which is not among the houses fed by this service.",
                  "One of the two is wrong: find out which house this pipe feeds.", 2, 4)
    for row in fed:
        house = row.text("premises")
        if row["off_gas_agreed"] != "yes":
            work.tell(HOLD_OPEN, f"{house} has not agreed to be off gas (it says '{row['off_gas_agreed']}').",
                      "Speak to the occupier before anything is shut.", 2)
        if row["needs_care"]:
            work.tell(ENGINEER, f"Somebody in {house} needs care.", "Agree a plan for heat and supply first.", 2)
        if not row.fact("heat_input").known:
            work.tell(NOTE, f"The load of {house} is not known.", "Read the rating of the meter and the appliances.")
    if len(fed) > 1:
        houses = ", ".join(row.text("premises") for row in fed)
        work.tell(ENGINEER, f"{len(fed)} houses are fed by this service: {houses}.",
                  "Each must agree, be off, and be put back; plan it as one job.", 2)


def _kit_dates(work: Workings) -> None:
    kit = work.kit
    _expiry(work, f"The inspection of {kit.value('kit.name')}", kit.value("kit.maker_inspection_until"), 6)
    _expiry(work, f"The calibration of gauge {kit.value('gauge.id')}", kit.value("gauge.calibrated_until"), 7)
    for row in kit.rows("test_gauge"):
        _expiry(work, f"The calibration of gauge {row.text('id')}", row["calibrated_until"], 17)
    _expiry(work, f"The check of bond lead {kit.value('bond.id')}", kit.value("bond.checked_until"), 13)
    lives = (("saw", "holes_cut", "holes_most", "holes"), ("stopper", "uses", "uses_most", "uses"))
    for section, used, most, what in lives:
        for row in kit.rows(section):
            if row["size"] == work.size and row[used] >= row[most]:  # type: ignore[operator]
                work.tell(HOLD_OPEN, f"The {section} {row.text('id')} has had {row[used]} of its {row[most]} {what}.",
                          "Replace it.", 6)
    for row in kit.rows("stopper"):
        if row["size"] == work.size:
            _expiry(work, f"The stopper {row.text('id')}", row["expires"], 6)


