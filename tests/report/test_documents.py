"""What the documents say, whatever they are turned into."""

import dataclasses
import re

import pytest
from cases import CASES, DOES_NOT_APPLY, plan_of, squeezed, strings

from stillbore.derive import Fact
from stillbore.plan.parts import LEVELS
from stillbore.report import document as model
from stillbore.report.customer import customer
from stillbore.report.pack import pack
from stillbore.report.sheet import sheet
from stillbore.sources import SOURCES
from stillbore.units import show

EVERY = pytest.mark.parametrize("case", CASES)
QUANTITY = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?)(?= (?:mm|mbar|bar|s|min|h|N|m|m3|m3/h|l|l/h|ml|g|K|turns|A|V|%)\b)")
NEVER = (r"\bsafe to\b", r"\bOK to cut\b", r"\bgas[- ]free\b", r"\bapproved by\b", r"\bproceed\b",
         r"\bsafe\b(?! place)")


def part(document, key):
    return next(part for part in document.parts if part.key == key)


def texts(value):
    return strings(model.data(value))


def tables(blocks):
    for block in blocks:
        if isinstance(block, model.Table):
            yield block
        elif isinstance(block, model.Columns):
            yield from tables((*block.left, *block.right))


def files(plan):
    return (plan.survey, plan.kit, plan.rules, plan.files.procedure)


def known_figures(plan):
    """Every figure that the plan or its files show."""
    said = [number.text for number in plan.numbers.values()]
    said += [show(end, number.node.unit, number.shown) for number in plan.numbers.values()
             for end in (number.node.low, number.node.high) if end is not None]
    for section in plan.sections:
        said += [text for check in section.checks for text in (check.text, check.margin)]
        said += [text for finding in section.findings for text in (finding.what, finding.do)]
        said += [cell for grid in section.grids for row in (grid.columns, *grid.rows) for cell in (grid.title, *row)]
    said += [fact.text for file in files(plan) for rows in file.sections.values() for row in rows
             for fact in row.facts.values()]
    said += [number.title for number in plan.numbers.values()]
    said += [str(value) for file in files(plan) for rows in file.sections.values() for row in rows
             for value in row.values.values()]
    if plan.renewal is not None:  # the whole length of each new pipe, main to meter, is a node without a name
        said += [plan.display.span(each.length, "m") for each in plan.renewal.candidates]
    return {figure for text in said for figure in re.findall(r"-?\d+(?:\.\d+)?", text)}


def invented_figures(document, plan):
    """Figures with a unit that the document prints, and that neither the plan nor its files show."""
    known = known_figures(plan)
    return [figure for text in texts(document) for figure in QUANTITY.findall(text) if figure not in known]


@EVERY
def test_every_number_of_the_plan_is_printed_as_it_is(case):
    plan = plan_of(case)
    printed = {row[0].note: row[1].text for table in tables(part(pack(plan), "numbers").blocks)
               if table.caption == "Numbers" for row in table.rows}
    assert printed == {name: number.text for name, number in plan.numbers.items()}


@EVERY
def test_no_figure_is_invented(case):
    plan = plan_of(case)
    document = pack(plan)
    # The drawings round to what can be drawn, and are measured back by their own tests; the provenance shows facts.
    told = dataclasses.replace(document, parts=tuple(part for part in document.parts
                                                     if part.key not in ("provenance", "drawings")))
    assert len([text for text in texts(told) if QUANTITY.search(text)]) > 20
    assert invented_figures(told, plan) == []


def test_an_invented_figure_is_found():
    plan = plan_of("two branches")
    document = sheet(plan)
    only = document.parts[0]
    wrong = dataclasses.replace(document, parts=(dataclasses.replace(only, blocks=(
        *only.blocks, model.Paragraph("Drill to 98.76 mm."))),))
    assert invented_figures(document, plan) == []
    assert invented_figures(wrong, plan) == ["98.76"]


@EVERY
def test_findings_stand_worst_first_with_what_to_do(case):
    plan = plan_of(case)
    found = [(table.caption.partition(":")[0].lower(), row[0].text, row[1].text, row[2].text)
             for table in tables(part(pack(plan), "answer").blocks) for row in table.rows]
    wanted = [(level, finding.what, finding.do, ", ".join(map(str, finding.holds))) for level in LEVELS
              for finding in plan.findings if finding.level == level]
    assert found == wanted


