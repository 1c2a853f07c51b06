"""The database file: how it is opened, what stands in it, and what its troubles are called."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from stillbore.errors import StillboreError

VERSION = 1
APPLICATION = 0x53424F52  # marks the file as ours in SQLite's header: "SBOR"

# ``whole``: 1 where the line is part of its device's chain from the first line on, 0 where it waits or is a fork.
SCHEMA = """
CREATE TABLE line (id INTEGER PRIMARY KEY, job TEXT NOT NULL, device TEXT NOT NULL, n INTEGER NOT NULL,
    place INTEGER NOT NULL, hash TEXT NOT NULL, prev TEXT NOT NULL, whole INTEGER NOT NULL, raw BLOB NOT NULL,
    UNIQUE (job, hash)) STRICT;
CREATE UNIQUE INDEX chain ON line (job, device, n) WHERE whole = 1;
CREATE INDEX loose ON line (job, device, n) WHERE whole = 0;
CREATE TABLE named (job TEXT NOT NULL, sha256 TEXT NOT NULL, PRIMARY KEY (job, sha256)) STRICT, WITHOUT ROWID;
CREATE TABLE file (id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, data BLOB NOT NULL) STRICT;
CREATE TABLE reference (id INTEGER PRIMARY KEY, job TEXT NOT NULL, name TEXT NOT NULL, UNIQUE (job, name)) STRICT;
CREATE TABLE aside (reference INTEGER NOT NULL REFERENCES reference ON DELETE CASCADE, field TEXT NOT NULL,
    value TEXT NOT NULL, PRIMARY KEY (reference, field)) STRICT, WITHOUT ROWID;
