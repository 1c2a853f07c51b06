"""The shipped orders of work against the handbook (trade.md 2: the sequence, its folded count, the eighteen hard holds;
8: what has no override, and what is never said). What the table guarantees is worked out here by its own closure of
``rests_on``: no code of a run takes part."""

import re
import tomllib

import pytest

from stillbore.errors import StillboreError
from stillbore.job.procedure import CARDS, PROCEDURE
from stillbore.job.schema import load_text
from stillbore.job.shipped import BUILDS, ROUTES, composed

CAP, MAIN, HOUSE = ROUTES
EVERY = pytest.mark.parametrize("build,route", [(build, route) for build in BUILDS for route in ROUTES])
RENEWALS = pytest.mark.parametrize("build,route", [(build, route) for build in BUILDS for route in (MAIN, HOUSE)])


def ids(text):
    return tuple(text.split())


# trade.md 2, "Count": the rows of the sequence folded for use; each group stands in one step or more.
FOLDED = ids("A1 A3 A5 A7 A9 A10 B1 B2 B3 B5 B6 B8 B9 B10 C1 C3 C4 C5 C6 C8 C9 C12 C13 D1 D3 D4 D5 D6 D8 D9 "
             "E1 E2 E3 E4 E5 E6 E7 E8 E9 E11 E13 E14 E15 E17 E18 E19 E21 E22 H4 I1 I2 I3 J2 J3")
FOLDED_OF = {CAP: ids("E10 G1 G2 G3 G4"), MAIN: ids("E10 F1 F2 F4 F6 F8 F10 F12 H1 H2"),
             HOUSE: ids("E10 F1 F2 F4 F5 F8 F10 F12 H1 H2")}
# trade.md 2, the hard holds by number: where each stands. 17 is F10 on a renewal, G3 on an abandonment.
HOLDS = {1: "B6", 2: "B8", 3: "C3", 4: "C4", 5: "C9", 6: "D3", 7: "D6", 8: "D9", 9: "E2", 10: "E6", 11: "E8", 12: "E11",
         13: "E13", 14: "E18", 15: "E19", 16: "E22", 18: "I1"}
# trade.md 8: no override for pressure above the maximum, a failed let-by, bond current above the limit.
NO_OVERRIDE = ("B6.pressure", "D9.district", "E2.settled", "E9.district", "E8.vent", "E8.watch", "C13.current",
               "E12.current", "E22.current")


def table(build, route):
    return tomllib.loads(composed(build, route))


def steps(build, route):
    return {step["id"]: step for step in table(build, route)["step"]}


def asks(build, route):
    return {f"{ask['step']}.{ask['name']}": ask for ask in table(build, route)["ask"]}


def rests(found, step_id):
    """Everything that a step rests on, through others too."""
    wanted, todo = set(), [step_id]
    while todo:
        for name in found[todo.pop()].get("rests_on", ()):
            if name not in wanted:
                wanted.add(name)
                todo.append(name)
    return wanted


@EVERY
def test_every_row_of_the_folded_sequence_is_there_and_in_its_order(build, route):
    there = list(steps(build, route))
    wanted = FOLDED + FOLDED_OF[route]
    if build == "single_branch":  # its drill comes off before the stopper goes in: trade.md's E10 is E4c there
        wanted = ["E4c" if name == "E10" else name for name in wanted]
    assert set(wanted) <= set(there)
    order = [name for name in there if name in FOLDED and name != "E11"]  # the coupon's place depends on the build
    assert order == [name for name in FOLDED if name != "E11"]
    assert 60 <= len(there) <= 80


@EVERY
def test_the_eighteen_hard_holds_stand_where_the_trade_has_them(build, route):
    found = {step["hold"]: name for name, step in steps(build, route).items() if "hold" in step}
    assert found == {**HOLDS, 17: "G3" if route == CAP else "F10"}
    assert all(steps(build, route)[name].get("two_people") for name in found.values())


@EVERY
def test_nine_cards_each_in_one_piece(build, route):
    cards = [step["card"] for step in table(build, route)["step"]]
    pieces = [card for number, card in enumerate(cards) if number == 0 or cards[number - 1] != card]
    assert tuple(pieces) == CARDS and len(CARDS) == 9


@EVERY
def test_every_step_asks_something_and_every_question_has_its_step(build, route):
    assert {ask["step"] for ask in table(build, route)["ask"]} == set(steps(build, route))


