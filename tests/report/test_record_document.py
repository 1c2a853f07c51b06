"""The record document: everything that the log says is said, exceptions first, and nothing is said that it does not.

What has to be in a record: handbook, trade.md 6.1 (fields), 2.1 (barriers), 8 (what software may not say).
"""

import dataclasses
import hashlib
import io
import json
import re
import types

import pypdf
import pypdfium2
import pytest
from cases import Page, pages, squeezed, strings
from record_jobs import HOSTILE, JOBS, check, job, practised

from stillbore.errors import StillboreError
from stillbore.plan.barriers import Element
from stillbore.record.events import Value
from stillbore.record.read import Broken
from stillbore.report import words
from stillbore.report.document import data, plain
from stillbore.report.record import record_document, record_html, record_pdf
from stillbore.report.record_files import LOG, MADE_BY, made_here
from stillbore.report.record_story import Story
from stillbore.report.record_words import banner, value_cell

EVERY = pytest.mark.parametrize("name", JOBS)


def document(name):
    return record_document(job(name).story, made_here())


def events(name):
    """The events of a log, read by nothing of ours."""
    found = [json.loads(line) for line in job(name).data.splitlines()]
    return [line["event"] for line in found if "event" in line]


def printed(name):
    return "".join(pages(job(name).pdf))


@EVERY
def test_the_page_parses_and_says_everything(name):
    page = Page(job(name).html)
    assert page.faults == []
    said = squeezed(page.text)
    made = document(name)
    keys = {made.key, made.language, made.date.isoformat(), *(part.key for part in made.parts)}
    keys |= {block.key for part in made.parts for block in part.blocks if hasattr(block, "svg")}
    missing = [text for text in strings(data(made)) if text not in keys and squeezed(plain(text)) not in said]
    assert missing == []


@EVERY
def test_nothing_is_run_and_nothing_is_fetched(name):
    page = Page(job(name).html)
    assert not {"script", "link", "iframe", "object", "embed", "img", "base", "form"} & {tag for tag, _ in page.tags}
    for tag, attributes in page.tags:
        for attribute, value in attributes.items():
            assert not attribute.startswith("on"), (tag, attribute)
            if attribute in ("src", "href", "xlink:href", "action", "data"):
                assert (value or "").startswith(("#", "data:image/png;base64,", "data:image/jpeg;base64,"))


@EVERY
def test_the_pdf_is_an_archive_with_the_log_and_every_file_in_it(name):
    reader = pypdf.PdfReader(io.BytesIO(job(name).pdf))
    metadata = reader.trailer["/Root"]["/Metadata"].get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in metadata and "<pdfaid:conformance>B</pdfaid:conformance>" in metadata
    embedded = {each: contents[0] for each, contents in reader.attachments.items()}
    assert embedded[LOG] == job(name).data
    wanted = set()
    for event in events(name):
        happening = event["happening"]
        wanted |= {file["sha256"] for file in happening.get("files", [])}
        wanted |= {happening["sha256"]} if event["kind"] == "kept" else set()
    others = [content for each, content in embedded.items() if each not in (LOG, MADE_BY)]
    assert {hashlib.sha256(content).hexdigest() for content in others} == wanted and len(others) == len(wanted)


@EVERY
def test_embedded_names_are_harmless_and_unlike(name):
    names = list(pypdf.PdfReader(io.BytesIO(job(name).pdf)).attachments)
    assert len({each.lower() for each in names}) == len(names) > 6
    assert all(re.fullmatch(r"[A-Za-z0-9_-][A-Za-z0-9._-]{0,150}", each) for each in names)


@EVERY
def test_the_same_log_gives_the_same_bytes(name):
    again = record_pdf(job(name).data, job(name).kept, check)
    assert again == job(name).pdf
    assert record_html(job(name).data, job(name).kept, check).decode() == job(name).html


def test_every_answer_that_counts_is_printed_with_its_verdict_and_who():
    text = squeezed(Page(job("whole").html).text)
    answered = [event for event in events("whole") if event["kind"] == "answered"]
    assert len(answered) > 100
    for event in answered:
        value = event["happening"]["value"]
        spread = f" +/- {value['uncertainty']}" if value["uncertainty"] else ""
        said = f"{value['number']}{spread} {value['unit']}".strip() if value["number"] else value["text"]
        assert squeezed(said) in text, event["happening"]


