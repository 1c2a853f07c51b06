"""What ``stillbore serve`` answers: the pages, to this machine alone; the app for tablets, to whoever may reach it; the
exchange of logs, to whoever knows the token.

Who comes from elsewhere never sees a page of this store: a tablet works on its own copy, and brings it in with the
token. So nobody on the network reads a job or writes into it by opening an address.
"""

from __future__ import annotations

import mimetypes
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stillbore.errors import StillboreError
from stillbore.store import wire
from stillbore.store.interface import LARGEST_FILE, Store

HERE = ("127.0.0.1", "::1", "localhost")
TABLET = "/tablet"
# No script but from files, none evaluated, nothing fetched from elsewhere; wasm is the interpreter in the tablet.
POLICY = "; ".join((
    "default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'", "style-src 'self'", "img-src 'self' blob: data:",
    "font-src 'self'", "connect-src 'self'", "worker-src 'self'", "manifest-src 'self'", "form-action 'self'",
    "frame-ancestors 'none'", "base-uri 'none'"))
HEADERS = {"Content-Security-Policy": POLICY, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
           "Cross-Origin-Opener-Policy": "same-origin", "Permissions-Policy": "geolocation=(), microphone=()"}
mimetypes.add_type("application/wasm", ".wasm")
mimetypes.add_type("text/javascript", ".mjs")
mimetypes.add_type("application/manifest+json", ".webmanifest")


def served(pages: ASGIApp, open_store: Callable[[], Store], token: str = "", assets: Path | None = None) -> Starlette:
    """All of it. ``token``: of the exchange, "" for none; ``assets``: the built files of the tablet's app."""
    assets = assets or Path(str(files("stillbore.app").joinpath("web")))
    routes: list[Route | Mount] = [Route(f"{TABLET}/{{name:path}}", _file_of(assets)),
                                   Route("/service-worker.js", _file_of(assets, "service-worker.js"))]
    if token:
        if len(token) < wire.SHORTEST_TOKEN:
            raise StillboreError(f"The token is shorter than {wire.SHORTEST_TOKEN} characters.",
                                 "Make one with: python -c 'import secrets; print(secrets.token_urlsafe(32))'")
        routes.append(Mount(wire.ROOT, _Exchange(open_store, token)))
    routes.append(Mount("/", _Here(pages)))
    app = Starlette(routes=routes)
    app.add_middleware(_Headers)
    return app


def _file_of(assets: Path, only: str = "") -> Callable[[Request], object]:
    """An endpoint for the built files; what is not among them is not there, whatever the path says."""
    root = assets.resolve()

    async def endpoint(request: Request) -> Response:
        name = only or request.path_params["name"] or "index.html"
        path = (root / name).resolve()
        if not path.is_relative_to(root) or not path.is_file():
            missing = "" if root.is_dir() else " The tablet's app is not built: make app builds it."
            return Response(f"There is no {name} here.{missing}\n", 404, media_type="text/plain")
        sort = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
        packed = path.with_name(path.name + ".br")
        headers = {"Cache-Control": "no-cache"}
        if packed.is_file() and "br" in request.headers.get("accept-encoding", ""):
            path, headers = packed, headers | {"Content-Encoding": "br", "Vary": "Accept-Encoding"}
        return Response(path.read_bytes(), media_type=sort, headers=headers)

    return endpoint


class _Exchange:
    """The exchange of ``store.wire``, as an ASGI app."""

    def __init__(self, open_store: Callable[[], Store], token: str) -> None:
        self.open_store, self.token = open_store, token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope, receive)
        shown = request.headers.get("authorization", "")
        body, whole = b"", True
        if shown == f"Bearer {self.token}":  # who has no token is not listened to; reply says so, in constant time
            async for part in request.stream():
                body += part
                if len(body) > LARGEST_FILE:
                    whole = False
                    break

        def read(largest: int) -> bytes:
            if not whole or len(body) > largest:
                raise wire.too_large(largest)
            return body

        query = f"?{request.url.query}" if request.url.query else ""
        status, sort, answer = wire.reply(self.open_store, self.token, shown, request.method,
                                          scope["path"] + query, read)
        await Response(answer, status, media_type=sort)(scope, receive, send)


class _Here:
    """Lets through what this machine's own browser asks of its own accord: no other machine, no other name for this
    one, and no form or script of another site."""

    def __init__(self, pages: ASGIApp) -> None:
        self.pages = pages

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        request = Request(scope, receive)
        if scope.get("client") is None or scope["client"][0] not in HERE:
            answer: Response = RedirectResponse(f"{TABLET}/", 303)
            if request.url.path.startswith("/static/"):  # the tablet's app wants the same style sheets
                await self.pages(scope, receive, send)
                return
            await answer(scope, receive, send)
        elif request.url.hostname not in HERE:
            await Response("Open it as http://127.0.0.1\n", 421, media_type="text/plain")(scope, receive, send)
        elif request.headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and request.method != "GET":
            await Response("This came from another site.\n", 403, media_type="text/plain")(scope, receive, send)
        else:
            await self.pages(scope, receive, send)


class _Headers:
    """The headers that every answer has; those that an answer brings itself stay."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                there = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [*message["headers"], *((name.lower().encode(), value.encode())
                                      for name, value in HEADERS.items() if name.lower().encode() not in there)]
            await send(message)

        await self.app(scope, receive, with_headers)
