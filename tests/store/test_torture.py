"""A short torture; ``make torture`` runs the long one. A part that cannot be tried on this machine is skipped and says
why, and is in the count of the skipped."""

import pytest
import torture

from stillbore.record.chain import Chains
from stillbore.store.sqlite import SqliteStore

PARTS = {
    "kills": lambda folder: torture.kills(folder, 25, 1),
    "power": lambda folder: torture.cut_tails(folder, 100, 1),
    "syncs": lambda folder: torture.counted_syncs(folder, 30),
    "full disk": torture.full_disk,
    "limit": torture.full_by_limit,
    "torn": lambda folder: torture.torn_lines(folder, 20),
    "clock": lambda folder: torture.clocks_set_back(folder, 50, 1)}


@pytest.mark.parametrize("part", PARTS)
def test_a_short_torture(part, tmp_path):
    count = PARTS[part](tmp_path)
    if not count.tried:
        pytest.skip(str(count))
    assert count.tried > 0


def test_a_lost_line_would_be_noticed(tmp_path, monkeypatch):
    """The control of the kills: a writer that acknowledges what it never wrote."""
    def liar(path, ack):
        torture.os.write(ack, b"0" * 64 + b"\n")
        torture.time.sleep(10.0)

    monkeypatch.setattr(torture, "write_until_killed", liar)
    monkeypatch.setattr(torture, "LONGEST_LIFE_S", 0.3)
    with pytest.raises(torture.StillboreError, match="is not in the store"):
        torture.kills(tmp_path, 5, 1)


TRACE = """\
1 pwrite64(4</a/jobs.db-wal>, "7\\177"..., 32, 0) = 32
1 fdatasync(4</a/jobs.db-wal>) = 0
1 write(1</a/out>, "ack\\n", 4) = 4
"""


@pytest.mark.parametrize("trace,found", [
    (TRACE, (1, 1)), (TRACE.replace(") = 0", ") = -1 EIO"), (1, 0)), (TRACE.replace("fdatasync", "fsync"), (1, 1)),
    ("\n".join(TRACE.splitlines()[i] for i in (0, 2, 1)), (1, 0)),
    (TRACE.replace("fdatasync(4</a/jobs.db-wal>", "fdatasync(4</a/other.db>"), (1, 0)),
    (TRACE + TRACE.splitlines()[2], (2, 1)), (TRACE.splitlines()[1] + "\n" + TRACE.splitlines()[0] + "\n" +
                                              TRACE.splitlines()[2], (1, 0))])
def test_the_reader_of_traces(trace, found):
    assert torture.synced(trace, "jobs.db") == found


def test_a_page_count_that_is_used_up_is_a_full_disk(tmp_path):
    """SQLite's own limit (max_page_count), which it calls by the same name as a full disk."""
    with SqliteStore(tmp_path / "jobs.db") as store:
        store._database.connection.execute("PRAGMA max_page_count = 30")
        chains, written = Chains(), []
        with pytest.raises(torture.StillboreError, match="The disk is full") as caught:
            for _ in range(200):
                written.append(torture.next_line(store, chains, "x" * 1000))
        assert caught.value.about["code"] == "SQLITE_FULL"
        assert torture.whole(store) == written and len(written) > 10
        with pytest.raises(torture.StillboreError, match="The disk is full"):
            store.keep(b"x" * 200_000)
        assert store.digests() and torture.whole(store) == written
