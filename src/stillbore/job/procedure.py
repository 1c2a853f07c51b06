"""The order of work as a table: steps on nine cards, hard holds, and what each does to the barriers."""

from stillbore.errors import Fault, InputFaults
from stillbore.job.schema import Field, JobFile, Row, Schema, Section

CARDS = ("Arrive", "Dig", "Prove pipe", "Kit on", "Drill", "Stop", "Cut", "Renew or Cap", "Give back")
STATES = ("open", "closed", "proved", "permanent")
# What a step can do to an element, in the order in which it is done.
CHANGES = ("opens", "closes", "proves", "makes_permanent")
HARD_HOLDS = 18
ISOLATION_HOLDS = 16  # up to the bond; the last two belong to renewal and giving back
SOURCE_NODE, PIT_NODE, LEG_NODE = "main", "pit", "leg"

PROCEDURE = Schema("procedure", 1, "The order of work for one build of kit.", (
    Section("procedure", "the procedure as a whole", (
        Field("name", "text", "name", '"Isolation through two branches"'),
        Field("edition", "text", "edition", '"1"'),
        Field("statement", "text", "who stands behind it", '"Invented for demonstration."'),
    )),
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
    ), many=True, least_rows=1),
))


def check(procedure: JobFile, kit: JobFile) -> None:
    """Check a procedure against the kit it is to be worked with. Raises InputFaults with every fault."""
    compartments = {row.text("id") for row in kit.rows("compartment")}
    spaces = compartments | {SOURCE_NODE, PIT_NODE, LEG_NODE}
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
    for sort, groups in (("space", [kit.rows("compartment")]),
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
    missing = [str(number) for number in range(1, ISOLATION_HOLDS + 1) if number not in holds]
    if missing:
        faults.append(Fault(procedure.name, f"The hard holds {', '.join(missing)} are in no step.",
                            f"Each hard hold of the isolation, 1 to {ISOLATION_HOLDS}, stands in one step."))
    if faults:
        raise InputFaults(faults)
