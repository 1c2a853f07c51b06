"""Logs that come together: in any order, repeated, broken off, damaged, the same set of lines stands at the end."""

import hashlib
import itertools
import json
import os
import tempfile
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from made import Crew, opened, two_on_one_job

from stillbore.errors import StillboreError
from stillbore.record.canonical import canonical
from stillbore.record.chain import BEFORE, BEHIND, BETWEEN, export, merged, seal_line
from stillbore.record.events import Joined, Kept
from stillbore.record.verify import END_OPEN, verify
from stillbore.store.questions import questions
from stillbore.store.sqlite import SqliteStore
from stillbore.store.sync import exchange, import_file, write_file

WHOLE = two_on_one_job()
# A fork of D2's second line and one that follows it: lines like any other, as far as the set goes.
FORKED = seal_line(replace(WHOLE.seen["D2"][2].event, role="second person"))
ON_FORKED = seal_line(replace(WHOLE.seen["D2"][3].event, prev=FORKED.hash))
ALL_RAW = [*WHOLE.raw, FORKED.raw, ON_FORKED.raw]
MEMORY = "/dev/shm" if os.path.isdir("/dev/shm") else None
# Some of the lines, in some order.
PARTS = some.permutations(range(len(ALL_RAW))).flatmap(
    lambda order: some.integers(0, len(order)).map(lambda count: order[:count]))
COUNTS = some.integers(0, 2) | some.integers(-2**53, 2**53)
quick = settings(max_examples=60, deadline=None)


@pytest.fixture
def stores(tmp_path):
    with ExitStack() as stack:
        yield [stack.enter_context(SqliteStore(tmp_path / f"{name}.db")) for name in "ab"]


@contextmanager
def fresh():
    """A new store for properties that need many; in memory where there is such a folder: no plug is pulled here."""
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder, SqliteStore(Path(folder) / "jobs.db") as store:
        yield store


@quick
@given(some.data())
def test_any_order_repetition_and_interruption_gives_the_same_set(data):
    """In batches of any size, each of which may break off and come again; the store is closed and opened between."""
    pieces = data.draw(some.permutations([*range(len(WHOLE.raw))] * 2))
    with fresh() as store:
        while pieces:
            count = data.draw(some.integers(1, len(pieces)))
            batch, pieces = [WHOLE.raw[number] for number in pieces[:count]], pieces[count:]
            if data.draw(some.booleans()):
                with pytest.raises(ConnectionResetError):
                    store.take(breaking_off(batch))
            with SqliteStore(store.path) as other:  # the set stands in the file, not in the program
                other.take(batch)
            shown = {line.hash for line in store.lines("J-1")}
            assert shown | {each.hash for each in store.waiting("J-1")} == set(store.held("J-1"))
        assert store.lines("J-1") == merged(WHOLE.lines) and store.waiting("J-1") == []


