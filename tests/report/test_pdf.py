"""The PDF: archive format, attachments byte for byte, one page where one is promised, the same bytes every time."""

import dataclasses
import functools
import hashlib
import importlib.util
import io
import sys

import pypdf
import pypdfium2
import pytest
from cases import CASES, HOSTILE, pages, plan_of, squeezed

from stillbore.errors import StillboreError
from stillbore.job.files import load_job
from stillbore.plan import plan as work_out
from stillbore.report import files
from stillbore.report import pdf as renderer
from stillbore.report.customer import customer
from stillbore.report.document import Document, Paragraph, Part, Table, cells
from stillbore.report.pack import pack
from stillbore.report.pdf import to_pdf
from stillbore.report.sheet import sheet

EVERY = pytest.mark.parametrize("case", CASES)


@functools.cache
def pack_pdf(case):
    return files.pack_pdf(plan_of(case))


@EVERY
def test_it_is_an_archive_pdf_with_its_evidence_inside(case):
    plan = plan_of(case)
    reader = pypdf.PdfReader(io.BytesIO(pack_pdf(case)))
    metadata = reader.trailer["/Root"]["/Metadata"].get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in metadata and "<pdfaid:conformance>B</pdfaid:conformance>" in metadata
    embedded = {name: contents[0] for name, contents in reader.attachments.items()}
    assert embedded == files.attachments(plan)
    for file in vars(plan.files).values():
        assert file.text.encode() in embedded.values()
    relations = {attached.get_object()["/F"]: attached.get_object()["/AFRelationship"]
                 for attached in reader.trailer["/Root"]["/AF"]}
    assert relations == {name: "/Data" if name == "plan.json" else "/Source" for name in embedded}


@EVERY
def test_every_finding_and_every_number_is_printed(case):
    plan = plan_of(case)
    printed = "".join(pages(pack_pdf(case)))
    for finding in plan.findings:
        assert squeezed(finding.what) in printed and squeezed(finding.do) in printed
    for name, number in plan.numbers.items():
        assert squeezed(name) in printed and squeezed(number.text) in printed


@EVERY
def test_statement_plan_and_page_number_stand_on_every_page(case):
    plan = plan_of(case)
    document = pack(plan)
    printed = pages(pack_pdf(case))
    for count, text in enumerate(printed, 1):
        assert squeezed(document.statement) in text
        assert f"plan{plan.version[:12]}" in text
        assert squeezed("job J-") in text
        assert f"page{count}of{len(printed)}" in text


@EVERY
def test_the_sheet_and_the_customers_page_are_one_page_each(case):
    plan = plan_of(case)
    assert len(pages(files.sheet_pdf(plan))) == 1
    assert len(pages(files.customer_pdf(plan))) == 1
    beginnings = [index for index, text in enumerate(pages(pack_pdf(case))) if text.startswith("Jobsheet:")]
    assert len(beginnings) == 1
    assert "Ifitgoeswrong" in pages(pack_pdf(case))[beginnings[0]]


@EVERY
def test_the_sheet_is_readable(case):
    """The smallest letter of the sheet, small print of the footer left out, at least 7 pt."""
    sizes = []
    page = pypdf.PdfReader(io.BytesIO(files.sheet_pdf(plan_of(case)))).pages[0]
    page.extract_text(visitor_text=lambda text, cm, tm, font, size: sizes.append(
        abs(size * tm[3] * cm[3])) if text.strip() else None)
    assert len(sizes) > 50
    assert min(sizes) >= 7.0 - 0.01


def test_hostile_text_is_printed_word_for_word():
    assert squeezed(HOSTILE) in "".join(pages(pack_pdf("hostile")))


def test_strange_letters_are_printed_by_their_number_in_text_and_drawings():
    printed = "".join(pages(pack_pdf("strange letters")))
    shown = squeezed("J-[U+4E2D][U+202E]<b>")
    assert "\u202e" not in printed and printed.count(shown) > 3
    assert squeezed("Job J-[U+4E2D]<b>, service") in printed  # the travel strip, which leaves out the unseen one
    assert squeezed("S-Ж [U+1F642]") in printed


def test_a_page_too_full_would_be_seen():
    document = sheet(plan_of("two branches"))
    only = document.parts[0]
    full = dataclasses.replace(only, blocks=only.blocks + (Paragraph("One more line. " * 40),) * 12)
    assert len(pages(to_pdf(dataclasses.replace(document, parts=(full,)), {}))) > 1


