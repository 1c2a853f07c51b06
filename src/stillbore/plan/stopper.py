"""The stopper: does it squeeze right in every bore it may meet, and does it hold at the highest pressure."""

from __future__ import annotations

from datetime import datetime

from stillbore.derive import Node, derive, span_text, worst
from stillbore.job.schema import Row
from stillbore.physics import pressure as pressure_physics
from stillbore.physics import stopper as physics
from stillbore.physics import tube as tube_physics
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, NOTE, Workings
from stillbore.plan.pipe import SIZE_NAMES

CORRODED = "corroded"


def _fits(row: Row, bore: Node) -> bool:
    """Whether the squeeze is within the stopper's band over the whole range of a bore."""
    squeeze = derive("squeeze", physics.squeeze, stopper_diameter=row.fact("free_diameter"), bore=bore)
    return (squeeze.known and squeeze.low >= row.fact("least_squeeze").high  # type: ignore[operator]
            and squeeze.high <= row.fact("most_squeeze").low)  # type: ignore[operator]


def _may_fit(row: Row, bore: Node) -> bool:
    """Whether the squeeze is within the stopper's band in part of the range of a bore, at the least."""
    squeeze = derive("squeeze", physics.squeeze, stopper_diameter=row.fact("free_diameter"), bore=bore)
    return (squeeze.known and squeeze.high >= row.fact("least_squeeze").low  # type: ignore[operator]
            and squeeze.low <= row.fact("most_squeeze").high)  # type: ignore[operator]


def spent(work: Workings, row: Row) -> bool:
    """Whether a stopper has had its uses, or its life ends before the work does."""
    end = work.survey.value("window.end")
    assert isinstance(end, datetime)
    return row["uses"] >= row["uses_most"] or row["expires"] < end.date()  # type: ignore[operator]


def _choose(work: Workings, bores: dict[str, Node]) -> Row | None:
    rows = sorted((row for row in work.kit.rows("stopper") if row["size"] == work.size),
                  key=lambda row: spent(work, row))
    fits = {row.text("id"): [key for key in bores if _fits(row, bores[key])] for row in rows}
    for row in rows:
        if len(fits[row.text("id")]) == len(bores):
            return row
    titles = {tube.key: tube.title for tube in work.tubes} | {CORRODED: "corroded to the least wall that is drilled"}
    partly = [(row, fits[row.text("id")]) for row in rows if fits[row.text("id")]]
    doubtful = next((row for row in rows if any(_may_fit(row, bore) for bore in bores.values())), None)
    if not partly and doubtful is not None:
        least, most = (span_text(doubtful.fact(f"{end}_squeeze"), "%") for end in ("least", "most"))
        work.tell(HOLD_OPEN, f"Whether the stopper {doubtful.text('id')} fits is not proven: the squeeze must lie "
                  f"between {least} and {most}, and in part of the range of the bore it does not.",
                  "Measure diameter and wall more closely, or take another stopper.", 5, 6)
        return doubtful
    if not partly:
        size = SIZE_NAMES[work.size]
        why = (f"none of the kit's for {size} is squeezed rightly in the bore" if rows
               else f"the kit has none for {size}")
        work.tell(DOES_NOT_APPLY, f"No stopper fits: {why}.",
                  "Take a kit with a stopper for this bore. None that fits is an answer.", 6)
        return rows[0] if rows else None
    row, keys = max(partly, key=lambda pair: len(pair[1]))
    fitting = ", ".join(titles[key] for key in keys)
    misfits = ", ".join(titles[key] for key in bores if key not in keys)
    work.tell(HOLD_OPEN, f"The stopper {row.text('id')} fits the tube {fitting}, but not {misfits}. Which tube it is "
              "decides whether it seals.",
              "Measure the wall before it is set; if it is one of those it does not fit, take another stopper.", 5, 6)
    return row


