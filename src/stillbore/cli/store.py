"""stillbore store: what lies in a store; logs that travel; names beside the log, and their erasure."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.output import console, table
from stillbore.errors import StillboreError
from stillbore.store.interface import Taken
from stillbore.store.questions import questions
from stillbore.store.sqlite import SqliteStore
from stillbore.store.sync import exchange, import_file

FILE = click.Path(dir_okay=False, path_type=Path)


@click.group("store", context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--store", "path", type=FILE, envvar="STILLBORE_STORE", default="jobs.db", show_default=True,
              help="The store: one file. Also from STILLBORE_STORE.")
@click.pass_context
def command(context: click.Context, path: Path) -> None:
    """Look at a store, bring logs together, keep names beside the log."""
    context.obj = path


def _opened(context: click.Context) -> SqliteStore:
    store = SqliteStore(context.obj)
    context.call_on_close(store.close)
    return store


@command.command("list")
@click.pass_context
def show(context: click.Context) -> None:
    """List the jobs, what waits for lines that have not come, and what does not go together."""
    store = _opened(context)
    jobs = table("", "job", "events", "devices", "waiting", "last seal")
    for job in store.digests():
        lines = store.lines(job)
        devices = ", ".join(sorted({line.event.device for line in lines}))
        jobs.add_row(job, str(len(lines)), devices, str(len(store.waiting(job))), lines[-1].hash if lines else "")
    console().print(jobs)
    for fault in store.check():
        click.echo(f"  - {fault}")
    for question in questions(store):
        click.echo(f"  ? {question.text}")


def _took(taken: Taken) -> str:
    return f"{taken.new} lines new, {taken.known} known"


@command.command("import")
@click.argument("log", type=FILE)
@click.pass_context
def take(context: click.Context, log: Path) -> None:
    """Bring in the lines of an exported LOG, and the files beside it. In any order, as often as you like."""
    store = _opened(context)
    taken = import_file(store, log)
    files = [path for path in (log.parent / "files").glob("*") if path.is_file()]
    for path in files:
        store.keep(path.read_bytes())
    click.echo(f"{_took(taken)}; {len(files)} files.")
    for place, fault in taken.faults:
        click.echo(f"  - {place}: {fault}")


def _token(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, ValueError):
        raise StillboreError(f"{path} cannot be read.", "Give the file with the token.") from None


@command.command("exchange")
@click.argument("address")
@click.option("--token-file", type=FILE, required=True, help="A file with the token that both sides know.")
@click.pass_context
def swap(context: click.Context, address: str, token_file: Path) -> None:
    """Bring this store and the one served at ADDRESS to the same set of events; what breaks off goes on next time."""
    from stillbore.store.wire import Remote

    done = exchange(_opened(context), Remote(address, _token(token_file)))
    click.echo(f"In: {_took(done.taken)}, {done.files_in} files. Out: {_took(done.given)}, {done.files_out} files.")
    for sha256 in done.lacking:
        click.echo(f"  - The file {sha256[:12]} is on neither side.")


@command.command("serve")
@click.option("--token-file", type=FILE, required=True, help="A file with the token that both sides know.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Where to listen. Put TLS before anything wider.")
@click.option("--port", type=click.IntRange(0, 65535), default=8731, show_default=True)
@click.pass_context
def listen(context: click.Context, token_file: Path, host: str, port: int) -> None:
    """Serve this store for 'stillbore store exchange', until Ctrl-C."""
    from stillbore.store.wire import serve

    path: Path = context.obj
    try:
        server = serve(lambda: SqliteStore(path), _token(token_file), host, port)
    except OSError as error:
        raise StillboreError(f"{host}:{port} cannot be served: {error.strerror}.", "Choose another port.") from None
    with server:
        click.echo(f"Serving {path.name} at http://{host}:{server.server_address[1]}; Ctrl-C ends it.")
        server.serve_forever()


@command.group("names")
def names() -> None:
    """Names and contacts beside the log, by reference, so that they can be erased. They never travel."""


@names.command("put")
@click.argument("job")
@click.argument("reference")
@click.argument("details", nargs=-1, required=True, metavar="FIELD=WORDS …")
@click.pass_context
def put(context: click.Context, job: str, reference: str, details: tuple[str, ...]) -> None:
    """Put aside what belongs to REFERENCE (as P1, or customer): name=…, telephone=…"""
    pairs = [text.partition("=") for text in details]
    if not all(sign and field for field, sign, _ in pairs):
        raise StillboreError("Each detail is a field and its words.", "Write them as: name='A. Nobody'")
    _opened(context).put_aside(job, reference, {field: words for field, _, words in pairs})
    click.echo(f"Put aside for {reference}.")


@names.command("list")
@click.argument("job")
@click.pass_context
def listed(context: click.Context, job: str) -> None:
    """Show what is put aside for a job."""
    for reference, details in _opened(context).aside(job).items():
        click.echo(f"{reference}: " + "; ".join(f"{field} {words}" for field, words in details.items()))


@names.command("erase")
@click.argument("job")
@click.argument("reference", required=False)
@click.pass_context
def erase(context: click.Context, job: str, reference: str | None) -> None:
    """Erase what is put aside for REFERENCE, or for the whole job. The log and its hashes stay as they are."""
    click.echo(f"{_opened(context).erase(job, reference)} details erased.")


@command.command("rescue")
@click.argument("damaged", type=FILE)
@click.pass_context
def save(context: click.Context, damaged: Path) -> None:
    """Read what is left in a DAMAGED store into this one. Every line is checked by its own hash."""
    from stillbore.store.rescue import rescue

    found, store = rescue(damaged), _opened(context)
    taken = store.take(line.raw for line in found.lines)
    for data in found.files.values():
        store.keep(data)
    click.echo(f"{_took(taken)}; {len(found.files)} files.")
