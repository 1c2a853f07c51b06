"""The rig marched forwards in time: compartments of gas with walls around them, and the openings between them.

Everything moves in small exact bites that keep mass and energy: a bite of gas across each opening, a bite of heat
across each wall, a bite of volume in the hose. No bite can overshoot, so a valve that joins two spaces within a
millisecond needs no smaller step than a wall that warms within an hour. The tally keeps what came in from outside, so
that a test can ask for every mole and every joule.

The small functions are inlined: handing bundles of arrays from one to another would cost a third of the time.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import NamedTuple

import numba
import numpy

from stillbore.practice import gas, instruments, surroundings
from stillbore.practice.gas import AIR_CV, FUEL_CV, GAS_CONSTANT, crack_drive, hole_flux
from stillbore.practice.instruments import Gauge, Record, read, sense
from stillbore.practice.surroundings import AIR, BAROMETER, BREEZE, DISTRICT, GROUND, HAND, SUN, Surroundings, surround

WATER_DENSITY, GRAVITY = 1000.0, 9.81  # kg/m3, m/s2
CREEP_TIMES = 0.5 * 4.0 ** numpy.arange(7)  # s; elements of the hose's creep, 0.5 s to half an hour


class Spaces(NamedTuple):
    """The compartments: first what changes, then how they are built. One entry a compartment."""

    amount: numpy.ndarray  # mol of all gas
    fuel: numpy.ndarray  # mol of it that are natural gas
    temperature: numpy.ndarray  # K, gas
    body: numpy.ndarray  # K, the metal around it
    lining: numpy.ndarray  # K, what the gas touches and the metal does not hold: hose, gasket, seal
    creep: numpy.ndarray  # m3 by which the hose has given way, one column an element
    grown: numpy.ndarray  # m3, all its elements together
    volume: numpy.ndarray  # m3
    film_body: numpy.ndarray  # W/K, gas to metal
    film_lining: numpy.ndarray  # W/K, gas to lining
    lining_body: numpy.ndarray  # W/K
    body_air: numpy.ndarray  # W/K
    lining_air: numpy.ndarray  # W/K
    body_ground: numpy.ndarray  # W/K
    body_capacity: numpy.ndarray  # J/K
    lining_capacity: numpy.ndarray  # J/K
    sunlit: numpy.ndarray  # share of the sun's heat that this compartment takes
    lining_sunlit: numpy.ndarray  # part of that share which falls on hose, not metal
    give: numpy.ndarray  # m3/Pa of creep, one column an element


class Openings(NamedTuple):
    """What lets gas through. ``start`` and ``end`` are compartments; the count of compartments itself means the open
    air, one more the district's main."""

    start: numpy.ndarray
    end: numpy.ndarray
    crack: numpy.ndarray  # laminar coefficient [mol K/Pa]
    hole: numpy.ndarray  # effective area [m2]
    open: numpy.ndarray  # 0 shut to 1 open; both laws are multiplied by it
    lifts_at: numpy.ndarray  # Pa of difference below which nothing passes: a stopper's lip, a water seal
    holds_back: numpy.ndarray  # Pa kept back while it passes; it seats again below this
    lifted: numpy.ndarray  # 1 while it passes
    conduction: numpy.ndarray  # W/K between the metals at both ends
    passed: numpy.ndarray  # mol that went from start to end so far


class Water(NamedTuple):
    """A slug of water in the service between main and leg: it swings, and moves the leg's gas to and fro."""

    state: numpy.ndarray  # displacement [m], speed [m/s]
    area: float  # m2; 0 is a dry pipe
    length: float  # m of the slug
    head: float  # Pa it can hold back before gas bubbles through
    damping: float  # 1/s
    space: int  # the compartment whose gas it moves
    seal: int  # the opening that it seals


class Controls(NamedTuple):
    """What hands do, constant during one call."""

    pump: float  # mol/s of air pressed in
    pump_space: int
    drawn: float  # mol/s taken by a user on the leg, while it has pressure
    drawn_space: int
    shaking: float  # Pa of vibration on the gauge: a saw at work
    hand: float  # W of hands on the rig
    sampling: bool
    bites: int  # in how many bites the gas of one step passes; many where a small space is filled or emptied quickly
    stop_above: float  # Pa shown: return as soon as the gauge shows this
    stop_below: float