def breaking_off(batch):
    yield from batch[:len(batch) // 2]
    raise ConnectionResetError


@quick
@given(some.data())
def test_what_is_shown_is_closed_under_what_it_had_seen(data):
    """Of any part of a log: whatever is shown, all it had seen is shown; checked by walking the links themselves."""
    part = [ALL_RAW[number] for number in data.draw(PARTS)]
    with fresh() as store:
        store.take(part)
        shown = {line.hash: line for line in store.lines("J-1")}
    for line in shown.values():
        assert not line.event.prev or line.event.prev in shown
        assert all(head.hash in shown for head in line.event.after)
    places = [(line.event.device, line.event.n) for line in shown.values()]
    assert len(places) == len(set(places))
    # And nothing more could be: a hidden line lacks one of its links, or its place is taken.
    by_hash = {json.loads(raw)["hash"]: json.loads(raw)["event"] for raw in part}
    for hash in by_hash.keys() - shown.keys():
        event = by_hash[hash]
        links = [*([event["prev"]] if event["prev"] else []), *(head["hash"] for head in event["after"])]
        assert not all(link in shown for link in links) or (event["device"], event["n"]) in places


@quick
@given(some.data())
def test_two_stores_with_any_parts_of_a_log_end_with_the_same_set(data):
    parts = [[ALL_RAW[number] for number in data.draw(PARTS)] for _ in range(2)]
    with ExitStack() as stack:
        here, there = (stack.enter_context(fresh()) for _ in range(2))
        here.take(parts[0])
        there.take(parts[1])
        done = exchange(here, there)
        assert set(here.held("J-1")) == set(there.held("J-1")) == {json.loads(raw)["hash"] for raw in sum(parts, [])}
        assert here.digests() == there.digests()
        assert done.taken.new == len(set(parts[1]) - set(parts[0]))
        assert done.given.new == len(set(parts[0]) - set(parts[1]))
        again = exchange(here, there)
        assert (again.taken.new, again.taken.known, again.given.new, again.given.known) == (0, 0, 0, 0)


def test_two_devices_on_one_job_lose_nothing_and_verify(stores):
    """Each writes in its own store while the other is away; then both have all, and a stranger can check it."""
    here, there = stores
    crew = Crew()
    here.append(crew.write("D1", opened()))
    exchange(here, there)
    crew.meet("D1", "D2")
    there.append(crew.write("D2", Joined("")))
    for _ in range(20):
        here.append(crew.write("D1"))
        there.append(crew.write("D2"))
    exchange(there, here)
    assert here.lines("J-1") == there.lines("J-1") == merged(crew.lines)
    assert len(here.lines("J-1")) == 42
    # What the record's own reader, which knows no store, says of it: nothing is missing and every link holds.
    report = verify(b"".join(line.raw + b"\n" for line in here.lines("J-1")), lambda *_: True, ())
    assert (report.state, report.events, report.devices) == (END_OPEN, 42, ("D1", "D2"))


def test_files_go_over_both_ways_and_what_nobody_has_is_told(stores):
    here, there = stores
    crew = Crew()
    survey, photo, lost = b"survey", b"photo", hashlib.sha256(b"lost").hexdigest()
    here.append(crew.write("D1", opened(here.keep(survey), lost)))
    crew.meet("D1", "D2")
    there.keep(photo)
    there.take(crew.raw)
    there.append(crew.write("D2", Kept("B1", "photo", hashlib.sha256(photo).hexdigest(), 5, "a.jpg")))
    done = exchange(here, there)
    assert (done.files_in, done.files_out, done.lacking) == (1, 1, [lost])
    assert here.kept(hashlib.sha256(photo).hexdigest()) == photo
    assert there.kept(hashlib.sha256(survey).hexdigest()) == survey


def test_an_exchange_that_broke_off_between_lines_and_files_goes_on(stores):
    here, there = stores
    there.append(Crew().write("D1", opened(there.keep(b"survey"))))
    here.take(there.give("J-1"))
    assert here.digests() != there.digests()
    assert exchange(here, there).files_in == 1 and here.digests() == there.digests()


def test_names_do_not_travel(stores, tmp_path):
    here, there = stores
    here.append(Crew().write("D1", opened()))
    here.put_aside("J-1", "P1", {"name": "Somebody Else"})
    exchange(here, there)
    write_file(here, "J-1", tmp_path / "log.jsonl")
    assert there.aside("J-1") == {} and b"Somebody" not in (tmp_path / "log.jsonl").read_bytes()


# Files


def test_a_log_goes_over_as_a_file_with_or_without_footer(stores, tmp_path):
    here, there = stores
    here.take(WHOLE.raw)
    path = tmp_path / "log.jsonl"
    assert write_file(here, "J-1", path) == len(WHOLE.raw) and [each.name for each in tmp_path.glob("*.part")] == []
    assert import_file(there, path).new == len(WHOLE.raw)
    path.write_bytes(export(WHOLE.lines, "2030-05-14T09:00:00+00:00", "D1", "", lambda message: ""))
    taken = import_file(there, path)
    assert (taken.new, taken.known, taken.refused) == (0, len(WHOLE.raw), 0)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))  # as some mail programs do
    assert import_file(there, path).known == len(WHOLE.raw)


