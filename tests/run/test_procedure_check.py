"""What the check of an order of work finds: none in the shipped ones, and each sort of fault where one is written in.

Each fault is made by a change to a shipped order of work that a careless hand could make. What must not be comes from
the handbook: trade.md 2.1 (never two one-barrier windows at once, never one begun on a stale or unknown test, only
proved barriers count), 8 (a blank is no pass) and the hold list of 2.
"""

import random
import re

import pytest

from stillbore.errors import InputFaults
from stillbore.job.files import example_text
from stillbore.job.kit import KIT
from stillbore.job.procedure import PROCEDURE
from stillbore.job.rules import RULES
from stillbore.job.schema import load_text
from stillbore.job.shipped import BUILDS, ROUTES, composed
from stillbore.run.procedure_barriers import stages, ways_out
from stillbore.run.procedure_check import checked, faults, kit_of

KITS = {build: load_text(KIT, example_text(f"kit_{build}.toml"), build) for build in BUILDS}
EXAMPLE_RULES = load_text(RULES, example_text("rules.toml"), "rules.toml")
MAIN, CAP, HOUSE = "renew towards the main", "cap and abandon", "renew towards the house"


def shipped(route=MAIN, build="two_branches"):
    return composed(build, route)


def blocks(text):
    """The text cut before each of its tables."""
    return re.split(r"(?=^\[\[?\w+\]\]?$)", text, flags=re.M)


def step(text, step_id, *changes):
    """The text with changes in one step's table."""
    return _changed(text, f'[[step]]\nid = "{step_id}"\n', changes)


def ask(text, key, *changes):
    step_id, name = key.split(".")
    return _changed(text, f'[[ask]]\nstep = "{step_id}"\nname = "{name}"\n', changes)


def _changed(text, head, changes):
    parts = blocks(text)
    [place] = [number for number, part in enumerate(parts) if part.startswith(head)]
    for old, new in changes:
        assert old in parts[place], (head, old)
        parts[place] = parts[place].replace(old, new, 1)
    return "".join(parts)


def without(text, *heads):
    """The text without the tables that begin so."""
    parts = blocks(text)
    kept = [part for part in parts if not part.startswith(heads)]
    assert len(kept) < len(parts)
    return "".join(kept)


def found(text, build="two_branches"):
    return faults(load_text(PROCEDURE, text, "mine.toml"), KITS[build], EXAMPLE_RULES)


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("build", BUILDS)
def test_the_shipped_ones_have_none(route, build):
    assert [str(fault) for fault in found(shipped(route, build), build)] == []