MOLES_IN, ENERGY_IN, HEAT_IN, WORK_OUT = range(4)  # the tally


@numba.njit(cache=True, inline="always")
def heat_capacity(spaces, c):
    return (spaces.amount[c] - spaces.fuel[c]) * AIR_CV + spaces.fuel[c] * FUEL_CV


@numba.njit(cache=True, inline="always")
def volume_now(spaces, water, c):
    volume = spaces.volume[c] + spaces.grown[c]
    return volume - water.area * water.state[0] if water.area > 0.0 and c == water.space else volume


@numba.njit(cache=True, inline="always")
def pressure(spaces, water, c):
    return spaces.amount[c] * GAS_CONSTANT * spaces.temperature[c] / volume_now(spaces, water, c)


@numba.njit(cache=True, inline="always")
def give_gas(spaces, c, moles, fuel, energy):
    """Put gas with its energy into a compartment (or take it out, with negative figures)."""
    held = heat_capacity(spaces, c) * spaces.temperature[c] + energy
    spaces.amount[c] += moles
    spaces.fuel[c] += fuel
    spaces.temperature[c] = held / heat_capacity(spaces, c)


@numba.njit(cache=True, inline="always")
def pass_gas(spaces, openings, water, outside, e, step, tally):
    """A bite of gas through opening ``e``, upstream to downstream, never more than brings both to one pressure."""
    count = len(spaces.amount)
    first, second = openings.start[e], openings.end[e]
    p_first = pressure(spaces, water, first) if first < count else outside[BAROMETER if first == count else DISTRICT]
    p_second = pressure(spaces, water, second) if second < count else (
        outside[BAROMETER if second == count else DISTRICT])
    up, down = (first, second) if p_first >= p_second else (second, first)
    p_up, p_down = max(p_first, p_second), min(p_first, p_second)
    if openings.lifts_at[e] > 0.0:
        if p_up - p_down > openings.lifts_at[e]:
            openings.lifted[e] = 1.0
        elif p_up - p_down <= openings.holds_back[e]:
            openings.lifted[e] = 0.0
        if openings.lifted[e] == 0.0:
            return
        p_up -= openings.holds_back[e]
    if p_up - p_down < 1e-6:
        return
    if up < count:
        warmth, share = spaces.temperature[up], spaces.fuel[up] / spaces.amount[up]
    else:
        warmth, share = (outside[AIR], 0.0) if up == count else (outside[GROUND], 1.0)
    through_hole = openings.open[e] * openings.hole[e] * hole_flux(p_up, p_down, warmth, share)
    through_crack = openings.open[e] * openings.crack[e] * crack_drive(p_up, p_down, warmth, share)
    stiffness = 0.0
    if up < count:
        stiffness += 1.4 * GAS_CONSTANT * warmth / volume_now(spaces, water, up)
    if down < count:
        stiffness += 1.4 * GAS_CONSTANT * warmth / volume_now(spaces, water, down)
    level = (p_up - p_down) / stiffness  # moles that would make both sides equal
    eased = (through_hole + through_crack) * step / level
    # What is left of the difference falls exponentially where the flow goes with it (a crack), and to nought in a
    # finite time where the flow goes with its root (a hole).
    if through_hole > through_crack:
        moles = level * (eased - 0.25 * eased * eased) if eased < 2.0 else level
    else:
        moles = -level * math.expm1(-eased)
    openings.passed[e] += moles if up == first else -moles
    energy = moles * (AIR_CV + share * (FUEL_CV - AIR_CV) + GAS_CONSTANT) * warmth
    if up < count:
        give_gas(spaces, up, -moles, -share * moles, -energy)
    else:
        tally[MOLES_IN] += moles
        tally[ENERGY_IN] += energy
    if down < count:
        give_gas(spaces, down, moles, share * moles, energy)
    else:
        tally[MOLES_IN] -= moles
        tally[ENERGY_IN] -= energy


