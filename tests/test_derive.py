"""Facts and derived numbers: a range that holds everywhere in the box of facts, and nothing that is filled in."""

from math import isclose

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stillbore.derive import Fact, constant, derive, envelope, explain, roots, shares, span_text, worst
from stillbore.errors import StillboreError
from stillbore.physics import saw, stopper, tightness, tube, volume, window


def fact(name, low, high, unit="m", value=None):
    return Fact(name, unit, value if value is not None else 0.5 * (low + high), low, high, "measured", "here", by="P",
                when="now")


def unknown(name, unit="m"):
    return Fact(name, unit, None, None, None, "unknown", "here")


def interval(low, high):
    return st.tuples(st.floats(low, high), st.floats(low, high)).map(sorted).map(tuple)


# A 1 inch tube and a saw that always makes a full hole in it.
BOX = st.fixed_dictionaries({"outside_diameter": interval(0.0330, 0.0345), "wall": interval(0.0020, 0.0035),
                             "saw_diameter": interval(0.0220, 0.0240), "off_centre": interval(0.0, 0.0003),
                             "length": interval(1.0, 30.0), "volume": interval(1e-4, 1e-3)})
SHARES = st.fixed_dictionaries({name: st.floats(0.0, 1.0) for name in
                                ("outside_diameter", "wall", "saw_diameter", "off_centre", "length", "volume")})


def facts_of(box):
    return {name: fact(name, *ends, unit={"volume": "m3"}.get(name, "m")) for name, ends in box.items()}


# Composed numbers in which facts are used twice, each with the same thing in plain Python.

def full(f):
    return derive("full", saw.full_hole_depth, outside_diameter=f["outside_diameter"], wall=f["wall"],
                  saw_diameter=f["saw_diameter"], off_centre=f["off_centre"])


def bore(f):
    return derive("bore", tube.bore, outside_diameter=f["outside_diameter"], wall=f["wall"])


def bore_beyond_full(f):
    return derive("beyond", window.beyond, reached=bore(f), wanted=full(f))


def window_width(f):
    far = derive("far", saw.saw_far_wall_depth, outside_diameter=f["outside_diameter"], wall=f["wall"],
                 saw_diameter=f["saw_diameter"], off_centre=f["off_centre"])
    return derive("width", window.beyond, reached=far, wanted=full(f))


def full_beyond_wall(f):
    """The wall stands on both sides with opposite signs: its direction cannot be told from the arguments."""
    broken = derive("broken", saw.first_break_depth, wall=f["wall"])
    return derive("web", window.beyond, reached=full(f), wanted=broken)


def leg_rise(f):
    leg = derive("leg", volume.leg_volume, bore=bore(f), length=f["length"])
    both = derive("both", volume.joined_volume, volume=leg, further_volume=f["volume"])
    return derive("rise", tightness.fall_for_leak, leak_rate=constant("q", "m3/s", 3e-8, "x"), volume=both,
                  duration=constant("t", "s", 120.0, "x"), atmospheric_pressure=constant("p", "Pa abs", 1e5, "x"))


def grip_over_push(f):
    """The bore lifts the grip and lifts the push more: a quotient of two numbers from one fact."""
    hole = bore(f)
    grip = derive("grip", stopper.grip_force, friction_coefficient=constant("mu", "-", 0.2, "x"),
                  contact_pressure=constant("pc", "Pa", 2e4, "x"), bore=hole,
                  stopper_length=constant("l", "m", 0.04, "x"))
    push = derive("push", stopper.push_out_force, bore=hole, gauge_pressure=constant("p", "Pa gauge", 3e3, "x"))
    return derive("factor", stopper.force_factor, rated_force=grip, force=push)


def plain(point):
    outer, inner = point["outside_diameter"] / 2, point["outside_diameter"] / 2 - point["wall"]
    reach = point["saw_diameter"] / 2 + point["off_centre"]
    depth = outer - (inner ** 2 - reach ** 2) ** 0.5
    pipe = 3.141592653589793 / 4 * (2 * inner) ** 2 * point["length"]
    return {full: depth, bore: 2 * inner, bore_beyond_full: 2 * inner - depth,
            window_width: 2 * (inner ** 2 - reach ** 2) ** 0.5, full_beyond_wall: depth - point["wall"],
            leg_rise: 3e-8 * 1e5 * 120 / (pipe + point["volume"]),
            grip_over_push: 0.2 * 2e4 * 4 * 0.04 / (3e3 * 2 * inner)}


COMPOSED = (full, bore, bore_beyond_full, window_width, full_beyond_wall, leg_rise, grip_over_push)


@pytest.mark.parametrize("make", COMPOSED)
@settings(max_examples=60, deadline=None)
@given(box=BOX, at=SHARES)
def test_the_range_holds_the_function_everywhere_in_the_box(make, box, at):
    node = make(facts_of(box))
    point = {name: min(max(low + at[name] * (high - low), low), high) for name, (low, high) in box.items()}
    value = plain(point)[make]
    slack = 1e-9 * max(abs(node.low), abs(node.high), 1e-3)
    assert node.low - slack <= value <= node.high + slack


