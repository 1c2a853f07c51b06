"""Flow in a pipe at low pressure, where the gas may be taken as incompressible: friction, drop, capacity, open end.

Flows are volumes a second of the gas as it flows, at the density that is passed in. With a given pressure drop
Re sqrt(f) is known, so Colebrook gives the flow directly and capacity needs no iteration; only the friction factor of
a given flow and the open end need the solver. Roughness and bore are those of the pipe as it is: nothing is tuned.
"""

from math import log10, pi, sqrt

from stillbore.physics.refusals import NOT_FINITE, OK, OUT_OF_RANGE, finite, first_refusal, not_negative, positive
from stillbore.physics.roots import solve

LAMINAR_END = 2000.0  # Reynolds number below which flow is taken as laminar; above it the larger drop is taken.
REYNOLDS_MOST = 1e8  # end of the Moody chart
ROUGHNESS_MOST = 0.05  # of the bore: end of the Moody chart


def _within(value: float, low: float, high: float) -> int:
    if finite(value) != OK:
        return NOT_FINITE
    return OK if low <= value <= high else OUT_OF_RANGE


def pipe_and_gas_refusal(length: float, bore: float, roughness: float, density: float, viscosity: float) -> int:
    """What the functions on a length of pipe share: positive values, of a size that a pipe and a gas can have."""
    code = first_refusal((positive(length), positive(bore), not_negative(roughness), positive(density),
                          positive(viscosity)))
    if code == OK:
        code = first_refusal((_within(length, 1e-3, 1e6), _within(bore, 1e-4, 10.0), _within(density, 1e-3, 1e4),
                              _within(viscosity, 1e-7, 10.0)))
    if code == OK and not (roughness <= ROUGHNESS_MOST * bore):
        code = OUT_OF_RANGE
    return code


def reynolds_refusal(density: float, velocity: float, bore: float, viscosity: float) -> int:
    code = first_refusal((positive(density), not_negative(velocity), positive(bore), positive(viscosity)))
    if code == OK:
        code = first_refusal((_within(density, 1e-3, 1e4), _within(velocity, 0.0, 1e5), _within(bore, 1e-4, 10.0),
                              _within(viscosity, 1e-7, 10.0)))
    return code


def reynolds(density: float, velocity: float, bore: float, viscosity: float) -> float:
    """Reynolds number of flow in a pipe: below 2000 laminar, above 4000 turbulent, between them either.

    Formula:  Re = rho v d / mu

    Args:
        density: density of the gas as it flows, rho [kg/m3], rises
        velocity: mean velocity, v [m/s], rises
        bore: inside diameter, d [m], rises
        viscosity: dynamic viscosity, mu [Pa s], falls
    Returns:
        Re: Reynolds number [-]
    Source: DARCY-WEISBACH
    """
    return density * velocity * bore / viscosity


def _colebrook_residual(inverse_root: float, reynolds_number: float, relative_roughness: float) -> float:
    return inverse_root + 2.0 * log10(relative_roughness / 3.7 + 2.51 * inverse_root / reynolds_number)


def friction_factor_refusal(reynolds_number: float, relative_roughness: float) -> int:
    code = first_refusal((positive(reynolds_number), not_negative(relative_roughness)))
    if code == OK:
        code = first_refusal((_within(reynolds_number, 1e-9, REYNOLDS_MOST),
                              _within(relative_roughness, 0.0, ROUGHNESS_MOST)))
    return code


