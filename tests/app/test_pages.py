"""Every page: escaped, bounded, without inline script or style, in every language of the catalogue; and the planner's
forms say what the loader says."""

import re
import tomllib
from collections import Counter
from importlib.resources import files

import pytest
from client import EXAMPLES, Pages, words_of
from crew_pages import JOB

from stillbore.app.page import LARGEST_FORM
from stillbore.app.wording import wordings
from stillbore.errors import InputFaults
from stillbore.job.files import job_of_texts
from stillbore.job.procedure import CARDS
from stillbore.job.survey import SURVEY

RUN = f"jobs/{JOB}/run/P2"
PLACES = ("", "new", "keys", f"jobs/{JOB}", f"jobs/{JOB}/plan", f"jobs/{JOB}/plan?only=sheet", f"jobs/{JOB}/record",
          f"jobs/{JOB}/record/check", f"jobs/{JOB}/run", RUN, f"{RUN}/steps", f"{RUN}/stop", f"{RUN}/more",
          f"{RUN}/locate", f"{RUN}/locate?shut=stopper+valve",
          *(f"{RUN}/more/{what}" for what in ("district", "present", "enrol", "monitor", "note", "resume", "replan",
                                              "override", "clock", "abort", "finish", "seal")),
          *(f"jobs/{JOB}/survey/{section.key}" for section in SURVEY.sections),
          *(f"jobs/{JOB}/files/{kind}" for kind in ("survey", "kit", "rules", "procedure")),
          *(f"{RUN}/step/{item}" for item in ("B1/keep.photo", "B6/ask.pressure", "B6/ask.regulator", "B6/sign",
                                              "B6/done", "D6/ask.hold", "E2/ask.rise", "E8/ask.watch", "E14/ask.cut",
                                              "B8/ask.how", "F5/ask.product", "E5/ask.pieces")))
HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)>\u202e{{ 7*7 }}'


@pytest.mark.parametrize("language", list(wordings()))
def test_no_page_has_a_script_or_a_style_of_its_own_and_every_name_is_there_once(tmp_path, halfway, language):
    crew = halfway(tmp_path, "sign", "D9")
    for place in PLACES:
        page = crew.pages.get(f"/{language}/{place}")
        assert page.status_code == 200, (place, page.text[:300])
        text = page.text
        assert f'<html lang="{language}">' in text
        assert not re.search(r"\sstyle=|<style|\son[a-z]+=|javascript:", re.sub(r">[^<]*<", "><", text)), place
        assert all(" src=" in tag for tag in re.findall(r"<script[^>]*>", text)), place
        twice = [name for name, count in Counter(re.findall(r'\sid="([^"]*)"', text)).items() if count > 1]
        assert not twice, (place, twice)
        for label in re.findall(r'<label[^>]* for="([^"]*)"', text):
            assert f'id="{label}"' in text, (place, label)


def test_every_language_has_every_text_with_the_same_gaps_and_no_text_is_unused():
    found = wordings()
    assert len(found) > 1
    first, *others = found.values()
    gaps = {key: set(re.findall(r"{(\w+)}", text)) for key, text in first.texts.items()}
    for other in others:
        assert {key: set(re.findall(r"{(\w+)}", text)) for key, text in other.texts.items()} == gaps
        assert sum(other.texts[key] != first.texts[key] for key in gaps) > 0.9 * len(gaps)
    source = "".join(file.read_text(encoding="utf-8") for folder in ("stillbore.app.pages", "stillbore.app")
                     for file in files(folder).iterdir() if file.name.endswith((".html", ".py")))
    # A key that is put together, as "more." + what, is used by its beginning.
    begun = tuple(re.findall(r't\("([a-z_.]+[._])" \+', source)) + ("locate.past_", "locate.move_", "locate.")
    unused = [key for key in gaps if f'"{key}"' not in source and not key.startswith(begun)]
    assert not unused, unused


def test_every_language_has_a_word_for_all_that_the_survey_asks_for_its_choices_the_roles_and_the_cards():
    """Choices that are numbers or grades of a standard say the same in every language."""
    wanted = {*CARDS, *(section.about for section in SURVEY.sections)}
    for section in SURVEY.sections:
        for each in section.fields:
            wanted |= {each.about, *each.choices}
    wanted = {text for text in wanted if not re.search(r"^[\d /]+$|schedule", text)}
    assert len(wanted) > 100
    for name, other in wordings().items():
        if name != "en":
            assert wanted - other.terms.keys() == set(), name
            assert other.terms.keys() - wanted == set(), name  # none stands there in vain
            assert other.term("Bolt the saddle on") == "Bolt the saddle on"


