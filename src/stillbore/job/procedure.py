"""The order of work as a table: steps on nine cards, hard holds, and what each does to the barriers."""

from stillbore.errors import Fault, InputFaults
from stillbore.job.schema import Field, JobFile, Row, Schema, Section

CARDS = ("Arrive", "Dig", "Prove pipe", "Kit on", "Drill", "Stop", "Cut", "Renew or Cap", "Give back")
STATES = ("open", "closed", "proved", "permanent")
# What a step can do to an element, in the order in which it is done.
CHANGES = ("opens", "closes", "proves", "makes_permanent")
# What a question wants: a quantity, "yes" or "no", one of its choices, a whole number, words; or a gauge log, judged as
# a hold of the rig, as a watch past the stopper, or as a break-through.
SORTS = ("quantity", "yes or no", "choice", "count", "words", "gauge hold", "gauge let-by", "gauge break-through")
# How an answer must lie: to its limit, to two limits, to the choices, to an earlier answer.
WANTED = ("at most", "at least", "below", "within", "yes", "no", "good", "same")
HARD_HOLDS = 18
SOURCE_NODE, PIT_NODE, LEG_NODE = "main", "pit", "leg"

PROCEDURE = Schema("procedure", 1, "The order of work for one build of kit.", (
    Section("procedure", "the procedure as a whole", (
        Field("name", "text", "name", '"Isolation through two branches"'),
        Field("edition", "text", "edition", '"1"'),
        Field("statement", "text", "who stands behind it", '"Invented for demonstration."'),
    )),
    Section("space", "a space that gas can fill, beside the main, the leg, the pit and the kit's compartments", (
        Field("id", "text", "its name", '"old pipe"'),
    ), many=True),
    Section("element", "a part of the pipe that holds gas back, beside the joints and valves of the kit", (
        Field("id", "text", "its name in the steps", '"stopper"'),
        Field("between", "texts", "the two spaces it parts", '["main", "leg"]'),
        Field("state", "choice", "its state before the first step", '"open"', choices=STATES),
    ), many=True, least_rows=1),
    Section("step", "a step", (
        Field("id", "text", "its number", '"E6"'),
        Field("card", "choice", "the card it stands on", '"Stop"', choices=CARDS),
        Field("action", "text", "what is done, in the fewest words", '"Watch before venting"'),
        Field("must_be_true", "text", "what must be true to go on", '"No fall in 60 s"', optional=True),
        Field("stop_if", "text", "what stops the work", '"It falls: another user, or a leaking leg"', optional=True),
        Field("hold", "count", "number of the hard hold, 1 to 18; left out where there is none", "10", optional=True),
        Field("two_people", "flag", "whether a second person must witness it", "true", optional=True),
        Field("shows", "texts", "numbers of the plan shown with it", '["leg.volume"]', optional=True),
        Field("opens", "texts", "elements that it opens", '["hole"]', optional=True),
        Field("closes", "texts", "elements that it closes, not yet proved", '["stopper"]', optional=True),
        Field("proves", "texts", "closed elements that it proves", '["stopper"]', optional=True),
        Field("makes_permanent", "texts", "proved elements that from here on rank as pipe wall", '["gland"]',
              optional=True),
        Field("rests_on", "texts", "steps that must be done first, still stand, and still count (see counts_for)",
              '["E8", "E11"]', optional=True),
        Field("only_if", "texts", "answers that earlier steps must have, with | between those that will do",
              '["E11.coupon = in hand and whole | seen, and out"]', optional=True),
        Field("counts_for", "text", "the rule that says how long this step counts once it is done", '"letby.fresh"',
              optional=True),
        Field("repeats", "text", "the earlier step that this one does again", '"E8"', optional=True),
        Field("evidence", "texts", "what is kept with it: photo, gauge log or file", '["photo"]', optional=True),
        Field("other_gauge", "flag", "whether it is proved with another gauge than the rig's", "true", optional=True),
        Field("monitor", "flag", "whether a gas monitor, on and bump tested, must run", "true", optional=True),
    ), many=True, least_rows=1),
    Section("ask", "a question that a step asks, or a value that it measures", (
        Field("step", "text", "the step", '"B6"'),
        Field("name", "text", "its name within the step", '"pressure"'),
        Field("sort", "choice", "what kind of answer it wants", '"quantity"', choices=SORTS),
        Field("about", "text", "what is asked, in the fewest words", '"Pressure at the meter inlet"'),
        Field("unit", "text", "the unit it is wanted in; for a quantity", '"mbar"', optional=True),
        Field("wanted", "choice", "how it must lie to its limit", '"at most"', choices=WANTED, optional=True),
        Field("limit", "text", "the limit: a number of the plan, or rules.section.key", '"pressure.highest"',
              optional=True),
        Field("limit_to", "text", "the upper limit, where wanted is within two numbers", '"travel.feed_to"',
              optional=True),
        Field("same_as", "text", "the earlier answer that it must equal", '"E5.pieces"', optional=True),
        Field("choices", "texts", "what may be answered; for a choice", '["in hand and whole", "not found"]',
              optional=True),
        Field("good", "texts", "the choices with which the step may be done", '["in hand and whole"]', optional=True),
        Field("uncertainty", "text", "what to reckon with where none is said", '"0.3 mbar"', optional=True),
        Field("no_override", "flag", "whether no authoriser may pass it when it is not met", "true", optional=True),
        Field("optional", "flag", "whether the step can be done without it", "true", optional=True),
        Field("tells", "text", "the fact of the survey that it finds out", '"pipe.wall"', optional=True),
    ), many=True),
))