@EVERY
def test_cautions_stand_in_full_on_the_first_page_and_in_short_on_the_sheet(case):
    plan = plan_of(case)
    document = pack(plan)
    always = next(block for block in document.parts[0].blocks
                  if isinstance(block, model.Callout) and block.kind == model.CAUTION)
    assert [line.partition(".")[0] for line in always.lines[:-1]] == [str(count) for count in range(1, 11)]
    limit = plan.rules.fact("pressure.maximum_operating_pressure").text
    rules = plan.rules.row("rules")
    edition = f"edition {rules.text('edition')}, {rules['date']}"
    for text in (" ".join(always.lines), " ".join(texts(part(document, "sheet")))):
        assert limit in text and edition in text and rules.text("name") in text


@EVERY
def test_words_that_only_a_person_may_say_are_never_printed(case):
    plan = plan_of(case)
    for document in (pack(plan), sheet(plan), customer(plan)):
        everything = " ".join(texts(document))
        assert [word for word in NEVER if re.search(word, everything, re.IGNORECASE)] == []


@EVERY
def test_every_step_stands_with_its_hold_numbers_and_barriers(case):
    plan = plan_of(case)
    steps = [step for block in part(pack(plan), "steps").blocks if isinstance(block, model.Steps)
             for step in block.steps]
    assert [step.id for step in steps] == [step.row.text("id") for step in plan.steps]
    for shown, step in zip(steps, plan.steps, strict=True):
        assert shown.hold == (f"Hold {step.hold}" if step.hold else "")
        assert shown.numbers == tuple((number.title, number.text) for number in step.numbers)
        assert all(name in shown.way for name in step.way)
        assert str(step.barriers) in shown.barriers or step.barriers <= 0


@EVERY
def test_every_source_key_in_the_document_is_spelled_out(case):
    document = pack(plan_of(case))
    spelled = next(table for table in tables(part(document, "provenance").blocks) if table.columns[0] == "key")
    given = {row[0].text: row[1].text for row in spelled.rows}
    keys = re.compile("|".join(sorted(map(re.escape, SOURCES), key=len, reverse=True)))
    used = {key for text in texts(part(document, "numbers")) for key in keys.findall(text)}
    assert used and used <= set(given)
    assert all(given[key] == SOURCES[key] for key in given)


@EVERY
def test_files_facts_and_plan_can_be_followed_back(case):
    plan = plan_of(case)
    text = texts(part(pack(plan), "provenance"))
    for file in files(plan):
        assert file.name in text and file.sha256 in text
    assert plan.version in text
    facts = [fact for rows in plan.survey.sections.values() for row in rows for fact in row.facts.values()]
    assert len(facts) > 20
    for fact in facts:
        assert isinstance(fact, Fact)
        assert any(fact.origin in line for line in text)
        known = ", ".join(filter(None, (fact.how, fact.by, fact.when, fact.instrument)))
        assert any(line.startswith(known) for line in text), known


@EVERY
def test_every_document_says_who_stands_behind_the_figures(case):
    plan = plan_of(case)
    for document in (pack(plan), sheet(plan), customer(plan)):
        assert document.statement.startswith(str(plan.kit.value("kit.name"))[:80])
    whole = texts(part(pack(plan), "provenance"))
    assert plan.kit.value("kit.statement") in whole and plan.rules.value("rules.statement") in whole


@pytest.mark.parametrize("case", [case for case in CASES if case not in DOES_NOT_APPLY])
def test_the_sheet_has_the_numbers_of_the_plan(case):
    plan = plan_of(case)
    text = texts(sheet(plan))
    for name in ("travel.feed_from", "travel.feed_target", "travel.feed_to", "travel.turns"):
        if name in plan.numbers:
            assert plan.numbers[name].text in text
    if plan.result != "does not apply":
        for name in ("integrity.test_pressure", "integrity.hold", "let_by.watch", "stopper.setting_force"):
            if name in plan.numbers:
                assert plan.numbers[name].text in text
    for hold in plan.open_holds:
        assert any(line.startswith("Holds that cannot be signed yet") and re.search(rf"\b{hold}\b", line)
                   for line in text)