# name: (a shipped order of work made faulty, the step or question named, words of the sentence)
E8 = 'rests_on = ["E5", "E7"]\n'
TABLE = {
    "rests on itself": (lambda: step(shipped(), "E8", (E8, 'rests_on = ["E8"]\n')), "E8", "rests on itself"),
    "rests on a later step": (lambda: step(shipped(), "E8", (E8, 'rests_on = ["E5", "E19"]\n')), "E8", "comes later"),
    "rests on none": (lambda: step(shipped(), "E8", (E8, 'rests_on = ["E5", "E77"]\n')), "E77", "which is no step"),
    "repeats itself": (lambda: step(shipped(), "E10e", ('repeats = "E8"', 'repeats = "E10e"')), "E10e",
                       "repeats itself"),
    "repeats a later step": (lambda: step(shipped(), "E8", (E8, f'{E8}repeats = "E10e"\n')), "E8",
                             "repeats E10e, which comes later"),
    "repeats without the proof": (
        lambda: step(shipped(), "E10e", ('proves = ["stopper"]\n', "")), "E10e", "does not prove stopper"),
    "repeats with one person": (
        lambda: step(shipped(), "E10e", ("two_people = true\n", "")), "E10e", "not witnessed as it is"),
    "repeats without the evidence": (
        lambda: ask(step(shipped(), "E10e", ('evidence = ["gauge log"]\n', "")), "E10e.watch",
                    ('"gauge let-by"', '"choice"'), ('wanted = "good"\n', 'choices = ["a"]\n')),
        "E10e", "does not keep its evidence"),
    "only if nothing asks": (
        lambda: step(shipped(), "F4", ("E11.coupon =", "E11.cupon =")), "F4", "which nothing asks"),
    "only if cannot be answered": (
        lambda: step(shipped(), "F4", ("in hand and whole |", "in hand, whole |")), "F4", "cannot be answered"),
    "only if later": (
        lambda: step(shipped(), "E14", ('opens = ["pipe at the cut"]', 'only_if = ["E21.dead = yes"]\n'
                                        'opens = ["pipe at the cut"]')), "E14", "answer of E21, which comes later"),
    "only if words": (
        lambda: step(shipped(), "F4", ("E11.coupon = in hand and whole | in pieces, all out", "E11.plan = any")), "F4",
        "which is no choice"),
    "only if unreadable": (
        lambda: step(shipped(), "F4", ("E11.coupon = in hand and whole | in pieces, all out", "E11.coupon")), "F4",
        "cannot be read"),
    "only if two things at once": (
        lambda: step(shipped(), "F4", ('["E11.coupon = in hand and whole | in pieces, all out"]',
                                       '["E11.coupon = in hand and whole", "E11.coupon = in pieces, all out"]')),
        "F4", "two things at once"),
    "counts for no rule": (
        lambda: step(shipped(), "E8", ('"letby.fresh"', '"letby.freshness"')), "E8", "rule set does not have"),
    "counts for no time": (
        lambda: step(shipped(), "E8", ('"letby.fresh"', '"letby.leak_rate"')), "E8", "which is no time"),
    "counts, and opens": (
        lambda: step(shipped(), "E10", ('opens = ["drill opening"]', 'counts_for = "letby.fresh"\n'
                                        'opens = ["drill opening"]')), "E10", "can not be done again"),
    "shows no number": (
        lambda: step(shipped(), "E8", ('"let_by.settle"', '"let_by.setle"')), "let_by.setle", "which no plan has"),
    "a hold that asks nothing": (
        lambda: without(shipped(), '[[ask]]\nstep = "E6"\n'), "E6", "hard hold 10 (E6) asks nothing"),
    "a hold that asks only what may be left out": (
        lambda: ask(ask(shipped(), "E6.fall", ('uncertainty', 'optional = true\nuncertainty')), "E6.stands",
                    ('unit = "mbar"', 'unit = "mbar"\noptional = true')), "E6", "asks nothing"),
    "a hold that is ticks alone": (
        lambda: without(shipped(), '[[ask]]\nstep = "B8"\nname = "how"\n'), "B8", "ticks alone"),
    "a hold that any answer passes": (
        lambda: ask(shipped(), "E13.bond", ('wanted = "yes"\n', "")), "E13.bond", "any answer will do"),
    "a hold that any choice passes": (
        lambda: ask(shipped(), "E8.vent", ('wanted = "good"\n', "")), "E8.vent", "any answer will do"),
    "a hold that any gauge log passes": (
        lambda: ask(shipped(), "D6.hold", ('wanted = "good"\n', "")), "D6.hold", "any answer will do"),
    "something opened without a monitor": (
        lambda: step(shipped(), "E14", ("monitor = true\n", "")), "E14", "no gas monitor"),
    "evidence of no sort": (lambda: step(shipped(), "B6", ('["photo"]', '["foto"]')), "B6", "no sort of evidence"),
    "a verdict without its log": (
        lambda: step(shipped(), "D6", ('evidence = ["gauge log"]\n', "")), "D6", "does not keep it"),
    "a question of no step": (
        lambda: ask(shipped(), "E9.where", ('step = "E9"', 'step = "E99"')), "E99.where", "belongs to no step"),
    "a question twice": (
        lambda: ask(shipped(), "E9.where", ('name = "where"', 'name = "district"')), "E9.district", "stands twice"),
    "a limit of nowhere": (
        lambda: ask(shipped(), "C13.current", ('"bond.current_limit"', '"bond.current_limt"')), "C13.current",
        "neither in the rule set nor a number of the plan"),
    "a rule that the rule set lacks": (
        lambda: ask(shipped(), "B9.voltage", ('"rules.bond.voltage"', '"rules.bond.volts"')), "B9.voltage",
        "neither in the rule set"),
    "a second limit of nowhere": (
        lambda: ask(shipped(), "E3.travel", ('"travel.feed_to"', '"travel.feed_two"')), "E3.travel", "travel.feed_two"),
    "a unit of another kind": (
        lambda: ask(shipped(), "C13.current", ('unit = "A"', 'unit = "V"')), "C13.current", "no such quantity"),
    "no unit": (lambda: ask(shipped(), "E6.stands", ('unit = "mbar"\n', "")), "E6.stands", "no unit"),
    "wanted without a limit": (
        lambda: ask(shipped(), "C13.current", ('limit = "bond.current_limit"\n', "")), "C13.current", "names no limit"),
    "a limit without wanted": (
        lambda: ask(shipped(), "C13.current", ('wanted = "below"\n', "")), "C13.current", "how it must lie"),
    "a limit without an uncertainty": (
        lambda: ask(shipped(), "E9.district", ('uncertainty = "0.3 mbar"\n', "")), "E9.district", "no uncertainty"),
    "an uncertainty of another kind": (
        lambda: ask(shipped(), "E9.district", ('"0.3 mbar"', '"0.3 mm"')), "E9.district", "cannot be read"),
    "wanted that does not fit": (
        lambda: ask(shipped(), "E9.district", ('"at most"', '"yes"')), "E9.district", "wants 'yes'"),
    "a choice without choices": (
        lambda: ask(shipped(), "B7.result", ('choices = ["tight", "not tight, made secure"]\n', "")), "B7.result",
        "without choices"),
    "a choice without a good one": (
        lambda: ask(shipped(), "E8.vent", ('good = ["none"]\n', "")), "E8.vent", "none is"),
    "a good one that is no choice": (
        lambda: ask(shipped(), "E8.vent", ('good = ["none"]', 'good = ["nothing"]')), "E8.vent", "cannot be chosen"),
    "the same as nowhere": (
        lambda: ask(shipped(), "E19.pieces", ('"E5.pieces"', '"E5.parts"')), "E19.pieces", "which nothing asks"),
    "the same as later": (
        lambda: ask(shipped(), "E19.pieces", ('"E5.pieces"', '"F8.joints"')), "E19.pieces", "which is asked later"),
    "the same as, and not wanted so": (
        lambda: ask(shipped(), "E19.pieces", ('wanted = "same"\n', "")), "E19.pieces", "does not want the same"),
    "the same as something else": (
        lambda: ask(shipped(), "E19.pieces", ('"E5.pieces"', '"E5.mark"')), "E19.pieces", "which is a yes or no"),
    "another datum than the kit's": (
        lambda: ask(shipped(), "D3.datum", ('good = ["pilot contact"]', 'good = ["saw contact"]')), "D3.datum",
        "this kit counts it from pilot contact"),
}


