"""A step that is open again may not be done again where that leaves nothing proved (trade.md 2.1: from the drill off to
its cap the stopper alone holds; only proved barriers count)."""

from crew import Crew, refused

from stillbore.run.answers import value_of
from stillbore.run.step import Moved


def test_the_stopper_is_not_set_anew_behind_an_open_end():
    """E2 is corrected while the drill's opening is open: E5 rests on it and is due again. Setting the stopper anew then
    would leave the opening with nothing proved behind it; first the opening is capped and proved."""
    crew = Crew().up_to("E10b")
    ask = crew.state.basis.asks["E2.settled"]
    told = crew.session.correct(ask.key, value_of(ask, "30.0 mbar"), "read wrongly", crew.hands["P2"])
    assert isinstance(told, Moved)
    assert not crew.state.stands("E5") and crew.state.barriers == 1
    assert isinstance(crew.do("E2"), Moved)
    refused(crew.do("E5"), "nothing proved would stand")
    assert crew.state.barriers == 1
    for step_id in ("E10b", "E10c", "E5"):
        assert isinstance(crew.do(step_id), Moved), step_id
        assert crew.state.barriers >= 1


def test_what_is_permanent_may_be_looked_at_again():
    """The leak check is corrected after the cap was made permanent: the cap is then looked at again, which must not be
    refused because it is permanent already."""
    crew = Crew("cap and abandon").up_to("G2")
    told = crew.session.correct("E20.bubbles", value_of(crew.state.basis.asks["E20.bubbles"], "no"), "wrong box",
                                crew.hands["P2"])
    assert isinstance(told, Moved)
    assert not crew.state.stands("G1")
    assert isinstance(crew.do("E20"), Moved)
    assert isinstance(crew.do("G1"), Moved)
    assert crew.state.elements["pipe at the cut"].state == "permanent"


def test_a_bad_answer_to_a_hold_that_was_done_opens_it_again():
    """Issue: no cut without a coupon decision. The coupon was in hand when hold 12 was signed; looked at once more it
    is not found. The signed hold does not outlive that, and nothing is cut until it is accounted for anew."""
    crew = Crew("cap and abandon").up_to("E14")
    crew.do("E11", coupon="not found")
    assert crew.state.done["E11"].reopened == "E11.coupon was answered again: not met"
    refused(crew.do("E14"), "open again: E11.coupon was answered again: not met")
    for step_id in ("E11", "E9", "E12", "E13", "E14"):
        if not crew.state.stands(step_id):
            assert isinstance(crew.do(step_id), Moved), step_id
    assert crew.state.stands("E14")


def test_a_good_answer_to_a_hold_that_was_done_leaves_it():
    crew = Crew("cap and abandon").up_to("E14")
    crew.prepare("E11", coupon="in hand and whole")
    assert crew.state.stands("E11")
