"""Writing files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from stillbore.errors import StillboreError


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is either there whole or not at all: beside it first, then put in its place."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as draft:
            try:
                draft.write(content)
                draft.flush()
                os.fsync(draft.fileno())
                os.replace(draft.name, path)
            except BaseException:
                os.unlink(draft.name)
                raise
        os.chmod(path, 0o644)
    except OSError as error:
        raise StillboreError(f"{path} cannot be written: {error.strerror}.",
                             "Choose another place with --html, --pdf or --sheet.", path=str(path)) from None
