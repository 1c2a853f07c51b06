"""The auditor's questions: a job that was done in the ordinary way raises none, and each oddity raises its own and no
other. The oddities are those of trade.md 6.5 and of the issue; each is written into an ordinary job by hand."""

import hashlib
import random
from dataclasses import replace
from datetime import datetime, timedelta
from math import cos, radians
from pathlib import Path

import pytest

from stillbore.errors import StillboreError
from stillbore.job.files import load_job
from stillbore.job.rules import RULES
from stillbore.job.schema import load_text
from stillbore.job.survey import SURVEY
from stillbore.plan import plan
from stillbore.record import events as log
from stillbore.record.chain import seal_line
from stillbore.record.events import Value
from stillbore.run.basis import basis
from stillbore.run.questions import questions, questions_between
from stillbore.run.questions_of_values import distance
from stillbore.verdicts import MET

EXAMPLES = Path(__file__).parents[2] / "src" / "stillbore" / "examples"
EXAMPLE = plan(load_job(EXAMPLES / "service.toml"))
BASIS = basis(EXAMPLE)
PEOPLE = (log.Person("P1", "team leader", "a" * 64, "A-1001", "2031-01-31"),
          log.Person("P2", "second operative", "b" * 64, "A-1002", "2030-11-30"))
START = datetime.fromisoformat("2030-05-14T08:00:00+00:00")
ASKED_UNTIL = 700.0  # s before a hold is answered: longer than any hold of the example


def gauge_text(seconds, seed, moves=True):
    """A gauge log of one reading a second, with the noise of a last digit."""
    chance = random.Random(seed)
    rows = [f"{at},{30.0 + (chance.choice((0.0, 0.1)) if moves else 0.0):.1f}" for at in range(seconds + 1)]
    return "time,pressure_mbar\n" + "\n".join(rows) + "\n"


class Job:
    """An ordinary job, as a list of [seconds since the start, person, happening, paper] that a test may spoil."""

    def __init__(self, seed=1, made_by=EXAMPLE):
        self.plan, self.events, self.files, self.name, self.now = made_by, [], {}, "J-0001", 0.0
        self.chance = random.Random(seed)
        self.add("P1", log.Opened((), made_by.version, "0", PEOPLE, "d" * 64))
        for person in ("P1", "P2"):
            self.add(person, log.Present(person, True))
        for step in (BASIS if made_by is EXAMPLE else basis(made_by)).steps:
            self.do(step)
        self.add("P1", log.Finished())

    def add(self, person, what, after=None):
        self.now += self.chance.uniform(15.0, 40.0) if after is None else after
        self.events.append([self.now, person, what, ""])

    def do(self, step):
        if any(ask.sort == "gauge let-by" for ask in step.asks):
            self.add("P2", log.District(Value(f"30.{self.chance.randint(1, 9)}", "0.3", "mbar"), "neighbour"))
        if any(ask.sort.startswith("gauge") or ask.name == "time" for ask in step.asks):
            self.now += ASKED_UNTIL
        for ask in step.asks:
            self.answer(step, ask)
        if "photo" in step.evidence:
            data = f"photo of {self.name} {step.id}".encode()
            self.keep(step.id, "photo", data)
        if step.signers:
            self.add("P1", log.Signed(step.id, "1" * 64, "a" * 64, "2" * 128))
            self.add("P2", log.Signed(step.id, "1" * 64, "b" * 64, "2" * 128))
        self.add("P1", log.Done(step.id))

    def keep(self, step, sort, data):
        sha256 = hashlib.sha256(data).hexdigest()
        self.files[sha256] = data
        self.add("P2", log.Kept(step, sort, sha256, len(data), "x"))
        return sha256

    def answer(self, step, ask):
        evidence = ()
        if ask.sort.startswith("gauge"):
            evidence = (self.keep(step.id, "gauge log", gauge_text(130, step.id).encode()),)
            value = Value("0.01", "0.005", "l/h", how="judged", instrument="G-11")
        elif ask.name in ("latitude", "longitude"):
            value = Value({"latitude": "46.20001", "longitude": "-22.40002"}[ask.name], "", "deg")
        elif ask.name == "time":
            value = Value("10", "", "min")
        elif ask.sort == "quantity":
            value = Value(f"{self.chance.uniform(1.0, 9.0):.1f}", "", ask.unit)
        elif ask.sort == "count":
            value = Value("2")
        else:
            value = Value(text=(ask.good or ask.choices or ("yes",))[0], how="seen")
        verdict = MET if ask.wanted else ""
        self.add("P2", log.Answered(step.id, ask.name, value, verdict, evidence=evidence))

    # What a test does to it

    def at(self, kind, **wanted):
        """The index of the first event of a kind with these fields."""
        return next(index for index, (_, _, what, _) in enumerate(self.events) if isinstance(what, kind) and
                    all(getattr(what, name) == value for name, value in wanted.items()))

    def change(self, kind, wanted, **changed):
        index = self.at(kind, **wanted)
        self.events[index][2] = replace(self.events[index][2], **changed)
        return index

    def lines(self, tick=True, offset=0.0):
        lines, prev = [], ""
        for n, (seconds, person, what, paper) in enumerate(self.events):
            at = (START + timedelta(seconds=seconds + offset)).isoformat(timespec="milliseconds")
            role = next(each.role for each in PEOPLE if each.id == person)
            event = log.Event(self.name, "D1", n, n, person, role, at, what, prev, "boot-1" if tick else "",
                              int(seconds * 1000.0) if tick else -1, "", paper)
            lines.append(seal_line(event))
            prev = lines[-1].hash
        return lines

    def kept(self, sha256):
        if sha256 not in self.files:
            raise StillboreError("not at hand", "ask for it")
        return self.files[sha256]

    def asked(self, lines=None):
        version = self.plan.version
        return questions(lines or self.lines(), {version: self.plan}, {version: basis(self.plan)}, self.kept)

    def sorts(self):
        return [question.sort for question in self.asked()]


