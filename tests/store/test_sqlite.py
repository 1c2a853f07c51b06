"""The SQLite store: what it keeps, what it refuses, and that one file holds the job."""

import hashlib
import multiprocessing
import os
import sqlite3
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from made import Crew, opened, two_on_one_job

from stillbore.errors import StillboreError
from stillbore.record.chain import merged, seal_line
from stillbore.record.events import Head, Kept
from stillbore.store import database
from stillbore.store.interface import FORK, GAP, UNSEEN, Waiting
from stillbore.store.sqlite import SqliteStore


@pytest.fixture
def path(tmp_path):
    return tmp_path / "jobs.db"


@pytest.fixture
def store(path):
    with SqliteStore(path) as made:
        yield made


def test_what_is_appended_comes_back_in_the_declared_order(store):
    crew = two_on_one_job()
    for line in crew.lines:
        store.append(line)
    assert store.lines("J-1") == merged(crew.lines)
    assert store.jobs() == ["J-1"]
    last = {line.event.device: line for line in crew.lines}
    assert store.heads("J-1") == [Head(name, last[name].event.n, last[name].hash) for name in ("D1", "D2")]
    assert store.waiting("J-1") == [] and store.check() == []
    assert store.lines("J-2") == [] and store.heads("J-2") == []


def test_the_same_line_twice_is_one_line(store):
    crew = two_on_one_job()
    for line in [*crew.lines, crew.lines[0], crew.lines[-1]]:
        store.append(line)
    assert store.lines("J-1") == merged(crew.lines)


def test_another_line_at_the_same_place_is_refused(store):
    crew = Crew()
    store.append(crew.write("D1", opened()))
    store.append(crew.write("D1"))
    other = seal_line(replace(crew.lines[1].event, role="second person"))
    with pytest.raises(StillboreError, match="does not follow the head") as caught:
        store.append(other)
    assert caught.value.about["code"] == "fork"
    assert store.lines("J-1") == crew.lines


def test_a_line_at_the_next_place_that_follows_another_head_is_refused(store):
    crew = Crew()
    store.append(crew.write("D1", opened()))
    second = crew.write("D1")
    with pytest.raises(StillboreError, match="does not follow the head"):
        store.append(seal_line(replace(second.event, prev="0" * 64)))
    store.append(second)


def test_a_line_with_a_gap_before_it_is_refused_as_own_work(store):
    crew = Crew()
    store.append(crew.write("D1", opened()))
    crew.write("D1")
    with pytest.raises(StillboreError, match="does not follow the head"):
        store.append(crew.write("D1"))


def test_a_line_that_had_seen_what_is_not_here_is_refused_as_own_work(store):
    crew = Crew()
    crew.write("D1", opened())
    crew.meet("D1", "D2")
    with pytest.raises(StillboreError, match="which is not here"):
        store.append(crew.write("D2"))
    assert store.lines("J-1") == []


def test_a_line_whose_bytes_were_changed_is_refused(store):
    line = Crew().write("D1", opened())
    with pytest.raises(StillboreError, match="does not hold"):
        store.append(replace(line, raw=line.raw.replace(b"leader", b"Leader")))
    assert store.lines("J-1") == []


# Lines from elsewhere


def test_lines_in_reverse_wait_for_each_other(store):
    crew = Crew()
    crew.write("D1", opened())
    for _ in range(5):
        crew.write("D1")
    for line in crew.lines[:0:-1]:
        assert store.take([line.raw]).new == 1
        assert store.lines("J-1") == [] and store.jobs() == []
    assert {each.why for each in store.waiting("J-1")} == {GAP}
    store.take([crew.lines[0].raw])
    assert store.lines("J-1") == crew.lines and store.waiting("J-1") == []


def test_a_gap_hides_what_is_after_it_and_is_told(store):
    crew = Crew()
    crew.write("D1", opened())
    for _ in range(4):
        crew.write("D1")
    store.take([line.raw for line in crew.lines if line.event.n != 2])
    assert store.lines("J-1") == crew.lines[:2]
    assert store.waiting("J-1") == [Waiting("J-1", "D1", n, crew.lines[n].hash, GAP) for n in (3, 4)]
    assert store.heads("J-1") == [Head("D1", 1, crew.lines[1].hash)]


def test_what_had_seen_a_line_that_has_not_come_waits_for_it(store):
    crew = Crew()
    crew.write("D1", opened())
    first = crew.write("D2")
    crew.meet("D1", "D2")
    had_seen = crew.write("D1")
    follows = crew.write("D1")
    store.take([line.raw for line in crew.lines if line != first])
    assert store.lines("J-1") == [crew.lines[0]]
    assert [(each.hash, each.why) for each in store.waiting("J-1")] == [(had_seen.hash, UNSEEN), (follows.hash, UNSEEN)]
    store.take([first.raw])
    assert store.lines("J-1") == merged(crew.lines) and store.waiting("J-1") == []


