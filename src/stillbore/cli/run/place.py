"""Where a run command works: store, job, device, clock; and how it says what came of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import click

from stillbore.errors import StillboreError
from stillbore.run.session import Device, Hand, Now, Session
from stillbore.run.step import Moved, Refused
from stillbore.store import keys
from stillbore.store.clock import clock
from stillbore.store.sqlite import SqliteStore

EXIT_REFUSED = 3


@dataclass
class Place:
    """The store, the job and the device that the commands of one call work with."""

    path: Path
    job: str | None
    device_name: str
    clock: Callable[[], Now] = clock
    replayed: bool = False
    say_accepted: bool = True
    _store: SqliteStore | None = field(default=None, repr=False)
    _session: Session | None = field(default=None, repr=False)

    @property
    def store(self) -> SqliteStore:
        if self._store is None:
            self._store = SqliteStore(self.path)
            context = click.get_current_context(silent=True)
            if context is not None:
                context.find_root().call_on_close(self.close)
        return self._store

    def close(self) -> None:
        if self._store is not None:
            self._store.close()
        self._store = self._session = None

    def device(self) -> Device:
        """This device, with its key; the key is made on first use and lies beside the store."""
        secret = keys.device_key(keys.device_key_path(self.path, self.device_name))
        return Device(self.device_name, secret.public, secret.sign)

    def opened(self, session: Session) -> Session:
        self._session, self.job = session, session.job
        return session

    @property
    def session(self) -> Session:
        """The job at hand. Raises StillboreError where it is not clear which."""
        if self._session is None:
            jobs = self.store.jobs()
            if self.job is None and len(jobs) != 1:
                what = f"The store holds the jobs {', '.join(jobs)}." if jobs else f"There is no job in {self.path}."
                raise StillboreError(what, "Say which with --job." if jobs else "Start one with: stillbore run start")
            self._session = Session(self.store, self.job or jobs[0], self.device(), self.clock, keys.check)
            if self._session.state.replayed and not self.replayed:
                raise StillboreError("This job was replayed from a file; nothing can be added to it by hand.",
                                     "Start a job of its own.")
        return self._session

    def hand(self, by: str | None, paper_at: str | None = None) -> Hand:
        """Who acts: the person named, in that person's role on this job."""
        people = self.session.state.people
        if by is None or by not in people:
            what = "Nobody is named as the one who does this." if by is None else f"{by} is not on this job."
            raise StillboreError(what, f"Write --by with one of: {', '.join(sorted(people))}.")
        hand = Hand(by, people[by].role, paper_at or "")
        self.session.join(hand)
        return hand

    def say(self, found: Moved | Refused, accepted: str | Callable[[], str]) -> None:
        """Say what came of it, in words or by what gives them once it is accepted; a refusal ends with exit code 3."""
        if isinstance(found, Refused):
            click.echo("REFUSED, and logged as refused:", err=True)
            for reason in found.reasons:
                click.echo(f"  - {reason}", err=True)
            raise click.exceptions.Exit(EXIT_REFUSED)
        if self.say_accepted:
            click.echo(accepted if isinstance(accepted, str) else accepted())


def by_option(function: Callable[..., None]) -> Callable[..., None]:
    """Who does it, and whether it is entered late from paper."""
    function = click.option("--paper-at", metavar="TIME", help="Entered late from paper; done at this time.")(function)
    return click.option("--by", metavar="PERSON", envvar="STILLBORE_BY",
                        help="Who does this, as P1. Also from STILLBORE_BY.")(function)


def secret_options(function: Callable[..., None]) -> Callable[..., None]:
    """A person's own secret: its file, and the words that open it."""
    function = click.option("--words-file", type=click.Path(dir_okay=False, path_type=Path),
                            help="A file with the words that open the secret; by default they are asked for.")(function)
    return click.option("--secret", type=click.Path(dir_okay=False, path_type=Path), required=True,
                        help="The file of the person's own secret, made by: stillbore keys new")(function)


def open_secret(path: Path, words_file: Path | None) -> keys.Secret:
    """The person's key, opened with that person's words."""
    if words_file is not None:
        try:
            words = words_file.read_text(encoding="utf-8").strip()
        except (OSError, ValueError):
            raise StillboreError(f"{words_file} cannot be read.", "Give the file with the words.") from None
        return _opened(path.resolve(), words)
    return keys.person_key(path, click.prompt(f"Words for {path.name}", hide_input=True))


@lru_cache(maxsize=8)
def _opened(path: Path, words: str) -> keys.Secret:
    """A secret whose words lie in a file, opened once: a replay signs fifty times, and opening is made slow."""
    return keys.person_key(path, words)
