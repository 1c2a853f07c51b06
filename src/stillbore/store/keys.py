"""Keys: Ed25519 for devices and people, and the list of keys that an auditor holds.

A person's secret is a file that only that person's words open: scrypt (RFC 7914) makes a key of the words, and
ChaCha20-Poly1305 (RFC 8439) locks the private key with it. Both secrets of a crew may lie on one tablet, so guessing
has to be dear: the encrypted PKCS 8 of ``cryptography`` takes 2,048 rounds of PBKDF2, 0.3 ms a guess, which is every
number of six digits in five minutes. A device's key lies open beside its store. A signature shows which key made it.
Who holds the key is what the key list says; two keys made by one hand are still one hand.
"""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
import tomllib
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from stillbore.errors import Fault, InputFaults, StillboreError
from stillbore.record.verify import known_key

if sys.platform == "emscripten":
    from stillbore.store import primitives_browser as primitives
else:
    from stillbore.store import primitives

FORMAT, SECRET_FORMAT = "stillbore keys 1", "stillbore secret 1"
KINDS = ("person", "device")
PUBLIC = re.compile(r"[0-9a-f]{64}")
SHORTEST_WORDS = 6
# The cost of a guess: 64 MiB and about 0.2 s. It stands in every secret; a file with another cost is not opened, so
# that no file can ask for all the memory there is.
SCRYPT = {"n": 2**16, "r": 8, "p": 1}
SALT, NONCE, PRIVATE = 16, 12, 32  # bytes


@dataclass(frozen=True)
class Secret:
    """A private key at hand: its public key (hex), and how it signs."""

    private: bytes

    @property
    def public(self) -> str:
        return primitives.public(self.private).hex()

    def sign(self, message: bytes) -> str:
        return primitives.sign(self.private, message).hex()


@dataclass(frozen=True)
class KeyList:
    """Public keys by whose they are."""

    people: dict[str, str]
    devices: dict[str, str]

    @property
    def known(self) -> frozenset[str]:
        """Whose every key is, as record.verify wants it."""
        return frozenset([known_key("person", *each) for each in self.people.items()]
                         + [known_key("device", *each) for each in self.devices.items()])


def check(key: str, message: bytes, signature: str) -> bool:
    """Whether a signature (hex) over a message was made with the private half of a key (hex). Never raises."""
    try:
        made, by = bytes.fromhex(signature), bytes.fromhex(key)
    except ValueError:
        return False
    # One signature, one text: fromhex would also take capitals and blanks.
    return key == key.lower() and made.hex() == signature and primitives.holds(by, message, made)


def make_person_key(path: Path, words: str, random: Callable[[int], bytes] = os.urandom) -> Secret:
    """Make a person's secret and write it, opened by that person's own words. Raises StillboreError."""
    secret, text = new_secret(words, random)
    _write_new(path, text.encode())
    return secret


def new_secret(words: str, random: Callable[[int], bytes] = os.urandom) -> tuple[Secret, str]:
    """A person's secret, and the text of its file. ``random`` gives so many random bytes. Raises StillboreError."""
    if len(words) < SHORTEST_WORDS:
        raise StillboreError("The words are too short.",
                             f"Take at least {SHORTEST_WORDS} characters that only you know.")
    secret, salt, nonce = Secret(random(PRIVATE)), random(SALT), random(NONCE)
    locked = primitives.lock(_stretched(words, salt), nonce, secret.private, _bound(secret.public))
    data = {"format": SECRET_FORMAT, "public": secret.public, "scrypt": SCRYPT, "salt": salt.hex(),
            "nonce": nonce.hex(), "locked": locked.hex()}
    return secret, json.dumps(data, indent=1) + "\n"


def person_key(path: Path, words: str) -> Secret:
    """Open a person's secret. Raises StillboreError where the words are wrong or it is no secret."""
    return open_secret(_read(path), words, path.name)


def open_secret(content: bytes | str, words: str, name: str) -> Secret:
    """A person's secret from the content of its file, as ``person_key``."""
    try:
        data = json.loads(content)
        if data["format"] != SECRET_FORMAT or data["scrypt"] != SCRYPT:
            raise ValueError
        public, salt, nonce, locked = data["public"], *(bytes.fromhex(data[name]) for name in
                                                        ("salt", "nonce", "locked"))
        if not PUBLIC.fullmatch(public) or (len(salt), len(nonce)) != (SALT, NONCE):
            raise ValueError
    except (ValueError, TypeError, KeyError, RecursionError):
        raise StillboreError(f"{name} is no person's secret.", "Make one with: stillbore keys new") from None
    private = primitives.unlock(_stretched(words, salt), nonce, locked, _bound(public))
    if private is None or len(private) != PRIVATE:
        raise StillboreError(f"{name} does not open with these words.", "Try again; nobody else can open it.")
    return Secret(private)


