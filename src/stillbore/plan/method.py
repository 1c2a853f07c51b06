"""Whether the method applies: the reasons, from material to feeds, and the result over the whole plan."""

from __future__ import annotations

from stillbore.derive import span_text
from stillbore.plan.bond import has_hydrogen
from stillbore.plan.parts import DOES_NOT_APPLY, ENGINEER, HOLD_OPEN, Grid, Section, Workings
from stillbore.plan.pipe import SIZE_NAMES
from stillbore.units import COMPONENTS
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

APPLIES = "applies"
# The components that give a gas its name.
NAMED_BY = {"natural gas": ("CH4",), "lean natural gas": ("CH4",), "methane": ("CH4",),
            "natural gas with hydrogen": ("CH4", "H2"), "hydrogen blend 20": ("CH4", "H2"), "hydrogen": ("H2",),
            "propane": ("C3H8",)}
# What a gas counts as where a kit says what it is approved for: methane is the test gas of the natural gases (EN 437,
# from memory).
KIND = {"lean natural gas": "natural gas", "methane": "natural gas", "hydrogen blend 20": "natural gas with hydrogen"}


def method(work: Workings) -> None:
    """The facts that are not numbers: material, gas, feeds, identity, order of work."""
    work.section("method", "Does the method apply")
    survey = work.survey
    found, recorded = survey.value("pipe.material"), survey.value("record.material")
    if found == "unknown":
        work.tell(HOLD_OPEN, f"The material of the pipe has not been found out (the record says {recorded}).",
                  "Clean it, try a magnet, look at the threads.", 4)
    elif found != "steel":
        work.tell(DOES_NOT_APPLY, f"The pipe is {found}; the method is for steel.",
                  "Another method, by an engineer.", 4)
    elif recorded not in ("steel", "unknown"):
        work.tell(ENGINEER, f"The record says {recorded}, the pipe is steel. It may be the wrong pipe.",
                  "Prove again that this is the right pipe.", 4)
    feeds = survey.value("supply.feeds")
    if feeds == "two sides":
        work.tell(DOES_NOT_APPLY, "Gas can come from two sides. One stopper isolates one direction only; the cut end "
                  "on the other side would stand open to gas.", "A way with a stopper on each side, by an engineer.", 2)
    elif feeds == "unknown":
        work.tell(HOLD_OPEN, "It is not known whether gas can come from more than one side.",
                  "Find out: records, tracing, and the watch before venting.", 2, 10)
    proofs = set(survey.row("pipe").texts("identity_proofs"))
    wanted = work.limit("pipe.identity_proofs")
    if len(proofs) < (wanted.high or 0.0):
        work.tell(HOLD_OPEN, f"There are {len(proofs)} proofs that this is the right pipe; {wanted.text} independent "
                  "ones are wanted.", "Trace it both ways; open a burner and watch the pressure.", 4)
    _gas(work)


def _gas(work: Workings) -> None:
    name = str(work.survey.value("gas.name"))
    approved = work.kit.row("kit").texts("approved_gases")
    if not _approved(name, approved):
        work.tell(DOES_NOT_APPLY, f"The gas is {name}; the kit is approved for {', '.join(approved)} only.",
                  "Take a kit whose stopper, seals and detectors are approved for this gas.", 6)
    composition = work.survey.fact("gas.composition").composition
    hydrogen = composition[COMPONENTS.index("H2")]
    threshold = work.limit("bond.hydrogen_from")
    blend = hydrogen >= (threshold.low or 0.0)
    if KIND.get(name, name) == "natural gas" and blend:
        level = ENGINEER if "natural gas with hydrogen" in approved else DOES_NOT_APPLY
        work.tell(level, f"The gas is called {name}, but {work.show(hydrogen, '-', '%')} of it is hydrogen; the kit is "
                  f"approved for {', '.join(approved)}.",
                  "Ask the network which it is; the kit's approval and the electrical limits depend on it.", 6)
    named = sum(composition[COMPONENTS.index(component)] for component in NAMED_BY[name])
    if named < (work.limit("gas.main_component").low or 0.0):
        work.tell(DOES_NOT_APPLY, f"The gas is called {name}, but only {work.show(named, '-', '%')} of it is "
                  f"{' or '.join(NAMED_BY[name])}.", "Find out what gas it is; another gas lies or rises otherwise.", 6)
    if "hydrogen" in name and not blend:
        work.tell(ENGINEER, f"The gas is called {name}, but its composition has no hydrogen.",
                  "Ask the network which it is.", 6)
    if has_hydrogen(work):
        work.tell(ENGINEER, "The gas has hydrogen in it. Infra-red and laser detectors do not see it and read low.",
                  "Use a detector calibrated for this blend; the lower current limit holds.", 3, 16)


def _approved(name: str, approved: tuple[str, ...]) -> bool:
    return name in approved or KIND.get(name, name) in approved


def reasons(work: Workings) -> Grid:
    """Every reason for and against in one table, with its margin; made last, when all checks are known."""
    survey, kit = work.survey, work.kit.row("kit")
    material = survey.value("pipe.material")
    rows = [
        ("material", f"{material} as found", "steel", _met(material, "steel")),
        ("size", SIZE_NAMES.get(work.size, "not decided"), "3/4 to 2 inch", MET if work.size else NOT_PROVEN),
        ("gas", str(survey.value("gas.name")), f"kit approved for {', '.join(kit.texts('approved_gases'))}",
         MET if _approved(str(survey.value("gas.name")), kit.texts("approved_gases")) else NOT_MET),
        ("feeds", str(survey.value("supply.feeds")), "one side", _met(survey.value("supply.feeds"), "one side")),
        ("who is fed", f"list complete: {survey.value('supply.fed_list_complete')}", "yes",
         _met(survey.value("supply.fed_list_complete"), "yes", "no")),
    ]
    if not survey.fact("pipe.wall").measured:
        rows.append(("wall", work.said(survey.fact("pipe.wall")) or "unknown", "measured", NOT_PROVEN))
    cells = [(*row, "") for row in rows]
    for section in work.sections:
        for check in section.checks:
            if check.means in (DOES_NOT_APPLY, ENGINEER):
                measured = span_text(check.measured, check.shown)
                wanted = f"{check.wanted} {span_text(check.limit, check.shown)}"
                cells.append((check.title, measured, wanted, check.verdict, check.margin))
    return Grid("Reasons, each with its margin", ("what", "found", "wanted", "verdict", "margin"), tuple(cells))


def _met(found: object, wanted: str, *also_open: str) -> str:
    """A fact in words against the one wanted; unknown is not proven."""
    if found == wanted:
        return MET
    return NOT_PROVEN if found == "unknown" or found in also_open else NOT_MET


def result(sections: list[Section]) -> str:
    """The result over every finding: the worst that any of them means."""
    levels = {finding.level for section in sections for finding in section.findings}
    return next((level for level in (DOES_NOT_APPLY, ENGINEER) if level in levels), APPLIES)
