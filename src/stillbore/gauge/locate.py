"""The hunt for a leaking joint: the belief, what a finding does to it, and the next move; and fluid in the best order,
which is what the hunt has to beat."""

from __future__ import annotations

from stillbore.gauge.belief import WHOLE, Belief, Costs, Move
from stillbore.gauge.next_move import expected_seconds, next_move
from stillbore.gauge.rig_graph import Rig


class Hunt:
    """A hunt under way."""

    def __init__(self, rig: Rig, costs: Costs) -> None:
        self.rig, self.costs = rig, costs
        self.state = Belief.at_start(rig, costs)
        self.moves = self.state.ground.moves

    @property
    def belief(self) -> dict[int, float]:
        """Probability of every set of leaking joints that is still possible, as bits."""
        return {leaks: weight for leaks, weight in zip(self.state.ground.sets, self.state.weights, strict=True)
                if weight > 0.0}

    @property
    def done(self) -> bool:
        """The whole rig has held, and that nothing leaks is as good as sure."""
        return self.state.done

    def take(self, move: Move, shows: bool) -> None:
        """Take in what a move showed: a hold that failed, a bubble."""
        self.state = self.state.after(move, shows)

    def repair(self, mask: int) -> None:
        """A joint has been mended: it leaks no more, and everything may be tried again."""
        index = mask.bit_length() - 1
        self.state = self.state.after(Move("repair", self.rig.joints[index].name, self.costs.repair, mask), True)

    def suspicion(self) -> list[float]:
        """Probability that each joint leaks."""
        return list(self.state.suspicion)

    def next(self) -> Move:
        """The next move."""
        return next_move(self.state)

    def expected_seconds(self) -> float:
        """About how long the hunt will still take."""
        return expected_seconds(self.state)


def fluid_order(rig: Rig) -> tuple[int, ...]:
    """Joints in the order in which looking with fluid finds the leak soonest: likelihood over time."""
    joints = rig.joints
    return tuple(sorted(range(len(joints)), key=lambda index: -joints[index].weight / joints[index].seconds))


def fluid_seconds(rig: Rig, costs: Costs) -> float:
    """Expected seconds of finding one leak with fluid in that order, mending it and proving the rig; no misses."""
    total = sum(joint.weight for joint in rig.joints)
    spent = expected = 0.0
    for index in fluid_order(rig):
        spent += rig.joints[index].seconds
        expected += rig.joints[index].weight / total * spent
    return expected + costs.repair + costs.hold_whole


def valves_pay(rig: Rig, costs: Costs) -> bool:
    """Whether the hunt shuts valves before it has looked with fluid at half of the joints, while nothing shows."""
    hunt = Hunt(rig, costs)
    for _ in range(len(rig.joints) // 2 + 1):
        move = hunt.next()
        if move.kind != "fluid":
            return move.kind == "hold" and move.what != WHOLE
        hunt.take(move, False)
    return False