def friction_factor(reynolds_number: float, relative_roughness: float) -> float:
    """Darcy friction factor: laminar below Reynolds 2000, Colebrook above.

    Formula:  f = 64 / Re (Re <= 2000); 1/sqrt(f) = -2 log10(e/(3.7 d) + 2.51/(Re sqrt(f))) (Re > 2000)

    Args:
        reynolds_number: Reynolds number, Re [-], turns
        relative_roughness: roughness over bore, e/d [-], rises
    Returns:
        f: Darcy friction factor, four times the Fanning factor [-]
    Source: COLEBROOK-1939, DARCY-WEISBACH
    Notes: Between 2000 and 4000 the flow may be either; the larger factor is taken, which there is always Colebrook's,
        so the factor steps up at 2000. Roughness up to a twentieth of the bore and Reynolds numbers up to 1e8, as on
        the Moody chart. Solved on a bracket, not by one of the explicit approximations.
    """
    if reynolds_number <= LAMINAR_END:
        return 64.0 / reynolds_number
    inverse_root = solve(_colebrook_residual, 1.0, 60.0, (reynolds_number, relative_roughness))
    return 1.0 / (inverse_root * inverse_root)


def _reynolds_at_drop(pressure_drop: float, length: float, bore: float, roughness: float, density: float,
                      viscosity: float) -> float:
    """Re from Re sqrt(f) = d sqrt(2 d dp rho / L) / mu, which a given drop fixes."""
    if not (pressure_drop > 0.0):
        return 0.0
    reynolds_root_f = bore * sqrt(2.0 * bore * pressure_drop * density / length) / viscosity
    laminar = reynolds_root_f * reynolds_root_f / 64.0
    turbulent = -2.0 * reynolds_root_f * log10(roughness / (3.7 * bore) + 2.51 / reynolds_root_f)
    # Drops between the laminar and the Colebrook one at Re = 2000 hold the flow at 2000.
    return min(laminar, max(LAMINAR_END, turbulent))


def capacity_refusal(pressure_drop: float, length: float, bore: float, roughness: float, density: float,
                     viscosity: float) -> int:
    code = first_refusal((positive(pressure_drop),
                          pipe_and_gas_refusal(length, bore, roughness, density, viscosity),
                          _within(pressure_drop, 1e-12, 1e9)))
    if code == OK and not (_reynolds_at_drop(pressure_drop, length, bore, roughness, density, viscosity)
                           <= REYNOLDS_MOST):
        code = OUT_OF_RANGE
    return code


def capacity(pressure_drop: float, length: float, bore: float, roughness: float, density: float,
             viscosity: float) -> float:
    """Flow that a given pressure drop drives through a straight pipe without fittings.

    Formula:  v = -2 sqrt(2 d dp/(rho L)) log10(e/(3.7 d) + 2.51 mu/(d sqrt(2 d dp rho/L))); laminar d^2 dp/(32 mu L)

    Args:
        pressure_drop: friction drop over the length, dp [Pa], rises
        length: length of pipe, L [m], falls
        bore: inside diameter, d [m], rises
        roughness: roughness of the wall, e [m], falls
        density: density of the gas as it flows, rho [kg/m3], falls
        viscosity: dynamic viscosity, mu [Pa s], turns
    Returns:
        Q: flow, at the density of the gas as it flows [m3/s]
    Source: COLEBROOK-1939, DARCY-WEISBACH, HAGEN-POISEUILLE
    Notes: Exact inverse of friction_factor: Re = min(laminar, max(2000, Colebrook)). In the critical zone that is the
        larger drop, so the smaller flow; drops that lie within the step at 2000 give the flow at 2000. Incompressible:
        keep the drop below about a tenth of the absolute pressure. No fittings; see pressure_drop.
    """
    reynolds_number = _reynolds_at_drop(pressure_drop, length, bore, roughness, density, viscosity)
    return 0.25 * pi * bore * viscosity / density * reynolds_number


def _velocity(flow: float, bore: float) -> float:
    return flow / (0.25 * pi * bore * bore)


def pressure_drop_refusal(flow: float, length: float, bore: float, roughness: float, density: float, viscosity: float,
                          loss_coefficient: float) -> int:
    code = first_refusal((not_negative(flow), pipe_and_gas_refusal(length, bore, roughness, density, viscosity),
                          not_negative(loss_coefficient), _within(flow, 0.0, 1e6),
                          _within(loss_coefficient, 0.0, 1e6)))
    if code == OK and not (density * _velocity(flow, bore) * bore / viscosity <= REYNOLDS_MOST):
        code = OUT_OF_RANGE
    return code


