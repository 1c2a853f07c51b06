"""What a crew's page shows, worked out from the state: the three numbers, the nine cards, the items of a step, and the
stretch in which nothing is asked. Nothing is decided here: what may happen, ``run.step`` says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import timedelta

from stillbore.job.procedure import CARDS
from stillbore.plan.barriers import PIPE_WALL
from stillbore.run.answers import BY_GAUGE_LOG, ZEROS, limit_words
from stillbore.run.basis import Ask, Step
from stillbore.run.fold import district_pressure
from stillbore.run.state import Answer, State

ASK, KEEP, SIGN, DONE = "ask", "keep", "sign", "done"
QUIET_CARD = "Cut"
MAXIMUM = "rules.pressure.maximum_operating_pressure"


@dataclass(frozen=True)
class Strip:
    """What is always in sight. ``barriers`` is "" where pipe wall closes every way; ``above``: the pressure is above
    its limit."""

    barriers: str
    way: tuple[str, ...]
    pressure: str
    unit: str
    at: str
    limit: str
    limit_unit: str
    above: bool


@dataclass(frozen=True)
class CardShown:
    name: str
    number: int
    done: int
    steps: int
    here: bool


@dataclass(frozen=True)
class Item:
    """One thing that a step wants: its key in the address, its sort, what it is about, what is wanted, how it
    stands."""

    key: str
    sort: str
    about: str
    wanted: str = ""
    said: str = ""
    verdict: str = ""
    settled: bool = False
    ask: Ask | None = None
    answer: Answer | None = None


def strip(state: State) -> Strip:
    """The three numbers."""
    last = state.district[-1] if state.district else None
    limit = state.basis.limits[MAXIMUM]
    number, _, unit = ZEROS.sub(r"\1", limit.text).partition(" ")
    now = district_pressure(state)
    return Strip("" if state.barriers == PIPE_WALL else str(state.barriers), state.way,
                 (last.value.number or last.value.written) if last else "", last.value.unit if last else "",
                 f"{last.at.at:%H:%M}" if last else "", number, unit,
                 now is not None and limit.low is not None and now > limit.low)


def cards(state: State, step: Step | None) -> list[CardShown]:
    """The nine cards, with how many steps of each are done."""
    found = []
    for number, name in enumerate(CARDS, 1):
        steps = [each for each in state.basis.steps if each.card == name]
        found.append(CardShown(name, number, sum(state.stands(each.id) for each in steps), len(steps),
                               step is not None and step.card == name))
    return found


def next_step(state: State) -> Step | None:
    return state.basis.step(state.next_steps[0]) if state.next_steps else None


def after(state: State, step: Step) -> Step | None:
    """The next step that is not done behind this one; the first that is not done where there is none behind it."""
    return next((each for each in state.basis.steps[step.place + 1:] if not state.stands(each.id)), next_step(state))


def items(state: State, step: Step) -> list[Item]:
    """What a step wants, in order: its questions, its evidence, its signatures, the word that it is done."""
    stands = state.stands(step.id)
    # What a step was done with is shown until somebody begins to do it again.
    old = stands and not (any(state.answer(ask.key) for ask in step.asks) or state.kept(step.id)
                          or state.signed(step.id))
    found = []
    for ask in step.asks:
        answer = state.answers.get(ask.key) if old else state.answer(ask.key)
        found.append(Item(f"{ASK}.{ask.name}", ASK, ask.about, limit_words(state, ask),
                          answer.value.written if answer else "", answer.verdict if answer else "",
                          answer is not None, ask, answer))
    for sort in step.evidence:
        kept = [each for each in (state.evidence.get(step.id, ()) if old else state.kept(step.id))
                if each.kept.sort == sort]
        found.append(Item(f"{KEEP}.{sort}", KEEP, sort, said=str(len(kept)) if kept else "", settled=bool(kept)))
    if step.signers:
        signed = list(state.done[step.id].people) if old else [each.person for each in state.signed(step.id)]
        found.append(Item(SIGN, SIGN, "", said=", ".join(signed), settled=len(signed) >= step.signers))
    found.append(Item(DONE, DONE, "", said=state.done[step.id].at.shown if stands else "", settled=old))
    return found


def first_open(found: list[Item]) -> Item:
    """The item that comes next; the last where all are settled. A question that may be left out is not pressed."""
    return next((item for item in found if not item.settled and not (item.ask and item.ask.optional)), found[-1])


def by_gauge(item: Item) -> bool:
    return item.ask is not None and item.ask.sort in BY_GAUGE_LOG


def quiet(state: State) -> tuple[Step, ...]:
    """The stretch in which hands are not free and nothing is asked: from the step that cuts to the hold that proves
    what closes the end. Empty where the next step is not the first of it, or something of it was entered already."""
    first = next_step(state)
    if first is None or first.card != QUIET_CARD or not first.touched("opens") or first.hold:
        return ()
    if any(state.answer(ask.key) for ask in first.asks):
        return ()
    behind = state.basis.steps[first.place:]
    end = next((number for number, step in enumerate(behind) if step.hold), len(behind) - 1)
    return behind[:end + 1]


def recorded(state: State, ask: Ask | None) -> str:
    """What the survey says of what a question finds out, in the question's unit; "" where it finds out no fact."""
    fact = state.basis.facts.get(ask.tells) if ask and ask.tells else None
    return replace(fact, shown=ask.unit).text if fact and ask else ""


def counting(state: State, steps: Iterable[Step]) -> list[tuple[Step, str]]:
    """What these steps rest on that goes stale, each with the time of day until which it counts."""
    found: dict[str, tuple[Step, str]] = {}
    for name in (name for step in steps for name in step.rests_on):
        other, done = state.basis.step(name), state.done.get(name)
        limit = state.basis.limits.get(f"rules.{other.counts_for}") if other and other.counts_for else None
        if other and done and done.stands and limit and limit.low is not None:
            found[name] = other, f"{done.at.at + timedelta(seconds=limit.low):%H:%M:%S}"
    return list(found.values())


def numbers_of(state: State, step: Step) -> list[tuple[str, str]]:
    """The numbers shown with a step: what each is, and its value."""
    return [(limit.title or name, limit.text) if (limit := state.basis.limits.get(name)) else (name, "unknown")
            for name in step.shows]
