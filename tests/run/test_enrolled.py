"""Somebody joins after the job was opened: known as everybody else is, with a role, an authorisation and a key of their
own; the record that comes of it verifies (docs/record.md: a key never changes, two names with one key are one hand)."""

from dataclasses import replace

import pytest
from crew import SECRETS, Crew, refused

from stillbore.record import events as log
from stillbore.record.chain import export
from stillbore.record.verify import BROKEN, VERIFIED, known_key, verify
from stillbore.run.session import Hand
from stillbore.run.step import Moved
from stillbore.store.keys import Secret, check

FOURTH = Secret(bytes([9]) * 32)
PERSON = log.Person("P4", "second operative", FOURTH.public, "A-P4", "2031-01-31")
KNOWN = frozenset(known_key("device" if name.startswith("D") else "person", name, secret.public)
                  for name, secret in {**SECRETS, "P4": FOURTH}.items())


def sign_as_fourth(crew, step):
    return crew.session.sign(step, Hand("P4", "second operative"), FOURTH.public, FOURTH.sign)


def test_who_was_enrolled_signs_with_a_key_of_their_own_and_the_record_verifies():
    crew = Crew().up_to("B6")
    crew.prepare("B6")
    refused(sign_as_fourth(crew, "B6"), "P4 is not on this job")
    assert isinstance(crew.try_(log.Enrolled(PERSON)), Moved)
    assert isinstance(sign_as_fourth(crew, "B6"), Moved)
    assert isinstance(crew.sign("B6", "P1"), Moved)
    assert isinstance(crew.done("B6"), Moved)
    crew.session.seal(crew.hands["P1"])
    data = export(crew.session.lines, "2030-05-14T18:00:00+00:00", crew.device.name, crew.device.key, crew.device.sign)
    assert verify(data, check, KNOWN).state == VERIFIED
    assert verify(data, check, KNOWN - {known_key("person", "P4", FOURTH.public)}).state not in (VERIFIED, BROKEN)


@pytest.mark.parametrize("changes,reason", [
    ({"id": "P1"}, "P1 is on this job already, with a key"),
    ({"id": "Jo Smith"}, "no reference to a person"),
    ({"id": ""}, "no reference to a person"),
    ({"role": "foreman"}, "is no role on a job"),
    ({"authorisation": " "}, "authorisation of P4 is not given"),
    ({"expires": "31.1.2031"}, "last day of P4's authorisation"),
    ({"key": SECRETS["P2"].public}, "This key is that of P2: two names with one key are one hand"),
])
def test_who_cannot_be_enrolled(changes, reason):
    crew = Crew()
    before = dict(crew.state.people)
    refused(crew.try_(log.Enrolled(replace(PERSON, **changes))), reason)
    assert dict(crew.state.people) == before


def test_a_key_that_was_lacking_comes_later_and_then_stays():
    crew = Crew()
    assert isinstance(crew.try_(log.Enrolled(replace(PERSON, key=""))), Moved)
    refused(crew.try_(log.Enrolled(replace(PERSON, role="jointer"))), "P4 is second operative on this job, not jointer")
    assert isinstance(crew.try_(log.Enrolled(PERSON)), Moved)
    refused(crew.try_(log.Enrolled(replace(PERSON, key=Secret(bytes([8]) * 32).public))), "already, with a key")


def test_an_authorisation_that_has_ended_lets_nobody_act():
    crew = Crew()
    assert isinstance(crew.try_(log.Enrolled(replace(PERSON, expires="2030-05-13"))), Moved)
    crew.hands["P4"] = Hand("P4", "second operative")
    refused(crew.try_(log.Noted("", "x"), "P4"), "The authorisation of P4 ended on 2030-05-13")
