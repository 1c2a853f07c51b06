"""A store over HTTP: ``serve`` on one side, ``Remote`` on the other.

Every request carries a token. The token and the logs travel as they are: over anything but the machine itself or a
closed network, put a TLS proxy before it and give an https address. Sizes are bounded both ways; whatever comes in is
taken for hostile.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import threading
import urllib.error
import urllib.request
from collections.abc import Callable, Iterable, Iterator
from http.client import HTTPException, HTTPMessage
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from itertools import islice
from typing import IO
from urllib.parse import parse_qs, quote, urlsplit

from stillbore.errors import StillboreError
from stillbore.record.events import HASH
from stillbore.store.interface import LARGEST_FILE, MOST_FAULTS, Store, Taken

ROOT = "/stillbore/1"
LARGEST_BODY = 8_000_000  # bytes of one request or answer that is no file; more goes in several
LARGEST_LIST = 64_000_000  # bytes of a list of hashes: some nine hundred thousand lines of one job
HASHES_AT_ONCE = 5_000
SHORTEST_TOKEN = 16
AT_ONCE = 16  # requests that are answered at the same time; more are turned away
TIMEOUT_S = 30.0
JSON, LINES, BYTES = "application/json", "application/jsonl", "application/octet-stream"
FILE_PATH = re.compile(f"{ROOT}/files/({HASH.pattern})")


class Refusal(StillboreError):
    """A request that is not answered as asked; ``status`` is HTTP's."""

    def __init__(self, status: int, what: str, fix: str) -> None:
        super().__init__(what, fix, status=status)
        self.status = status


# The serving side


def serve(open_store: Callable[[], Store], token: str, host: str = "127.0.0.1", port: int = 0) -> ThreadingHTTPServer:
    """A server that listens and is not running yet: call ``serve_forever``. ``open_store`` is called for each request,
    in that request's thread, and the store is closed after it."""
    if len(token) < SHORTEST_TOKEN:
        raise StillboreError(f"The token is shorter than {SHORTEST_TOKEN} characters.",
                             "Make one with: python -c 'import secrets; print(secrets.token_urlsafe(32))'")

    class Handler(_Handler):
        pass

    Handler.open_store, Handler.token = staticmethod(open_store), token
    try:
        return _Server((host, port), Handler)
    except (OSError, OverflowError) as error:
        raise StillboreError(f"Nothing can listen at {host}:{port}: {error}.", "Take another port.") from None


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, *arguments: object) -> None:
        super().__init__(*arguments)  # type: ignore[arg-type]
        self.room = threading.BoundedSemaphore(AT_ONCE)

    def process_request(self, request: object, client_address: object) -> None:
        if self.room.acquire(blocking=False):
            super().process_request(request, client_address)  # type: ignore[arg-type]
        else:
            self.shutdown_request(request)  # type: ignore[arg-type]

    def process_request_thread(self, request: object, client_address: object) -> None:
        try:
            super().process_request_thread(request, client_address)  # type: ignore[arg-type]
        finally:
            self.room.release()

    def handle_error(self, request: object, client_address: object) -> None:
        """A caller that went away is its own affair."""


class _Handler(BaseHTTPRequestHandler):
    open_store: Callable[[], Store]
    token: str
    timeout = TIMEOUT_S
    server_version, sys_version = "stillbore", ""

    def do_GET(self) -> None:
        self._answer()

    do_POST = do_PUT = do_GET

    def _answer(self) -> None:
        shown = self.headers.get("Authorization", "")
        status, sort, body = reply(self.open_store, self.token, shown, self.command, self.path, self._body)
        self.send_response(status)
        self.send_header("Content-Type", sort)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def _body(self, largest: int) -> bytes:
        length = self.headers.get("Content-Length", "")
        if not (length.isascii() and length.isdigit()):
            raise Refusal(411, "The request does not say how long it is.", "Send it with a Content-Length.")
        if len(length) > 12 or int(length) > largest:
            raise too_large(largest)
        body = self.rfile.read(int(length))
        if len(body) < int(length):
            raise Refusal(400, "The request was cut off.", "Send it again.")
        return body

    def log_message(self, format: str, *arguments: object) -> None:
        """Nothing is printed: an address may stand for a person."""


