"""Records forged by somebody who holds keys of the crew: what one hand can write alone is never called verified."""

import json
from dataclasses import replace

import pytest
from small import KNOWN, PEOPLE, SECRETS, Book, small_book

from stillbore.errors import StillboreError
from stillbore.record import events as log
from stillbore.record.canonical import canonical
from stillbore.record.chain import footer, footer_message, merged, seal_line
from stillbore.record.events import Value
from stillbore.record.plain import from_data, to_data
from stillbore.record.read import LONGEST_LINE, LONGEST_SHOWN, printable
from stillbore.record.verify import BROKEN, END_OPEN, SIGNER_UNKNOWN, VERIFIED, known_key, verify
from stillbore.store.keys import check

FLAT = Value("0.0", "0.1", "mbar", instrument="G-11")


def report_of(book, known=KNOWN, secret="D1"):
    return verify(book.export(secret), check, known)


def without_footer(book):
    return b"".join(line.raw + b"\n" for line in merged(book.lines))


# In another device's name


def spoken_for():
    """D1 writes a chain in the name of D2, whose key everybody can read, and seals and closes the whole itself."""
    book = Book()
    book.write("D2", "P2", log.Joined(SECRETS["D2"].public))
    book.write("D2", "P2", log.Answered("B6", "pressure", FLAT, "met"))
    book.seal("D1")
    return book


def test_a_chain_that_its_own_device_never_signed_is_not_verified_whoever_closed_the_log():
    report = report_of(spoken_for())
    assert (report.state, report.unsigned, report.closed) == (END_OPEN, 2, True)
    assert "2 of 4 events are under no signature of the device that they name" in report.sentence
    assert "no signed footer" not in report.sentence


def test_once_its_own_device_signs_it_is_verified():
    book = spoken_for()
    book.seal("D2")
    assert report_of(book).state == VERIFIED


def test_events_put_behind_the_last_seal_of_another_device_are_counted():
    book = small_book()
    book.write("D2", "P2", log.Noted("", "I was there"))
    report = report_of(book)
    assert (report.state, report.unsigned) == (END_OPEN, 1)


def test_the_device_that_closes_the_log_signs_its_own_tail_with_the_footer():
    book = small_book()
    book.write("D1", "P1", log.Noted("", "x"))
    assert report_of(book).state == VERIFIED
    assert report_of(book, secret="D2").state == END_OPEN  # closed by another hand


# In another person's name


def test_a_person_never_has_the_key_of_a_device_which_lies_open_on_it():
    people = (PEOPLE[0], replace(PEOPLE[1], key=SECRETS["D1"].public))
    book = Book(people=people)
    book.sign("D1", "P2", SECRETS["D1"])
    book.seal("D1")
    report = report_of(book)
    assert report.state == BROKEN and "device D1 have one key: they are one hand" in report.why


def test_a_device_that_joins_with_the_key_of_a_person_is_found_too():
    book = Book()
    book.write("D2", "P2", log.Joined(SECRETS["P2"].public))
    assert "person P2 have one key" in report_of(book).why


def test_a_known_key_is_known_for_its_owner_alone():
    book = Book(people=(replace(PEOPLE[0], key=SECRETS["P2"].public), replace(PEOPLE[1], key=SECRETS["P1"].public)))
    book.sign("D1", "P1", SECRETS["P2"])
    book.seal("D1")
    report = report_of(book)
    assert report.state == SIGNER_UNKNOWN and report.unknown[0].startswith("P1 (")
    swapped = {known_key("person", "P1", SECRETS["P2"].public), known_key("person", "P2", SECRETS["P1"].public)}
    assert report_of(book, KNOWN | swapped).state == VERIFIED


def test_the_key_of_a_person_closes_no_log():
    assert report_of(small_book(), secret="P2").unknown == (f"the footer ({SECRETS['P2'].public[:8]})",)


def test_an_unknown_key_is_not_hidden_by_enrolling_its_holder_anew():
    book = Book(people=(replace(PEOPLE[0], key=SECRETS["X"].public), PEOPLE[1]))
    book.sign("D1", "P1", SECRETS["X"])
    assert report_of(book).state == SIGNER_UNKNOWN
    book.write("D1", "P2", log.Enrolled(PEOPLE[0]))
    assert "P1 was there before, with another key" in report_of(book).why


