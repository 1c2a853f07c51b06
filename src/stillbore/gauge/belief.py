"""What is believed of a leaking rig: how likely each set of leaking joints is, and what a finding does to that.

Hypotheses are the sets of joints that may leak: none, one, or two. A hold fails if a leak lies within what is shut in
with the gauge; a look with fluid shows a bubble, or misses, and *half of the misses persist*: a joint that hides once
hides again. A joint that was mended leaks no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import combinations
from operator import mul

from stillbore.gauge.rig_graph import HoldState, Rig
from stillbore.job.schema import JobFile

WHOLE = "whole rig"
SURE = 0.995  # that nothing leaks any more; below it a whole hold that passed does not end the hunt
MOST_LOOKS = 2  # at one joint before it is mended: what hid twice mostly hides for good


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
    false_bubble: float = 0.01  # a bubble where nothing leaks; common practice, no rule set says it

    @classmethod
    def of(cls, rules: JobFile) -> Costs:
        """The costs of a rule set."""
        said = [key for key in cls.__dataclass_fields__ if key != "false_bubble"]
        return cls(**{key: rules.fact(f"locate.{key}").value or 0.0 for key in said})


@dataclass(frozen=True)
class Move:
    """Something to do: ``kind`` hold, fluid or repair; what; how long it takes [s]; the joints that leak into a hold,
    are looked at or mended, and those whose leak a passing valve would let in, as bits."""

    kind: str
    what: str
    seconds: float
    mask: int = 0
    across: int = 0


def moves_of(rig: Rig, costs: Costs) -> tuple[Move, ...]:
    """Every hold, the whole rig first, and every look; repairs are thought of by joint."""
    holds = []
    for state in rig.hold_states():
        seconds = costs.hold_partial if state.shut else costs.hold_whole
        holds.append(Move("hold", hold_words(state), seconds, rig.mask(state.inside), rig.mask(state.across)))
    looks = [Move("fluid", joint.name, joint.seconds, 1 << index) for index, joint in enumerate(rig.joints)]
    return (*holds, *looks)


def hold_words(state: HoldState) -> str:
    return f"shut {', '.join(state.shut)}" if state.shut else WHOLE


def prior(rig: Rig, costs: Costs) -> dict[int, float]:
    """Probability of every set of one or two leaking joints, as bits; the whole rig has just failed its hold."""
    total = sum(joint.weight for joint in rig.joints)
    single = [joint.weight / total for joint in rig.joints]
    pairs = {(1 << a) | (1 << b): single[a] * single[b] for a, b in combinations(range(len(single)), 2)}
    double = costs.double_share if pairs else 0.0
    share = sum(pairs.values())
    found = {1 << index: (1.0 - double) * weight for index, weight in enumerate(single)}
    return found | {mask: double * weight / share for mask, weight in pairs.items()}


def fluid_sensitivity(first: float, looks: int) -> float:
    """How often a look shows a leak that has hidden from so many looks before, if the first shows so many: half of the
    first misses persist, so the next look shows less."""
    persist = 0.5 * (1.0 - first)
    again = persist / (1.0 - persist)
    hidden = persist + (1.0 - persist) * again**looks
    return 1.0 - (persist + (1.0 - persist) * again ** (looks + 1)) / hidden if hidden > 0.0 else 0.0


class Ground:
    """What does not change during a hunt: the leak sets in a fixed order, the moves, and what each would show."""

    def __init__(self, rig: Rig, costs: Costs) -> None:
        self.rig, self.costs, self.moves = rig, costs, moves_of(rig, costs)
        start = prior(rig, costs)
        self.sets = (0, *start)
        self.start = (0.0, *start.values())
        # The order is: nothing leaks, each joint alone, then pairs; for each joint the places of its pairs.
        self.pairs = [[place for place in range(1 + len(rig.joints), len(self.sets)) if self.sets[place] >> index & 1]
                      for index in range(len(rig.joints))]
        self._chances: dict[tuple[Move, int], tuple[float, ...]] = {}
        places = {leaks: place for place, leaks in enumerate(self.sets)}
        self._mended = [[places[leaks & ~(1 << index)] for leaks in self.sets] for index in range(len(rig.joints))]

    def chances(self, move: Move, looks: int) -> tuple[float, ...]:
        """For each leak set the chance that a hold fails, or that fluid shows a bubble after so many looks in vain."""
        if (move, looks) not in self._chances:
            self._chances[move, looks] = tuple(self._chance(move, looks, leaks) for leaks in self.sets)
        return self._chances[move, looks]

    def _chance(self, move: Move, looks: int, leaks: int) -> float:
        if move.kind == "hold":
            if leaks & move.mask:
                return self.costs.hit
            return self.costs.false + (self.costs.passing if leaks & move.across else 0.0)
        if not leaks & move.mask:
            return self.costs.false_bubble
        return fluid_sensitivity(self.rig.joints[move.mask.bit_length() - 1].sensitivity, looks)

    def culprits(self, weights: Sequence[float]) -> list[float]:
        """Weights of nothing to mend and of each joint to be *mended next*: two leaks at once count half for each,
        because it does not matter which of them is found first."""
        return [weights[0], *(weights[index] + 0.5 * sum([weights[place] for place in pairs])
                              for index, pairs in enumerate(self.pairs, 1))]

    def mended(self, weights: Sequence[float], index: int) -> tuple[float, ...]:
        """The weights once a joint leaks no more."""
        found = [0.0] * len(weights)
        for place, weight in zip(self._mended[index], weights, strict=True):
            found[place] += weight
        return tuple(found)


ground_of = cache(Ground)


@dataclass(frozen=True, eq=False)
class Belief:
    """How likely each leak set of the ground is, and what has been done since the last repair: looks at each joint,
    holds, and whether the last hold of the whole rig passed."""

    ground: Ground
    weights: tuple[float, ...]
    looks: tuple[int, ...]
    held: frozenset[str] = frozenset()
    passed: bool = False

    @classmethod
    def at_start(cls, rig: Rig, costs: Costs) -> Belief:
        """The whole rig has just failed its hold."""
        ground = ground_of(rig, costs)
        return cls(ground, ground.start, (0,) * len(rig.joints))

    @property
    def tight(self) -> float:
        """Probability that nothing leaks."""
        return self.weights[0]

    @property
    def done(self) -> bool:
        """The whole rig has held since the last repair, and that nothing leaks is as good as sure."""
        return self.passed and self.tight >= SURE

    @cached_property
    def suspicion(self) -> list[float]:
        """Probability that each joint leaks."""
        return [self.weights[index] + sum([self.weights[place] for place in pairs])
                for index, pairs in enumerate(self.ground.pairs, 1)]

    @cached_property
    def culprits(self) -> list[float]:
        """Probability that nothing is to be mended, and that each joint is to be mended next."""
        return self.ground.culprits(self.weights)

    def chances(self, move: Move) -> tuple[float, ...]:
        """For each leak set the chance that a hold now fails, or that fluid now shows a bubble."""
        return self.ground.chances(move, self.looks[move.mask.bit_length() - 1] if move.kind == "fluid" else 0)

    def open_moves(self) -> list[Move]:
        """Holds and looks that are left: no hold twice before a repair, unless it passed as the whole rig."""
        return [move for move in self.ground.moves
                if (move.what not in self.held if move.kind == "hold"
                    else self.looks[move.mask.bit_length() - 1] < MOST_LOOKS)]

    def after(self, move: Move, shows: bool) -> Belief:
        """What is believed once a move is done: a hold that failed or passed, a bubble or none, a joint mended."""
        if move.kind == "repair":
            index = move.mask.bit_length() - 1
            looks = (*self.looks[:index], 0, *self.looks[index + 1:])
            return replace(self, weights=self.ground.mended(self.weights, index), looks=looks, held=frozenset(),
                           passed=False)
        showing = list(map(mul, self.weights, self.chances(move)))
        left = showing if shows else [all_of - part for all_of, part in zip(self.weights, showing, strict=True)]
        total = sum(left)
        # What nothing explains changes no belief.
        weights = tuple([weight / total for weight in left]) if total > 1e-12 else self.weights
        if move.kind == "fluid":
            index = move.mask.bit_length() - 1
            return replace(self, weights=weights,
                           looks=(*self.looks[:index], self.looks[index] + 1, *self.looks[index + 1:]))
        whole = move.what == WHOLE
        held = self.held if whole and not shows else self.held | {move.what}
        return replace(self, weights=weights, held=held, passed=not shows if whole else self.passed)