@pytest.mark.parametrize("make", COMPOSED)
@settings(max_examples=40, deadline=None)
@given(box=BOX)
def test_the_ends_are_attained_at_corners_of_the_box(make, box):
    """Each of these is monotonic in every fact, so that its ends lie at corners: the range is not a hair too wide."""
    from itertools import product
    node = make(facts_of(box))
    corners = [plain(dict(zip(box, corner, strict=True)))[make] for corner in product(*box.values())]
    assert isclose(node.low, min(corners), rel_tol=1e-9, abs_tol=1e-12)
    assert isclose(node.high, max(corners), rel_tol=1e-9, abs_tol=1e-12)


def test_a_fact_used_twice_is_not_counted_twice():
    """Width of the saw's window: R falls out of it. Ends taken argument by argument would be 1 mm too wide."""
    box = {"outside_diameter": (0.0333, 0.0342), "wall": (0.0032, 0.0032), "saw_diameter": (0.024, 0.024),
           "off_centre": (0.0, 0.0), "length": (1.0, 1.0), "volume": (1e-4, 1e-4)}
    node = bore_beyond_full(facts_of(box))
    parts = bore(facts_of(box)), full(facts_of(box))
    assert node.high - node.low > 0
    double = (parts[0].high - parts[1].low) - (parts[0].low - parts[1].high)
    assert node.high - node.low <= double + 1e-12
    same = derive("nothing", window.beyond, reached=parts[0], wanted=parts[0])
    assert (same.low, same.high) == (0.0, 0.0)


@settings(max_examples=60, deadline=None)
@given(box=BOX)
def test_the_best_value_lies_in_the_range(box):
    for make in COMPOSED:
        node = make(facts_of(box))
        slack = 1e-9 * max(abs(node.low), abs(node.high), 1e-3)
        assert node.low - slack <= node.value <= node.high + slack


# Unknown, refused


@pytest.mark.parametrize("missing", ["outside_diameter", "wall", "saw_diameter", "off_centre"])
def test_unknown_stays_unknown_however_far_it_is_carried(missing):
    facts = facts_of({"outside_diameter": (0.0336, 0.0338), "wall": (0.003, 0.0034), "saw_diameter": (0.024, 0.024),
                      "off_centre": (0.0, 0.0003), "length": (9.0, 10.0), "volume": (1e-4, 1e-4)})
    facts[missing] = unknown(missing)
    node = bore_beyond_full(facts)
    assert (node.value, node.low, node.high, node.known) == (None, None, None, False)
    assert missing in node.refusal
    assert span_text(node) in ("unknown", "none")


def test_a_fact_without_a_best_value_gives_a_range_and_no_best_value():
    facts = facts_of({"outside_diameter": (0.0337, 0.0337), "wall": (0.003, 0.0034), "saw_diameter": (0.024, 0.024),
                      "off_centre": (0.0, 0.0), "length": (9.0, 10.0), "volume": (1e-4, 1e-4)})
    facts["wall"] = Fact("wall", "m", None, 0.003, 0.0034, "record", "here")
    node = full(facts)
    assert node.value is None and node.low < node.high


@settings(max_examples=60, deadline=None)
@given(edge=st.floats(0.0031, 0.0049), width=st.floats(1e-5, 1e-3))
def test_a_refusal_in_part_of_the_range_gives_no_range_and_a_sentence(edge, width):
    """The saw fits up to a wall of 4.85 mm: a range beyond it must not print the part that happens to work."""
    facts = facts_of({"outside_diameter": (0.0337, 0.0337), "wall": (edge, edge + width),
                      "saw_diameter": (0.024, 0.024), "off_centre": (0.0, 0.0), "length": (9.0, 10.0),
                      "volume": (1e-4, 1e-4)})
    node = full(facts)
    fits = 0.0337 / 2 - (edge + width) >= 0.012
    assert node.known == fits
    assert (node.high is None) == (not fits)
    assert ("never makes a full hole" in node.refusal) == (not fits)
    if not fits:
        assert not derive("further", window.beyond, reached=node, wanted=bore(facts)).known


def test_a_misnamed_argument_is_a_fault_of_the_program():
    with pytest.raises(StillboreError, match="takes"):
        derive("bore", tube.bore, diameter=fact("d", 0.03, 0.03), wall=fact("t", 0.003, 0.003))
    with pytest.raises(StillboreError, match="takes"):
        derive("bore", tube.bore, outside_diameter=fact("d", 0.03, 0.03))


# Worst end and envelope


@given(box=BOX)
@settings(max_examples=40, deadline=None)
def test_the_worst_end_is_one_value_and_keeps_its_tree(box):
    node = full(facts_of(box))
    for end in ("low", "high"):
        taken = worst("taken", node, end)
        assert taken.value == taken.low == taken.high == getattr(node, end)
        assert set(roots(taken)) == set(roots(node))
        further = derive("more", window.travel_start, full_hole_depth=taken, margin=constant("m", "m", 0.0015, "x"))
        assert further.low == further.high == pytest.approx(getattr(node, end) + 0.0015)


