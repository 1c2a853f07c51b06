"""What a person signs: a hash over the step as it stands, so that a signature counts for this job, this plan, these
answers and this person, and for nothing else."""

from __future__ import annotations

import hashlib

from stillbore.record.canonical import canonical
from stillbore.run.basis import Step
from stillbore.run.state import State


def statement(state: State, step: Step, person: str) -> str:
    """The statement that ``person`` signs under a step, SHA-256 in hex."""
    answers = [[ask.key, found.hash] for ask in step.asks if (found := state.answer(ask.key))]
    kept = [found.kept.sha256 for found in state.kept(step.id)]
    return _hash({"job": state.job, "step": step.id, "hold": step.hold, "plan": state.basis.plan, "answers": answers,
                  "evidence": kept, "person": person})


def override_statement(state: State, step: str, red: str, reason: str, authoriser: str) -> str:
    """The statement that an authoriser signs to pass a red, SHA-256 in hex."""
    answer = state.answer(red)
    return _hash({"job": state.job, "step": step, "red": red, "reason": reason, "plan": state.basis.plan,
                  "answer": answer.hash if answer else "", "person": authoriser})


def _hash(data: object) -> str:
    return hashlib.sha256(canonical(data)).hexdigest()
