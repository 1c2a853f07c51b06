"""What goes in the old pipe's place: the cases a planner meets, each with its plain sentence. The load, the choice, the
numbers of the example worked out apart.

Expected figures come from the handbook of the trade (sections named), from fluids, or are worked out here.
"""

import time
from math import cos, exp, pi

import pytest
from fluids import K_from_f, dP_from_K
from fluids.friction import Colebrook
from variants import NOBODY_KNOWS, SINGLE_BRANCH, job, made, silent, told

from stillbore.plan import plan
from stillbore.plan.new_pipe import DOES_NOT_PASS, PASSES, ROD_FIRST, UNKNOWN
from stillbore.plan.parts import ENGINEER, NOTE
from stillbore.verdicts import MET, NOT_MET, NOT_PROVEN

BLEND = '"CH4 0.7464, C2H6 0.0208, C3H8 0.012, N2 0.0088, CO2 0.012, H2 0.2"'  # the example gas with 20 % hydrogen
NEIGHBOUR = '\n[[fed]]\npremises = "H-0094"\nhow = "record"\nheat_input = "{heat}"\noff_gas_agreed = "yes"\n' \
            "needs_care = false\n"


def obstacle(kind, side="towards the main", distance="1.0 m", **more):
    lines = "".join(f'{key} = "{value}"\n' for key, value in more.items())
    return f'\n[[bend]]\nside = "{side}"\nkind = "{kind}"\nhow = "record"\ndistance = "{distance}"\n{lines}'


def step(size, side="towards the main", distance="1.0 m", length="1.0 m"):
    return (f'\n[[other_size]]\nside = "{side}"\nsize = "{size}"\nhow = "record"\ndistance = "{distance}"\n'
            f'length = "{length}"\n')


def candidate(found, name):
    return next(each for each in found.renewal.candidates if each.name == name)


def number(found, name, end="value"):
    return getattr(found.numbers[f"renewal.{name}"].node, end)


def cubic_metres_an_hour(found, name, end="value"):
    return 3600 * number(found, name, end)


# The example


@pytest.mark.parametrize("kit", ["kit_two_branches", SINGLE_BRANCH])
def test_the_example_renews_with_a_pipe_that_is_carried(kit):
    found = made(base_kit=kit)
    assert found.renewal.chosen.name == "PE-20"
    assert {each.name: (each.passing, each.carries, each.pushed) for each in found.renewal.candidates} == {
        "PE-16": (PASSES, NOT_MET, MET), "PE-20": (PASSES, MET, MET), "PE-25": (ROD_FIRST, MET, MET)}
    assert told(found, "Passes, carries the load and can be pushed: PE-20", "planned with").level == NOTE


def test_every_candidate_stands_in_one_table_with_its_reason():
    section = next(section for section in made().sections if section.key == "renewal")
    grid = next(grid for grid in section.grids if grid.title == "Candidates")
    assert [row[0] for row in grid.rows] == ["PE-16", "PE-20", "PE-25"]
    assert all(row[-1] for row in grid.rows)


def test_an_abandoned_service_gets_no_new_pipe():
    found = made(survey={"job.route": '"cap and abandon"'})
    assert found.renewal is None and not [name for name in found.numbers if name.startswith("renewal.")]


def test_a_larger_pipe_that_does_not_pass_is_never_left_out_silently():
    finding = told(made(), "PE-25 carries the load", "doubtful, rod first", "pulled bend", "PE-20 is smaller")
    assert "Rod it" in finding.do


# Load


def test_the_load_is_the_heat_over_the_calorific_value():
    """24 kW gross; 38.41 MJ/m3 at 15 degC is ISO 6976:2016 annex D, example 1, whose gas the example's nearly is."""
    assert cubic_metres_an_hour(made(), "load") == pytest.approx(24e3 / 38.41e6 * 3600, rel=2e-3)


