"""Gas out of the open end of a pipe when it may not be taken as incompressible: adiabatic flow with friction (Fanno).

For the question that must be asked before any drilling: and if this service were medium pressure? At 2 bar the gas
leaves a 1 inch service at half the speed of sound (20 m of it) to nearly all of it (2 m); from about 4 bar on most
services are choked at the open end. The low-pressure formula holds for none of them.
"""

from math import log, pi, sqrt

from stillbore.physics.constants import R_MOLAR
from stillbore.physics.flow import friction_factor, pipe_and_gas_refusal
from stillbore.physics.orifice import gas_refusal, heat_ratio_refusal
from stillbore.physics.refusals import NO_ROOT, OK, OUT_OF_RANGE, first_refusal, not_negative, positive
from stillbore.physics.roots import holds_root, solve

STILL = 1e-15  # a Mach number below that of any flow that is let through
LOSS_MOST = 1e6


def friction_to_choke_refusal(mach: float, heat_ratio: float) -> int:
    code = first_refusal((positive(mach), heat_ratio_refusal(heat_ratio)))
    if code == OK and not (STILL <= mach <= 1.0):
        code = OUT_OF_RANGE
    return code


def friction_to_choke(mach: float, heat_ratio: float) -> float:
    """Friction, as f L/d, that brings a gas entering a pipe at a given Mach number just to the speed of sound.

    Formula:  f L*/d = (1 - M^2)/(k M^2) + (k + 1)/(2 k) ln((k + 1) M^2/(2 + (k - 1) M^2))

    Args:
        mach: Mach number at the inlet, M [-], falls
        heat_ratio: cp over cv, k [-], falls
    Returns:
        friction: f L*/d up to choking, f the Darcy factor [-]
    Source: FANNO-FLOW
    """
    square = mach * mach
    return ((1.0 - square) / (heat_ratio * square) + (heat_ratio + 1.0) / (2.0 * heat_ratio)
            * log((heat_ratio + 1.0) * square / (2.0 + (heat_ratio - 1.0) * square)))


def _mass_flux(mach: float, pressure: float, sound: float, heat_ratio: float) -> float:
    """Mass flow per area at a Mach number, fed from rest without loss; sound is its speed at rest."""
    warmth = 1.0 + 0.5 * (heat_ratio - 1.0) * mach * mach
    return heat_ratio * pressure * mach / sound * warmth**(-0.5 * (heat_ratio + 1.0) / (heat_ratio - 1.0))


def _exit_mach(flux: float, pressure_down: float, sound: float, heat_ratio: float) -> float:
    """Mach number at an end that stands at the outside pressure, or 1 where the flow is too great for that."""
    # k p M sqrt(1 + (k-1)/2 M^2) / sound = flux, a quadratic in M^2, written so that nothing cancels at low speed
    still = (flux * sound / (heat_ratio * pressure_down))**2
    return min(1.0, sqrt(2.0 * still / (1.0 + sqrt(1.0 + 2.0 * (heat_ratio - 1.0) * still))))


def _spare_friction(mach: float, pressure_up: float, pressure_down: float, sound: float, heat_ratio: float,
                    length: float, bore: float, roughness: float, viscosity: float, loss_coefficient: float) -> float:
    """Friction that the flow between inlet and outlet state could overcome, less the friction there is."""
    flux = _mass_flux(mach, pressure_up, sound, heat_ratio)
    end = _exit_mach(flux, pressure_down, sound, heat_ratio)
    factor = friction_factor(flux * bore / viscosity, roughness / bore)
    return (friction_to_choke(mach, heat_ratio) - friction_to_choke(end, heat_ratio)
            - factor * length / bore - loss_coefficient)


def _speed_of_sound(temperature: float, molar_mass: float, compressibility: float, heat_ratio: float) -> float:
    return sqrt(heat_ratio * compressibility * R_MOLAR * temperature / molar_mass)


def open_end_mass_flow_refusal(pressure_up: float, pressure_down: float, temperature: float, molar_mass: float,
                               compressibility: float, heat_ratio: float, length: float, bore: float,
                               roughness: float, viscosity: float, loss_coefficient: float) -> int:
    code = first_refusal((
        gas_refusal(pressure_up, pressure_down, temperature, molar_mass, compressibility, heat_ratio),
        pipe_and_gas_refusal(length, bore, roughness, 1.0, viscosity), not_negative(loss_coefficient)))
    if code == OK and not (loss_coefficient <= LOSS_MOST and pressure_down <= pressure_up * (1.0 - 1e-6)):
        code = OUT_OF_RANGE
    if code == OK and not holds_root(
            _spare_friction, STILL, 1.0,
            (pressure_up, pressure_down, _speed_of_sound(temperature, molar_mass, compressibility, heat_ratio),
             heat_ratio, length, bore, roughness, viscosity, loss_coefficient)):
        code = NO_ROOT
    return code


def open_end_mass_flow(pressure_up: float, pressure_down: float, temperature: float, molar_mass: float,
                       compressibility: float, heat_ratio: float, length: float, bore: float, roughness: float,
                       viscosity: float, loss_coefficient: float) -> float:
    """Mass flow out of the open end of a service, at any pressure: choked at the end, or not.

    Formula:  f L/d + K = F(M_1) - F(M_2), W = A k p_0 M_1/c_0 (1 + (k-1)/2 M_1^2)^(-(k+1)/(2(k-1)))

    Args:
        pressure_up: pressure in the main, at rest, p_0 [Pa abs], rises
        pressure_down: pressure of the air at the open end [Pa abs], falls
        temperature: temperature in the main [K], falls
        molar_mass: molar mass [kg/mol], rises
        compressibility: real-gas factor, one for the whole pipe [-], falls
        heat_ratio: cp over cv, k [-], rises
        length: length of pipe between main and open end, L [m], falls
        bore: inside diameter, d [m], rises
        roughness: roughness of the wall [m], falls
        viscosity: dynamic viscosity [Pa s], turns
        loss_coefficient: sum of the K of branch and fittings, without the outlet [-], falls
    Returns:
        W: mass flow out of the end [kg/s]
    Source: FANNO-FLOW, COLEBROOK-1939
    Notes: F is f L*/d of friction_to_choke, c_0 the speed of sound at rest. The gas speeds up without loss into the
        pipe, flows there with friction and no heat from the wall; M_2 is the Mach number at which the end stands at the
        pressure outside, or 1. Fittings count as friction spread over the pipe, which is fair at the inlet. The main is
        taken as held up; a small main is not for more than seconds. Needs a difference of a millionth of the pressure.
        Isothermal flow, the other textbook limit, is within 6 % of it for services at 2 bar.
    """
    sound = _speed_of_sound(temperature, molar_mass, compressibility, heat_ratio)
    mach = solve(_spare_friction, STILL, 1.0, (pressure_up, pressure_down, sound, heat_ratio, length, bore, roughness,
                                                viscosity, loss_coefficient))
    return 0.25 * pi * bore * bore * _mass_flux(mach, pressure_up, sound, heat_ratio)