@pytest.mark.parametrize("name", TABLE)
def test_a_fault_of_the_table(name):
    make, where, words = TABLE[name]
    matching = [fault for fault in found(make()) if words in fault.what]
    assert matching, [str(fault) for fault in found(make())]
    assert any(where in fault.what for fault in matching)
    assert all(fault.fix and "mine.toml, line " in fault.place for fault in matching)


def closes(text, step_id, name):
    return step(text, step_id, (f'closes = ["{name}"]\n', ""))


BARRIERS = {
    "proves what is open": (lambda: closes(shipped(), "E17", "pipe at the cut"), "proves 'pipe at the cut', which is"),
    "makes permanent what is not proved": (
        lambda: step(shipped(CAP), "E18", ('proves = ["pipe at the cut"]\n', "")), "permanent, which is not proved"),
    "nothing proved left": (
        lambda: step(step(shipped(), "E8", ('proves = ["stopper"]\n', "")), "E10e", ('proves = ["stopper"]\n', "")),
        "After E10 nothing proved stands"),
    # The drill's opening is left open; the cut is made behind the same stopper.
    "two ways open behind one stopper": (
        lambda: without(shipped(), *(f'[[{table}]]\n{key} = "{name}"\n' for name in ("E10b", "E10c", "E10d")
                                     for table, key in (("step", "id"), ("ask", "step")))),
        "After E14 there are two one-barrier windows at once"),
    # The stopper's housing comes off behind its valve while the gland's end is still open behind another.
    "two ways held by two elements": (
        lambda: step(shipped(HOUSE), "E21", ('rests_on = ["E14"]\n',
                                             'rests_on = ["E14"]\nopens = ["stopper opening"]\n')),
        "After E21 there are two one-barrier windows at once"),
    "a window that rests on no proof": (
        lambda: step(shipped(), "E14", ('"E8", "E11", "E13"]', '"E11", "E13"]')),
        "does not rest on the proof of stopper"),
    "a window on a proof that never goes stale": (
        lambda: step(shipped(), "E8", ('counts_for = "letby.fresh"\n', "")), "(E8) never goes stale"),
    "a way left open": (
        lambda: step(step(step(shipped(CAP), "E17", ('closes = ["pipe at the cut"]\n', "")), "E18",
                          ('proves = ["pipe at the cut"]\n', "")), "G1",
                     ('makes_permanent = ["pipe at the cut"]\n', "")),
        "At the end pipe at the cut is open into the pit"),
    "a way left unproved": (
        lambda: step(step(shipped(CAP), "E18", ('proves = ["pipe at the cut"]\n', "")), "G1",
                     ('makes_permanent = ["pipe at the cut"]\n', "")),
        "At the end pipe at the cut is closed into the pit, not proved"),
    "a valve left unproved": (
        lambda: step(shipped(), "E20", ('proves = ["stopper valve"]\n', "")),
        "At the end stopper valve is closed and not proved"),
    "a proof the gauge cannot see": (
        lambda: step(shipped(), "F10", ("other_gauge = true\n", "")), "which the gauge cannot see"),
}


