"""Whole jobs: every route with every kit comes to its end, and the record of it can be verified by a stranger."""

import pytest
from crew import KITS, ROUTES, SECRETS, Crew, refused

from stillbore.record import events as log
from stillbore.record.chain import export
from stillbore.record.verify import VERIFIED, known_key, verify
from stillbore.run.fold import fold
from stillbore.run.step import Moved, audit
from stillbore.store.keys import check

KNOWN = {known_key("device" if name.startswith("D") else "person", name, secret.public)
         for name, secret in SECRETS.items()}


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("kit", KITS)
def test_a_whole_job_comes_to_its_end(route, kit):
    crew = Crew(route, kit)
    crew.up_to("")
    assert isinstance(crew.try_(log.Finished()), Moved)
    data = export(crew.session.lines, "2030-05-14T18:00:00+00:00", "D1", crew.device.key, crew.device.sign)
    report = verify(data, check, KNOWN)
    assert report.state == VERIFIED, report.why
    assert {step.hold for step in crew.state.basis.steps if step.hold} == set(range(1, 19))
    pairs = [(line.hash, line.event) for line in crew.session.lines]
    assert audit(pairs, crew.session.bases, check) == []
    again = fold(pairs, crew.session.bases)
    assert vars(again) == vars(crew.state)


def test_a_job_cannot_be_finished_before_its_steps_are_done():
    crew = Crew().up_to("E14")
    refused(crew.try_(log.Finished()), "Hold 18", "E14")


def test_aborting_is_a_proper_end_with_its_reason_and_nothing_follows():
    crew = Crew().up_to("D6")
    refused(crew.try_(log.Aborted(" ")), "Say why")
    assert isinstance(crew.try_(log.Aborted("gasket weeps in both places")), Moved)
    assert (crew.state.ended, crew.state.end_reason) == ("aborted", "gasket weeps in both places")
    refused(crew.done("D6"), "ended")
    assert isinstance(crew.try_(log.Noted("", "kit set aside")), Moved)
    assert isinstance(crew.try_(log.Stopped("late")), Moved)


def test_a_refused_attempt_is_in_the_log_with_every_reason():
    crew = Crew()
    before = len(crew.session.lines)
    reasons = refused(crew.done("E14"), "Hold 1 ", "Hold 13", "nothing proved")
    last = crew.session.lines[-1].event.happening
    assert len(crew.session.lines) == before + 1
    assert (last.tried, last.step, last.reasons) == ("done", "E14", reasons)
    assert crew.state.refused == 1
