"""Where the pipe may be cut, and whether there is straight pipe enough."""

from __future__ import annotations

from stillbore.physics import window as physics
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, Workings


def cutting_window(work: Workings) -> None:
    """From the saddle's centre, on the house side; empty is an answer."""
    work.section("window", "Cutting window")
    saddle, site = work.kit.fact, work.survey.fact
    start = work.work("window.from", "cut from, from the saddle's centre", "mm", physics.cut_start,
                      half_length=saddle("saddle.half_length"), stopper_tail=saddle("saddle.stopper_tail"),
                      gland_grip=saddle("saddle.gland_grip"), cutter_half_width=saddle("saddle.cutter_half_width"))
    end = work.work("window.to", "cut to, from the saddle's centre", "mm", physics.cut_end,
                    pit_end=site("site.pit_end"), cutter_swing=saddle("saddle.cutter_swing"),
                    bond_clamp=saddle("saddle.bond_clamp"), nearest_thread=site("site.nearest_thread"),
                    thread_margin=work.limit("strength.thread_to_cut"))
    width = work.work("window.width", "width of the cutting window", "mm", physics.beyond,
                      reached=end, wanted=start)
    work.at_least("cutting window", width, work.limit("cut.least_width"), "mm", DOES_NOT_APPLY, 13,
                  do="There is no place to cut: lengthen the pit on the house side, or move the saddle.")
    needed = work.work("window.needed_length", "clear straight length needed", "mm", physics.clear_length_needed,
                       half_length=saddle("saddle.half_length"), cut_start_length=start,
                       cutter_half_width=saddle("saddle.cutter_half_width"), gland_grip=saddle("saddle.gland_grip"),
                       bond_clamp=saddle("saddle.bond_clamp"))
    work.keep("clear straight length found", site("site.clear_length"), "mm")
    work.at_least("clear straight length", site("site.clear_length"), needed, "mm", ENGINEER, 13,
                  do="Dig on, or move the pit.")