def test_what_follows_a_line_that_waits_waits_too_though_it_says_nothing_of_the_other(store):
    crew = Crew()
    crew.write("D1", opened())
    crew.write("D2")
    crew.meet("D1", "D2")
    had_seen = crew.write("D1")
    silent = seal_line(replace(crew.write("D1").event, after=()))
    store.take([crew.raw[0], had_seen.raw, silent.raw])
    assert store.lines("J-1") == crew.lines[:1]
    assert [each.why for each in store.waiting("J-1")] == [UNSEEN, UNSEEN]


def test_a_chain_whose_order_goes_back_is_shown_only_up_to_there(store):
    crew = Crew()
    crew.write("D1", opened())
    crew.write("D1")
    back = seal_line(replace(crew.write("D1").event, order=0))
    store.take([*crew.raw[:2], back.raw])
    assert store.lines("J-1") == crew.lines[:2]
    assert [each.hash for each in store.waiting("J-1")] == [back.hash]


def test_a_fork_is_kept_and_told_and_does_not_take_the_place_of_what_follows(store):
    crew = Crew()
    crew.write("D1", opened())
    second, third = crew.write("D1"), crew.write("D1")
    forged = seal_line(replace(second.event, role="second person"))
    on_forged = seal_line(replace(third.event, prev=forged.hash))
    store.take([crew.lines[0].raw, second.raw, on_forged.raw, forged.raw])
    assert store.lines("J-1") == crew.lines[:2]
    assert {(each.hash, each.why) for each in store.waiting("J-1")} == {(forged.hash, FORK), (on_forged.hash, FORK)}
    store.append(third)
    assert store.lines("J-1") == crew.lines
    assert set(store.give("J-1")) == {*crew.raw, forged.raw, on_forged.raw}


def test_bad_lines_are_told_by_number_and_the_good_ones_taken(store):
    crew = two_on_one_job()
    changed = crew.raw[3].replace(b"leader", b"Leader")
    taken = store.take([*crew.raw[:3], changed, b"", b'{"footer":{}}', b"\xff\x00", *crew.raw[4:], crew.raw[0]])
    assert (taken.new, taken.known, taken.refused) == (13, 1, 2)
    assert [number for number, _ in taken.faults] == [4, 7]


# Kept files


def test_a_kept_file_comes_back_and_a_damaged_one_does_not(path):
    with SqliteStore(path) as store:
        sha256 = store.keep(b"photo" * 1000)
        assert sha256 == hashlib.sha256(b"photo" * 1000).hexdigest() == store.keep(b"photo" * 1000)
        assert store.kept(sha256) == b"photo" * 1000 and store.has(sha256)
        with pytest.raises(StillboreError, match="is not in the store"):
            store.kept("0" * 64)
    path.write_bytes(path.read_bytes().replace(b"photophoto", b"photoPhoto", 1))
    with SqliteStore(path) as store:
        with pytest.raises(StillboreError, match="is damaged"):
            store.kept(sha256)
        assert store.check() == [f"The kept file {sha256[:12]} is damaged."]


def test_files_that_lines_rest_on_are_asked_for_until_they_are_here(store):
    crew, photo = Crew(), hashlib.sha256(b"photo").hexdigest()
    store.append(crew.write("D1", opened(hashlib.sha256(b"survey").hexdigest())))
    store.append(crew.write("D1", Kept("B1", "photo", photo, 5, "a.jpg")))
    assert len(store.lacking("J-1")) == 2
    store.keep(b"survey")
    assert store.lacking("J-1") == [photo]


def test_a_file_that_is_too_large_is_refused(store, monkeypatch):
    monkeypatch.setattr("stillbore.store.sqlite.LARGEST_FILE", 10)
    with pytest.raises(StillboreError, match="larger than"):
        store.keep(b"12345678901")


# Names aside

NAME = "Quendrith Vanterpoolsen"


def test_erased_names_leave_no_byte_behind_and_the_log_as_it_was(path):
    crew = two_on_one_job()
    with SqliteStore(path) as store:
        for line in crew.lines:
            store.append(line)
        store.put_aside("J-1", "P1", {"name": NAME, "phone": "0000"})
        store.put_aside("J-1", "customer", {"name": "Somebody Else"})
        store.put_aside("J-1", "P1", {"phone": "1111"})
        assert store.aside("J-1") == {"P1": {"name": NAME, "phone": "1111"}, "customer": {"name": "Somebody Else"}}
        assert any(NAME.encode() in each.read_bytes() for each in path.parent.iterdir())
        assert store.erase("J-1", "P1") == 2
        assert not any(NAME.encode() in each.read_bytes() for each in path.parent.iterdir())
        assert store.aside("J-1") == {"customer": {"name": "Somebody Else"}}
        assert store.erase("J-1") == 1 and store.aside("J-1") == {}
        assert store.lines("J-1") == merged(crew.lines) and store.check() == []
        assert NAME.encode() not in b"".join(store.give("J-1"))


def test_a_reader_that_holds_on_to_erased_names_is_told(path):
    with SqliteStore(path) as store, SqliteStore(path) as reader:
        store.put_aside("J-1", "P1", {"name": NAME})
        reader._database.connection.execute("BEGIN")
        reader.aside("J-1")
        store._database.connection.execute("PRAGMA busy_timeout = 50")
        with pytest.raises(StillboreError, match="still reads from what the file was"):
            store.erase("J-1", "P1")
        reader._database.connection.execute("COMMIT")
        assert store.aside("J-1") == {} and store.erase("J-1", "P1") == 0
        assert not any(NAME.encode() in each.read_bytes() for each in path.parent.iterdir())