def test_a_page_in_the_second_language_has_its_words(tmp_path, halfway):
    crew = halfway(tmp_path, "sign", "D9")
    page = words_of(crew.pages.get(f"/de/jobs/{JOB}/survey/pipe"))
    assert "Wanddicke mit Ultraschall" in page and "Gusseisen" in page and "wall thickness" not in page
    assert "Gerät setzen" in words_of(crew.pages.get(f"/de/{RUN}")) and "zweite Fachkraft" in words_of(
        crew.pages.get(f"/de/jobs/{JOB}/run"))


def test_what_is_hostile_is_shown_as_it_is_and_does_nothing(tmp_path, halfway):
    crew = halfway(tmp_path, "sign", "D9")
    crew.send("P2", "more", "note", text=HOSTILE)
    crew.send("P2", "more", "abort", reason=HOSTILE, held="yes")
    crew.send("P2", "step", "D9", "ask.go", value=HOSTILE)
    asked = [crew.pages.get(f"/en/{place}").text for place in ("", f"jobs/{JOB}/record", RUN, f"{RUN}/step/D9/ask.go")]
    asked += [crew.last.text, crew.pages.post("/en/new", {"number": HOSTILE}).text,
              crew.pages.post("/en/keys", {"person": HOSTILE, "words": "abcdefgh", "again": "abcdefgh"}).text]
    for text in asked:
        assert "<script>alert" not in text and "<img src=x" not in text and "\u202e" not in text
    assert any("&lt;script&gt;" in text for text in asked) and any("{{ 7*7 }}" in text for text in asked)


def test_a_hostile_survey_stays_text_on_every_page_that_shows_it(tmp_path):
    pages = Pages(tmp_path)
    survey = (EXAMPLES / "service.toml").read_text().replace("4 Specimen Row, Exampleton", "<b onclick=x>'\\\"")
    pages.post("/en/new", {"number": JOB}, files={"file": ("s.toml", survey.encode())})
    for place in ("survey/job", "files/survey", "plan", ""):
        text = pages.get(f"/en/jobs/{JOB}/{place}".rstrip("/")).text
        assert "<b onclick" not in text, place
    assert "&lt;b onclick=x&gt;" in pages.get(f"/en/jobs/{JOB}/plan").text


