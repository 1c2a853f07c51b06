"""A reading that is typed: only what it changes is put anew on the page; whatever goes wrong, the page comes whole."""

import pytest
from crew_pages import JOB
from playwright.sync_api import expect
from test_browser import TABLET, Crew

TAKE = "Take the reading now"


@pytest.fixture
def hands(tmp_path, running, halfway, browser):
    crew = halfway(tmp_path, "gauge", "D6")
    crew.host.store.close()
    found = Crew(browser.new_page(viewport=TABLET), running(tmp_path, crew.host.at))
    found.at("P2", "step", "D6", "ask.hold")
    yield found
    assert found.faults == []


def readings(hands):
    return [text.split(",")[1] for text in hands.page.locator("#gauge-last li").all_inner_texts()]


def test_only_what_a_reading_changes_is_put_anew(hands):
    page, address = hands.page, hands.page.url
    page.evaluate("document.getElementById('main').dataset.stays = 'yes'")
    for number, shown in enumerate(("99.8", "99.7", "99.6")):
        page.get_by_label("Gauge reads").fill(shown)
        page.get_by_role("button", name=TAKE).focus()
        place = page.evaluate("scrollY")
        hands.take()
        assert readings(hands) == ["99.8", "99.7", "99.6"][:number + 1]
        assert page.get_by_label("Gauge reads").input_value() == ""
        assert page.evaluate("document.activeElement.value") == "reading"  # the key stays under the finger
        assert page.evaluate("scrollY") == place
    expect(page.get_by_role("button", name="Keep this log as the answer")).to_be_visible()
    expect(page.locator("#main[data-stays]")).to_have_count(1)
    assert page.url == address
    page.reload()
    assert readings(hands) == ["99.8", "99.7", "99.6"]


def test_a_refused_reading_brings_the_page_with_its_reasons(hands):
    hands.page.get_by_label("Gauge reads").fill("99.8")
    hands.take()
    hands.page.get_by_label("Gauge reads").fill("much")
    hands.send(TAKE)
    assert any("'much' is no reading" in each for each in hands.refused)
    assert readings(hands) == ["99.8"]


def test_a_key_that_bounces_takes_one_reading(hands):
    hands.page.get_by_label("Gauge reads").fill("99.8")
    hands.page.get_by_role("button", name=TAKE).evaluate("key => { key.click(); key.click(); }")
    expect(hands.page.locator("#gauge-last li")).to_have_count(1)
    hands.page.reload()
    assert readings(hands) == ["99.8"]


def test_where_parts_are_not_to_be_had_the_page_comes_whole(hands):
    asked = []

    def no_parts(route):
        asked.append(route.request.post_data)
        return route.abort() if "parts=yes" in route.request.post_data else route.continue_()

    hands.page.route("**/gauge", no_parts)
    hands.page.get_by_label("Gauge reads").fill("99.8")
    hands.page.get_by_role("button", name=TAKE).click()
    expect(hands.page.locator("#gauge-last li")).to_have_count(1)
    assert len(asked) == 2 and "parts" not in asked[1]


def test_the_parts_come_alone_and_say_what_the_page_says(tmp_path, halfway):
    crew = halfway(tmp_path, "gauge", "D6")
    place = f"/en/jobs/{JOB}/run/P2/step/D6/ask.hold"
    parts = crew.pages.post(f"{place}/gauge", {"act": "reading", "pressure": "99.8", "parts": "yes"}).text
    page = crew.pages.get(place).text
    assert "<main" not in parts and "<form" not in parts
    for name in ("gauge-so-far", "gauge-last"):
        begin = parts.index(f'<div id="{name}"')
        part = parts[begin:parts.index("\n\n" if "\n\n" in parts[begin:] else "</div>", begin)].strip()
        assert part and part in page
