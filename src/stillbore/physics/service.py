"""A whole service: its lengths one after the other, its fittings, and the largest flow it carries within a drop."""

from math import pi

from stillbore.physics.flow import capacity, capacity_refusal, pressure_drop_refusal
from stillbore.physics.flow import pressure_drop as drop_at
from stillbore.physics.refusals import NEGATIVE, OK, first_refusal, not_negative, positive
from stillbore.physics.roots import solve


def flow_at_density_refusal(flow: float, density: float, further_density: float) -> int:
    return first_refusal((not_negative(flow), positive(density), positive(further_density)))


def flow_at_density(flow: float, density: float, further_density: float) -> float:
    """The same flow of mass as a volume at another density: from the meter's conditions to those of the pipe, or back.

    Formula:  Q_2 = Q_1 rho_1 / rho_2

    Args:
        flow: flow at the first density, Q_1 [m3/s], rises
        density: the first density, rho_1 [kg/m3], rises
        further_density: the density wanted, rho_2 [kg/m3], falls
    Returns:
        Q: flow at the density wanted [m3/s]
    Source: FLOW-CONTINUITY
    """
    return flow * density / further_density


def joined_loss_refusal(loss_coefficient: float, further_loss_coefficient: float) -> int:
    return first_refusal((not_negative(loss_coefficient), not_negative(further_loss_coefficient)))


def joined_loss(loss_coefficient: float, further_loss_coefficient: float) -> float:
    """Losses of two fittings of one bore, one after the other.

    Formula:  K = K_1 + K_2

    Args:
        loss_coefficient: K of one, K_1 [-], rises
        further_loss_coefficient: K of the other, K_2 [-], rises
    Returns:
        K: both together [-]
    Source: STILLBORE-DEFINITION
    Notes: Each stands apart; fittings close together lose a little less.
    """
    return loss_coefficient + further_loss_coefficient


def joined_drop_refusal(pressure_drop: float, further_pressure_drop: float) -> int:
    return first_refusal((not_negative(pressure_drop), not_negative(further_pressure_drop)))


def joined_drop(pressure_drop: float, further_pressure_drop: float) -> float:
    """Drop of two lengths of pipe one after the other.

    Formula:  dp = dp_1 + dp_2

    Args:
        pressure_drop: drop of one, dp_1 [Pa], rises
        further_pressure_drop: drop of the other, dp_2 [Pa], rises
    Returns:
        dp: both together [Pa]
    Source: STILLBORE-DEFINITION
    Notes: Without the loss of the step itself, which is less than the velocity head of the narrower pipe.
    """
    return pressure_drop + further_pressure_drop


def remaining_length_refusal(length: float, taken: float) -> int:
    code = first_refusal((not_negative(length), not_negative(taken)))
    if code != OK:
        return code
    return OK if length >= taken else NEGATIVE


def remaining_length(length: float, taken: float) -> float:
    """What is left of a length when part of it is of another kind.

    Formula:  L = L_1 - L_2

    Args:
        length: the whole, L_1 [m], rises
        taken: the part of another kind, L_2 [m], falls
    Returns:
        L: the rest [m]
    Source: STILLBORE-DEFINITION
    """
    return length - taken


def _fittings_residual(friction: float, pressure_drop: float, length: float, bore: float, roughness: float,
                       density: float, viscosity: float, loss_coefficient: float) -> float:
    if not (friction > 0.0):
        return -pressure_drop
    velocity = capacity(friction, length, bore, roughness, density, viscosity) / (0.25 * pi * bore * bore)
    return friction + loss_coefficient * 0.5 * density * velocity * velocity - pressure_drop


def largest_flow_refusal(pressure_drop: float, length: float, bore: float, roughness: float, density: float,
                         viscosity: float, loss_coefficient: float) -> int:
    return first_refusal((capacity_refusal(pressure_drop, length, bore, roughness, density, viscosity),
                          pressure_drop_refusal(0.0, length, bore, roughness, density, viscosity, loss_coefficient)))


