"""The document model: what a document says, without a word on how it looks.

A document is a few parts (each begins on a new page), a part is a list of blocks. ``html`` and ``pdf`` turn the same
document into a page and into a PDF, so the two can never say different things. Standard library only: it also runs in a
browser with no signal.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, fields, is_dataclass
from datetime import datetime

# What a callout is, in a word that is printed: nothing is told by colour or shape alone.
STOP, CAUTION, OPEN, NOTE = "stop", "caution", "open", "note"


@dataclass(frozen=True)
class Cell:
    """A table cell: its text, a small note below it (a name, a unit, a reason), and whether it is to stand out."""

    text: str
    note: str = ""
    strong: bool = False


@dataclass(frozen=True)
class Heading:
    """A heading inside a part; level 2 is the highest, because the part's title is level 1."""

    text: str
    level: int = 2


@dataclass(frozen=True)
class Paragraph:
    text: str
    strong: bool = False


@dataclass(frozen=True)
class Callout:
    """Something nobody may overlook: its kind as a word, a title, and sentences."""

    kind: str
    title: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class Points:
    """A list of sentences, numbered or not."""

    lines: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Table:
    """A table. ``widths`` are shares of the line, one for each column; the first column heads its row."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[float, ...]


@dataclass(frozen=True)
class Tile:
    """A number to be read from a distance: what it is, the number, and what belongs beside it."""

    label: str
    value: str
    note: str = ""


@dataclass(frozen=True)
class Tiles:
    tiles: tuple[Tile, ...]


@dataclass(frozen=True)
class Figure:
    """A drawing, or a chart, which has no ``scale`` (""). ``true_size``: it is laid against the real thing, and is
    never made smaller or larger."""

    key: str
    title: str
    svg: str
    width_mm: float
    height_mm: float
    scale: str
    description: str
    true_size: bool = False


@dataclass(frozen=True)
class Step:
    """A step of the order of work. ``hold`` is "" where it is no hold point."""

    id: str
    hold: str
    action: str
    must_be_true: str
    stop_if: str
    witness: str
    numbers: tuple[tuple[str, str], ...]
    barriers: str
    way: str


@dataclass(frozen=True)
class Steps:
    """The steps of one card."""

    card: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class FillIn:
    """Lines to write on: label, and what stands after the line (a unit, a printed number to compare with)."""

    title: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Checklist:
    """Things to tick."""

    title: str
    items: tuple[str, ...]


@dataclass(frozen=True)
class Columns:
    """Two columns of blocks, side by side where there is room."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]


@dataclass(frozen=True)
class PageBreak:
    pass


Block = (Heading | Paragraph | Callout | Points | Table | Tiles | Figure | Steps | FillIn | Checklist | Columns
         | PageBreak)


@dataclass(frozen=True)
class Part:
    """A part of a document. It begins on a new page; ``one_page``: it is made to fit on that page alone."""

    key: str
    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    blocks: tuple[Block, ...]
    one_page: bool = False


@dataclass(frozen=True)
class Document:
    """A document. ``statement`` and ``mark`` (which plan it is of) stand on every page; ``date`` is a date of the
    job, never of the printing, so that the same plan always gives the same document. ``banner``: large words at the
    head of every page, for what must never be taken for something else; "" where there is nothing to say."""

    key: str
    title: str
    date: datetime
    statement: str
    mark: str
    parts: tuple[Part, ...]
    language: str = "en"
    banner: str = ""


def plain(text: str) -> str:
    """Text from outside, with the characters that cannot be seen but change what is seen made visible: control
    characters, and those that turn the direction of writing. A unit of two words is kept on one line with its number,
    because the first of them alone is another unit. Everything else stays as it is."""
    text = text.replace(" in w.c.", "\u00a0in w.c.").replace("in w.c.", "in\u00a0w.c.")
    if text.isprintable():  # none of those is
        return text
    return "".join(code_point(letter) if unicodedata.category(letter) in ("Cc", "Cf", "Cs") and letter not in "\n\t"
                   else letter for letter in text)


def code_point(letter: str) -> str:
    """A character by its number, for where it cannot be printed: '[U+202E]'."""
    return f"[U+{ord(letter):04X}]"


def data(value: object) -> object:
    """A document, or any part of one, as plain data for JSON; every object says in ``is`` what it is."""
    if is_dataclass(value) and not isinstance(value, type):
        found = {field.name: data(getattr(value, field.name)) for field in fields(value)}
        return {"is": type(value).__name__.lower(), **found}
    if isinstance(value, tuple):
        return [data(item) for item in value]
    return value.isoformat() if isinstance(value, datetime) else value


def cells(*texts: str | Cell) -> tuple[Cell, ...]:
    """A table row from texts and cells."""
    return tuple(text if isinstance(text, Cell) else Cell(text) for text in texts)
