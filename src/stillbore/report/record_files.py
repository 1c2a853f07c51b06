"""The files of a record: what the log names, what is embedded in its PDF under which name, and by what it was made."""

from __future__ import annotations

import hashlib
import importlib.util
import json
import platform
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from importlib import metadata
from pathlib import PurePosixPath

from stillbore import __version__
from stillbore.errors import StillboreError
from stillbore.record import events as log
from stillbore.record.chain import Line
from stillbore.report.pdf import SANS_PACKAGE
from stillbore.version import SHOWN, code_hash

LOG, MADE_BY = "record.jsonl", "made-by.json"
LONGEST_NAME = 60
PLAIN_NAME = re.compile(r"[^A-Za-z0-9._-]+")
MOST_OF_IT = 200  # characters of one thing said by a made-by.json


@dataclass(frozen=True)
class MadeBy:
    """By what a PDF was made: as far as these are the same, the same log gives the same bytes."""

    program: str
    code: str
    typst: str
    face: str
    machine: str

    @property
    def words(self) -> str:
        return (f"stillbore {self.program} (code {self.code[:SHOWN]}), typst {self.typst}, face {self.face}, on "
                f"{self.machine}")

    def text(self) -> bytes:
        return (json.dumps({"format": "stillbore made by 1", **asdict(self)}, indent=1) + "\n").encode()


def made_here() -> MadeBy:
    """What this program would make a PDF by."""
    face = _version("font-source-sans-pro") if importlib.util.find_spec(SANS_PACKAGE) else "embedded"
    return MadeBy(__version__, code_hash(), _version("typst"), face, platform.machine() or "unknown")


def read_made_by(data: bytes) -> MadeBy:
    """A made-by.json from anybody's hands. Raises StillboreError."""
    try:
        found = json.loads(data) if len(data) < 10_000 else None
        names = [field.name for field in fields(MadeBy)]
        made = MadeBy(**{name: found[name] for name in names})  # type: ignore[index]
        sound = all(isinstance(value, str) and len(value) < MOST_OF_IT for value in asdict(made).values())
    except (ValueError, TypeError, KeyError, RecursionError):
        sound = False
    if not sound or made.text() != data:
        raise StillboreError(f"What the PDF says of its own making ({MADE_BY}) cannot be read.", "Ask for it again.")
    return made


def _version(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "not installed"


def named_files(lines: Sequence[Line]) -> list[log.FileHash]:
    """Every file that the log names, each hash once, in the order of the log; evidence by its sort."""
    found: dict[str, log.FileHash] = {}
    for line in lines:
        what = line.event.happening
        if isinstance(what, (log.Opened, log.Replanned)):
            for file in what.files:
                found.setdefault(file.sha256, file)
        elif isinstance(what, log.Kept):
            found.setdefault(what.sha256, log.FileHash(what.sort, what.name, what.sha256))
    return list(found.values())


def attachments(data: bytes, lines: Sequence[Line], kept: Callable[[str], bytes], made_by: MadeBy) -> dict[str, bytes]:
    """What is embedded, by name: the log, then every file that it names, then by what the PDF was made. Names follow
    from the log alone: its own name for the file, with the hash before the ending where two are alike."""
    found = {LOG: data}
    for file, name in embedded_names(lines).items():
        found[name] = checked(kept, file)
    found[MADE_BY] = made_by.text()
    return found


def embedded_names(lines: Sequence[Line]) -> dict[str, str]:
    """The name under which each file that the log names is embedded, by its hash."""
    taken, found = {LOG, MADE_BY}, {}
    for file in named_files(lines):
        path = PurePosixPath(PLAIN_NAME.sub("_", file.name.replace("\\", "/").rpartition("/")[2])[-LONGEST_NAME:])
        name = path.name or "file"
        if name.lower() in {each.lower() for each in taken} or name.startswith("."):
            name = f"{path.stem.lstrip('.') or 'file'}-{file.sha256}{path.suffix}"
        taken.add(name)
        found[file.sha256] = name
    return found


def checked(kept: Callable[[str], bytes], sha256: str) -> bytes:
    """A kept file, which must be what the log says. Raises StillboreError."""
    data = kept(sha256)
    if hashlib.sha256(data).hexdigest() != sha256:
        raise StillboreError(f"The file {sha256[:12]} is not what the log says: it was changed.", "Ask for it again.")
    return data


def kept_from(found: Mapping[str, bytes]) -> Callable[[str], bytes]:
    """Files by the hash of their bytes, from files by name."""
    by_hash = {hashlib.sha256(data).hexdigest(): data for data in found.values()}

    def kept(sha256: str) -> bytes:
        if sha256 not in by_hash:
            raise StillboreError(f"The file {sha256[:12]} is not at hand.", "Ask for the whole record.")
        return by_hash[sha256]

    return kept