def test_every_hold_has_two_signatures_that_hold_and_its_freshness():
    [part] = [part for part in document("whole").parts if part.key == "holds"]
    text = json.dumps(data(part))
    for number in range(1, 19):
        assert f"Hold {number}: " in text
    signed = sum(event["kind"] == "signed" for event in events("whole"))
    [others] = [part for part in document("whole").parts if part.key == "steps"]
    assert text.count("signature holds") + 2 * json.dumps(data(others)).count("2 signatures hold") == signed > 36
    assert "SIGNATURE DOES NOT HOLD" not in text
    # E13 rests on the let-by watch, which counts for 300 s (rules.letby.fresh of the example rule set).
    assert "300 s" in text


def test_a_signature_that_does_not_hold_is_said():
    from stillbore.report.record_words import signature_words

    assert signature_words(check, "00" * 32, "11" * 32, "22" * 64).text == "SIGNATURE DOES NOT HOLD"
    assert signature_words(check, "zz", "zz", "zz").strong


def test_exceptions_stand_first_and_all_of_them():
    first, *others = document("eventful").parts
    assert [first.key, *(part.key for part in others)] == ["exceptions", "found", "holds", "steps", "timeline", "laid",
                                                          "evidence", "numbers", "keys"]
    text = json.dumps(data(first), ensure_ascii=False)
    for said in ("a car came through the barriers", "barriers stand again", "agreed by telephone", "P3",
                 "the saw for this wall is not on the van", "read the tape again", "no room for the tape",
                 "a dog at the gate", "NOT DONE AGAIN", "The end is open", "2030-05-14T08:50:00+00:00"):
        assert said in text, said
    [refused] = [event for event in events("eventful") if event["kind"] == "refused"]
    assert refused["happening"]["reasons"][0] in text


def test_what_was_entered_late_stands_with_both_times():
    [table] = [block for block in document("eventful").parts[0].blocks
               if getattr(block, "caption", "") == "Entered late, from paper"]
    late = [event for event in events("eventful") if event["paper_at"]]
    assert len(late) == 2
    assert [(row[0].text, row[1].text) for row in table.rows] == [(event["paper_at"], event["at"]) for event in late]


def test_a_value_says_how_it_is_known_with_what_and_how_well():
    value = Value("33.7", "", "mm", "", "C7", "measured")
    asked = job("whole").story.state.basis.asks["C8.diameter"]
    assert value_cell(value, asked).note == f"measured with C7; taken as +/- {asked.uncertainty}"
    assert value_cell(value).note == "measured with C7; uncertainty not said"
    assert value_cell(dataclasses.replace(value, uncertainty="0.1")).text == "33.7 +/- 0.1 mm"
    missing = value_cell(Value(how="not measured", reason="no echo"))
    assert (missing.text, missing.note, missing.strong) == ("NOT MEASURED", "no echo", True)


def test_a_way_out_behind_two_proved_parts_is_no_window():
    story, unended = Story.__new__(Story), {}
    ends = {"valve": ("main", "rig"), "stopper": ("rig", "leg"), "pipe at the cut": ("leg", "pit")}
    for valve, windows in (("proved", 0), ("open", 1)):
        states = {"valve": valve, "stopper": "proved", "pipe at the cut": "open"}
        elements = {name: Element(name, ends[name], state) for name, state in states.items()}
        story.state = types.SimpleNamespace(elements=elements)
        story._windows(unended, "E14", job("whole").story.began)
        assert len(unended) == windows


def test_counts_are_those_of_the_log():
    kinds = [event["kind"] for event in events("eventful")]
    tiles = {tile["label"]: tile["value"] for block in document("eventful").parts[0].blocks
             for tile in getattr(block, "tiles", ()) for tile in [vars(tile)]}
    assert tiles["Stops"] == str(kinds.count("stopped")) == "1"
    assert tiles["Refused"] == str(kinds.count("refused")) == "1"
    assert tiles["Overrides"] == str(kinds.count("overridden")) == "1"
    assert tiles["Corrections"] == str(kinds.count("corrected")) == "1"
    assert tiles["From paper"] == str(sum(bool(event["paper_at"]) for event in events("eventful"))) == "2"
    assert tiles["Not measured"] == "1" and tiles["New plans"] == "1"


