"""stillbore record verify: what a stranger can find out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.record.handed import Handed, folder_files, read_log
from stillbore.errors import StillboreError
from stillbore.record.read import Exported, read_export
from stillbore.record.verify import BROKEN, VERIFIED, Report, verify, verify_lines
from stillbore.run.as_json import verification_json
from stillbore.run.files import plan_again, recomputed
from stillbore.run.questions import Question, questions
from stillbore.run.step import audit
from stillbore.store import keys

FILE = click.Path(dir_okay=False, path_type=Path)
EXIT_NOT_VERIFIED, EXIT_BROKEN = 4, 5


@click.command("verify")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--keys", "key_list", type=FILE, help="Key list: whose key is whose. Without it no signer is known.")
@click.option("--job", help="Which job, where PATH is a store with several.")
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
def command(path: Path, key_list: Path | None, job: str | None, as_json: bool) -> None:
    """Verify PATH: a folder made by 'record export' or its record.jsonl, the PDF of a record alone, or a store.

    Says verified, intact (signer unknown, end open, or pages not proven), or broken, with the first event that does
    not hold; then what would have been refused where it stands, and what an auditor would ask. Exit code 0 only for
    verified; 4 for intact, 5 for broken.
    """
    known = keys.load_keys(key_list).known if key_list else frozenset()
    report, record, said = _verified(path, known, job)
    asked = []
    if record is not None and report.state != BROKEN:
        report, more, asked = _looked_at(report, record)
        said += more
    if as_json:
        print_json({**verification_json(report, asked), "said": said})
    else:
        _say(report, said, asked)
    if report.state != VERIFIED:
        raise click.exceptions.Exit(EXIT_BROKEN if report.state == BROKEN else EXIT_NOT_VERIFIED)


def _verified(path: Path, known: frozenset[str], job: str | None) -> tuple[Report, Handed | None, list[str]]:
    """The report, the record where it can be read, and what has been found beside."""
    if path.suffix.lower() == ".pdf":
        from stillbore.report.record_check import check_pdf

        try:
            found = check_pdf(path.read_bytes(), keys.check, known)
        except OSError as error:
            raise StillboreError(f"{path} cannot be read: {error.strerror}.", "Give the PDF of a record.") from None
        return found.report, Handed(found.exported, found.kept) if found.exported else None, list(found.said)
    if path.is_file() and path.read_bytes()[:16] == b"SQLite format 3\0":
        return _of_store(path, known, job)
    data, folder = read_log(path)
    report = verify(data, keys.check, known)
    record = Handed(read_export(data), folder_files(folder)) if report.state != BROKEN else None
    return report, record, []


def _of_store(path: Path, known: frozenset[str], job: str | None) -> tuple[Report, Handed, list[str]]:
    from stillbore.store.sqlite import SqliteStore

    store = SqliteStore(path)
    click.get_current_context().call_on_close(store.close)
    jobs = store.jobs()
    if job is None and len(jobs) != 1:
        raise StillboreError(f"The store holds the jobs {', '.join(jobs) or 'none'}.", "Say which with --job.")
    exported = Exported(tuple(store.lines(job or jobs[0])), None, "", "", "")
    return verify_lines(exported, keys.check, known), Handed(exported, store.kept), \
        ["A store is open: nothing in it says that this is the end of the job. Export it for a signed footer."]


def _looked_at(report: Report, record: Handed) -> tuple[Report, list[str], list[Question]]:
    """What the record says when it is read: files that are not at hand or not what the log says, what would have been
    refused, what this program works out otherwise, what an auditor would ask."""
    missing = record.missing()
    if missing:
        return replace(report, state=BROKEN, why="A file that the log names is missing or was changed: "
                       + " ".join(missing)), [], []
    said = []
    try:
        bases = record.bases()
        for number, event, reasons in audit(((line.hash, line.event) for line in record.lines), bases, keys.check):
            said.append(f"Event {number} ({event.kind} {getattr(event.happening, 'step', '')}) would have been refused "
                        f"where it stands: {reasons[0]}")
        plans = {}
        for line in record.lines:
            if line.event.kind in ("opened", "replanned"):
                again = plan_again(line.event.happening.files, record.kept)  # type: ignore[attr-defined]
                plans[line.event.happening.plan] = again  # type: ignore[attr-defined]
                said += filter(None, [recomputed(line.event.happening, record.kept, again)])  # type: ignore[arg-type]
        return report, said, questions(record.lines, plans, bases, record.kept)
    except StillboreError as error:
        return report, [*said, f"The files of the job cannot be read by this program: {error}"], []


def _say(report: Report, said: list[str], asked: list[Question]) -> None:
    click.echo(report.sentence)
    if report.events:
        click.echo(f"{report.job}: {report.events} events on {', '.join(report.devices)}; last seal {report.last}")
    for sentence in said:
        click.echo(f"  - {sentence}")
    for sentence in report.questions:
        click.echo(f"  ? {sentence}")
    for question in asked:
        click.echo(f"  ? {question.text}")
    click.echo(report.words)