@pytest.mark.parametrize("name", BARRIERS)
def test_a_fault_of_the_barriers(name):
    make, words = BARRIERS[name]
    told = [fault for fault in found(make()) if words in fault.what]
    assert told, [str(fault) for fault in found(make())]
    assert all("mine.toml, line " in fault.place and fault.fix for fault in told)


TRAPS = {
    # The stopper is drawn in E19: the watch past it cannot be done again, and E20 then wants it.
    "a proof that cannot be made again": (
        lambda: step(shipped(), "E20", ('rests_on = ["E19"]', 'rests_on = ["E8", "E19"]')),
        "The work cannot come past E8: The step proves 'stopper', which is open"),
    # The cap is proved by pressing on the stopper from behind: with the cut open, that leaves nothing proved.
    "a proof that may not be made again": (
        lambda: step(shipped(), "E18", ('rests_on = ["E17"]', 'rests_on = ["E10c", "E17"]')),
        "After E14, once E10c is open again, the work cannot come past E10c: After it nothing proved would"),
    # What is cut is cut: how it was cut cannot be answered anew.
    "an answer that cannot be given again": (
        lambda: step(ask(shipped(), "E14.cut", ('sort = "quantity"', 'sort = "choice"'), ('unit = "mm"\n', ""),
                         ('wanted = "within"\n', 'choices = ["wheel", "saw"]\n'), ('limit = "window.from"\n', ""),
                         ('limit_to = "window.to"\n', ""), ('uncertainty = "3 mm"\noptional = true\n', "")),
                     "E16", ('rests_on = ["E14"]', 'rests_on = ["E14"]\nonly_if = ["E14.cut = wheel"]')),
        "Once E14.cut is 'saw', the work cannot come past E16"),
}


@pytest.mark.parametrize("name", TRAPS)
def test_a_trap(name):
    make, words = TRAPS[name]
    told = [fault for fault in found(make()) if words in fault.what]
    assert told, [str(fault) for fault in found(make())]
    assert all("mine.toml, line " in fault.place and fault.fix for fault in told)


def test_what_can_be_asked_again_is_no_trap():
    """The coupon only seen keeps the new pipe out until it is out: E11 can be done again, so this is no trap."""
    text = shipped()
    assert any('"seen in the bore"' in line for line in text.splitlines() if line.startswith("good = "))
    assert not any("seen in the bore" in line for line in text.splitlines() if line.startswith("only_if"))
    assert found(text) == []


def test_all_faults_are_told_at_once():
    text = ask(step(shipped(), "E8", (E8, 'rests_on = ["E5", "E77"]\n')), "C13.current",
               ('"bond.current_limit"', '"bond.no"'))
    text = step(text, "E20", ('proves = ["stopper valve"]\n', ""))
    words = " ".join(fault.what for fault in found(text))
    assert "E77" in words and "bond.no" in words and "stopper valve is closed" in words
    with pytest.raises(InputFaults) as caught:
        checked(load_text(PROCEDURE, text, "mine.toml"), KITS["two_branches"], EXAMPLE_RULES)
    assert len(caught.value.faults) == len(found(text)) >= 3


def test_the_shape_is_looked_at_too():
    told = found(step(shipped(), "E13", ("hold = 13\n", "")))
    assert any("hard holds 13 are in no step" in fault.what for fault in told)
    told = found(step(shipped(), "E14", ('opens = ["pipe at the cut"]', 'opens = ["pipe at the cat"]')))
    assert any("pipe at the cat" in fault.what for fault in told)


