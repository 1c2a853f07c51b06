"""stillbore record export: a job handed over."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli.output import write_whole
from stillbore.cli.record.handed import FILES, LOG, Handed
from stillbore.cli.run.place import Place
from stillbore.record.chain import export
from stillbore.record.read import read_export

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("export")
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--store", type=FILE, envvar="STILLBORE_STORE", default="jobs.db", show_default=True, help="The store.")
@click.option("--job", help="Which job; by default the only one in the store.")
@click.option("--device", default="D1", show_default=True, help="This device, which signs the footer.")
@click.option("--geojson", type=FILE, help="Write where things lie, as GeoJSON.")
@click.option("--gpkg", type=FILE, help="Write where things lie, as GeoPackage.")
@click.option("--csv", "csv_file", type=FILE, help="Write every answer as CSV.")
@click.option("--html", type=FILE, help="Write the record as one HTML page.")
@click.option("--pdf", type=FILE, help="Write the record as PDF/A-3, with log, files and evidence embedded.")
def command(folder: Path, store: Path, job: str | None, device: str, geojson: Path | None, gpkg: Path | None,
            csv_file: Path | None, html: Path | None, pdf: Path | None) -> None:
    """Write the job into FOLDER: record.jsonl, closed by a signed footer, and every file it names under its hash."""
    place = Place(store, job, device, replayed=True)
    session, signer = place.session, place.device()
    data = export(session.lines, place.clock().at, device, signer.key, signer.sign)
    record = Handed(read_export(data), session.shelf.kept)
    for _, sha256 in record.named():
        write_whole(folder / FILES / sha256, record.kept(sha256))
    write_whole(folder / LOG, data)
    click.echo(f"Wrote {folder / LOG}: {len(session.lines)} events, last seal {session.lines[-1].hash}")
    from stillbore.cli.record.documents import write_documents

    for path in write_documents(record, data, geojson, gpkg, csv_file, html, pdf):
        click.echo(f"Wrote {path}")
    place.close()
