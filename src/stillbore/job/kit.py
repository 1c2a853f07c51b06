"""The kit: what the crew carries, and the rig as a graph of compartments, joints and valves."""

from stillbore.job.schema import Field, Schema, Section
from stillbore.job.survey import SIZES

BUILDS = ("two branches", "single branch")
SERIES = ("SDR 11", "SDR 17")
DATUMS = ("pilot contact", "saw contact")
NO_DATUM = ("Write counted_from = \"pilot contact\" or \"saw contact\", as the kit's maker states it. The same mark on "
            "the feed screw is two different depths; without the datum no travel can be planned.")


def _fact(key: str, about: str, example: str, unit: str, least: float, most: float, **more: object) -> Field:
    return Field(key, "fact", about, f'"{example}"', unit=unit, least=least, most=most, **more)  # type: ignore[arg-type]


KIT = Schema("kit", 1, "What the crew carries: saws, stoppers, gauge, bond, and the rig as a graph.", (
    Section("kit", "the kit as a whole", (
        Field("name", "text", "name of the kit", '"Example kit A"'),
        Field("statement", "text", "who stands behind these figures", '"Invented for demonstration."'),
        Field("build", "choice", "how drill and stopper get in", '"two branches"', choices=BUILDS),
        Field("procedure", "text", "build of the kit, by which the order of work is chosen", '"two_branches"'),
        Field("approved_gases", "texts", "gases the kit is approved for", '["natural gas"]'),
        _fact("maximum_pressure", "highest service pressure the kit is for", "75 mbar", "Pa gauge", 0.0, 1e6),
        _fact("test_pressure", "pressure at which the rig is proved", "100 mbar", "Pa gauge", 0.0, 1e6),
        _fact("mass", "mass hanging on the pipe", "6 kg", "kg", 0.0, 100.0),
        _fact("hand_load", "force of a hand on the drill", "300 N", "N", 0.0, 2000.0),
        Field("maker_inspection_until", "date", "the kit's inspection is valid until", "2031-03-31"),
    ), how="kit"),
    Section("travel", "how drill travel is counted", (
        Field("counted_from", "choice", "the datum: where travel is counted from", '"pilot contact"', choices=DATUMS,
              missing=NO_DATUM),
        _fact("screw_pitch", "travel of one turn of the feed screw", "1.5 mm", "m", 1e-4, 0.02),
        _fact("backlash", "play of the feed screw", "0.2..0.5 mm", "m", 0.0, 5e-3),
    ), how="kit"),
    Section("saw", "a hole saw with its pilot, set up for one size", (
        Field("id", "text", "serial number", '"SAW-1"'),
        Field("size", "choice", "the pipe size it is for", '"1"', choices=SIZES),
        _fact("diameter", "outside diameter over the teeth", "24 mm", "m", 5e-3, 0.06),
        _fact("kerf", "width of its cut", "1.5 mm", "m", 3e-4, 5e-3),
        _fact("run_out", "run-out of the teeth, side to side", "0.2 mm", "m", 0.0, 5e-3),
        _fact("pilot_diameter", "diameter of the pilot", "6 mm", "m", 1e-3, 0.015),
        _fact("pilot_point_angle", "angle of the pilot's point", "118 deg", "rad", 1.0, 3.0),
        _fact("pilot_lead", "how far the pilot's tip stands ahead of the teeth", "6 mm", "m", 0.0, 0.05),
        _fact("stated_travel", "travel the kit's maker states for this size, from the kit's datum", "17 mm", "m", 0.0,
              0.1, optional=True),
        Field("holes_cut", "count", "holes it has cut", "4"),
        Field("holes_most", "count", "holes it may cut", "20"),
    ), many=True, least_rows=1, how="kit"),
    Section("stopper", "a stopper", (
        Field("id", "text", "serial number", '"ST-1"'),
        Field("size", "choice", "the pipe size it is for", '"1"', choices=SIZES),
        _fact("free_diameter", "diameter when free", "29 mm", "m", 5e-3, 0.08),
        _fact("length", "sealing length", "40 mm", "m", 5e-3, 0.2),
        _fact("least_squeeze", "least squeeze at which it seals", "4 %", "-", 0.0, 0.5),
        _fact("most_squeeze", "most squeeze at which it can be set by hand", "15 %", "-", 0.0, 0.6),
        _fact("rated_force", "push-out force it is rated to hold", "12 N", "N", 0.0, 1000.0),
        _fact("contact_pressure", "pressure of its face on the bore", "20 kPa", "Pa", 0.0, 1e6),
        _fact("friction_coefficient", "friction of its face on the bore, wet to dry", "0.15..0.3", "-", 0.0, 2.0),
        _fact("setting_force", "largest hand force to set it", "40 N", "N", 0.0, 500.0),
        _fact("reverse_pressure", "pressure difference from the house side that it holds when set", "0 mbar", "Pa",
              0.0, 1e6),
        Field("uses", "count", "times it has been used", "2"),
        Field("uses_most", "count", "times it may be used", "10"),
        Field("expires", "date", "last day of its life", "2031-06-30"),
    ), many=True, least_rows=1, how="kit"),
    Section("saddle", "the saddle and what must stand beside it", (
        _fact("half_length", "from its centre to its end", "65 mm", "m", 0.01, 0.5),
        _fact("stopper_tail", "length the stopper's gear takes up on the house side", "0 mm", "m", 0.0, 0.5),
        _fact("gland_grip", "length of pipe the gland needs", "65 mm", "m", 0.0, 0.5),
        _fact("cutter_half_width", "half width of the cutter on the pipe", "20 mm", "m", 0.0, 0.2),
        _fact("cutter_swing", "room the cutter needs to swing", "80 mm", "m", 0.0, 0.5),
        _fact("bond_clamp", "width of the bond clamp", "40 mm", "m", 0.0, 0.2),
        _fact("height", "height of the branch flange above the pipe's crown", "60 mm", "m", 0.0, 0.5),
        _fact("gasket_pit", "deepest pit the gasket seals", "0.4 mm", "m", 0.0, 5e-3),
        _fact("centring", "how far off centre the saddle can sit when fitted as instructed", "0.5 mm", "m", 0.0, 5e-3),
        Field("may_stay_buried", "flag", "whether it is type-approved to stay", "false"),
    ), how="kit"),
    Section("insert", "a new pipe that can be pushed through the old one", (
        Field("id", "text", "its name", '"PE-25"'),
        _fact("outside_diameter", "outside diameter, least to most", "25.0..25.3 mm", "m", 5e-3, 0.2),
        _fact("wall", "wall, least to most, of the pipe carried: editions differ", "2.3..2.7 mm", "m", 5e-4, 0.02,
              may_be_unknown=True),
        Field("series", "choice", "its series; where the wall is not known, all walls of it are shown", '"SDR 11"',
              choices=SERIES, optional=True),
        _fact("nose_length", "length of its nose that does not bend", "0 mm", "m", 0.0, 2.0, optional=True),
        _fact("excess_flow_valve", "loss of the excess-flow valve that goes with it, as K of its bore", "4", "-", 0.0,
              1e4, optional=True),
    ), many=True, how="kit"),
    Section("gauge", "the rig's gauge", (
        Field("id", "text", "serial number", '"G-1"'),
        _fact("range", "full scale", "160 mbar", "Pa gauge", 0.0, 1e7),
        _fact("readable_movement", "smallest movement that can be read", "0.1 mbar", "Pa", 0.0, 1e5),
        Field("calibrated_until", "date", "calibration is valid until", "2031-02-28"),
        Field("compartment", "text", "the compartment it reads, for finding a leak", '"gauge line"', optional=True),
    ), how="kit"),
    Section("test_gauge", "a gauge for the test of the new pipe, whose range the rig's gauge does not have", (
        Field("id", "text", "serial number", '"G-2"'),
        _fact("range", "full scale", "500 mbar", "Pa gauge", 0.0, 1e7),
        _fact("readable_movement", "smallest movement that can be read", "0.5 mbar", "Pa", 0.0, 1e5),
        Field("calibrated_until", "date", "calibration is valid until", "2031-02-28"),
    ), many=True, how="kit"),
    Section("bond", "the continuity bond", (
        Field("id", "text", "serial number", '"B-1"'),
        _fact("lead_length", "length of the lead", "3 m", "m", 0.1, 100.0),
        _fact("conductor_area", "cross-section of its copper", "16 mm2", "m2", 1e-7, 1e-3),
        _fact("clamp_resistance", "resistance of both clamps together, measured at its last check", "2 mohm", "ohm",
              0.0, 1.0),
        _fact("circuit_inductance", "inductance of the loop that would be broken", "50 uH", "H", 0.0, 0.1),
        Field("checked_until", "date", "resistance check is valid until", "2030-06-30"),
    ), how="kit"),
    Section("compartment", "a space of the rig that holds gas", (
        Field("id", "text", "its name in the procedure", '"saddle"'),
        _fact("volume", "its volume", "0.12 l", "m3", 0.0, 0.1),
    ), many=True, least_rows=1, how="kit"),
    Section("joint", "a joint through which a compartment could leak into the pit", (
        Field("id", "text", "its name in the procedure", '"saddle gasket"'),
        Field("compartment", "text", "the compartment it closes", '"saddle"'),
        _fact("prior", "how often it is the one that leaks, against the others", "0.2", "-", 0.0, 1000.0,
              optional=True),
        _fact("fluid_check", "how long a look at it with leak fluid takes", "20 s", "s", 1.0, 3600.0, optional=True),
        _fact("fluid_sensitivity", "how often such a look shows its leak", "90 %", "-", 0.01, 1.0, optional=True),
    ), many=True, least_rows=1, how="kit"),
    Section("valve", "a valve between two compartments", (
        Field("id", "text", "its name in the procedure", '"drill valve"'),
        Field("between", "texts", "the two compartments", '["saddle", "drill branch"]'),
    ), many=True),
))

