"""The main numbers of the example, worked out again with plain mathematics from the handbook's formulas.

The facts are copied by hand from the example files; nothing of stillbore.physics is used. What is common practice is
checked as common practice: the figures of the trade (17 mm with a 24 mm saw, 75 mbar, 100 mbar) have no source.
"""

from math import isfinite, pi, sin, sqrt

import pytest
from variants import NOBODY_KNOWS, SINGLE_BRANCH, TWO_BRANCHES, made

from stillbore.derive import HOW, Fact, Traced
from stillbore.formulas import evaluate

# The example service and kit A, in millimetres, millibar and litres.
OUTSIDE = (33.5, 33.65, 33.8)  # six readings 33.6 and 33.7, and 0.1 of the caliper
WALL = (2.9, (3.2 * 6 + 3.1 * 4 + 3.3 * 2) / 12, 3.5)  # twelve readings, and 0.2 of the probe
SAW, KERF, RUN_OUT, PILOT, LEAD = 24.0, 1.5, 0.2, 6.0, 6.0
CENTRING = (0.0, 0.5)
BAROMETER = (1008.0, 1009.0, 1010.0)
RIG = (0.8 * 0.52, 0.52, 1.2 * 0.52)  # 0.27 + 0.20 + 0.05 l, to 20 %
LEG = (9.0, 10.0)  # m


@pytest.fixture(scope="module")
def example():
    return made()


def depth(outside, wall, saw, off_centre):
    """z_1 = R - sqrt(r^2 - (a + e)^2), trade.md C3."""
    outer, reach = outside / 2, saw / 2 + off_centre
    return outer - sqrt((outer - wall) ** 2 - reach ** 2)


def far(outside, wall, saw, off_centre):
    outer, reach = outside / 2, saw / 2 + off_centre
    return outer + sqrt((outer - wall) ** 2 - reach ** 2)


def same(found, name, low, high, scale, value=None):
    node = found.numbers[name].node
    assert node.low == pytest.approx(low * scale, rel=1e-9), f"{name}: low"
    assert node.high == pytest.approx(high * scale, rel=1e-9), f"{name}: high"
    if value is not None:
        assert node.value == pytest.approx(value * scale, rel=1e-9), f"{name}: best"


def test_bore(example):
    same(example, "pipe.bore", OUTSIDE[0] - 2 * WALL[2], OUTSIDE[2] - 2 * WALL[0], 1e-3, OUTSIDE[1] - 2 * WALL[1])


def test_full_hole_and_loose_coupon(example):
    running = SAW + RUN_OUT
    same(example, "travel.measured.full", depth(OUTSIDE[2], WALL[0], running, 0.0),
         depth(OUTSIDE[0], WALL[2], running, 0.5), 1e-3)
    inner = SAW - 2 * KERF
    same(example, "travel.measured.loose", depth(OUTSIDE[2], WALL[0], inner, 0.0),
         depth(OUTSIDE[0], WALL[2], inner, 0.5), 1e-3)


def window():
    start = depth(OUTSIDE[0], WALL[2], SAW + RUN_OUT, 0.5) + 1.5
    end = min(far(OUTSIDE[0], WALL[2], SAW + RUN_OUT, 0.5), OUTSIDE[0] - WALL[2] - LEAD) - 2.0
    return start, end


def test_window_feed_and_turns(example):
    start, end = window()
    same(example, "travel.from", start, start, 1e-3)
    same(example, "travel.to", end, end, 1e-3)
    same(example, "travel.width", end - start, end - start, 1e-3)
    same(example, "travel.feed_from", start + LEAD, start + LEAD, 1e-3)
    same(example, "travel.feed_to", end + LEAD, end + LEAD, 1e-3)
    aim = (start + end) / 2 + LEAD
    same(example, "travel.feed_target", aim, aim, 1e-3)
    same(example, "travel.turns", (aim + 0.2) / 1.5, (aim + 0.5) / 1.5, 1.0)


def test_the_window_is_inside_every_tube_the_readings_allow(example):
    """Drilled to either mark, the hole is full and the far wall is clear, wherever in its range each fact lies."""
    low, high = (example.numbers[f"travel.feed_{end}"].node.value * 1e3 - LEAD for end in ("from", "to"))
    for outside in OUTSIDE:
        for wall in WALL:
            for off_centre in (0.0, 0.25, 0.5):
                assert low >= depth(outside, wall, SAW + RUN_OUT, off_centre) + 1.5 - 1e-9
                assert high <= far(outside, wall, SAW + RUN_OUT, off_centre) - 2.0 + 1e-9
                assert high <= outside - wall - LEAD - 2.0 + 1e-9