def test_a_torn_last_line_costs_only_that_line(stores, tmp_path):
    """Cut at every byte of the last line."""
    here, _ = stores
    path = tmp_path / "log.jsonl"
    whole = b"\n".join(WHOLE.raw)
    for cut in range(1, len(WHOLE.raw[-1]), 7):
        path.write_bytes(whole[:-cut])
        taken = import_file(here, path)
        assert taken.new + taken.known == len(WHOLE.raw) - 1 and taken.refused == 1
    path.write_bytes(whole)
    assert import_file(here, path).new == 1


def test_what_is_no_log_is_told(stores, tmp_path):
    path = tmp_path / "log.jsonl"
    for content in (b"", b"\n\n", b"time,pressure_mbar\n1,2\n", b"{}", b"\x00" * 1_000_000):
        path.write_bytes(content)
        with pytest.raises(StillboreError, match="holds no line of a log"):
            import_file(stores[0], path)
    with pytest.raises(StillboreError, match="cannot be read"):
        import_file(stores[0], tmp_path / "none")
    with pytest.raises(StillboreError, match="cannot be written"):
        write_file(stores[0], "J-1", tmp_path / "no" / "log.jsonl")


@settings(max_examples=150, deadline=None)
@given(some.data())
def test_spoilt_lines_never_do_more_than_be_refused(spoilt, data):
    """Bytes changed, cut, doubled, put in; and lines sealed anew with strange contents, which hold by their hash."""
    raw = bytearray(data.draw(some.sampled_from(ALL_RAW)))
    for _ in range(data.draw(some.integers(1, 4))):
        at = data.draw(some.integers(0, max(len(raw) - 1, 0)))
        piece = data.draw(some.binary(max_size=8))
        raw[at:at + data.draw(some.integers(0, 30))] = piece
    taken = spoilt.take([bytes(raw)])
    assert taken.new + taken.known + taken.refused <= 1
    if bytes(raw) not in ALL_RAW:
        assert taken.new == 0


@settings(max_examples=150, deadline=None)
@given(n=COUNTS, order=COUNTS, job=some.text(max_size=5), device=some.text(max_size=5),
       prev=some.sampled_from(["", "0" * 64, WHOLE.lines[0].hash, "x"]),
       offset=some.sampled_from(["", "nan", "1e400", "ten"]),
       at=some.sampled_from(["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "2030-05-14", "now"]))
def test_strange_events_with_a_right_hash_never_break_the_store(spoilt, n, order, job, device, prev, offset, at):
    data = json.loads(WHOLE.raw[1])["event"] | {"n": n, "order": order, "job": job, "device": device, "prev": prev,
                                                "offset_s": offset, "at": at}
    try:
        body = canonical(data)
    except StillboreError:
        return
    taken = spoilt.take([BEFORE + body + BETWEEN + hashlib.sha256(body).hexdigest().encode() + BEHIND])
    assert taken.new + taken.known + taken.refused == 1
    if taken.new:
        assert job in spoilt.digests()
        assert len(spoilt.lines(job)) + len(spoilt.waiting(job)) == len(spoilt.held(job)) > 0
        assert questions(spoilt) is not None


@pytest.fixture(scope="module")
def spoilt():
    """One store for all examples, so that strange lines may meet each other."""
    with fresh() as store:
        yield store


def test_every_order_of_a_small_log_gives_the_same(stores):
    """All 120 orders of five lines, so that the property above does not hang on luck."""
    crew = Crew()
    crew.write("D1", opened())
    crew.meet("D1", "D2")
    crew.write("D2")
    crew.write("D1")
    crew.meet("D1", "D2")
    crew.write("D2")
    crew.write("D1")
    for mixed in itertools.permutations(crew.lines):
        with fresh() as store:
            for line in mixed:
                store.take([line.raw])
            assert store.lines("J-1") == merged(crew.lines)
