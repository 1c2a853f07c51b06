"""Gas released by this job, by a live cut instead, and by the leak that the job ends: small numbers, not dressed up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from stillbore.derive import Node, Traced, constant, derive, worst
from stillbore.physics import emission, tightness, volume
from stillbore.plan.gas import REFERENCE, at_reference
from stillbore.plan.parts import NOTE, Grid, Workings
from stillbore.units import COMPONENTS, digits, to_unit

YEAR = constant("a year", "s", 8760 * 3600.0, "365 days")
METHANE = 0  # its place among COMPONENTS
UNKNOWN = "not known"
LITRES_UP_TO = 10.0  # [m3]; so that the job and the live cut are shown in one unit, to be compared
LEAST_METHANE = 0.5  # below this share the warming of methane says little of the gas


def release(work: Workings) -> None:
    """Volume, heat and warming of each, in one table."""
    work.section("release", "Gas released and saved")
    rows = {"job": ("this job, with the stopper", _this_job(work)), "live": ("a live cut-off instead", _live_cut(work)),
            "leak": ("the leak that this job ends, each year", _leak(work))}
    calorific = work.numbers["gas.gross"].node
    methane = work.work("release.methane", f"methane in the gas, at {at_reference(work)}", "kg/m3",
                        emission.methane_density, fractions=work.survey.fact("gas.composition"),
                        reference_temperature=REFERENCE)
    factor = work.keep("warming of methane over that of carbon dioxide", work.limit("release.warming_factor"), "-",
                       "release.warming_factor")
    gas: dict[str, Node] = {}
    heat: dict[str, Node] = {}
    warmed: dict[str, Node] = {}
    for key, (title, lost) in rows.items():
        if not lost:
            continue
        gas[key] = _covered(work, f"release.{key}.gas", f"{title}: gas", _gas_unit(*lost.values()), lost)
        heat[key] = _covered(work, f"release.{key}.heat", f"{title}: heat in it", "kWh", {
            case: derive(f"release.{key}.heat", emission.lost_energy, volume=node, calorific_value=calorific)
            for case, node in lost.items()})
        warmed[key] = _covered(work, f"release.{key}.warming", f"{title}: carbon dioxide that warms as much", "kg", {
            case: derive(f"release.{key}.warming", emission.warming, volume=node, methane_density=methane,
                         warming_factor=factor) for case, node in lost.items()})
    lines = [(title, *(rough(work, kept[key], metric, kept.values()) if key in kept else UNKNOWN
                       for kept, metric in ((gas, _gas_unit(gas.get(key))), (heat, "kWh"), (warmed, "kg"))))
             for key, (title, _) in rows.items()]
    work.here.grids.append(Grid(f"Gas lost: estimates, {work.said(work.limit('release.estimate'))} of the middle",
                                ("where", "gas", "heat in it", "as carbon dioxide"), tuple(lines)))
    _one_line(work, warmed)
    if work.survey.fact("gas.composition").composition[METHANE] < LEAST_METHANE:
        work.tell(NOTE, f"Only the {COMPONENTS[METHANE]} of the gas is reckoned as warming. Hydrogen and propane warm "
                  "by other ways, which are left out.", "Do not read the small number as none.")


def _gas_unit(*nodes: Node | None) -> str:
    """The metric unit of a volume of gas."""
    return "m3" if max((node.high or 0.0 for node in nodes if node), default=0.0) >= LITRES_UP_TO else "l"


def rough(work: Workings, node: Node, metric: str, beside: Iterable[Node]) -> str:
    """A range of an estimate, to two figures: more would dress it up. ``beside`` is what it is compared with: where the
    size chooses the unit, the largest of them does."""
    if node.low is None or node.high is None:
        return UNKNOWN
    unit = work.display.unit(node.unit, metric, *(each.high for each in beside))
    low, high = (digits(float(f"{to_unit(end, node.unit, unit):.1e}"), 2) for end in (node.low, node.high))
    return f"{low} to {high} {unit}"


def _covered(work: Workings, name: str, title: str, shown: str, cases: Mapping[str, Node]) -> Node:
    """The number of the only case, or the cover of all."""
    if len(cases) == 1:
        return work.keep(title, next(iter(cases.values())), shown, name)
    return work.cover(name, title, shown, dict(cases))


def _estimated(work: Workings, name: str, lost: Node) -> Traced:
    """A volume with the rule set's doubt about all of these estimates."""
    return derive(name, volume.scaled_volume, volume=lost, factor=work.limit("release.estimate"))


def _content(work: Workings, name: str, space: Node, pressure: Node) -> Traced:
    """Gas in a space under pressure, as a volume at the pressure of the air."""
    more = derive(f"{name}, by its pressure", tightness.fill_volume, volume=space, gauge_pressure=pressure,
                  atmospheric_pressure=work.survey.fact("site.barometer"))
    return derive(name, volume.joined_volume, volume=space, further_volume=more)


def _this_job(work: Workings) -> dict[str, Node]:
    """The rig filled and vented some times, the leg once, and what wafts out of open branches."""
    pressure, leg = work.survey.fact("pressure.operating"), work.numbers.get("leg.volume")
    if leg is None or not leg.node.known:
        return {}
    rig = worst("volume of the rig", work.numbers["integrity.volume"].node, "high")
    # The leg's volume has the rig in it: the whole of it is vented once, the rig alone some times more.
    once = _content(work, "leg and rig vented", worst("leg.volume", leg.node, "high"), pressure)
    more = derive("rig vented again", volume.scaled_volume, volume=_content(work, "rig vented", rig, pressure),
                  factor=work.limit("release.rig_vents"))
    vented = derive("vented", volume.joined_volume, volume=once, further_volume=more)
    return {"all": _estimated(work, "release.job", derive("vented and wafted", volume.joined_volume, volume=vented,
                                                          further_volume=work.limit("release.trace")))}


def _live_cut(work: Workings) -> dict[str, Node]:
    """The open end for as long as a live cut takes. The flow's ends are taken one by one: it is dear to work out."""
    flow = work.numbers.get("if_it_goes_wrong.open_end")
    if flow is None or not flow.node.known:
        return {}
    return {end: _estimated(work, f"release.live.{end}", derive(
        f"live cut, {end} flow", emission.lost_volume, flow=worst("open end", flow.node, end),
        duration=work.limit("release.live_cut"))) for end in ("low", "high")}


def _leak(work: Workings) -> dict[str, Node]:
    rate = work.survey.row("site").facts.get("leak_rate")
    if rate is None or not rate.known:
        return {}
    return {"all": _estimated(work, "release.leak", derive("leaked in a year", emission.lost_volume, flow=rate,
                                                           duration=YEAR))}


def _one_line(work: Workings, warmed: Mapping[str, Node]) -> None:
    """The small number and the larger one in one sentence."""
    if "job" not in warmed or "live" not in warmed:
        return
    text = {key: rough(work, node, "kg", warmed.values()) for key, node in warmed.items()}
    leak = (f"; the leak that it ends loses {text['leak']} each year" if "leak" in text else
            "; what the old service leaks in a year nobody has measured")
    factor = work.limit("release.warming_factor")
    work.tell(NOTE, f"As carbon dioxide: this job loses {text['job']}, a live cut would lose {text['live']}{leak}. "
              f"Estimates, {work.said(work.limit('release.estimate'))} of the middle; methane taken as {factor.text} "
              f"({factor.source}).",
              "Quote them together, with their doubt, or not at all.")