def test_kit_counted_from_saw_contact_adds_no_lead():
    found = made(base_kit=SINGLE_BRANCH)
    start = depth(OUTSIDE[0], WALL[2], 23.2, 0.4) + 1.5
    end = min(far(OUTSIDE[0], WALL[2], 23.2, 0.4), OUTSIDE[0] - WALL[2] - 7.5) - 2.0
    same(found, "travel.feed_from", start, start, 1e-3)
    same(found, "travel.feed_to", end, end, 1e-3)


def test_off_centre_allowed(example):
    by_rule = 0.5 * (OUTSIDE[0] / 2 - WALL[2] - (SAW + RUN_OUT) / 2)
    same(example, "travel.off_centre_most", by_rule, by_rule, 1e-3)
    allowed = min(by_rule, 0.5)  # never more than the window was worked out for
    same(example, "travel.off_centre_allowed", allowed, allowed, 1e-3)


def annulus_volume(outside, wall, inner, outer, strips=2000):
    """Volume of wall between two radii of the saw's axis, by strips across x: another way than the program's."""
    def over(radius):
        total, half = 0.0, outside / 2
        for strip in range(strips):  # x = radius sin(q) takes the square-root end out of the strips
            first, last = (pi * (edge / strips - 0.5) for edge in (strip, strip + 1))
            x = radius * sin((first + last) / 2)
            height = sqrt(half ** 2 - x ** 2) - sqrt((half - wall) ** 2 - x ** 2)
            total += 2 * sqrt(radius ** 2 - x ** 2) * height * radius * (sin(last) - sin(first))
        return total
    return over(outer) - over(inner)


def test_coupon_mass_against_its_volume(example):
    grams = 7.85e-3 * annulus_volume(OUTSIDE[1], WALL[1], PILOT / 2, SAW / 2 - KERF)
    assert example.numbers["travel.coupon_mass"].node.value * 1e3 == pytest.approx(grams, rel=1e-5)
    assert example.numbers["travel.coupon_diameter"].node.value == pytest.approx(0.021)


@pytest.mark.parametrize("wall,trade", [("3.2", 8.6), ("4.0", 10.9)])
def test_coupon_mass_as_the_trade_has_it(wall, trade):
    found = made(survey=plain_tube(wall), kit=true_saw())
    assert found.numbers["travel.coupon_mass"].node.value * 1e3 == pytest.approx(trade, abs=0.05)


def plain_tube(wall, outside="33.7"):
    return {"pipe.outside_diameter": f'{{ value = "{outside} mm", instrument = "X" }}',
            "pipe.wall": f'{{ value = "{wall} mm", instrument = "X" }}'}


def true_saw():
    return {"saw[1].run_out": '"0 mm"', "saddle.centring": '"0 mm"'}


@pytest.mark.parametrize("outside,wall,loose,full,far_wall", [
    ("33.7", "3.2", 8.1, 10.3, 23.4), ("33.7", "4.0", 9.4, 12.3, 21.4),
    ("33.3", "4.5", None, 14.75, 18.55)])  # the thickest tolerance goes with the smallest tube; printed 14.7 and 18.6
def test_depths_as_the_trade_has_them(outside, wall, loose, full, far_wall):
    """trade.md section 0: depths from saw contact, 24 mm saw, kerf 1.5 mm, on the axis."""
    found = made(survey=plain_tube(wall, outside), kit=true_saw())
    if loose is not None:
        assert found.numbers["travel.measured.loose"].node.value * 1e3 == pytest.approx(loose, abs=0.06)
    assert found.numbers["travel.measured.full"].node.value * 1e3 == pytest.approx(full, abs=0.06)
    assert found.numbers["travel.measured.saw_far_wall"].node.value * 1e3 == pytest.approx(far_wall, abs=0.06)