def check(procedure: JobFile, kit: JobFile) -> None:
    """Check a procedure against the kit it is to be worked with. Raises InputFaults with every fault."""
    compartments = {row.text("id") for row in kit.rows("compartment")}
    own = {row.text("id") for row in procedure.rows("space")}
    spaces = compartments | own | {SOURCE_NODE, PIT_NODE, LEG_NODE}
    faults: list[Fault] = []

    def fault(row: Row, what: str, known: set[str]) -> None:
        faults.append(Fault(row.place, what, f"Known are: {', '.join(sorted(known))}."))

    for row in kit.rows("joint"):
        if row.text("compartment") not in compartments:
            fault(row, f"The joint '{row.text('id')}' is on '{row.text('compartment')}', no compartment of this kit.",
                  compartments)
    for rows, known in ((kit.rows("valve"), compartments), (procedure.rows("element"), spaces)):
        for row in rows:
            if len(row.texts("between")) != 2 or not set(row.texts("between")) <= known:
                fault(row, f"'{row.text('id')}' does not lie between two spaces known here.", known)
    elements = {row.text("id") for rows in (kit.rows("joint"), kit.rows("valve"), procedure.rows("element"))
                for row in rows}
    for sort, groups in (("space", [kit.rows("compartment"), procedure.rows("space")]),
                         ("element", [kit.rows("joint"), kit.rows("valve"), procedure.rows("element")])):
        named = {SOURCE_NODE, PIT_NODE, LEG_NODE} if sort == "space" else set()
        for row in (row for rows in groups for row in rows):
            if row.text("id") in named:  # one of two would be lost from the graph, and a way to the pit with it
                faults.append(Fault(row.place, f"There is another {sort} named '{row.text('id')}'.",
                                    "Give each its own name."))
            named.add(row.text("id"))
    seen: set[str] = set()
    holds: set[object] = set()
    for row in procedure.rows("step"):
        if row.text("id") in seen:
            faults.append(Fault(row.place, f"The step '{row.text('id')}' stands twice.", "Give each its own number."))
        seen.add(row.text("id"))
        hold = row.values.get("hold")
        if hold is not None and (hold in holds or not 1 <= hold <= HARD_HOLDS):  # type: ignore[operator]
            faults.append(Fault(row.place, f"The hold {hold} of step '{row.text('id')}' is given twice, or is no hard "
                                           "hold.", f"Number each hard hold once, 1 to {HARD_HOLDS}."))
        holds.add(hold)
        for key in CHANGES:
            for name in set(row.texts(key)) - elements:
                fault(row, f"The step '{row.text('id')}' {key.replace('_', ' ')} '{name}', which neither kit nor "
                           "procedure has.", elements)
        if hold is not None and not row.values.get("two_people", False):
            faults.append(Fault(row.place, f"The hard hold {hold} is not witnessed.", "Write two_people = true."))
    missing = [str(number) for number in range(1, HARD_HOLDS + 1) if number not in holds]
    if missing:
        faults.append(Fault(procedure.name, f"The hard holds {', '.join(missing)} are in no step.",
                            f"Each hard hold, 1 to {HARD_HOLDS}, stands in one step."))
    if faults:
        raise InputFaults(faults)