def with_log(job, step, name, data):
    """Put another gauge log behind an answer."""
    sha256 = hashlib.sha256(data).hexdigest()
    job.files[sha256] = data
    job.change(log.Answered, {"step": step, "ask": name}, evidence=(sha256,))


def planned(section, key, text, name="kit_two_branches.toml"):
    """The example's plan with one key of a file written otherwise."""
    files = load_job(EXAMPLES / "service.toml")
    kind = {"kit_two_branches.toml": "kit", "service.toml": "survey", "rules.toml": "rules"}[name]
    old = getattr(files, kind)
    lines, inside = old.text.split("\n"), False
    for index, line in enumerate(lines):
        inside = line == f"[{section}]" if line.startswith("[") else inside
        if inside and line.startswith(f"{key} ="):
            lines[index] = f"{key} = {text}"
    schema = {"kit": old.schema, "survey": SURVEY, "rules": RULES}[kind]
    return plan(replace(files, **{kind: load_text(schema, "\n".join(lines), name)}))


# The ordinary job


@pytest.mark.parametrize("seed", range(20))
def test_an_ordinary_job_raises_none(seed):
    assert Job(seed).asked() == []


def test_an_ordinary_job_raises_none_without_its_files_counter_or_plan():
    job = Job()
    plans, bases = {job.plan.version: job.plan}, {job.plan.version: basis(job.plan)}
    assert questions(job.lines(), plans, bases) == []
    assert questions(job.lines(tick=False), plans, bases, job.kept) == []
    assert questions(job.lines(), {}, {}) == []
    assert questions([], plans, bases) == []


def test_no_question_accuses_and_each_is_a_question():
    job = Job()
    job.change(log.Answered, {"step": "D6", "ask": "hold"}, evidence=())
    job.events[5][3] = "2030-05-14T07:00:00+00:00"
    for question in job.asked():
        assert "?" in question.text
        assert not any(word in question.text.lower() for word in ("false", "forged", "lie ", "cheat", "fraud"))


# Times and people


def test_a_hold_with_too_little_time_between_its_stamps():
    """trade.md 6.5: a 2-minute hold with 40 s between stamps."""
    job = Job()
    index = job.at(log.Answered, step="D6", ask="hold")
    fitted = job.at(log.Done, step="D4")
    shift = job.events[index][0] - job.events[fitted][0] - 40.0
    for event in job.events[fitted + 1:index]:
        event[0] = job.events[fitted][0] + 20.0
    for event in job.events[index:]:
        event[0] -= shift
    [question] = job.asked()
    assert (question.sort, question.step) == ("too quick", "D6")
    assert "130 s" in question.text and "40 s" in question.text
    assert question.numbers == (fitted, index)


def test_a_time_that_is_claimed_is_held_to_as_well():
    job = Job()
    job.change(log.Answered, {"step": "F10", "ask": "time"}, value=Value("90", "", "min"))
    assert job.sorts() == ["too quick"]