@EVERY
def test_no_cut_without_bond_supports_fresh_let_by_and_coupon(build, route):
    found = steps(build, route)
    assert {"C12", "C13", "E8", "E11", "E13"} <= set(found["E14"]["rests_on"])
    assert {"E8"} <= set(found["E13"]["rests_on"]) and found["E8"]["counts_for"] == "letby.fresh"
    assert found["E14"]["opens"] == ["pipe at the cut"]
    assert {"B6", "B8", "C4", "C9", "D3", "D6", "D9", "E2", "E6"} <= rests(found, "E14")


@RENEWALS
def test_no_insertion_with_the_coupon_unknown(build, route):
    found = steps(build, route)
    [condition] = found["F4"]["only_if"]
    key, _, choices = condition.partition(" = ")
    asked = asks(build, route)[key]
    assert key == "E11.coupon" and "E11" in found["F4"]["rests_on"]
    allowed = {choice.strip() for choice in choices.split("|")}
    assert set(asked["choices"]) - allowed == {"seen in the bore", "not found"}
    assert "not found" not in asked["good"]


@EVERY
def test_the_stopper_counted_in_is_counted_out(build, route):
    counted = asks(build, route)["E19.pieces"]
    assert (counted["wanted"], counted["same_as"], counted["no_override"]) == ("same", "E5.pieces", True)
    assert "E5" in rests(steps(build, route), "E19")


@EVERY
def test_no_bond_off_before_the_end_is_proved_and_the_house_side_dead(build, route):
    assert {"E18", "E20", "E21"} <= set(steps(build, route)["E22"]["rests_on"])


@EVERY
def test_no_backfill_before_the_ends_are_measured(build, route):
    found = steps(build, route)
    assert "I1" in found["I2"]["rests_on"] and found["I1"]["hold"] == 18
    assert {"G2", "G3"} <= rests(found, "I1") if route == CAP else {"H2", "F10", "F12"} <= rests(found, "I1")


@EVERY
def test_no_temporary_kit_stays_on_a_live_stub(build, route):
    """trade.md G2. Towards the main the saddle stays on the dead old pipe, under the annulus seal."""
    assert ("G2" in steps(build, route)) == (route != MAIN)


@EVERY
def test_what_has_no_override(build, route):
    found = asks(build, route)
    assert [key for key in NO_OVERRIDE if not found[key].get("no_override")] == []


@EVERY
def test_a_monitor_runs_from_the_open_pit_to_the_last_joint(build, route):
    """trade.md 8: gas monitor on, bumped, in the pit."""
    inside = [step for step in table(build, route)["step"] if step["card"] not in ("Arrive", "Dig", "Give back")]
    assert [step["id"] for step in inside if not step.get("monitor") and step["id"] != "G4"] == []  # G4 is in the house


@EVERY
def test_no_limit_is_written_into_an_order_of_work(build, route):
    """Limits live in the rule set and the plan: a question names one, and the words of a step hold no figure."""
    for step in table(build, route)["step"]:
        words = " ".join(step.get(key, "") for key in ("action", "must_be_true", "stop_if"))
        assert not re.search(r"\d\s*(?:mbar|bar|mm|m|s|min|A|V|%|ppm)\b", words), step["id"]
    for key, ask in asks(build, route).items():
        named = [ask[name] for name in ("limit", "limit_to") if name in ask]
        assert all(re.fullmatch(r"[a-z_]+(\.[a-z_]+)+", name) for name in named), key


@EVERY
def test_it_never_says_what_only_a_person_may_say(build, route):
    """trade.md 8: software may not say "safe", "OK to cut", "gas free", "proceed"."""
    text = composed(build, route)
    assert not re.search(r"\bsafe(?:ly)?\b(?!-)|OK to cut|gas[- ]free|\bproceed\b", text, re.I)
    assert "INVENTED" in text.splitlines()[0]


@EVERY
def test_the_text_stands_by_itself(build, route):
    text = composed(build, route)
    assert not re.search(r"[{}]", text)  # no mark of a part is left
    loaded = load_text(PROCEDURE, text, "mine.toml")
    assert loaded.text == text
    assert len(loaded.rows("step")) == len(table(build, route)["step"])


def test_the_datum_is_the_kits():
    assert 'good = ["saw contact"]' in composed("two_branches", CAP, "saw contact")
    assert 'good = ["pilot contact"]' in composed("single_branch", CAP, "pilot contact")


def test_an_unknown_build_or_route_is_said():
    with pytest.raises(StillboreError, match="three branches"):
        composed("three branches", CAP)
    with pytest.raises(StillboreError, match="renew sideways"):
        composed("two_branches", "renew sideways")
