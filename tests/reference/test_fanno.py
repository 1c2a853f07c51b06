"""Compressible flow out of an open end, against quadrature, a march down the pipe, and isothermal flow."""

import random
from math import isclose, pi, sqrt

from fluids.compressible import P_isothermal_critical_flow, isothermal_gas
from fluids.friction import Colebrook
from scipy.integrate import quad, solve_ivp

from stillbore.physics import fanno, flow

GAS_CONSTANT = 8.31446261815324


def darcy(reynolds_number, relative_roughness):
    return 64 / reynolds_number if reynolds_number <= 2000 else Colebrook(reynolds_number, relative_roughness)


def test_friction_to_choke_is_the_integral_of_its_equation():
    draw = random.Random(1)
    for _ in range(100):
        mach, k = draw.uniform(0.05, 0.99), draw.uniform(1.05, 1.67)
        integral, _ = quad(lambda m, k=k: 2 * (1 - m * m) / (k * m**3 * (1 + (k - 1) / 2 * m * m)), mach, 1,
                           epsabs=0, epsrel=1e-12)
        assert isclose(fanno.friction_to_choke(mach=mach, heat_ratio=k), integral, rel_tol=1e-8)


def service(draw, gauge):
    bore = draw.uniform(0.011, 0.06)
    return {"pressure_up": 101325.0 + gauge, "pressure_down": 101325.0, "temperature": draw.uniform(270, 300),
            "molar_mass": draw.uniform(0.0155, 0.020), "compressibility": draw.uniform(0.98, 1.0),
            "heat_ratio": draw.uniform(1.25, 1.35), "length": draw.uniform(2, 40), "bore": bore,
            "roughness": draw.uniform(1e-6, 5e-4), "viscosity": draw.uniform(1e-5, 1.2e-5),
            "loss_coefficient": draw.uniform(0, 4)}


def march(given, mass_flow):
    """Static pressure and squared Mach number at the open end, and friction to spare, by marching from the main.

    The pipe inlet is found by falling from rest without loss; K is spread over the pipe as extra friction.
    """
    k, r = given["heat_ratio"], given["compressibility"] * GAS_CONSTANT / given["molar_mass"]
    heat_capacity = k * r / (k - 1)
    flux = mass_flow / (pi / 4 * given["bore"] ** 2)
    friction = (darcy(flux * given["bore"] / given["viscosity"], given["roughness"] / given["bore"])
                * given["length"] / given["bore"] + given["loss_coefficient"])

    def temperature_at(velocity):
        return given["temperature"] - velocity**2 / (2 * heat_capacity)

    low, high = 0.0, sqrt(2 * heat_capacity * given["temperature"] * (k - 1) / (k + 1))
    for _ in range(200):
        velocity = (low + high) / 2
        pressure = given["pressure_up"] * (temperature_at(velocity) / given["temperature"]) ** (k / (k - 1))
        low, high = (velocity, high) if pressure / (r * temperature_at(velocity)) * velocity < flux else (low, velocity)

    # flux dv = -dp - tau; p = flux r T(v)/v. In velocity as the unknown, along the friction s = f L/d + K.
    def per_velocity(velocity, _):
        temperature = temperature_at(velocity)
        dp_dv = flux * r * (-1 / heat_capacity - temperature / velocity**2)
        return (-dp_dv - flux) / (flux * velocity / 2)

    sonic = high_end = sqrt(2 * heat_capacity * given["temperature"] * (k - 1) / (k + 1))
    done = solve_ivp(per_velocity, (velocity, sonic), [0.0], method="DOP853", rtol=1e-11, atol=1e-13, dense_output=True)
    if done.y[0, -1] > friction:
        low, high_end = velocity, sonic
        for _ in range(200):
            middle = (low + high_end) / 2
            low, high_end = (middle, high_end) if done.sol(middle)[0] < friction else (low, middle)
    end = high_end
    return flux * r * temperature_at(end) / end, end**2 / (k * r * temperature_at(end)), done.y[0, -1] - friction


def test_marching_down_the_pipe_ends_at_the_outside_pressure():
    """Choked: the friction to the speed of sound is used up just, and the end stands above the outside pressure."""
    draw = random.Random(2)
    choked = 0
    for number in range(40):
        given = service(draw, draw.uniform(4e5, 2e6) if number % 2 else draw.uniform(2e3, 8e4))
        ours = fanno.open_end_mass_flow(**given)
        pressure, square, spare = march(given, ours)
        if pressure > given["pressure_down"] * 1.001:
            choked += 1
            assert abs(spare) < 1e-5 and square > 0.99
        else:
            assert isclose(pressure, given["pressure_down"], rel_tol=1e-6)
            assert square < 1
    assert 5 < choked < 35, choked


def isothermal(given, mass_flow):
    """The library's isothermal flow for the same service, friction alone, choked by its own critical pressure or not.

    Its inlet pressure is static and ours is at rest, so the head of the inlet velocity is first taken off. The library
    calls its density an average, but its formula divides by P1, so the one upstream belongs to it.
    """
    flux = mass_flow / (pi / 4 * given["bore"] ** 2)
    r = given["compressibility"] * GAS_CONSTANT / given["molar_mass"]
    factor = darcy(flux * given["bore"] / given["viscosity"], given["roughness"] / given["bore"])
    inlet = given["pressure_up"]
    for _ in range(60):
        inlet = given["pressure_up"] - flux**2 * r * given["temperature"] / (2 * inlet)
    choked = P_isothermal_critical_flow(P=inlet, fd=factor, D=given["bore"], L=given["length"])
    return isothermal_gas(rho=inlet / (r * given["temperature"]), fd=factor, P1=inlet,
                          P2=max(given["pressure_down"], choked), L=given["length"], D=given["bore"])


def test_isothermal_flow_is_near():
    """Long pipes, 75 mbar and below: heat hardly matters, so the isothermal formula must agree."""
    draw = random.Random(3)
    for _ in range(60):
        given = service(draw, draw.uniform(2000, 7500)) | {
            "length": draw.uniform(150, 400), "loss_coefficient": 0.0, "bore": draw.uniform(0.025, 0.055)}
        ours = fanno.open_end_mass_flow(**given)
        assert isclose(ours, isothermal(given, ours), rel_tol=0.001)


def test_isothermal_flow_at_medium_pressure_is_within_what_we_say():
    draw = random.Random(4)
    off = []
    for _ in range(60):
        given = service(draw, 2e5) | {"loss_coefficient": 0.0, "length": draw.uniform(5, 20),
                                      "bore": draw.uniform(0.02, 0.055)}
        ours = fanno.open_end_mass_flow(**given)
        off.append(isothermal(given, ours) / ours - 1)
    print(f"isothermal is {min(off):+.1%} to {max(off):+.1%} off adiabatic at 2 bar")
    assert max(abs(each) for each in off) < 0.06


def test_low_pressure_meets_the_incompressible_formula():
    draw = random.Random(5)
    for _ in range(100):
        gauge = draw.uniform(2100, 7500)
        given = service(draw, gauge)
        ours = fanno.open_end_mass_flow(**given)
        per_pascal = given["molar_mass"] / (given["compressibility"] * GAS_CONSTANT * given["temperature"])
        for pressure in (101325.0, 101325.0 + gauge):
            density = pressure * per_pascal
            simple = density * flow.open_end_flow(
                gauge_pressure=gauge, density=density, length=given["length"], bore=given["bore"],
                roughness=given["roughness"], viscosity=given["viscosity"],
                loss_coefficient=given["loss_coefficient"])
            assert isclose(simple, ours, rel_tol=0.03)
