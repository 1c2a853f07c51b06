"""The default store: one SQLite file for any number of jobs, with their lines, kept files and names aside.

Write-ahead log, ``synchronous = FULL``: a call that writes returns after SQLite has synced the log to disk. Any number
of readers; writers take turns by SQLite's own lock, which the kernel lets go when a process dies. One writer per
device: a line is taken only if it follows the head of its device's chain as it stands inside the transaction, so a
second program that writes as the same device is refused.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from pathlib import Path

from stillbore.errors import StillboreError
from stillbore.record.chain import Line, order
from stillbore.record.events import Answered, Corrected, Event, Head, Kept, Opened, Replanned
from stillbore.record.read import FOOTER, Broken, read_line
from stillbore.store.database import Database
from stillbore.store.interface import FORK, GAP, LARGEST_FILE, UNSEEN, Taken, Waiting

BATCH = 500  # lines of an import in one transaction: what is interrupted is whole up to the last batch
WAIT_S = 5.0  # how long to wait for another writer
READ: dict[bytes, Line] = {}  # lines by their bytes
MOST_READ, LONGEST_READ = 4096, 2048  # how many, and how long each may be
# From device to device along the index and to the last line of each, however many lines there are: a page asks this.
HEADS = """
WITH RECURSIVE writer(device) AS (
    SELECT min(device) FROM line WHERE job = :job AND whole = 1
    UNION ALL SELECT (SELECT min(device) FROM line WHERE job = :job AND whole = 1 AND device > writer.device)
    FROM writer WHERE device IS NOT NULL)
SELECT line.device, n, hash FROM writer JOIN line ON id = (
    SELECT id FROM line WHERE job = :job AND whole = 1 AND device = writer.device ORDER BY n DESC LIMIT 1)
