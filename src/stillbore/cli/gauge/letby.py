"""stillbore gauge letby: let-by past the stopper, and what it means for the pit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from stillbore.cli import print_json
from stillbore.cli.gauge.options import FILE, HOURS, Options, range_of_gauge
from stillbore.gauge.letby import VENT_LOOKS, LetByReport, LetBySettings, falling_leg, judge_watch, watch_before_venting
from stillbore.gauge.readings import read_log
from stillbore.job.kit import KIT
from stillbore.job.rules import RULES
from stillbore.job.schema import JobFile, load
from stillbore.physics import dilution
from stillbore.tables import flammability
from stillbore.units import show

RESOLUTION = "0.1 mbar"  # common practice for such a gauge


@click.command("letby")
@click.argument("logs", nargs=-1, required=True, type=FILE)
@click.option("--volume", help='Volume of the isolated leg with the rig, as "6 l".')
@click.option("--district", help='Pressure of the district during the watch, as "30 mbar".')
@click.option("--highest", help="Highest pressure foreseen; by default that of the district.")
@click.option("--resolution", help=f"Smallest movement of the gauge; by default the kit's, or {RESOLUTION}.")
@click.option("--range", "full_scale", help='End of the gauge\'s range, as "160 mbar"; or from --kit.')
@click.option("--kit", type=FILE, help="Take resolution and range of the gauge from this kit.")
@click.option("--vent", type=click.Choice(VENT_LOOKS), help="What was seen at the open vent before it was shut.")
@click.option("--limit", help='Largest let-by, as "0.1 l/h"; or from --rules.')
@click.option("--rules", type=FILE, help="Take limits, margin and freshness from this rule set.")
@click.option("--margin", help="How far above the watched pressure a pass counts; or from --rules.")
@click.option("--before", type=FILE, help="Log of the watch before venting.")
@click.option("--pit", help='Volume of the pit, as "0.5 m3".')
@click.option("--by-eye", is_flag=True, help="The gauge was read by eye.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object for each log.")
def command(logs: tuple[Path, ...], volume: str | None, district: str | None, highest: str | None,
            resolution: str | None, full_scale: str | None, kit: Path | None, vent: str | None, limit: str | None,
            rules: Path | None, margin: str | None, before: Path | None, pit: str | None, by_eye: bool,
            as_json: bool) -> None:
    """Judge the let-by watch in each of LOGS, which begin when the vent was shut.

    Leave the vent open half a minute first, and say with --vent what was seen there: without that look let-by is not
    proven, whatever the gauge says.
    """
    rule_set = load(RULES, rules) if rules else None
    if resolution is None and kit is None:
        resolution = RESOLUTION
    settings, pit_volume = _settings(rule_set, kit, volume, district, highest, resolution, vent, limit, margin, pit,
                                     by_eye)
    range_end = range_of_gauge(full_scale, kit)
    slope, leg = watch_before_venting(read_log(before, range_end)) if before else (0.0, "")
    settings = replace(settings, leg_falls=bool(falling_leg(slope)))
    for path in logs:
        report = judge_watch(read_log(path, range_end), settings)
        findings = [*([leg] if leg else []), *report.findings, *_pit(report, pit_volume)]
        if as_json:
            print_json(_as_json(path, report, settings, findings))
        else:
            _say(path, report, settings, findings)


def _settings(rules: JobFile | None, kit: Path | None, volume: str | None, district: str | None, highest: str | None,
              resolution: str | None, vent: str | None, limit: str | None, margin: str | None, pit: str | None,
              by_eye: bool) -> tuple[LetBySettings, float | None]:
    options = Options()

    readable = load(KIT, kit).fact("gauge.readable_movement").high if kit else None

    def rule(key: str) -> float | None:
        return rules.fact(f"letby.{key}").low if rules else None

    behind = options.number("--district", district, "Pa gauge", None, "a second reading of the district")
    largest = options.number("--limit", limit, "m3/s", rule("leak_rate"), "--rules")
    made = LetBySettings(
        volume=options.number("--volume", volume, "m3", None, "the plan's leg.volume"), limit=largest,
        stop=rule("stop_rate") or 20.0 * largest, district=behind,
        highest=options.number("--highest", highest, "Pa gauge", behind, ""),
        margin=options.number("--margin", margin, "Pa", rule("pressure_margin"), "--rules"),
        fresh=rule("fresh") or 300.0, resolution=options.number("--resolution", resolution, "Pa", readable, "--kit"),
        vent=vent, by_eye=by_eye)
    pit_volume = None if pit is None else options.number("--pit", pit, "m3", None, "")
    options.check()
    return made, pit_volume


def _pit(report: LetByReport, pit_volume: float | None) -> list[str]:
    """What the upper bound would do to a still pit: for urgency, not for entry."""
    if pit_volume is None or report.upper is None or report.upper <= 0.0:
        return []
    limit = flammability.TABLE.number("lower_iec", component="CH4")
    tenth = dilution.unventilated_time(pit_volume=pit_volume, flow=report.upper, fraction_limit=0.1 * limit)
    return [f"At the upper bound a still pit of {pit_volume:g} m3 comes to a tenth of the lower flammable limit "
            f"({show(limit, '-', '%', 2)} methane, IEC) in {show(tenth, 's', 'min', 2)} at the soonest. For urgency "
            "only; entry is measured."]


def _as_json(path: Path, report: LetByReport, settings: LetBySettings, findings: list[str]) -> dict[str, object]:
    return {
        "file": str(path), "verdict": report.verdict,
        "rate_m3_per_h": None if report.best is None else {"best": report.best * HOURS,
                                                           "high": (report.upper or 0.0) * HOURS},
        "limit_m3_per_h": settings.limit * HOURS, "counts_up_to_mbar": report.counts_up_to / 100.0,
        "counts_until_s": report.counts_until, "vent": settings.vent, "findings": findings}


def _say(path: Path, report: LetByReport, settings: LetBySettings, findings: list[str]) -> None:
    click.echo(f"{path}: {report.verdict.upper()}")
    if report.best is not None and report.upper is not None:
        best, upper, limit = (show(value, "m3/s", "l/h", 2) for value in (report.best, report.upper, settings.limit))
        click.echo(f"  let-by {best}, at most {upper} (95 %); limit {limit}")
    click.echo(f"  counts up to {report.counts_up_to / 100:.0f} mbar"
               + ("" if report.counts_until is None else f", until {report.counts_until:.0f} s in the log"))
    for finding in findings:
        click.echo(f"  - {finding}")
