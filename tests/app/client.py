"""The app called as a server calls it, in one thread; and a whole crew that works through its pages alone, by the forms
that stand in them."""

import html
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urljoin

import httpx

import stillbore
from stillbore.app.application import make_app
from stillbore.app.server import Server

EXAMPLES = Path(stillbore.__file__).parent / "examples"
WORDS = {"P1": "words of one", "P2": "words of two", "P3": "words of three"}


def at_once(coroutine):
    """What a coroutine returns that waits for nothing. No event loop: where a test of a browser ran before in this
    process, one runs in it already, and asyncio would refuse."""
    try:
        coroutine.send(None)
    except StopIteration as done:
        return done.value
    raise AssertionError("it waits for something")


class Inline(httpx.BaseTransport):
    """Calls an ASGI app at once, in this thread and without an event loop: no page may wait for anything but its host,
    which here never keeps it waiting. So it shows too that a page starts no thread and no task."""

    def __init__(self, app):
        self.app = app

    def handle_request(self, request):
        url = request.url
        scope = {"type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": request.method,
                 "path": unquote(url.path), "raw_path": url.raw_path.split(b"?")[0], "query_string": url.query,
                 "root_path": "", "scheme": url.scheme, "headers": [(name.lower(), value) for name, value in
                                                                    request.headers.raw],
                 "server": ("127.0.0.1", 80), "client": ("127.0.0.1", 1)}
        messages = [{"type": "http.request", "body": part, "more_body": True} for part in request.stream]
        messages.append({"type": "http.request", "body": b"", "more_body": False})
        sent = []

        async def receive():
            return messages.pop(0)

        async def send(message):
            sent.append(message)

        try:
            self.app(scope, receive, send).send(None)
        except StopIteration:
            pass
        else:
            raise AssertionError("the page waits for something")
        return httpx.Response(sent[0]["status"], headers=sent[0]["headers"],
                              content=b"".join(message.get("body", b"") for message in sent[1:]))


class Pages:
    """The app over a store in a folder; addresses without a host."""

    def __init__(self, folder, host=None):
        self.host = host or Server(Path(folder) / "jobs.db", "D1")
        self.app = make_app(self.host)
        self.client = httpx.Client(transport=Inline(self.app), base_url="http://127.0.0.1", follow_redirects=True)

    def get(self, path, **more):
        return self.client.get(path, **more)

    def post(self, path, data=None, **more):
        return self.client.post(path, data=data or {}, **more)


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
