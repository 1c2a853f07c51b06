"""The names of ``primitives`` in the browser. The worker hands over functions of the noble libraries (web/keys.js):
WebCrypto has neither scrypt nor ChaCha20, and signs only in its own time, where a run has to have a signature at
once."""

from __future__ import annotations

from functools import cache
from typing import Any

from pyodide.ffi import to_js


@cache
def _worker() -> Any:
    """The worker's functions, asked for when one is wanted: the interpreter is kept with this module loaded, and must
    hold nothing of JavaScript then (web/snapshot.js)."""
    import stillbore_host

    return stillbore_host


def public(private: bytes) -> bytes:
    found: bytes = _worker().public(to_js(private)).to_bytes()
    return found


def sign(private: bytes, message: bytes) -> bytes:
    made: bytes = _worker().sign(to_js(private), to_js(message)).to_bytes()
    return made


def holds(key: bytes, message: bytes, signature: bytes) -> bool:
    return bool(_worker().holds(to_js(key), to_js(message), to_js(signature)))


def stretched(words: bytes, salt: bytes, n: int, r: int, p: int) -> bytes:
    made: bytes = _worker().stretched(to_js(words), to_js(salt), n, r, p).to_bytes()
    return made


def lock(key: bytes, nonce: bytes, data: bytes, bound: bytes) -> bytes:
    locked: bytes = _worker().lock(to_js(key), to_js(nonce), to_js(data), to_js(bound)).to_bytes()
    return locked


def unlock(key: bytes, nonce: bytes, locked: bytes, bound: bytes) -> bytes | None:
    opened = _worker().unlock(to_js(key), to_js(nonce), to_js(locked), to_js(bound))
    return None if opened is None else bytes(opened.to_bytes())
