"""The rule set: every limit of the operator, dated and with its source; nothing in the code knows one by heart."""

from stillbore.job.schema import Field, Schema, Section


def _limit(key: str, about: str, example: str, unit: str) -> Field:
    return Field(key, "fact", about, f'{{ value = "{example}", source = "common practice" }}', unit=unit, least=0.0)


def _limits(key: str, about: str, *fields: Field) -> Section:
    return Section(key, about, fields, how="rule")


RULES = Schema("rules", 1, "The operator's limits, dated and with sources.", (
    Section("rules", "the rule set as a whole", (
        Field("name", "text", "name of the rule set", '"Example rules"'),
        Field("edition", "text", "edition", '"1"'),
        Field("date", "date", "date of the edition", "2030-01-01"),
        Field("statement", "text", "who stands behind these figures", '"Invented for demonstration."'),
    )),
    _limits(
        "pressure", "limits on the district's pressure",
        _limit("maximum_operating_pressure", "highest maximum operating pressure for this technique", "75 mbar",
               "Pa gauge"),
        _limit("sources", "independent sources for the maximum operating pressure", "2", "-"),
        _limit("above_set_pressure", "how far the district can run above its set pressure", "2 mbar", "Pa"),
        _limit("agreement", "how far the gauge may be from the pressure expected at break-through", "3 mbar", "Pa"),
        _limit("agreement_fraction", "the same, as a fraction of the pressure, if larger", "10 %", "-"),
        _limit("medium_pressure", "the pressure to be feared if the tier is wrong", "2 bar", "Pa gauge"),
    ),
    _limits(
        "gas", "what makes a gas the one it is called",
        _limit("main_component", "least share of the component that gives the gas its name", "70 %", "-"),
    ),
    _limits(
        "pipe", "limits on the pipe",
        _limit("least_wall", "least wall under the saddle", "2.0 mm", "m"),
        _limit("wall_caution", "below this share of the nominal medium wall an engineer decides", "85 %", "-"),
        _limit("ovality", "largest ovality", "1.5 %", "-"),
        _limit("diameter_readings", "readings of the outside diameter, at the least", "6", "-"),
        _limit("wall_readings", "readings of the wall, at the least", "12", "-"),
        _limit("least_uncertainty", "uncertainty below which no reading of diameter or wall is believed", "0.05 mm",
               "m"),
        _limit("identity_proofs", "independent proofs that this is the right pipe", "2", "-"),
    ),
    _limits(
        "travel", "limits on saw and travel",
        _limit("after_full_hole", "travel wanted beyond the full hole", "1.5 mm", "m"),
        _limit("before_far_wall", "travel kept short of the far wall", "2 mm", "m"),
        _limit("share_of_off_centre", "share of the largest off-centre that may be used", "50 %", "-"),
        _limit("saw_to_bore_caution", "saw to bore above which the saddle is centred by measurement", "0.90", "-"),
        _limit("saw_to_bore", "largest saw to bore", "0.95", "-"),
    ),
    _limits(
        "stopper", "limits on the stopper",
        _limit("force_factor", "rated force over push-out force, at least", "2", "-"),
        _limit("friction_factor", "grip by friction over push-out force, at least", "2", "-"),
    ),
    _limits(
        "strength", "limits on the drilled tube",
        _limit("largest_stress", "largest nominal bending stress beside the hole", "60 MPa", "Pa"),
        _limit("free_cantilever", "unpropped length of cut pipe to reckon with", "0.4 m", "m"),
        _limit("unpropped_span", "unpropped span to reckon with before the cut", "0.9 m", "m"),
        _limit("thread_to_saddle", "least distance from the saddle to a threaded joint", "150 mm", "m"),
        _limit("thread_to_cut", "least distance from the cut to a threaded joint", "50 mm", "m"),
    ),
    _limits(
        "bond", "electrical limits",
        _limit("voltage", "pipe-to-earth voltage at which the work stops", "25 V", "V"),
        _limit("voltage_caution", "pipe-to-earth voltage above which an engineer decides", "1 V", "V"),
        _limit("current", "bond current at which the work stops, natural gas", "1 A", "A"),
        _limit("current_with_hydrogen", "bond current at which the work stops, gas with hydrogen", "0.5 A", "A"),
        _limit("current_caution", "bond current above which an engineer decides", "0.1 A", "A"),
        _limit("resistance", "largest resistance of the bond", "50 mohm", "ohm"),
        _limit("hydrogen_from", "mole fraction from which a gas counts as one with hydrogen", "0.1 %", "-"),
    ),
    _limits(
        "integrity", "limits on the proof of the rig",
        _limit("leak_rate", "largest leak of the rig, as a flow of air", "0.03 l/h", "m3/s"),
        _limit("movements", "readable movements that make a fall", "3", "-"),
        _limit("volume_uncertainty", "uncertainty of the rig's volume", "20 %", "-"),
        _limit("longest_hold", "longest hold before a test is called not proven", "600 s", "s"),
        _limit("shortest_hold", "shortest hold", "120 s", "s"),
        _limit("gauge_over_test", "gauge range over test pressure, at least", "1.5", "-"),
        _limit("temperature_change", "temperature change over the hold to be reckoned with", "0.2 K", "K difference"),
        Field("zero", "fact", "where the gauge must stand at zero",
              '{ value = "-0.2..0.2 mbar", source = "common practice" }', unit="Pa gauge", least=-1e4),
    ),
    _limits(
        "letby", "limits on let-by past the stopper",
        _limit("leak_rate", "largest let-by", "0.1 l/h", "m3/s"),
        _limit("stop_rate", "let-by at which nothing is cut whatever the gauge does", "2 l/h", "m3/s"),
        _limit("watch", "length of the watch, at the least", "120 s", "s"),
        _limit("telling_rise", "rise at the limit that a watch must have time for: more than warming gas hides",
               "1.25 mbar", "Pa"),
        _limit("longest_watch", "longest watch before let-by is called not proven", "600 s", "s"),
        _limit("pressure_margin", "how far above the watched pressure a pass still counts", "5 mbar", "Pa"),
        _limit("fresh", "how long a pass stays fresh", "5 min", "s"),
        _limit("settle", "how long the vent stays open first, so that the gas warms again", "30 s", "s"),
        _limit("fall_before_venting", "largest fall in a minute before venting", "0.3 mbar", "Pa"),
    ),
    _limits(
        "locate", "what a leak hunt costs, and how far its signs can be trusted",
        _limit("fluid_check", "a look with leak fluid at a joint of which the kit says nothing", "20 s", "s"),
        _limit("fluid_sensitivity", "how often such a look shows a leak", "90 %", "-"),
        _limit("hold_partial", "a hold with valves shut", "75 s", "s"),
        _limit("hold_whole", "a hold of the whole rig", "60 s", "s"),
        _limit("repair", "mending a joint", "60 s", "s"),
        _limit("double_share", "how often two joints leak at once", "15 %", "-"),
        _limit("hit", "how often a hold fails that has a leak in it", "98 %", "-"),
        _limit("false", "how often a hold fails that has none", "2 %", "-"),
        _limit("passing", "how often a leak across a shut valve is felt", "5 %", "-"),
        _limit("repair_above", "suspicion at which a joint is mended", "80 %", "-"),
    ),
    _limits(
        "cut", "limits on the cut",
        _limit("least_width", "least width of the cutting window", "20 mm", "m"),
        _limit("breakthrough_time", "time in which the gauge comes up if the way is clear", "10 s", "s"),
    ),
    _limits(
        "release", "what is reckoned with if it goes wrong",
        _limit("usual_pit_volume", "volume of a pit nobody has measured", "0.49 m3", "m3"),
        _limit("air_changes", "air changes in a still pit", "1 1/h", "1/s"),
        _limit("fraction_out", "fraction of the lower flammable limit at which the pit is left", "10 %", "-"),
        _limit("fraction_emergency", "fraction of the lower flammable limit that is an emergency", "20 %", "-"),
        _limit("discharge_coefficient", "discharge coefficient of a drilled hole", "0.62..0.85", "-"),
        _limit("loss_coefficient", "losses of entry, saddle and bends of the service, as K", "1..3", "-"),
        _limit("roughness", "roughness of old steel pipe", "0.05..0.5 mm", "m"),
    ),
    _limits(
        "atmosphere", "what the atmosphere in the pit must be like, beside flammable gas",
        _limit("least_oxygen", "least oxygen", "19.5 %", "-"),
        _limit("most_oxygen", "most oxygen", "23.5 %", "-"),
        _limit("carbon_monoxide", "most carbon monoxide, in parts of a million", "30", "-"),
        _limit("hydrogen_sulphide", "most hydrogen sulphide, in parts of a million", "5", "-"),
    ),
    _limits(
        "new_pipe", "limits on the new pipe",
        _limit("deepest_score", "deepest score, as a share of the wall", "10 %", "-"),
        _limit("test_pressure", "test pressure, at the least", "350 mbar", "Pa gauge"),
        _limit("hold", "length of the test, at the least", "5 min", "s"),
        _limit("largest_fall", "largest fall in that time", "1 mbar", "Pa"),
        _limit("purged_to", "share of gas at the purge end, at the least", "90 %", "-"),
    ),
    _limits(
        "annulus", "limits on the annulus between old and new pipe",
        _limit("largest_rise", "largest rise in the watch", "0.3 mbar", "Pa"),
        _limit("watch", "length of the watch, at the least", "5 min", "s"),
    ),
    _limits(
        "abandoned", "what may be left",
        _limit("longest_stub", "longest live stub", "0.3 m", "m"),
    ),
    _limits(
        "people", "who must be there",
        _limit("least", "people at the pit", "2", "-"),
        _limit("oldest_measurement", "age at which a measurement is too old for the job", "720 h", "s"),
        _limit("expiry_warning", "warn this long before something expires", "720 h", "s"),
    ),
))
