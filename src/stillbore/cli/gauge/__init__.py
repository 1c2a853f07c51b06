"""stillbore gauge: readings to verdicts; each subcommand is imported when it is called."""

from stillbore.cli.lazy import lazy_group

SUBCOMMANDS = {
    "hold": "Judge an integrity or tightness hold.",
    "read": "Read a whole log: what was done when, each part judged.",
    "watch": "Watch a gauge as it goes, and say at once what it means.",
    "letby": "Judge let-by past the stopper, and what it means for the pit.",
}

command = lazy_group("gauge", "Judge gauge readings, with a stated risk.",
                     "stillbore.cli.gauge", SUBCOMMANDS)