@numba.njit(cache=True, inline="always")
def bite(conductance, first, first_capacity, second, second_capacity, step):
    """Heat [J] from second to first, exact for two bodies left alone with each other."""
    joined = first_capacity * second_capacity / (first_capacity + second_capacity)
    return -joined * (second - first) * math.expm1(-conductance * step / joined)


@numba.njit(cache=True, inline="always")
def warm(spaces, outside, c, step, tally):
    """Heat across the walls of one compartment: sun and hands, metal, lining, gas."""
    gas_capacity = heat_capacity(spaces, c)
    metal, skin = spaces.body_capacity[c], spaces.lining_capacity[c]
    sun = outside[SUN] * spaces.sunlit[c] * step
    to_skin = sun * spaces.lining_sunlit[c]
    to_skin += spaces.lining_air[c] * outside[BREEZE] * (outside[AIR] - spaces.lining[c]) * step
    to_metal = sun * (1.0 - spaces.lining_sunlit[c]) + outside[HAND] * spaces.sunlit[c] * step
    to_metal += spaces.body_air[c] * outside[BREEZE] * (outside[AIR] - spaces.body[c]) * step
    to_metal += spaces.body_ground[c] * (outside[GROUND] - spaces.body[c]) * step
    tally[HEAT_IN] += to_skin + to_metal
    spaces.body[c] += to_metal / metal
    spaces.lining[c] += to_skin / skin
    heat = bite(spaces.lining_body[c], spaces.lining[c], skin, spaces.body[c], metal, step)
    spaces.lining[c] += heat / skin
    spaces.body[c] -= heat / metal
    heat = bite(spaces.film_body[c], spaces.temperature[c], gas_capacity, spaces.body[c], metal, step)
    spaces.temperature[c] += heat / gas_capacity
    spaces.body[c] -= heat / metal
    heat = bite(spaces.film_lining[c], spaces.temperature[c], gas_capacity, spaces.lining[c], skin, step)
    spaces.temperature[c] += heat / gas_capacity
    spaces.lining[c] -= heat / skin


@numba.njit(cache=True, inline="always")
def yield_volume(spaces, water, outside, c, follows, tally):
    """The hose gives way to its gauge pressure, each element in its own time, and the gas does work on it.
    ``follows`` is the share of what is still wanting that an element gives in this step."""
    absolute = pressure(spaces, water, c)
    grown = 0.0
    for element in range(len(CREEP_TIMES)):
        wanted = spaces.give[c, element] * (absolute - outside[BAROMETER])
        change = (wanted - spaces.creep[c, element]) * follows[element]
        spaces.creep[c, element] += change
        grown += change
    spaces.grown[c] += grown
    spaces.temperature[c] -= absolute * grown / heat_capacity(spaces, c)
    tally[WORK_OUT] += absolute * grown


@numba.njit(cache=True, inline="always")
def swing(rng, spaces, openings, water, outside, step, tally):
    """The water slug: pushed by the main, held by the leg's gas and its own weight, kicked by bubbles."""
    leg = pressure(spaces, water, water.space)
    push = (outside[DISTRICT] - leg) / (WATER_DENSITY * water.length)
    push -= 2.0 * GRAVITY * water.state[0] / water.length + water.damping * water.state[1]
    water.state[1] += push * step
    if openings.lifted[water.seal] > 0.0:
        water.state[1] += 0.25 * math.sqrt(step) * rng.standard_normal()
    reach = water.head / (2.0 * WATER_DENSITY * GRAVITY)
    new = water.state[0] + water.state[1] * step
    if abs(new) > reach:
        new = math.copysign(reach, new)
        water.state[1] *= -0.3
    grown = -water.area * (new - water.state[0])
    water.state[0] = new
    spaces.temperature[water.space] -= leg * grown / heat_capacity(spaces, water.space)
    tally[WORK_OUT] += leg * grown