@pytest.mark.parametrize("wall,beyond,lead_most", [("3.2", 0.7, 6.65), ("4.0", -1.3, 4.75)])
def test_17_mm_with_a_24_mm_saw_is_common_practice(wall, beyond, lead_most):
    """From pilot contact with 6 mm lead 17 mm is just a full hole in medium tube, and short of one in heavy."""
    found = made(survey=plain_tube(wall), kit=true_saw())
    assert found.numbers["travel.stated"].node.value == pytest.approx(0.017)
    assert found.numbers["travel.measured.stated_beyond_full"].node.value * 1e3 == pytest.approx(beyond, abs=0.06)
    full = found.numbers["travel.measured.full"].node.value * 1e3
    assert 17.0 - full == pytest.approx(lead_most, abs=0.06)


def test_75_and_100_mbar_are_common_practice_without_another_source(example):
    limit = example.rules.fact("pressure.maximum_operating_pressure")
    assert (limit.value, limit.source) == (7500.0, "common practice")
    assert example.numbers["integrity.test_pressure"].node.value == pytest.approx(10_000)
    assert "maker" in str(example.kit.value("kit.statement"))
    for section in example.rules.sections.values():
        for row in section:
            for fact in row.facts.values():  # one is nobody's practice: what methane does in the air
                assert fact.source.startswith(("common practice", "invented", "IPCC AR6")), fact.name


def test_push_out(example):
    area = pi / 4 * ((OUTSIDE[2] - 2 * WALL[0]) * 1e-3) ** 2
    same(example, "stopper.push_out.lowest", 2100 * area, 2100 * area, 1.0)
    same(example, "stopper.push_out.operating", 2990 * area, 3050 * area, 1.0, 3020 * area)
    same(example, "stopper.push_out.highest", 3200 * area, 3200 * area, 1.0)
    same(example, "stopper.force_factor", 12 / (3200 * area), 12 / (3200 * area), 1.0)


@pytest.mark.parametrize("pressure,trade", [("21 mbar", 1.2), ("45 mbar", 2.6), ("75 mbar", 4.4)])
def test_push_out_as_the_trade_has_it(pressure, trade):
    found = made(survey=plain_tube("3.2") | {"pressure.operating": f'"{pressure}"'})
    assert found.numbers["stopper.push_out.operating"].node.value == pytest.approx(trade, abs=0.05)


def test_squeeze_and_proof_pressure(example):
    narrow, wide = OUTSIDE[0] - 2 * WALL[2], OUTSIDE[2] - 2 * WALL[0]
    same(example, "stopper.squeeze", 29.5 / wide - 1, 29.5 / narrow - 1, 1.0)
    same(example, "stopper.proof_pressure", 2100, 2100, 1.0)  # lowest district pressure; the kit takes 0 from behind


def test_integrity(example):
    same(example, "integrity.volume", RIG[0], RIG[2], 1e-3, RIG[1])
    leak = 0.03 / 3600  # l/s
    fall = [leak * barometer * 120 / volume for barometer, volume in zip(BAROMETER, reversed(RIG), strict=True)]
    same(example, "integrity.hold", 120, 120, 1.0)
    same(example, "integrity.fall_at_limit", fall[0], fall[2], 100.0, fall[1])
    shortest = [3 * 0.1 * volume / (leak * barometer)
                for volume, barometer in zip(RIG, reversed(BAROMETER), strict=True)]
    same(example, "integrity.shortest_hold", shortest[0], shortest[2], 1.0, shortest[1])
    same(example, "integrity.per_kelvin", 1108 / 285.15, 1110 / 282.15, 100.0)


def test_a_kelvin_as_the_trade_has_it():
    found = made(survey={"site.ground_temperature": '"14.85 degC"', "site.barometer": '"1013 mbara"'})
    assert found.numbers["integrity.per_kelvin"].node.value / 100 == pytest.approx(3.87, abs=0.01)


def leg(bore, length, rig):
    """Litres: trade.md C14, the leg and the rig."""
    return pi / 4 * (bore / 100) ** 2 * length * 10 + rig


def test_leg_volume_and_let_by_rise(example):
    small = leg(OUTSIDE[0] - 2 * WALL[2], LEG[0], RIG[0])
    large = leg(OUTSIDE[2] - 2 * WALL[0], LEG[1], RIG[2])
    same(example, "leg.volume", small, large, 1e-3)
    rate = 0.1 / 3600  # l/s
    watch = 1.25 * large / (rate * 1008)  # s until the limit has lifted the largest leg by the rule set's 1.25 mbar
    same(example, "let_by.watch", watch, watch, 1.0)
    same(example, "let_by.rise_at_limit", 1.25, rate * 1010 * watch / small, 100.0)
    same(example, "let_by.rise_at_stop", 20 * 1.25, 20 * rate * 1010 * watch / small, 100.0)
    same(example, "let_by.valid_up_to", 34.9, 35.5, 100.0, 35.2)