def test_a_gauge_log_shorter_than_the_rule():
    job = Job()
    with_log(job, "D6", "hold", gauge_text(60, 7).encode())
    [question] = job.asked()
    assert question.sort == "short watch" and "60 s" in question.text and "120 s" in question.text
    with_log(job, "D6", "hold", gauge_text(120, 7).encode())
    assert job.asked() == []


@pytest.mark.parametrize("step", ["D4"])
def test_a_test_before_the_saddle_was_fitted(step):
    job = Job()
    fitted, tested = job.at(log.Done, step=step), job.at(log.Answered, step="D6", ask="hold")
    kind, when = job.events[fitted][2], job.events[tested][0]
    del job.events[fitted]
    job.events.insert(tested, [when + 1.0, "P1", kind, ""])
    [question] = job.asked()
    assert question.sort == "before it was fitted" and "D4" in question.text and question.step == "D6"


def test_a_let_by_watch_against_an_old_reading_of_the_district():
    job = Job()
    late = job.at(log.Answered, step="E8", ask="watch")
    for event in job.events[late:]:
        event[0] += 1800.0
    assert [(question.sort, question.step) for question in job.asked()] == [("old district reading", "E8")]


@pytest.mark.parametrize("section,key,words", [
    ("gauge", "calibrated_until", "calibration of gauge G-11"), ("kit", "maker_inspection_until", "inspection"),
    ("bond", "checked_until", "bond B-3")])
def test_kit_that_was_out_of_date(section, key, words):
    job = Job(made_by=planned(section, key, "2030-05-13"))
    [question] = job.asked()
    assert question.sort == "out of date" and words in question.text and "2030-05-13" in question.text
    assert Job(made_by=planned(section, key, "2030-05-14")).asked() == []  # its last day counts


def test_a_stopper_out_of_date():
    text = EXAMPLE.kit.text.replace("expires = 2031-06-30", "expires = 2030-01-01")
    files = replace(EXAMPLE.files, kit=load_text(EXAMPLE.kit.schema, text, "kit.toml"))
    [question] = Job(made_by=plan(files)).asked()
    assert question.sort == "out of date" and "stopper ST-100" in question.text


def test_a_gauge_is_used_wherever_an_answer_names_it():
    job = Job(made_by=planned("gauge", "calibrated_until", "2030-05-13"))
    job.change(log.Answered, {"step": "B6", "ask": "pressure"}, value=Value("30.2", "0.3", "mbar", instrument="G-11"))
    assert [question.step for question in job.asked()] == ["B6"]
    job.change(log.Answered, {"step": "B6", "ask": "pressure"}, value=Value("30.2", "0.3", "mbar", instrument="G-12"))
    assert [question.step for question in job.asked()] == ["D6"]


def test_an_authorisation_that_had_ended():
    job = Job()
    job.change(log.Opened, {}, people=(PEOPLE[0], replace(PEOPLE[1], expires="2030-05-13")))
    [question] = job.asked()
    assert question.sort == "out of date" and "P2" in question.text
    job.change(log.Opened, {}, people=(PEOPLE[0], replace(PEOPLE[1], expires="never")))
    assert job.asked() == []  # what is no date is the reader's business


def test_a_clock_that_was_set_while_its_counter_went_on():
    job = Job()
    lines = job.lines()
    for index in range(100, len(lines)):
        event = lines[index].event
        at = (datetime.fromisoformat(event.at) + timedelta(hours=2)).isoformat()
        lines[index] = seal_line(replace(event, at=at, prev=lines[index - 1].hash))
    [question] = job.asked(lines)
    assert question.sort == "clock set" and question.numbers == (99, 100) and "7200 s further" in question.text


def test_steps_entered_from_paper_are_one_question():
    job = Job()
    for index in (20, 21, 22):
        job.events[index][3] = "2030-05-14T07:50:00+00:00"
    [question] = job.asked()
    assert question.sort == "from paper" and "3 of" in question.text and question.numbers == (20, 21, 22)


def test_a_signature_by_somebody_who_was_not_there():
    job = Job()
    left = job.at(log.Signed, step="E18")
    job.events.insert(left, [job.events[left][0] - 1.0, "P2", log.Present("P2", False), ""])
    came = job.at(log.Done, step="E18")
    job.events.insert(came, [job.events[came][0] - 1.0, "P2", log.Present("P2", True), ""])
    [question] = job.asked()
    assert (question.sort, question.step) == ("not there", "E18") and "P2" in question.text


