"""What the appliances take."""

from math import sqrt

from stillbore.physics.refusals import OK, OUT_OF_RANGE, first_refusal, not_negative, positive


def gas_demand_refusal(heat_input: float, calorific_value: float) -> int:
    return first_refusal((not_negative(heat_input), positive(calorific_value)))


def gas_demand(heat_input: float, calorific_value: float) -> float:
    """Flow of gas for a heat input.

    Formula:  Q = P / H

    Args:
        heat_input: heat input, gross or net, P [W], rises
        calorific_value: calorific value by volume on the same basis, at the conditions of the flow, H [J/m3], falls
    Returns:
        Q: flow [m3/s]
    Source: ENERGY-BALANCE
    """
    return heat_input / calorific_value


def diversity_refusal(dwellings: float, floor: float) -> int:
    code = first_refusal((positive(dwellings), not_negative(floor)))
    if code != OK:
        return code
    return OK if dwellings >= 1.0 and floor <= 1.0 else OUT_OF_RANGE


def diversity(dwellings: float, floor: float) -> float:
    """Share of the full load of several dwellings that is to be reckoned with at once.

    Formula:  D = f + (1 - f) / sqrt(N)

    Args:
        dwellings: number of dwellings, N [-], falls
        floor: share that is left for very many, f [-], rises
    Returns:
        D: share; one for a single dwelling [-]
    Source: COMMON-PRACTICE
    Notes: A placeholder of the trade with f = 0.5; the operator's own curve ranks above it.
    """
    return floor + (1.0 - floor) / sqrt(dwellings)


def diversified_demand_refusal(demand: float, share: float) -> int:
    return first_refusal((not_negative(demand), not_negative(share)))


def diversified_demand(demand: float, share: float) -> float:
    """Flow of several dwellings that is to be reckoned with at once.

    Formula:  Q = q D

    Args:
        demand: full load of all dwellings together, q [m3/s], rises
        share: share of it at once, D [-], rises
    Returns:
        Q: flow of all together [m3/s]
    Source: STILLBORE-DEFINITION
    """
    return demand * share


def joined_demand_refusal(demand: float, further_demand: float) -> int:
    return first_refusal((not_negative(demand), not_negative(further_demand)))


def joined_demand(demand: float, further_demand: float) -> float:
    """Flow of two consumers together, without diversity.

    Formula:  Q = q_1 + q_2

    Args:
        demand: flow of one, q_1 [m3/s], rises
        further_demand: flow of the other, q_2 [m3/s], rises
    Returns:
        Q: both together [m3/s]
    Source: STILLBORE-DEFINITION
    """
    return demand + further_demand