def test_break_through_band(example):
    same(example, "break_through.lowest", 29.9 - 3.0, 29.9 - 3.0, 100.0)
    same(example, "break_through.highest", 30.5 + 3.05, 30.5 + 3.05, 100.0)  # 10 % is wider than 3 mbar here
    same(example, "pressure.highest", 32, 32, 100.0)
    same(example, "break_through.fill", RIG[0] * 29.9 / 1010, RIG[2] * 30.5 / 1008, 1e-3)


def test_bond(example):
    lead = example.numbers["bond.lead"].node.value
    assert lead == pytest.approx(17.2e-9 * 3 / 16e-6, rel=0.01)  # trade.md C30: 3.2 milliohm
    same(example, "bond.resistance", lead + 2e-3, lead + 5e-3, 1.0)
    same(example, "bond.spark", 0.5 * 20e-6 * 0.02 ** 2, 0.5 * 50e-6 * 0.02 ** 2, 1.0)
    same(example, "bond.spark_at_limit", 0.5 * 20e-6, 0.5 * 50e-6, 1.0)
    same(example, "bond.igniting_current", sqrt(2 * 0.28e-3 / 50e-6), sqrt(2 * 0.28e-3 / 20e-6), 1.0)


def test_cutting_window(example):
    same(example, "window.from", 65 + 0 + 65 + 20, 150, 1e-3)
    same(example, "window.to", min(480 - 80 - 40, 450 - 50), 360, 1e-3)
    same(example, "window.width", 210, 210, 1e-3)
    same(example, "window.needed_length", 40 + 65 + 150 + 20 + 65 + 40, 380, 1e-3)


def left_section_modulus(outside, wall, hole):
    """Z left in the plane of the hole, by slices of the ring without the hole's segment about its own neutral axis."""
    outer, inner = outside / 2, outside / 2 - wall
    slices, area, first, second = 50_000, 0.0, 0.0, 0.0
    step = 2 * outer / slices
    for number in range(slices):
        y = -outer + (number + 0.5) * step
        width = 2 * sqrt(outer ** 2 - y ** 2) - (2 * sqrt(inner ** 2 - y ** 2) if abs(y) < inner else 0.0)
        if y > 0:  # the hole lies at the crown, within |x| < hole / 2
            half_outer = sqrt(outer ** 2 - y ** 2)
            half_inner = sqrt(inner ** 2 - y ** 2) if abs(y) < inner else 0.0
            width -= 2 * max(0.0, min(half_outer, hole / 2) - half_inner)
        area += width * step
        first += width * step * y
        second += width * step * y ** 2
    axis = first / area
    inertia = second - area * axis ** 2
    edge = sqrt(outer ** 2 - (hole / 2) ** 2)
    return inertia / max(edge - axis, outer + axis)


def test_strength(example):
    z = left_section_modulus(33.5, 2.8, 24.2)
    assert example.numbers["strength.section_modulus"].node.low * 1e9 == pytest.approx(z, rel=2e-3)
    assert example.numbers["strength.load"].node.value == pytest.approx(6 * 9.80665 + 300)
    mass = 7850 * pi * (33.8e-3 - 3.5e-3) * 3.5e-3
    moment = (6 * 9.80665 + 300) * 0.4 + mass * 9.80665 * 0.4 ** 2 / 2
    stress = example.numbers["strength.cantilever_stress"].node.high
    assert stress / 1e6 == pytest.approx(moment / (z * 1e-9) / 1e6, rel=5e-3)


def test_pit_times(example):
    """t = c V / q with nothing carried away, trade.md C19; the dilution itself makes it a little longer."""
    limit = example.numbers["gas.flammable_limit"].node.value
    assert 0.042 < limit < 0.045
    for share, key in ((0.1, "out"), (0.2, "emergency")):
        node = example.numbers[f"pit_air.let_by.time_to_{key}"].node
        assert node.low == pytest.approx(share * limit * 0.4 / (2e-3 / 3600), rel=0.01)
        assert node.high == pytest.approx(share * limit * 0.6 / (2e-3 / 3600), rel=0.01)


