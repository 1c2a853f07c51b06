"""Jobs whose records are looked at, each driven once through the session that the command line uses."""

import functools
import hashlib
import struct
import sys
import zlib
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "run"))

from crew import EXAMPLES, ROUTES, SECRETS, Crew, planned, survey_text

from stillbore.record import events as log
from stillbore.record.chain import export
from stillbore.record.verify import known_key
from stillbore.report.record import record_html, record_pdf, story_of
from stillbore.run.session import Session
from stillbore.store.keys import check

KNOWN = frozenset(known_key("device" if name.startswith("D") else "person", name, secret.public)
                  for name, secret in SECRETS.items())
HOSTILE = '<script>alert("x")</script> \u202eevil & #set page(width: 1mm)'
AT = "2030-05-14T18:00:00+00:00"


def png(width=8, height=6, size=None):
    """A small grey PNG made by hand (ISO/IEC 15948); ``size`` is what its header claims instead."""
    def piece(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", *(size or (width, height)), 8, 0, 0, 0, 0)
    rows = b"".join(b"\0" + bytes((16 * row) % 256 for _ in range(width)) for row in range(height))
    return b"\x89PNG\r\n\x1a\n" + piece(b"IHDR", header) + piece(b"IDAT", zlib.compress(rows)) + piece(b"IEND", b"")


@dataclass(frozen=True)
class Job:
    """A log as exported, and its files by hash."""

    data: bytes
    files: dict

    def kept(self, sha256):
        return self.files[sha256]

    @property
    def lines(self):
        return self.story.lines

    @functools.cached_property
    def story(self):
        return story_of(self.data, self.kept, check)

    @functools.cached_property
    def pdf(self):
        return record_pdf(self.data, self.kept, check)

    @functools.cached_property
    def html(self):
        return record_html(self.data, self.kept, check).decode()

    __hash__ = object.__hash__


def exported(crew, ended=True):
    lines = crew.session.lines
    data = export(lines, AT, "D1", crew.device.key, crew.device.sign)
    return Job(data if ended else b"".join(line.raw + b"\n" for line in lines), dict(crew.shelf.files))


def photo(crew, step, data, name="photo.png", caption=""):
    crew.session.keep(step, "photo", data, name, caption, crew.hands["P2"])


def whole():
    """An ordinary day, from opening to end, with real pictures."""
    crew = Crew()
    for step in crew.state.basis.steps:
        if step.evidence and "photo" in step.evidence:
            photo(crew, step.id, png(40, 30 + step.place), f"{step.id}.png", "as it was")
        crew.up_to(step.id)
    crew.up_to("")
    crew.try_(log.Finished())
    crew.session.seal(crew.hands["P1"])
    return exported(crew)


def eventful():
    """A day with everything on it that a record puts first; the job is given up, and the end is left open."""
    crew = Crew().up_to("B6")
    crew.try_(log.Done("E14"))
    crew.try_(log.Noted("B6", "a dog at the gate"))
    crew.up_to("B9")
    paper = {name: type(hand)(name, hand.role, "2030-05-14T08:50:00+00:00") for name, hand in crew.hands.items()}
    ordinary, crew.hands = crew.hands, paper
    crew.seconds += 3600.0
    crew.do("B9")
    crew.hands = ordinary
    crew.up_to("C5")
    crew.answer("C5", "clear", "not measured: no room for the tape")
    crew.answer("C5", "clear", "640 mm")
    crew.session.correct("C5.clear", crew.state.answers["C5.clear"].value.__class__("645", "", "mm"),
                         "read the tape again", crew.hands["P2"])
    crew.up_to("C12")
    crew.try_(log.Stopped("a car came through the barriers"))
    crew.seconds += 240.0
    crew.try_(log.Resumed("barriers stand again"))
    crew.prepare("C12", spacing="600 mm")
    key = SECRETS["P3"]
    crew.session.override("C12", "C12.spacing", "agreed by telephone", "P3", crew.hands["P2"], key.public, key.sign)
    crew.done("C12")
    crew.up_to("D4")
    crew.answer("C9", "least", "2.3 mm")
    old = survey_text().partition("wall = { readings = [")[2].partition("]")[0]
    written = ", ".join(f'"{reading}"' for reading in ("2.3 mm", *["2.6 mm"] * 11))
    crew.session.replan(planned(survey_text(ROUTES[1], (old, written))), "wall thinner than recorded",
                        crew.hands["P1"])
    crew.try_(log.Aborted("the saw for this wall is not on the van"))
    return exported(crew, ended=False)


def half():
    """Stopped inside a one-barrier window; the photos are of all sorts."""
    crew = Crew().up_to("E15")
    photo(crew, "E15", png(), "good.png", "the end")
    photo(crew, "E15", png(size=(90_000, 90_000)), "bomb.png", "claims to be enormous")
    photo(crew, "E15", png()[:-9], "torn.png", "cut off")
    photo(crew, "E15", b"no picture at all", "words.jpg", "not a picture")
    photo(crew, "E15", png(9), "good.png", "another of the same name")
    crew.session.keep("E15", "gauge log", b"\xff\xfe\x00nothing\n\n,,,", "broken.csv", "spoilt", crew.hands["P2"])
    crew.try_(log.Stopped("rain"))
    return exported(crew)


def hostile():
    """Words that would like to be something else."""
    crew = Crew(here=False)
    crew.try_(log.Noted("", HOSTILE))
    crew.try_(log.Stopped("w" * 500))
    photo(crew, "B1", png(), '../../<b>"evil"&\\..\\x' + "y" * 300 + ".PNG", HOSTILE)
    photo(crew, "B1", png(3), "record.jsonl", "the name of the log")
    photo(crew, "B1", png(4), ".hidden", "")
    photo(crew, "B1", png(5), "CON", "中文 🙂")
    return exported(crew)


def short():
    """As little as there can be: opened, and stopped."""
    crew = Crew(here=False)
    crew.try_(log.Stopped("rain"))
    return exported(crew)


class Practice(Session):
    """A session whose jobs are training, replayed."""

    @classmethod
    def start(cls, *arguments, **named):
        return super().start(*arguments, **{**named, "replayed": True, "training": True})


def practised(monkeypatch):
    monkeypatch.setattr("crew.Session", Practice)
    return exported(Crew().up_to("B8"))


JOBS = {"whole": whole, "eventful": eventful, "half": half, "hostile": hostile, "short": short}


@functools.cache
def job(name):
    return JOBS[name]()


def sha256(data):
    return hashlib.sha256(data).hexdigest()


__all__ = ["AT", "EXAMPLES", "HOSTILE", "JOBS", "KNOWN", "Job", "SECRETS", "check", "exported", "job", "png",
           "practised", "sha256"]
