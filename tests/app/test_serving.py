"""Who gets what from ``stillbore serve``: called as a server calls it, from an address of our choice."""

import json

import pytest
from client import at_once
from made import Crew, opened

from stillbore.app.asgi import ask
from stillbore.app.serving import served
from stillbore.store.sqlite import SqliteStore

TOKEN = "a token of the tests, and of nothing else"


async def pages(scope, receive, send):
    """A page that tells on itself."""
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/html")]})
    await send({"type": "http.response.body", "body": b"a page of the store"})


@pytest.fixture
def app(tmp_path):
    (tmp_path / "web").mkdir()
    (tmp_path / "web" / "index.html").write_text("the shell")
    (tmp_path / "secret").write_text("not to be had")
    return served(pages, lambda: SqliteStore(tmp_path / "depot.db"), TOKEN, tmp_path / "web")


def asked(app, path, method="GET", client="127.0.0.1", headers=(), body=b"", host="127.0.0.1:8730"):
    async def from_there(scope, receive, send):
        await app({**scope, "client": (client, 1)}, receive, send)

    status, answered, data = at_once(ask(from_there, method, f"http://{host}{path}", list(headers), body))
    return status, dict(answered), data


def test_this_machine_sees_pages_and_another_is_sent_to_the_tablets_app(app):
    assert asked(app, "/en/")[2] == b"a page of the store"
    status, headers, data = asked(app, "/en/", client="192.0.2.7", host="depot.example")
    assert status == 303 and headers["location"] == "/tablet/" and b"store" not in data
    assert asked(app, "/tablet/", client="192.0.2.7", host="depot.example")[2] == b"the shell"


def test_another_name_for_this_machine_is_refused(app):
    """A page elsewhere may point a name of its own at 127.0.0.1 (DNS rebinding)."""
    assert asked(app, "/en/", host="rebound.example")[0] == 421


@pytest.mark.parametrize("site,status", [("cross-site", 403), ("same-site", 403), ("same-origin", 200), ("none", 200)])
def test_a_form_of_another_site_is_refused(app, site, status):
    assert asked(app, "/en/jobs", "POST", headers=[("sec-fetch-site", site)])[0] == status


@pytest.mark.parametrize("path", ["/tablet/../secret", "/tablet/%2e%2e/secret", "/tablet/..%2fsecret",
                                  "/tablet//etc/passwd", "/tablet/none.js"])
def test_only_built_files_are_to_be_had(app, path):
    status, _, data = asked(app, path)
    assert status == 404 and b"not to be had" not in data and b"root" not in data


def test_every_answer_has_the_policy_without_inline_script(app):
    for path in ("/en/", "/tablet/", "/tablet/none.js", "/stillbore/1/digests"):
        policy = asked(app, path)[1]["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe-inline" not in policy and "'unsafe-eval'" not in policy


def test_the_exchange_wants_the_token(app):
    line = Crew().write("D1", opened()).raw
    for shown in ("", "Bearer", f"Bearer {TOKEN}x", TOKEN):
        status, _, data = asked(app, "/stillbore/1/take", "POST", "192.0.2.7", [("authorization", shown)], line)
        assert status == 401 and json.loads(data)["ok"] is False
    right = [("authorization", f"Bearer {TOKEN}")]
    status, _, data = asked(app, "/stillbore/1/take", "POST", "192.0.2.7", right, line)
    assert status == 200 and json.loads(data)["new"] == 1
    assert asked(app, "/stillbore/1/held?job=J-1", "GET", "192.0.2.7", right)[2].count(b'"') == 2


def test_without_a_token_there_is_no_exchange(tmp_path):
    app = served(pages, lambda: SqliteStore(tmp_path / "depot.db"), "", tmp_path)
    assert asked(app, "/stillbore/1/digests", client="192.0.2.7", headers=[("authorization", "Bearer ")])[0] == 303