def test_two_dwellings_on_one_service():
    """Handbook of the trade, C25: two houses take 1.71 of one. 30 kW at 39.5 MJ/m3 is 2.7 m3/h."""
    one = made(survey={"fed[0].heat_input": '"30 kW"'})
    two = made(survey={"fed[0].heat_input": '"30 kW"'}, added=NEIGHBOUR.format(heat="30 kW"))
    assert cubic_metres_an_hour(one, "load") == pytest.approx(2.7, rel=0.05)
    assert number(two, "load") / number(one, "load") == pytest.approx(1.71, abs=0.005)
    assert two.numbers["renewal.diversity_share"].node.origin.startswith("rules.toml, line ")
    assert number(two, "pe_25.drop", "high") > 2.5 * number(one, "pe_25.drop", "high")


@pytest.mark.parametrize(("dwellings", "row"), [(1, 1), (2, 2), (4, 4), (7, 5), (12, 10), (60, 50)])
def test_the_diversity_curve_is_read_at_the_next_smaller_number(dwellings, row):
    """The shipped curve is the handbook's placeholder 0.5 + 0.5/sqrt(N) (C25), printed to 0.1 % and never less."""
    found = made(added="".join(NEIGHBOUR.format(heat="24 kW").replace("H-0094", f"H-{each}")
                               for each in range(dwellings - 1)))
    share = number(found, "load") / (dwellings * number(made(), "load"))
    assert share == pytest.approx(0.5 + 0.5 / row**0.5, abs=1e-3)
    assert share >= 0.5 + 0.5 / dwellings**0.5 - 5e-4


def test_an_operators_own_curve_is_used():
    found = made(rules={"diversity[1].share": '{ value = "70 %", source = "invented" }'},
                 added=NEIGHBOUR.format(heat="24 kW"))
    assert number(found, "load") / number(made(), "load") == pytest.approx(2 * 0.7)


def test_a_load_that_is_unknown_is_the_meters_rating_and_starves_nobody():
    """6 m3/h by the rule set; the real load is smaller, so a pipe that does not carry it is not proven, not ruled
    out."""
    found = made(survey={"fed[0].heat_input": NOBODY_KNOWS})
    told(found, "The load of H-0093 is not known; the rating of a usual meter is taken")
    assert cubic_metres_an_hour(found, "load") == pytest.approx(6.0)
    assert candidate(found, "PE-20").carries == NOT_PROVEN
    told(found, "Whether PE-20 carries the load is not proven", "meter's rating")
    assert found.renewal.chosen is None and found.result == "applies"
    assert silent(found, "starves")


def test_the_meters_own_rating_ranks_above_the_usual_one():
    found = made(survey={"fed[0].heat_input": NOBODY_KNOWS, "fed[0].meter_rating": '"2.0 m3/h"'})
    told(found, "the rating of its meter is taken")
    assert cubic_metres_an_hour(found, "load") == pytest.approx(2.0)
    assert candidate(found, "PE-20").carries == MET  # what carries the rating carries what is behind it


def test_an_incomplete_list_of_who_is_fed_proves_no_pipe():
    found = made(survey={"supply.fed_list_complete": '"no"'})
    assert candidate(found, "PE-20").carries == NOT_PROVEN and found.renewal.chosen is None
    told(found, "not known whom else the service feeds", "at least")


# Capacity (the parts are checked against fluids in tests/reference/test_service.py)


def darcy(load, bore, length, roughness, loss):
    """Drop in Pa by fluids, for gas at 21 mbar and 12 degC with the barometer at 1008 mbar. Density and viscosity by
    hand: 17.40 kg/kmol as an ideal gas, 10.9 uPa s."""
    mass_flow = load * 17.40e-3 * 101325 / (8.314 * 288.15)
    density = 17.40e-3 * (100800 + 2100) / (8.314 * 285.15)
    velocity = mass_flow / density / (pi / 4 * bore**2)
    factor = Colebrook(density * velocity * bore / 10.9e-6, roughness / bore)
    return dP_from_K(K_from_f(factor, L=length, D=bore) + loss, rho=density, V=velocity)


def test_the_drop_of_the_example_by_another_colebrook():
    """The worst end of PE-20: 13 m, the thickest wall of 2.5 mm on the thinnest pipe, K 2.5."""
    found = made()
    assert number(found, "pe_20.drop", "high") == pytest.approx(darcy(number(found, "load"), 0.0150, 13.0, 7e-6, 2.5),
                                                                rel=0.01)


