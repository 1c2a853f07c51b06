"""Annulus, movement and what is left dead, against the worked figures of the handbook of the trade (C24, C29, C36)."""

from math import pi

import pytest
from new_pipes import TAKES_ONE, candidate, found, rule, sentences, workings
from variants import made, told

from stillbore.plan.annulus import annulus, movement
from stillbore.plan.dead_leg import dead_leg
from stillbore.plan.parts import ENGINEER, NOTE

# C24: PE outside, steel size, its outside diameter and wall, and the annulus printed, l/m.
PRINTED = [(16.0, "3/4", 26.9, 2.6, 0.17), (20.0, "1", 33.7, 3.2, 0.27), (25.0, "1", 33.7, 3.2, 0.09),
           (25.0, "1 1/4", 42.4, 3.2, 0.53), (32.0, "1 1/4", 42.4, 3.2, 0.21)]


def steel(size, outside, wall):
    return {"record.size": f'"{size}"', "pipe.outside_diameter": f'"{outside} mm"', "pipe.wall": f'"{wall} mm"'}


@pytest.mark.parametrize(("new", "size", "outside", "wall", "printed"), PRINTED)
def test_the_annulus_of_each_metre(new, size, outside, wall, printed):
    work = workings(survey=steel(size, outside, wall))
    annulus(work, candidate(outside=new, wall=2.3, covered=4.0))
    assert found(work, "annulus.each_metre") * 1e3 == pytest.approx(printed, abs=0.005)
    assert found(work, "annulus.volume") == pytest.approx(4.0 * found(work, "annulus.each_metre"))


def test_an_unknown_tube_has_the_most_annulus():
    high = []
    for wall in ('"3.2 mm"', '"unknown"'):
        work = workings(survey={"pipe.wall": wall})
        annulus(work, candidate(outside=20.0, covered=2.5))
        high.append(found(work, "annulus.volume", "high"))
    assert high[1] > high[0]


def test_the_band_leaves_no_volume_that_the_pipes_may_have_in_doubt():
    """C24: above 150 % it runs elsewhere, below 70 % it is not filled. Whichever bore is the true one, an amount inside
    the band lies between the two for it."""
    work = workings()
    annulus(work, candidate(outside=20.0, covered=2.5))
    bores = [33.5 - 2 * 3.5, 33.8 - 2 * 2.9]  # the example's readings and their instruments, mm
    volumes = [pi / 4 * (bore**2 - 20.0**2) * 2.5 * 1e-6 for bore in bores]  # m3
    least, most = found(work, "annulus.least"), found(work, "annulus.most")
    assert least == pytest.approx(0.7 * volumes[1]) and most == pytest.approx(1.5 * volumes[0])
    for volume in volumes:
        assert 0.7 * volume <= least + 1e-12 and most <= 1.5 * volume + 1e-12


def test_a_space_too_narrow_for_any_amount_is_told():
    work = workings()
    annulus(work, candidate(outside=25.3))
    assert found(work, "annulus.least") > found(work, "annulus.most")
    assert any("No amount injected would show both" in sentence for sentence in sentences(work))
    other = workings()
    annulus(other, candidate(outside=16.0))
    assert not any("No amount injected" in sentence for sentence in sentences(other))


def test_the_watch_after_the_filling():
    """0.3 mbar in 5 min, in an annulus whose volume is known: V dp / (p t), ideal gas; a kelvin moves p / T."""
    work = workings(survey=steel("1", 33.7, 3.2) | {"site.barometer": '"1013.25 mbara"',
                                                    "site.ground_temperature": '"15 degC"'})
    annulus(work, candidate(outside=20.0, covered=10.0))
    largest = found(work, "annulus.volume", "high")
    assert found(work, "annulus.leak_at_limit") == pytest.approx(largest * 30.0 / (101325.0 * 300.0))
    assert found(work, "annulus.warmth") == pytest.approx(30.0 / (101325.0 / 288.15))


def test_a_gauge_too_coarse_for_the_watch_keeps_the_hold_open():
    work = workings(kit={"gauge.readable_movement": '"0.5 mbar"'})
    annulus(work, candidate(outside=20.0))
    finding = next(each for each in work.here.findings if "Largest rise in the annulus" in each.what)
    assert finding.holds == (17,) and finding.level != NOTE


def test_a_pipe_wider_than_the_bore_has_no_annulus():
    work = workings()
    annulus(work, candidate(outside=32.0))
    assert not work.numbers["annulus.volume"].node.known and "annulus.least" not in work.numbers
    assert any("cannot be worked out" in sentence for sentence in sentences(work))


