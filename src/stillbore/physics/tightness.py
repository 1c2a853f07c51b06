"""Tightness: leak from a falling gauge and back, temperature and barometer, volumes, and lengths of holds.

The gas in a closed volume V is ideal and, unless a function says otherwise, of constant temperature. A flow is
counted at atmospheric pressure and at the temperature of the rig. Build-up behind a stopper (let-by) is the same sum
with the rise written as the drop on the other side, so it has no function of its own. A gauge that rises during a
tightness hold is not a negative leak; whoever reads the gauge must say so, and these functions refuse it.
"""

from math import sqrt

from stillbore.physics.constants import STANDARD_GRAVITY
from stillbore.physics.refusals import (
    NO_DROP,
    OK,
    OUT_OF_RANGE,
    first_refusal,
    not_negative,
    positive,
)


def _absolute_refusal(gauge_pressure: float, atmospheric_pressure: float) -> int:
    """A gauge may stand a little below zero; the absolute pressure may not."""
    return first_refusal((positive(atmospheric_pressure), positive(gauge_pressure + atmospheric_pressure)))


def fill_volume_refusal(volume: float, gauge_pressure: float, atmospheric_pressure: float) -> int:
    return first_refusal((positive(volume), not_negative(gauge_pressure), positive(atmospheric_pressure)))


def fill_volume(volume: float, gauge_pressure: float, atmospheric_pressure: float) -> float:
    """Gas, counted at atmospheric pressure, that brings a volume from zero to a gauge pressure.

    Formula:  V_gas = V p / p_atm

    Args:
        volume: volume that fills, V [m3], rises
        gauge_pressure: pressure reached, p [Pa gauge], rises
        atmospheric_pressure: barometer, p_atm [Pa abs], falls
    Returns:
        V_gas: volume of gas at atmospheric pressure [m3]
    Source: IDEAL-GAS
    Notes: Constant temperature; a fast fill heats the gas (pumping_heat) and needs less until it has cooled.
    """
    return volume * gauge_pressure / atmospheric_pressure


def leak_rate_refusal(volume: float, pressure_drop: float, duration: float, atmospheric_pressure: float) -> int:
    return first_refusal((positive(volume), not_negative(pressure_drop), positive(duration),
                          positive(atmospheric_pressure)))


def leak_rate(volume: float, pressure_drop: float, duration: float, atmospheric_pressure: float) -> float:
    """Mean leak from the fall of the gauge over a hold, or mean let-by from the rise behind a stopper.

    Formula:  q = V dp / (p_atm t)

    Args:
        volume: volume under test, V [m3], rises
        pressure_drop: fall of the gauge (for let-by, its rise), dp [Pa], rises
        duration: length of the hold, t [s], falls
        atmospheric_pressure: barometer, p_atm [Pa abs], falls
    Returns:
        q: leak, at atmospheric pressure [m3/s]
    Source: IDEAL-GAS
    Notes: The mean over the hold. A leak falls off with the pressure, so that it was larger at the start; with a fall
        of a hundredth of the pressure the difference is half a hundredth.
    """
    return fill_volume(volume, pressure_drop, atmospheric_pressure) / duration


def pressure_rate_refusal(leak_rate: float, volume: float, atmospheric_pressure: float) -> int:
    return first_refusal((not_negative(leak_rate), positive(volume), positive(atmospheric_pressure)))


def pressure_rate(leak_rate: float, volume: float, atmospheric_pressure: float) -> float:
    """How fast a leak moves the gauge.

    Formula:  dp_dt = q p_atm / V

    Args:
        leak_rate: leak at atmospheric pressure, q [m3/s], rises
        volume: volume under test, V [m3], falls
        atmospheric_pressure: barometer, p_atm [Pa abs], rises
    Returns:
        dp_dt: fall of the gauge per second [Pa/s]
    Source: IDEAL-GAS
    """
    return leak_rate * atmospheric_pressure / volume


def fall_for_leak_refusal(leak_rate: float, volume: float, duration: float, atmospheric_pressure: float) -> int:
    return first_refusal((not_negative(leak_rate), positive(volume), not_negative(duration),
                          positive(atmospheric_pressure)))


