"""stillbore run: a job being done. Every command writes one event, or the refusal of one, before it answers."""

from __future__ import annotations

import importlib
from pathlib import Path

import click

from stillbore.cli.lazy import LazyGroup

FILE = click.Path(dir_okay=False, path_type=Path)
# Command -> the module it stands in, and its line in the help.
SUBCOMMANDS = {
    "start": ("job", "Open a job from a plan."),
    "show": ("show", "The present card: what is wanted, what stands against it, the barriers."),
    "record": ("answers", "Answer a question of a step: a value with its unit, or words."),
    "gauge": ("answers", "Keep a gauge log and answer a question by what the gauge's judge makes of it."),
    "keep": ("answers", "Keep a photo or a file as evidence, by its hash."),
    "correct": ("answers", "Correct an answer; the old one stays in the log."),
    "district": ("answers", "Enter a reading of the district's pressure."),
    "sign": ("hands", "Sign a step as it stands, with your own secret."),
    "done": ("hands", "Say that a step is done."),
    "override": ("hands", "Pass a red on the word of an authorising engineer, where that is allowed at all."),
    "present": ("hands", "Somebody comes to the pit, or leaves it."),
    "enrol": ("hands", "Somebody joins the job who was not on it when it was opened."),
    "monitor": ("hands", "A gas monitor is on and bump tested, or off."),
    "stop": ("job", "Stop the work. Always accepted, never scored."),
    "resume": ("job", "Say why the work goes on."),
    "replan": ("job", "Plan again from changed files; the holds that rested on the old plan are open again."),
    "note": ("job", "A remark. No names: it stays in the log."),
    "clock": ("job", "Note a trusted clock beside the device's."),
    "abort": ("job", "End the job without its purpose: a proper end, with its reason."),
    "finish": ("job", "End the job."),
    "seal": ("job", "Sign the head of this device's chain."),
    "replay": ("replay", "Do a job from a file of these commands, with the times in it."),
}


class RunGroup(LazyGroup):
    """Several commands stand in one module; each is an attribute of its name."""

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in SUBCOMMANDS:
            return None
        module = importlib.import_module(f"{self.package}.{SUBCOMMANDS[name][0]}")
        return getattr(module, name)  # type: ignore[no-any-return]


@click.group("run", cls=RunGroup, package="stillbore.cli.run",
             summaries={name: about for name, (_, about) in SUBCOMMANDS.items()},
             context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--store", type=FILE, envvar="STILLBORE_STORE", default="jobs.db", show_default=True,
              help="The store: one file. Also from STILLBORE_STORE.")
@click.option("--job", help="Which job; by default the only one in the store.")
@click.option("--device", default="D1", show_default=True, help="This device, by name; its key lies beside the store.")
@click.pass_context
def command(context: click.Context, store: Path, job: str | None, device: str) -> None:
    """Do a job step by step. What is accepted is on disk when a command returns; so is what was refused, with every
    reason. Stop is always accepted. The operator's procedure ranks above anything printed here.
    """
    from stillbore.cli.run.place import Place

    if context.obj is None:
        context.obj = Place(store, job, device)
