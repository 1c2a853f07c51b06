"""A store over HTTP: the same set on both sides, also broken off; and nothing that comes in breaks either side."""

import hashlib
import http.client
import json
import socket
import threading
from contextlib import ExitStack, contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from made import Crew, opened, two_on_one_job

from stillbore.errors import StillboreError
from stillbore.record.chain import merged
from stillbore.record.events import Kept
from stillbore.store import wire
from stillbore.store.sqlite import SqliteStore
from stillbore.store.sync import exchange

TOKEN = "a token of the depot"


@contextmanager
def running(server):
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@pytest.fixture
def depot(tmp_path):
    """A served store: its path and its address."""
    path = tmp_path / "depot.db"
    with running(wire.serve(lambda: SqliteStore(path), TOKEN)) as address:
        yield path, address


@pytest.fixture
def here(tmp_path):
    with SqliteStore(tmp_path / "here.db") as store:
        yield store


def test_lines_and_files_go_over_both_ways(depot, here):
    path, address = depot
    crew, photo = Crew(), b"photo" * 100_000
    here.append(crew.write("D1", opened(here.keep(b"survey"))))
    exchange(here, wire.Remote(address, TOKEN))
    crew.meet("D1", "D2")
    with SqliteStore(path) as there:
        there.append(crew.write("D2", Kept("B1", "photo", there.keep(photo), len(photo), "a.jpg")))
    here.append(crew.write("D1"))
    done = exchange(here, wire.Remote(address + "/", TOKEN))
    assert (done.taken.new, done.given.new, done.files_in, done.files_out) == (1, 1, 1, 0)
    with SqliteStore(path) as there:
        assert there.lines("J-1") == here.lines("J-1") == merged(crew.lines)
        assert there.kept(hashlib.sha256(b"survey").hexdigest()) == b"survey"
    assert here.kept(hashlib.sha256(photo).hexdigest()) == photo
    again = exchange(here, wire.Remote(address, TOKEN))
    assert (again.taken.new, again.given.new, again.files_in, again.files_out) == (0, 0, 0, 0)


def test_more_than_fits_in_one_request_goes_in_several(depot, here, monkeypatch):
    path, address = depot
    monkeypatch.setattr(wire, "LARGEST_BODY", 5_000)
    monkeypatch.setattr(wire, "HASHES_AT_ONCE", 30)
    crew = Crew("Straße 7/ü?&=#")
    crew.write("D1", opened())
    for _ in range(99):
        crew.write("D1")
    here.take(crew.raw[:50])
    with SqliteStore(path) as there:
        there.take(crew.raw[50:])
    done = exchange(here, wire.Remote(address, TOKEN))
    assert (done.taken.new, done.given.new) == (50, 50) and here.lines(crew.job) == crew.lines


def test_an_exchange_that_breaks_off_anywhere_goes_on_where_it_was(depot, here):
    """The connection fails at the first, second, third ... request; in the end both have the same."""
    path, address = depot
    crew = two_on_one_job()
    here.take(crew.raw[:9])
    here.append(Crew("J-2").write("D1", opened(here.keep(b"survey"))))
    with SqliteStore(path) as there:
        there.take(crew.raw[6:])

    class Failing(wire.Remote):
        left = 0

        def _ask(self, *arguments, **named):
            if self.left == 0:
                raise StillboreError("The connection is gone.", "Try again.")
            self.left -= 1
            return super()._ask(*arguments, **named)

    broken_off = 0
    for number in range(100):
        remote = Failing(address, TOKEN)
        remote.left = number
        try:
            exchange(here, remote)
            break
        except StillboreError:
            broken_off += 1
    assert broken_off >= 5
    with SqliteStore(path) as there:
        assert there.digests() == here.digests() and there.lines("J-1") == merged(crew.lines)
        assert there.lacking("J-2") == []