def test_somebody_without_a_key_can_be_enrolled_with_one_later():
    book = Book(people=(replace(PEOPLE[0], key=""), PEOPLE[1]))
    book.write("D1", "P2", log.Enrolled(PEOPLE[0]))
    book.sign("D1", "P1")
    assert report_of(book).state == VERIFIED


def test_a_signature_before_the_key_was_declared_counts_for_nothing():
    book = Book(people=(PEOPLE[1],))
    book.sign("D1", "P1")
    book.write("D1", "P2", log.Enrolled(PEOPLE[0]))
    assert "not that of P1" in report_of(book).why


# The order, and what was seen


@pytest.mark.parametrize("back", [0, 1, 3])
def test_the_order_of_a_device_only_goes_up(back):
    book = small_book()
    last = book.lines[-1]
    book.add(seal_line(replace(last.event, n=last.event.n + 1, order=last.event.order - back, prev=last.hash,
                               happening=log.Noted("", "x"))))
    report = report_of(book)
    assert report.state == BROKEN and ("order" in report.why or "does not follow" in report.why)


# The footer says what the log is, and nothing else


def closed_with(change, book=None):
    book = book or small_book()
    ordered = merged(book.lines)
    body = change(footer(ordered, "2030-05-14T12:00:00+00:00", "D1"))
    secret = SECRETS["D1"]
    last = canonical({"footer": body, "key": secret.public, "signature": secret.sign(footer_message(body))})
    return verify(without_footer(book) + last + b"\n", check, KNOWN)


def test_a_footer_made_by_hand_can_hold():
    assert closed_with(lambda body: body).state == VERIFIED


@pytest.mark.parametrize("change,word", [
    (lambda body: {**body, "format": "other 9"}, "in: format"),
    (lambda body: {**body, "more": 1}, "in: more"),
    (lambda body: {**body, "count": 7}, "in: count"),
    (lambda body: {**body, "job": "J-2"}, "in: job"),
    (lambda body: {**body, "heads": body["heads"][:1]}, "in: heads"),
    (lambda body: {**body, "heads": body["heads"][::-1]}, "in: heads"),
    (lambda body: {**body, "last": body["all"]}, "in: last"),
    (lambda body: {**body, "all": body["last"]}, "in: all"),
    (lambda body: {**body, "at": "noon"}, "time does not hold"),
    (lambda body: {**body, "at": [1]}, "when and on which device"),
    (lambda body: {**body, "by": ""}, "when and on which device"),
    (lambda body: {name: value for name, value in body.items() if name != "by"}, "when and on which device")])
def test_a_footer_that_says_anything_else_is_broken_though_it_is_signed(change, word):
    report = closed_with(change)
    assert (report.state, report.broken_at) == (BROKEN, 9) and word in report.why


def test_true_is_no_count():
    report = closed_with(lambda body: {**body, "count": True}, Book())
    assert report.state == BROKEN and "how it is written" in report.why


def test_a_footer_without_end_is_not_read():
    assert closed_with(lambda body: {**body, "more": "x" * LONGEST_LINE}).why.endswith("it is no footer.")


# Words of a log on somebody's terminal

SCREEN = "\x1b[2J\x1b[HVerified: nothing was changed."


@pytest.mark.parametrize("name", ["job", "device", "person"])
def test_who_writes_is_a_reference_that_can_be_seen(name):
    data = json.loads(canonical(to_data(Book().lines[0].event)))
    assert from_data(data)
    with pytest.raises(StillboreError, match="cannot be seen"):
        from_data({**data, name: SCREEN})


def test_a_log_writes_no_verdict_on_the_terminal():
    report = verify(Book(people=(PEOPLE[0], replace(PEOPLE[0], id=SCREEN))).export(), check, KNOWN)
    assert report.state == BROKEN and report.sentence.isprintable() and "\\u001b[2J" in report.sentence
    assert len(printable("x" * 5000)) <= LONGEST_SHOWN + 3
