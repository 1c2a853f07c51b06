"""What a whole trace is judged by, for ``gauge read`` and ``gauge watch``: from the plan of a job, from options, or
both; an option ranks above the plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import click

from stillbore.cli.gauge.options import FILE, Options
from stillbore.errors import Fault, UnitError
from stillbore.gauge.breakthrough import Expected
from stillbore.gauge.hold import HoldSettings
from stillbore.gauge.letby import VENT_LOOKS, LetBySettings
from stillbore.gauge.priors import DRIFTS
from stillbore.gauge.trace_report import TraceSettings
from stillbore.units import parse

OPTIONS = (
    click.option("--job", type=FILE, help="Survey of the job: its plan gives band, maximum, volumes and limits."),
    click.option("--kit", type=FILE, help="Kit, if not the shipped one."),
    click.option("--rules", type=FILE, help="Rule set, if not the shipped one."),
    click.option("--volume", help='Volume of the rig, as "0.5 l".'),
    click.option("--limit", help='Largest leak of the rig, as "1e-4 m3/h" of air.'),
    click.option("--drift", type=click.Choice(list(DRIFTS)), default="ordinary", show_default=True,
                 help="How the rig stands: in shade, as usual, or in sun or hands."),
    click.option("--leg", help='Volume of the isolated leg with the rig, as "6 l".'),
    click.option("--letby-limit", help='Largest let-by, as "0.1 l/h".'),
    click.option("--district", help="Pressure behind the stopper; by default what the gauge showed before it was set."),
    click.option("--vent", type=click.Choice(VENT_LOOKS), help="What was seen at the open vent."),
    click.option("--band", help='Where the gauge must settle at break-through, as "27..33 mbar".'),
    click.option("--maximum", help='Pressure above which this is medium pressure, as "75 mbar".'),
    click.option("--range", "full_scale", help='End of the gauge\'s range, as "160 mbar".'),
    click.option("--resolution", help='Smallest movement of the gauge, as "0.1 mbar".'),
    click.option("--by-eye", is_flag=True, help="The gauge was read by eye."),
)
USUAL_RESOLUTION = 10.0  # Pa


def trace_options(function: Callable[..., None]) -> Callable[..., None]:
    for option in reversed(OPTIONS):
        function = option(function)
    return function


@dataclass(frozen=True)
class _Planned:
    """What the plan of a job says, in SI; None where it says nothing."""

    numbers: dict[str, tuple[float | None, float | None]]
    range_end: float | None = None
    resolution: float | None = None

    def low(self, name: str) -> float | None:
        return self.numbers.get(name, (None, None))[0]

    def high(self, name: str) -> float | None:
        return self.numbers.get(name, (None, None))[1]


def _planned(job: Path | None, kit: Path | None, rules: Path | None) -> _Planned:
    if job is None:
        return _Planned({})
    from stillbore.job.files import load_job
    from stillbore.plan import plan as work_out

    plan = work_out(load_job(job, kit, rules, None))
    gauge = plan.files.kit
    return _Planned({name: (number.node.low, number.node.high) for name, number in plan.numbers.items()},
                    gauge.fact("gauge.range").low, gauge.fact("gauge.readable_movement").high)


def settings_of(job: Path | None, kit: Path | None, rules: Path | None, volume: str | None, limit: str | None,
                drift: str, leg: str | None, letby_limit: str | None, district: str | None, vent: str | None,
                band: str | None, maximum: str | None, full_scale: str | None, resolution: str | None,
                by_eye: bool) -> TraceSettings:
    """The settings, every fault of the options at once."""
    planned, options = _planned(job, kit, rules), Options()

    def given(option: str, text: str | None, unit: str, otherwise: float | None) -> float | None:
        return otherwise if text is None and otherwise is None else options.number(option, text, unit, otherwise, "")

    finest = given("--resolution", resolution, "Pa", planned.resolution) or USUAL_RESOLUTION
    low, high = _band(options, band, planned)
    expected = Expected(low, high, given("--maximum", maximum, "Pa gauge",
                                         planned.low("pressure.maximum_operating_pressure")),
                        given("--range", full_scale, "Pa gauge", planned.range_end),
                        planned.low("break_through.time") or Expected.within)
    rig = given("--volume", volume, "m3", planned.high("integrity.volume"))
    leak = given("--limit", limit, "m3/s", planned.low("integrity.leak_limit"))
    test = planned.high("integrity.test_pressure") or HoldSettings.test_pressure
    hold = None if rig is None or leak is None else HoldSettings(rig, leak, finest, drift, by_eye, test)
    behind = given("--district", district, "Pa gauge", None) or 0.0
    space = given("--leg", leg, "m3", planned.high("leg.volume"))
    past = given("--letby-limit", letby_limit, "m3/s", planned.low("let_by.limit"))
    options.check()
    let_by = None if space is None or past is None else LetBySettings(
        volume=space, limit=past, stop=planned.low("let_by.stop") or 20.0 * past, district=behind,
        highest=max(behind, planned.high("pressure.highest") or 0.0), margin=planned.low("let_by.margin") or 0.0,
        fresh=planned.low("let_by.fresh") or 300.0, resolution=finest, vent=vent, by_eye=by_eye)
    return TraceSettings(expected, hold, let_by)


def _band(options: Options, text: str | None, planned: _Planned) -> tuple[float | None, float | None]:
    if text is None:
        return planned.low("break_through.lowest"), planned.high("break_through.highest")
    try:
        band = parse(text, "Pa gauge")
    except UnitError as error:
        options.faults.append(Fault("--band", error.what, error.fix))
        return None, None
    if band.low is None or band.high is None or band.low == band.high:
        options.faults.append(Fault("--band", f"'{text}' is no band.", 'Write two ends and a unit, as "27..33 mbar".'))
        return None, None
    return band.low, band.high
