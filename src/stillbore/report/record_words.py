"""How the record document says times, lengths of time, people and signatures, in one place."""

from __future__ import annotations

from stillbore.record.events import Event, Value
from stillbore.record.verify import Check
from stillbore.report.document import Cell, Table, cells
from stillbore.run.basis import Ask
from stillbore.run.instants import Instant, instant
from stillbore.run.state import Answer

REPLAYED = "REPLAYED FROM A FILE"
TRAINING = "TRAINING"
SHORT = 12  # digits of a hash where there is little room; the whole of it stands in the last part
OF_KEY = 16
NONE = "none"
NOT_KNOWN = "not known"
LONGEST_LIST = 400  # rows of a table; what is beyond is counted, and stands whole in the embedded log


def banner(replayed: bool, training: bool) -> str:
    """The large words on every page; "" for a job that was done."""
    words = [word for word, on in ((f"{REPLAYED}: EVERY TIME IS A SCRIPT'S", replayed),
                                   (f"{TRAINING}: NO WORK WAS DONE", training)) if on]
    return "; ".join(words)


def when(at: Instant, first: Instant) -> str:
    """The time of day on the job's first day and in its zone; the whole of it elsewhere. Entered late is said."""
    same = at.at.date() == first.at.date() and at.at.utcoffset() == first.at.utcoffset()
    text = f"{at.at:%H:%M:%S}" if same else at.text
    return f"{text}, by paper" if at.paper else text


def when_of(event: Event, first: Instant) -> str:
    return when(instant(event), first)


def zone(at: Instant) -> str:
    """The zone of a time, as UTC+01:00."""
    return at.at.strftime("UTC%z")[:6] + ":" + at.at.strftime("%z")[3:5]


def span(seconds: float | None) -> str:
    """A length of time, as a person says it."""
    if seconds is None:
        return f"{NOT_KNOWN}: clocks contradict each other"
    whole = round(seconds)
    if whole < 120:
        return f"{whole} s"
    if whole < 7200:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


def value_cell(value: Value, ask: Ask | None = None) -> Cell:
    """A value, and below it how it is known, with which instrument, and what it was reckoned with where its uncertainty
    was not said."""
    if value.how == "not measured":
        return Cell("NOT MEASURED", value.reason or "no reason was given", True)
    instrument = f" with {value.instrument}" if value.instrument else ""
    spread = ""
    if value.number and value.how == "measured" and not value.uncertainty and (ask is None or ask.sort == "quantity"):
        reckoned = ask.uncertainty.removesuffix(" -") if ask else ""
        spread = f"; taken as +/- {reckoned}" if reckoned else "; uncertainty not said"
    return Cell(value.written, f"{value.how}{instrument}{spread}", True)


def wanted_cell(answer: Answer, ask: Ask | None) -> Cell:
    """What was wanted, in words, with where the limit comes from."""
    wanted = ask.wanted if ask else ""
    if wanted == "good" and ask and ask.good:
        return Cell(" or ".join(ask.good))
    if wanted in ("yes", "no"):
        return Cell(wanted)
    words = {"same": "the same as", "good": "limit", "": "limit"}.get(wanted, wanted)
    if not answer.limit:
        return Cell("no limit")
    name = answer.rule.replace("rules.", "rule ").replace(".", ", ").replace("_", " ")
    return Cell(f"{words} {answer.limit}", name)


def verdict_words(verdict: str) -> Cell:
    """A verdict in a word that stands out unless it is met: never by colour."""
    if not verdict:
        return Cell("not judged")
    return Cell(verdict if verdict == "met" else verdict.upper(), strong=verdict != "met")


def signature_words(check: Check, key: str, statement: str, signature: str) -> Cell:
    """Whether a signature holds, and by which key: whose that key is, no document can know."""
    try:
        holds = check(key, bytes.fromhex(statement), signature)
    except ValueError:
        holds = False
    return Cell("signature holds" if holds else "SIGNATURE DOES NOT HOLD", f"signer unknown here; key {key[:OF_KEY]}",
                not holds)


def rows_or_none(caption: str, columns: tuple[str, ...], rows: list[tuple[Cell, ...]],
                 widths: tuple[float, ...]) -> Table | None:
    """A table; None where it would be empty. Beyond LONGEST_LIST rows the rest is counted."""
    if not rows:
        return None
    more = len(rows) - LONGEST_LIST
    if more > 0:
        rest = Cell(f"and {more} more", "they stand in the embedded log", True)
        rows = [*rows[:LONGEST_LIST], cells(rest, *[""] * (len(columns) - 1))]
    return Table(caption, columns, tuple(rows), widths)
