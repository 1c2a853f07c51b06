"""The rig as the leak hunt sees it: joints on compartments, valves between them, what a gauge can be shut in with."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from stillbore.errors import Fault, InputFaults
from stillbore.job.schema import JobFile


@dataclass(frozen=True)
class Joint:
    """A joint that may leak: how likely against the others, how long a look with fluid takes [s], and how often it
    shows the leak."""

    name: str
    compartment: str
    weight: float
    seconds: float
    sensitivity: float


@dataclass(frozen=True)
class Valve:
    """A valve between two compartments."""

    name: str
    ends: tuple[str, str]


@dataclass(frozen=True)
class HoldState:
    """A way to hold: the valves that are shut, the compartments then open to the gauge, and those just across a shut
    valve, whose leaks a passing valve would let in."""

    shut: tuple[str, ...]
    inside: frozenset[str]
    across: frozenset[str]


@dataclass(frozen=True)
class Rig:
    """Joints, valves, and the compartment with the gauge."""

    joints: tuple[Joint, ...]
    valves: tuple[Valve, ...]
    gauge: str

    def hold_states(self) -> tuple[HoldState, ...]:
        """Every different set of compartments that valves can shut in with the gauge, the whole rig first; for each,
        only the valves on its border are shut."""
        found: dict[frozenset[str], HoldState] = {}
        for number in range(1 << len(self.valves)):
            shut = {valve for index, valve in enumerate(self.valves) if number >> index & 1}
            inside = self._reach(valve for valve in self.valves if valve not in shut)
            border = tuple(valve.name for valve in self.valves
                           if (valve.ends[0] in inside) != (valve.ends[1] in inside))
            across = frozenset(end for valve in self.valves if valve.name in border for end in valve.ends) - inside
            found.setdefault(inside, HoldState(border, inside, across))
        return tuple(sorted(found.values(), key=lambda state: (len(state.shut), state.shut)))

    def _reach(self, open_valves: Iterable[Valve]) -> frozenset[str]:
        valves = list(open_valves)
        inside = {self.gauge}
        grown = True
        while grown:
            grown = False
            for valve in valves:
                if (valve.ends[0] in inside) != (valve.ends[1] in inside):
                    inside |= set(valve.ends)
                    grown = True
        return frozenset(inside)

    def mask(self, compartments: frozenset[str]) -> int:
        """The joints on some compartments, as bits in the order of the joints."""
        return sum(1 << index for index, joint in enumerate(self.joints) if joint.compartment in compartments)


def rig_of(kit: JobFile, rules: JobFile) -> Rig:
    """The rig of a kit; what a joint does not say of itself the rule set says. Raises InputFaults if the kit does not
    say which compartment the gauge reads."""
    gauge = kit.row("gauge").text("compartment")
    compartments = {row.text("id") for row in kit.rows("compartment")}
    if gauge not in compartments:
        raise InputFaults([Fault(kit.row("gauge").place, "The kit does not say which compartment the gauge reads.",
                                 f"Write compartment = one of: {', '.join(sorted(compartments))}.")])
    usual = {key: rules.fact(f"locate.{key}").value or 0.0 for key in ("fluid_check", "fluid_sensitivity")}
    joints = []
    for row in kit.rows("joint"):
        said = {key: row.facts[key].value for key in ("prior", "fluid_check", "fluid_sensitivity") if key in row.facts}
        joints.append(Joint(row.text("id"), row.text("compartment"), said.get("prior") or 1.0,
                            said.get("fluid_check") or usual["fluid_check"],
                            said.get("fluid_sensitivity") or usual["fluid_sensitivity"]))
    valves = []
    for row in kit.rows("valve"):
        first, second = row.texts("between")
        valves.append(Valve(row.text("id"), (first, second)))
    return Rig(tuple(joints), tuple(valves), gauge)