def test_a_new_plan_says_what_changed():
    [part] = [part for part in document("eventful").parts if part.key == "found"]
    text = json.dumps(data(part))
    [replanned] = [event["happening"] for event in events("eventful") if event["kind"] == "replanned"]
    assert len(replanned["changes"]) > 20
    for change in replanned["changes"]:
        assert all(json.dumps(change[key])[1:-1] in text for key in ("name", "before", "after"))
    assert "wall thinner than recorded" in text and "survey (service.toml)" in text and "DIFFERENT" in text


def done_at(name, step):
    return [event["at"] for event in events(name) if event["kind"] == "done" and event["happening"]["step"] == step]


def test_one_barrier_windows_are_those_of_the_barrier_chart_with_their_lengths():
    """trade.md 2.1: with the drill off and the branch open, and from the cut until the gland is proved, the stopper
    holds alone. Times straight from the log."""
    windows = [(window.holder, window.opened_by, window.closed_by) for window in job("whole").story.windows]
    assert windows == [("stopper", "E10", "E10c"), ("stopper", "E14", "E18")]
    text = printed("whole")
    for opened, closed in (("E10", "E10c"), ("E14", "E18")):
        [first], [last] = done_at("whole", opened), done_at("whole", closed)
        seconds = (60 * int(last[14:16]) + int(last[17:19])) - (60 * int(first[14:16]) + int(first[17:19]))
        assert 0 < seconds < 120
        assert f"{first[11:19]}after{opened}{last[11:19]}after{closed}{seconds}s" in text


def test_a_window_in_which_the_log_ends_is_not_closed():
    last = job("half").story.windows[-1]
    assert (last.opened_by, last.closed_by, last.length) == ("E14", "", None)
    assert "NOTCLOSED" in printed("half") and "Thelogendsinsideaone-barrierwindow" in printed("half")
    assert "Thelogendsinside" not in printed("whole")


def test_the_step_line_stands_where_the_counts_are():
    """Measured in the finished drawing: after every step that was done, the line is at the height of its count."""
    story = job("whole").story
    [figure] = [block for part in document("whole").parts for block in part.blocks
                if getattr(block, "key", "") == "timeline"]
    points = [tuple(map(float, point.split())) for point in
              re.findall(r"[ML]([\d.]+ [\d.]+)", re.search(r'd="([^"]+)"[^>]*data-name="barriers"', figure.svg)[1])]
    heights = {text: float(y) - 1.0 for y, text in re.findall(r'y="([\d.]+)">(0|1|2|pipe wall)</text>', figure.svg)}
    assert len(heights) == 4 and heights["0"] > heights["1"] > heights["2"] > heights["pipe wall"]
    first, last = (story.lines[end].event.at for end in (0, -1))

    def seconds(at):
        return 3600 * int(at[11:13]) + 60 * int(at[14:16]) + float(at[17:19])

    checked = 0
    for go in story.goes:
        share = (seconds(go.event.at) + 0.3 - seconds(first)) / (seconds(last) - seconds(first))
        x = points[0][0] + share * (points[-1][0] - points[0][0])
        before = [point for point in points if point[0] <= x]
        wanted = heights["pipe wall" if go.completion.barriers == -1 else str(min(go.completion.barriers, 2))]
        assert before[-1][1] == pytest.approx(wanted, abs=0.05), (go.step.id, x)
        checked += 1
    assert checked > 70


def test_large_words_stand_on_every_page_of_what_was_no_job(monkeypatch):
    record = practised(monkeypatch)
    texts = pages(record.pdf)
    assert len(texts) > 5 and all("REPLAYEDFROMAFILE" in text and "TRAINING:NOWORKWASDONE" in text for text in texts)
    parts = re.findall(r"<section class=\"part\".*?</h1>", record.html, re.DOTALL)
    assert len(parts) == 9 and all("REPLAYED FROM A FILE" in part for part in parts)
    sizes = []
    pypdf.PdfReader(io.BytesIO(record.pdf)).pages[3].extract_text(
        visitor_text=lambda text, cm, tm, font, size: sizes.append(size * tm[3]) if "REPLAYED" in text else None)
    assert max(map(abs, sizes)) > 12.0
    assert banner(False, False) == "" and "REPLAYED" not in printed("whole") and "TRAINING" not in printed("whole")


FORBIDDEN = ("safe", "ok to cut", "gas free", "gas-free", "proceed", "approved", "permission", "good to go")