def reply(open_store: Callable[[], Store], token: str, shown: str, method: str, target: str,
          read: Callable[[int], bytes]) -> tuple[int, str, bytes]:
    """The answer to a request, whatever server it came through: status, media type, body. ``shown`` is what stands in
    its Authorization; ``read`` gives its body, no longer than it is told, or raises Refusal."""
    try:
        sent = shown.encode("utf-8", "surrogateescape")
        if not hmac.compare_digest(sent, f"Bearer {token}".encode()):
            raise Refusal(401, "The token is missing or wrong.", "Ask the depot for the token of this store.")
        try:
            address = urlsplit(target)
            job = parse_qs(address.query).get("job", [""])[0]
        except ValueError:
            raise Refusal(400, "The address is none.", "Take the program's own client.") from None
        store = open_store()
        try:
            return 200, *_done(store, method, address.path, job, read)
        finally:
            store.close()
    except Refusal as error:
        return error.status, JSON, _error(error, error.status)
    except StillboreError as error:
        return 409, JSON, _error(error, 409)


def _done(store: Store, method: str, path: str, job: str, read: Callable[[int], bytes]) -> tuple[str, bytes]:
    doing = f"{method} {path.removeprefix(ROOT)}" if path.startswith(ROOT) else ""
    file = FILE_PATH.fullmatch(path)
    if doing == "GET /digests":
        return JSON, _json(store.digests())
    if doing == "GET /held":
        return JSON, _json(store.held(job))
    if doing == "GET /lacking":
        return JSON, _json(store.lacking(job))
    if doing == "POST /give":
        return LINES, b"\n".join(_as_many_as_fit(store.give(job, _hashes(read))))
    if doing == "POST /take":
        return JSON, _json(vars(store.take(read(LARGEST_BODY).split(b"\n"))))
    if file and method == "GET":
        return BYTES, _file(store, file[1])
    if file and method == "PUT":
        return JSON, _json(_keep(store, file[1], read))
    raise Refusal(404, "There is nothing of that name here.", "Take the program's own client.")


def too_large(largest: int) -> Refusal:
    return Refusal(413, f"The request is larger than {largest:,} bytes.", "Send it in several.")


def _hashes(read: Callable[[int], bytes]) -> list[str]:
    hashes = _texts(_read_json(read(LARGEST_BODY)))
    if len(hashes) > HASHES_AT_ONCE:
        raise Refusal(413, f"More than {HASHES_AT_ONCE:,} lines are asked for at once.", "Ask in several.")
    return hashes


def _file(store: Store, sha256: str) -> bytes:
    if not store.has(sha256):
        raise Refusal(404, f"The file {sha256[:12]} is not here.", "Ask the device that kept it.")
    return store.kept(sha256)


def _keep(store: Store, sha256: str, read: Callable[[int], bytes]) -> str:
    """Only what a line rests on is taken, so that nobody fills the disk with strange files."""
    if not store.has(sha256) and not any(sha256 in store.lacking(job) for job in store.digests()):
        raise Refusal(404, f"No line here rests on the file {sha256[:12]}.", "Send the lines first.")
    data = read(LARGEST_FILE)
    _check_file(data, sha256)
    return store.keep(data)


def _as_many_as_fit(lines: Iterator[bytes]) -> Iterator[bytes]:
    """Lines up to the largest answer; who asked asks again for the rest."""
    size = 0
    for line in lines:
        if size and size + len(line) >= LARGEST_BODY:
            return
        size += len(line) + 1
        yield line


def _json(data: object) -> bytes:
    return json.dumps(data).encode()


def _error(error: StillboreError, status: int) -> bytes:
    return _json({"ok": False, "what": error.what, "fix": error.fix, "about": {}, "status": status})


def _check_file(data: bytes, sha256: str) -> None:
    if hashlib.sha256(data).hexdigest() != sha256:
        raise Refusal(400, f"The bytes are not those of the file {sha256[:12]}.", "Send it again.")


def _read_json(body: bytes) -> object:
    try:
        return json.loads(body)
    except (ValueError, RecursionError):
        raise Refusal(400, "What came is no JSON.", "Take the program's own client and server.") from None


def _texts(data: object) -> list[str]:
    if not isinstance(data, list) or not all(isinstance(each, str) for each in data):
        raise Refusal(400, "What came is no list of texts.", "Take the program's own client and server.")
    return data


# The asking side


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """A redirect would carry the token to wherever it points."""

    def redirect_request(self, *_: object) -> None:
        return None


