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
from cases import CASES, HOSTILE, LONG, pages, plan_of, squeezed
from variants import PACKAGE, made

from stillbore.display import US
from stillbore.errors import StillboreError
from stillbore.job.files import load_job
from stillbore.plan import plan as work_out
from stillbore.plan.parts import DOES_NOT_APPLY
from stillbore.report import files
from stillbore.report import pdf as renderer
from stillbore.report.customer import customer
from stillbore.report.document import Document, Paragraph, Part, Table, cells
from stillbore.report.pack import pack
from stillbore.report.pdf import to_pdf
from stillbore.report.sheet import sheet

EVERY = pytest.mark.parametrize("case", CASES)


def sizes(pdf, page):
    """The sizes of every piece of text on a page of a PDF, in points."""
    found = []
    pypdf.PdfReader(io.BytesIO(pdf)).pages[page].extract_text(
        visitor_text=lambda text, cm, tm, font, size: found.append(abs(size * tm[3] * cm[3])) if text.strip() else None)
    return found


SECOND = ("two branches", "wall unknown", "long names", "bent", "twin", "cap and abandon",
          "renew towards the house", "inches")


@functools.cache
def second(case):
    """Plans whose second page differs: by example, by route, by system of units."""
    if case in ("bent", "twin"):
        return work_out(load_job(PACKAGE / "examples" / f"{case}.toml"))
    if case == "inches":
        return work_out(load_job(PACKAGE / "examples" / "service_us.toml", None,
                                 PACKAGE / "examples" / "rules_us.toml"), US)
    if case == "long names":
        return made(survey={"job.id": f'"{"J-" * 90}"', "job.asset": f'"{"S" * 400}"', "job.place": f'"{LONG}"'},
                    kit={"insert[1].id": f'"{"PE " * 40}"'})
    return plan_of(case) if case in CASES else made(survey={"job.route": f'"{case}"'})


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
def test_the_sheet_is_two_pages_and_the_customers_is_one(case):
    """Where the method does not apply nothing follows the cut, and the sheet is its first page."""
    plan = plan_of(case)
    wanted = 1 if plan.result == DOES_NOT_APPLY else 2
    assert wanted == 2 or case in ("two sides", "worst")
    assert len(pages(files.sheet_pdf(plan))) == wanted
    assert len(pages(files.customer_pdf(plan))) == 1
    beginnings = [index for index, text in enumerate(pages(pack_pdf(case))) if text.startswith("Jobsheet:")]
    assert len(beginnings) == wanted
    assert "Ifitgoeswrong" in pages(pack_pdf(case))[beginnings[0]]


@pytest.mark.parametrize("case", SECOND)
def test_every_second_page_is_one_page_and_leaves_the_first_as_it_is_alone(case):
    """What follows the cut may neither spill onto a third page nor take anything from the first."""
    document = sheet(second(case))
    alone = [to_pdf(dataclasses.replace(document, parts=(part,)), {}) for part in document.parts]
    assert [len(pages(pdf)) for pdf in alone] == [1, 1]
    both = to_pdf(document, {})
    assert len(pages(both)) == 2
    assert pages(both)[0].replace("page1of2", "") == pages(alone[0])[0].replace("page1of1", "")
    assert sizes(both, 0) == sizes(alone[0], 0)


@pytest.mark.parametrize("case", SECOND)
def test_the_sheet_is_black_and_white(case):
    """Every pixel of both pages has as much red as green and blue."""
    for page in pypdfium2.PdfDocument(files.sheet_pdf(second(case))):
        red, green, blue = page.render(scale=0.7).to_pil().convert("RGB").split()
        assert red.tobytes() == green.tobytes() == blue.tobytes()


@EVERY
def test_the_sheet_is_readable(case):
    """The smallest letter of each page, the footer's among them, at least 7 pt."""
    pdf = files.sheet_pdf(plan_of(case))
    for page in range(len(pages(pdf))):
        found = sizes(pdf, page)
        assert len(found) > 50
        assert min(found) >= 7.0 - 0.01


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
