"""A record in the hands of somebody who trusts nobody: every change is found, and every state is said as it is."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small import KNOWN, KNOWN_AS, PEOPLE, SECRETS, Book, small_book

from stillbore.errors import StillboreError
from stillbore.record import events as log
from stillbore.record.canonical import canonical
from stillbore.record.chain import Line, merged, seal_line
from stillbore.record.events import Value
from stillbore.record.plain import from_data, to_data
from stillbore.record.read import Broken, read_export, read_line
from stillbore.record.verify import BROKEN, END_OPEN, SIGNER_UNKNOWN, UNCHANGED, VERIFIED, verify
from stillbore.store.keys import check, load_keys

SMALL = small_book().export()
GOOD = verify(SMALL, check, KNOWN)
OLD = Path(__file__).parents[1] / "records"


def test_an_untouched_record_is_verified():
    assert GOOD.state == VERIFIED and GOOD.events == 8 and GOOD.devices == ("D1", "D2") and GOOD.unsigned == 0
    assert "does not show that what it says is true" in UNCHANGED and GOOD.words == UNCHANGED


# Every change is found


@pytest.mark.parametrize("flip", [0x01, 0x20, 0x80])
def test_every_single_byte_changed_is_found(flip):
    for place in range(len(SMALL)):
        changed = bytearray(SMALL)
        changed[place] ^= flip
        assert verify(bytes(changed), check, KNOWN).state != VERIFIED, place


def test_every_byte_deleted_or_put_in_is_found():
    for place in range(len(SMALL)):
        assert verify(SMALL[:place] + SMALL[place + 1:], check, KNOWN).state != VERIFIED, place
        assert verify(SMALL[:place] + b" " + SMALL[place:], check, KNOWN).state != VERIFIED, place


def test_every_cut_of_the_tail_is_found():
    for length in range(len(SMALL)):
        assert verify(SMALL[:length], check, KNOWN).state in (END_OPEN, BROKEN), length


def test_every_line_deleted_doubled_or_moved_is_found():
    lines = SMALL.splitlines(keepends=True)
    for place in range(len(lines)):
        without = lines[:place] + lines[place + 1:]
        found = verify(b"".join(without), check, KNOWN).state
        assert found == (END_OPEN if place == len(lines) - 1 else BROKEN)
        assert verify(b"".join(lines[:place] + [lines[place]] + lines[place:]), check, KNOWN).state == BROKEN
        for other in range(len(without) + 1):
            if other != place:
                moved = without[:other] + [lines[place]] + without[other:]
                assert verify(b"".join(moved), check, KNOWN).state == BROKEN, (place, other)


def test_a_line_of_another_record_put_in_is_found():
    other = Book("J-2")
    other.write("D1", "P1", log.Noted("", "from elsewhere"))
    lines = SMALL.splitlines(keepends=True)
    for place in range(len(lines) + 1):
        put_in = lines[:place] + [other.lines[1].raw + b"\n"] + lines[place:]
        assert verify(b"".join(put_in), check, KNOWN).state == BROKEN


def test_the_first_event_that_does_not_hold_is_named():
    lines = SMALL.splitlines(keepends=True)
    lines[4] = lines[4].replace(b'"step":"B6"', b'"step":"B7"')
    report = verify(b"".join(lines), check, KNOWN)
    assert (report.state, report.broken_at) == (BROKEN, 5) and "Line 5" in report.why


# Somebody who can compute hashes


def rewritten(book, change, secret):
    """The whole log written anew with one event changed, every hash and link put right, and signed with another key."""
    made, hashes = [], {}
    for line in book.lines:
        event = change(line.event)
        after = tuple(replace(head, hash=hashes.get(head.hash, head.hash)) for head in event.after)
        event = replace(event, prev=hashes.get(event.prev, event.prev), after=after)
        what = event.happening
        if isinstance(what, log.Sealed):
            signature = secret.sign(bytes.fromhex(event.prev))
            event = replace(event, happening=log.Sealed(event.prev, secret.public, signature))
        elif isinstance(what, (log.Opened, log.Joined)):
            event = replace(event, happening=replace(what, device_key=secret.public))
        new = seal_line(event)
        hashes[line.hash] = new.hash
        made.append(new)
    forged = Book(opens=False)
    for line in made:
        forged.add(line)
    return forged


def test_a_chain_signed_again_with_another_key_is_intact_and_its_signer_unknown_never_verified():
    def lower(event):
        what = event.happening
        if isinstance(what, log.Answered):
            return replace(event, happening=replace(what, value=Value("20.0", "0.3", "mbar")))
        return event

    forged = rewritten(small_book(), lower, SECRETS["X"])
    report = verify(forged.export("X"), check, KNOWN)
    assert report.state == SIGNER_UNKNOWN
    assert any("device D1" in who for who in report.unknown) and any("the footer" in who for who in report.unknown)
    # With the right device's name and a footer of the true device's key over it, still not verified.
    assert verify(forged.export("D1"), check, KNOWN).state == SIGNER_UNKNOWN


def test_without_a_key_list_no_signer_is_known():
    assert verify(SMALL, check, ()).state == SIGNER_UNKNOWN


@pytest.mark.parametrize("missing", ["P1", "P2", "D1", "D2"])
def test_every_key_has_to_be_known(missing):
    assert verify(SMALL, check, KNOWN - {KNOWN_AS[missing]}).state == SIGNER_UNKNOWN


def broken_book(spoil):
    book = small_book()
    spoil(book)
    return verify(book.export(), check, KNOWN)


@pytest.mark.parametrize("spoil,word", [
    (lambda book: book.sign("D1", "P1", SECRETS["P2"]), "not that of P1"),
    (lambda book: book.write("D1", "P1", log.Signed("B6", "cd" * 32, SECRETS["P1"].public,
                                                    SECRETS["P1"].sign(b"else"))), "signature of P1 does not hold"),
    (lambda book: book.seal("D1", SECRETS["D2"]), "does not seal the head"),
    (lambda book: book.write("D1", "P1", log.Sealed(book.lines[0].hash, SECRETS["D1"].public, "00" * 64)),
     "does not seal the head"),
    (lambda book: book.write("D1", "P1", log.Joined(SECRETS["D1"].public)), "begins twice"),
    (lambda book: book.write("D3", "P1", log.Noted("", "x")), "does not begin with 'joined'"),
    (lambda book: book.write("D1", "P1", log.Enrolled(replace(PEOPLE[0], id="P9"))), "one hand")])
def test_what_is_signed_and_linked_wrongly_is_broken(spoil, word):
    report = broken_book(spoil)
    assert report.state == BROKEN and word in report.why, report.why


def test_two_people_with_one_key_are_one_hand():
    one = (PEOPLE[0], replace(PEOPLE[1], key=PEOPLE[0].key))
    assert "one hand" in verify(Book(people=one).export(), check, KNOWN).why


def test_a_fork_is_found():
    book = small_book()
    fork = replace(book.lines[1].event, at="2030-05-14T09:00:00+00:00")
    book.add(seal_line(fork))
    assert verify(book.export(), check, KNOWN).state == BROKEN


def test_what_a_device_says_it_saw_is_there():
    book = small_book()
    event = book.lines[-1].event
    seen = replace(event, n=event.n + 1, order=event.order + 1, prev=book.lines[-1].hash,
                   after=(log.Head("D2", 0, "0" * 64),), happening=log.Noted("", "x"))
    book.add(seal_line(seen))
    assert "has seen event 0 of the device D2" in verify(book.export(), check, KNOWN).why


def test_without_a_footer_the_end_is_open_and_the_events_under_no_signature_are_counted():
    book = small_book()
    without = b"".join(line.raw + b"\n" for line in book.lines)
    assert verify(without, check, KNOWN).state == END_OPEN
    assert verify(without, check, KNOWN).unsigned == 2  # the last seal of each device: nothing covers its own time
    book.write("D1", "P1", log.Noted("", "x"))
    assert verify(b"".join(line.raw + b"\n" for line in book.lines), check, KNOWN).unsigned == 3
    assert "You do not know device D1" in verify(without, check, ()).sentence


def test_a_clock_that_went_back_is_a_question_and_no_break():
    book = small_book()
    book.write("D1", "P1", log.Noted("", "x"), at="2030-05-14T07:00:00+00:00")
    report = verify(book.export(), check, KNOWN)
    assert report.state == VERIFIED and "went back" in report.questions[0]


def test_two_devices_merge_to_the_same_in_any_order():
    lines = small_book().lines
    assert merged(lines) == merged(reversed(lines)) == merged(lines + lines) == lines


# Reading what a stranger hands over


@settings(max_examples=400, deadline=None)
@given(st.binary(max_size=200) | st.tuples(st.integers(0, len(SMALL)), st.binary(max_size=40)).map(
    lambda pair: SMALL[:pair[0]] + pair[1] + SMALL[pair[0]:]))
def test_any_bytes_give_a_report_and_never_a_traceback(data):
    report = verify(data, check, KNOWN)
    assert report.state != VERIFIED or data == SMALL
    assert report.sentence


@pytest.mark.parametrize("raw", [
    b'{"event":' + b"[" * 50_000 + b"]" * 50_000 + b',"hash":"' + b"0" * 64 + b'"}', b"\xff\xfe", b"\x00" * 100,
    b'{"event":1e999,"hash":"' + b"0" * 64 + b'"}', b"", b'{"footer":{}}'])
def test_hostile_lines_are_broken_lines(raw):
    with pytest.raises(Broken):
        read_line(raw)


def resealed(body):
    """A line whose hash is right, whatever its event is."""
    import hashlib

    return b'{"event":' + body + b',"hash":"' + hashlib.sha256(body).hexdigest().encode() + b'"}'


@pytest.mark.parametrize("spoil", [
    lambda data: {**data, "version": 2}, lambda data: {**data, "kind": "blessed"}, lambda data: {**data, "extra": 1},
    lambda data: {key: value for key, value in data.items() if key != "role"}, lambda data: {**data, "n": True},
    lambda data: {**data, "n": 1.0}, lambda data: {**data, "at": "yesterday"}, lambda data: {**data, "n": -1},
    lambda data: {**data, "job": ""}, lambda data: {**data, "happening": {**data["happening"], "plan": 7}}])
def test_an_event_of_the_wrong_shape_is_refused_even_with_a_right_hash(spoil):
    data = json.loads(json.dumps(to_data(small_book().lines[0].event)))
    assert from_data(data) == small_book().lines[0].event
    with pytest.raises(Broken):
        read_line(resealed(canonical(spoil(data))))


def test_a_text_in_another_form_is_refused_even_with_a_right_hash():
    body = canonical(to_data(small_book().lines[0].event))
    for other in (body.replace(b'"n":0', b'"n":0.0'), body.replace(b'"n":0', b'"n": 0'),
                  body[:-1] + b',"job":"J-1"}', body.replace(b"J-1", b"\\u004a-1")):
        assert other != body
        with pytest.raises(Broken):
            read_line(resealed(other))


@pytest.mark.parametrize("value,word", [
    (Value(), "blank"), (Value(how="not measured"), "says no reason"), (Value("1", how="guessed"), "not one of"),
    (Value("1", how="not measured", reason="x"), "not measured")])
def test_a_blank_is_no_value_and_not_measured_is_one_with_its_reason(value, word):
    data = to_data(replace(small_book().lines[1].event, happening=log.Answered("B6", "pressure", value)))
    with pytest.raises(StillboreError, match=word):
        from_data(json.loads(canonical(data)))
    not_measured = log.Answered("B6", "x", Value(how="not measured", reason="no echo"))
    fine = replace(small_book().lines[1].event, happening=not_measured)
    assert from_data(json.loads(canonical(to_data(fine)))) == fine


# Old records open for ever


def test_an_old_record_still_opens_and_verifies():
    known = load_keys(OLD / "v1_keys.toml").known
    data = (OLD / "v1_small.jsonl").read_bytes()
    report = verify(data, check, known)
    assert report.state == VERIFIED and report.events == 8, report.why
    assert isinstance(read_export(data).lines[0], Line)
    kinds = {line.event.kind for line in read_export(data).lines}
    assert {"opened", "joined", "answered", "signed", "sealed", "noted"} <= kinds