# The file


def test_one_file_is_left(path):
    with SqliteStore(path) as store:
        store.append(Crew().write("D1", opened()))
        assert sorted(os.listdir(path.parent)) == ["jobs.db", "jobs.db-shm", "jobs.db-wal"]
    assert os.listdir(path.parent) == ["jobs.db"]


def test_how_it_is_set(store):
    ask = store._database.connection.execute
    assert ask("PRAGMA journal_mode").fetchone() == ("wal",)
    assert ask("PRAGMA synchronous").fetchone() == (2,)  # FULL, by SQLite's own numbers
    assert ask("PRAGMA foreign_keys").fetchone() == (1,)


def test_a_newer_store_is_refused_and_a_strange_file_too(path, tmp_path):
    SqliteStore(path).close()
    with sqlite3.connect(path) as connection:
        connection.execute(f"PRAGMA user_version = {database.VERSION + 1}")
    connection.close()
    with pytest.raises(StillboreError, match="newer program"):
        SqliteStore(path)
    strange = tmp_path / "other.db"
    with sqlite3.connect(strange) as connection:
        connection.execute("CREATE TABLE t (x)")
    connection.close()
    with pytest.raises(StillboreError, match="no store of jobs"):
        SqliteStore(strange)
    strange.write_bytes(b"time,pressure_mbar\n" * 1000)
    with pytest.raises(StillboreError, match="is no store, or its beginning is damaged"):
        SqliteStore(strange)
    with pytest.raises(StillboreError, match="cannot be opened"):
        SqliteStore(tmp_path / "no such folder" / "jobs.db")
    with pytest.raises(StillboreError):
        SqliteStore(tmp_path)


def test_a_second_writer_waits_and_then_is_told(path):
    crew = Crew()
    with SqliteStore(path) as store, SqliteStore(path, wait_s=0.05) as second:
        store._database.connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(StillboreError, match="Another program is writing"):
            second.append(crew.write("D1", opened()))
        assert second.lines("J-1") == []  # readers go on
        store._database.connection.execute("ROLLBACK")
        second.append(crew.lines[0])
        assert store.lines("J-1") == crew.lines


def test_two_programs_as_one_device_cannot_both_write(path):
    crew = Crew()
    with SqliteStore(path) as store, SqliteStore(path) as second:
        store.append(crew.write("D1", opened()))
        mine = crew.write("D1")
        theirs = seal_line(replace(mine.event, role="second person"))
        store.append(mine)
        with pytest.raises(StillboreError, match="Another program writes as this device"):
            second.append(theirs)
        assert second.lines("J-1") == crew.lines


def write_as(path, device, count):
    crew = Crew()
    with SqliteStore(path, wait_s=30.0) as store:
        for _ in range(count):
            store.append(crew.write(device))


def test_many_writers_at_once_also_on_a_new_file(path):
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=write_as, args=(path, f"D{number}", 25)) for number in range(4)]
    for each in writers:
        each.start()
    for each in writers:
        each.join()
    assert [each.exitcode for each in writers] == [0, 0, 0, 0]
    with SqliteStore(path) as store:
        assert len(store.lines("J-1")) == 100 and store.check() == []


READ_ONLY = """if True:
    import os, sys
    from stillbore.errors import StillboreError
    from stillbore.store.sqlite import SqliteStore
    if os.getuid() == 0:  # root may write everywhere
        os.setgid(65534), os.setuid(65534)
    with SqliteStore(sys.argv[1]) as store:
        print(len(store.lines("J-1")), store.writable, store._database._copy is not None)
        try:
            store.keep(b"x")
        except StillboreError as error:
            print(error.what)
    """


@pytest.mark.parametrize("closed,index,copied", [(True, False, False), (False, False, True), (False, True, False)],
                         ids=["one file", "with its log beside it", "while it is written"])
def test_what_cannot_be_written_can_be_read(closed, index, copied):
    """As a user without the right to write: in a folder where not even SQLite's own files can be made."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = SqliteStore(folder / "jobs.db")
        store.take(two_on_one_job().raw)
        held = sqlite3.connect(folder / "jobs.db", isolation_level=None)
        if closed:
            store.close()
        else:
            held.execute("BEGIN")
            held.execute("SELECT count(*) FROM line").fetchone()
            if not index:
                (folder / "jobs.db-shm").unlink()
        for file in folder.iterdir():
            file.chmod(0o444)
        folder.chmod(0o555)
        ran = subprocess.run([sys.executable, "-c", READ_ONLY, str(folder / "jobs.db")], capture_output=True, text=True,
                             check=False)
        folder.chmod(0o755)
        assert (folder / "jobs.db-wal").exists() is not closed
        held.close()
        store.close()
    refused = "The store jobs.db can be read but not written."
    assert ran.stdout.splitlines() == [f"14 False {copied}", refused], ran.stderr
