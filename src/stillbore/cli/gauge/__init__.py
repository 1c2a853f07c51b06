"""stillbore gauge: readings to verdicts; each subcommand is imported when it is called."""

from stillbore.cli.lazy import lazy_group

SUBCOMMANDS = {
    "hold": "Judge an integrity or tightness hold.",
    "letby": "Judge let-by past the stopper, and what it means for the pit.",
    "read": "Read a whole log as labelled segments, and judge each hold and watch.",
    "watch": "Read readings as they come, and speak as it goes.",
}

command = lazy_group("gauge", "Judge gauge readings: a hold, let-by, a whole log, or as they come.",
                     "stillbore.cli.gauge", SUBCOMMANDS)