def stopper(work: Workings) -> Row | None:
    """Choose a stopper; squeeze, push-out, grip and proof pressure; returns the stopper chosen."""
    work.section("stopper", "Stopper")
    if not work.tubes:
        work.tell(ENGINEER, "No stopper can be chosen: the size of the pipe is not decided.", "Decide the size first.")
        return None
    bores = {tube.key: work.numbers[f"pipe.{tube.key}.bore"].node for tube in work.tubes}
    of_tubes = dict(bores)
    if not work.survey.fact("pipe.wall").measured:
        # Old pipe is wider than any new tube where it has rusted inside, down to the least wall that is drilled at all.
        widest_tube = max((tube.outside_diameter for tube in work.tubes), key=lambda fact: fact.high or 0.0)
        bores[CORRODED] = derive("pipe.corroded.bore", tube_physics.bore, outside_diameter=widest_tube,
                                 wall=work.limit("pipe.least_wall"))
    row = _choose(work, bores)
    if row is None:
        return None
    work.keep("free diameter of the stopper", row.fact("free_diameter"), "mm", "stopper.free_diameter")
    work.each("stopper.*.squeeze", "squeeze", "%", lambda name, tube: derive(
        name, physics.squeeze, stopper_diameter=row.fact("free_diameter"), bore=bores[tube.key]))
    work.cover("stopper.squeeze", "squeeze", "%",
               {key: work.numbers[f"stopper.{key}.squeeze"].node for key in of_tubes})
    work.keep("least squeeze at which it seals", row.fact("least_squeeze"), "%", "stopper.least_squeeze")
    work.keep("most squeeze at which it can be set", row.fact("most_squeeze"), "%", "stopper.most_squeeze")
    work.keep("largest force to set it", row.fact("setting_force"), "N", "stopper.setting_force")
    widest = work.take("stopper.bore", "widest bore it may meet", "mm",
                       max(bores.values(), key=lambda node: node.high or 0.0), "high")
    pressures = {"lowest": "pressure.lowest", "operating": "pressure.operating", "highest": "pressure.highest"}
    forces = {key: work.work(f"stopper.push_out.{key}", f"push-out at the {key} pressure", "N", physics.push_out_force,
                             bore=widest, gauge_pressure=work.numbers[name].node)
              for key, name in pressures.items() if name in work.numbers}
    _holding(work, row, widest, forces)
    lowest = work.numbers["pressure.lowest"].node
    if not lowest.known:
        work.tell(HOLD_OPEN, "The lowest pressure to be expected is not known: a fitting cannot be proved with gas "
                  "behind the stopper.", "Ask pressure control.", 14)
    work.work("stopper.proof_pressure", "highest pressure for proving a fitting with gas behind the stopper", "mbar",
              pressure_physics.counts_up_to, gauge_pressure=worst("pressure.lowest", lowest, "low"),
              pressure_margin=row.fact("reverse_pressure"))
    work.tell(NOTE, "A fitting proved later, with gas behind the stopper, is proved at no more than this pressure: "
              "more, from the house side, pushes the stopper the wrong way.",
              "Never prove it at the pressure of the first test.")
    return row


def _holding(work: Workings, row: Row, widest: Node, forces: dict[str, Node]) -> None:
    highest = work.numbers.get("pressure.highest")
    if highest is None:
        return
    work.keep("rated push-out force", row.fact("rated_force"), "N", "stopper.rated_force")
    factor = work.work("stopper.force_factor", "rated force over push-out at the highest pressure", "-",
                       physics.force_factor, rated_force=row.fact("rated_force"), force=forces["highest"])
    work.at_least("rated force over push-out", factor, work.limit("stopper.force_factor"), "-", DOES_NOT_APPLY, 11,
                  do="Take a stopper with a higher rating.")
    grip = work.work("stopper.grip_factor", "grip by friction over push-out at the highest pressure", "-",
                     physics.grip_factor, friction_coefficient=row.fact("friction_coefficient"),
                     contact_pressure=row.fact("contact_pressure"), bore=widest, stopper_length=row.fact("length"),
                     gauge_pressure=highest.node)
    work.at_least("grip over push-out", grip, work.limit("stopper.friction_factor"), "-", ENGINEER, 11,
                  do="Take a stopper with more grip.")
    margin = work.work("stopper.sealing_margin", "contact pressure over gas pressure, at the highest pressure", "mbar",
                       physics.sealing_margin, contact_pressure=row.fact("contact_pressure"),
                       gauge_pressure=highest.node)
    zero = worst("none", margin, "low")
    if zero.value is not None and zero.value <= 0:
        work.tell(DOES_NOT_APPLY, "The gas pressure can lift the stopper's face off the bore.",
                  "Take a stopper with a higher contact pressure.", 11)