@numba.njit(cache=True, inline="always")
def act(spaces, openings, water, controls, outside, step, tally):
    """Pump, user, and the metal that joins the compartments."""
    if controls.pump > 0.0:
        # A good hand pump presses without loss: air arrives as warm as being pressed to this pressure makes it.
        c = controls.pump_space
        ratio = max(1.0, pressure(spaces, water, c) / outside[BAROMETER])
        warmth = outside[AIR] * ratio ** (GAS_CONSTANT / (AIR_CV + GAS_CONSTANT))
        moles = controls.pump * step
        give_gas(spaces, c, moles, 0.0, moles * (AIR_CV + GAS_CONSTANT) * warmth)
        tally[MOLES_IN] += moles
        tally[ENERGY_IN] += moles * (AIR_CV + GAS_CONSTANT) * warmth
    if controls.drawn > 0.0:
        c = controls.drawn_space
        gauge = max(0.0, pressure(spaces, water, c) - outside[BAROMETER])
        # An appliance governor keeps the flow until it has too little to work with; nobody draws below the barometer.
        left = gauge * volume_now(spaces, water, c) / (1.4 * GAS_CONSTANT * spaces.temperature[c])
        moles = min(left, controls.drawn * min(1.0, math.sqrt(gauge / 1000.0)) * step)
        share = spaces.fuel[c] / spaces.amount[c]
        energy = moles * (heat_capacity(spaces, c) / spaces.amount[c] + GAS_CONSTANT) * spaces.temperature[c]
        give_gas(spaces, c, -moles, -share * moles, -energy)
        tally[MOLES_IN] -= moles
        tally[ENERGY_IN] -= energy
    count = len(spaces.amount)
    for e in range(len(openings.start)):
        if openings.conduction[e] > 0.0 and openings.start[e] < count and openings.end[e] < count:
            i, j = openings.start[e], openings.end[e]
            heat = bite(openings.conduction[e], spaces.body[i], spaces.body_capacity[i], spaces.body[j],
                        spaces.body_capacity[j], step)
            spaces.body[i] += heat / spaces.body_capacity[i]
            spaces.body[j] -= heat / spaces.body_capacity[j]


@numba.njit(cache=True, error_model="numpy")  # checks of every divisor would cost a quarter of the time
def march(rng, spaces: Spaces, openings: Openings, water: Water, surroundings: Surroundings, gauge: Gauge,
          record: Record, controls: Controls, tally, step: float, steps: int) -> int:
    """March ``steps`` steps of ``step`` [s], or fewer where the gauge reaches a stop; the steps taken are returned.

    All arrays are changed in place. ``tally`` [mol, J, J, J] is what came in from outside as gas, its energy, heat, and
    the work that the gas did. SI throughout, pressures absolute but for the stops.
    """
    outside = surroundings.now
    follows = -numpy.expm1(-step / CREEP_TIMES)
    for taken in range(steps):
        surround(rng, surroundings, step, controls.hand)
        act(spaces, openings, water, controls, outside, step, tally)
        for _ in range(controls.bites):
            for e in range(len(openings.start)):
                if openings.open[e] > 0.0 and (openings.hole[e] > 0.0 or openings.crack[e] > 0.0):
                    pass_gas(spaces, openings, water, outside, e, step / controls.bites, tally)
        if water.area > 0.0:
            swing(rng, spaces, openings, water, outside, step, tally)
        for c in range(len(spaces.amount)):
            warm(spaces, outside, c, step, tally)
            if spaces.give[c, 0] > 0.0:
                yield_volume(spaces, water, outside, c, follows, tally)
        true = pressure(spaces, water, gauge.space)
        sense(rng, gauge, true, spaces.body[gauge.space], outside, step)
        shown = read(rng, gauge, record, surroundings, controls.shaking, controls.sampling, true,
                     spaces.temperature[gauge.space], step)
        if shown >= controls.stop_above or shown <= controls.stop_below:
            return taken + 1
    return steps


def forget_stale() -> None:
    """Compiled code is kept beside this file, and numba looks only at this file to see whether it is still true; but
    what it is made of stands in three more."""
    newest = max(Path(str(module.__file__)).stat().st_mtime for module in (gas, instruments, surroundings))
    for kept in Path(march.stats.cache_path).glob("march.march-*.nbi"):
        if kept.stat().st_mtime < newest:
            kept.unlink(missing_ok=True)


forget_stale()
