"""The exact optimum of a hunt without noise, by dynamic programming over what is still possible.

What is known is the leak sets that agree with everything seen, and the joints mended since; a move splits the sets by
what it would show, or mends a joint. The hunt ends when nothing can leak any more. What the policy of ``next_move``
costs is measured against this. With mending on trial there are too many states for more than about eight joints;
without it only a joint that leaks for certain is mended, and the optimum is that of such hunts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache

from stillbore.gauge.belief import Costs, Move, moves_of, prior
from stillbore.gauge.rig_graph import Rig


def best_expected_cost(weights: Mapping[int, float], tests: Iterable[tuple[float, Callable[[int], bool]]],
                       repair_cost: float | None = None, on_trial: bool = False) -> float:
    """Least expected cost of telling which state is true, or of mending it.

    Args:
        weights: probability of each possible state (for a rig: leak sets as bits).
        tests: (cost, does it show for this state) for each test; noise-free.
        repair_cost: what mending one leak costs; None where telling the state apart is all that is wanted.
        on_trial: whether a joint that only may leak can be mended too.
    Returns:
        the expected cost of the best policy.
    """
    tests, states = tuple(tests), tuple(weights)
    memo: dict[tuple[int, int], float] = {}

    @cache
    def seen(mended: int) -> list[tuple[float, int]]:
        """Cost of each test and, as bits, the states for which it shows once those joints are mended."""
        return [(price, _places(shows(state & ~mended) for state in states)) for price, shows in tests]

    @cache
    def leaking(mended: int) -> list[tuple[int, int]]:
        """Each joint not mended, and the states in which it leaks."""
        joints = [1 << index for index in range(max(states).bit_length()) if not mended >> index & 1]
        return [(joint, _places(bool(state & joint) for state in states)) for joint in joints]

    def cost(possible: int, mended: int) -> float:
        # Times the probability of what is possible, so that the parts of a test just add up.
        if repair_cost is None and possible & (possible - 1) == 0:
            return 0.0
        if (possible, mended) in memo:
            return memo[possible, mended]
        total = sum(weights[state] for place, state in enumerate(states) if possible >> place & 1)
        best = float("inf")
        if repair_cost is not None:
            left = [(joint, where) for joint, where in leaking(mended) if where & possible]
            certain = [(joint, where) for joint, where in left if where & possible == possible]
            if not left:
                return 0.0
            if certain:
                # It has to be mended in any case, and what it leaks into tells nothing before.
                best = memo[possible, mended] = repair_cost * total + cost(possible, mended | certain[0][0])
                return best
        for price, where in seen(mended):
            if price * total < best and 0 != where & possible != possible:
                so_far = price * total + cost(possible & where, mended)
                if so_far < best:
                    best = min(best, so_far + cost(possible & ~where, mended))
        if repair_cost is not None and on_trial:
            for joint, _ in left:
                if repair_cost * total < best:
                    best = min(best, repair_cost * total + cost(possible, mended | joint))
        memo[possible, mended] = best
        return best

    return cost((1 << len(states)) - 1, 0) / sum(weights.values())


def _places(truths: Iterable[bool]) -> int:
    """The places of what is true, as bits."""
    return sum(1 << place for place, true in enumerate(truths) if true)


def rig_optimum(rig: Rig, costs: Costs, on_trial: bool = False) -> float:
    """Expected seconds of the best noise-free hunt on a rig whose whole hold has failed, until nothing leaks."""
    return best_expected_cost(prior(rig, costs), [(move.seconds, _shows(move)) for move in moves_of(rig, costs)],
                              costs.repair, on_trial)


def _shows(move: Move) -> Callable[[int], bool]:
    mask = move.mask
    return lambda leaks: bool(leaks & mask)
