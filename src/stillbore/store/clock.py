"""What the clocks of the machine say."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from pathlib import Path

from stillbore.run.session import Now

BOOT = Path("/proc/sys/kernel/random/boot_id")


def clock() -> Now:
    """The device's clock and its counter since the start of the machine, where the start has a name."""
    at = datetime.now(UTC).isoformat(timespec="milliseconds")
    try:
        boot = BOOT.read_text(encoding="ascii").strip()
    except OSError:
        return Now(at)
    return Now(at, boot, time.monotonic_ns() // 1_000_000)
