"""What changes and may go, beside a log that only grows: drafts of documents, names aside, the device's own key.

It is small, and written whole into one of two files by turns, with its number and hash: while one is being written, the
other still stands.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from stillbore.errors import StillboreError
from stillbore.store.medium import Medium

SLOTS = ("drawer.0", "drawer.1")


class Drawer:
    """``documents``: texts by shelf and name; ``aside``: details by job and reference; ``device``: name, private
    and public key (hex), or empty. A change is written by ``write_out``, and on disk when the medium has committed."""

    def __init__(self, medium: Medium) -> None:
        self.medium = medium
        data = max((self._read(slot) for slot in SLOTS), key=lambda each: each["number"])
        self.number: int = data["number"]
        self.documents: dict[str, dict[str, str]] = data["documents"]
        self.aside: dict[str, dict[str, dict[str, str]]] = data["aside"]
        self.device: dict[str, str] = data["device"]
        self._writes = 0

    def _read(self, slot: str) -> dict[str, Any]:
        """What stands in a slot; nothing, where the last write to it was cut off."""
        seal, _, text = self.medium.read(slot, 0, self.medium.size(slot)).partition(b"\n")
        if hashlib.sha256(text).hexdigest().encode() != seal:
            return {"number": 0, "documents": {}, "aside": {}, "device": {}}
        found: dict[str, Any] = json.loads(text)
        return found

    def changed(self, over_both: bool = False) -> None:
        """``over_both``: what was there before must not be left in the other file."""
        self._writes = max(self._writes, 2 if over_both else 1)

    def write_out(self) -> bool:
        """Write a change into the file that is older; whether there was one. To be committed before the next."""
        if not self._writes:
            return False
        self.number += 1
        text = json.dumps({"number": self.number, "documents": self.documents, "aside": self.aside,
                           "device": self.device}).encode()
        slot = SLOTS[self.number % 2]
        self.medium.cut(slot, 0)
        self.medium.append(slot, hashlib.sha256(text).hexdigest().encode() + b"\n" + text)
        self._writes -= 1
        return True

    def set_aside(self, job: str, details: dict[str, dict[str, str]], over_both: bool = False) -> None:
        self.aside[job] = details
        self.changed(over_both)

    def set_device(self, name: str, private: bytes, public: str) -> None:
        self.device = {"name": name, "private": private.hex(), "public": public}
        self.changed()

    # Documents, as ``app.host`` asks for them

    def shelves(self) -> list[str]:
        return sorted(shelf for shelf, texts in self.documents.items() if texts)

    def list(self, shelf: str) -> list[str]:
        return sorted(self.documents.get(shelf, {}))

    def read(self, shelf: str, name: str) -> str:
        try:
            return self.documents[shelf][name]
        except KeyError:
            raise StillboreError(f"{name} of {shelf} is not on this device.", "Write it, or bring it in.") from None

    def write(self, shelf: str, name: str, text: str) -> None:
        self.documents.setdefault(shelf, {})[name] = text
        self.changed()

    def remove(self, shelf: str, name: str) -> None:
        if self.documents.get(shelf, {}).pop(name, None) is not None:
            self.changed(over_both=True)
