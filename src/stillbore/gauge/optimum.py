"""The exact optimum of a hunt without noise, by dynamic programming over what is still possible.

A state is the set of leak sets that agree with everything seen; a move splits it by what it would show, or mends a
joint. The hunt ends when the only thing left is that nothing leaks. What the practical policy of ``next_move`` costs is
measured against this. With mending on trial there are too many states for more than about eight joints; without it only
a joint that leaks for certain is mended, and the optimum is that of such hunts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

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
    tests = tuple(tests)
    memo: dict[frozenset[tuple[int, int]], float] = {}

    def cost(possible: dict[int, frozenset[int]]) -> float:
        # possible: state as it is now -> the original states it stands for
        if len(possible) == 1 and (repair_cost is None or 0 in possible):
            return 0.0
        key = frozenset((state, origin) for state, origins in possible.items() for origin in origins)
        if key in memo:
            return memo[key]
        total = sum(weights[origin] for origins in possible.values() for origin in origins)
        best = float("inf")
        for price, shows in tests:
            if price >= best:
                continue
            yes = {state: origins for state, origins in possible.items() if shows(state)}
            if not yes or len(yes) == len(possible):
                continue
            no = {state: origins for state, origins in possible.items() if state not in yes}
            share = sum(weights[origin] for origins in yes.values() for origin in origins) / total
            best = min(best, price + share * cost(yes) + (1.0 - share) * cost(no))
        if repair_cost is not None:
            for joint in _to_mend(possible, on_trial):
                if repair_cost >= best:
                    break
                mended: dict[int, frozenset[int]] = {}
                for state, origins in possible.items():
                    mended[state & ~joint] = mended.get(state & ~joint, frozenset()) | origins
                best = min(best, repair_cost + cost(mended))
        memo[key] = best
        return best

    return cost({state: frozenset((state,)) for state in weights})


def _to_mend(possible: Iterable[int], on_trial: bool) -> list[int]:
    """Joints that may be mended: one that leaks in every state, which has to be mended in any case; else on trial each
    that leaks in some."""
    common, some = -1, 0
    for state in possible:
        common &= state
        some |= state
    if common > 0:
        return [common & -common]
    return [1 << index for index in range(some.bit_length()) if some >> index & 1] if on_trial else []


def rig_optimum(rig: Rig, costs: Costs, on_trial: bool = False) -> float:
    """Expected seconds of the best noise-free hunt on a rig whose whole hold has failed, until nothing leaks."""
    return best_expected_cost(prior(rig, costs), [(move.seconds, _shows(move)) for move in moves_of(rig, costs)],
                              costs.repair, on_trial)


def _shows(move: Move) -> Callable[[int], bool]:
    mask = move.mask
    return lambda leaks: bool(leaks & mask)
