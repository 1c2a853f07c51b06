"""Asking an ASGI app directly, without a socket."""

from __future__ import annotations

from urllib.parse import unquote, urlsplit

from starlette.types import ASGIApp, Message, Scope

Headers = list[tuple[str, str]]


async def ask(app: ASGIApp, method: str, address: str, headers: Headers, body: bytes) -> tuple[int, Headers, bytes]:
    """The answer to one request: status, headers, body. ``address`` is whole, with scheme and host."""
    url = urlsplit(address)
    scope: Scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": url.scheme,
        "path": unquote(url.path), "raw_path": url.path.encode("ascii", "replace"), "root_path": "",
        "query_string": url.query.encode("ascii", "replace"), "client": ("127.0.0.1", 0),
        "server": (url.hostname or "localhost", url.port or (443 if url.scheme == "https" else 80)),
        "headers": [(b"host", url.netloc.encode("ascii", "replace")),
                    *((name.lower().encode("latin-1"), value.encode("latin-1", "replace")) for name, value in headers)]}
    status, answered, parts = 500, [], []
    given = False

    async def receive() -> Message:
        nonlocal given
        if given:
            return {"type": "http.disconnect"}
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Message) -> None:
        nonlocal status, answered
        if message["type"] == "http.response.start":
            status = message["status"]
            answered = [(name.decode("latin-1"), value.decode("latin-1")) for name, value in message.get("headers", [])]
        else:
            parts.append(bytes(message.get("body", b"")))

    await app(scope, receive, send)
    return status, answered, b"".join(parts)