def test_what_is_left_at_the_meter_counts_from_the_lowest_pressure():
    found = made()
    assert number(found, "pe_20.at_meter", "low") == pytest.approx(2100 - number(found, "pe_20.drop", "high"))
    starved = made(survey={"pressure.lowest": '{ value = "20 mbar", how = "record" }'})
    assert candidate(starved, "PE-20").carries != MET  # 19 mbar have to be left


def test_the_largest_load_loses_just_the_drop_allowed():
    found = made()
    most = cubic_metres_an_hour(found, "pe_20.most", "low")
    heat = most / 3600 * number(found, "calorific_value")
    again = made(survey={"fed[0].heat_input": f'"{heat / 1e3:.9f} kW"'})
    assert number(again, "pe_20.drop", "high") == pytest.approx(200.0, rel=1e-5)


def test_an_excess_flow_valve_takes_its_share():
    plain, valve = made(), made(kit={"insert[1].excess_flow_valve": '"40"'})
    bore = 0.0150
    velocity = valve.renewal.chosen is None  # 40 velocity heads are enough to starve it
    assert velocity
    extra = number(valve, "pe_20.drop", "high") - number(plain, "pe_20.drop", "high")
    mass_flow = number(plain, "load") * 17.40e-3 * 101325 / (8.314 * 288.15)
    density = 17.40e-3 * 102900 / (8.314 * 285.15)
    assert extra == pytest.approx(40 * 0.5 * mass_flow**2 / density / (pi / 4 * bore**2) ** 2, rel=0.01)


def test_a_stepped_old_service_loses_more_and_section_by_section():
    plain, stepped = made(), made(added=step("3/4", length="1.5 m"))
    assert number(stepped, "old.drop", "high") > number(plain, "old.drop", "high")
    assert number(stepped, "old.most", "low") < number(plain, "old.most", "low")
    twice = made(added=step("3/4", length="0.75 m") + step("3/4", distance="2.0 m", length="0.75 m"))
    assert number(twice, "old.drop", "high") == pytest.approx(number(stepped, "old.drop", "high"), rel=1e-9)
    assert number(twice, "old.most", "low") == pytest.approx(number(stepped, "old.most", "low"), rel=1e-6)


def test_a_step_longer_than_the_service_is_no_number():
    assert not made(added=step("3/4", length="40 m")).numbers["renewal.old.drop"].node.known


def test_a_hydrogen_blend_takes_more_flow_and_more_drop():
    """Handbook of the trade, C31: 20 % hydrogen, flow +16 %, drop +10 %. The drop's tenth is of turbulent flow: 6 m3/h
    of heat through PE-25. The limits change too: half the bond current stops the work."""
    heat = {"fed[0].heat_input": '"60 kW"'}
    plain = made(base_kit=SINGLE_BRANCH, survey=heat)
    blend = made(base_kit=SINGLE_BRANCH, survey=heat | {"gas.name": '"natural gas with hydrogen"',
                                                         "gas.composition": BLEND})
    assert number(blend, "load") / number(plain, "load") == pytest.approx(1.16, abs=0.01)
    assert number(blend, "pe_25.drop", "high") / number(plain, "pe_25.drop", "high") == pytest.approx(1.10, abs=0.03)
    assert number(blend, "pe_25.most", "low") > number(plain, "pe_25.most", "low")
    assert blend.numbers["bond.current_limit"].node.value == 0.5 * plain.numbers["bond.current_limit"].node.value


# What passes and what does not


def test_one_that_passes_and_starves_the_boiler():
    finding = told(made(), "PE-16 passes and starves the house", "2.00 mbar are allowed")
    assert "because it fits" in finding.do


def test_an_insert_that_fits_the_bore_and_not_the_bend():
    """Handbook of the trade, C22: a 45 degree pulled bend of 135 mm lets no 20 mm pipe through at 15 d."""
    found = made(added=obstacle("pulled bend", distance="2.5 m", angle="45 deg", radius="135 mm", flattening="0 %"))
    pipe = candidate(found, "PE-20")
    assert (pipe.passing, pipe.way.stops) == (DOES_NOT_PASS, 2.5)
    assert number(found, "pe_20.room", "low") > 0
    told(found, "PE-20 fits the bore, but not the way", "does not pass", "pulled bend at 2.5 m")
    assert found.result == ENGINEER
    told(found, "None of the new pipes carried", "Open cut, another route, or a transfer")


