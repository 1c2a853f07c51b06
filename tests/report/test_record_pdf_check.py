"""The PDF of a record verified alone: whatever is changed in it is found, and nothing makes the reader fall over."""

import dataclasses
import io
import random
import zlib

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from record_jobs import AT, KNOWN, SECRETS, check, job

from stillbore.errors import StillboreError
from stillbore.record.chain import export
from stillbore.record.verify import BROKEN, END_OPEN, PAGES_NOT_PROVEN, SIGNER_UNKNOWN, VERIFIED
from stillbore.report import record_check
from stillbore.report.document import Paragraph
from stillbore.report.pdf import to_pdf
from stillbore.report.record import record_document, record_pdf
from stillbore.report.record_check import check_pdf, embedded
from stillbore.report.record_files import LOG, MADE_BY, attachments, made_here

EVERY_SO_MANY = 401  # bytes of the PDF, a prime; every 50th has been tried too, which takes minutes
OTHER = dataclasses.replace(made_here(), program="9.9.9", code="0" * 64)


@pytest.fixture
def remembered(monkeypatch):
    """Makes the same PDF again only once. What it is made of has been verified by its hashes before, or is the key."""
    made, real = {}, record_check.remade

    def remade(found, check, claimed):
        key = (found[LOG], claimed)
        if key not in made:
            made[key] = real(found, check, claimed)
        return made[key]

    monkeypatch.setattr(record_check, "remade", remade)
    monkeypatch.setattr(record_check, "difference", lambda data, rebuilt: "")


def found_out(data):
    """Whether a PDF is not taken for a verified one."""
    try:
        return check_pdf(data, check, KNOWN).report.state != VERIFIED
    except StillboreError:
        return True


def forged(name, change, files=lambda files: files, made_by=None):
    """The PDF of a job as somebody would make it who can run the program, and changes document or files."""
    story, made_by = job(name).story, made_by or made_here()
    return to_pdf(change(record_document(story, made_by)),
                  files(attachments(job(name).data, story.lines, story.kept, made_by)))


def same(document):
    return document


def other_words(document):
    first, *parts = document.parts
    return dataclasses.replace(document, parts=(
        dataclasses.replace(first, blocks=(*first.blocks, Paragraph("A stop was never needed."))), *parts))


def other_drawing(document):
    return dataclasses.replace(document, parts=tuple(dataclasses.replace(part, blocks=tuple(
        dataclasses.replace(block, svg=block.svg.replace('stroke-width="0.900"', 'stroke-width="0.100"'))
        if getattr(block, "key", "") == "timeline" else block for block in part.blocks)) for part in document.parts))


@pytest.mark.parametrize("name", ["whole", "half", "hostile", "short"])
def test_a_record_is_verified_from_its_pdf_alone(name):
    found = check_pdf(job(name).pdf, check, KNOWN)
    assert found.report.state == VERIFIED and "byte for byte" in found.said[0]
    assert found.report.events == len(job(name).lines) == len(found.exported.lines)


def test_signer_unknown_and_open_end_are_told_apart():
    assert check_pdf(job("short").pdf, check, ()).report.state == SIGNER_UNKNOWN
    assert check_pdf(job("eventful").pdf, check, KNOWN).report.state == END_OPEN


def test_a_log_signed_anew_is_signer_unknown():
    record, key = job("short"), SECRETS["D2"]
    data = export(record.lines, AT, "D1", key.public, key.sign)
    known = KNOWN - {key.public}
    assert check_pdf(record_pdf(data, record.kept, check), check, known).report.state == SIGNER_UNKNOWN


def places(data):
    """Where bytes are changed: all through the file, and every byte of its head, of its end, and where the log, the
    list of embedded files and what it was made by stand."""
    found = set(range(0, len(data), EVERY_SO_MANY)) | set(range(64)) | set(range(len(data) - 400, len(data)))
    for word in (LOG.encode(), MADE_BY.encode(), b"/EmbeddedFiles", b"/AF", b"/Pages", b"startxref"):
        at = data.find(word)
        found |= set(range(max(at - 20, 0), min(at + 60, len(data)))) if at >= 0 else set()
    return sorted(found)


def test_every_single_byte_that_is_changed_is_found(remembered):
    data = job("short").pdf
    chance = random.Random(1)
    missed = []
    for at in places(data):
        changed = bytearray(data)
        changed[at] ^= chance.randrange(1, 256)
        missed += [] if found_out(bytes(changed)) else [at]
    assert not found_out(data) and len(places(data)) > 1000
    assert missed == []


def test_bytes_put_in_taken_out_and_cut_off_are_found(remembered):
    data = job("short").pdf
    for at in range(0, len(data), 40 * EVERY_SO_MANY):
        assert found_out(data[:at] + data[at + 1:]), at
        assert found_out(data[:at] + b" " + data[at:]), at
        assert found_out(data[:at]), at
    assert found_out(data + b"\n") and found_out(data + data)


def test_words_that_the_log_does_not_make_are_found_with_their_page():
    report = check_pdf(forged("half", other_words), check, KNOWN).report
    assert report.state == BROKEN and "not what its own log makes" in report.why
    assert "Page 2" in report.why and "A stop was never needed" in report.why


def test_a_drawing_that_was_changed_is_found():
    assert other_drawing(record_document(job("half").story, made_here())) != record_document(job("half").story,
                                                                                           made_here())
    report = check_pdf(forged("half", other_drawing), check, KNOWN).report
    assert report.state == BROKEN and "words of every page are the same" in report.why


def without(word):
    return lambda files: {name: content for name, content in files.items() if word not in name}


