"""stillbore gauge read: a whole log as what was done, each part judged."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.gauge.judged_by import settings_of, trace_options
from stillbore.cli.gauge.options import FILE, HOURS
from stillbore.cli.output import write_whole
from stillbore.gauge.hold_log import HoldReport
from stillbore.gauge.readings import Log, read_log
from stillbore.gauge.trace import Segment
from stillbore.gauge.trace_report import JudgedWatch, TraceReport, judge_trace


@click.command("read")
@click.argument("logs", nargs=-1, required=True, type=FILE)
@trace_options
@click.option("--chart", type=FILE, help="Write a chart of the first log as SVG.")
@click.option("--html", type=FILE, help="Write a report on all logs as one HTML page.")
@click.option("--pdf", type=FILE, help="Write the report as PDF/A-3, with the logs embedded.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object for each log.")
def command(logs: tuple[Path, ...], chart: Path | None, html: Path | None, pdf: Path | None, as_json: bool,
            **options: object) -> None:
    """Read each of LOGS whole (CSV: time,pressure_mbar[,temperature_degC][,barometer_mbar][,note]).

    Says what was done and when: zero, pump, hold, release, drill, break, live, stopper, vent, watch. Every hold and
    every watch is judged, and the break-through is compared with the expected band. A tight stopper shows nothing when
    the vent is shut: write 'vent shut' in the note column.
    """
    settings = settings_of(**options)  # type: ignore[arg-type]
    read = [read_log(path, settings.expected.range_end) for path in logs]
    reports = [judge_trace(log, settings) for log in read]
    written = _documents(logs, read, reports, chart, html, pdf)
    for path, content in written.items():
        write_whole(path, content)
    for path, report in zip(logs, reports, strict=True):
        if as_json:
            print_json(_as_json(path, report))
        else:
            _say(path, report)
    if not as_json:
        for path in written:
            click.echo(f"Wrote {path}")


def _documents(paths: tuple[Path, ...], logs: list[Log], reports: list[TraceReport], chart: Path | None,
               html: Path | None, pdf: Path | None) -> dict[Path, bytes]:
    made: dict[Path, bytes] = {}
    if chart is not None:
        from stillbore.report.charts import trace_chart

        made[chart] = trace_chart(logs[0], reports[0].segments).encode()
    if html is not None or pdf is not None:
        from stillbore.report import trace
        from stillbore.report.html import to_html
        from stillbore.report.pdf import to_pdf

        document = trace.trace_document(list(zip(logs, reports, strict=True)))
        if html is not None:
            made[html] = to_html(document).encode()
        if pdf is not None:
            made[pdf] = to_pdf(document, {f"{number}-{path.name}": path.read_bytes()
                                          for number, path in enumerate(paths, 1)})
    return made


def _rate(rate: object) -> dict[str, float] | None:
    return None if rate is None else {name: getattr(rate, name) * HOURS for name in ("best", "low", "high")}


def _as_json(path: Path, report: TraceReport) -> dict[str, object]:
    return {
        "file": str(path),
        "segments": [{"label": segment.label, "start_s": segment.start, "end_s": segment.end, "seen": segment.seen}
                     for segment in report.segments],
        "holds": [_hold_json(segment, hold) for segment, hold in report.holds],
        "break_throughs": [{"at_s": found.at, "kind": found.kind, "verdict": found.verdict, "took_s": found.took,
                            "settled_mbar": None if found.settled is None else found.settled / 100.0,
                            "findings": list(found.findings)} for found in report.break_throughs],
        "watches": [_watch_json(watch) for watch in report.watches],
        "findings": list(report.findings)}


def _hold_json(segment: Segment, hold: HoldReport | None) -> dict[str, object]:
    if hold is None:
        return {"start_s": segment.start, "verdict": None}
    return {"start_s": segment.start, "verdict": hold.verdict, "decided_at_s": hold.decided_at,
            "rate_m3_per_h": _rate(hold.rate), "limit_m3_per_h": hold.settings.limit * HOURS,
            "findings": list(hold.findings)}


def _watch_json(watch: JudgedWatch) -> dict[str, object]:
    report = watch.report
    return {"start_s": watch.segment.start, "before_venting": watch.before_venting, "verdict": watch.verdict,
            "rate_m3_per_h": None if report is None or report.best is None or report.upper is None else {
                "best": report.best * HOURS, "upper": report.upper * HOURS},
            "counts_until_s": None if report is None or watch.verdict != "met" else report.counts_until,
            "findings": list(watch.findings)}


def _say(path: Path, report: TraceReport) -> None:
    click.echo(f"{path}:")
    for segment in report.segments:
        seen = "" if segment.seen else "   (its start is not seen in the log)"
        click.echo(f"  {segment.start:8.1f} s  {segment.label:<8} {segment.end - segment.start:7.1f} s{seen}")
    for segment, hold in report.holds:
        if hold is not None:
            _verdict(f"hold at {segment.start:.0f} s", hold.verdict, hold.findings)
    for found in report.break_throughs:
        _verdict(f"break-through at {found.at:.0f} s", f"{found.verdict}, {found.kind}", found.findings)
    for watch in report.watches:
        what = "watch before venting" if watch.before_venting else "watch for let-by"
        if watch.findings:
            _verdict(f"{what} at {watch.segment.start:.0f} s", "" if watch.before_venting else watch.verdict,
                     watch.findings)
    for finding in report.findings:
        click.echo(f"  - {finding}")
    click.echo("  Valid for this pressure, time and temperature. A person with authority decides.")


def _verdict(what: str, verdict: str, findings: tuple[str, ...]) -> None:
    click.echo(f"  {what}{': ' if verdict else ''}{verdict.upper()}")
    for finding in findings:
        click.echo(f"    - {finding}")


