"""The last part: who was on the job with which key, which files it rests on, and what seals and signatures mean."""

from __future__ import annotations

from collections.abc import Iterator

from stillbore.record import events as log
from stillbore.record.chain import footer_message
from stillbore.report.document import CAUTION, Block, Callout, Cell, Paragraph, Part, Points, cells
from stillbore.report.record_exceptions import UNCHANGED_NOT_TRUE
from stillbore.report.record_files import MadeBy, named_files
from stillbore.report.record_story import Story
from stillbore.report.record_words import rows_or_none, signature_words, when_of

MEANING = (
    "Each event holds the hash of the event before it on its device: none can be changed, taken out or put in without "
    "every later hash changing with it.",
    "A device seals the head of its chain with its own key. A person signs a hold with a secret that only that "
    "person's own words open. The program knows no other sort of signature: a name that was typed signs nothing.",
    "Two keys made by one hand are still one hand. Whose a key is stands in the depot's key list, not here.",
    "People stand here by reference; names and customer details are kept outside the record, so that they can be "
    "erased without touching it.",
    "The last seal is printed here so that a paper copy alone can show later which log it belongs to.",
)


def keys_part(story: Story, made_by: MadeBy) -> Part:
    """People, devices, files, seals."""
    blocks: list[Block] = [Callout(CAUTION, UNCHANGED_NOT_TRUE, MEANING), *_seals(story), *_people(story),
                           *_devices(story), *_files(story)]
    blocks += [Points((f"The log was begun by stillbore {story.opened.program}.",
                       f"This document was made by {made_by.words}."))]
    return Part("keys", "People, keys, files and the last seal", "", (), tuple(blocks))


def _seals(story: Story) -> Iterator[Block]:
    last = story.lines[-1]
    yield Callout("note", "The last seal", (last.hash, f"Event {len(story.lines) - 1} of the log, on the device "
                                            f"{last.event.device}, at {last.event.at}."))
    rows = []
    for number, line in story.of(log.Sealed):
        what = line.event.happening
        assert isinstance(what, log.Sealed)
        rows.append(cells(str(number), line.event.device, when_of(line.event, story.began), Cell("", what.head),
                          signature_words(story.check, what.key, what.head, what.signature)))
    table = rows_or_none("Seals of devices on their chains", ("event", "device", "when", "head", "signature"), rows,
                         (0.9, 1.2, 1.8, 8, 4.4))
    yield table or Paragraph("No device has sealed its chain before the end.")
    footer = story.exported.footer
    if footer is None:
        yield Paragraph("There is no signed footer: the end of the log is open.", True)
        return
    signed = signature_words(story.check, story.exported.key, footer_message(footer).hex(), story.exported.signature)
    yield rows_or_none("The footer that closes the log", ("what", "value"), [  # type: ignore[misc]
        cells("events", str(footer["count"])), cells("exported at", str(footer["at"])),
        cells("by the device", str(footer["by"])), cells("hash of all hashes", str(footer["all"])),
        cells("signature", Cell(f"{signed.text}", signed.note, signed.strong))], (3, 12))


def _people(story: Story) -> Iterator[Block]:
    here: dict[str, list[str]] = {}
    for _, line in story.of(log.Present):
        what = line.event.happening
        assert isinstance(what, log.Present)
        here.setdefault(what.who, []).append(f"{'in' if what.here else 'out'} {when_of(line.event, story.began)}")
    rows = [cells(Cell(person.id, person.role, True),
                  Cell(person.authorisation or "authorisation not said", f"until {person.expires or 'not said'}"),
                  ", ".join(here.get(person.id, ["never noted at the pit"])),
                  Cell("", person.key) if person.key else Cell("no key: signs nothing"))
            for person in story.state.people.values()]
    table = rows_or_none("People, by reference", ("who", "authorisation", "at the pit", "public key"), rows,
                         (2.4, 2.2, 2.6, 7))
    if table:
        yield table
    monitors = [cells(when_of(line.event, story.began), what.instrument,
                      f"{'on' if what.on else 'off'}, {'bump tested' if what.bumped else 'NOT bump tested'}",
                      line.event.person) for _, line in story.of(log.Monitor)
                for what in (line.event.happening,) if isinstance(what, log.Monitor)]
    yield rows_or_none("Gas monitors", ("when", "which", "state", "who"), monitors, (2, 3, 4, 1)) or \
        Paragraph("No gas monitor is noted in this log.", True)


def _devices(story: Story) -> Iterator[Block]:
    rows = []
    for _, line in story.of(log.Opened, log.Joined):
        events = [each.event for each in story.lines if each.event.device == line.event.device]
        trusted = [event for event in events if event.offset_s]
        clock = f"put right by {trusted[-1].offset_s} s" if trusted else "never compared with a trusted clock"
        rows.append(cells(Cell(line.event.device, strong=True), str(len(events)), clock,
                          Cell("", line.event.happening.device_key)))  # type: ignore[attr-defined]
    table = rows_or_none("Devices", ("device", "events", "its clock", "public key"), rows, (1.4, 1.2, 4, 6.5))
    if table:
        yield table


def _files(story: Story) -> Iterator[Block]:
    rows = [cells(Cell(found.kind, found.name, True), Cell("", found.sha256)) for found in named_files(story.lines)
            if found.kind not in log.EVIDENCE]
    table = rows_or_none("Files that the job rests on, by the SHA-256 of their bytes", ("file", "hash"), rows,
                         (6, 8))
    if table:
        yield table
    yield Paragraph(f"Plan: {', then '.join(story.plans)}.")
