"""The survey: what is known of one service, as the planner and the crew write it down."""

from stillbore.job.schema import Field, Schema, Section

SIZES = ("3/4", "1", "1 1/4", "1 1/2", "2")
GRADES = ("light", "medium", "heavy", "schedule 40", "schedule 80")
GASES = ("natural gas", "natural gas with hydrogen", "hydrogen", "propane")
MATERIALS = ("steel", "cast iron", "lead", "copper", "PE", "unknown")
# What may be in the way of a new pipe; plan/passing.py says what each lets through.
BENDS = ("pulled bend", "easy screwed bend", "screwed elbow", "straight socket", "reducer", "tee", "union", "plug cock",
         "siphon", "repair clamp")
SIDES = ("towards the main", "towards the house")
ROLES = ("team leader", "second operative", "jointer", "gas operative", "authorising engineer")

SURVEY = Schema("survey", 1, "What is known of one gas service: facts, each with how it is known, by whom and when.", (
    Section("job", "which job, which service, which house", (
        Field("id", "text", "the job's number", '"J-0001"'),
        Field("asset", "text", "the service's own number in the asset register", '"S-0001"'),
        Field("premises", "text", "the number of the premises it feeds", '"H-0001"'),
        Field("place", "text", "where it is, in words", '"1 Example Row, Exampleton"'),
        Field("latitude", "fact", "latitude of the pit, WGS 84", '"54.5 deg"', unit="rad", least=-1.5708, most=1.5708,
              optional=True),
        Field("longitude", "fact", "longitude of the pit, WGS 84", '"-10.5 deg"', unit="rad", least=-3.1416,
              most=3.1416, optional=True),
        Field("network", "text", "the network operator", '"Exampleton Gas Network"'),
        Field("procedure", "text", "the operator's own procedure that ranks above this plan, with its edition",
              '"EGN/SL/12 edition 3"'),
        Field("reason", "choice", "why", '"renewal"', choices=("renewal", "demolition", "vacancy", "leak",
                                                              "mains programme")),
        Field("route", "choice", "what follows the cut", '"cap and abandon"',
              choices=("cap and abandon", "renew towards the main", "renew towards the house")),
    )),
    Section("window", "when the work is planned", (
        Field("start", "time", "start of the working window", "2030-05-14T08:00:00+00:00"),
        Field("end", "time", "end of the working window", "2030-05-14T16:00:00+00:00"),
    )),
    Section("person", "who does it: ids, never names", (
        Field("id", "text", "the person's pseudonymous id", '"P1"'),
        Field("role", "choice", "the person's role on this job", '"team leader"', choices=ROLES),
        Field("authorisation", "text", "number of the authorisation", '"A-1001"'),
        Field("expires", "date", "last day of the authorisation", "2031-01-31"),
    ), many=True, least_rows=1),
    Section("permit", "permits and notices, and when they are live", (
        Field("reference", "text", "the permit's number", '"W-2001"'),
        Field("kind", "text", "what it is for", '"street works"'),
        Field("from", "date", "first day", "2030-05-13"),
        Field("until", "date", "last day", "2030-05-17"),
    ), many=True),
    Section("supply", "how the service is fed and whom it feeds", (
        Field("feeds", "choice", "from how many sides gas can come", '"one side"',
              choices=("one side", "two sides", "unknown")),
        Field("fed_list_complete", "choice", "whether every meter on the service is in the list below", '"yes"',
              choices=("yes", "no", "unknown")),
    )),
    Section("fed", "each house on this service", (
        Field("premises", "text", "the number of the premises", '"H-0001"'),
        Field("heat_input", "fact", "gross heat input of its appliances", '"30 kW"', unit="W", least=0.0, most=2e6,
              may_be_unknown=True),
        Field("meter_rating", "fact", "rating of its meter, for where the heat input is not known", '"6 m3/h"',
              unit="m3/s", least=0.0, most=1.0, may_be_unknown=True, optional=True),
        Field("off_gas_agreed", "choice", "whether the occupier has agreed to be off gas", '"yes"',
              choices=("yes", "no", "unknown")),
        Field("needs_care", "flag", "whether somebody there needs care (a flag only, no detail)", "false"),
    ), many=True, least_rows=1),
    Section("record", "what the asset register says", (
        Field("material", "choice", "material by record", '"steel"', choices=MATERIALS),
        Field("size", "choice", "nominal size by record", '"1"', choices=(*SIZES, "unknown")),
        Field("grade", "choice", "grade of tube by record", '"unknown"', choices=(*GRADES, "unknown")),
        Field("document", "text", "which record, of what date", '"service card 1962"'),
    )),
    Section("pipe", "what the pipe in the pit is", (
        Field("material", "choice", "material as found", '"steel"', choices=MATERIALS),
        Field("outside_diameter", "fact", "outside diameter, cleaned: two at right angles at three places",
              '{ readings = ["33.5 mm", "33.7 mm"], uncertainty = "0.1 mm" }', unit="m", least=5e-3, most=0.2,
              may_be_unknown=True),
        Field("wall", "fact", "wall thickness by ultrasonics, all readings, with the probe's uncertainty",
              '{ readings = ["3.0 mm", "3.2 mm"], uncertainty = "0.2 mm" }', unit="m", least=3e-4, most=0.02,
              may_be_unknown=True),
        Field("deepest_pit", "fact", "deepest corrosion pit under the gasket", '"0.2 mm"', unit="m", least=0.0,
              most=0.02, may_be_unknown=True),
        Field("identity_proofs", "texts", "independent proofs that this is the right pipe",
              '["tone traced both ways", "burner opened and pressure watched"]'),
    )),
    Section("site", "the pit and the lengths", (
        Field("clear_length", "fact", "straight pipe clear of sockets, bends and clamps", '"620 mm"', unit="m",
              least=0.0, most=20.0, may_be_unknown=True),
        Field("nearest_thread", "fact", "from the saddle's centre to the nearest threaded joint", '"400 mm"', unit="m",
              least=0.0, most=50.0, may_be_unknown=True),
        Field("pit_end", "fact", "from the saddle's centre to the end of the pit on the house side", '"480 mm"',
              unit="m", least=0.0, most=20.0, may_be_unknown=True),
        Field("pit_volume", "fact", "volume of the pit", '"0.5 m3"', unit="m3", least=0.02, most=50.0,
              may_be_unknown=True),
        Field("cover", "fact", "from the surface to the pipe's crown", '"0.45..0.6 m"', unit="m", least=0.0, most=5.0,
              may_be_unknown=True, optional=True),
        Field("water", "choice", "water in the ground at the pit", '"none seen"',
              choices=("none seen", "wet ground", "standing water", "unknown"), optional=True),
        Field("leg_length", "fact", "pipe from the saddle to the meter", '"9.5 m"', unit="m", least=0.0, most=200.0,
              may_be_unknown=True),
        Field("upstream_length", "fact", "pipe from the main to the saddle", '"2.5 m"', unit="m", least=0.0, most=200.0,
              may_be_unknown=True),
        Field("way_list_complete", "choice", "whether every bend, step and fitting on the way of a new pipe is in the "
              "lists below; left out is unknown", '"yes"', choices=("yes", "no", "unknown"), optional=True),
        Field("barometer", "fact", "atmospheric pressure", '"1013 mbara"', unit="Pa abs", least=6e4, most=1.1e5),
        Field("ground_temperature", "fact", "temperature of the ground at the pipe", '"9..12 degC"', unit="K",
              least=243.0, most=323.0),
    )),
    Section("other_size", "each length of the old service that is of another size than the pipe in the pit", (
        Field("side", "choice", "on which side of the cut", '"towards the main"', choices=SIDES),
        Field("size", "choice", "its nominal size", '"3/4"', choices=SIZES),
        Field("distance", "fact", "from the cut to where it begins, along the pipe", '"4 m"', unit="m", least=0.0,
              most=200.0, may_be_unknown=True),
        Field("length", "fact", "how long it is", '"3 m"', unit="m", least=0.0, most=200.0, may_be_unknown=True),
    ), many=True),
    Section("bend", "each bend or fitting that a new pipe has to go through, in order from the cut", (
        Field("side", "choice", "on which side of the cut", '"towards the main"', choices=SIDES),
        Field("kind", "choice", "what it is", '"pulled bend"', choices=BENDS),
        Field("distance", "fact", "from the cut, along the pipe", '"1.2 m"', unit="m", least=0.0, most=200.0,
              may_be_unknown=True),
        Field("angle", "fact", "angle that it turns by", '"30 deg"', unit="rad", least=0.0, most=3.15,
              may_be_unknown=True, optional=True),
        Field("radius", "fact", "radius of its centre line", '"135 mm"', unit="m", least=1e-3, most=100.0,
              may_be_unknown=True, optional=True),
        Field("flattening", "fact", "share of the bore that it has lost", '"2 %"', unit="-", least=0.0, most=1.0,
              may_be_unknown=True, optional=True),
    ), many=True),
    Section("pressure", "the district's pressure at this service", (
        Field("maximum_operating_pressure", "fact", "maximum operating pressure of the network here", '"75 mbar"',
              unit="Pa gauge", least=0.0, most=2e6, may_be_unknown=True),
        Field("maximum_operating_pressure_sources", "texts", "the independent sources it is known from",
              '["network control statement", "governor plate"]'),
        Field("operating", "fact", "pressure measured at the meter inlet", '"30 mbar"', unit="Pa gauge", least=0.0,
              most=2e6, may_be_unknown=True),
        Field("lowest", "fact", "lowest pressure to be expected", '"21 mbar"', unit="Pa gauge", least=0.0, most=2e6,
              may_be_unknown=True),
    )),
    Section("district", "set pressure of the district over the day", (
        Field("from", "time", "from when", "2030-05-14T06:00:00+00:00"),
        Field("until", "time", "until when", "2030-05-14T16:30:00+00:00"),
        Field("set_pressure", "fact", "set pressure of the governor, at this service", '"30 mbar"', unit="Pa gauge",
              least=0.0, most=2e6),
    ), many=True),
    Section("gas", "what flows in it", (
        Field("name", "choice", "the gas by name", '"natural gas"', choices=GASES),
        Field("composition", "composition", "mole fractions", '"CH4 0.93, C2H6 0.05, N2 0.02"', unit="mole fractions"),
    )),
    Section("electrical", "what the pipe carries besides gas", (
        Field("pipe_to_earth_voltage", "fact", "voltage of the pipe to remote earth, a.c.", '"0.2 V"', unit="V",
              least=0.0, most=1000.0, may_be_unknown=True),
        Field("bond_current", "fact", "current through the bond lead", '"0.02 A"', unit="A", least=0.0, most=1000.0,
              may_be_unknown=True),
    )),
))
