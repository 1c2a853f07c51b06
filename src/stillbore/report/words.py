"""The fixed sentences of the documents, in one place, so that another language can be added beside them.

Nothing here holds a limit: where a sentence needs one, it is written in from the rule set or the plan. What is common
practice of the trade has no source and is said to be so in the pack.
"""

from __future__ import annotations

from stillbore.plan import Plan
from stillbore.plan.method import APPLIES
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER

RESULT = {
    APPLIES: "The method applies, as far as is known",
    DOES_NOT_APPLY: "The method does not apply",
    ENGINEER: "Refer to an engineer",
}

NOT_YET_KNOWN = "Not ruled out, but it is not yet known whether the method applies"
RESULT_MEANS = {
    APPLIES: "On the facts of this survey, with this kit and this rule set, nothing rules the method out. This is a "
             "plan, not a permission: at each hold point a person with authority looks, decides and signs.",
    DOES_NOT_APPLY: "On the facts of this survey, with this kit and this rule set, this service is not to be isolated "
                    "in this way. The reasons stand below.",
    ENGINEER: "Something in this survey needs the decision of the authorising engineer before any work. The reasons "
              "stand below.",
}

LEVEL_MEANS = {
    "does not apply": "Rules the method out.",
    "refer to an engineer": "The authorising engineer decides, in writing, before any work.",
    "hold stays open": "May be planned. The hold cannot be signed until this is mended.",
    "note": "To know. It stops nothing by itself.",
}

RANKS_BELOW = ("Local codes and the operator's own procedure rank above this document. The program records and works "
               "out; it decides nothing.")

GAUGE_STATEMENT = ("Read from a gauge log. Every verdict is valid for the pressure, the time and the temperature of "
                   "its readings; how often such verdicts are wrong has been measured and stands in the studies.")
GAUGE_CAUTION = ("A verdict is no permission. Not proven is a result. " + RANKS_BELOW)


def cautions(plan: Plan) -> tuple[str, ...]:
    """The ten cautions, always shown whole in the pack."""
    maximum = plan.display.said(plan.rules.fact("pressure.maximum_operating_pressure"))
    rules = plan.rules.row("rules")
    return (
        "Measurements on site override records. Unknown is treated as worst.",
        f"Low pressure only, {maximum} or less. If the gauge goes over its range or keeps rising: stop, do not open "
        "anything, leave, call.",
        "No naked flame, no smoking, no uncertified device, no power tool that sparks within the zone. The phone stays "
        "out of the zone.",
        "Two people, always. The gas monitor is on, has been tried with gas, and is in the pit.",
        "The stopper is temporary and there is only one: never unattended, never overnight, and no work on a live leg "
        "behind it for longer than needed.",
        "A passed test is valid for the pressure, the time and the temperature of that test.",
        "Never break a bond with current in it.",
        "If in doubt, stop. A stop is never scored against anybody.",
        "Smell of gas indoors: leave, call the emergency line; do not use this document.",
        f"Rule set: {rules.text('name')}, edition {rules.text('edition')}, {rules['date']}. Editions change: check "
        "with your operator.",
    )


def short_cautions(plan: Plan) -> str:
    """The cautions in short, for the sheet."""
    maximum = plan.display.said(plan.rules.fact("pressure.maximum_operating_pressure"))
    rules = plan.rules.row("rules")
    return (f"Measured beats recorded; unknown is worst. Low pressure only, {maximum} or less. No flame, no spark, no "
            "phone in the zone. Two people, monitor on and tried. One stopper, temporary: never leave it. A pass "
            "counts for its pressure, time and temperature. Never break a bond with current in it. In doubt, stop: a "
            "stop is never scored. Smell of gas indoors: leave and call. "
            f"Rules: {rules.text('name')}, edition {rules.text('edition')}, {rules['date']}: check with your operator.")


def gauge_pictures(maximum: str, band: str, time: str) -> tuple[tuple[str, str], ...]:
    """What the gauge can show when the pilot is through, and what it means."""
    return (
        (f"Comes up within {time} and settles: {band}", "As planned. Write it down and keep watching."),
        ("No rise, slow, or swinging", "Blockage, water or the wrong pipe. Stop. Find out which."),
        ("Settles outside the band", "Not the pressure or the pipe of this plan. Stop. Ask network control."),
        (f"Above {maximum}, or still climbing", "MEDIUM PRESSURE. Leave drill and valves as they are. Open nothing, "
                                                "vent nothing. Clear the pit. Call."),
    )


def if_it_goes_wrong(out: str, emergency: str, current: str) -> tuple[str, ...]:
    """The lines of the STOP block. ``out`` and ``emergency``: fractions of the lower flammable limit."""
    return (
        f"Monitor at {out} of the lower limit: out of the pit, find out why. At {emergency}: everybody away, upwind.",
        "Hiss, stopper moving, gas at the open end: emergency plug if it is in the hand. Then out, at once.",
        "No flame, no switch, no phone in the zone. Keep people away. Call from outside the zone.",
        "Drill snatches or will not come back: leave it where it is.",
        "Let-by not met, coupon not found, a piece of the stopper missing: nothing is cut, nothing goes further.",
        f"Bond at {current} or more: leave it on. Call the electricity network.",
        "Nobody goes back until the person with authority has a reading and says so.",
    )


NOT_BEFORE_PAGE_ONE = "The first page says why. Nothing here is begun before that is answered."
NEW_PIPE_RULES = (
    "Strength before tightness, both with air: let the air out before an end is touched, and stand clear of the ends.",
    "A gauge that rises proves nothing: warmth hides a leak. A pass counts for its pressure, time and temperature.",
    "The purge ends by the instrument, never by time or smell.",
    "More push than is planned for means that it has met something. Stop; do not push harder.",
)

CONTACTS = ("Gas emergency line", "Network control", "Electricity network", "Authorising engineer",
            "Ambulance: grid reference of this place")

CUSTOMER_HAPPENS = {
    "cap and abandon": "The old steel gas pipe to this property is taken out of use. It is cut and closed for good in "
                       "a small pit outside.",
    "renew towards the main": "The old steel gas pipe to this property is renewed. It is cut in a small pit outside, "
                              "and a new plastic pipe takes its place.",
    "renew towards the house": "The old steel gas pipe to this property is renewed. It is cut in a small pit outside, "
                               "and a new plastic pipe takes its place.",
}
