"""Addresses of the pages. Every name of a job, person, step or question may stand in one, whatever letters it has."""

from __future__ import annotations

import re

from stillbore.app.host import KEYS, NAME

PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


def slug(name: str) -> str:
    """A name as one part of an address: itself where it is plain, else ``~`` and its bytes in hex."""
    return name if not name or PLAIN.fullmatch(name) else "~" + name.encode("utf-8", "surrogatepass").hex()


def unslug(part: str) -> str:
    """The name again; "" where it is none."""
    if not part.startswith("~"):
        return part
    try:
        return bytes.fromhex(part[1:]).decode("utf-8", "surrogatepass")
    except ValueError:
        return ""


def shelf_of(job: str) -> str:
    """The shelf of a job's documents: its number where that can be a file's name, else its bytes in hex."""
    fits = NAME.fullmatch(job) and not job.endswith((".", " ")) and job != KEYS and not job.startswith("job-")
    return job if fits else "job-" + job.encode("utf-8", "surrogatepass").hex()[:90]


def at(language: str, *parts: str) -> str:
    """The address of a page: its parts, names among them made harmless."""
    return "/" + "/".join([language, *map(slug, parts)])