def test_nobody_needs_to_be_at_the_pit_to_sign_what_is_done_on_arrival():
    job = Job()
    came = job.events.pop(job.at(log.Present, who="P2"))
    dug = next(index for index, event in enumerate(job.events) if getattr(event[2], "step", "").startswith("C"))
    job.events.insert(dug, [job.events[dug][0] - 1.0, *came[1:]])
    assert any(isinstance(event[2], log.Signed) and event[1] == "P2" for event in job.events[:dug])
    assert job.asked() == []


def test_times_from_paper_are_not_held_against_each_other():
    """A sheet is filled in to the minute, and often for several steps at once."""
    job = Job()
    job.change(log.Answered, {"step": "F10", "ask": "time"}, value=Value("90", "", "min"))
    [question] = job.asked()
    for index in question.numbers:
        job.events[index][3] = "2030-05-14T12:00:00+00:00"
        assert job.sorts() == ["from paper"]
        job.events[index][3] = ""
    assert job.sorts() == ["too quick"]


def test_two_people_who_always_sign_within_a_second():
    job = Job()
    for index, event in enumerate(job.events):
        if isinstance(event[2], log.Signed) and event[1] == "P2":
            event[0] = job.events[index - 1][0] + 0.8
    [question] = job.asked()
    assert question.sort == "signed together" and "P1 and P2" in question.text
    first = job.at(log.Signed, step="B6")
    job.events[first][0] -= 5.0  # once apart is enough
    assert job.asked() == []
    job.events[first][0] += 5.0
    job.change(log.Opened, {}, replayed=True)  # a script's times say nothing of hands
    assert job.asked() == []


# Values and evidence


def flat(job, wanted=("hold", "watch", "fall", "rise")):
    for index, (_, _, what, _) in enumerate(job.events):
        if isinstance(what, log.Answered) and what.ask in wanted and what.step != "E2":
            value = what.value if what.evidence else replace(what.value, number="0.0")
            job.events[index][2] = replace(what, value=value)
            if what.evidence:
                with_log(job, what.step, what.ask, gauge_text(130 + index % 7, 0, moves=False).encode())


def test_all_drops_exactly_nothing():
    job = Job()
    flat(job)
    [question] = job.asked()
    assert question.sort == "no drop at all" and len(question.numbers) >= 5
    job.change(log.Answered, {"step": "E6", "ask": "fall"}, value=Value("0.1", "", "mbar"))
    assert job.asked() == []  # one that moved is enough


def test_nearly_all_measured_figures_end_in_nought():
    job = Job()
    for event in job.events:
        value = getattr(event[2], "value", Value(how="judged"))
        if isinstance(event[2], log.Answered) and "." in value.number and value.how == "measured" and \
                not event[2].ask.endswith("tude"):
            event[2] = replace(event[2], value=replace(value, number=value.number[:-1] + "0"))
    [question] = job.asked()
    assert question.sort == "round numbers"


def test_all_readings_of_the_wall_the_same():
    same = ", ".join(['"3.2 mm"'] * 12)
    made = planned("pipe", "wall", f'{{ readings = [{same}], uncertainty = "0.2 mm" }}', "service.toml")
    [question] = Job(made_by=made).asked()
    assert question.sort == "even wall" and "12" in question.text
    job = Job()
    first = job.at(log.Answered, step="C9")
    for number in range(6):
        job.events.insert(first, [job.events[first][0], "P2",
                                  log.Answered("C9", f"wall_{number}", Value("3.2", "", "mm")), ""])
    assert job.asked() == []  # a question that the procedure does not ask is none of ours


def test_all_readings_of_the_wall_the_same_answered_one_by_one():
    old = EXAMPLE.files.procedure
    asks = "".join(f'\n[[ask]]\nstep = "C9"\nname = "wall_{number}"\nsort = "quantity"\nabout = "Wall {number}"\n'
                   'unit = "mm"\n' for number in range(6))
    made = plan(replace(EXAMPLE.files, procedure=load_text(old.schema, old.text + asks, "procedure.toml")))
    job = Job(made_by=made)
    assert job.asked() == []
    for number in range(6):
        job.change(log.Answered, {"step": "C9", "ask": f"wall_{number}"}, value=Value("3.2", "", "mm"))
    [question] = job.asked()
    assert (question.sort, question.step, len(question.numbers)) == ("even wall", "C9", 6)
    job.change(log.Answered, {"step": "C9", "ask": "wall_3"}, value=Value("3.3", "", "mm"))
    assert job.asked() == []
    job.change(log.Answered, {"step": "C9", "ask": "wall_3"}, value=Value(how="not measured", reason="no echo"))
    assert job.asked() == []  # five are too few to ask


