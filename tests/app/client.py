"""The app called as a server calls it, in one thread; and a whole crew that works through its pages alone, by the forms
that stand in them."""

import asyncio
import html
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urljoin

import httpx

import stillbore
from stillbore.app.application import make_app
from stillbore.app.server import Server

EXAMPLES = Path(stillbore.__file__).parent / "examples"
WORDS = {"P1": "words of one", "P2": "words of two", "P3": "words of three"}


class Pages:
    """The app over a store in a folder; addresses without a host."""

    def __init__(self, folder, host=None):
        self.host = host or Server(Path(folder) / "jobs.db", "D1")
        self.app = make_app(self.host)

    def _call(self, method, path, **more):
        async def call():
            transport = httpx.ASGITransport(app=self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1",
                                         follow_redirects=True) as client:
                return await client.request(method, path, **more)

        return asyncio.run(call())

    def get(self, path, **more):
        return self._call("GET", path, **more)

    def post(self, path, data=None, **more):
        return self._call("POST", path, data=data or {}, **more)


@dataclass
class Form:
    action: str
    method: str = "get"
    fields: list = field(default_factory=list)


class Reader(HTMLParser):
    """What a test wants to know of a page: its words, its links, its forms."""

    def __init__(self, page, address):
        super().__init__()
        self.address, self.forms, self.links, self.words, self.open = address, [], [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        found = dict(attributes)
        if tag == "form":
            self.forms.append(Form(urljoin(self.address, found.get("action") or self.address),
                                   found.get("method", "get")))
        if tag in ("input", "select", "textarea", "button") and self.forms and found.get("name"):
            self.forms[-1].fields.append(found)
        if tag == "a" and "href" in found:
            self.links.append(urljoin(self.address, found["href"]))

    def handle_data(self, data):
        self.words.append(data)


def words_of(response):
    """The words of a page as one line."""
    return " ".join(" ".join(Reader(response.text, str(response.url)).words).split())


def reasons_of(response):
    """What a page says was refused."""
    found = re.search(r'id="reasons">(.*?)</section>', response.text, re.DOTALL)
    return [html.unescape(each) for each in re.findall(r"<li>(.*?)</li>", found[1], re.DOTALL)] if found else []