def fall_for_leak(leak_rate: float, volume: float, duration: float, atmospheric_pressure: float) -> float:
    """Fall of the gauge that a leak causes over a hold, or the rise that a let-by causes behind a stopper.

    Formula:  dp = q p_atm t / V

    Args:
        leak_rate: leak (or let-by) at atmospheric pressure, q [m3/s], rises
        volume: volume under test (for let-by, the leg and what is open to it), V [m3], falls
        duration: length of the hold, t [s], rises
        atmospheric_pressure: barometer, p_atm [Pa abs], rises
    Returns:
        dp: movement of the gauge [Pa]
    Source: IDEAL-GAS
    Notes: The leak is held constant; a real one falls off as the pressure falls, so this is the most that it moves.
    """
    return pressure_rate(leak_rate, volume, atmospheric_pressure) * duration


def shortest_hold_refusal(leak_rate: float, volume: float, readable_movement: float, movements: float,
                          atmospheric_pressure: float) -> int:
    return first_refusal((positive(leak_rate), positive(volume), positive(readable_movement), positive(movements),
                          positive(atmospheric_pressure)))


def shortest_hold(leak_rate: float, volume: float, readable_movement: float, movements: float,
                  atmospheric_pressure: float) -> float:
    """Time in which a leak of exactly the limit moves the gauge by so many readable movements.

    Formula:  t = n m V / (q p_atm)

    Args:
        leak_rate: limit of the leak, at atmospheric pressure, q [m3/s], falls
        volume: volume under test, V [m3], rises
        readable_movement: smallest movement that the gauge shows, m [Pa], rises
        movements: how many readable movements are wanted, n [-], rises
        atmospheric_pressure: barometer, p_atm [Pa abs], falls
    Returns:
        t: length of the hold [s]
    Source: IDEAL-GAS, IGEM-UP-1
    Notes: With n = 1 this is the rule duration = movement x volume x F1 of the installation codes; their F1 of 42 for
        natural gas (minutes, mbar, m3) is 60 / (1013 x 0.0014), a leak of 0.0014 m3/h. Their F1 of 67 for air is not
        derived there.
    """
    return movements * readable_movement / pressure_rate(leak_rate, volume, atmospheric_pressure)


def smallest_leak_refusal(volume: float, readable_movement: float, duration: float,
                          atmospheric_pressure: float) -> int:
    return first_refusal((positive(volume), positive(readable_movement), positive(duration),
                          positive(atmospheric_pressure)))


def smallest_leak(volume: float, readable_movement: float, duration: float, atmospheric_pressure: float) -> float:
    """The leak that moves the gauge by one readable movement in a hold: a smaller one cannot be seen.

    Formula:  q = V m / (p_atm t)

    Args:
        volume: volume under test, V [m3], rises
        readable_movement: smallest movement that the gauge shows, m [Pa], rises
        duration: length of the hold, t [s], falls
        atmospheric_pressure: barometer, p_atm [Pa abs], falls
    Returns:
        q: leak, at atmospheric pressure [m3/s]
    Source: IDEAL-GAS
    Notes: Temperature held constant; what a change of temperature hides comes on top (temperature_effect).
    """
    return leak_rate(volume, readable_movement, duration, atmospheric_pressure)


def temperature_effect_refusal(gauge_pressure: float, atmospheric_pressure: float, temperature: float) -> int:
    return first_refusal((_absolute_refusal(gauge_pressure, atmospheric_pressure), positive(temperature)))


def temperature_effect(gauge_pressure: float, atmospheric_pressure: float, temperature: float) -> float:
    """Movement of the gauge on a sealed volume for each kelvin that its gas warms.

    Formula:  dp_dT = (p + p_atm) / T

    Args:
        gauge_pressure: pressure of the gas, p [Pa gauge], rises
        atmospheric_pressure: barometer, p_atm [Pa abs], rises
        temperature: temperature of the gas, T [K], falls
    Returns:
        dp_dT: rise of the gauge per kelvin [Pa/K]
    Source: IDEAL-GAS
    Notes: A real gas moves a little more: air 0.2 to 0.4 %, methane 0.5 to 0.7 % up to 350 mbar.
    """
    return (gauge_pressure + atmospheric_pressure) / temperature


def temperature_rate_hiding_leak_refusal(leak_rate: float, volume: float, gauge_pressure: float,
                                         atmospheric_pressure: float, temperature: float) -> int:
    return first_refusal((pressure_rate_refusal(leak_rate, volume, atmospheric_pressure),
                          temperature_effect_refusal(gauge_pressure, atmospheric_pressure, temperature)))


