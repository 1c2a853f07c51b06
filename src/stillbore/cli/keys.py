"""stillbore keys: secrets of people and devices, and the list that says whose key is whose."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.output import console, table, write_whole
from stillbore.errors import StillboreError
from stillbore.store import keys

FILE = click.Path(dir_okay=False, path_type=Path)


@click.group("keys", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Make a person's secret, and keep the list of public keys. Each person makes the own secret, with own words: two
    names typed by one hand are one person."""


@command.command("new")
@click.argument("name", metavar="ID")
@click.option("--secret", type=FILE, required=True, help="Where the secret is written; it stays with its owner.")
@click.option("--words-file", type=FILE, help="A file with the words that will open it; by default they are asked for.")
@click.option("--list", "key_list", type=FILE, help="Key list to add the public key to; made where there is none.")
def new(name: str, secret: Path, words_file: Path | None, key_list: Path | None) -> None:
    """Make a secret for the person ID (as P1), opened by words that only that person knows."""
    words = words_file.read_text(encoding="utf-8").strip() if words_file else \
        click.prompt("Words that will open it", hide_input=True, confirmation_prompt=True)
    made = keys.make_person_key(secret, words)
    click.echo(f"{name}: public key {made.public}")
    click.echo(f"Wrote {secret}; only these words open it, and nobody can find them again.")
    if key_list:
        _add(key_list, name, "person", made.public)


@command.command("add")
@click.argument("name", metavar="ID")
@click.argument("public")
@click.argument("key_list", type=FILE)
@click.option("--kind", type=click.Choice(keys.KINDS), default="person", show_default=True)
def add(name: str, public: str, key_list: Path, kind: str) -> None:
    """Add the PUBLIC key of ID to the key list."""
    _add(key_list, name, kind, public)


def _add(path: Path, name: str, kind: str, public: str) -> None:
    """Add an entry; the list is read again before it is put in place, so that a bad one is never left behind."""
    text = path.read_text(encoding="utf-8") if path.exists() else f'format = "{keys.FORMAT}"\n'
    if path.exists():
        keys.load_keys(path)
    if '"' in name or "\\" in name or "\n" in name:
        raise StillboreError(f"'{name}' is no reference.", "Write it as P1.")
    draft = path.with_name(f".{path.name}.new")
    write_whole(draft, f"{text.rstrip()}\n\n{keys.key_entry(name, kind, public)}".encode())
    try:
        keys.load_keys(draft)
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)
    click.echo(f"Added to {path}.")


@command.command("device")
@click.argument("name", metavar="ID")
@click.option("--store", type=FILE, envvar="STILLBORE_STORE", default="jobs.db", show_default=True, help="The store.")
@click.option("--list", "key_list", type=FILE, help="Key list to add the public key to; made where there is none.")
def device(name: str, store: Path, key_list: Path | None) -> None:
    """Print the public key of the device ID, which signs what is written into the store; made where there is none."""
    made = keys.device_key(keys.device_key_path(store, name))
    click.echo(f"{name}: public key {made.public}")
    if key_list:
        _add(key_list, name, "device", made.public)


@command.command("list")
@click.argument("key_list", type=FILE)
def show(key_list: Path) -> None:
    """Print a key list."""
    found = keys.load_keys(key_list)
    shown = table("", "id", "kind", "public key")
    for kind, entries in (("person", found.people), ("device", found.devices)):
        for name, public in entries.items():
            shown.add_row(name, kind, public)
    console().print(shown)
