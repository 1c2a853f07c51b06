"""What was found in a leak hunt, as a list that can be written down: read, and replayed into the hunt as it stands."""

from __future__ import annotations

import json

from stillbore.errors import Fault, InputFaults
from stillbore.gauge.locate import Costs, Hunt, Move, fluid_order, fluid_seconds, valves_pay
from stillbore.gauge.rig_graph import Rig

Past = list[tuple[Move, bool]]


def replay(rig: Rig, costs: Costs, past: Past) -> Hunt:
    """The hunt after all that was found so far."""
    hunt = Hunt(rig, costs)
    for move, shows in past:
        if move.kind == "repair":
            hunt.repair(move.mask)
        else:
            hunt.take(move, shows)
    return hunt


def past_of(items: object, rig: Rig, costs: Costs) -> Past:
    """Findings from plain data, as of JSON. Raises InputFaults with every fault at once."""
    faults: list[Fault] = []
    past: Past = []
    hunt = Hunt(rig, costs)
    names = {joint.name: index for index, joint in enumerate(rig.joints)}
    states = {frozenset(state.shut): move for state, move in zip(rig.hold_states(), hunt.moves, strict=False)}
    for number, item in enumerate(items if isinstance(items, list) else [items], 1):
        place = f"finding {number}"
        keys = set(item) if isinstance(item, dict) else set()
        if keys == {"hold", "fails"} and isinstance(item["hold"], list) and isinstance(item["fails"], bool):
            move = states.get(frozenset(map(str, item["hold"])))
            if move is None:
                known = "; ".join(", ".join(sorted(shut)) or "none" for shut in states)
                faults.append(Fault(place, f"No hold has just {item['hold']} shut.", f"Shut one of: {known}."))
            else:
                past.append((move, item["fails"]))
        elif keys in ({"fluid", "bubble"}, {"repair"}) and str(item.get("fluid", item.get("repair"))) in names:
            index = names[str(item.get("fluid", item.get("repair")))]
            kind = "fluid" if "fluid" in item else "repair"
            past.append((Move(kind, rig.joints[index].name, rig.joints[index].seconds, 1 << index),
                         bool(item.get("bubble"))))
        else:
            faults.append(Fault(place, f"{json.dumps(item)[:80]} is no finding of this rig.",
                                f"Joints are: {', '.join(names)}; see --help for the forms."))
    if faults:
        raise InputFaults(faults)
    return past


def advice(hunt: Hunt) -> str:
    """Whether moving valves pays on this rig, in a sentence or two."""
    order = ", ".join(hunt.rig.joints[index].name for index in fluid_order(hunt.rig))
    minutes = fluid_seconds(hunt.rig, hunt.costs) / 60.0
    if valves_pay(hunt.rig, hunt.costs):
        return f"Looks with fluid are slow on this rig: moving valves pays. Fluid everywhere would be: {order}."
    return (f"Looks with fluid are quick on this rig: fluid everywhere in this order is the best there is, about "
            f"{minutes:.0f} min: {order}.")