def test_the_sheet_gives_the_strict_end_of_a_limit():
    plan = plan_of("two branches")
    rows = {row[0].text: row[1].text for table in tables(sheet(plan).parts[0].blocks) for row in table.rows}
    for label, name in (("– largest fall", "integrity.largest_fall"), ("– largest rise", "let_by.rise_at_limit"),
                        ("– temperature steady within", "integrity.temperature_change"),
                        ("– a pass counts up to: district at the watch, and", "let_by.margin")):
        number = plan.numbers[name]
        assert rows[label] == show(number.node.low, number.node.unit, number.shown)
    assert plan.numbers["let_by.rise_at_limit"].node.low < plan.numbers["let_by.rise_at_limit"].node.high


@pytest.mark.parametrize("case", DOES_NOT_APPLY)
def test_where_the_method_does_not_apply_the_sheet_has_no_travel(case):
    plan = plan_of(case)
    assert "travel.feed_target" in plan.numbers  # there is a travel to leave out
    only = sheet(plan).parts[0]
    first = only.blocks[0]
    assert isinstance(first, model.Callout) and first.kind == model.STOP and "does not apply" in first.title
    everything = " ".join(texts(only))
    for name, number in plan.numbers.items():
        if name.startswith("travel.") and re.search(r"\d", number.text):
            assert number.text not in everything
    assert not any(isinstance(block, model.Tiles) for block in only.blocks)


@pytest.mark.parametrize("case", CASES)
def test_a_strip_to_work_from_is_only_there_if_the_method_may_apply(case):
    plan = plan_of(case)
    document = pack(plan)
    found = {block.key for part in document.parts for block in part.blocks if isinstance(block, model.Figure)}
    wanted = "travel.feed_target" in plan.numbers and plan.result != "does not apply"
    assert ("travel_strip" in found) == wanted
    for part_key in ("drawings", "steps"):
        warned = [block for part in document.parts if part.key == part_key for block in part.blocks
                  if isinstance(block, model.Callout) and block.kind == model.STOP]
        assert bool(warned) == (plan.result != "applies") or not any(part.key == part_key for part in document.parts)


def test_where_there_is_no_travel_the_sheet_says_so():
    plan = plan_of("wall unknown")
    assert "travel.feed_target" not in plan.numbers
    blocks = sheet(plan).parts[0].blocks
    assert any(isinstance(block, model.Callout) and block.title == "No travel to drill to" and block.lines[0]
               for block in blocks)


@EVERY
def test_the_customers_page_has_no_technical_and_no_personal_data(case):
    plan = plan_of(case)
    text = " ".join(texts(customer(plan).parts[0]))
    assert QUANTITY.findall(text) == []
    people = [str(value) for row in plan.survey.rows("person") for value in (row["id"], row["authorisation"])]
    for private in (*people, plan.survey.value("job.premises"), plan.survey.value("job.place")):
        assert not re.search(rf"\b{re.escape(str(private))}(?!\w)", text)
    assert "If you smell gas" in text and "Gas emergency line" in text


def test_signs_that_change_what_is_seen_are_made_visible():
    assert model.plain("a\u202eb\x07c\u200bd") == "a[U+202E]b[U+0007]c[U+200B]d"
    assert model.plain("1 inch\n\t½ – “q” ж") == "1 inch\n\t½ – “q” ж"


def test_data_names_every_block():
    found = model.data(model.Columns((model.Paragraph("left"),), (model.Heading("right", 3),)))
    assert found == {"is": "columns", "left": [{"is": "paragraph", "text": "left", "strong": False}],
                     "right": [{"is": "heading", "text": "right", "level": 3}]}


def test_a_long_name_is_shortened_and_says_so():
    plan = plan_of("worst")
    title = sheet(plan).parts[0].title
    assert len(title) < len(plan.survey.value("job.place")) and title.endswith("(whole in the pack)")
    assert squeezed(plan.survey.value("job.place")) in squeezed(" ".join(texts(pack(plan).parts[0])))
