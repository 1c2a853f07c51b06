"""Appending to the log beside a bare SQLite commit at the same durability, turn by turn: both meet the same disk."""

from __future__ import annotations

import sqlite3
import statistics
import time
from pathlib import Path

from stillbore.record.chain import Chains, seal_line
from stillbore.record.events import Answered, Event, Opened, Value
from stillbore.store.sqlite import SqliteStore

TIMES = 500
ANSWER = Answered("B6", "pressure", Value("30.2", "0.3", "mbar", instrument="G7"), "met", "at most 75 mbar",
                  "rules.pressure.maximum_operating_pressure", "The pressure is 30.2 +/- 0.3 mbar, at most 75 mbar.")


def bare(path: Path) -> sqlite3.Connection:
    """One table and nothing else, write-ahead log, every commit synced: as the store is set."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("CREATE TABLE line (raw BLOB NOT NULL)")
    return connection


def middle(taken: list[float]) -> float:
    """Mean of the middle half: a sync takes one of a few times, and a median jumps between them."""
    quarter = len(taken) // 4
    return statistics.fmean(sorted(taken)[quarter:-quarter])


def append_seconds(folder: Path, times: int = TIMES) -> tuple[float, float]:
    """Seconds of sealing and appending an answer through the store, and of a bare commit of the same bytes. Which of
    the two goes first alternates: the disk may still be busy with the one before."""
    floor = bare(folder / "bare.db")
    chains = Chains()
    taken: tuple[list[float], list[float]] = ([], [])
    with SqliteStore(folder / "bench.db") as store:

        def through() -> None:
            n, order, prev, after = chains.place("D1")
            line = seal_line(Event("J-1", "D1", n, order, "P1", "leader", "2030-05-14T08:00:00+00:00",
                                   ANSWER if n else Opened((), "0" * 64, "bench", (), ""), prev, after=after))
            store.append(line)
            chains.add(line)

        def plain() -> None:
            floor.execute("INSERT INTO line VALUES (?)", (chains.heads["D1"].raw,))

        through()
        for number in range(times):
            for which in (0, 1) if number % 2 else (1, 0):
                begin = time.perf_counter()
                (through, plain)[which]()
                taken[which].append(time.perf_counter() - begin)
    floor.close()
    return middle(taken[0]), middle(taken[1])


def store_rows(folder: Path) -> list[tuple[str, float, str, float, float]]:
    """Rows of ``make bench``: what, seconds, floor, its seconds, seconds wanted (twice the floor)."""
    through, plain = append_seconds(folder)
    return [("appending an answer to the log", through, "a bare SQLite commit, WAL, synchronous FULL", plain,
             2.0 * plain)]


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        through, plain = append_seconds(Path(name))
    print(f"append {through * 1e3:.2f} ms, bare commit {plain * 1e3:.2f} ms, ratio {through / plain:.2f}")