def test_a_photo_kept_twice():
    job = Job()
    photo = job.events[job.at(log.Kept, step="B1")][2]
    job.change(log.Kept, {"step": "I1"}, sha256=photo.sha256)
    [question] = job.asked()
    assert question.sort == "photo twice" and "B1" in question.text and "I1" in question.text
    assert question.hashes[0] == job.lines()[job.at(log.Kept, step="B1")].hash


def test_one_gauge_log_for_two_watches():
    job = Job()
    data = gauge_text(140, 5).encode()
    with_log(job, "E8", "watch", data)
    with_log(job, "E10e", "watch", data)
    [question] = job.asked()
    assert question.sort == "gauge log twice" and "E8" in question.text and "E10e" in question.text


def test_a_place_that_jumps():
    job = Job()
    job.change(log.Answered, {"step": "I1", "ask": "latitude"}, value=Value("46.21", "", "deg"))
    [question] = job.asked()
    assert question.sort == "place jumps" and question.step == "I1"
    assert 1100.0 < float(question.text.split("lie ")[1].split()[0]) < 1125.0  # 0.01 degrees of the meridian: 1111 m


def test_distances_against_the_meridian_and_the_parallel():
    """A minute of arc along a meridian is a sea mile, 1852 m, to 0.5 %; along a parallel it shrinks by the cosine."""
    assert distance((46.0, -22.0), (46.0 + 1.0 / 60.0, -22.0)) == pytest.approx(1852.0, rel=0.005)
    assert distance((60.0, 10.0), (60.0, 10.0 + 1.0 / 60.0)) == pytest.approx(1852.0 * cos(radians(60.0)), rel=0.005)
    assert distance((46.0, -22.0), (46.0, -22.0)) == 0.0


def test_an_abandonment_that_does_not_say_where_the_dead_pipe_ends():
    made = planned("job", "route", '"cap and abandon"', "service.toml")
    job = Job(made_by=made)
    assert job.asked() == []
    for event in job.events:
        if isinstance(event[2], log.Answered) and event[2].ask == "dead_leg":
            event[2] = replace(event[2], value=Value(how="not measured", reason="covered"))
    job.events = [event for event in job.events if not (isinstance(event[2], log.Answered) and event[2].step == "G3")]
    assert job.sorts() == ["dead leg without end"]


# Several jobs


def other(seed=2):
    job = Job(seed)
    job.name = "J-0002"
    for index, event in enumerate(job.events):
        if isinstance(event[2], log.Kept):
            event[2] = replace(event[2], sha256=hashlib.sha256(f"other {index}".encode()).hexdigest())
    return job


def test_two_ordinary_jobs_on_two_days_raise_none():
    assert questions_between([Job().lines(), other().lines(offset=86400.0)]) == []


def test_one_photo_on_two_jobs():
    job, second = Job(), other()
    photo = job.events[job.at(log.Kept, step="B1")][2]
    index = second.change(log.Kept, {"step": "C1"}, sha256=photo.sha256)
    lines = second.lines(offset=86400.0)
    [question] = questions_between([job.lines(), lines])
    assert question.sort == "same file on two jobs" and question.jobs == ("J-0001", "J-0002")
    assert question.hashes[1] == lines[index].hash


def test_one_gauge_on_two_jobs_in_the_same_minute():
    [question] = questions_between([Job().lines(), other(1).lines(offset=30.0)])
    assert question.sort == "one gauge" and "G-11" in question.text
    training = other(1)
    training.change(log.Opened, {}, training=True)
    assert questions_between([Job().lines(), training.lines(offset=30.0)]) == []


def test_a_hostile_log_is_looked_through_without_a_traceback():
    job = Job()
    lines = job.lines()
    for index in (10, 60, 120):
        lines[index] = seal_line(replace(lines[index].event, offset_s="much", prev=lines[index - 1].hash))
    lines[200] = seal_line(replace(lines[200].event, happening=log.Done("Z9")))
    assert isinstance(job.asked(lines), list)
    assert isinstance(questions_between([lines, lines]), list)


def test_a_corrected_answer_is_asked_about_as_corrected_twice_over():
    job = Job()
    index = job.at(log.Answered, step="F10", ask="time")
    for number in ("90", "10"):
        corrects = job.lines()[index].hash
        index = next(place for place, event in enumerate(job.events) if isinstance(event[2], log.Finished))
        job.events.insert(index, [job.events[index][0] - 1.0, "P2", log.Corrected(corrects, Value(number, "", "min"),
                                                                                  "misread"), ""])
        assert job.sorts() == (["too quick"] if number == "90" else [])
