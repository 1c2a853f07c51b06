"""Finding the leaking joint: who is under suspicion, and the next move by what it tells for the minutes it takes.

Hypotheses are the sets of joints that may leak: one, or two. A hold fails if a leak lies within what is shut in with
the gauge; a look with fluid shows a bubble, or misses, and *half of the misses persist*: a joint that hides once hides
again. The next move is the one that tells most a second of which joint to mend; a joint is mended when it is likely
enough.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from itertools import combinations
from math import log2

from stillbore.gauge.rig_graph import HoldState, Rig
from stillbore.job.schema import JobFile

FALSE_BUBBLE = 0.01  # a bubble where nothing leaks; common practice
SURE = 0.995  # that nothing leaks any more; below it a whole hold that passed is done once more


@dataclass(frozen=True)
class Costs:
    """Seconds and chances of the hunt, from the rule set's [locate]."""

    hold_partial: float = 75.0
    hold_whole: float = 60.0
    repair: float = 60.0
    double_share: float = 0.15
    hit: float = 0.98
    false: float = 0.02
    passing: float = 0.05
    repair_above: float = 0.8

    @classmethod
    def of(cls, rules: JobFile) -> Costs:
        """The costs of a rule set."""
        return cls(**{key: rules.fact(f"locate.{key}").value or 0.0 for key in cls.__dataclass_fields__})


@dataclass(frozen=True)
class Move:
    """Something to do: ``kind`` hold, fluid or repair; what; how long it takes [s]."""

    kind: str
    what: str
    seconds: float
    mask: int = 0
    across: int = 0


def moves_of(rig: Rig, costs: Costs) -> tuple[Move, ...]:
    """Every hold and every look; repairs are thought of by joint."""
    holds = []
    for state in rig.hold_states():
        seconds = costs.hold_partial if state.shut else costs.hold_whole
        holds.append(Move("hold", hold_words(state), seconds, rig.mask(state.inside), rig.mask(state.across)))
    looks = [Move("fluid", joint.name, joint.seconds, 1 << index) for index, joint in enumerate(rig.joints)]
    return (*holds, *looks)


_moves = cache(moves_of)


def hold_words(state: HoldState) -> str:
    return "whole rig" if not state.shut else f"shut {', '.join(state.shut)}"


def prior(rig: Rig, costs: Costs) -> dict[int, float]:
    """Probability of every set of one or two leaking joints, as bits; the whole rig has just failed its hold."""
    total = sum(joint.weight for joint in rig.joints)
    single = [joint.weight / total for joint in rig.joints]
    pairs = {(1 << a) | (1 << b): single[a] * single[b] for a, b in combinations(range(len(single)), 2)}
    share = sum(pairs.values()) or 1.0
    found = {1 << index: (1.0 - costs.double_share) * weight for index, weight in enumerate(single)}
    found |= {mask: costs.double_share * weight / share for mask, weight in pairs.items()}
    return found


