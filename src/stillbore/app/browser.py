"""The host in the browser: the same pages, called by the worker that holds the interpreter (web/worker.js)."""

from __future__ import annotations

import html
import inspect
import json
import os
import traceback
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from starlette.types import ASGIApp

from stillbore.app.asgi import Headers, ask
from stillbore.app.host import BROWSER, Files, checked_name
from stillbore.errors import StillboreError
from stillbore.run.session import Device, Now
from stillbore.store import keys
from stillbore.store.drawer import Drawer
from stillbore.store.logged import LoggedStore
from stillbore.store.medium import Medium
from stillbore.store.sync import Peer, exchange
from stillbore.store.wire import ROOT, Remote, error_told

INDEX = Path("/tmp/index.db")  # in the memory of the interpreter
STORAGE_FULL = 507
TAKE_NEWER = 205  # "Reset Content": the shell (web/tablet.js) takes the newer version and starts anew


class Browser:
    """The host over a medium. ``worker`` has what only JavaScript can do: clocks, random bytes, requests."""

    name = BROWSER
    can_make_pdf = False

    def __init__(self, medium: Medium, worker: Any) -> None:
        self.worker = worker
        self.store = LoggedStore(medium, INDEX)
        self.files = Files(self.store)
        if "public" not in self.documents.device:
            self._name_device()
        device = self.documents.device
        self.device = Device(device["name"], device["public"], keys.Secret(bytes.fromhex(device["private"])).sign)

    def _name_device(self) -> None:
        """Once and for all: to work a public key out takes the browser a good part of a start."""
        before = self.documents.device
        private = bytes.fromhex(before["private"]) if before else os.urandom(keys.PRIVATE)
        self.documents.set_device(before.get("name", f"T{os.urandom(3).hex()}"), private, keys.Secret(private).public)

    @property
    def documents(self) -> Drawer:
        return self.store.drawer

    @property
    def newer_app(self) -> bool:
        return bool(self.worker.newer())

    def clock(self) -> Now:
        at, boot, tick_ms = self.worker.clock()
        return Now(at, boot, int(tick_ms))

    def peer(self, address: str, token: str) -> Peer:
        return Depot(self.worker, address or self.worker.origin, token)

    async def commit(self) -> None:
        await self.store.commit()


class Depot(Remote):
    """A store at an address, asked by the browser's own means: the interpreter has no sockets."""

    def __init__(self, worker: Any, address: str, token: str) -> None:
        super().__init__(address, token)
        self.worker = worker

    def _ask(self, method: str, path: str, body: bytes | None = None, largest: int = 0) -> bytes:
        status, data = self.worker.request(method, self.address + ROOT + path, self.token, body)
        if status == 200:
            return bytes(data)
        if not status:
            raise StillboreError(f"{self.address} does not answer.",
                                 "Check the connection; the exchange goes on next time.")
        raise error_told(int(status), bytes(data))


def load() -> None:
    """Load whatever the app answers with, so that the interpreter can be kept as it is then (web/snapshot.js). Nothing
    of a job or of this device is there yet."""
    _without_threads()
    from stillbore.app.application import load_all

    load_all()


async def started(medium: Medium, worker: Any) -> Any:
    """The app as the worker calls it: ``await handle(method, address, headers, body)``."""
    from stillbore.app.application import make_app

    host = Browser(medium, worker)
    await host.commit()
    pages = make_app(host)

    async def handle(method: str, address: str, headers: Headers, body: bytes) -> tuple[int, Headers, bytes]:
        return await answered(host, pages, method, address, headers, body)

    return handle


async def answered(host: Browser, pages: ASGIApp, method: str, address: str, headers: Headers,
                   body: bytes) -> tuple[int, Headers, bytes]:
    """An answer, let go only when what it acknowledges is on disk."""
    try:
        path = address.partition("://")[2].partition("/")[2].partition("?")[0]
        found = _own(host, method, path, body) or await ask(pages, method, address, headers, body)
        await host.commit()
        return found
    except StillboreError as error:
        return STORAGE_FULL, HTML, _told(error.what, error.fix)
    except Exception:  # a fault of ours: said, and nothing half-done is acknowledged
        trace = traceback.format_exc()
        return 500, HTML, _told("The app has a fault.", "Go back, or go on with the paper card.", trace)


HTML: Headers = [("content-type", "text/html; charset=utf-8")]


def _told(what: str, fix: str, more: str = "") -> bytes:
    rest = f"<pre>{html.escape(more)}</pre>" if more else ""
    return (f'<!doctype html><html lang="en"><head><title>stillbore</title></head><body><main role="alert">'
            f"<h1>{html.escape(what)}</h1><p>{html.escape(fix)}</p>{rest}</main></body></html>").encode()


def _own(host: Browser, method: str, path: str, body: bytes) -> tuple[int, Headers, bytes] | None:
    """What the host itself answers: the whole log to be handed over or brought in, the exchange, how things stand, and
    that the newer version of the app is taken."""
    if (method, path) == ("GET", "host/log.jsonl"):
        lines = [line for job in host.store.digests() for line in host.store.give(job)]
        return 200, [("content-type", "application/jsonl"),
                     ("content-disposition", 'attachment; filename="all_events.jsonl"')], b"".join(
                         line + b"\n" for line in lines)
    if (method, path) == ("GET", "host/state"):
        return _json({"device": host.device.name, "key": host.device.key, "told": host.store.told,
                      "lines": sum(len(host.store.held(job)) for job in host.store.digests())})
    if (method, path) == ("POST", "host/newer"):
        return TAKE_NEWER, [], b""
    if (method, path) == ("POST", "host/take"):
        return _json(vars(host.store.take(body.split(b"\n"))))
    if (method, path) == ("POST", "host/exchange"):
        token, _, address = body.decode("utf-8", "replace").partition("\n")
        done = exchange(host.store, host.peer(address.strip(), token.strip()))
        return _json({"in": vars(done.taken), "out": vars(done.given), "files_in": done.files_in,
                      "files_out": done.files_out, "lacking": done.lacking})
    if method == "POST" and path.startswith("host/documents/"):
        shelf, name = map(unquote, path.removeprefix("host/documents/").split("/", 1))
        host.documents.write(checked_name(shelf), checked_name(name), body.decode("utf-8", "replace"))
        return _json({})
    return None


def _json(data: object) -> tuple[int, Headers, bytes]:
    return 200, [("content-type", "application/json")], json.dumps(data).encode()


def _without_threads() -> None:
    """The interpreter in the browser starts no thread; what Starlette would give to one is done at once."""
    import anyio.to_thread

    async def run_sync(function: Any, *arguments: Any, **options: Any) -> Any:
        found = function(*arguments)
        return await found if inspect.isawaitable(found) else found

    anyio.to_thread.run_sync = run_sync