@pytest.mark.parametrize(("warming", "printed"), [("15 K", 27.0), ("25 K", 45.0)])
def test_the_new_pipe_moves_as_the_handbook_says(warming, printed):
    """C29: PE 1.8 mm/m for 10 K: 27 mm in 10 m for 15 K, 45 for 25 K; steel 1.8 mm in 10 m for 15 K."""
    work = workings(rules={"renewal.expansion": rule("180 um/(m K)"), "renewal.warming": rule(warming)},
                    survey={"site.leg_length": '"10 m"'})
    movement(work, candidate(metres=10.0))
    assert found(work, "movement.new_pipe") * 1e3 == pytest.approx(printed)
    assert found(work, "movement.steel_house") * 1e3 == pytest.approx(1.8)
    assert found(work, "movement.snake", "low") * 1e3 == pytest.approx(100.0)  # 1 % of 10 m
    assert found(work, "movement.snake", "high") * 1e3 == pytest.approx(200.0)


def test_steel_has_its_own_expansion_and_warming():
    work = workings(rules={"renewal.warming": rule("100 K")}, survey={"site.leg_length": '"10 m"'})
    movement(work, None)
    assert found(work, "movement.steel_house") * 1e3 == pytest.approx(1.8)
    assert "movement.new_pipe" not in work.numbers
    assert any("Hold both ends" in sentence and "5..10 mm" in sentence for sentence in sentences(work))


def test_a_snake_shorter_than_the_movement_is_told():
    work = workings(rules={"renewal.snake": rule("0.1 %")})
    movement(work, candidate(metres=12.0))
    assert any("nake, against the movement" in sentence for sentence in sentences(work))


ABANDON = {"job.route": '"cap and abandon"', "job.reason": '"vacancy"'}


def test_abandoned_the_stub_reaches_from_the_main_to_the_cut():
    """Example: 2 to 3 m to the saddle, a window from 150 to 360 mm; 9 to 10 m on the other side; 1 inch."""
    work = workings(survey=ABANDON)
    dead_leg(work)
    assert found(work, "dead_leg.main_length", "low") == pytest.approx(2.15)
    assert found(work, "dead_leg.main_length", "high") == pytest.approx(3.36)
    assert found(work, "dead_leg.house_length", "low") == pytest.approx(8.64)
    assert found(work, "dead_leg.house_length", "high") == pytest.approx(9.85)
    widest = 33.8 - 2 * 2.9
    assert found(work, "dead_leg.house_volume", "high") == pytest.approx(9.85 * pi / 4 * (widest * 1e-3) ** 2)
    finding = next(each for each in work.here.findings if "ive stub:" in each.what)  # 0.3 m by the rule set
    assert finding.level == ENGINEER and "at the main" in finding.do


def test_the_volume_of_a_dead_metre_of_one_inch():
    """G3: 0.6 l/m for 1 inch; table T1: 0.585 l/m medium."""
    work = workings(survey=ABANDON | steel("1", 33.7, 3.2) | {"site.leg_length": '"10 m"'})
    dead_leg(work)
    each = found(work, "dead_leg.house_volume", "high") / found(work, "dead_leg.house_length", "high")
    assert each * 1e3 == pytest.approx(0.585, rel=0.01)


def test_what_makes_an_abandonment():
    """G1 to G5 of the handbook: parted, capped at both ends, near the main, saddle, meter and entry."""
    said = " ".join(sentences_of_abandonment())
    for words in ("a gap parts the live stub", "is no abandonment", "closed with a permanent cap or fill",
                  "as near the main as can be done", "may not stay buried", "is measured", "seal the entry"):
        assert words in said, words
    assert "may stay: the kit says" in " ".join(sentences_of_abandonment(kit={"saddle.may_stay_buried": "true"}))


def sentences_of_abandonment(**changes):
    work = workings(survey=ABANDON, **changes)
    dead_leg(work)
    return sentences(work)


def test_near_the_main_the_stub_meets_the_rule():
    work = workings(survey=ABANDON | {"site.upstream_length": '"0.1 m"', "site.pit_end": '"300 mm"'})
    dead_leg(work)
    assert [check.verdict for check in work.here.checks] == ["met"]  # 0.1 m and a cut from 150 to 180 mm


def test_renewed_towards_the_house_the_live_stub_is_not_renewed():
    work = workings(survey={"job.route": '"renew towards the house"'})
    dead_leg(work)
    assert any("stays in use" in sentence for sentence in sentences(work))


def test_without_a_window_nothing_is_said_of_lengths():
    work = workings(survey=ABANDON | {"site.pit_end": '"unknown"'})
    dead_leg(work)
    assert "dead_leg.main_length" not in work.numbers
    assert any("cannot be worked out" in sentence for sentence in sentences(work))


def test_the_plan_has_them_when_a_pipe_is_taken():
    plan = made(**TAKES_ONE)
    keys = [section.key for section in plan.sections]
    wanted = ["renewal", "annulus", "movement", "dead_leg", "new_pipe", "purge", "dig"]
    assert [key for key in keys if key in wanted] == wanted
    told(plan, "goes in warm and lies cold")
