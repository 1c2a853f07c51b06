"""The PDF of a record verified alone: log and files are taken out of it, the log is verified, each file is held against
the log, and the whole PDF is made again from them and compared.

The same log, files and program give the same bytes. So where the bytes are equal, every page prints what the log says;
where they are not, and the program is the one that made it, something was changed. Another version of the program may
print otherwise: then only the words of each page can be compared, which is weaker, and says so.
"""

from __future__ import annotations

import hashlib
import io
import logging
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

from stillbore.errors import InputFaults, StillboreError
from stillbore.record.chain import Line
from stillbore.record.read import Exported, read_export
from stillbore.record.verify import BROKEN, PAGES_NOT_PROVEN, VERIFIED, Check, Report, verify
from stillbore.report.record import pdf_of, story_of
from stillbore.report.record_files import (
    LOG,
    MADE_BY,
    MadeBy,
    embedded_names,
    kept_from,
    made_here,
    named_files,
    read_made_by,
)

LARGEST_PDF = 500_000_000  # bytes
LARGEST_INSIDE = 600_000_000  # bytes of all embedded files, unpacked
MOST_FILES, MOST_PAGES = 5_000, 3_000
AROUND = 40  # characters shown before and after the first that differs
NOT_A_RECORD = "Give the PDF of a record as it was made, or ask for the exported log instead."


@dataclass(frozen=True)
class CheckedPdf:
    """What came of it: the report, the log (None where it does not hold), how embedded files are found by their hash,
    and what else is to be said."""

    report: Report
    exported: Exported | None
    kept: Callable[[str], bytes]
    said: tuple[str, ...]


def check_pdf(data: bytes, check: Check, known: Collection[str]) -> CheckedPdf:
    """Verify the PDF of a record. ``check`` and ``known`` as for ``record.verify.verify``.

    Raises StillboreError where it is no PDF with a log in it, or too large or too damaged to be looked into; never
    anything else, whatever the bytes are.
    """
    found = embedded(data)
    if LOG not in found:
        raise StillboreError(f"There is no {LOG} in this PDF: it is no record, or it was taken out.", NOT_A_RECORD)
    kept = kept_from(found)
    report = verify(found[LOG], check, known)
    if report.state == BROKEN:
        return CheckedPdf(report, None, kept, ())
    exported = read_export(found[LOG])
    faults = list(_file_faults(found, exported.lines))
    if faults:
        return CheckedPdf(_broken(report, " ".join(faults)), exported, kept, ())
    try:
        claimed = read_made_by(found[MADE_BY])
        rebuilt = remade(found, check, claimed)
    except InputFaults as error:
        why = f"This program cannot read the files of this job, so it cannot make the pages again: {error}"
        return CheckedPdf(_not_proven(report, why), exported, kept, ())
    except StillboreError as error:
        return CheckedPdf(_not_proven(report, f"The pages could not be made again. {error.what}"), exported, kept, ())
    if rebuilt == data:
        return CheckedPdf(report, exported, kept, ("The PDF is, byte for byte, what its own log and files make: every "
                                                   "page prints what the log says.",))
    return CheckedPdf(_compared(report, data, rebuilt, claimed), exported, kept, ())


def remade(found: Mapping[str, bytes], check: Check, claimed: MadeBy) -> bytes:
    """The PDF made again from what is embedded in it, under the name of what it says that it was made by."""
    return pdf_of(story_of(found[LOG], kept_from(found), check), found[LOG], claimed)


def _broken(report: Report, why: str) -> Report:
    return replace(report, state=BROKEN, why=why)


def _not_proven(report: Report, why: str) -> Report:
    """The log is whole; what is open about it (its end, a key that nobody knows) is said as well."""
    own = "" if report.state == VERIFIED else report.sentence
    return replace(report, state=PAGES_NOT_PROVEN, why=" ".join(filter(None, (why, own or report.why))))


def _file_faults(found: Mapping[str, bytes], lines: Sequence[Line]) -> Iterator[str]:
    """What is missing, other than the log says, or not named by it."""
    names = embedded_names(lines)
    for file in named_files(lines):
        name = names[file.sha256]
        if name not in found:
            yield f"The {file.kind} {name}, which the log names, is not embedded."
        elif hashlib.sha256(found[name]).hexdigest() != file.sha256:
            yield f"The embedded {file.kind} {name} is not what the log says: it was changed."
    if MADE_BY not in found:
        yield f"{MADE_BY} is not embedded."
    for name in found.keys() - {LOG, MADE_BY, *names.values()}:
        yield f"{name!r} is embedded, and the log does not name it."