def pressure_drop(flow: float, length: float, bore: float, roughness: float, density: float, viscosity: float,
                  loss_coefficient: float) -> float:
    """Pressure lost in a pipe with its fittings at a given flow.

    Formula:  dp = (f L/d + K) rho v^2/2, v = 4 Q/(pi d^2)

    Args:
        flow: flow, at the density of the gas as it flows, Q [m3/s], rises
        length: length of pipe, L [m], rises
        bore: inside diameter, d [m], falls
        roughness: roughness of the wall, e [m], rises
        density: density of the gas as it flows, rho [kg/m3], rises
        viscosity: dynamic viscosity, mu [Pa s], turns
        loss_coefficient: sum of the K of fittings, inlet and outlet, referred to v [-], rises
    Returns:
        dp: pressure drop [Pa]
    Source: DARCY-WEISBACH, COLEBROOK-1939
    Notes: Incompressible: holds while the drop is below about a tenth of the absolute pressure. Height is left out:
        natural gas gains about 0.05 mbar a metre on the air as it rises. The drop steps up at Reynolds 2000, so it can
        fall with viscosity there.
    """
    if not (flow > 0.0):
        return 0.0
    velocity = _velocity(flow, bore)
    factor = friction_factor(max(1e-9, density * velocity * bore / viscosity), roughness / bore)
    return (factor * length / bore + loss_coefficient) * 0.5 * density * velocity * velocity


def _open_end_residual(friction: float, gauge_pressure: float, length: float, bore: float, roughness: float,
                       density: float, viscosity: float, loss_coefficient: float) -> float:
    velocity = _reynolds_at_drop(friction, length, bore, roughness, density, viscosity) * viscosity / (density * bore)
    return friction + (loss_coefficient + 1.0) * 0.5 * density * velocity * velocity - gauge_pressure


def open_end_flow_refusal(gauge_pressure: float, length: float, bore: float, roughness: float, density: float,
                          viscosity: float, loss_coefficient: float) -> int:
    code = first_refusal((positive(gauge_pressure), pipe_and_gas_refusal(length, bore, roughness, density, viscosity),
                          not_negative(loss_coefficient), _within(loss_coefficient, 0.0, 1e6),
                          _within(gauge_pressure, 1e-6, 10000.0)))
    if code == OK and not (_reynolds_at_drop(gauge_pressure, length, bore, roughness, density, viscosity)
                           <= REYNOLDS_MOST):
        code = OUT_OF_RANGE
    return code


def open_end_flow(gauge_pressure: float, length: float, bore: float, roughness: float, density: float,
                  viscosity: float, loss_coefficient: float) -> float:
    """Flow out of the open end of a service that stands under low pressure at its main.

    Formula:  p = (f L/d + K + 1) rho v^2/2

    Args:
        gauge_pressure: pressure in the main above the air at the open end, p [Pa gauge], rises
        length: length of pipe between main and open end, L [m], falls
        bore: inside diameter, d [m], rises
        roughness: roughness of the wall, e [m], falls
        density: density of the gas as it flows, rho [kg/m3], falls
        viscosity: dynamic viscosity, mu [Pa s], turns
        loss_coefficient: sum of the K of branch and fittings, without the outlet, referred to v [-], falls
    Returns:
        Q: flow out of the end, at the density of the gas as it flows [m3/s]
    Source: DARCY-WEISBACH, COLEBROOK-1939
    Notes: Incompressible, and refused above 100 mbar. At 75 mbar the mass flow lies within 3 % of the compressible
        one (fanno.open_end_mass_flow), whichever density between main and air is passed in. Medium pressure is that
        other function's. The main is taken as held up. What the bracketing solver seeks is the friction drop, from
        which the flow has a closed form.
    """
    friction = solve(_open_end_residual, 0.0, gauge_pressure,
                      (gauge_pressure, length, bore, roughness, density, viscosity, loss_coefficient))
    return capacity(friction, length, bore, roughness, density, viscosity)
