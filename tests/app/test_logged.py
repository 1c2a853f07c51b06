"""The store of the browser over a folder, where its faults can be made: cut off at every byte, full at every write,
and the order of syncing and acknowledging. The lines come from the tests' own crew, not from the store."""

import errno
import os
from pathlib import Path

import pytest
from client import at_once
from made import Crew, opened, two_on_one_job

from stillbore.errors import StillboreError
from stillbore.store.drawer import SLOTS
from stillbore.store.logged import LOG, PACK, TORN, LoggedStore
from stillbore.store.medium import Directory
from stillbore.store.sqlite import SqliteStore
from stillbore.store.sync import exchange

HASHED = b"a kept file"


@pytest.fixture
def place(tmp_path):
    """Opens the store anew each time, as a start of the app does."""
    def open_again():
        return LoggedStore(Directory(tmp_path / "medium"), tmp_path / "index.db")
    return open_again


def commit(store):
    at_once(store.commit())


def raw(store, job="J-1"):
    return list(store.give(job))


def test_it_serves_what_a_file_of_sqlite_serves(place, tmp_path):
    crew, logged = two_on_one_job(), place()
    with SqliteStore(tmp_path / "plain.db") as plain:
        assert vars(logged.take(crew.raw)) == vars(plain.take(crew.raw))
        logged.put_aside("J-1", "P1", {"name": "Nobody"})
        plain.put_aside("J-1", "P1", {"name": "Nobody"})
        commit(logged)
        for store in (logged, place()):
            for ask in (lambda s: s.lines("J-1"), lambda s: s.heads("J-1"), lambda s: s.digests(), lambda s: s.jobs(),
                        lambda s: s.held("J-1"), lambda s: s.waiting("J-1"), lambda s: s.aside("J-1")):
                assert ask(store) == ask(plain)


def test_appended_one_by_one_and_kept(place):
    store = place()
    sha256 = store.keep(HASHED)
    crew = Crew()
    lines = [crew.write("D1", opened(sha256))] + [crew.write("D1") for _ in range(3)]
    for line in lines:
        store.append(line)
        store.append(line)  # twice is no fault, and is written once
    assert store.kept(sha256) == HASHED and store.lacking("J-1") == []
    commit(store)
    again = place()
    assert raw(again) == [line.raw for line in lines]
    assert again.kept(sha256) == HASHED and again.has(sha256) and again.lacking("J-1") == []


@pytest.mark.parametrize("name", [LOG, PACK])
def test_cut_off_at_any_byte_nothing_before_is_lost(place, tmp_path, name):
    """The last write may end anywhere: what came before it stands, what was cut off is laid aside byte for byte."""
    store, crew = place(), Crew()
    store.take([crew.write("D1", opened()).raw, crew.write("D1").raw])
    files = [store.keep(HASHED)]
    commit(store)
    path = tmp_path / "medium" / name
    before = path.read_bytes()
    store.append(crew.write("D1"))
    files.append(store.keep(HASHED * 2))
    commit(store)
    whole = path.read_bytes()
    for length in range(len(before), len(whole) + 1):
        path.write_bytes(whole[:length])
        torn = path.with_name(name + TORN)
        torn.write_bytes(b"")
        again = place()
        commit(again)
        kept = [sha256 for sha256 in files if again.has(sha256)]
        if length == len(whole) or (name == LOG and length == len(whole) - 1):  # of a line only its end is missing
            assert len(raw(again)) == 3 and kept == files and path.read_bytes() == whole
        else:
            assert path.read_bytes() == before
            assert torn.read_bytes() == (whole[len(before):length] + b"\n" if length > len(before) else b"")
            assert len(raw(again)) == (2 if name == LOG else 3) and kept == (files if name == LOG else files[:1])


