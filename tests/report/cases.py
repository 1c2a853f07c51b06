"""The plans whose documents are looked at, each made once, and small helpers to read documents back."""

import functools
import io
import re
from html.parser import HTMLParser

import pypdf
from variants import SINGLE_BRANCH, made

HOSTILE = '<script>alert(1)</script> & "q"'
LONG = "A very long name of a place in a very long street, " * 12

CASES = {
    "two branches": {},
    "single branch": {"base_kit": SINGLE_BRANCH},
    "wall unknown": {"survey": {"pipe.wall": '"unknown"'}},
    "two sides": {"survey": {"supply.feeds": '"two sides"'}},
    "engineer": {"survey": {"record.material": '"copper"'}},
    "hostile": {"survey": {"job.place": r'''"<script>alert(1)</script> & \"q\""'''}},
    "strange letters": {"survey": {"job.id": r'"J-中\u202e<b>"', "job.asset": '"S-Ж 🙂"'}},
    "size between bands": {"survey": {"pipe.outside_diameter": '"31.0 mm"'}},
    "worst": {"survey": {
        "pipe.wall": '"unknown"', "job.place": f'"{LONG}"', "job.id": f'"{"J-" * 90}"', "job.asset": f'"{"S" * 400}"',
        "supply.feeds": '"unknown"', "supply.fed_list_complete": '"unknown"', "pipe.identity_proofs": "[]",
        "permit[0]": None, "person[1]": None, "district[0]": None, "site.clear_length": '"unknown"',
        "pressure.maximum_operating_pressure_sources": '["one"]', "electrical.bond_current": '"unknown"',
    }, "kit": {"kit.name": f'"{"Kit " * 80}"', "kit.statement": f'"{"Nobody stands behind this. " * 60}"'}},
}
DOES_NOT_APPLY = ("two sides",)


@functools.cache
def plan_of(case):
    return made(**CASES[case])


def squeezed(text):
    """Text without white space, so that line breaks do not matter."""
    return re.sub(r"[\s\u200b]+", "", text)


@functools.cache
def pages(pdf):
    """The text of every page of a PDF, squeezed."""
    return tuple(squeezed(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def strings(value):
    """Every text of a document, in order."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [text for key, item in value.items() if key not in ("is", "svg", "kind") for text in strings(item)]
    return [text for item in value for text in strings(item)] if isinstance(value, list) else []


class Page(HTMLParser):
    """Reads a page and keeps its tags and its text; an end tag without its start is a fault."""

    VOID = {"meta", "col", "br", "link", "img", "input", "hr"}

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.tags, self.open, self.faults, self.words = [], [], [], []
        self.feed(html)
        self.close()
        self.faults += [f"<{tag}> is never closed" for tag in self.open]

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> closes nothing")

    def handle_data(self, data):
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self):
        return "".join(self.words)
