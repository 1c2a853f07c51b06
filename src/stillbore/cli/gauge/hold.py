"""stillbore gauge hold: an integrity or tightness hold, judged with a stated risk."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.gauge.options import FILE, HOURS, Options, range_of_gauge
from stillbore.cli.output import write_whole
from stillbore.gauge.hold import TENTH, HoldSettings
from stillbore.gauge.hold_log import HoldReport, judge_hold
from stillbore.gauge.priors import DRIFTS
from stillbore.gauge.readings import Log, read_log
from stillbore.job.kit import KIT
from stillbore.job.rules import RULES
from stillbore.job.schema import load
from stillbore.units import parse_exact, show

DEFAULT_PRESSURE = "100 mbar"  # common practice for this rig


@click.command("hold")
@click.argument("logs", nargs=-1, required=True, type=FILE)
@click.option("--volume", help='Volume under test, as "0.5 l"; or from --kit.')
@click.option("--limit", help='Largest leak, as "1e-4 m3/h" of air; or from --rules.')
@click.option("--resolution", help='Smallest movement of the gauge, as "0.1 mbar"; or from --kit.')
@click.option("--drift", type=click.Choice(list(DRIFTS)), default="ordinary", show_default=True,
              help="How the rig stands: in shade, as usual, or in sun or hands.")
@click.option("--pressure", help=f"Test pressure; by default the kit's, or {DEFAULT_PRESSURE}.")
@click.option("--range", "full_scale", help='End of the gauge\'s range, as "160 mbar"; or from --kit.')
@click.option("--by-eye", is_flag=True, help="The gauge was read by eye.")
@click.option("--kit", type=FILE, help="Take volume, resolution and test pressure from this kit.")
@click.option("--rules", type=FILE, help="Take limit and longest hold from this rule set.")
@click.option("--chart", type=FILE, help="Write a chart of the first log as SVG.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object for each log.")
def command(logs: tuple[Path, ...], volume: str | None, limit: str | None, resolution: str | None, drift: str,
            pressure: str | None, full_scale: str | None, by_eye: bool, kit: Path | None, rules: Path | None,
            chart: Path | None, as_json: bool) -> None:
    """Judge the hold in each of LOGS (CSV: time,pressure_mbar[,temperature_degC][,barometer_mbar][,note]).

    The log may begin before pumping. A thermometer on the rig and a barometer are used where the log has them. The
    verdict is met, not met or not proven; what it may get wrong, and how often, stands in the README.
    """
    settings = _settings(volume, limit, resolution, drift, pressure, by_eye, kit, rules)
    read = [read_log(path, range_of_gauge(full_scale, kit)) for path in logs]
    reports = [judge_hold(log, settings) for log in read]
    if chart is not None:
        write_whole(chart, _chart(read[0], reports[0]).encode())
    for path, report in zip(logs, reports, strict=True):
        if as_json:
            print_json(_as_json(path, report))
        else:
            _say(path, report)
    if chart is not None and not as_json:
        click.echo(f"Wrote {chart}")


def _settings(volume: str | None, limit: str | None, resolution: str | None, drift: str, pressure: str | None,
              by_eye: bool, kit_path: Path | None, rules_path: Path | None) -> HoldSettings:
    """What the hold is judged by; every fault of the options at once."""
    kit = load(KIT, kit_path) if kit_path else None
    rules = load(RULES, rules_path) if rules_path else None
    options = Options()
    volume_of_kit = resolution_of_kit = pressure_of_kit = None
    if kit:
        volume_of_kit = sum(row.fact("volume").high or 0.0 for row in kit.rows("compartment"))
        resolution_of_kit = kit.fact("gauge.readable_movement").high
        pressure_of_kit = kit.fact("kit.test_pressure").value
    limit_of_rules = rules.fact("integrity.leak_rate").low if rules else None
    longest_of_rules = rules.fact("integrity.longest_hold").value if rules else None
    common = parse_exact(DEFAULT_PRESSURE, "Pa gauge")
    made = HoldSettings(
        volume=options.number("--volume", volume, "m3", volume_of_kit, "--kit"),
        limit=options.number("--limit", limit, "m3/s", limit_of_rules, "--rules"),
        resolution=options.number("--resolution", resolution, "Pa", resolution_of_kit, "--kit"),
        drift=drift, by_eye=by_eye,
        test_pressure=options.number("--pressure", pressure, "Pa gauge", pressure_of_kit or common, "--kit"),
        longest=longest_of_rules or HoldSettings.longest)
    options.check()
    return made


def _as_json(path: Path, report: HoldReport) -> dict[str, object]:
    rate = report.rate
    return {
        "file": str(path), "verdict": report.verdict, "decided_at_s": report.decided_at,
        "rate_m3_per_h": None if rate is None else {"best": rate.best * HOURS, "low": rate.low * HOURS,
                                                    "high": rate.high * HOURS},
        "limit_m3_per_h": report.settings.limit * HOURS, "began_at_s": report.began_at, "readings_used": report.used,
        "findings": list(report.findings)}


def _say(path: Path, report: HoldReport) -> None:
    when = "" if report.decided_at is None else f", decided {report.decided_at - report.began_at:.0f} s after pumping"
    click.echo(f"{path}: {report.verdict.upper()}{when}")
    limit = show(report.settings.limit, "m3/s", "ml/min")
    if report.rate is not None:
        best, low, high = (show(value, "m3/s", "ml/min", 2) for value in
                           (report.rate.best, report.rate.low, report.rate.high))
        click.echo(f"  leak of air {best}, between {low} and {high} (90 %); limit {limit}")
    else:
        click.echo(f"  limit {limit}; no leak rate can be given")
    for finding in report.findings:
        click.echo(f"  - {finding}")
    click.echo("  Valid for this pressure, time and temperature.")


def _chart(log: Log, report: HoldReport) -> str:
    from stillbore.report.charts import hold_chart

    fall = report.settings.limit * report.settings.atmospheric_pressure / report.settings.volume / 100.0
    return hold_chart(log.name, log.times, [pressure / 100.0 for pressure in log.pressures], began=report.began_at,
                      decided=report.decided_at, verdict=report.verdict, falls=(fall, TENTH * fall),
                      doubtful=list(log.doubtful)[:200])
