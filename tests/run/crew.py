"""A crew of two with keys of their own, a store in memory, and good answers: a job is driven through the very session
that the command line uses. Tests spoil one thing and look what happens."""

import hashlib
import shlex
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

import stillbore
from stillbore.job.files import load_job
from stillbore.plan import plan
from stillbore.record import events as log
from stillbore.record.events import Person
from stillbore.run.answers import BY_GAUGE_LOG, value_of
from stillbore.run.gauge_log import Conditions
from stillbore.run.session import Device, Hand, Now, Session
from stillbore.run.step import Moved, Refused
from stillbore.store.keys import Secret, check

EXAMPLES = Path(stillbore.__file__).parent / "examples"
START = datetime.fromisoformat("2030-05-14T08:00:00+00:00")
ROUTES = ("cap and abandon", "renew towards the main", "renew towards the house")
KITS = ("kit_two_branches", "kit_single_branch")
# What the example job does not answer: steps of the other routes and of the other kit.
MORE = {"E4b.rise": "no", "E5b.fall": "0.0 mbar", "G1.stub": "0.2 m", "G3.length": "9.4 m", "F1.length": "9.4 m",
        "E4c.reading": "0 %"}
LOGS = {"hold": "hold", "rise": "rise", "watch": "let_by"}


def written_answers():
    """The answers of the shipped example job, by question: read from the script that a user reads too."""
    found = {}
    for line in (EXAMPLES / "job.run").read_text(encoding="utf-8").splitlines():
        words = shlex.split(line, comments=True)
        if words and words[0] == "record":
            found.setdefault(f"{words[1]}.{words[2]}", words[3])
    return {**found, **MORE}


ANSWERS = written_answers()


class Shelf:
    """A store in memory."""

    def __init__(self):
        self.stored, self.files = [], {}

    def lines(self, job):
        return [line for line in self.stored if line.event.job == job]

    def append(self, line):
        self.stored.append(line)

    def keep(self, data):
        sha256 = hashlib.sha256(data).hexdigest()
        self.files[sha256] = data
        return sha256

    def kept(self, sha256):
        return self.files[sha256]


def survey_text(route=ROUTES[1], *changes):
    text = (EXAMPLES / "service.toml").read_text(encoding="utf-8").replace(ROUTES[1], route)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def planned(text, kit=KITS[0], rules=None):
    with tempfile.TemporaryDirectory() as folder:
        survey = Path(folder) / "service.toml"
        survey.write_text(text, encoding="utf-8")
        rule_file = None
        if rules is not None:
            rule_file = Path(folder) / "rules.toml"
            rule_file.write_text(rules, encoding="utf-8")
        return plan(load_job(survey, EXAMPLES / f"{kit}.toml", rule_file))


PLANS = {}
SECRETS = {name: Secret(bytes([number]) * 32)
           for number, name in enumerate(("P1", "P2", "P3", "D1", "D2"), 1)}
ROLES = {"P1": "team leader", "P2": "second operative", "P3": "authorising engineer"}


class Crew:
    """One job. ``seconds`` is the device's clock."""

    def __init__(self, route=ROUTES[1], kit=KITS[0], shelf=None, device="D1", made=None, here=True):
        if (route, kit) not in PLANS:
            PLANS[route, kit] = planned(survey_text(route), kit)
        self.plan = made or PLANS[route, kit]
        self.seconds, self.boot = 0.0, "boot"
        self.given = {}  # answers that this crew gives, whatever would be good
        self.hands = {name: Hand(name, role) for name, role in ROLES.items()}
        people = tuple(Person(name, role, SECRETS[name].public, f"A-{name}", "2031-01-31")
                       for name, role in ROLES.items())
        self.device = Device(device, SECRETS[device].public, SECRETS[device].sign)
        self.shelf = shelf or Shelf()
        if self.shelf.stored:
            self.session = Session(self.shelf, "J-0001", self.device, self.clock, check)
            self.session.join(self.hands["P1"])
        else:
            self.session = Session.start(self.shelf, self.plan, self.hands["P1"], people, self.device, self.clock,
                                         check, program="0")
        if here:
            for name in ("P1", "P2"):
                self.try_(log.Present(name, True))
            self.try_(log.Monitor("GM-2", True, True))
            self.district("30.3 mbar")

    def clock(self):
        self.seconds += 1.0
        return Now((START + timedelta(seconds=self.seconds)).isoformat(), self.boot, int(self.seconds * 1000))

    @property
    def state(self):
        return self.session.state

    def try_(self, what, who="P1"):
        return self.session.attempt(what, self.hands[who])

    def district(self, text):
        ask = self.state.basis.asks["B6.pressure"]
        return self.try_(log.District(value_of(ask, text), "governor"))

    def answer(self, step_id, name, text=None, who="P2", log_file=None):
        ask = self.state.basis.asks[f"{step_id}.{name}"]
        if text is None and ask.key in ("D3.mark", "D3.again", "E3.travel"):
            text = f"{self.state.basis.limits['travel.feed_target'].low * 1e3:.1f} mm"
        text = text or self.given.get(ask.key)
        if ask.sort in BY_GAUGE_LOG and text is None:
            data = (EXAMPLES / "evidence" / f"{log_file or LOGS[name]}.csv").read_bytes()
            return self.session.gauge_log(step_id, name, data, "log.csv", Conditions("shade"), self.hands[who])
        if text is None:
            text = (ask.good or ask.choices)[0] if ask.sort == "choice" else ANSWERS.get(ask.key) or ask.wanted
        return self.session.answer(step_id, name, value_of(ask, text), self.hands[who])

    def prepare(self, step_id, **answers):
        """Answer all that a step asks, with given answers where there are some, and keep its evidence."""
        step = self.session.step(step_id)
        for ask in step.asks:
            if answers.get(ask.name, "") is not None and not (ask.optional and ask.key not in ANSWERS and
                                                                 ask.name not in answers):
                self.answer(step_id, ask.name, answers.get(ask.name))
        for sort in step.evidence:
            if not any(found.kept.sort == sort for found in self.state.kept(step_id)):
                data = f"{sort} of {step_id} {self.seconds}".encode()
                self.session.keep(step_id, sort, data, "x", "", self.hands["P2"])

    def sign(self, step_id, who="P1", secret=None):
        key = SECRETS[secret or who]
        return self.session.sign(step_id, self.hands[who], key.public, key.sign)

    def done(self, step_id):
        return self.try_(log.Done(step_id))

    def do(self, step_id, **answers):
        """A whole step: answers, evidence, signatures, done."""
        self.prepare(step_id, **answers)
        if self.session.step(step_id).signers:
            self.sign(step_id, "P1")
            self.sign(step_id, "P2")
        return self.done(step_id)

    def up_to(self, step_id):
        """Every step that is not done, in order, up to the given one, which is left."""
        for step in self.state.basis.steps:
            if step.id == step_id:
                return self
            if not self.state.stands(step.id):
                found = self.do(step.id)
                assert isinstance(found, Moved), (step.id, found)
                if step.id == "E11" and "E9" in self.state.done and not self.state.stands("E9"):
                    assert isinstance(self.do("E9"), Moved)
        return self


def refused(found, *words):
    """The reasons of a refusal; every word must be in one of them."""
    assert isinstance(found, Refused), found
    for word in words:
        assert any(word in reason for reason in found.reasons), (word, found.reasons)
    return found.reasons
