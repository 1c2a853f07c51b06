"""stillbore gauge watch: readings as they come, and what they mean, said at once."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import click

from stillbore.cli.gauge.judged_by import settings_of, trace_options
from stillbore.cli.gauge.options import FILE
from stillbore.errors import StillboreError
from stillbore.gauge.feed import Feed
from stillbore.gauge.watch import ALARM, HINT, Said, Watch

LOOK_AGAIN = 0.1  # s between looks at a growing file
PIECE = 4096


@click.command("watch")
@trace_options
@click.option("--file", "growing", type=FILE, help="Follow this file while a logger writes it.")
@click.option("--port", help="Read a serial port, as /dev/ttyUSB0 (needs: pip install 'stillbore[serial]').")
@click.option("--baud", type=int, default=9600, show_default=True, help="Speed of the serial port.")
@click.option("--until-quiet", type=float, help="Stop when no line has come for so many seconds.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a line.")
def command(growing: Path | None, port: str | None, baud: int, until_quiet: float | None, as_json: bool,
            **options: object) -> None:
    """Watch a gauge: lines from standard input, a growing file or a serial port.

    A line is time,pressure_mbar as in a log, or a pressure alone, or words: 'vent shut' begins the watch for let-by.
    Break-through is said within a second of the gauge showing 10 mbar, pressure above the maximum at once, verdicts as
    they come. Ctrl-C ends it.
    A device is an ignition source: watch from outside the zone.
    """
    settings = settings_of(**options)  # type: ignore[arg-type]
    if growing is not None and port is not None:
        raise StillboreError("--file and --port are both given.", "Give one of them.")
    if port is not None:
        lines = _serial(port, baud, until_quiet)
    elif growing is not None:
        lines = _growing(growing, until_quiet)
    else:
        lines = iter(sys.stdin.readline, "")
    watch_lines(lines, Watch(settings), as_json)


def watch_lines(lines: Iterator[str], watch: Watch, as_json: bool) -> None:
    """Feed the lines to the watch and print what it says, until they end or Ctrl-C."""
    feed = Feed(time.monotonic())
    last = 0.0
    try:
        for line in lines:
            reading = feed.take(line, time.monotonic())
            if reading is None:
                continue
            last = max(last, reading.time)
            if reading.fault:
                _print(Said(last, HINT, reading.fault), as_json)
            if reading.pressure is not None:
                _print_all(watch.take(reading.time, reading.pressure, reading.temperature, reading.barometer), as_json)
            if reading.note:
                _print_all(watch.note(reading.time, reading.note), as_json)
    except KeyboardInterrupt:
        click.echo("")
    _print_all(watch.end(last), as_json)


def _print_all(said: list[Said], as_json: bool) -> None:
    for one in said:
        _print(one, as_json)


def _print(said: Said, as_json: bool) -> None:
    if as_json:
        import json

        click.echo(json.dumps({"at_s": round(said.time, 3), "kind": said.kind, "words": said.words}))
    else:
        click.echo(f"{said.time:8.1f} s  {'*** ' if said.kind == ALARM else ''}{said.words}")
    sys.stdout.flush()


def _growing(path: Path, until_quiet: float | None) -> Iterator[str]:
    """Whole lines of a file as it grows; a file that is made shorter is read from its beginning again."""
    rest, quiet_since, at = b"", time.monotonic(), 0
    try:
        with path.open("rb") as file:
            while True:
                piece = file.read(PIECE)
                if piece:
                    quiet_since, at = time.monotonic(), at + len(piece)
                    *lines, rest = (rest + piece).split(b"\n")
                    yield from (line.decode("utf-8", errors="replace") for line in lines)
                    continue
                if path.stat().st_size < at:
                    file.seek(0)
                    rest, at = b"", 0
                if until_quiet is not None and time.monotonic() - quiet_since > until_quiet:
                    return
                time.sleep(LOOK_AGAIN)
    except OSError as error:
        raise StillboreError(f"{path} cannot be read: {error.strerror}.", "Check the path.") from None


def _serial(port: str, baud: int, until_quiet: float | None) -> Iterator[str]:
    try:
        import serial
    except ImportError:
        raise StillboreError("Reading a serial port needs one more library.",
                             "Install it: pip install 'stillbore[serial]'.") from None
    try:
        with serial.Serial(port, baud, timeout=LOOK_AGAIN) as line:
            rest, quiet_since = b"", time.monotonic()
            while until_quiet is None or time.monotonic() - quiet_since <= until_quiet:
                piece = line.read(max(1, line.in_waiting))
                if piece:
                    quiet_since = time.monotonic()
                    *whole, rest = (rest + piece).replace(b"\r", b"\n").split(b"\n")
                    yield from (text.decode("utf-8", errors="replace") for text in whole)
    except (OSError, serial.SerialException) as error:
        raise StillboreError(f"The serial port {port} cannot be read: {error}.",
                             "Check its name, that the gauge is plugged in, and that you may read it.") from None
