"""The names of ``primitives`` in the browser. The worker hands over functions of the noble libraries: WebCrypto has
neither scrypt nor ChaCha20, and signs only in its own time, where a run has to have a signature at once."""

from __future__ import annotations

import stillbore_host as worker  # what web/worker.js gives to the interpreter by this name


def _bytes(data: bytes) -> object:
    return worker.bytes(data)


def public(private: bytes) -> bytes:
    return bytes(worker.public(_bytes(private)).to_py())


def sign(private: bytes, message: bytes) -> bytes:
    return bytes(worker.sign(_bytes(private), _bytes(message)).to_py())


def holds(key: bytes, message: bytes, signature: bytes) -> bool:
    return bool(worker.holds(_bytes(key), _bytes(message), _bytes(signature)))


def stretched(words: bytes, salt: bytes, n: int, r: int, p: int) -> bytes:
    return bytes(worker.stretched(_bytes(words), _bytes(salt), n, r, p).to_py())


def lock(key: bytes, nonce: bytes, data: bytes, bound: bytes) -> bytes:
    return bytes(worker.lock(_bytes(key), _bytes(nonce), _bytes(data), _bytes(bound)).to_py())


def unlock(key: bytes, nonce: bytes, locked: bytes, bound: bytes) -> bytes | None:
    opened = worker.unlock(_bytes(key), _bytes(nonce), _bytes(locked), _bytes(bound))
    return None if opened is None else bytes(opened.to_py())