def test_without_the_token_nothing_is_told(depot, here):
    path, address = depot
    for wrong in ("", "another token of a depot", TOKEN + "x"):
        with pytest.raises(StillboreError, match="token is missing or wrong"):
            wire.Remote(address, wrong).digests()
    with pytest.raises(StillboreError, match="letters in it"):
        wire.Remote(address, "a\nb")
    with pytest.raises(StillboreError, match="shorter than 16"):
        wire.serve(lambda: here, "short")


def asked(address, method, path, body=b"", headers=(), token=TOKEN):
    connection = http.client.HTTPConnection(address.removeprefix("http://"), timeout=10)
    try:
        connection.putrequest(method, path, skip_host=True)
        for name, value in [("Authorization", f"Bearer {token}"), *(headers or [("Content-Length", str(len(body)))])]:
            connection.putheader(name, value)
        connection.endheaders(body)
        answer = connection.getresponse()
        return answer.status, answer.read()
    finally:
        connection.close()


@pytest.mark.parametrize("status,method,path,body,headers", [
    (404, "GET", "/", b"", ()), (404, "GET", "/stillbore/1/../../etc/passwd", b"", ()),
    (404, "GET", "/stillbore/2/digests", b"", ()), (501, "DELETE", "/stillbore/1/digests", b"", ()),
    (404, "GET", "/stillbore/1/files/" + "0" * 64, b"", ()), (404, "GET", "/stillbore/1/files/x", b"", ()),
    (404, "PUT", "/stillbore/1/files/" + hashlib.sha256(b"x").hexdigest(), b"x", ()),
    (400, "GET", "http://[/stillbore/1/digests", b"", ()),
    (400, "POST", "/stillbore/1/give?job=J", b"{", ()), (400, "POST", "/stillbore/1/give?job=J", b'{"a":1}', ()),
    (400, "POST", "/stillbore/1/give?job=J", b"[1]", ()), (400, "POST", "/stillbore/1/give", b"[" * 100_000, ()),
    (413, "POST", "/stillbore/1/give?job=J", json.dumps(["x"] * 5001).encode(), ()),
    (409, "POST", "/stillbore/1/give?job=J", b'["\\ud800"]', ()),
    (411, "POST", "/stillbore/1/take", b"", [("Transfer-Encoding", "chunked")]),
    (411, "POST", "/stillbore/1/take", b"", [("Content-Length", "-1")]),
    (411, "POST", "/stillbore/1/take", b"", [("Content-Length", "²")]),
    (413, "POST", "/stillbore/1/take", b"", [("Content-Length", "9" * 11)]),
    (413, "POST", "/stillbore/1/take", b"", [("Content-Length", "9" * 5000)]),
    (200, "POST", "/stillbore/1/take", b"\xff\x00\n{}\n" * 1000, ())])
def test_hostile_requests_are_answered(depot, status, method, path, body, headers):
    _, address = depot
    headers = [(name, value.encode("utf-8")) for name, value in headers]
    found, answer = asked(address, method, path, body, headers)
    assert found == status
    if status in (400, 404, 409, 411, 413):
        assert json.loads(answer).keys() == {"ok", "what", "fix", "about", "status"}
    assert asked(address, "GET", "/stillbore/1/digests") == (200, b"{}")


def test_a_file_whose_bytes_are_others_is_refused(depot):
    path, address = depot
    sha256 = hashlib.sha256(b"survey").hexdigest()
    with SqliteStore(path) as there:
        there.append(Crew().write("D1", opened(sha256)))
    assert asked(address, "PUT", f"/stillbore/1/files/{sha256}", b"Survey")[0] == 400
    assert asked(address, "PUT", f"/stillbore/1/files/{sha256}", b"survey")[0] == 200


@settings(max_examples=40, deadline=None)
@given(bytes_in=some.binary(max_size=200))
def test_raw_bytes_do_not_stop_the_server(served, bytes_in):
    host, port = served.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=5) as connection:
        connection.sendall(bytes_in)
    assert asked(served, "GET", "/stillbore/1/digests")[0] == 200


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    path = tmp_path_factory.mktemp("depot") / "depot.db"
    with running(wire.serve(lambda: SqliteStore(path), TOKEN)) as address:
        yield address


