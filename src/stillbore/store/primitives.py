"""The cryptographic operations that keys are made of, by those who know how: ``cryptography`` natively.

``primitives_browser`` has the same names for the browser, where there is no ``cryptography``. Bytes in, bytes out.
"""

from __future__ import annotations

from cryptography.exceptions import InvalidSignature, InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt


def public(private: bytes) -> bytes:
    """The public half of a private key of 32 bytes (Ed25519, RFC 8032)."""
    return Ed25519PrivateKey.from_private_bytes(private).public_key().public_bytes_raw()


def sign(private: bytes, message: bytes) -> bytes:
    return Ed25519PrivateKey.from_private_bytes(private).sign(message)


def holds(key: bytes, message: bytes, signature: bytes) -> bool:
    """Whether a signature over a message was made with the private half of a key. Never raises."""
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def stretched(words: bytes, salt: bytes, n: int, r: int, p: int) -> bytes:
    """A key of 32 bytes made of words, dear to guess (scrypt, RFC 7914)."""
    return Scrypt(salt=salt, length=32, n=n, r=r, p=p).derive(words)


def lock(key: bytes, nonce: bytes, data: bytes, bound: bytes) -> bytes:
    """ChaCha20-Poly1305 (RFC 8439); ``bound`` is covered and not hidden."""
    return ChaCha20Poly1305(key).encrypt(nonce, data, bound)


def unlock(key: bytes, nonce: bytes, locked: bytes, bound: bytes) -> bytes | None:
    """What was locked; None where the key is another, or a byte was changed."""
    try:
        return ChaCha20Poly1305(key).decrypt(nonce, locked, bound)
    except (InvalidTag, ValueError):
        return None
