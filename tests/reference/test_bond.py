"""The bond against a network, a discharge and a heated conductor, and against the resistances of IEC 60228."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from stillbore.physics import bond
from stillbore.tables import table

CONDUCTORS = table("conductors")
COPPER = CONDUCTORS.number("resistivity", conductor="copper, single lead", insulation="PVC 70 C")

# IEC 60228:2004, maximum resistance at 20 C of plain copper, ohm/km, classes 2 and 5; read in public copies.
MAXIMUM = {4: (4.61, 4.95), 6: (3.08, 3.30), 10: (1.83, 1.91), 16: (1.15, 1.21), 25: (0.727, 0.780)}


@pytest.mark.parametrize("area", MAXIMUM)
def test_resistance_is_a_little_below_the_maximum_of_iec_60228(area):
    """The maximum allows for stranding and thin wires, so solid copper of the nominal area lies a little below it."""
    for maximum in MAXIMUM[area]:
        ratio = bond.resistance(resistivity=COPPER, length=1000.0, conductor_area=area * 1e-6) / maximum
        assert 0.85 < ratio < 0.95


def test_voltage_drop_against_the_nodal_equations():
    """10 A comes along the pipe and leaves through pipe joint and bond side by side."""
    pipe, lead, total = 0.2, 0.0532, 10.0
    # Unknowns: voltage of the near end (the far end is zero), current in the pipe, current in the bond.
    voltage, _, current = np.linalg.solve([[1.0, -pipe, 0.0], [1.0, 0.0, -lead], [0.0, 1.0, 1.0]], [0.0, 0.0, total])
    assert bond.voltage_drop(resistance=lead, current=current) == pytest.approx(voltage, rel=1e-9)


@pytest.mark.parametrize("current", [1.0, 5.0])
@pytest.mark.parametrize("load", [0.5, 20.0])
def test_spark_energy_against_a_discharge_stepped_in_time(current, load):
    """L di/dt = -R i; the heat in R, added up, is what the inductance gave."""
    inductance = 50e-6
    solution = solve_ivp(lambda t, y: [-load / inductance * y[0], load * y[0] ** 2],
                         (0.0, 30.0 * inductance / load), [current, 0.0], rtol=1e-9, atol=1e-15)
    heat = solution.y[1][-1]
    assert bond.spark_energy(inductance=inductance, current=current) == pytest.approx(heat, rel=1e-4)
    assert bond.largest_current(inductance=inductance, energy=heat) == pytest.approx(current, rel=1e-4)


@pytest.mark.parametrize(("conductor", "insulation", "start", "end"), [
    ("copper, single lead", "PVC 70 C", 30.0, 160.0),
    ("copper, single lead", "thermosetting 90 C", 30.0, 250.0),
    ("copper, core of a cable", "PVC 70 C", 70.0, 160.0),
])
@pytest.mark.parametrize("duration", [0.4, 1.0, 5.0])
def test_withstand_current_heats_the_conductor_to_its_limit(conductor, insulation, start, end, duration):
    """Copper heated by its own current with no loss: heat capacity 3.45 MJ/(m3 K), resistance growing as
    1 + (T - 20) / (234.5 + 20); material figures of IEC 60364-5-54 annex A, from memory."""
    area = 16e-6
    factor = CONDUCTORS.number("withstand_factor", conductor=conductor, insulation=insulation)
    current = bond.withstand_current(withstand_factor=factor, conductor_area=area, duration=duration)
    heated = solve_ivp(
        lambda t, y: [(current / area) ** 2 * COPPER * (1.0 + (y[0] - 20.0) / 254.5) / 3.45e6],
        (0.0, duration), [start], rtol=1e-9)
    assert heated.y[0][-1] - start == pytest.approx(end - start, rel=0.02)