def temperature_rate_hiding_leak(leak_rate: float, volume: float, gauge_pressure: float,
                                 atmospheric_pressure: float, temperature: float) -> float:
    """Rate of warming at which a leaking rig shows a flat gauge.

    Formula:  dT_dt = (q p_atm / V) T / (p + p_atm)

    Args:
        leak_rate: leak at atmospheric pressure, q [m3/s], rises
        volume: volume under test, V [m3], falls
        gauge_pressure: pressure of the gas, p [Pa gauge], falls
        atmospheric_pressure: barometer, p_atm [Pa abs], turns
        temperature: temperature of the gas, T [K], rises
    Returns:
        dT_dt: warming that hides the leak [K/s]
    Source: IDEAL-GAS
    Notes: With the barometer the result rises at gauge pressures above zero and falls below.
    """
    return (pressure_rate(leak_rate, volume, atmospheric_pressure)
            / temperature_effect(gauge_pressure, atmospheric_pressure, temperature))


def temperature_tolerance_refusal(pressure_movement: float, gauge_pressure: float, atmospheric_pressure: float,
                                  temperature: float) -> int:
    return first_refusal((not_negative(pressure_movement),
                          temperature_effect_refusal(gauge_pressure, atmospheric_pressure, temperature)))


def temperature_tolerance(pressure_movement: float, gauge_pressure: float, atmospheric_pressure: float,
                          temperature: float) -> float:
    """Change of temperature that moves the gauge of a sealed volume by no more than an allowed movement.

    Formula:  dT = m T / (p + p_atm)

    Args:
        pressure_movement: movement of the gauge that temperature may cause, m [Pa], rises
        gauge_pressure: pressure of the gas, p [Pa gauge], falls
        atmospheric_pressure: barometer, p_atm [Pa abs], falls
        temperature: temperature of the gas, T [K], rises
    Returns:
        dT: change of temperature during the hold [K difference]
    Source: IDEAL-GAS
    """
    return pressure_movement / temperature_effect(gauge_pressure, atmospheric_pressure, temperature)


def corrected_pressure_refusal(gauge_pressure: float, atmospheric_pressure: float, temperature: float,
                               atmospheric_pressure_first: float, temperature_first: float) -> int:
    return first_refusal((_absolute_refusal(gauge_pressure, atmospheric_pressure), positive(temperature),
                          positive(atmospheric_pressure_first), positive(temperature_first)))


def corrected_pressure(gauge_pressure: float, atmospheric_pressure: float, temperature: float,
                       atmospheric_pressure_first: float, temperature_first: float) -> float:
    """What a later gauge reading would have been at the temperature and barometer of the first reading.

    Formula:  p_corrected = (p + p_atm) T_1 / T - p_atm1

    Args:
        gauge_pressure: the later reading, p [Pa gauge], rises
        atmospheric_pressure: barometer at the later reading, p_atm [Pa abs], rises
        temperature: temperature of the gas at the later reading, T [K], falls
        atmospheric_pressure_first: barometer at the first reading, p_atm1 [Pa abs], falls
        temperature_first: temperature of the gas at the first reading, T_1 [K], rises
    Returns:
        p_corrected: corrected reading, to be compared with the first [Pa gauge]
    Source: IDEAL-GAS
    Notes: A thermometer on the rig reads the metal, not the gas; trust the correction only when both are steady.
    """
    return ((gauge_pressure + atmospheric_pressure) * temperature_first / temperature
            - atmospheric_pressure_first)


def pumping_heat_refusal(gauge_pressure: float, atmospheric_pressure: float, temperature: float,
                         heat_ratio: float) -> int:
    code = first_refusal((not_negative(gauge_pressure), positive(atmospheric_pressure), positive(temperature),
                          positive(heat_ratio)))
    if code == OK and not (heat_ratio >= 1.0):
        code = OUT_OF_RANGE
    return code


def pumping_heat(gauge_pressure: float, atmospheric_pressure: float, temperature: float, heat_ratio: float) -> float:
    """The most by which pumping up a rig warms its gas: compression too quick for any heat to leave.

    Formula:  dT = T (((p + p_atm) / p_atm)^((k - 1) / k) - 1)

    Args:
        gauge_pressure: pressure pumped to, p [Pa gauge], rises
        atmospheric_pressure: barometer, p_atm [Pa abs], falls
        temperature: temperature before pumping, T [K], rises
        heat_ratio: ratio of specific heats of the gas, k [-], rises
    Returns:
        dT: warming of the gas [K difference]
    Source: IDEAL-GAS
    Notes: Worst case; it decays in tens of seconds, which is why a rig settles before a hold begins.
    """
    ratio = (gauge_pressure + atmospheric_pressure) / atmospheric_pressure
    return temperature * (ratio ** ((heat_ratio - 1.0) / heat_ratio) - 1.0)