"""

# What SQLite calls it, by the beginning of its name: what is wrong, and what to do.
TROUBLES = (
    ("SQLITE_FULL", "The disk is full.", "Make room and do it again; what was acknowledged before is there."),
    ("SQLITE_READONLY", "It can be read but not written.", "Make the file and its folder writable, or copy it."),
    ("SQLITE_BUSY", "Another program is writing to it.", "Wait until that one is done, and do it again."),
    ("SQLITE_LOCKED", "Another program is writing to it.", "Wait until that one is done, and do it again."),
    ("SQLITE_CORRUPT", "The file is damaged.", "Leave it as it is and copy it. Bring the job back from another device "
     "or an export; stillbore store rescue reads what is left in it."),
    ("SQLITE_NOTADB", "The file is no store, or its beginning is damaged.", "Check the path. If it was a store, copy "
     "it; stillbore store rescue reads what is left in it."),
    ("SQLITE_CANTOPEN", "It cannot be opened.", "Check that its folder is there and that you may write in it."),
    ("SQLITE_PERM", "It may not be opened.", "Check who may read and write it."),
    ("SQLITE_TOOBIG", "That is too large to be kept.", "Keep a smaller file."),
    ("SQLITE_IOERR", "The disk does not take or give what is asked of it.", "See that the disk has room and is sound, "
     "and do it again; what was acknowledged before is there."))
# Troubles of a disk that lets nothing be written, though what stands on it may well be read.
UNWRITABLE = ("SQLITE_CANTOPEN", "SQLITE_READONLY", "SQLITE_FULL", "SQLITE_IOERR", "SQLITE_PERM")


@contextmanager
def troubles(path: Path) -> Iterator[None]:
    """Turns what SQLite and the disk complain of into a StillboreError with what to do."""
    try:
        yield
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", "") or ""
        what, fix = next(((what, fix) for code, what, fix in TROUBLES if name.startswith(code)),
                         (f"It does not do what is asked: {error}.", "Copy the file, and look at it with its check."))
        raise StillboreError(f"The store {path.name}: {what}", fix, code=name) from None
    except (OSError, ValueError, OverflowError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise StillboreError(f"The store {path.name}: {why}.", "Check the path and the disk.") from None


class Database:
    """An open file. ``connection`` commits by itself where nothing is begun; ``writable`` says whether it may."""

    def __init__(self, path: Path, wait_s: float) -> None:
        self.path, self.wait_s, self.writable = path, wait_s, True
        self._copy: tempfile.TemporaryDirectory[str] | None = None
        with troubles(path):
            self.connection = self._open()
        try:
            self._check_kind()
        except BaseException:
            self.connection.close()
            raise

    def _connect(self, path: Path, mode: str) -> sqlite3.Connection:
        made = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", timeout=self.wait_s, isolation_level=None,
                               uri=True)
        try:
            made.execute("PRAGMA foreign_keys = ON")
            made.execute("PRAGMA secure_delete = ON")  # what is erased is overwritten
            made.execute("PRAGMA synchronous = FULL")  # a commit returns when its bytes are on disk
            made.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except BaseException:
            made.close()
            raise
        return made

    def _open(self) -> sqlite3.Connection:
        """For writing where that can be, made anew where nothing is there; else for reading, as from a full disk."""
        try:
            made = self._connect(self.path, "rwc")
        except sqlite3.Error as error:
            if not (getattr(error, "sqlite_errorname", "") or "").startswith(UNWRITABLE) or not self.path.exists():
                raise
            self.writable = False
            return self._reader(error)
        try:
            if not made.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
                self._create(made)
        except BaseException:
            made.close()
            raise
        self.writable = os.access(self.path, os.W_OK)  # else SQLite has opened it for reading, and says nothing
        return made

    def _create(self, made: sqlite3.Connection) -> None:
        """A new store; or the one that another program makes at the same moment."""
        made.execute("PRAGMA journal_mode = WAL")
        made.execute("BEGIN IMMEDIATE")
        if not made.execute("PRAGMA user_version").fetchone()[0]:
            made.execute(f"PRAGMA application_id = {APPLICATION}")
            made.execute(f"PRAGMA user_version = {VERSION}")
            for statement in SCHEMA.split(";\n"):
                made.execute(statement)
        made.execute("COMMIT")
        folder = os.open(self.path.absolute().parent, os.O_RDONLY)
        try:
            os.fsync(folder)  # the name of the file, too, is on disk
        finally:
            os.close(folder)

    def _reader(self, error: sqlite3.Error) -> sqlite3.Connection:
        """SQLite wants a file beside the store even to read it. Where it cannot have one, a store that was closed is
        read as a file that nobody changes; one with a write-ahead log beside it is read from a copy."""
        wal = Path(f"{self.path}-wal")
        if not wal.exists() or wal.stat().st_size == 0:
            return self._connect(self.path, "ro&immutable=1")
        try:
            self._copy = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
            copy = Path(self._copy.name) / "store"
            shutil.copyfile(self.path, copy)
            shutil.copyfile(wal, f"{copy}-wal")
        except OSError:
            raise error from None
        return self._connect(copy, "rw")

    def _check_kind(self) -> None:
        """Refuse what is no store, and what a newer program wrote."""
        with troubles(self.path):
            version = self.connection.execute("PRAGMA user_version").fetchone()[0]
            application = self.connection.execute("PRAGMA application_id").fetchone()[0]
        if application != APPLICATION:
            raise StillboreError(f"{self.path.name} is a database, but no store of jobs.", "Check the path.")
        if version > VERSION:
            raise StillboreError(f"The store {self.path.name} was written by a newer program: its version is "
                                 f"{version}, and {VERSION} is known here.",
                                 "Take the newer program; nothing was changed.")

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        with troubles(self.path):
            yield self.connection

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: all of it is on disk when this ends, or none. Other writers wait.

        SQLite's own lock is the writers' lock. It is the kernel's, so it ends with the process that holds it.
        """
        if not self.writable:
            raise StillboreError(f"The store {self.path.name} can be read but not written.",
                                 "Make room on the disk, make the file and its folder writable, or copy it.")
        with troubles(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                # Also where nothing was new: what a killed program wrote may be seen before it is on disk. Writing the
                # version again makes this commit sync the log up to here, and so everything that it answers for.
                self.connection.execute(f"PRAGMA user_version = {VERSION}")
                self.connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):
                    self.connection.execute("ROLLBACK")
                raise

    def flush(self) -> bool:
        """Bring the write-ahead log into the file and empty it; False where another program reads from it still."""
        with troubles(self.path):
            busy, _, _ = self.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            return not busy

    def close(self) -> None:
        """Leave one file: SQLite brings the write-ahead log into it when the last who has it open closes. What cannot
        be brought into it, as on a full disk, stays in the log beside it and is read from there."""
        self.connection.close()
        if self._copy is not None:
            self._copy.cleanup()