def _compared(report: Report, data: bytes, rebuilt: bytes, claimed: MadeBy) -> Report:
    """What to say of a PDF that is not what its log makes here."""
    here = made_here()
    where = difference(data, rebuilt)
    if claimed == here:
        first = next((at for at, (one, other) in enumerate(zip(data, rebuilt, strict=False)) if one != other),
                     min(len(data), len(rebuilt)))
        return _broken(report, f"The PDF is not what its own log makes; the first byte that differs is {first}. "
                       + (where or "The words of every page are the same: a drawing, a picture, or how the file is "
                                   "put together was changed."))
    other = f"It was made by {claimed.words}; this is {here.words}: the bytes cannot be compared."
    if where:
        return _not_proven(report, f"{other} The words of the pages are not the same. {where}")
    return _not_proven(report, f"{other} The words of every page are the same, which is weaker: drawings and pictures "
                       "were not compared. Verify it with the version that made it.")


# Reading PDFs from anybody's hands


@contextmanager
def _hostile(what: str) -> Iterator[None]:
    """Whatever a damaged or hostile PDF does to the reader, it comes out as one sentence."""
    logger = logging.getLogger("pypdf")  # what it would say of a damaged file is no news to anybody
    was = logger.level
    logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    except StillboreError:
        raise
    except Exception as error:
        raise StillboreError(f"{what}: {type(error).__name__}.", NOT_A_RECORD) from None
    finally:
        logger.setLevel(was)


def _reader(data: bytes):
    try:
        import pypdf
    except ImportError:
        raise StillboreError("The PDF cannot be read: the package pypdf is not installed.",
                             "Install it with: pip install 'stillbore[records]'.") from None
    reader = pypdf.PdfReader(io.BytesIO(data))
    if reader.is_encrypted:
        raise StillboreError("The PDF is encrypted; a record never is.", NOT_A_RECORD)
    return reader


def embedded(data: bytes) -> dict[str, bytes]:
    """The files embedded in a PDF, by name. Raises StillboreError for whatever cannot be read, is embedded twice, or is
    larger than can be."""
    if len(data) > LARGEST_PDF:
        raise StillboreError(f"The PDF is larger than {LARGEST_PDF // 1_000_000} MB.", NOT_A_RECORD)
    found: dict[str, bytes] = {}
    total = 0
    with _hostile("This cannot be read as a PDF with files in it"):
        attachments = _reader(data).attachments
        names = list(attachments)
        if len(names) > MOST_FILES:
            raise StillboreError(f"More than {MOST_FILES} files are embedded in the PDF.", NOT_A_RECORD)
        for name in names:
            contents = attachments[name]
            if len(contents) != 1:
                raise StillboreError(f"{name!r} is embedded {len(contents)} times in the PDF.", NOT_A_RECORD)
            found[str(name)] = bytes(contents[0])
            total += len(found[str(name)])
            if total > LARGEST_INSIDE:
                raise StillboreError("The files embedded in the PDF are too large to be unpacked.", NOT_A_RECORD)
    return found


def words_of_pages(data: bytes) -> list[str]:
    """The words that each page prints, without white space at the ends of lines. Raises StillboreError."""
    with _hostile("The pages of the PDF cannot be read"):
        reader = _reader(data)
        if len(reader.pages) > MOST_PAGES:
            raise StillboreError(f"The PDF has more than {MOST_PAGES} pages.", NOT_A_RECORD)
        return [" ".join(page.extract_text().split()) for page in reader.pages]


def difference(data: bytes, rebuilt: bytes) -> str:
    """Where the words that a PDF prints differ from those that its log makes, in a sentence; "" where they do not."""
    ours = words_of_pages(rebuilt)
    try:
        theirs = words_of_pages(data)
    except StillboreError as error:
        return error.what
    for number, (printed, wanted) in enumerate(zip(theirs, ours, strict=False), 1):
        if printed != wanted:
            at = next((at for at, (one, other) in enumerate(zip(printed, wanted, strict=False)) if one != other),
                      min(len(printed), len(wanted)))
            return (f"Page {number} prints '{_around(printed, at)}' where the log makes '{_around(wanted, at)}'.")
    if len(theirs) != len(ours):
        return f"It has {len(theirs)} pages where the log makes {len(ours)}."
    return ""


def _around(text: str, at: int) -> str:
    first, last = max(at - AROUND, 0), at + AROUND
    return f"{'…' if first else ''}{text[first:last]}{'…' if last < len(text) else ''}"