@pytest.mark.parametrize("files,why", [
    (without("service.toml"), "service.toml, which the log names, is not embedded"),
    (without(MADE_BY), "made-by.json is not embedded"),
    (lambda files: {**files, "rules.toml": files["rules.toml"].replace(b"75 mbar", b"95 mbar")},
     "rules.toml is not what the log says"),
    (lambda files: {**files, "more.txt": b"x"}, "'more.txt' is embedded, and the log does not name it"),
    (lambda files: {**files, LOG: files[LOG].replace(b"rain", b"snow")}, "does not hold"),
    (lambda files: {**files, LOG: files[LOG].rpartition(b'{"footer"')[0]}, "not what its own log makes"),
])
def test_files_that_are_missing_changed_or_put_in_are_found(files, why):
    report = check_pdf(forged("short", same, files), check, KNOWN).report
    assert report.state == BROKEN and why in report.why


def test_made_by_another_version_the_words_are_compared_and_it_is_not_verified(monkeypatch):
    """Another version of the program prints otherwise: here one word more, which it would also print when it checks."""
    pdf = forged("half", same, made_by=OTHER)
    assert check_pdf(pdf, check, KNOWN).report.state == VERIFIED  # it prints what this one prints, to the byte
    drawn = check_pdf(forged("half", other_drawing, made_by=OTHER), check, KNOWN).report
    assert drawn.state == PAGES_NOT_PROVEN
    assert "PAGES ARE NOT PROVEN" in drawn.sentence and "weaker" in drawn.why and "9.9.9" in drawn.why
    said = check_pdf(forged("half", other_words, made_by=OTHER), check, KNOWN).report
    assert said.state == PAGES_NOT_PROVEN
    assert "The words of the pages are not the same. Page 2" in said.why


@pytest.mark.parametrize("content", [b"", b"{}", b"[1]", b"\xff", b'{"format": "stillbore made by 1"}', b"[" * 5000])
def test_what_it_was_made_by_may_be_anything(content):
    report = check_pdf(forged("short", same, lambda files: {**files, MADE_BY: content}), check, KNOWN).report
    assert report.state == PAGES_NOT_PROVEN and MADE_BY in report.why


def test_without_typst_or_pypdf_it_says_what_is_missing(monkeypatch):
    import sys

    made = job("short").pdf  # before typst is taken away
    with monkeypatch.context() as patch:
        patch.setitem(sys.modules, "typst", None)
        report = check_pdf(made, check, KNOWN).report
        assert report.state == PAGES_NOT_PROVEN and "typst is not installed" in report.why
    monkeypatch.setitem(sys.modules, "pypdf", None)
    with pytest.raises(StillboreError, match="pypdf is not installed"):
        check_pdf(made, check, KNOWN)


# Hostile files


def written(writer):
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def with_files(**files):
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    for name, content in files.items():
        writer.add_attachment(name, content)
    return writer


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7", b"%PDF-1.7\n%%EOF", b"\0" * 1000, b"not a PDF" * 100,
                                  b"%PDF-1.7\ntrailer<</Root 1 0 R>>startxref\n0\n%%EOF"])
def test_what_is_no_pdf_is_one_sentence(data):
    with pytest.raises(StillboreError):
        check_pdf(data, check, KNOWN)


def test_a_pdf_without_a_log_is_one_sentence():
    with pytest.raises(StillboreError, match="no record.jsonl"):
        check_pdf(written(with_files(**{"other.txt": b"x"})), check, KNOWN)


def test_an_encrypted_pdf_is_one_sentence():
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(job("short").pdf))
    writer.encrypt("words", algorithm="AES-128")
    with pytest.raises(StillboreError, match="encrypted"):
        check_pdf(written(writer), check, KNOWN)


def test_a_file_embedded_twice_is_one_sentence():
    writer = with_files()
    writer.add_attachment(LOG, b"one")
    writer.add_attachment(LOG, b"two")
    with pytest.raises(StillboreError, match="embedded 2 times"):
        check_pdf(written(writer), check, KNOWN)


def bomb(megabytes):
    """A PDF with a file in it that unpacks to zeros without end."""
    pack = zlib.compressobj(9)
    packed = b"".join(pack.compress(bytes(1_000_000)) for _ in range(megabytes)) + pack.flush()
    writer = with_files(**{LOG: b"x"})
    stream = next(each.get_object() for each in writer._objects
                  if isinstance(each, pypdf.generic.StreamObject) and each.get("/Type") == "/EmbeddedFile")
    stream._data = packed
    stream[pypdf.generic.NameObject("/Filter")] = pypdf.generic.NameObject("/FlateDecode")
    return written(writer)


def test_a_file_that_unpacks_without_end_is_one_sentence():
    data = bomb(300)
    assert len(data) < 1_000_000
    with pytest.raises(StillboreError, match="LimitReached"):
        check_pdf(data, check, KNOWN)
    assert embedded(bomb(1))[LOG] == bytes(1_000_000)


def test_what_is_larger_than_can_be_is_one_sentence(monkeypatch):
    pdf = job("short").pdf
    for limit, value in (("LARGEST_PDF", len(pdf) - 1), ("LARGEST_INSIDE", 10_000), ("MOST_FILES", 3)):
        with monkeypatch.context() as patch:
            patch.setattr(record_check, limit, value)
            with pytest.raises(StillboreError):
                check_pdf(pdf, check, KNOWN)


@settings(max_examples=15, deadline=None)
@given(some.lists(some.tuples(some.floats(0, 1, exclude_max=True), some.binary(min_size=1, max_size=40)), min_size=1,
                  max_size=8))
def test_spoilt_pdfs_are_an_error_in_words_or_not_verified(spots):
    data = bytearray(job("short").pdf)
    for place, content in spots:
        at = int(place * len(data))
        data[at:at + len(content)] = content
    if bytes(data) != job("short").pdf:
        assert found_out(bytes(data))