def test_medium_pressure_flow_is_what_the_trade_fears(example):
    """trade.md 1.4: 1 inch at 2 bar, 540 to 760 m3/h through ten metres; this leg to the main is shorter and the
    hole is bare, so that it is no less."""
    for name in ("if_it_goes_wrong.hole_medium", "if_it_goes_wrong.open_end_medium"):
        node = example.numbers[name].node
        assert 540 / 3600 < node.low < node.high < 2 * 760 / 3600


# Of every number, in several plans

PLANS = {
    "two branches": {}, "single branch": {"base_kit": SINGLE_BRANCH},
    "wall unknown": {"survey": {"pipe.wall": NOBODY_KNOWS}},
    "diameter unknown": {"survey": {"pipe.outside_diameter": NOBODY_KNOWS}},
    "lengths unknown": {"survey": {f"site.{key}": NOBODY_KNOWS for key in
                                   ("leg_length", "upstream_length", "pit_volume", "pit_end")}},
    "medium pressure": {"survey": {"pressure.operating": '"2 bar"'}},
}


@pytest.fixture(scope="module", params=PLANS)
def any_plan(request):
    return made(**PLANS[request.param])


def nodes_below(node):
    yield node
    if isinstance(node, Traced):
        for child in node.inputs.values():
            yield from nodes_below(child)


def every_node(found):
    seen = {}
    for number in found.numbers.values():
        for node in nodes_below(number.node):
            seen[id(node)] = node
    return list(seen.values())


def test_every_number_walks_down_to_facts_with_an_origin(any_plan):
    for node in every_node(any_plan):
        if isinstance(node, Traced):
            assert node.inputs, f"{node.name} is derived from nothing"
        else:
            assert node.how in HOW, node.name
            assert node.origin, f"{node.name} has no origin"
            assert node.how != "measured" or (node.by and node.when), node.name
            assert node.how != "rule" or node.source, node.name
            assert node.how not in ("kit", "rule", "measured", "record") or "line " in node.origin, node.name


def test_no_number_is_nan_or_infinite_and_every_range_is_in_order(any_plan):
    for node in every_node(any_plan):
        for end in (node.low, node.value, node.high):
            assert end is None or isfinite(end), node.name
        if node.low is not None and node.high is not None:
            assert node.low <= node.high, node.name
            slack = 1e-12 * max(abs(node.low), abs(node.high))
            if node.value is not None:
                assert node.low - slack <= node.value <= node.high + slack, node.name


def test_units_fit_wherever_one_number_feeds_another(any_plan):
    kinds = {"Pa gauge": "Pa", "K difference": "K"}
    for node in every_node(any_plan):
        if isinstance(node, Traced) and node.formula is not None:
            for name, child in node.inputs.items():
                wanted = node.formula.argument(name).unit
                assert kinds.get(child.unit, child.unit) == kinds.get(wanted, wanted), f"{node.name}: {name}"


def test_a_best_value_is_the_formula_at_the_best_inputs(any_plan):
    for node in every_node(any_plan):
        if isinstance(node, Traced) and node.formula is not None and node.value is not None:
            inputs = {name: child.composition if isinstance(child, Fact) and child.composition else child.value
                      for name, child in node.inputs.items()}
            result = evaluate(node.formula, inputs)
            assert node.value == pytest.approx(getattr(result, node.result) if node.result else result), node.name


def test_an_unknown_fact_gives_no_number(any_plan):
    for node in every_node(any_plan):
        if isinstance(node, Traced) and any(not child.known and not getattr(child, "composition", ())
                                            for child in node.inputs.values()):
            if node.formula is None and node.result:  # one end of a number may be there without the other
                continue
            assert not node.known and node.refusal, node.name


@pytest.mark.parametrize("kit", [TWO_BRANCHES, SINGLE_BRANCH])
def test_every_number_a_step_shows_is_in_the_plan(kit):
    found = made(base_kit=kit)
    for step in found.steps:
        assert [number.name for number in step.numbers] == list(step.row.texts("shows")), step.row.text("id")


def test_the_walk_can_fail(example):
    loose = Traced("made up", "m", 1.0, 1.0, 1.0, None, {})
    assert [node for node in nodes_below(loose) if isinstance(node, Traced) and not node.inputs] == [loose]
