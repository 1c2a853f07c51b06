"""What was found out about a record as plain data, for other programs; docs/schemas/ describes each shape."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict

from stillbore.record.compare import Comparison
from stillbore.record.verify import Report
from stillbore.run.question import Question

VERIFICATION, COMPARISON = "stillbore verification 1", "stillbore comparison 1"


def verification_json(report: Report, asked: Sequence[Question] = (), said: Sequence[str] = ()) -> dict[str, object]:
    """A verification, the auditor's questions, and what else was found when the record was read."""
    return _plain({"format": VERIFICATION, "sentence": report.sentence, **asdict(report),
                   "asked": [asdict(question) for question in asked], "said": list(said)})


def comparison_json(comparison: Comparison) -> dict[str, object]:
    """In what two logs differ."""
    return _plain({"format": COMPARISON, **asdict(comparison)})


def _plain(data: dict[str, object]) -> dict[str, object]:
    """Lists for tuples, as JSON has them."""
    return json.loads(json.dumps(data))