def test_a_reducer_half_way():
    """A 25 mm pipe does not go into 3/4 inch, whatever its grade: its widest bore is 26.9 - 2 x 2.3 x 0.92 = 22.7."""
    found = made(added=step("3/4", distance="1.2 m", length="1.5 m"))
    pipe = candidate(found, "PE-25")
    assert (pipe.passing, pipe.way.stops, pipe.where) == (DOES_NOT_PASS, 1.2, "step to 3/4 inch at 1.2 m")
    told(found, "PE-25 fits the bore, but not the way", "step to 3/4 inch")
    assert candidate(found, "PE-16").passing == ROD_FIRST  # it goes in, but the nose may catch on the step
    assert candidate(found, "PE-20").passing == ROD_FIRST
    wider = made(added=step("1 1/4", distance="1.2 m", length="1.5 m"))
    assert candidate(wider, "PE-20").passing == PASSES


@pytest.mark.parametrize("kind", ["screwed elbow", "plug cock", "siphon", "repair clamp"])
def test_nothing_passes_these(kind):
    found = made(added=obstacle(kind, distance="0.6 m", angle="90 deg"))
    assert {each.passing for each in found.renewal.candidates} == {DOES_NOT_PASS}
    assert {each.way.stops for each in found.renewal.candidates} == {0.6}
    assert found.renewal.chosen is None and found.result == ENGINEER


@pytest.mark.parametrize("kind", ["tee", "union", "reducer"])
def test_these_are_rodded_first(kind):
    found = made(added=obstacle(kind))
    assert {each.passing for each in found.renewal.candidates} == {ROD_FIRST}
    assert found.renewal.chosen is None and found.result == "applies"
    told(found, "No new pipe is proven", "Not ruled out: PE-20")


def test_a_straight_socket_passes():
    assert candidate(made(added=obstacle("straight socket")), "PE-20").passing == PASSES


def test_an_easy_screwed_bend_lets_only_16_mm_perhaps():
    found = made(added=obstacle("easy screwed bend", angle="90 deg"))
    assert [each.passing for each in found.renewal.candidates] == [ROD_FIRST, DOES_NOT_PASS, DOES_NOT_PASS]


def test_only_the_bends_of_the_leg_that_is_renewed_count():
    elbow = obstacle("screwed elbow", side="towards the house", angle="90 deg")
    assert made(added=elbow).renewal.chosen is not None
    other = made(survey={"job.route": '"renew towards the house"'}, added=elbow)
    assert other.renewal.chosen is None and other.renewal.side == "towards the house"
    assert other.renewal.covered.high == pytest.approx(10.0)


@pytest.mark.parametrize("key", ["angle", "radius", "flattening"])
def test_a_bend_that_nobody_has_measured_is_not_known(key):
    found = made(survey={f"bend[0].{key}": NOBODY_KNOWS})
    assert candidate(found, "PE-20").passing == UNKNOWN
    assert found.renewal.chosen is None and found.result == "applies"


def test_a_flattened_bend():
    """Handbook of the trade, T10: flattened by more than 5 %, no."""
    assert candidate(made(survey={"bend[0].flattening": '"6..8 %"'}), "PE-16").passing == DOES_NOT_PASS
    assert candidate(made(survey={"bend[0].flattening": '"4..6 %"'}), "PE-16").passing == ROD_FIRST