def test_the_worst_end_of_nothing_is_nothing():
    taken = worst("taken", unknown("wall"), "high")
    assert not taken.known
    assert not derive("more", window.travel_start, full_hole_depth=taken, margin=constant("m", "m", 0.0, "x")).known


@given(st.lists(interval(0.001, 0.03), min_size=1, max_size=5))
def test_the_envelope_covers_its_cases_and_has_no_best_value(ends):
    nodes = {str(number): fact(str(number), *pair) for number, pair in enumerate(ends)}
    cover = envelope("cover", nodes)
    assert cover.low == min(low for low, _ in ends)
    assert cover.high == max(high for _, high in ends)
    assert (cover.value is None) == (len(ends) > 1)


def test_an_envelope_with_an_unknown_case_is_unknown():
    cover = envelope("cover", {"a": fact("a", 0.001, 0.002), "b": unknown("b")})
    assert (cover.value, cover.low, cover.high, cover.known) == (None, None, None, False)


def test_nothing_is_derived_from_an_envelope():
    cover = envelope("cover", {"a": fact("a", 0.001, 0.002), "b": fact("b", 0.002, 0.003)})
    with pytest.raises(AssertionError, match="for showing"):
        derive("bore", tube.bore, outside_diameter=fact("d", 0.03, 0.03), wall=cover)


# Shares


@settings(max_examples=60, deadline=None)
@given(box=BOX)
def test_shares_rank_the_facts_as_a_direct_recomputation_does(box):
    facts = facts_of(box)
    assume(any(high > low for low, high in box.values()))
    node = leg_rise(facts) if box["length"][0] < box["length"][1] else full(facts)
    make = leg_rise if node.name == "rise" else full
    assume(node.high - node.low > 1e-9 * abs(node.high))
    found = {share.fact.name: share.share for share in shares(node)}
    for name in found:
        low, high = box[name]
        fixed = facts | {name: fact(name, 0.5 * (low + high), 0.5 * (low + high), unit=facts[name].unit)}
        again = make(fixed)
        direct = max(0.0, 1.0 - (again.high - again.low) / (node.high - node.low))
        assert found[name] == pytest.approx(direct, abs=1e-6)
    ranked = [share.share for share in shares(node)]
    assert ranked == sorted(ranked, reverse=True)


def test_the_fact_that_matters_most_stands_first():
    facts = facts_of({"outside_diameter": (0.0336, 0.0338), "wall": (0.0026, 0.0040), "saw_diameter": (0.024, 0.024),
                      "off_centre": (0.0, 0.0001), "length": (9.0, 10.0), "volume": (1e-4, 1e-4)})
    assert shares(full(facts))[0].fact is facts["wall"]
    wide = facts | {"wall": fact("wall", 0.0031, 0.0033), "outside_diameter": fact("outside_diameter", 0.0331, 0.0345)}
    assert shares(full(wide))[0].fact is wide["outside_diameter"]


def test_a_worst_end_is_ranked_by_how_far_it_would_move():
    facts = facts_of({"outside_diameter": (0.0336, 0.0338), "wall": (0.0026, 0.0040), "saw_diameter": (0.024, 0.024),
                      "off_centre": (0.0, 0.0001), "length": (9.0, 10.0), "volume": (1e-4, 1e-4)})
    node = full(facts)
    ranked = shares(worst("taken", node, "high"))
    assert ranked[0].fact is facts["wall"]
    for share in ranked:
        name, middle = share.fact.name, 0.5 * (share.fact.low + share.fact.high)
        again = full(facts | {name: fact(name, middle, middle)})
        assert share.moves == pytest.approx(again.high - node.high, abs=1e-9)
    assert shares(fact("exact", 1.0, 1.0)) == ()


def test_a_number_refused_in_part_names_the_fact_that_alone_would_mend_it():
    facts = facts_of({"outside_diameter": (0.0336, 0.0338), "wall": (0.0040, 0.0052), "saw_diameter": (0.024, 0.024),
                      "off_centre": (0.0, 0.0001), "length": (9.0, 10.0), "volume": (1e-4, 1e-4)})
    node = full(facts)
    assert not node.known
    assert [share.fact.name for share in shares(node) if share.share > 0] == ["wall"]


def test_explain_walks_down_to_every_fact():
    facts = facts_of({"outside_diameter": (0.0336, 0.0338), "wall": (0.003, 0.0034), "saw_diameter": (0.024, 0.024),
                      "off_centre": (0.0, 0.0003), "length": (9.0, 10.0), "volume": (1e-4, 1e-4)})
    walked = list(explain(bore_beyond_full(facts)))
    assert walked[0][0] == 0
    assert {node.name for _, node in walked if isinstance(node, Fact)} == {"outside_diameter", "wall", "saw_diameter",
                                                                           "off_centre"}
    for (depth, _), (following, _) in zip(walked, walked[1:], strict=False):
        assert following <= depth + 1
