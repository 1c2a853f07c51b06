"""Between the worker's JavaScript and the browser host: bytes and lists go over, and nothing else. Only in Pyodide."""

from __future__ import annotations

from typing import Any

import stillbore_host
from pyodide.ffi import JsProxy, to_js

from stillbore.app.browser import started


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

    origin = str(stillbore_host.origin)

    def clock(self) -> tuple[str, str, int]:
        at, boot, tick_ms = stillbore_host.clock().to_py()
        return at, boot, tick_ms

    def newer(self) -> bool:
        return bool(stillbore_host.newer())

    def request(self, method: str, address: str, token: str, body: bytes | None) -> tuple[int, bytes]:
        status, data = stillbore_host.request(method, address, token, None if body is None else to_js(body))
        return int(status), data.to_bytes()


async def begin() -> Any:
    """The function that the worker calls for each request."""
    handle = await started(Medium(stillbore_host.medium), Worker())

    async def call(method: str, address: str, headers: JsProxy, body: JsProxy) -> Any:
        pairs = [(str(name), str(value)) for name, value in headers.to_py()]
        status, answered, data = await handle(method, address, pairs, body.to_bytes())
        return to_js([status, [list(pair) for pair in answered], data])

    return call