# A hostile other side

ANSWERS = [b"", b"{", b"[]", b'{"J-1": 1}', b'["x"]', b'{"J-1":"x"}', b'{"new":-1,"known":0,"refused":0}',
           b'{"new":true,"known":0,"refused":0,"faults":[1,[2],["a",1]]}', b"[" * 100_000, b"\xff\n\xff", b"null"]


@contextmanager
def answering(answers, status=200, headers=()):
    """A server that gives these answers, one after the other."""
    todo = iter(answers)

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self):
            self.rfile.read(int(self.headers.get("Content-Length", 0)))
            body = next(todo, b"")
            self.send_response(status)
            for name, value in headers or [("Content-Length", str(len(body)))]:
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(body)

        do_POST = do_PUT = do_GET

        def log_message(self, *_):
            pass

    with running(HTTPServer(("127.0.0.1", 0), Handler)) as address:
        yield address


@pytest.mark.parametrize("first", ANSWERS)
@pytest.mark.parametrize("then", ANSWERS)
def test_a_hostile_answer_is_an_error_or_nothing(here, first, then):
    here.append(Crew().write("D1", opened()))
    before = here.digests()
    with answering([first, *[then] * 20]) as address:
        try:
            exchange(here, wire.Remote(address, TOKEN))
        except StillboreError as error:
            assert error.what and error.fix
    assert here.digests() == before


@pytest.mark.parametrize("status,headers,answer,match", [
    (302, [("Location", "http://127.0.0.1:1/"), ("Content-Length", "0")], b"", "HTTP 302"),
    (500, (), b"oops", "HTTP 500"), (400, (), b'{"what":"No.","fix":"Do."}', "The other side says: No."),
    (200, [("Content-Length", "100")], b"{}", "cut off|does not answer"),
    (200, [("X", "y")], b" " * 20_000, "more than")])
def test_what_the_other_side_does_wrong_is_told(here, monkeypatch, status, headers, answer, match):
    monkeypatch.setattr(wire, "LARGEST_LIST", 10_000)
    with answering([answer], status, headers) as address, pytest.raises(StillboreError, match=match):
        wire.Remote(address, TOKEN).digests()


def test_nobody_there_and_no_address(tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with pytest.raises(StillboreError, match="does not answer"):
        wire.Remote(f"http://127.0.0.1:{port}", TOKEN).digests()
    (tmp_path / "digests").write_text("{}")
    for address in (f"file://{tmp_path}", "depot", ""):
        with pytest.raises(StillboreError, match="no http or https address"):
            wire.Remote(address, TOKEN)
    for address in ("http://[", "http://a b", "http://depot:port"):
        with pytest.raises(StillboreError, match="does not answer"):
            wire.Remote(address, TOKEN).digests()


def test_a_file_with_another_content_than_its_name_is_not_kept(here):
    sha256 = hashlib.sha256(b"survey").hexdigest()
    here.append(Crew().write("D1", opened(sha256)))
    held = json.dumps(here.held("J-1")).encode()
    with answering([b'{"J-1":"x"}', held, b"[]", b"another"]) as address, \
            pytest.raises(StillboreError, match="not those of the file"):
        exchange(here, wire.Remote(address, TOKEN))
    assert here.lacking("J-1") == [sha256]


def test_many_ask_at_once(depot, tmp_path):
    """Six devices bring twenty lines each at the same time; the depot has all of them."""
    path, address = depot
    failed = []

    def bring(number):
        crew = Crew("J-1")
        for _ in range(20):
            crew.write(f"D{number}")
        with SqliteStore(tmp_path / f"{number}.db") as store:
            store.take(crew.raw)
            try:
                exchange(store, wire.Remote(address, TOKEN))
            except StillboreError as error:
                failed.append(error)

    threads = [threading.Thread(target=bring, args=(number,)) for number in range(6)]
    with ExitStack() as stack:
        for each in threads:
            each.start()
            stack.callback(each.join)
    assert failed == []
    with SqliteStore(path) as there:
        assert len(there.lines("J-1")) == 120
