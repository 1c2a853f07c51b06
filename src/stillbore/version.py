"""Which program this is: its number, and a hash of its code, for two programs of one number may still differ."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from stillbore import __version__

CODE = (".py", ".typ", ".css")
PACKED, BUILT = "code.sha256", "app/web"  # of the program in the browser: its hash; what is built of it
SHOWN = 16  # characters of the hash where people read it


@cache
def code_hash() -> str:
    """SHA-256 over the program itself. A program that was packed for the browser is compiled, and brings the hash of
    what it was made of."""
    packed = files("stillbore").joinpath(PACKED)
    if packed.is_file():
        return packed.read_text(encoding="ascii")
    total = hashlib.sha256()
    for name, content in sorted(_code(files("stillbore"), "")):
        total.update(f"{name}\0{len(content)}\0".encode() + content)
    return total.hexdigest()


def program() -> str:
    """The program as a job and a plan name it."""
    return f"{__version__} (code {code_hash()[:SHOWN]})"


def _code(folder: Traversable, path: str) -> Iterator[tuple[str, bytes]]:
    for each in folder.iterdir():
        if each.is_dir() and each.name != "__pycache__" and f"{path}{each.name}" != BUILT:
            yield from _code(each, f"{path}{each.name}/")
        elif each.name.endswith(CODE):
            yield f"{path}{each.name}", each.read_bytes()