def test_a_spoilt_line_in_the_middle_is_told_and_not_cut(place, tmp_path):
    store = place()
    store.take(two_on_one_job().raw)
    commit(store)
    path = tmp_path / "medium" / LOG
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:3], lines[3].replace(b"D", b"E", 1), *lines[4:]]))
    again = place()
    assert len(raw(again)) == len(lines) - 1 and "Line 4 " in again.told[0]
    assert path.stat().st_size == sum(map(len, lines))


class Failing(Directory):
    """A disk that is full after so many writes."""

    left = 10**9

    def append(self, name, data):
        if self.left <= 0:
            raise OSError(errno.ENOSPC, "full")
        self.left -= 1
        super().append(name, data)


@pytest.mark.parametrize("writes", range(3))
def test_a_full_disk_keeps_nothing_of_it_and_takes_the_next(tmp_path, writes):
    medium, crew = Failing(tmp_path / "medium"), Crew()
    store = LoggedStore(medium, tmp_path / "index.db")
    store.take([crew.write("D1", opened()).raw])
    commit(store)
    medium.left = writes
    next = crew.write("D1")
    sha256 = store.keep(HASHED)
    store.append(next)
    store.put_aside("J-1", "P1", {"name": "Nobody"})
    with pytest.raises(StillboreError, match="storage is full"):
        commit(store)
    assert len(raw(store)) == 1 and not store.has(sha256) and store.aside("J-1") == {}
    medium.left = 10**9
    store.append(next)
    commit(store)
    assert len(raw(LoggedStore(Directory(tmp_path / "medium"), tmp_path / "other.db"))) == 2


def test_no_commit_returns_before_the_disk_was_synced(place, monkeypatch):
    """Counted, because a kill proves nothing: the kernel keeps what was written."""
    synced = []
    monkeypatch.setattr(os, "fsync", lambda file: synced.append(Path(os.readlink(f"/proc/self/fd/{file}")).name))
    store, crew = place(), Crew()
    commit(store)
    synced.clear()
    for n in range(5):
        store.append(crew.write("D1", opened() if n == 0 else None))
        assert synced == [LOG] * n
        commit(store)
        assert synced == [LOG] * (n + 1)
    commit(store)
    assert synced == [LOG] * 5
    store.keep(HASHED)
    store.append(crew.write("D1"))
    commit(store)
    assert synced[5:] == [PACK, LOG]  # the file before the line that rests on it


def test_names_that_are_erased_are_in_no_file(place, tmp_path):
    store = place()
    store.put_aside("J-1", "P1", {"name": "Nobody Atall"})
    commit(store)
    commit(store)
    written = [tmp_path / "medium" / slot for slot in SLOTS]
    assert any(b"Nobody Atall" in path.read_bytes() for path in written)
    assert store.erase("J-1") == 1
    commit(store)
    assert not any(b"Nobody Atall" in path.read_bytes() for path in (tmp_path / "medium").iterdir())
    assert place().aside("J-1") == {}


def test_a_drawer_cut_off_while_it_is_written_leaves_the_one_before(place, tmp_path):
    store = place()
    for text in ("first", "second"):
        store.drawer.write("J-1", "survey.toml", text)
        commit(store)
    newest = tmp_path / "medium" / SLOTS[store.drawer.number % 2]
    whole = newest.read_bytes()
    for length in range(0, len(whole), 7):
        newest.write_bytes(whole[:length])
        assert place().drawer.read("J-1", "survey.toml") == "first"
    newest.write_bytes(whole)
    assert place().drawer.read("J-1", "survey.toml") == "second"


def test_it_exchanges_with_a_store_of_another_sort(place, tmp_path):
    store, crew = place(), two_on_one_job()
    store.take(crew.raw[:8])
    with SqliteStore(tmp_path / "depot.db") as depot:
        depot.take(crew.raw[4:])
        exchange(store, depot)
        commit(store)
        assert sorted(raw(store)) == sorted(depot.give("J-1")) == sorted(crew.raw)
    assert sorted(raw(place())) == sorted(crew.raw)