@pytest.mark.parametrize("make", [pack, sheet, customer])
def test_the_same_document_gives_the_same_bytes(make):
    plan = plan_of("two branches")
    assert to_pdf(make(plan), {"a.txt": b"one"}) == to_pdf(make(plan), {"a.txt": b"one"})
    assert to_pdf(make(plan), {"a.txt": b"one"}) != to_pdf(make(plan), {"a.txt": b"two"})


def test_files_of_the_same_name_are_both_embedded():
    plan = plan_of("two branches")
    rules = dataclasses.replace(plan.rules, name=plan.survey.name)
    twin = dataclasses.replace(plan, files=dataclasses.replace(plan.files, rules=rules))
    found = files.attachments(twin)
    assert found[plan.survey.name] == plan.survey.text.encode()
    assert found[f"rules-{plan.survey.name}"] == plan.rules.text.encode()


def test_a_file_with_line_ends_of_windows_is_embedded_as_it_is(tmp_path):
    content = plan_of("two branches").survey.text.replace("\n", "\r\n").encode()
    path = tmp_path / "survey.toml"
    path.write_bytes(content)
    plan = work_out(load_job(path))
    assert plan.survey.sha256 == hashlib.sha256(content).hexdigest()
    assert files.attachments(plan)["survey.toml"] == content
    assert {name: number.text for name, number in plan.numbers.items()} == {
        name: number.text for name, number in plan_of("two branches").numbers.items()}


def one(text, plan):
    document = sheet(plan)
    part = Part("one", "One", "", (), (Paragraph(text), Table("t", ("a", "b"), (cells("x", text),), (1, 9))))
    return dataclasses.replace(document, parts=(part,))


def test_what_no_font_can_print_is_printed_by_its_number():
    printed = "".join(pages(to_pdf(one("Straße ж Ω ≤ 中文 🙂 end", plan_of("two branches")), {})))
    assert printed.count(squeezed("Straße ж Ω ≤ [U+4E2D][U+6587] [U+1F642] end")) == 2


def ink_in_the_right_margin(pdf):
    """Whether anything is printed within 13 mm of the right edge of the first page."""
    picture = pypdfium2.PdfDocument(pdf)[0].render(scale=1.0).to_pil().convert("L")
    width, height = picture.size
    return picture.crop((round(width * (210 - 13) / 210), 0, width, height)).getextrema()[0] < 128


def test_a_word_without_end_stays_on_the_page(monkeypatch):
    document = one("W" * 600, plan_of("two branches"))
    pdf = to_pdf(document, {})
    assert "W" * 600 in "".join(pages(pdf))
    assert not ink_in_the_right_margin(pdf)
    monkeypatch.setattr(renderer, "LONGEST_WORD", 1000)
    assert ink_in_the_right_margin(to_pdf(document, {}))


def test_without_typst_the_error_says_how_to_mend_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(StillboreError, match="typst is not installed.*pip install"):
        to_pdf(sheet(plan_of("two branches")), {})


def test_without_the_sans_face_the_embedded_ones_do(monkeypatch):
    found = importlib.util.find_spec
    monkeypatch.setattr(renderer.importlib.util, "find_spec",
                        lambda name: None if name == renderer.SANS_PACKAGE else found(name))
    pdf = files.sheet_pdf(plan_of("worst"))
    assert len(pages(pdf)) == 1
    fonts = {font.get_object()["/BaseFont"] for page in pypdf.PdfReader(io.BytesIO(pdf)).pages
             for font in page["/Resources"]["/Font"].values()}
    assert fonts and not any("Source" in font for font in fonts)


def test_the_sheet_is_set_in_the_sans_face():
    fonts = {font.get_object()["/BaseFont"] for page in
             pypdf.PdfReader(io.BytesIO(files.sheet_pdf(plan_of("two branches")))).pages
             for font in page["/Resources"]["/Font"].values()}
    assert any("SourceSansPro" in font for font in fonts)


def test_the_date_is_the_jobs():
    document = customer(plan_of("two branches"))
    assert isinstance(document, Document)
    start = plan_of("two branches").survey.value("window.start")
    created = pypdf.PdfReader(io.BytesIO(to_pdf(document, {}))).metadata.creation_date
    assert created.date() == start.date()