def largest_flow(pressure_drop: float, length: float, bore: float, roughness: float, density: float,
                 viscosity: float, loss_coefficient: float) -> float:
    """Flow that a pipe with its fittings carries within a pressure drop.

    Formula:  dp = (f L/d + K) rho v^2/2, solved for Q = v pi d^2/4

    Args:
        pressure_drop: drop that may be used, dp [Pa], rises
        length: length of pipe, L [m], falls
        bore: inside diameter, d [m], rises
        roughness: roughness of the wall, e [m], falls
        density: density of the gas as it flows, rho [kg/m3], falls
        viscosity: dynamic viscosity, mu [Pa s], turns
        loss_coefficient: sum of the K of fittings, inlet and outlet, referred to v [-], falls
    Returns:
        Q: flow, at the density of the gas as it flows [m3/s]
    Source: DARCY-WEISBACH, COLEBROOK-1939
    Notes: Without fittings it is the closed form of capacity. With them the bracketing solver seeks the part of the
        drop that is friction.
    """
    if not (loss_coefficient > 0.0):
        return capacity(pressure_drop, length, bore, roughness, density, viscosity)
    friction = solve(_fittings_residual, 0.0, pressure_drop,
                     (pressure_drop, length, bore, roughness, density, viscosity, loss_coefficient))
    return capacity(friction, length, bore, roughness, density, viscosity)


def _stepped_residual(flow: float, pressure_drop: float, length: float, bore: float, further_length: float,
                      further_bore: float, roughness: float, density: float, viscosity: float,
                      loss_coefficient: float) -> float:
    return (drop_at(flow, length, bore, roughness, density, viscosity, loss_coefficient)
            + drop_at(flow, further_length, further_bore, roughness, density, viscosity, 0.0) - pressure_drop)


def largest_flow_stepped_refusal(pressure_drop: float, length: float, bore: float, further_length: float,
                                 further_bore: float, roughness: float, density: float, viscosity: float,
                                 loss_coefficient: float) -> int:
    return first_refusal((
        largest_flow_refusal(pressure_drop, length, bore, roughness, density, viscosity, loss_coefficient),
        largest_flow_refusal(pressure_drop, further_length, further_bore, roughness, density, viscosity, 0.0)))


def largest_flow_stepped(pressure_drop: float, length: float, bore: float, further_length: float, further_bore: float,
                         roughness: float, density: float, viscosity: float, loss_coefficient: float) -> float:
    """Flow that a service of two sizes, one after the other, carries within a pressure drop.

    Formula:  dp = (f_1 L_1/d_1 + K) rho v_1^2/2 + f_2 L_2/d_2 rho v_2^2/2, v_1 d_1^2 = v_2 d_2^2, solved for Q

    Args:
        pressure_drop: drop that may be used, dp [Pa], rises
        length: length of the first size, L_1 [m], falls
        bore: its inside diameter, d_1 [m], rises
        further_length: length of the second size, L_2 [m], falls
        further_bore: its inside diameter, d_2 [m], rises
        roughness: roughness of both walls, e [m], falls
        density: density of the gas as it flows, rho [kg/m3], falls
        viscosity: dynamic viscosity, mu [Pa s], turns
        loss_coefficient: sum of the K of fittings, referred to the first size [-], falls
    Returns:
        Q: flow, at the density of the gas as it flows [m3/s]
    Source: DARCY-WEISBACH, COLEBROOK-1939
    Notes: Solved on a bracket up to what the narrower size alone carries. Each length has its own friction factor.
    """
    most = min(capacity(pressure_drop, length, bore, roughness, density, viscosity),
               capacity(pressure_drop, further_length, further_bore, roughness, density, viscosity))
    return solve(_stepped_residual, 0.0, most, (pressure_drop, length, bore, further_length, further_bore, roughness,
                                                density, viscosity, loss_coefficient))
