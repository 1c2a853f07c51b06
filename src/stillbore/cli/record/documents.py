"""The documents and tables of a record, as files."""

from __future__ import annotations

from pathlib import Path

from stillbore.cli.output import write_whole
from stillbore.cli.record.handed import Handed


def write_documents(record: Handed, data: bytes, geojson: Path | None = None, gpkg: Path | None = None,
                    csv_file: Path | None = None, html: Path | None = None, pdf: Path | None = None) -> list[Path]:
    """Write what is asked for; every document is made before the first is written. ``data``: the log as exported."""
    made: dict[Path, bytes] = {}
    if geojson or gpkg or csv_file:
        from stillbore.report import geometry, table_csv

        if geojson:
            made[geojson] = geometry.geojson(record.lines, record.plan())
        if gpkg:
            made[gpkg] = geometry.geopackage(record.lines, record.plan())
        if csv_file:
            made[csv_file] = table_csv.answers(record.lines)
    if html or pdf:
        from stillbore.report import record as document
        from stillbore.store.keys import check

        if html:
            made[html] = document.record_html(data, record.kept, check)
        if pdf:
            made[pdf] = document.record_pdf(data, record.kept, check)
    for path, content in made.items():
        write_whole(path, content)
    return list(made)
