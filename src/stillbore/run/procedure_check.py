"""What is wrong with an order of work, beyond its shape: found before anybody works by it, all of it at once.

Three rooms: this one reads the table (what rests on what, the questions, the limits they name); ``procedure_barriers``
goes through it once and watches the barriers; ``procedure_traps`` works it through as a job would be, and again and
again with something opened anew, and looks whether an end can still be reached.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from stillbore.errors import Fault, InputFaults, UnitError
from stillbore.job.files import EXAMPLE_RULES, EXAMPLE_SURVEY, example_text
from stillbore.job.kit import DATUMS, KIT
from stillbore.job.procedure import check as check_shape
from stillbore.job.rules import RULES
from stillbore.job.schema import JobFile, load_text
from stillbore.job.survey import SURVEY
from stillbore.plan import numbers
from stillbore.plan.parts import Number
from stillbore.record.events import EVIDENCE
from stillbore.run.answers import BY_GAUGE_LOG
from stillbore.run.basis import Ask, Step, limits, steps
from stillbore.run.limit import Limit
from stillbore.run.procedure_barriers import barrier_faults
from stillbore.run.procedure_traps import traps
from stillbore.units import UNITS, parse

BY_LIMIT = ("at most", "at least", "below", "within")
SHIPPED_KITS = {"two branches": "kit_two_branches.toml", "single branch": "kit_single_branch.toml"}
# What each sort of question may want.
FITS: Mapping[str, tuple[str, ...]] = {
    "quantity": BY_LIMIT, "yes or no": ("yes", "no"), "choice": ("good",), "count": ("same",), "words": (),
    **dict.fromkeys(BY_GAUGE_LOG, ("good",))}


def checked(procedure: JobFile, kit: JobFile, rules: JobFile) -> None:
    """Raises InputFaults with every fault of an order of work, for this kit and this rule set."""
    found = faults(procedure, kit, rules)
    if found:
        raise InputFaults(found)


def faults(procedure: JobFile, kit: JobFile, rules: JobFile) -> list[Fault]:
    """Every fault, each with its place and how to mend it. What could not even be worked through is not looked at for
    traps: those faults come first."""
    found: list[Fault] = []
    try:
        check_shape(procedure, kit)
    except InputFaults as error:
        found += error.faults
    known = _known_limits(kit, rules)
    table = _Table(procedure, known, str(kit.value("travel.counted_from")))
    found += table.faults()
    if not table.sound or found and any("neither kit nor" in fault.what for fault in found):
        return found
    found += barrier_faults(procedure, kit)
    if not found:
        found += traps(table.steps, procedure, kit, known)
    return found


def _known_limits(kit: JobFile, rules: JobFile) -> Mapping[str, Limit]:
    """Every number that a plan can have, by name: with this kit and these rules, and, for numbers that the example pipe
    leaves out with this kit, with the shipped kit of the same build."""
    survey = load_text(SURVEY, example_text(EXAMPLE_SURVEY), EXAMPLE_SURVEY)
    name = SHIPPED_KITS[str(kit.value("kit.build"))]
    shipped = load_text(KIT, example_text(name), name)
    example_rules = load_text(RULES, example_text(EXAMPLE_RULES), EXAMPLE_RULES)
    found = _as_limits(numbers(survey, shipped, example_rules)) | _as_limits(numbers(survey, kit, rules))
    return limits(found, kit, rules)


def _as_limits(found: Mapping[str, Number]) -> dict[str, Limit]:
    return {name: Limit(name, number.node.low, number.node.high, number.node.unit, number.shown)
            for name, number in found.items()}


class _Table:
    """The table of an order of work, and where each row of it stands."""

    def __init__(self, procedure: JobFile, known: Mapping[str, Limit], datum: str) -> None:
        self.procedure, self.known, self.datum = procedure, known, datum
        self.steps = steps(procedure)
        self.by_id = {step.id: step for step in self.steps}
        self.places = {row.text("id"): row.place for row in procedure.rows("step")}
        self.asks = {ask.key: ask for step in self.steps for ask in step.asks}
        self.ask_places = {f"{row.text('step')}.{row.text('name')}": row.place for row in procedure.rows("ask")}

    @property
    def sound(self) -> bool:
        """Whether each step is there once, so that the table can be gone through."""
        return len(self.by_id) == len(self.steps)

    def faults(self) -> list[Fault]:
        found = [*self._lost_asks()]
        for step in self.steps:
            found += [Fault(self.places[step.id], what, fix) for what, fix in (
                *self._order(step), *self._repeats(step), *self._conditions(step), *self._keeps(step))]
            for ask in step.asks:
                found += [Fault(self.ask_places[ask.key], what, fix) for what, fix in (
                    *self._shape(ask), *self._limit(ask), *self._same(ask))]
        return found

    def _lost_asks(self) -> Iterator[Fault]:
        seen = set()
        for row in self.procedure.rows("ask"):
            key = f"{row.text('step')}.{row.text('name')}"
            if row.text("step") not in self.by_id:
                yield Fault(row.place, f"The question '{key}' belongs to no step.", "Write the number of a step.")
            elif key in seen:
                yield Fault(row.place, f"The question '{key}' stands twice.", "Give each its own name.")
            seen.add(key)

    def _earlier(self, step: Step, name: str, does: str) -> Iterator[tuple[str, str]]:
        """Whether a step that another one needs is there and comes before it."""
        other = self.by_id.get(name)
        if other is None:
            yield f"{step.id} {does} {name}, which is no step: it can never be done.", "Name a step of this table."
        elif other.place == step.place:
            yield f"{step.id} {does} itself: it can never be done.", "Take it out."
        elif other.place > step.place:
            yield (f"{step.id} {does} {name}, which comes later: it can never be done.",
                   "Name an earlier step, or put the steps into their order.")

    def _order(self, step: Step) -> Iterator[tuple[str, str]]:
        for name in step.rests_on:
            yield from self._earlier(step, name, "rests on")
        if step.counts_for:
            limit = self.known.get(f"rules.{step.counts_for}")
            if limit is None:
                yield (f"{step.id} counts for '{step.counts_for}', which the rule set does not have.",
                       "Name a rule as section.key, such as letby.fresh.")
            elif limit.unit != "s":
                yield f"{step.id} counts for '{step.counts_for}', which is no time.", "Name a rule that is a time."
            if step.touched("opens"):
                yield (f"{step.id} counts for a time only, and opens something: once it has gone stale it can not be "
                       "done again.", "Let a step of its own prove, and count.")
        for name in step.shows:
            if name not in self.known:
                yield (f"{step.id} shows '{name}', which no plan has with this kit.",
                       "Name a number of the plan; 'stillbore plan' lists them.")

    def _repeats(self, step: Step) -> Iterator[tuple[str, str]]:
        if not step.repeats:
            return
        yield from self._earlier(step, step.repeats, "repeats")
        first = self.by_id.get(step.repeats)
        if first is None or first.place >= step.place:
            return
        lost = first.touched("proves") - step.touched("proves")
        if lost:
            yield (f"{step.id} repeats {first.id} and does not prove {', '.join(sorted(lost))}.",
                   f"Let it prove all that {first.id} proves.")
        if first.signers > step.signers:
            yield f"{step.id} repeats {first.id} and is not witnessed as it is.", "Write two_people = true."
        if set(first.evidence) - set(step.evidence):
            yield (f"{step.id} repeats {first.id} and does not keep its evidence.",
                   f"Write evidence = [{', '.join(repr(each) for each in first.evidence)}].")

    def _conditions(self, step: Step) -> Iterator[tuple[str, str]]:
        allowed: dict[str, set[str]] = {}
        for condition in step.only_if:
            key, equals, choices = (part.strip() for part in condition.partition("="))
            wanted = {choice.strip() for choice in choices.split("|") if choice.strip()}
            ask = self.asks.get(key)
            if not equals or not wanted:
                yield (f"{step.id} is done only if '{condition}', which cannot be read.",
                       'Write it as "E11.coupon = in hand and whole | in pieces, all out".')
                continue
            if ask is None:
                yield (f"{step.id} is done only if {key} is answered, which nothing asks: it can never be done.",
                       "Name a question as step.name.")
                continue
            yield from self._earlier(step, ask.step, "is done only by an answer of")
            can_be = set(ask.choices) if ask.sort == "choice" else {"yes", "no"} if ask.sort == "yes or no" else None
            if can_be is None:
                yield f"{step.id} is done only by {key}, which is no choice.", "Name a choice, or a yes or no."
            elif not wanted <= can_be:
                yield (f"{step.id} is done only if {key} is {' or '.join(sorted(wanted - can_be))}, which cannot be "
                       "answered there.", f"It can be: {', '.join(sorted(can_be))}.")
            allowed[key] = allowed.get(key, wanted) & wanted
            if not allowed[key]:
                yield f"{step.id} wants {key} to be two things at once: it can never be done.", "Leave one of them out."

    def _keeps(self, step: Step) -> Iterator[tuple[str, str]]:
        for sort in set(step.evidence) - set(EVIDENCE):
            yield f"{step.id} keeps '{sort}', which is no sort of evidence.", f"Known are: {', '.join(EVIDENCE)}."
        if any(ask.sort in BY_GAUGE_LOG for ask in step.asks) and "gauge log" not in step.evidence:
            yield (f"{step.id} is judged by a gauge log and does not keep it.", 'Write evidence = ["gauge log"].')
        if step.touched("opens") and not step.monitor:
            yield f"{step.id} opens something, and no gas monitor is wanted.", "Write monitor = true."
        if not step.hold:
            return
        for ask in step.asks:
            if ask.sort not in ("quantity", "count", "words") and not ask.wanted:
                yield (f"{ask.key} stands at the hard hold {step.hold}, and any answer will do.",
                       "Say which answer is wanted, or ask it at another step.")
        if not [ask for ask in step.asks if not ask.optional]:
            yield f"The hard hold {step.hold} ({step.id}) asks nothing.", "Ask what must be true, as an [[ask]]."
        elif not self._has_evidence(step) and not any(
                self._has_evidence(self.by_id[name]) for name in step.rests_on if name in self.by_id):
            yield (f"The hard hold {step.hold} ({step.id}) is ticks alone: nothing is measured, stated or kept, and it "
                   "rests on no step that does so.", "Measure something, ask for words, or keep a photo or gauge log.")

    @staticmethod
    def _has_evidence(step: Step) -> bool:
        """Whether something stays of it beside ticks: a file, a value measured or counted, or a statement."""
        return bool(step.evidence) or any(ask.sort in ("quantity", "count", "words") and not ask.optional
                                          for ask in step.asks)

    def _shape(self, ask: Ask) -> Iterator[tuple[str, str]]:
        if ask.wanted and ask.wanted not in FITS[ask.sort]:
            yield (f"{ask.key} is a {ask.sort} and wants '{ask.wanted}'.",
                   f"It can want: {', '.join(FITS[ask.sort]) or 'nothing'}.")
        if ask.sort == "choice":
            if not ask.choices:
                yield f"{ask.key} is a choice without choices.", "Write choices = [...]."
            if ask.wanted == "good" and not ask.good:
                yield f"{ask.key} wants one of the good choices, and none is.", "Write good = [...]."
            if set(ask.good) - set(ask.choices):
                yield (f"{ask.key} has good choices that cannot be chosen: "
                       f"{', '.join(sorted(set(ask.good) - set(ask.choices)))}.", "Write them into choices, or out.")
            if set(ask.choices) == set(DATUMS) and ask.good != (self.datum,):
                yield (f"{ask.key} takes travel as counted from {' or '.join(ask.good) or 'nowhere'}; this kit counts "
                       f"it from {self.datum}.", f'Write good = ["{self.datum}"].')
        if ask.sort == "quantity" and not (ask.unit and any(ask.unit in units for units in UNITS.values())):
            yield f"{ask.key} has no unit that is known: '{ask.unit}'.", 'Write it, as unit = "mbar".'

    def _limit(self, ask: Ask) -> Iterator[tuple[str, str]]:
        named = [name for name in (ask.limit, ask.limit_to) if name]
        for name in named:
            limit = self.known.get(name)
            if limit is None:
                yield (f"The limit '{name}' of {ask.key} is neither in the rule set nor a number of the plan.",
                       "Name a number of the plan, or rules.section.key.")
            elif ask.unit and ask.unit not in UNITS.get(limit.unit, {}):
                yield f"{ask.key} is asked in '{ask.unit}', and its limit '{name}' is no such quantity.", \
                    "Ask in a unit of its limit."
        if ask.wanted in BY_LIMIT and not ask.limit:
            yield f"{ask.key} wants '{ask.wanted}' and names no limit.", "Write limit = the name of a number or a rule."
        if named and ask.wanted not in BY_LIMIT:
            yield f"{ask.key} names a limit and does not say how it must lie to it.", "Write wanted."
        if ask.sort == "quantity" and named:
            yield from self._spread(ask)

    @staticmethod
    def _spread(ask: Ask) -> Iterator[tuple[str, str]]:
        if not ask.uncertainty:
            yield (f"{ask.key} is held to a limit and has no uncertainty to reckon with.",
                   'Write what holds where none is said, as uncertainty = "0.3 mbar".')
            return
        family = next((si for si, units in UNITS.items() if ask.unit in units), "-")
        try:
            parse(ask.uncertainty, {"K": "K difference", "Pa gauge": "Pa", "Pa abs": "Pa"}.get(family, family))
        except UnitError as error:
            yield f"The uncertainty of {ask.key} cannot be read: {error.what}", error.fix

    def _same(self, ask: Ask) -> Iterator[tuple[str, str]]:
        if ask.wanted != "same" and not ask.same_as:
            return
        other = self.asks.get(ask.same_as)
        if other is None:
            yield f"{ask.key} must be the same as '{ask.same_as}', which nothing asks.", "Name a question as step.name."
        elif self.by_id[other.step].place >= self.by_id[ask.step].place:
            yield f"{ask.key} must be the same as {ask.same_as}, which is asked later.", "Name an earlier question."
        elif other.sort != ask.sort:
            yield f"{ask.key} must be the same as {ask.same_as}, which is a {other.sort}.", "Compare like with like."
        if ask.same_as and ask.wanted != "same":
            yield f"{ask.key} names an answer to equal and does not want the same.", 'Write wanted = "same".'


def kit_of(procedure: JobFile) -> JobFile:
    """The shipped kit that an order of work fits best: the one whose parts it names."""
    kits = [load_text(KIT, example_text(name), name) for name in SHIPPED_KITS.values()]

    def misfits(kit: JobFile) -> int:
        try:
            check_shape(procedure, kit)
        except InputFaults as error:
            return len(error.faults)
        return 0

    return min(kits, key=misfits)


