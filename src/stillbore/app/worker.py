"""Between the worker's JavaScript and the browser host: bytes and lists go over, and nothing else. Only in Pyodide.

The interpreter is kept as it is after ``load`` (web/snapshot.js), and holds nothing of JavaScript then."""

from __future__ import annotations

from typing import Any

from pyodide.ffi import JsProxy, to_js

from stillbore.app.browser import load, started


class Medium:
    """``store.medium`` over the worker's."""

    def __init__(self, made: Any) -> None:
        self.made = made

    def size(self, name: str) -> int:
        return int(self.made.size(name))

    def read(self, name: str, at: int, length: int) -> bytes:
        data: bytes = self.made.read(name, at, length).to_bytes()
        return data

    def append(self, name: str, data: bytes) -> None:
        self.made.append(name, to_js(data))

    def cut(self, name: str, size: int) -> None:
        self.made.cut(name, size)

    async def commit(self) -> None:
        await self.made.commit()


class Worker:
    """What the host asks of JavaScript."""

    def __init__(self, made: Any) -> None:
        self.made = made
        self.origin = str(made.origin)

    def clock(self) -> tuple[str, str, int]:
        at, boot, tick_ms = self.made.clock().to_py()
        return at, boot, tick_ms

    def newer(self) -> bool:
        return bool(self.made.newer())

    def request(self, method: str, address: str, token: str, body: bytes | None) -> tuple[int, bytes]:
        status, data = self.made.request(method, address, token, None if body is None else to_js(body))
        return int(status), data.to_bytes()


__all__ = ["begin", "load"]


async def begin() -> Any:
    """The function that the worker calls for each request."""
    import stillbore_host

    handle = await started(Medium(stillbore_host.medium), Worker(stillbore_host))

    async def call(method: str, address: str, headers: JsProxy, body: JsProxy) -> Any:
        pairs = [(str(name), str(value)) for name, value in headers.to_py()]
        status, answered, data = await handle(method, address, pairs, body.to_bytes())
        return to_js([status, [list(pair) for pair in answered], data])

    return call