def public_of(content: bytes | str, name: str) -> str:
    """The public key that a secret's file says is its own; opening it shows whether that is so. Raises
    StillboreError."""
    try:
        data = json.loads(content)
        public = data["public"] if data["format"] == SECRET_FORMAT else ""
    except (ValueError, TypeError, KeyError, RecursionError):
        public = ""
    if not (isinstance(public, str) and PUBLIC.fullmatch(public)):
        raise StillboreError(f"{name} is no person's secret.", "Make one with: stillbore keys new")
    return public


def _stretched(words: str, salt: bytes) -> bytes:
    """The key that locks a secret. The same words typed on another keyboard are the same words: NFC."""
    return primitives.stretched(unicodedata.normalize("NFC", words).encode("utf-8", "surrogatepass"), salt, **SCRYPT)


def _bound(public: str) -> bytes:
    """What else the lock covers: a secret never opens under another's public key."""
    return f"{SECRET_FORMAT} {public}".encode()


def device_key_path(store: Path, device: str) -> Path:
    """Where a device's key lies: beside its store."""
    return store.with_name(f"{store.name}.{device}.key")


def device_key(path: Path) -> Secret:
    """The device's own key; made on first use. It is not encrypted: it says which device wrote, not who."""
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    if not path.exists():
        made = Ed25519PrivateKey.generate()
        _write_new(path, made.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                                            serialization.NoEncryption()))
        return Secret(made.private_bytes_raw())
    try:
        private = serialization.load_pem_private_key(_read(path), None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        raise StillboreError(f"{path} is no device key.", "Put the right file in its place.") from None
    if not isinstance(private, Ed25519PrivateKey):
        raise StillboreError(f"{path} holds another sort of key.", "Put the right file in its place.")
    return Secret(private.private_bytes_raw())


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise StillboreError(f"{path} cannot be read: {error.strerror}.",
                             "Make a secret with: stillbore keys new") from None


def _write_new(path: Path, content: bytes) -> None:
    """Write a secret whole, for its owner's eyes alone (mode 0600), and never over another."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, draft = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")  # mkstemp makes it 0600
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            _take_name(draft, path)
        finally:
            os.unlink(draft)
    except OSError as error:
        raise StillboreError(f"{path} cannot be written: {error.strerror}.", "Choose another place.") from None


def _take_name(draft: str, path: Path) -> None:
    try:
        os.link(draft, path)  # fails where the name is taken, which a rename would not
    except FileExistsError:
        raise StillboreError(f"{path} is there already.", "Secrets are not written over; take another name.") from None


def load_keys(path: Path) -> KeyList:
    """The key list: TOML with ``format = "stillbore keys 1"`` and ``[[key]]`` tables of ``id``, ``kind`` (person or
    device) and ``public`` (64 hex digits). Raises InputFaults with every fault at once."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputFaults([Fault(str(path), f"The key list cannot be read: {error.strerror}.",
                                 "Make one with: stillbore keys new")]) from None
    except ValueError:
        raise _no_key_list(path.name) from None
    return read_keys(text, path.name)


def _no_key_list(name: str) -> InputFaults:
    return InputFaults([Fault(name, "This is no key list.", "Make one with: stillbore keys new")])


def read_keys(text: str, name: str) -> KeyList:
    """A key list from its text, as ``load_keys``."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        raise _no_key_list(name) from None
    faults: list[Fault] = []
    if data.get("format") != FORMAT:
        faults.append(Fault(name, "This is not marked as a key list.",
                            f'Its first line must be: format = "{FORMAT}"'))
    faults += [Fault(f"{name}, {key}", f"The key '{key}' is not known here.", "Known are: format, key.")
               for key in data if key not in ("format", "key")]
    rows = data.get("key", [])
    found: dict[str, dict[str, str]] = {kind: {} for kind in KINDS}
    for number, row in enumerate(rows if isinstance(rows, list) else [rows], 1):
        _read_key(row, f"{name}, key {number}", found, faults)
    if faults:
        raise InputFaults(faults)
    return KeyList(found["person"], found["device"])


def _read_key(row: object, place: str, found: dict[str, dict[str, str]], faults: list[Fault]) -> None:
    if not isinstance(row, dict) or row.keys() != {"id", "kind", "public"} or \
            not all(isinstance(value, str) for value in row.values()):
        faults.append(Fault(place, "It wants id, kind and public, as texts.", "See: stillbore keys new --help"))
        return
    name, kind, public = row["id"], row["kind"], row["public"]
    if kind not in KINDS or not PUBLIC.fullmatch(public):
        faults.append(Fault(place, f"'{name}' is no person or device with a key of 64 hex digits.", "Mend it."))
    elif name in found[kind]:
        faults.append(Fault(place, f"'{name}' stands there twice.", "Keep one."))
    elif any(public in keys.values() for keys in found.values()):
        faults.append(Fault(place, f"'{name}' has the key of another.", "One key, one hand."))
    else:
        found[kind][name] = public


def key_entry(name: str, kind: str, public: str) -> str:
    """An entry for a key list, as text."""
    return f'[[key]]\nid = "{name}"\nkind = "{kind}"\npublic = "{public}"\n'