def test_steps_that_stand_twice_do_not_break_the_check():
    told = found(step(shipped(), "E9", ('id = "E9"', 'id = "E8"')))
    assert any("stands twice" in fault.what for fault in told)


def test_another_rule_set_may_lack_a_rule():
    """A procedure is checked with the operator's own rules, not with the shipped ones."""
    shorter = load_text(RULES, example_text("rules.toml"), "rules.toml")
    sections = dict(shorter.sections)
    row = sections["letby"][0]
    sections["letby"] = (type(row)(row.place, row.values, {key: fact for key, fact in row.facts.items()
                                                           if key != "fall_before_venting"}),)
    rules = type(shorter)(shorter.schema, shorter.name, shorter.text, sections)
    told = faults(load_text(PROCEDURE, shipped(), "mine.toml"), KITS["two_branches"], rules)
    assert any("rules.letby.fall_before_venting" in fault.what for fault in told)


def test_a_kit_for_other_sizes_lacks_no_number():
    """The example pipe has no saw in such a kit, so that many numbers of its plan are missing; the names are known."""
    text = example_text("kit_two_branches.toml").replace('size = "1"', 'size = "2"')
    other = load_text(KIT, text, "kit.toml")
    assert faults(load_text(PROCEDURE, shipped(), "mine.toml"), other, EXAMPLE_RULES) == []


@pytest.mark.parametrize("seed", range(40))
def test_a_spoilt_table_gives_faults_and_never_a_traceback(seed):
    """Tables left out, twice, in another order, with lines from elsewhere."""
    chance = random.Random(seed)
    build, route = chance.choice(list(BUILDS)), chance.choice(list(ROUTES))
    text = shipped(route, build)
    parts = blocks(text)
    for _ in range(chance.randint(1, 4)):
        first, second = chance.randrange(2, len(parts)), chance.randrange(2, len(parts))
        how = chance.randrange(4)
        if how == 0:
            del parts[first]
        elif how == 1:
            parts[first], parts[second] = parts[second], parts[first]
        elif how == 2:
            parts.insert(first, parts[second])
        else:
            lines = parts[first].splitlines()
            number = chance.choice([n for n, line in enumerate(lines) if " = " in line] or [0])
            key = lines[number].partition(" = ")[0]
            same = [line for line in text.splitlines() if line.startswith(f"{key} = ")]
            lines[number] = chance.choice(same or [""])
            parts[first] = "\n".join(lines) + "\n"
    try:
        procedure = load_text(PROCEDURE, "".join(parts), "mine.toml")
    except InputFaults:
        return
    for fault in faults(procedure, KITS[build], EXAMPLE_RULES):
        assert fault.place and fault.what.endswith(".") and fault.fix


@pytest.mark.parametrize("build", BUILDS)
def test_the_kit_is_the_one_whose_parts_are_named(build):
    kit = kit_of(load_text(PROCEDURE, shipped(CAP, build), "mine.toml"))
    assert kit.value("kit.procedure") == build


# trade.md 2.1: the stopper alone from the drill off to its cap, and from the cut to the gland proved; with a single
# branch the valve alone from the drill off to its housing proved. Between them no window.
WINDOWS = {"two_branches": {"E10": "stopper", "E10b": "stopper", "E14": "stopper", "E15": "stopper", "E16": "stopper",
                            "E17": "stopper"},
           "single_branch": {"E4c": "branch valve", "E5a": "branch valve", "E14": "stopper", "E15": "stopper",
                             "E16": "stopper", "E17": "stopper"}}


@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("route", [CAP, MAIN])
def test_the_windows_are_those_of_the_trades_chart(build, route):
    course = stages(load_text(PROCEDURE, shipped(route, build), "mine.toml"), KITS[build])
    seen = {stage.step.id: stage.windows[0].held_by[0] for stage in course if stage.windows}
    assert seen == WINDOWS[build]


def test_towards_the_house_the_gland_valve_holds_alone_until_the_new_pipe_is_proved():
    course = stages(load_text(PROCEDURE, shipped(HOUSE), "mine.toml"), KITS["two_branches"])
    alone = [stage.step.id for stage in course if stage.windows and stage.windows[0].held_by == ("gland valve",)]
    assert alone[0] == "E19" and alone[-1] == "F8"


def test_a_way_out_behind_permanent_pipe_is_none():
    course = stages(load_text(PROCEDURE, shipped(), "mine.toml"), KITS["two_branches"])
    assert ways_out(course[-1].state) == []
