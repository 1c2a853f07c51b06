"""A damaged file: it is told, and what can be read is read."""

import random
import sqlite3

import pytest
from made import Crew, opened

from stillbore.errors import StillboreError
from stillbore.record.events import Noted
from stillbore.store.rescue import rescue
from stillbore.store.sqlite import SqliteStore

PHOTO = bytes(range(256)) * 40


@pytest.fixture
def store_file(tmp_path):
    """A closed store of 300 lines and a file."""
    crew = Crew()
    crew.write("D1", opened())
    for _ in range(298):
        crew.write("D1")
    crew.write("D1", Noted("", "x" * 4000))  # longer than a page: it lies in pieces
    path = tmp_path / "jobs.db"
    with SqliteStore(path) as store:
        store.take(crew.raw)
        store.keep(PHOTO)
    return path, crew


def test_a_sound_file_gives_everything(store_file):
    path, crew = store_file
    found = rescue(path)
    assert found.lines == crew.lines and list(found.files.values()) == [PHOTO]


@pytest.mark.parametrize("seed", range(12))
def test_a_file_with_a_page_gone_is_told_and_what_is_left_is_read(store_file, seed):
    """One page of 4096 bytes overwritten, not the first: all but some thirty lines are still found."""
    path, crew = store_file
    data = bytearray(path.read_bytes())
    page = random.Random(seed).randrange(1, len(data) // 4096)
    data[page * 4096:(page + 1) * 4096] = bytes([seed]) * 4096
    path.write_bytes(data)
    try:
        with SqliteStore(path) as store:
            assert store.check() or store.lines("J-1") == crew.lines
    except StillboreError as error:
        assert "damaged" in error.what and error.fix
    found = rescue(path)
    assert len(found.lines) > 300 - 40 and set(found.lines) <= set(crew.lines)


def test_a_torn_file_is_told_and_its_first_half_read(store_file, tmp_path):
    path, crew = store_file
    whole = path.read_bytes()
    path.write_bytes(whole[:len(whole) // 2])
    with pytest.raises(StillboreError, match="damaged"), SqliteStore(path) as store:
        store.lines("J-1")
    found = rescue(path)
    assert 50 < len(found.lines) < 300 and set(found.lines) <= set(crew.lines)
    with SqliteStore(tmp_path / "new.db") as new:  # and goes on in a new one
        new.take(line.raw for line in found.lines)
        assert len(new.lines("J-1")) + len(new.waiting("J-1")) == len(found.lines)


def test_without_its_beginning_nothing_opens_and_the_lines_are_found(store_file):
    path, crew = store_file
    data = path.read_bytes()
    path.write_bytes(b"\0" * 4096 + data[4096:])  # what is longer than a page is lost with it
    with pytest.raises(StillboreError, match="no store, or its beginning"):
        SqliteStore(path)
    assert rescue(path).lines == crew.lines[:-1]


def test_every_changed_byte_of_a_line_is_noticed(store_file):
    path, crew = store_file
    data = path.read_bytes()
    at = data.index(crew.raw[100]) + 30
    path.write_bytes(data[:at] + bytes([data[at] ^ 1]) + data[at + 1:])
    with SqliteStore(path) as store:
        with pytest.raises(StillboreError, match="line 100 of D1 is not what was written"):
            store.lines("J-1")
        assert len(store.check()) == 1
    assert rescue(path).lines == [line for line in crew.lines if line is not crew.lines[100]]


def test_what_is_only_in_the_log_beside_the_file_is_found_too(tmp_path):
    path = tmp_path / "jobs.db"
    with SqliteStore(path) as store:
        store.append(Crew().write("D1", opened()))
        path.write_bytes(b"")  # the file itself is gone; its write-ahead log is not
        assert len(rescue(path).lines) == 1


def test_nothing_there_is_told(tmp_path):
    with pytest.raises(StillboreError, match="There is no none.db"):
        rescue(tmp_path / "none.db")
    connection = sqlite3.connect(tmp_path / "other.db")
    connection.execute("CREATE TABLE t (x)")
    connection.close()
    assert rescue(tmp_path / "other.db").lines == []