def volume_from_expansion_refusal(reference_volume: float, pressure_before: float, pressure_after: float) -> int:
    code = first_refusal((positive(reference_volume), positive(pressure_before), positive(pressure_after)))
    if code == OK and not (pressure_after < pressure_before):
        code = NO_DROP
    return code


def volume_from_expansion(reference_volume: float, pressure_before: float, pressure_after: float) -> float:
    """Unknown volume, from the fall of the gauge when it is let into a known volume that stood at zero gauge.

    Formula:  V = V_ref p_2 / (p_1 - p_2)

    Args:
        reference_volume: the known volume, at zero gauge before, V_ref [m3], rises
        pressure_before: gauge on the unknown volume before, p_1 [Pa gauge], falls
        pressure_after: gauge on both together after, p_2 [Pa gauge], rises
    Returns:
        V: the unknown volume [m3]
    Source: IDEAL-GAS
    Notes: The difference of two near readings decides: at 30 mbar, 0.5 l into 6 l, a digit of 0.1 mbar is 5 %. Gas
        expands cold; read when the gauge has come to rest. Both volumes must be tight and no gas may enter.
    """
    return reference_volume * pressure_after / (pressure_before - pressure_after)


def water_head_refusal(height: float, density: float) -> int:
    return first_refusal((not_negative(height), positive(density)))


def water_head(height: float, density: float) -> float:
    """Pressure that a column of water (or of a gauge fluid) holds back.

    Formula:  p = rho g h

    Args:
        height: height of the column, h [m], rises
        density: density of the liquid, rho [kg/m3], rises
    Returns:
        p: pressure difference across the column [Pa]
    Source: FLUID-MECHANICS, NIST-SP-811
    Notes: The conventional millimetre of water has 1000 kg/m3. A siphon full of water hides every pressure below this.
    """
    return density * STANDARD_GRAVITY * height


def _air_leak_refusal(leak_rate: float, ratio: float, gauge_pressure: float, test_pressure: float) -> int:
    return first_refusal((not_negative(leak_rate), positive(ratio), not_negative(gauge_pressure),
                          positive(test_pressure)))


def air_to_gas_laminar_refusal(leak_rate: float, viscosity_ratio: float, gauge_pressure: float,
                               test_pressure: float) -> int:
    return _air_leak_refusal(leak_rate, viscosity_ratio, gauge_pressure, test_pressure)


def air_to_gas_laminar(leak_rate: float, viscosity_ratio: float, gauge_pressure: float,
                       test_pressure: float) -> float:
    """Gas leak at working pressure of a fine, laminar leak path that was measured with air.

    Formula:  q_gas = q_air (mu_air / mu_gas) p / p_test

    Args:
        leak_rate: air leak measured, at atmospheric pressure, q_air [m3/s], rises
        viscosity_ratio: viscosity of air over viscosity of the gas, mu_air / mu_gas [-], rises
        gauge_pressure: working pressure, p [Pa gauge], rises
        test_pressure: pressure of the air test, p_test [Pa gauge], falls
    Returns:
        q_gas: gas leak at atmospheric pressure [m3/s]
    Source: FLUID-MECHANICS
    Notes: Small pressures: compressible flow goes as the difference of squared absolute pressures, so that below the
        test pressure this form reads high (4 % at 21 mbar after a test at 100) and above it low. The path is not known
        beforehand; work both this and air_to_gas_orifice and take the larger.
    """
    return leak_rate * viscosity_ratio * gauge_pressure / test_pressure


def air_to_gas_orifice_refusal(leak_rate: float, relative_density: float, gauge_pressure: float,
                               test_pressure: float) -> int:
    return _air_leak_refusal(leak_rate, relative_density, gauge_pressure, test_pressure)


def air_to_gas_orifice(leak_rate: float, relative_density: float, gauge_pressure: float,
                       test_pressure: float) -> float:
    """Gas leak at working pressure of a leak that is a plain hole and was measured with air.

    Formula:  q_gas = q_air sqrt(p / (d p_test))

    Args:
        leak_rate: air leak measured, at atmospheric pressure, q_air [m3/s], rises
        relative_density: density of the gas over that of air, d [-], falls
        gauge_pressure: working pressure, p [Pa gauge], rises
        test_pressure: pressure of the air test, p_test [Pa gauge], falls
    Returns:
        q_gas: gas leak at atmospheric pressure [m3/s]
    Source: FLUID-MECHANICS
    Notes: Small pressures, as in air_to_gas_laminar.
    """
    return leak_rate * sqrt(gauge_pressure / (relative_density * test_pressure))