class Remote:
    """A store at an address, as the ``Peer`` of another. Raises StillboreError for whatever the net or the other side
    does; nothing is lost by that, the next exchange goes on."""

    def __init__(self, address: str, token: str, timeout_s: float = TIMEOUT_S) -> None:
        if not address.startswith(("http://", "https://")):
            raise StillboreError(f"'{address}' is no http or https address.", "Write it as https://depot.example:8443")
        if not (token.isascii() and token.isprintable()):
            raise StillboreError("The token has letters in it that a token cannot have.", "Give it as the depot did.")
        self.address, self.token, self.timeout_s = address.rstrip("/"), token, timeout_s
        self.opener = urllib.request.build_opener(_NoRedirect)

    def digests(self) -> dict[str, str]:
        data = _read_json(self._ask("GET", "/digests", largest=LARGEST_LIST))
        if not isinstance(data, dict) or not all(isinstance(each, str) for each in data.values()):
            raise strange()
        return data

    def held(self, job: str) -> list[str]:
        return _texts(_read_json(self._ask("GET", f"/held?job={quote(job, safe='')}", largest=LARGEST_LIST)))

    def lacking(self, job: str) -> list[str]:
        return _texts(_read_json(self._ask("GET", f"/lacking?job={quote(job, safe='')}", largest=LARGEST_LIST)))

    def give(self, job: str, hashes: Iterable[str] | None = None) -> Iterator[bytes]:
        wanted = list(dict.fromkeys(self.held(job) if hashes is None else hashes))
        while wanted:
            body = self._ask("POST", f"/give?job={quote(job, safe='')}", _json(wanted[:HASHES_AT_ONCE]))
            lines = body.split(b"\n")
            came = {line[-66:-2].decode("ascii", "replace") for line in lines}  # where a line has its hash
            rest = [hash for hash in wanted if hash not in came]
            if len(rest) == len(wanted):
                raise strange()
            wanted = rest
            yield from lines

    def take(self, lines: Iterable[bytes]) -> Taken:
        taken, lines = Taken(), iter(lines)
        held_over: list[bytes] = []
        while batch := held_over + list(islice(lines, HASHES_AT_ONCE - len(held_over))):
            fit = list(_as_many_as_fit(iter(batch)))
            held_over = batch[len(fit):]
            _count(taken, _read_json(self._ask("POST", "/take", b"\n".join(fit))))
        return taken

    def kept(self, sha256: str) -> bytes:
        data = self._ask("GET", f"/files/{sha256}", largest=LARGEST_FILE)
        _check_file(data, sha256)
        return data

    def keep(self, data: bytes) -> str:
        sha256 = hashlib.sha256(data).hexdigest()
        self._ask("PUT", f"/files/{sha256}", data)
        return sha256

    def _ask(self, method: str, path: str, body: bytes | None = None, largest: int = LARGEST_BODY) -> bytes:
        try:
            request = urllib.request.Request(self.address + ROOT + path, body, method=method, headers={
                "Authorization": f"Bearer {self.token}", "Content-Type": BYTES})
            with self.opener.open(request, timeout=self.timeout_s) as answer:
                return _whole(answer, answer.headers, largest)
        except urllib.error.HTTPError as error:
            raise _told(error) from None
        except (OSError, HTTPException, ValueError) as error:
            raise StillboreError(f"{self.address} does not answer: {error}.",
                                 "Check the address and the connection; the exchange goes on next time.") from None


def _whole(answer: IO[bytes], headers: HTTPMessage, largest: int) -> bytes:
    """The answer, if it is as long as it says and no longer than it may be."""
    data = answer.read(largest + 1)
    if len(data) > largest:
        raise StillboreError(f"The other side sends more than {largest:,} bytes.", "Look at who answers there.")
    if str(len(data)) != headers.get("Content-Length", str(len(data))):
        raise StillboreError("The answer was cut off.", "Exchange again; it goes on from there.")
    return data


def _told(error: urllib.error.HTTPError) -> StillboreError:
    try:
        return error_told(error.code, error.read(10_000))
    except (OSError, HTTPException):
        return error_told(error.code, b"")


def error_told(status: int, body: bytes) -> StillboreError:
    """What the other side says is wrong."""
    try:
        data = json.loads(body)
        return StillboreError(f"The other side says: {str(data['what'])[:500]}", str(data["fix"])[:500])
    except (ValueError, RecursionError, LookupError, TypeError):
        return StillboreError(f"The other side answers with HTTP {status}.", "Look at who answers there.")


def _count(taken: Taken, data: object) -> None:
    """Add up what the other side says came of the lines."""
    counts = [data.get(name) for name in ("new", "known", "refused")] if isinstance(data, dict) else []
    if len(counts) != 3 or not all(type(each) is int and each >= 0 for each in counts):
        raise strange()
    taken.new, taken.known, taken.refused = taken.new + counts[0], taken.known + counts[1], taken.refused + counts[2]
    for each in data.get("faults", [])[:MOST_FAULTS] if isinstance(data.get("faults"), list) else []:
        if isinstance(each, list) and len(each) == 2 and type(each[0]) is int and isinstance(each[1], str):
            taken.faults.append((each[0], each[1][:500]))


def strange() -> StillboreError:
    return StillboreError("The other side does not answer as a store does.", "Look at who answers there.")
