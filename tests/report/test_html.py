"""The HTML page: it parses, fetches nothing, runs nothing, and says all that the document says."""

import re
from importlib.resources import files

import pytest
from cases import CASES, HOSTILE, Page, plan_of, squeezed, strings

from stillbore.report.customer import customer
from stillbore.report.document import data, plain
from stillbore.report.html import to_html
from stillbore.report.pack import pack
from stillbore.report.sheet import sheet

EVERY = pytest.mark.parametrize("case", CASES)
LEAST_CONTRAST = 7.0


@EVERY
@pytest.mark.parametrize("make", [pack, sheet, customer])
def test_the_page_parses_and_says_everything(case, make):
    document = make(plan_of(case))
    page = Page(to_html(document))
    assert page.faults == []
    said = squeezed(page.text)
    left_out = {document.key, document.language, document.date.isoformat(), *(part.key for part in document.parts)}
    figures = [block for part in document.parts for block in part.blocks if hasattr(block, "svg")]
    left_out |= {figure.key for figure in figures}
    missing = [text for text in strings(data(document)) if text not in left_out and squeezed(plain(text)) not in said]
    assert missing == []


def test_the_parser_finds_what_is_not_closed():
    assert Page("<p><b>one</p>").faults
    assert Page("<p>one").faults


@EVERY
def test_nothing_is_run_and_nothing_is_fetched(case):
    html = to_html(pack(plan_of(case)))
    page = Page(html)
    assert page.tags and not {"script", "link", "iframe", "object", "embed", "img", "base", "form"} & {
        tag for tag, _ in page.tags}
    for tag, attributes in page.tags:
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            if name in ("src", "href", "xlink:href", "action", "data"):
                assert (value or "").startswith("#"), (tag, name, value)
    style = "".join(re.findall(r"<style>(.*?)</style>", html, re.DOTALL))
    assert style and "url(" not in style and "@import" not in style and "<" not in style


def test_hostile_text_is_shown_and_not_obeyed():
    plan = plan_of("hostile")
    assert plan.survey.value("job.place") == HOSTILE
    html = to_html(pack(plan))
    assert "<script" not in html and "&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;q&quot;" in html
    assert HOSTILE in Page(html).text


def test_a_statement_cannot_leave_the_style_sheet():
    from stillbore.report.html import _css_string

    escaped = _css_string('</style><script>"; } body { display: none')
    assert not set(escaped) & set('<>"{};:/')
    assert _css_string("a, b") == "a\\00002c  b"  # the space after an escape belongs to it


@EVERY
def test_headings_captions_language_and_ids(case):
    page = Page(to_html(pack(plan_of(case))))
    assert ("html", {"lang": "en"}) in page.tags
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in zip(levels, levels[1:], strict=False))
    names = [tag for tag, _ in page.tags]
    assert names.count("table") == names.count("caption") > 10
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    targets = [attributes["href"][1:] for tag, attributes in page.tags if tag == "a"]
    assert targets and set(targets) <= set(ids)


def luminance(colour):
    digits = "".join(digit * 2 for digit in colour) if len(colour) == 3 else colour
    parts = [int(digits[at:at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_every_colour_stands_out_from_white():
    style = files("stillbore.report").joinpath("page.css").read_text(encoding="utf-8")
    colours = set(re.findall(r"(?<!background: )#([0-9a-f]{6}|[0-9a-f]{3})\b", style))
    assert "000" in colours
    assert not re.search(r"rgba?\(|hsl|opacity|(?:color|background):\s*(?!#|inherit)[a-z]", style)
    assert all(1.05 / (luminance(colour) + 0.05) >= LEAST_CONTRAST for colour in colours - {"fff"})


def test_the_travel_strip_keeps_its_true_size_in_the_page():
    html = to_html(pack(plan_of("two branches")))
    assert re.search(r'<figure class="true">.*?<svg [^>]*\bwidth="[\d.]+mm"', html, re.DOTALL)
    assert "style=" not in html  # a page that forbids style attributes may hold it
    style = files("stillbore.report").joinpath("page.css").read_text(encoding="utf-8")
    assert "figure.true svg { max-width: none; }" in style


def test_the_same_plan_gives_the_same_page():
    plan = plan_of("wall unknown")
    assert to_html(pack(plan)) == to_html(pack(plan))