ORDER BY line.device
"""


def files_named(event: Event) -> list[str]:
    """The hashes of the files that an event rests on."""
    what = event.happening
    if isinstance(what, (Opened, Replanned)):
        return [file.sha256 for file in what.files]
    if isinstance(what, Kept):
        return [what.sha256]
    return list(what.evidence) if isinstance(what, (Answered, Corrected)) else []


class SqliteStore:
    """The interface of ``store.interface`` over one file. Not to be shared between threads; each opens its own.

    Opens for reading where nothing can be written (``writable`` is False then). Raises StillboreError where the file is
    no store, is damaged, or was written by a newer program.
    """

    def __init__(self, path: Path | str, wait_s: float = WAIT_S) -> None:
        self.path = Path(path)
        self._database = Database(self.path, wait_s)

    @property
    def writable(self) -> bool:
        return self._database.writable

    def __enter__(self) -> SqliteStore:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Leave one file: what the write-ahead log holds is brought into it."""
        self._database.close()

    # Lines

    def append(self, line: Line) -> None:
        line = read_line(line.raw)
        event = line.event
        with self._database.writing() as connection:
            if self._known(connection, event.job, line.hash):
                return
            head = self._head(connection, event.job, event.device)
            if (event.n, event.prev) != ((head[0] + 1, head[1]) if head else (0, "")):
                raise _not_next(event)
            for seen in event.after:
                if not self._is_whole(connection, event.job, seen):
                    raise StillboreError(f"It says it had seen line {seen.n} of {seen.device}, which is not here.",
                                         "Bring in the other device's log first.")
            self._insert(connection, line, whole=True)

    def lines(self, job: str) -> list[Line]:
        return [line for line, why in self._sorted_out(job, "AND whole = 1") if not why]

    def waiting(self, job: str) -> list[Waiting]:
        return [Waiting(job, line.event.device, line.event.n, line.hash, why)
                for line, why in self._sorted_out(job, "") if why]

    def heads(self, job: str) -> list[Head]:
        with self._database.reading() as connection:
            return [Head(*row) for row in connection.execute(HEADS, {"job": job})]

    def jobs(self) -> list[str]:
        with self._database.reading() as connection:
            return [job for job, in connection.execute("SELECT DISTINCT job FROM line WHERE whole = 1 ORDER BY job")]

    def held(self, job: str) -> list[str]:
        with self._database.reading() as connection:
            return [hash for hash, in connection.execute("SELECT hash FROM line WHERE job = ? ORDER BY hash", (job,))]

    def digests(self) -> dict[str, str]:
        made: dict[str, hashlib._Hash] = {}
        with self._database.reading() as connection:
            for job, word in connection.execute(
                    "SELECT job, hash AS word FROM line UNION ALL SELECT job, 'lacks ' || sha256 FROM named "
                    "WHERE sha256 NOT IN (SELECT sha256 FROM file) ORDER BY job, word"):
                made.setdefault(job, hashlib.sha256()).update(word.encode())
        return {job: each.hexdigest() for job, each in made.items()}

    def give(self, job: str, hashes: Iterable[str] | None = None) -> Iterator[bytes]:
        with self._database.reading() as connection:
            if hashes is None:
                hashes = [hash for hash, in connection.execute(
                    "SELECT hash FROM line WHERE job = ? ORDER BY place, device, n, hash", (job,))]
            for hash in hashes:
                row = connection.execute("SELECT raw FROM line WHERE job = ? AND hash = ?", (job, hash)).fetchone()
                if row is not None:
                    yield row[0]

    def take(self, lines: Iterable[bytes]) -> Taken:
        taken, numbered = Taken(), enumerate(lines, 1)
        while batch := list(islice(numbered, BATCH)):
            sound = list(_sound(batch, taken))
            new = 0
            with self._database.writing() as connection:
                for line in sound:
                    new += self._bring_in(connection, line)
            taken.new += new
            taken.known += len(sound) - new
        return taken

    def _bring_in(self, connection: sqlite3.Connection, line: Line) -> bool:
        """Add a line from elsewhere where it belongs; whether it was new."""
        event = line.event
        if self._known(connection, event.job, line.hash):
            return False
        free = not connection.execute("SELECT 1 FROM line WHERE job = ? AND device = ? AND n = ? AND whole = 1",
                                      (event.job, event.device, event.n)).fetchone()
        follows = event.n == 0 or self._is_whole(connection, event.job, Head(event.device, event.n - 1, event.prev))
        self._insert(connection, line, whole=free and follows)
        n, hash = event.n, line.hash
        while free and follows:  # what has waited for this line, and for the next
            row = connection.execute("SELECT id, hash FROM line WHERE job = ? AND device = ? AND n = ? AND prev = ? "
                                     "AND whole = 0 ORDER BY id", (event.job, event.device, n + 1, hash)).fetchone()
            if row is None:
                break
            connection.execute("UPDATE line SET whole = 1 WHERE id = ?", (row[0],))
            n, hash = n + 1, row[1]
        return True

    @staticmethod
    def _known(connection: sqlite3.Connection, job: str, hash: str) -> bool:
        return bool(connection.execute("SELECT 1 FROM line WHERE job = ? AND hash = ?", (job, hash)).fetchone())

    @staticmethod
    def _head(connection: sqlite3.Connection, job: str, device: str) -> tuple[int, str] | None:
        found: tuple[int, str] | None = connection.execute(
            "SELECT n, hash FROM line WHERE job = ? AND device = ? AND whole = 1 ORDER BY n DESC LIMIT 1",
            (job, device)).fetchone()
        return found

    @staticmethod
    def _is_whole(connection: sqlite3.Connection, job: str, head: Head) -> bool:
        return bool(connection.execute(
            "SELECT 1 FROM line WHERE job = ? AND device = ? AND n = ? AND hash = ? AND whole = 1",
            (job, head.device, head.n, head.hash)).fetchone())

    @staticmethod
    def _insert(connection: sqlite3.Connection, line: Line, whole: bool) -> None:
        event = line.event
        connection.execute("INSERT INTO line (job, device, n, place, hash, prev, whole, raw) VALUES (?,?,?,?,?,?,?,?)",
                           (event.job, event.device, event.n, event.order, line.hash, event.prev, whole, line.raw))
        for sha256 in files_named(event):
            connection.execute("INSERT OR IGNORE INTO named VALUES (?, ?)", (event.job, sha256))

    def _sorted_out(self, job: str, which: str) -> Iterator[tuple[Line, str]]:
        """The lines of a job in merged order, each with why it is not shown, or ""."""
        with self._database.reading() as connection:
            rows = connection.execute(f"SELECT whole, raw, device, n FROM line WHERE job = ? {which}",
                                      (job,)).fetchall()
        read = sorted(((self._read(*rest), whole) for whole, *rest in rows), key=lambda each: order(each[0]))
        taken = {(line.event.device, line.event.n) for line, whole in read if whole}
        fate: dict[str, str] = {}
        for line, whole in read:
            event = line.event
            before = fate.get(event.prev, GAP) if event.n else ""
            if not whole:
                why = FORK if (event.device, event.n) in taken or before == FORK else GAP
            else:
                why = UNSEEN if before or any(fate.get(seen.hash) != "" for seen in event.after) else ""
            fate[line.hash] = why
            yield line, why

    def _read(self, raw: bytes, device: str, n: int) -> Line:
        """A stored line, with its hash reckoned anew."""
        try:
            return _line(raw)
        except StillboreError:
            raise StillboreError(f"The store {self.path.name} is damaged: line {n} of {device} is not what was "
                                 "written.",
                                 "Copy the file; stillbore store rescue reads what is left in it.") from None

    # Kept files

    def keep(self, data: bytes) -> str:
        if len(data) > LARGEST_FILE:
            raise StillboreError(f"The file is larger than {LARGEST_FILE // 1_000_000} MB.", "Keep a smaller copy.")
        sha256 = hashlib.sha256(data).hexdigest()
        with self._database.writing() as connection:
            connection.execute("INSERT OR IGNORE INTO file (sha256, data) VALUES (?, ?)", (sha256, data))
        return sha256

    def kept(self, sha256: str) -> bytes:
        with self._database.reading() as connection:
            row = connection.execute("SELECT data FROM file WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise StillboreError(f"The file {sha256[:12]} is not in the store {self.path.name}.",
                                 "Bring it in from the device that kept it.")
        if hashlib.sha256(row[0]).hexdigest() != sha256:
            raise StillboreError(f"The file {sha256[:12]} is damaged: its bytes are not those that were kept.",
                                 "Bring it in again from another device.")
        return bytes(row[0])

    def has(self, sha256: str) -> bool:
        with self._database.reading() as connection:
            return bool(connection.execute("SELECT 1 FROM file WHERE sha256 = ?", (sha256,)).fetchone())

    def lacking(self, job: str) -> list[str]:
        with self._database.reading() as connection:
            return [sha256 for sha256, in connection.execute(
                "SELECT sha256 FROM named WHERE job = ? AND sha256 NOT IN (SELECT sha256 FROM file) ORDER BY sha256",
                (job,))]

    # Names aside

    def put_aside(self, job: str, reference: str, details: Mapping[str, str]) -> None:
        with self._database.writing() as connection:
            connection.execute("INSERT OR IGNORE INTO reference (job, name) VALUES (?, ?)", (job, reference))
            id, = connection.execute("SELECT id FROM reference WHERE job = ? AND name = ?", (job, reference)).fetchone()
            connection.executemany("INSERT OR REPLACE INTO aside VALUES (?, ?, ?)",
                                   [(id, field, value) for field, value in details.items()])

    def aside(self, job: str) -> dict[str, dict[str, str]]:
        found: dict[str, dict[str, str]] = {}
        with self._database.reading() as connection:
            for name, field, value in connection.execute(
                    "SELECT name, field, value FROM reference JOIN aside ON aside.reference = reference.id "
                    "WHERE job = ? ORDER BY name, field", (job,)):
                found.setdefault(name, {})[field] = value
        return found

    def erase(self, job: str, reference: str | None = None) -> int:
        """As the interface says; the bytes are overwritten in the file. Old blocks that a disk keeps are out of reach.
        Raises StillboreError where another program that reads keeps them in the write-ahead log: they are no longer
        shown, and go when it is done and this is called again."""
        found = self.aside(job)
        count = sum(len(found[name]) for name in found if reference in (None, name))
        with self._database.writing() as connection:
            connection.execute("DELETE FROM reference WHERE job = ? AND coalesce(name = ?, 1)", (job, reference))
        if not self._database.flush():
            raise StillboreError("The names are erased, but another program still reads from what the file was before.",
                                 "Close that program and erase again, so that the bytes are gone from the disk.")
        return count

    # The file itself

    def check(self) -> list[str]:
        """What is wrong with the file, in sentences: SQLite's own quick check, every line, every kept file."""
        faults = []
        with self._database.reading() as connection:
            found = [row for row, in connection.execute("PRAGMA quick_check")]
            faults += [] if found == ["ok"] else [f"SQLite finds: {row}." for row in found]
            for id, raw in connection.execute("SELECT id, raw FROM line"):
                try:
                    read_line(raw, id)
                except StillboreError as error:
                    faults.append(error.what)
            for sha256, data in connection.execute("SELECT sha256, data FROM file"):
                if hashlib.sha256(data).hexdigest() != sha256:
                    faults.append(f"The kept file {sha256[:12]} is damaged.")
        return faults


def _not_next(event: Event) -> StillboreError:
    return StillboreError(f"Line {event.n} of device {event.device} does not follow the head of its chain: its place "
                          "is taken, or a line before it is missing.",
                          "Another program writes as this device, or its store was copied. Read the log again; give "
                          "each device a name of its own.", code="fork")


def _line(raw: bytes, number: int = 1) -> Line:
    """A line; what was read a moment ago, byte for byte, is not read anew: a device that starts reads each twice."""
    found = READ.get(raw)
    if found is None:
        found = read_line(raw, number)
        if len(READ) >= MOST_READ:
            READ.clear()
        if len(raw) <= LONGEST_READ:
            READ[raw] = found
    return found


def _sound(batch: list[tuple[int, bytes]], taken: Taken) -> Iterator[Line]:
    """The lines that hold; the others are noted. Blank lines and a footer say nothing about an event."""
    for number, raw in batch:
        if not raw.strip() or raw.startswith(FOOTER):
            continue
        try:
            yield _line(raw, number)
        except Broken as error:
            taken.fault(number, error.what)
