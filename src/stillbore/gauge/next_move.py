"""The next move of a leak hunt: the one after which the rig is expected to be proved tight soonest, two moves ahead.

How long a belief still takes is reckoned as the doubt of which joint to mend, at the best pace at which a move tells
now, and mending and proving for every leak. A repair is weighed like any other move: it takes its time, and takes away
the leak if there is one. So a joint may be mended on trial below the suspicion of the rule set, at which it is mended
without asking more, where trying is quicker. Measured against the exact optimum in ``studies/locate.md``.
"""

from __future__ import annotations

from math import log2
from operator import mul

from stillbore.gauge.belief import WHOLE, Belief, Move

AHEAD = 2  # moves looked ahead
WIDTH = 3  # moves followed further, of those that look best at first; more gained nothing, nor did a third move ahead
TELLS = 1e-4  # bits; a move that tells less is not worth a thought


def next_move(belief: Belief) -> Move:
    """The next move."""
    return foresee(belief, pace(belief), AHEAD)[1]


def expected_seconds(belief: Belief) -> float:
    """About how long the hunt still takes if the moves are taken as told [s]."""
    return 0.0 if belief.done else foresee(belief, pace(belief), AHEAD)[0]


def foresee(belief: Belief, seconds_per_bit: float, ahead: int) -> tuple[float, Move]:
    """Least expected seconds until the rig is proved, and the move that begins it, so many moves ahead."""
    rated = sorted(_rated(belief, seconds_per_bit), key=lambda pair: pair[0])
    if ahead == 1 or len(rated) == 1:
        return rated[0]
    followed = [(move.seconds + sum(chance * (0.0 if after.done else foresee(after, seconds_per_bit, ahead - 1)[0])
                                    for chance, after in _outcomes(belief, move)), move) for _, move in rated[:WIDTH]]
    return min(followed, key=lambda pair: pair[0])


def _outcomes(belief: Belief, move: Move) -> list[tuple[float, Belief]]:
    """What a move may lead to, each with its chance."""
    if move.kind == "repair":
        return [(1.0, belief.after(move, True))]
    shows = sum(map(mul, belief.weights, belief.chances(move)))
    return [(chance, belief.after(move, seen)) for chance, seen in ((shows, True), (1.0 - shows, False))
            if chance > 1e-9]


def _rated(belief: Belief, seconds_per_bit: float) -> list[tuple[float, Move]]:
    """Moves worth a thought, each with the seconds that are expected if it is done next."""
    costs, suspicion = belief.ground.costs, belief.suspicion
    likeliest = max(range(len(suspicion)), key=lambda index: suspicion[index])
    repair = Move("repair", belief.ground.rig.joints[likeliest].name, costs.repair, 1 << likeliest)
    rated = [(costs.repair + cost_to_go(belief.after(repair, True), seconds_per_bit), repair)]
    if suspicion[likeliest] >= costs.repair_above:
        return rated
    now = cost_to_go(belief, seconds_per_bit)
    for move in belief.open_moves():
        told, ended = gain(belief, move), _ended(belief, move, seconds_per_bit)
        if told > TELLS or ended:
            rated.append((move.seconds + now - seconds_per_bit * told - ended, move))
    return rated


def _ended(belief: Belief, move: Move, seconds_per_bit: float) -> float:
    """Seconds of the cost to go that are expected to fall away because the hunt is over if the move shows nothing."""
    if not belief.passed and move.what != WHOLE:
        return 0.0
    after = belief.after(move, False)
    silent = 1.0 - sum(map(mul, belief.weights, belief.chances(move)))
    return silent * cost_to_go(after, seconds_per_bit) if after.done else 0.0


def cost_to_go(belief: Belief, seconds_per_bit: float) -> float:
    """Seconds until the rig is proved, roughly: doubt, and mending and proving for every leak, and proving once."""
    costs = belief.ground.costs
    leaks = sum(belief.suspicion)
    return (seconds_per_bit * sum(map(_plogp, belief.culprits)) + leaks * (costs.repair + costs.hold_whole)
            + costs.hold_whole)


def pace(belief: Belief) -> float:
    """Seconds that a bit costs at the best move now; never more than trying: a joint that leaks as likely as not,
    mended and proved, tells one bit."""
    rate = max((gain(belief, move) / move.seconds for move in belief.open_moves()), default=0.0)
    costs = belief.ground.costs
    most = costs.repair + costs.hold_whole
    return min(1.0 / rate, most) if rate > 0.0 else most


def gain(belief: Belief, move: Move) -> float:
    """Bits that a move is expected to tell of which joint to mend next: the doubt of what it shows and the doubt of
    the culprit, less the doubt of both together."""
    showing = list(map(mul, belief.weights, belief.chances(move)))
    shows = sum(showing)
    bits = _plogp(shows) + _plogp(1.0 - shows)
    for before, after in zip(belief.culprits, belief.ground.culprits(showing), strict=True):
        bits += _plogp(before) - _plogp(after) - _plogp(before - after)
    return bits


def _plogp(weight: float) -> float:
    return -weight * log2(weight) if weight > 0.0 else 0.0
