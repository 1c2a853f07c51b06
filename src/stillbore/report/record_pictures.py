"""Whether a kept file is a picture that can be shown: PNG or JPEG, by its own first bytes, and of a sane size.

Only headers are read; a picture is never opened here. Sources: PNG by ISO/IEC 15948 (signature, IHDR), JPEG by ISO/IEC
10918-1 (markers, start of frame).
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass

MOST_PIXELS = 60_000_000  # what a large telephone takes; beyond it a reader would choke on it
PNG = b"\x89PNG\r\n\x1a\n"
JPEG = b"\xff\xd8"
ALONE = (*range(0xD0, 0xD9), 0x01)  # markers without a length
NO_FRAME = (0xC4, 0xC8, 0xCC)  # these look like a start of frame, and are tables


@dataclass(frozen=True)
class Picture:
    """A picture with its type and its size in pixels."""

    data: bytes
    kind: str
    width: int
    height: int


def picture(data: bytes) -> Picture | None:
    """The picture in a file; None where it is none that can be shown."""
    size = _png(data) if data.startswith(PNG) else _jpeg(data) if data.startswith(JPEG) else None
    if size is None or not all(size) or size[0] * size[1] > MOST_PIXELS:
        return None
    return Picture(data, "image/png" if data.startswith(PNG) else "image/jpeg", *size)


def _png(data: bytes) -> tuple[int, int] | None:
    """Width and height by the header, if every piece of the file is whole: a torn picture shows nothing."""
    at, size, ended = len(PNG), None, False
    while at + 12 <= len(data) and not ended:
        length, kind = int.from_bytes(data[at:at + 4], "big"), data[at + 4:at + 8]
        if at + 12 + length > len(data):
            return None
        if zlib.crc32(data[at + 4:at + 8 + length]) != int.from_bytes(data[at + 8 + length:at + 12 + length], "big"):
            return None
        if size is None and kind == b"IHDR" and length == 13:
            size = int.from_bytes(data[at + 8:at + 12], "big"), int.from_bytes(data[at + 12:at + 16], "big")
        ended = kind == b"IEND"
        at += 12 + length
    return size if ended else None


def _jpeg(data: bytes) -> tuple[int, int] | None:
    at = 2
    if not data.rstrip(b"\0").endswith(b"\xff\xd9"):
        return None  # cut off
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return None
        marker = data[at + 1]
        if marker == 0xFF or marker in ALONE:
            at += 1 if marker == 0xFF else 2
            continue
        length = int.from_bytes(data[at + 2:at + 4], "big")
        if 0xC0 <= marker <= 0xCF and marker not in NO_FRAME:
            if at + 9 > len(data):
                return None
            return int.from_bytes(data[at + 7:at + 9], "big"), int.from_bytes(data[at + 5:at + 7], "big")
        if marker == 0xDA or length < 2:
            return None
        at += 2 + length
    return None