@dataclass
class Hunt:
    """A hunt under way: the belief, and what has been done since the last repair."""

    rig: Rig
    costs: Costs
    belief: dict[int, float] = field(default_factory=dict)
    looks: dict[int, int] = field(default_factory=dict)
    held: set[str] = field(default_factory=set)
    done: bool = False

    def __post_init__(self) -> None:
        self.belief = self.belief or prior(self.rig, self.costs)
        self.moves = _moves(self.rig, self.costs)

    # What a move would show, and how likely.

    def chance(self, move: Move, leaks: int) -> float:
        """Chance that a hold fails, or that fluid shows a bubble, if these joints leak."""
        costs = self.costs
        if move.kind == "hold":
            if leaks & move.mask:
                return costs.hit
            return costs.false + (costs.passing if leaks & move.across else 0.0)
        if not leaks & move.mask:
            return FALSE_BUBBLE
        # Of the misses half persist, so the k-th look at a leak that hid k - 1 times shows less than the first.
        sensitivity = self.rig.joints[move.mask.bit_length() - 1].sensitivity
        persist = 0.5 * (1.0 - sensitivity)
        again = persist / (1.0 - persist) if persist < 1.0 else 1.0
        before = self.looks.get(move.mask, 0)
        hidden = persist + (1.0 - persist) * again**before
        hides = persist + (1.0 - persist) * again ** (before + 1)
        return 1.0 - hides / hidden if hidden > 0.0 else 0.0

    def gain(self, move: Move) -> float:
        """Bits that a move is expected to tell of *which joint to mend next*: two leaks at once count half for each,
        because it does not matter which of them is found first."""
        before: dict[int, float] = {}
        after: dict[int, float] = {}
        shows = 0.0
        for leaks, weight in self.belief.items():
            chance = self.chance(move, leaks)
            shows += weight * chance
            for culprit, share in _culprits(leaks):
                before[culprit] = before.get(culprit, 0.0) + weight * share
                after[culprit] = after.get(culprit, 0.0) + weight * share * chance
        # What two things tell of each other: the doubt of each less the doubt of both together.
        together = sum(_plogp(after[culprit]) + _plogp(weight - after[culprit]) for culprit, weight in before.items())
        return _plogp(shows) + _plogp(1.0 - shows) + sum(map(_plogp, before.values())) - together

    def take(self, move: Move, shows: bool) -> None:
        """Take in what a move showed: a hold that failed, a bubble."""
        found = {leaks: weight * (self.chance(move, leaks) if shows else 1.0 - self.chance(move, leaks))
                 for leaks, weight in self.belief.items()}
        total = sum(found.values())
        if total > 0.0:
            self.belief = {leaks: weight / total for leaks, weight in found.items() if weight > 1e-12 * total}
        if move.kind == "fluid":
            self.looks[move.mask] = self.looks.get(move.mask, 0) + 1
        elif move.kind == "hold":
            self.held.add(move.what)
            if move.what == "whole rig" and not shows:
                self.done = self.belief.get(0, 0.0) >= SURE
                self.held.discard(move.what)

    def repair(self, mask: int) -> None:
        """A joint has been mended: it leaks no more, and everything may be tried again."""
        found: dict[int, float] = {}
        for leaks, weight in self.belief.items():
            found[leaks & ~mask] = found.get(leaks & ~mask, 0.0) + weight
        self.belief = found
        self.held.clear()
        self.looks.pop(mask, None)

    # What to do next.

    def suspicion(self) -> list[float]:
        """Probability that each joint leaks."""
        return [sum(weight for leaks, weight in self.belief.items() if leaks >> index & 1)
                for index in range(len(self.rig.joints))]

    def candidates(self) -> list[Move]:
        """Moves that may tell something: no hold twice before a repair, no more than two looks at a joint."""
        return [move for move in self.moves
                if (move.what not in self.held if move.kind == "hold" else self.looks.get(move.mask, 0) < 2)]

    def next(self) -> Move:
        """The next move: mend what is likely enough, prove the rig when it is likely tight, else what tells most a
        second; when nothing tells anything, mend the likeliest."""
        suspicion = self.suspicion()
        likeliest = max(range(len(suspicion)), key=lambda index: suspicion[index])
        if suspicion[likeliest] >= self.costs.repair_above:
            return self._repair_of(likeliest)
        whole = self.moves[0]
        if self.belief.get(0, 0.0) > 0.5 and whole.what not in self.held:
            return whole
        rated = [(self.gain(move) / move.seconds, move) for move in self.candidates()]
        if rated:
            best, move = max(rated, key=lambda pair: pair[0])
            if best * move.seconds > 1e-3:
                return move
        if suspicion[likeliest] < 1e-3:
            return whole
        return self._repair_of(likeliest)

    def _repair_of(self, index: int) -> Move:
        return Move("repair", self.rig.joints[index].name, self.costs.repair, 1 << index)

    def expected_seconds(self) -> float:
        """About how long the hunt will still take: the doubt left at the present rate, then mending and proving."""
        doubt = sum(_plogp(weight) for weight in self.belief.values())
        rates = [self.gain(move) / move.seconds for move in self.candidates()]
        best = max(rates, default=0.0)
        leaks = sum(self.suspicion())
        return (doubt / best if best > 1e-6 else 0.0) + leaks * self.costs.repair + self.costs.hold_whole


def _plogp(weight: float) -> float:
    return -weight * log2(weight) if weight > 0.0 else 0.0


@cache
def _culprits(leaks: int) -> tuple[tuple[int, float], ...]:
    """The joints of a leak set, each with its share; nothing leaking is a culprit of its own."""
    joints = [1 << index for index in range(leaks.bit_length()) if leaks >> index & 1]
    return tuple((joint, 1.0 / len(joints)) for joint in joints) or ((0, 1.0),)


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
    """Whether the first move that tells most a second is a hold with valves shut, rather than a look with fluid."""
    return Hunt(rig, costs).next().kind == "hold"
