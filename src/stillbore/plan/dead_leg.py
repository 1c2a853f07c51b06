"""What the cut leaves without flow, on each side of it, by route; and what makes an abandonment one."""

from __future__ import annotations

from stillbore.derive import Node, Traced, derive
from stillbore.physics import insert, volume, window
from stillbore.plan.parts import ENGINEER, NOTE, Workings

ABANDON, RENEW_MAIN, RENEW_HOUSE = "cap and abandon", "renew towards the main", "renew towards the house"


def dead_leg(work: Workings) -> None:
    """Lengths and volumes on each side of the cut, wherever in its window it is made."""
    route = str(work.survey.value("job.route"))
    work.section("dead_leg", "What is left dead")
    cuts = {"first": work.numbers["window.from"].node, "last": work.numbers["window.to"].node}
    if not work.tubes or not all(node.known for node in cuts.values()):
        work.tell(NOTE, "What is left dead cannot be worked out: the cutting window or the size is not known.",
                  "Measure both; the length and the place of each end are recorded before backfill.")
        return
    upstream, leg = work.survey.fact("site.upstream_length"), work.survey.fact("site.leg_length")
    main = {key: derive(f"main to the {key} cut", insert.joined_length, length=upstream, further_length=cut)
            for key, cut in cuts.items()}
    house = {key: derive(f"the {key} cut to the meter", window.beyond, reached=leg, wanted=cut)
             for key, cut in cuts.items()}
    if route == ABANDON:
        stub = _side(work, "main", "live stub, from the main to the cap", main)
        _side(work, "house", "dead pipe, from the cut to the meter", house)
        work.at_most("live stub", stub, work.limit("abandoned.longest_stub"), "m", ENGINEER,
                     do="Cut and cap at the main where that can be done; else the stub is recorded with its length.")
        _abandonment(work)
    elif route == RENEW_MAIN:
        _side(work, "main", "old pipe round the new one, from the main to the cut", main)
        _side(work, "house", "old pipe left dead, from the cut to the meter", house)
        _ends(work, "The old pipe on the house side", "The new pipe lies beside it, or through it; either way")
    else:
        _side(work, "main", "old pipe that stays in use, from the main to the cut", main)
        _side(work, "house", "old pipe round the new one, from the cut to the meter", house)
        work.tell(NOTE, "The old pipe from the main to the cut stays in use: this route does not renew it.",
                  "Say so in the record; its next leak is still to come.")
        _ends(work, "The space between old pipe and new", "At the gland and at the house")


def _side(work: Workings, key: str, title: str, lengths: dict[str, Node]) -> Traced:
    """Show length and volume of what lies on one side, over every place of the cut and every tube."""
    length = work.cover(f"dead_leg.{key}_length", title, "m", lengths)
    work.cover(f"dead_leg.{key}_volume", f"{title}: volume", "l", {
        f"{tube.key} {place}": derive(f"volume of {tube.title}", volume.leg_volume,
                                      bore=work.numbers[f"pipe.{tube.key}.bore"].node, length=one)
        for tube in work.tubes for place, one in lengths.items()})
    return length


def _ends(work: Workings, what: str, where: str) -> None:
    work.tell(NOTE, f"{what} is a way for gas and water. {where} both ends are closed.",
              "Prove it dead, close both ends, record where they are.", 17)


def _abandonment(work: Workings) -> None:
    """What must be true before a service counts as abandoned."""
    work.tell(NOTE, "A plug or a stopper inside a pipe that still hangs together is no abandonment.",
              "Cut it through, so that a gap parts the live stub from the dead pipe.", 17)
    work.tell(NOTE, "Live stub and dead pipe are each closed with a permanent cap or fill: the stub at its end, the "
              "dead pipe at both.", "The cap is rated for the network; the stub as near the main as can be done.", 17)
    buried = bool(work.kit.value("saddle.may_stay_buried"))
    work.tell(NOTE, "The saddle may stay: the kit says it is type-approved to." if buried else
              "The saddle may not stay buried: the kit does not say that it is type-approved to.",
              "Plug its branches for good and record it." if buried else
              "Put the permanent cap between the main and the hole with a second cut, and take the saddle out.")
    work.tell(NOTE, "Whether the dead pipe is purged depends on its volume and on the operator's rule; that it is dead "
              "is measured.", "No rise, no flow, no gas at the end over the time of the rule; then close it.", 17)
    work.tell(NOTE, "Meter and riser come off; the way through the wall is a way for gas and water.",
              "Cap, tag, seal the entry against both.")
