"""A crew that does the shipped example job through the pages alone: each command of the script becomes what a person
sends from a page. Nothing here knows how the job is judged."""

import shlex
from datetime import datetime, timedelta
from pathlib import Path

from client import EXAMPLES, WORDS, Pages, reasons_of

from stillbore.app.server import Server
from stillbore.run.session import Now

JOB = "J-0001"


class SetServer(Server):
    """A host whose clock the test sets; a second passes with each look at it."""

    def __init__(self, path, device):
        super().__init__(path, device)
        self.at = datetime.fromisoformat("2030-05-14T07:00:00+00:00")

    def clock(self):
        self.at += timedelta(seconds=1)
        tick = int((self.at - datetime.fromisoformat("2030-05-01T00:00:00+00:00")).total_seconds() * 1000)
        return Now(self.at.isoformat(timespec="milliseconds"), "boot", tick)


def script():
    """The lines of the example: (must be refused, words)."""
    for line in (EXAMPLES / "job.run").read_text(encoding="utf-8").splitlines():
        words = shlex.split(line, comments=True)
        if words:
            refused = words[0].startswith("!")
            yield refused, [words[0].lstrip("!"), *words[1:]]


def options(words):
    """Words and options of a command."""
    plain, found, rest = [], {}, list(words)
    while rest:
        word = rest.pop(0)
        if word.startswith("--") and word != "--bumped":
            found[word[2:]] = rest.pop(0)
        else:
            plain.append(word)
    return plain, found


class CrewAtPages:
    """``pages``: the app; every answer of a page is kept in ``last``."""

    def __init__(self, folder):
        self.host = SetServer(Path(folder) / "jobs.db", "D1")
        self.pages = Pages(folder, self.host)
        self.last = None

    def open(self, people=("P1", "P2"), **changes):
        pages = self.pages
        pages.post("/en/new", {"number": JOB, "start": "example"})
        for person in people:
            pages.post("/en/keys", {"person": person, "words": WORDS[person], "again": WORDS[person]})
        for kind, text in changes.items():
            pages.post(f"/en/jobs/{JOB}/files/{kind}", {"text": text, "act": "save"})
        self.last = pages.post(f"/en/jobs/{JOB}/start", {"by": "P1"})
        return self

    @property
    def state(self):
        return self.pages.app.state.desk.session(JOB).state

    def at(self, who, *parts):
        return "/".join((f"/en/jobs/{JOB}/run/{who}", *parts))

    def send(self, who, *parts, files=None, **data):
        """What a person sends; the reasons, where it was refused."""
        self.last = self.pages.post(self.at(who, *parts), data, files=files)
        assert self.last.status_code in (200, 422), self.last.text[:400]
        return reasons_of(self.last)

    def answer(self, step, name, text, who="P2", **more):
        ask = self.state.basis.asks[f"{step}.{name}"]
        if ask.sort == "quantity" and not text.startswith("not measured"):
            number, _, unit = text.partition(" ")
            spread = ""
            if unit.startswith("+/- "):
                spread, _, unit = unit[4:].partition(" ")
            assert unit == ask.unit or unit in text
            more |= {"value": number, "uncertainty": spread}
            if unit != ask.unit:  # the page has one unit; another is typed behind the number
                more["value"] = f"{number} {unit}"
        elif text.startswith("not measured"):
            more["not_measured"] = text.partition(": ")[2]
        else:
            more["value"] = text
        return self.send(who, "step", step, f"ask.{name}", **more)

    def keep(self, step, path, who="P2", sort="photo"):
        page = f"keep.{sort}" if " " not in sort else "~" + f"keep.{sort}".encode().hex()
        return self.send(who, "step", step, page, files={"file": (path.name, path.read_bytes())})

    def sign(self, step, signer, words=None, held="yes"):
        return self.send("P2", "step", step, "sign", signer=signer, words=words or WORDS[signer], held=held)

    def done(self, step, who="P1", **more):
        return self.send(who, "step", step, "done", held="yes", **more)

    def gauge(self, step, name, path, drift="shade", instrument="G-11", who="P2"):
        place = ("step", step, f"ask.{name}", "gauge")
        self.send(who, *place, act="conditions", drift=drift, instrument=instrument)
        reasons = self.send(who, *place, act="log", files={"file": (path.name, path.read_bytes())})
        return reasons or self.send(who, *place, act="keep")

    def do(self, words):
        """A command of the script; the reasons, where it was refused."""
        plain, said = options(words[1:])
        command, who = words[0], said.get("by", "P1")
        if command == "at":
            self.host.at = datetime.fromisoformat(plain[0])
        elif command == "wait":
            self.host.at += timedelta(seconds=float(plain[0]))
        elif command == "start":
            self.open()
        elif command == "record":
            return self.answer(*plain, who, instrument=said.get("instrument", ""))
        elif command == "keep":
            return self.keep(plain[0], EXAMPLES / plain[2], who, plain[1])
        elif command == "gauge":
            return self.gauge(plain[0], plain[1], EXAMPLES / plain[2], said["drift"], said["instrument"], who)
        elif command == "sign":
            return self.sign(plain[0], who)
        elif command == "done":
            return self.done(plain[0], who)
        elif command == "present":
            return self.send("P2", "more", "present", person=plain[0])
        elif command == "monitor":
            return self.send(who, "more", "monitor", instrument=plain[0], bumped="yes")
        elif command == "district":
            number, _, _ = plain[0].partition(" ")
            return self.send(who, "more", "district", value=number, place=plain[1])
        elif command == "finish":
            return self.send(who, "more", "finish", held="yes")
        else:
            raise AssertionError(words)
        return []

    def up_to(self, *stop):
        """Every line of the script before the first that begins with these words."""
        for refused, words in script():
            if words[:len(stop)] == list(stop) and not refused:
                return self
            reasons = self.do(words)
            assert bool(reasons) == refused, (words, reasons)
        return self
