"""The record of a job as a document: exceptions first, then what was found, each hold, the barriers over time, as
laid, the evidence, the plan's numbers, and last the keys, files and seals.

It follows from the log and its files alone. So anybody who has the PDF can make it again from what is embedded in it,
and see whether its pages print what the log says (see ``record_check``).
"""

from __future__ import annotations

from collections.abc import Callable

from stillbore.record.read import read_export
from stillbore.record.verify import Check
from stillbore.report.common import LONGEST_STATEMENT, SHORT_HASH, clipped, statement
from stillbore.report.document import Document
from stillbore.report.html import to_html
from stillbore.report.pdf import to_pdf
from stillbore.report.record_evidence import evidence_part
from stillbore.report.record_exceptions import exceptions_part
from stillbore.report.record_files import MadeBy, attachments, checked, made_here, named_files
from stillbore.report.record_found import found_part, numbers_part
from stillbore.report.record_holds import holds_part, steps_part
from stillbore.report.record_keys import keys_part
from stillbore.report.record_laid import laid_part
from stillbore.report.record_story import Story
from stillbore.report.record_timeline import timeline_part
from stillbore.report.record_words import banner

Kept = Callable[[str], bytes]
UNCHANGED = "A seal shows that a record is unchanged, not that it is true."


def record_html(data: bytes, kept: Kept, check: Check) -> bytes:
    """The record as one self-contained HTML page. ``data``: the log as exported (JSON Lines); ``kept`` finds a file by
    its SHA-256; ``check(key, message, signature)`` verifies Ed25519, as ``store.keys.check``.

    Raises Broken where the log does not hold (no document is made of such a log), StillboreError where a file that it
    names is missing or changed, InputFaults where this program cannot read a file of the job.
    """
    return to_html(record_document(story_of(data, kept, check), made_here())).encode("utf-8")


def record_pdf(data: bytes, kept: Kept, check: Check) -> bytes:
    """The record as PDF/A-3 with the log and every file that it names embedded. Arguments and errors as
    ``record_html``; the same log and files always give the same bytes, as long as the program is the same."""
    return pdf_of(story_of(data, kept, check), data, made_here())


def story_of(data: bytes, kept: Kept, check: Check) -> Story:
    """A log read, held against its hashes and signatures, and walked through. Errors as ``record_html``."""
    exported = read_export(data)
    for file in named_files(exported.lines):
        checked(kept, file.sha256)
    story = Story(exported, kept, check)
    assert story.verification  # raises where the log does not hold
    return story


def pdf_of(story: Story, data: bytes, made_by: MadeBy) -> bytes:
    """The PDF of a story, as if made by ``made_by``."""
    return to_pdf(record_document(story, made_by), attachments(data, story.lines, story.kept, made_by))


def record_document(story: Story, made_by: MadeBy) -> Document:
    """The whole document."""
    state = story.state
    parts = (exceptions_part(story), found_part(story), holds_part(story), steps_part(story), timeline_part(story),
             laid_part(story), evidence_part(story), numbers_part(story), keys_part(story, made_by))
    words = banner(state.replayed, state.training)
    said = clipped(f"{words + '. ' if words else ''}{UNCHANGED} {statement(story.plan)}", LONGEST_STATEMENT)
    mark = (f"job {clipped(state.job, 20)}, plan {state.basis.plan[:SHORT_HASH]}, "
            f"seal {story.lines[-1].hash[:SHORT_HASH]}")
    return Document("record", f"Record of job {state.job}", story.began.at, said, mark, parts, banner=words)