def test_a_stiff_nose():
    """C22: Rc >= l^2/(8c). With 300 mm and the 5 mm of PE-20 it is 2.3 m; the bend of 140 mm turns over 0.03 m only, so
    the nose is never wholly in it: rod first. A long bend of 1.5 m stops it."""
    assert candidate(made(kit={"insert[1].nose_length": '"300 mm"'}), "PE-20").passing == ROD_FIRST
    assert candidate(made(kit={"insert[1].nose_length": '"20 mm"'}), "PE-20").passing == PASSES
    long_bend = {"bend[0].radius": '"1500 mm"', "bend[0].angle": '"40 deg"', "bend[0].flattening": '"0 %"'}
    assert candidate(made(survey=long_bend), "PE-20").passing == PASSES
    stopped = made(survey=long_bend, kit={"insert[1].nose_length": '"300 mm"'})
    assert candidate(stopped, "PE-20").passing == DOES_NOT_PASS


# T3 of the handbook: 1 inch medium (33.7 x 3.2), bends of 4 OD, degrees at 15 d and 25 d, without scale.
@pytest.mark.parametrize(("outside", "warm", "cold"), [("16", 52, 33), ("20", 34, 23), ("25", 16, 11)])
def test_bends_as_the_handbook_has_them(outside, warm, cold):
    def passing(degrees):
        found = made(
            survey={"pipe.outside_diameter": '{ value = "33.7 mm", instrument = "X1" }',
                    "pipe.wall": '{ value = "3.2 mm", instrument = "X1" }', "bend[0].angle": f'"{degrees} deg"',
                    "bend[0].radius": '"135 mm"', "bend[0].flattening": '"0 %"'},
            rules={"renewal.scale": '{ value = "0 mm", source = "invented" }'},
            kit={"insert[1].outside_diameter": f'"{outside} mm"'})
        return candidate(found, "PE-20").passing

    assert (passing(cold - 0.6), passing(cold + 0.6)) == (PASSES, ROD_FIRST)
    assert (passing(warm - 0.6), passing(warm + 0.6)) == (ROD_FIRST, DOES_NOT_PASS)


def test_the_room_of_the_handbook():
    """T3: 20 mm in 1 inch medium 7.3 mm, less the millimetre for scale and the 0.3 mm the pipe may be wider."""
    found = made(survey={"pipe.outside_diameter": '{ value = "33.7 mm", instrument = "X1" }',
                         "pipe.wall": '{ value = "3.2 mm", instrument = "X1" }'})
    assert number(found, "pe_20.room", "low") * 1e3 == pytest.approx(7.3 - 1.0 - 0.3)


def test_what_is_harder_never_passes_better():
    """A sharper or tighter bend, a flatter one, a wider pipe, more scale: the verdict never gets better."""
    order = (PASSES, ROD_FIRST, DOES_NOT_PASS)

    def rank(**changes):
        return order.index(candidate(made(**changes), "PE-20").passing)

    for key, values in (("angle", ("5 deg", "14 deg", "25 deg", "40 deg", "90 deg")),
                        ("radius", ("900 mm", "300 mm", "135 mm", "60 mm")), ("flattening", ("0 %", "4 %", "9 %"))):
        ranks = [rank(survey={"bend[0].angle": '"25 deg"'} | {f"bend[0].{key}": f'"{value}"'}) for value in values]
        assert ranks == sorted(ranks) and ranks[0] < ranks[-1], key
    ranks = [rank(kit={"insert[1].outside_diameter": f'"{value} mm"'}) for value in (14, 18, 22, 25, 27, 30)]
    assert ranks == sorted(ranks) and ranks[0] < ranks[-1]
    scales = (f'{{ value = "{value} mm", source = "invented" }}' for value in (0, 3, 6, 9))
    ranks = [rank(rules={"renewal.scale": scale}) for scale in scales]
    assert ranks == sorted(ranks) and ranks[0] < ranks[-1]


def test_an_unknown_tube_has_the_least_room_and_the_most_to_snake_in():
    known, unknown = made(), made(survey={"pipe.wall": NOBODY_KNOWS})
    assert number(unknown, "pe_20.room", "low") < number(known, "pe_20.room", "low")
    assert number(unknown, "pe_20.snakes", "low") < number(known, "pe_20.snakes", "low")