@EVERY
def test_it_never_says_what_no_software_may_say(name):
    """trade.md 8: not "safe", "OK to cut", "gas free", "proceed", "approved". What the order of work says to people is
    the operator's word, and left out here ("approved lubricant")."""
    operator = job(name).story.plan.files.procedure.text.lower()
    texts = [text for text in map(str.lower, strings(data(document(name)))) if text not in operator]
    assert len(texts) > 300
    assert [text for text in texts for word in FORBIDDEN if re.search(rf"\b{word}\b", text)] == []


@EVERY
def test_the_cautions_and_what_a_seal_means_are_printed(name):
    text = printed(name)
    for caution in words.cautions(job(name).story.plan):
        assert squeezed(caution) in text
    assert "UNCHANGED" in text and squeezed("It does not show that what it says is TRUE.") in text
    last = json.loads([line for line in job(name).data.splitlines() if line.startswith(b'{"event"')][-1])["hash"]
    assert last in text
    assert all(last[:12] in page for page in pages(job(name).pdf))


@EVERY
def test_nothing_is_told_by_colour(name):
    for part in document(name).parts:
        for block in part.blocks:
            if hasattr(block, "svg"):
                colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', block.svg))
                assert colours <= {"#000", "#fff", "none"}, (block.key, colours)


@EVERY
def test_nothing_is_printed_beyond_the_margin(name):
    pdf = pypdfium2.PdfDocument(job(name).pdf)
    for number in range(len(pdf)):
        picture = pdf[number].render(scale=1.0).to_pil().convert("L")
        width, height = picture.size
        edge = picture.crop((round(width * 197.5 / 210), 0, width, height)).getextrema()[0]
        assert edge > 128, f"page {number + 1}"
    pdf.close()


def test_hostile_words_are_shown_and_not_obeyed():
    html = job("hostile").html
    assert "<script" not in html and plain(HOSTILE) in Page(html).text and "\u202e" not in html
    assert squeezed(plain(HOSTILE)) in printed("hostile")


def test_what_is_missing_says_so():
    text = printed("short")
    for said in ("The job has not been ended", "Nothing was measured before backfill", "No gauge log was kept",
                 "No photo was kept", "No reading of the district", "No gas monitor is noted", "No evidence was kept",
                 "There was no one-barrier window", "NOT ANSWERED"):
        assert squeezed(said) in text, said
    assert text.count(squeezed("was not signed in this log")) == 18


def test_pictures_that_cannot_be_shown_are_listed_and_embedded():
    [part] = [part for part in document("half").parts if part.key == "evidence"]
    shown = sum(block.svg.count("<image ") for block in part.blocks if hasattr(block, "svg"))
    assert shown == 2
    [left] = [block for block in part.blocks if getattr(block, "title", "") ==
              "Photos that are embedded and not shown here"]
    assert all(any(name in line for line in left.lines) for name in ("bomb.png", "torn.png", "words.jpg"))
    assert any("cannot be drawn" in getattr(block, "title", "") for block in part.blocks)


def test_as_laid_shows_every_tie_with_its_words():
    [figure] = [block for part in document("whole").parts for block in part.blocks
                if getattr(block, "key", "") == "as-laid"]
    answers = {event["happening"]["ask"]: event["happening"]["value"] for event in events("whole")
               if event["kind"] == "answered" and event["happening"]["step"] == "I1"}
    assert len([name for name in answers if re.fullmatch(r"tie_\d", name)]) == 3
    for number in "123":
        value = answers[f"tie_{number}"]
        assert f">{value['number']} {value['unit']}<" in figure.svg
        first = answers[f"tie_{number}_to"]["text"].split()[0]
        assert f"{number}. {first}" in figure.svg
    assert "not to scale" in figure.svg


def test_a_file_that_is_missing_or_changed_makes_no_document():
    record = job("half")
    for files in ({}, {sha256: content + b" " for sha256, content in record.files.items()}):
        def kept(sha256, files=files):
            if sha256 not in files:
                raise StillboreError("It is not at hand.", "Ask.")
            return files[sha256]

        with pytest.raises(StillboreError):
            record_pdf(record.data, kept, check)


def test_a_log_that_does_not_hold_makes_no_document():
    record = job("short")
    with pytest.raises(Broken):
        record_html(record.data.replace(b"rain", b"snow"), record.kept, check)
