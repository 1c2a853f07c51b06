"""Readings to verdicts: hold, let-by, the leaking joint, and a whole log; standard library only."""
