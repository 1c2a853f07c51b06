"""The command line: thin commands, each of which calls one thing and prints it."""

from __future__ import annotations

import json
import sys

import click

from stillbore import __version__
from stillbore.cli.lazy import lazy_group
from stillbore.errors import InputFaults, StillboreError

EXIT_BAD_INPUT = 2

COMMANDS = {
    "new": "Write a commented survey, kit or rule set to fill in.",
    "plan": "Plan one service: a table on the screen, and the job pack if asked.",
    "compare": "Several services, or several routes of one, side by side.",
    "procedure": "Check or show an order of work: its holds, what rests on what, the barriers after each step.",
    "explain": "Print how a number of a plan came about, and which fact would narrow it most.",
    "gauge": "Judge gauge readings: a hold, or let-by past the stopper.",
    "run": "Do a job: answers, signatures, hold points, stops; every step of it is logged.",
    "record": "What a job leaves: show, verify, export, compare.",
    "store": "What lies in a store; logs that travel; names beside the log, and their erasure.",
    "serve": "Open the app: pages on this machine, and the same app for tablets at the pit.",
    "keys": "Secrets of people, and the list that says whose key is whose.",
    "locate": "Find the leaking joint of a rig: who is under suspicion, and the next move.",
    "calc": "Call any formula, with units on every argument; without arguments list them.",
    "tables": "Print a published table with its source; without a name list them.",
    "published": "Print what every formula is checked against, and which have no published case.",
}


ABOUT = """Plan, check and record the isolation of a live low-pressure steel gas service.

It works out numbers and says where each comes from. It decides nothing: a person with authority signs each hold, and
the operator's own procedure and local codes rank above anything it prints.
"""

program = click.version_option(__version__, prog_name="stillbore")(
    lazy_group("stillbore", ABOUT, "stillbore.cli", COMMANDS))


def main() -> None:
    """Run the program; faults of the input are printed with their places and end with exit code 2."""
    try:
        code = program.main(standalone_mode=False)
        if isinstance(code, int) and code:  # a command that ends with a code of its own, as a refusal does
            sys.exit(code)
    except InputFaults as error:
        click.echo(str(error), err=True)
        sys.exit(EXIT_BAD_INPUT)
    except StillboreError as error:
        click.echo(f"{error.what} {error.fix}", err=True)
        sys.exit(EXIT_BAD_INPUT)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.exceptions.Exit as error:
        sys.exit(error.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped; nothing half-written is left behind.", err=True)
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)


def print_json(data: object) -> None:
    """JSON on standard output, keys as given."""
    click.echo(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))
