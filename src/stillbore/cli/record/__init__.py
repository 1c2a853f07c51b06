"""stillbore record: what a job leaves; shown, verified, exported, compared."""

from stillbore.cli.lazy import lazy_group

SUBCOMMANDS = {
    "show": "Show the record, exceptions first; as HTML or PDF/A-3 if asked.",
    "verify": "Verify a store, an exported log, or the PDF alone; ask an auditor's questions.",
    "export": "Hand a job over: the log, its files, positions, tables.",
    "compare": "Say in what two exported logs differ.",
}

command = lazy_group("record", "What a job leaves, and what a stranger can check of it.",
                     "stillbore.cli.record", SUBCOMMANDS)