def test_towards_the_house_the_old_pipe_stays_in_front_of_the_new_one():
    """The new pipe is as long as the leg, and the gas goes through old steel first: each length by fluids (Colebrook),
    the losses in the first."""
    found = made(survey={"job.route": '"renew towards the house"'})
    pipe = candidate(found, "PE-20")
    assert (pipe.length.low, pipe.length.high) == (9.0, 10.0)

    load = number(found, "load")
    drop = darcy(load, 0.0150, 10.0, 7e-6, 2.5) + darcy(load, 0.0265, 3.0, 0.5e-3, 0.0)
    assert number(found, "pe_20.drop", "high") == pytest.approx(drop, rel=0.01)


# Walls that nobody knows


def test_a_wall_that_nobody_knows_is_shown_with_both():
    found = made(kit={"insert[1].wall": NOBODY_KNOWS})
    names = [each.name for each in found.renewal.candidates]
    assert names == ["PE-16", "PE-20 with wall 2.3..2.7 mm, SDR 11", "PE-20 with wall 3.0..3.4 mm, SDR 11", "PE-25"]
    thin, thick = found.renewal.candidates[1:3]
    assert thick.drop.high > 1.25 * thin.drop.high  # C26: the drop rises by half
    assert thick.carries != MET and found.renewal.chosen is None  # it has to do whatever its wall


def test_a_wall_that_no_table_has_stays_unknown():
    found = made(kit={"insert[1].wall": NOBODY_KNOWS, "insert[1].outside_diameter": '"19.0 mm"'})
    assert candidate(found, "PE-20").carries == NOT_PROVEN
    assert found.result == "applies"


# Push and pull


def curve_by_hand(outside, wall, friction, length, bends, at_start):
    """Handbook of the trade, C23: F = (F_0 + mu w L) e^(mu theta), with the weight of 955 kg/m3."""
    weight = 955 * 9.80665 * pi * (outside - wall) * wall
    return [(at_start + friction * weight * distance) * exp(friction * turned)
            for distance, turned in [(0.0, 0.0), *bends, (length, bends[-1][1] if bends else 0.0)]]


def test_the_curve_of_the_example():
    found = made()
    curve = candidate(found, "PE-20").curve
    nose = 3200 * pi / 4 * 0.0203**2
    bends = [(1.6, 0.0), (1.6, 14 * pi / 180)]
    assert [point[1] for point in curve.points] == pytest.approx(curve_by_hand(0.0203, 0.0025, 0.4, 3.0, bends, nose))
    assert [point[2] for point in curve.points] == pytest.approx(
        curve_by_hand(0.0203, 0.0025, 0.4, 3.0, bends, nose + 80))
    assert curve.points[-1][1] == pytest.approx(number(found, "pe_20.push_in_bore", "high"))
    assert curve.points[-1][2] == pytest.approx(number(found, "pe_20.push", "high"))


def test_a_service_longer_than_the_push_force_allows():
    """C23: the gland's 30 N at the least, 40 m of 1.20 N/m at 0.3, a whole turn of bends: (30 + 14.4) e^(0.3 x 6.28) is
    292 N, more than the 200 N of a hand. Half a turn leaves it open: 114 N at the least, 356 N at the most."""
    def bent(places):
        bends = "".join(obstacle("pulled bend", side="towards the house", distance=f"{place} m", angle="30 deg",
                                 radius="2 m", flattening="0 %") for place in places)
        return made(survey={"job.route": '"renew towards the house"', "fed[0].heat_input": '"8 kW"',
                            "site.leg_length": '{ value = "40 m", how = "record" }'}, added=bends)

    found = bent(range(2, 38, 3))
    pipe = candidate(found, "PE-20")
    assert (pipe.passing, pipe.carries, pipe.pushed, pipe.pulled) == (PASSES, MET, NOT_MET, NOT_PROVEN)
    assert number(found, "pe_20.push", "low") == pytest.approx(292, rel=0.005)
    assert found.renewal.chosen is None
    assert "pull line" in told(found, "PE-20 cannot be pushed all the way").do
    half = bent(range(5, 35, 5))
    assert candidate(half, "PE-20").pushed == NOT_PROVEN
    told(half, "PE-20 is not proven to be pushed all the way", "It bears a pull of")


