"""A stranger with docs/record.md, the library rfc8785 and the library cryptography, and no line of this program, comes
to the same: the small record holds, and one that was changed does not."""

import hashlib
import json

import pytest
import rfc8785
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from small import small_book


def holds(data):
    """By the words of docs/record.md. Raises AssertionError or InvalidSignature."""
    *lines, last = [json.loads(raw) for raw in data.decode("utf-8").removesuffix("\n").split("\n")]
    assert b"".join(rfc8785.dumps(line) + b"\n" for line in [*lines, last]) == data
    before, seen, keys, people = {}, {}, {}, {}
    for number, line in enumerate(lines):
        event, what = line["event"], line["event"]["happening"]
        assert hashlib.sha256(rfc8785.dumps(event)).hexdigest() == line["hash"]
        device = event["device"]
        previous = before.get(device)
        assert event["n"] == (previous["event"]["n"] + 1 if previous else 0)
        assert event["prev"] == (previous["hash"] if previous else "")
        if previous is None:
            assert event["kind"] == ("joined" if number else "opened")
            keys[device] = what["device_key"]
        people.update({person["id"]: person["key"] for person in what.get("people", [])})
        assert all(seen[head["device"], head["n"]] == head["hash"] for head in event["after"])
        if event["kind"] == "sealed":
            assert what["head"] == event["prev"] and what["key"] == keys[device]
            verify(what["key"], bytes.fromhex(what["head"]), what["signature"])
        if event["kind"] == "signed":
            assert what["key"] == people[event["person"]]
            verify(what["key"], bytes.fromhex(what["statement"]), what["signature"])
        before[device] = line
        seen[device, event["n"]] = line["hash"]
    places = [(line["event"]["order"], line["event"]["device"]) for line in lines]
    assert places == sorted(places)
    footer = last["footer"]
    assert footer["count"] == len(lines) and footer["last"] == lines[-1]["hash"]
    assert footer["all"] == hashlib.sha256("".join(line["hash"] for line in lines).encode()).hexdigest()
    assert {head["device"]: head["hash"] for head in footer["heads"]} == {name: line["hash"] for name, line in
                                                                         before.items()}
    verify(last["key"], hashlib.sha256(rfc8785.dumps(footer)).digest(), last["signature"])


def verify(key, message, signature):
    Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(bytes.fromhex(signature), message)


def test_the_record_holds_by_the_words_of_the_document():
    holds(small_book().export())


@pytest.mark.parametrize("old,new", [(b'"30.2"', b'"20.2"'), (b'"count":8', b'"count":7'), (b'"n":1', b'"n":2')])
def test_and_a_changed_one_does_not(old, new):
    data = small_book().export()
    assert old in data
    with pytest.raises((AssertionError, InvalidSignature)):
        holds(data.replace(old, new))
