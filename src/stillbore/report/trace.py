"""The report on gauge logs: the trace with its parts, and what each judge says of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from hashlib import sha256

from stillbore.gauge.readings import Log
from stillbore.gauge.trace_report import TraceReport
from stillbore.report import charts, words
from stillbore.report.document import (
    CAUTION,
    NOTE,
    Block,
    Callout,
    Cell,
    Document,
    Figure,
    Heading,
    Paragraph,
    Part,
    Points,
    Table,
    cells,
)
from stillbore.units import show

UNDATED = datetime(1970, 1, 1, tzinfo=UTC)  # a log carries no date of its own


def trace_document(judged: Sequence[tuple[Log, TraceReport]]) -> Document:
    """One part for each log."""
    mark = sha256(b"".join(log.name.encode() + log.times.tobytes() + log.pressures.tobytes() for log, _ in judged))
    return Document("trace", "Gauge log" if len(judged) == 1 else "Gauge logs", UNDATED, words.GAUGE_STATEMENT,
                    mark.hexdigest()[:12], tuple(_part(number, log, report)
                                                 for number, (log, report) in enumerate(judged, 1)))


def _part(number: int, log: Log, report: TraceReport) -> Part:
    facts = (("Log", log.name), ("Readings", f"{len(log):,}"), ("Doubtful", f"{len(log.doubtful):,}"),
             ("Length", f"{log.times[-1] - log.times[0]:.0f} s"))
    chart = Figure(f"trace-{number}", "Pressure and what was done", charts.trace_chart(log, report.segments),
                   charts.WIDTH, charts.HEIGHT, "",
                   "Pressure against time, with a line where each part begins; dashed where the log does not show it.")
    return Part(f"log-{number}", f"Gauge log: {log.name}", "", facts,
                (chart, *_verdicts(report), _segments(report), *_findings(report), Paragraph(words.GAUGE_CAUTION)))


def _verdicts(report: TraceReport) -> list[Block]:
    rows = []
    said: list[str] = []
    for segment, hold in report.holds:
        if hold is not None:
            rate = "not known" if hold.rate is None else show(hold.rate.high, "m3/s", "ml/min", 2)
            rows.append(cells("hold", f"{segment.start:.0f} s", Cell(hold.verdict, strong=True),
                              f"leak of air at most {rate}; limit {show(hold.settings.limit, 'm3/s', 'ml/min')}"))
            said += hold.findings
    for found in report.break_throughs:
        settled = "" if found.settled is None else f", {found.settled / 100:.1f} mbar"
        rows.append(cells("break-through", f"{found.at:.0f} s", Cell(found.verdict, strong=True),
                          f"{found.kind}{settled}"))
        said += found.findings
    for watch in report.watches:
        upper = None if watch.report is None else watch.report.upper
        rate = "" if upper is None else f"let-by at most {show(upper, 'm3/s', 'l/h', 2)}"
        rows.append(cells("watch before venting" if watch.before_venting else "watch for let-by",
                          f"{watch.segment.start:.0f} s", Cell("see below" if watch.before_venting else watch.verdict,
                                                               strong=True), rate))
        said += watch.findings
    if not rows:
        return [Callout(NOTE, "There is nothing to judge in this log.",
                        ("It holds no hold, no break-through and no watch.",))]
    return [Table("Verdicts", ("What", "From", "Verdict", "Measured"), tuple(rows), (0.24, 0.12, 0.18, 0.46)),
            *([Heading("What was found"), Points(tuple(dict.fromkeys(said)))] if said else [])]


def _segments(report: TraceReport) -> Table:
    rows = tuple(cells(segment.label, f"{segment.start:.1f} s", f"{segment.end - segment.start:.1f} s",
                       "" if segment.seen else "its start is not seen in the log") for segment in report.segments)
    return Table("What was done", ("Part", "From", "For", ""), rows, (0.2, 0.2, 0.2, 0.4))


def _findings(report: TraceReport) -> list[Block]:
    return [Callout(CAUTION, "The log itself", report.findings)] if report.findings else []