def test_what_is_too_large_is_refused_before_it_is_read_to_its_end(tmp_path):
    pages = Pages(tmp_path)
    sent = pages.post("/en/new", {"number": "x" * (LARGEST_FORM + 10)})
    assert sent.status_code == 413 and "larger than" in words_of(sent)

    def drip():
        for _ in range(LARGEST_FORM // 1_000_000 + 2):
            yield b"x" * 1_000_000

    sent = pages.client.post("/en/new", content=drip(), headers={"content-type": "application/x-www-form-urlencoded"})
    assert sent.status_code in (400, 413)
    assert pages.get("/en/").status_code == 200 and pages.host.documents.shelves() == []


def test_what_is_not_there_is_not_there(tmp_path, halfway):
    crew = halfway(tmp_path, "sign", "D9")
    for place in ("/xx/", "/en/jobs/none", "/en/jobs/~zz", f"/en/jobs/{JOB}/run/P9", f"/en/jobs/{JOB}/survey/none",
                  f"/en/jobs/{JOB}/files/none", f"/en/{RUN}/step/Z9/done", f"/en/{RUN}/step/B6/ask.none",
                  f"/en/{RUN}/more/none", f"/en/{RUN}/step/B6/ask.pressure/gauge", "/static/none.css",
                  "/static/..%2fhost.py", "/en/jobs/none/record", "/en/jobs/none/run"):
        page = crew.pages.post(place) if place.endswith("gauge") else crew.pages.get(place)
        assert page.status_code in (404, 422), place
        assert "Traceback" not in page.text


def test_a_new_job_says_what_the_loader_says_card_by_card_until_it_is_whole(tmp_path):
    pages = Pages(tmp_path)
    assert "is no number for a job" in words_of(pages.post("/en/new", {"number": "a/b"}))
    pages.post("/en/new", {"number": "J-7"})
    with pytest.raises(InputFaults) as error:
        job_of_texts({"survey": pages.host.documents.read("J-7", "survey.toml")})
    card = words_of(pages.get("/en/jobs/J-7/survey/pipe"))
    of_pipe = [fault for fault in error.value.faults if fault.place.endswith("pipe")]
    assert of_pipe and all(fault.what in card for fault in of_pipe)
    sent = {"0.material": "steel", "0.outside_diameter": "33.6; 33.7", "0.outside_diameter.unit": "mm",
            "0.outside_diameter.uncertainty": "0.1", "0.wall.unknown": "yes", "0.deepest_pit": "0,1",
            "0.deepest_pit.unit": "mm", "0.identity_proofs": "tone\nburner", "0.how": "measured", "0.by": "P2",
            "0.when": "2030-05-14T08:50:00+00:00", "act": "save"}
    card = words_of(pages.post("/en/jobs/J-7/survey/pipe", sent))
    assert "'0,1 mm' has a comma in the number. Write a decimal point: 33.6, not 33,6." in card
    text = pages.host.documents.read("J-7", "survey.toml")
    assert 'outside_diameter = { uncertainty = "0.1 mm", readings = ["33.6 mm", "33.7 mm"]' in text or \
        'readings = ["33.6 mm", "33.7 mm"], uncertainty = "0.1 mm"' in text
    assert 'wall = "unknown"' in text and "when = 2030-05-14T08:50:00+00:00" in text
    again = pages.get("/en/jobs/J-7/survey/pipe").text
    assert 'value="33.6; 33.7"' in again and "Written down." not in words_of(pages.get("/en/jobs/J-7/survey/pipe"))


def test_the_example_saved_card_by_card_is_still_the_same_survey(tmp_path):
    """What a form shows and what it sends back is one and the same, for every field of every card."""
    pages = Pages(tmp_path)
    pages.post("/en/new", {"number": JOB, "start": "example"})
    before = tomllib.loads(pages.host.documents.read(JOB, "survey.toml"))
    for section in SURVEY.sections:
        page = pages.get(f"/en/jobs/{JOB}/survey/{section.key}")
        pages.post(f"/en/jobs/{JOB}/survey/{section.key}", _as_sent(page.text) | {"act": "save"})
    after = tomllib.loads(pages.host.documents.read(JOB, "survey.toml"))
    assert after == before


def _as_sent(text):
    """What a browser would send of a form as it stands."""
    from html import unescape

    form = text[text.index('id="card"'):text.index("</form>")]
    sent = {}
    for tag in re.findall(r"<input[^>]*>", form):
        found = {name: unescape(value) for name, value in re.findall(r'([a-z]+)="([^"]*)"', tag)}
        if found.get("type") in ("radio", "checkbox") and " checked" not in tag:
            continue
        sent[found["name"]] = found.get("value", "")
    for name, inside in re.findall(r'<select[^>]* name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r"<option selected>([^<]*)", inside) or re.search(r"<option[^>]*>([^<]*)", inside)
        sent[name] = unescape(chosen[1])
    for name, inside in re.findall(r'<textarea[^>]* name="([^"]*)"[^>]*>(.*?)</textarea>', form, re.DOTALL):
        sent[name] = unescape(inside)
    return sent


def test_rows_are_added_and_taken_out(tmp_path):
    pages = Pages(tmp_path)
    pages.post("/en/new", {"number": JOB, "start": "example"})
    sent = _as_sent(pages.get(f"/en/jobs/{JOB}/survey/person").text)
    assert "person 3" in words_of(pages.post(f"/en/jobs/{JOB}/survey/person", sent | {"act": "add"}))
    sent = _as_sent(pages.get(f"/en/jobs/{JOB}/survey/person").text)
    pages.post(f"/en/jobs/{JOB}/survey/person", sent | {"act": "remove:0"})
    text = pages.host.documents.read(JOB, "survey.toml")
    assert 'id = "P1"' not in text and 'id = "P2"' in text


def test_the_fact_that_matters_most_stands_first_and_what_is_unknown_before_all(tmp_path):
    pages = Pages(tmp_path)
    pages.post("/en/new", {"number": JOB, "start": "example"})
    pages.post(f"/en/jobs/{JOB}/survey/pipe", _as_sent(pages.get(f"/en/jobs/{JOB}/survey/pipe").text)
               | {"0.deepest_pit.unknown": "yes", "0.deepest_pit": "", "act": "save"})
    page = words_of(pages.get(f"/en/jobs/{JOB}/plan"))
    assert page.index("What matters most: pipe.deepest_pit unknown") < page.index("pipe.wall")


def test_a_log_that_is_brought_in_is_checked_line_by_line(tmp_path, halfway):
    crew = halfway(tmp_path / "one", "record", "A3")
    data = crew.pages.post(f"/en/jobs/{JOB}/record/hand-over").content
    (tmp_path / "two").mkdir()
    other = Pages(tmp_path / "two")
    said = words_of(other.post("/en/take", files={"file": ("record.jsonl", data + b'{"x": 1}\n')}))
    assert f"{len(data.splitlines())} events new" in said and "1 not taken" in said
    assert "0 events new" in words_of(other.post("/en/take", files={"file": ("record.jsonl", data)}))
