"""What to bring: kit that comes back and material that is used up, with quantities from this plan's lengths."""

from __future__ import annotations

from stillbore.derive import Fact, Node, worst
from stillbore.job.schema import Row
from stillbore.physics import amounts, volume
from stillbore.plan.parts import NOTE, Grid, Workings
from stillbore.plan.pipe import SIZE_NAMES
from stillbore.plan.renewal import Candidate

KIT, USED_UP = "kit", "used up"
UNKNOWN = "not known"


def materials(work: Workings, new_pipe: Candidate | None, saw: Row | None, stopper: Row | None) -> None:
    """The list. What cannot be counted yet says so and why."""
    work.section("materials", "What to bring")
    route = work.survey.value("job.route")
    rows = [row for row in work.rules.rows("material") if route in row.texts("routes")]
    if not rows:
        work.tell(NOTE, "The rule set has no list of material for this route.", "Write its [[material]] tables.")
        return
    annulus = _number(work, "annulus.volume")
    measured = {"length of the new pipe": new_pipe.length if new_pipe else None,
                "annulus": worst("annulus, at the most", annulus, "high") if annulus and annulus.known else None,
                "volume of the pit": _number(work, "pit_air.pit_volume"),
                "length of the pit": _number(work, "dig.length")}
    lines = [_line(work, row, measured, new_pipe) for row in rows]
    lines += _own_kit(work, saw, stopper)
    for use in (USED_UP, KIT):
        work.here.grids.append(Grid({USED_UP: "Used up", KIT: "Kit, counted out and counted in"}[use],
                                    ("what", "how much", "by"),
                                    tuple(line[:3] for line in lines if line[3] == use)))
    if any(line[1].startswith(UNKNOWN) for line in lines):
        work.tell(NOTE, "Some quantities are not known yet; the list says which.",
                  "Work them out before the van is loaded: nothing is bought by a guess.")


def _number(work: Workings, name: str) -> Node | None:
    found = work.numbers.get(name)
    return found.node if found else None


def _line(work: Workings, row: Row, measured: dict[str, Node | None],
          new_pipe: Candidate | None) -> tuple[str, str, str, str]:
    name, per, amount = row.text("name"), row.text("per"), row.fact("amount")
    if row.values.get("by_size"):
        name = f"{name}, {SIZE_NAMES.get(work.size, 'size ' + UNKNOWN)}"
    if per == "job":
        return name, work.said(amount).replace("..", " to "), amount.source, row.text("use")
    if per == "length of the new pipe" and new_pipe is not None:
        name = f"{name}, {new_pipe.name}"
    base = measured[per]
    if base is None or not base.known:
        return name, f"{UNKNOWN}: {_why(per, new_pipe)}", f"{amount.text} of the {per}", row.text("use")
    return name, _quantity(work, row, base, amount), f"{amount.text} of the {per}", row.text("use")


def _why(per: str, new_pipe: Candidate | None) -> str:
    if per in ("length of the new pipe", "annulus") and new_pipe is None:
        return "no new pipe is chosen"
    return f"the {per} is not"


def _quantity(work: Workings, row: Row, base: Node, amount: Fact) -> str:
    """Length or volume to bring, kept as a number of the plan."""
    name = f"materials.{row.text('name').lower().replace(',', '').replace(' ', '_')}"
    if base.unit == "m":
        work.work(name, f"{row.text('name')} to bring", "m", amounts.length_to_bring, length=base, share=amount)
        return work.numbers[name].text
    shown = "m3" if (base.high or 0.0) >= 0.05 else "l"
    work.work(name, f"{row.text('name')} to bring", shown, volume.scaled_volume, volume=base, factor=amount)
    return work.numbers[name].text


def _own_kit(work: Workings, saw: Row | None, stopper: Row | None) -> list[tuple[str, str, str, str]]:
    """What the kit file names: the saw and the stopper chosen, gauge and bond."""
    gauge, bond = work.kit.row("gauge"), work.kit.row("bond")
    chosen = [("hole saw with its pilot", saw), ("stopper", stopper), ("gauge", gauge), ("bond lead with clamps", bond)]
    lines = []
    for what, row in chosen:
        if row is None:
            lines.append((what, f"{UNKNOWN}: none of the kit fits", "kit", KIT))
        else:
            length = f", {work.said(row.fact('lead_length'), 'm')}" if row is bond else ""
            lines.append((f"{what}, {row.text('id')}{length}", "1", "kit", KIT))
    return lines