def test_between_snaking_and_spiral_it_is_not_proven():
    factor = {"renewal.push_factor": '{ value = "20", source = "invented" }'}  # snakes at 3.7 N, spirals at 5.2 N
    pipe = candidate(made(rules=factor), "PE-20")
    assert pipe.pushed == MET
    factor = {"renewal.push_factor": '{ value = "55", source = "invented" }'}  # 1.3 to 1.6 N, and 1.9 to 2.3 N
    assert candidate(made(rules=factor), "PE-20").pushed == NOT_PROVEN


def test_the_pull_falls_with_time_and_warmth():
    """1.00, 0.95 and 0.91 of the stress for 1, 12 and 24 h: factors of ASTM F1804, from memory."""
    one = number(made(), "pe_20.pull")
    twelve = number(made(rules={"renewal.pull_time": '{ value = "12 h", source = "invented" }'}), "pe_20.pull")
    warm = number(made(survey={"site.ground_temperature": '"25..30 degC"'}), "pe_20.pull")
    assert twelve / one == pytest.approx(0.95) and warm / one == pytest.approx(0.86)
    assert one == pytest.approx(7.17e6 * pi * (0.020 - 0.0023) * 0.0023, rel=1e-9)
    beyond = made(rules={"renewal.pull_time": '{ value = "48 h", source = "invented" }'})
    assert not beyond.numbers["renewal.pe_20.pull"].node.known  # nothing is read past the table


# Unknown is not ruled out, and nothing slows down


@pytest.mark.parametrize("key", ["site.leg_length", "site.upstream_length", "pressure.lowest", "pipe.wall",
                                 "pipe.outside_diameter", "bend[0].distance"])
def test_what_is_not_known_leaves_the_new_pipe_not_proven(key):
    found = made(survey={key: NOBODY_KNOWS})
    assert found.result == "applies"
    assert not [finding for finding in found.findings if finding.level == ENGINEER]


@pytest.mark.parametrize("written", [None, '"no"', NOBODY_KNOWS])
def test_a_list_without_bends_is_no_straight_pipe(written):
    found = made(survey={"site.way_list_complete": written, "bend[0]": None})
    assert {each.passing for each in found.renewal.candidates} <= {UNKNOWN, ROD_FIRST}
    assert found.renewal.chosen is None and found.result == "applies"
    told(found, "not known whether every bend, step and fitting", "rod the leg")
    assert made(survey={"bend[0]": None}).renewal.chosen is not None  # said to be complete, it is straight


def test_a_size_not_decided_gives_no_new_pipe():
    found = made(survey={"pipe.outside_diameter": NOBODY_KNOWS, "record.size": NOBODY_KNOWS})
    assert found.renewal is None
    told(found, "The size of the old pipe is not decided", level=NOTE)


def test_a_kit_without_a_new_pipe():
    found = made(kit={"insert[0]": None, "insert[1]": None, "insert[2]": None})
    assert told(found, "The kit carries no new pipe").level == ENGINEER


def test_the_same_name_twice_is_two_candidates():
    again = '\n[[insert]]\nid = "PE-20"\noutside_diameter = "20.0..20.3 mm"\nwall = "2.3..2.5 mm"\n'
    assert len(made(added_kit=again).renewal.candidates) == 4


def test_the_corner_that_is_cut_is_the_one_of_the_geometry():
    """R = Rc + c/2 (1 + s)/(s - 1), s = sec(theta/2): C22, 20 mm in a bend of 45 degrees lies at 227 mm."""
    secant = 1 / cos(pi / 8)
    assert 135 + 7.3 / 2 * (1 + secant) / (secant - 1) == pytest.approx(227, abs=0.5)


def test_the_plan_with_its_renewal_stays_fast():
    """The issue allows 50 ms for the fullest plan; twice that here, for a machine that does other things too."""
    files = job(added=step("3/4", side="towards the house", distance="5 m") + obstacle("tee") + NEIGHBOUR.format(
        heat="30 kW"), kit={"insert[1].wall": NOBODY_KNOWS, "insert[2].wall": NOBODY_KNOWS})
    fastest = min(_seconds(files) for _ in range(7))
    assert fastest < 0.1


def _seconds(files):
    start = time.perf_counter()
    plan(files)
    return time.perf_counter() - start
