"""The purge of the new pipe: gas to be passed, velocity, times and mixture. Where it ends is measured."""

from __future__ import annotations

from stillbore.derive import Fact, Node, constant, derive, worst
from stillbore.physics import flow
from stillbore.physics import gas as gas_physics
from stillbore.physics import pressure as pressure_physics
from stillbore.physics import purge as physics
from stillbore.physics import volume as volume_physics
from stillbore.plan.parts import MET, NOT_MET, NOTE, Workings, verdict_of
from stillbore.plan.renewal import Candidate

LAMINAR = constant("Reynolds number up to which flow is laminar", "-", 2000.0, "HAGEN-POISEUILLE")
DIFFUSIVITY = constant("diffusion of methane in air", "m2/s", 2.2e-5, "tables of diffusion, 288 K; from memory")


def purge(work: Workings, chosen: Candidate) -> None:
    """How much gas, how fast, how long; where it ends is measured."""
    work.section("purge", f"Purge of {chosen.name}")
    both = derive("pipe and meter", volume_physics.joined_volume, volume=work.numbers["new_pipe.volume"].node,
                  further_volume=work.limit("new_pipe.meter_volume"))
    work.keep("pipe and meter", both, "l", "purge.volume")
    passed = work.work("purge.gas", "gas to be passed", "l", volume_physics.scaled_volume, volume=both,
                       factor=work.limit("new_pipe.purge_multiple"))
    least = work.limit("new_pipe.purge_velocity")
    slow = work.work("purge.least_flow", "flow at the least velocity", "m3/h", physics.flow_at_velocity, velocity=least,
                     bore=chosen.bore)
    work.keep("least velocity", least, "m/s", "purge.least_velocity")
    work.work("purge.longest", "time at the least velocity", "s", physics.purge_time, volume=passed, flow=slow)
    there = _flow_there(work, chosen)
    work.work("purge.time", "time at the flow there is, vent wide open", "s", physics.purge_time, volume=passed,
              flow=there)
    fast = work.work("purge.velocity", "velocity at that flow", "m/s", physics.velocity_at_flow, flow=there,
                     bore=worst("widest bore", chosen.bore, "high"))
    work.at_least("velocity of the purge", fast, least, "m/s", NOTE,
                  do="The gas would slip under the air: take another way to purge it.")
    _mixture(work, chosen, least)
    work.tell(NOTE, f"These are expectations. The purge ends by instrument, at {work.limit('new_pipe.purged_to').text} "
              "gas, never by time or smell.", "Vent to a free place outside, earthed, watched, nothing alight.")


def _flow_there(work: Workings, chosen: Candidate) -> Node:
    """Flow out of the open end at the lowest pressure: narrowest, longest, coldest."""
    fractions = work.survey.fact("gas.composition")
    lowest = worst("lowest pressure", work.survey.fact("pressure.lowest"), "low")
    cold = worst("ground temperature", work.survey.fact("site.ground_temperature"), "low")
    absolute = derive("absolute pressure", pressure_physics.absolute_pressure, gauge_pressure=lowest,
                      atmospheric_pressure=worst("barometer", work.survey.fact("site.barometer"), "high"))
    return work.work("purge.flow", "flow there is, at the lowest pressure with the end open", "m3/h",
                     flow.open_end_flow, gauge_pressure=lowest, length=worst("longest", chosen.length, "high"),
                     bore=worst("narrowest", chosen.bore, "low"), roughness=work.limit("renewal.roughness"),
                     density=derive("gas density", gas_physics.density, fractions=fractions, pressure=absolute,
                                    temperature=cold),
                     viscosity=derive("gas viscosity", gas_physics.viscosity, fractions=fractions, temperature=cold),
                     loss_coefficient=work.limit("renewal.fittings"))


def _mixture(work: Workings, chosen: Candidate, velocity: Fact) -> None:
    """Length of the mixture at the least velocity, where the laminar formula holds; elsewhere there is none."""
    if work.survey.value("gas.name") != "natural gas":
        work.tell(NOTE, "The length of the mixture is not worked out: the diffusion of this gas in air is not in the "
                  "program.", "Go by the instrument.")
        return
    fractions = work.survey.fact("gas.composition")
    cold = worst("ground temperature", work.survey.fact("site.ground_temperature"), "low")
    radius = derive("half the bore", physics.half_bore, bore=chosen.bore)
    reynolds = work.work("purge.reynolds", "Reynolds number at the least velocity", "-", flow.reynolds, density=derive(
        "gas density", gas_physics.density, fractions=fractions,
        pressure=worst("barometer", work.survey.fact("site.barometer"), "high"), temperature=cold), velocity=velocity,
        bore=worst("widest bore", chosen.bore, "high"),
        viscosity=derive("gas viscosity", gas_physics.viscosity, fractions=fractions, temperature=cold))
    spread = derive("time to spread across the bore", physics.spreading_time, radius=radius, diffusivity=DIFFUSIVITY)
    along = derive("time along the pipe", physics.time_along, length=chosen.length, velocity=velocity)
    holds = verdict_of(reynolds, LAMINAR, "at most") == MET and verdict_of(along, spread, "at least") == MET
    if holds:
        work.work("purge.mixture", "mixture between a tenth and nine tenths gas, at the least velocity", "m",
                  physics.mixing_length, length=chosen.length, velocity=velocity, dispersion=derive(
                      "dispersion", physics.laminar_dispersion, radius=radius, velocity=velocity,
                      diffusivity=DIFFUSIVITY))
    faster = verdict_of(work.numbers["purge.velocity"].node, velocity, "at most") == NOT_MET
    slow = ("The length of the mixture holds for laminar flow, up to a Reynolds number of 2000, and leaves out that "
            "gas is lighter than air." if holds else
            "At the least velocity the formula for the length of the mixture does not hold, and none is given.")
    fast = " At the flow there is it does not hold: the formula for turbulent flow begins at 20,000." if faster else ""
    work.tell(NOTE, slow + fast, "Go by the instrument.")
