"""A document as one self-contained HTML page: no script, nothing fetched, readable at 360 px and on paper."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from html import escape
from importlib.resources import files

from stillbore.report import document as model
from stillbore.report.document import Document, Part, plain


def text(value: str) -> str:
    """Text from anywhere, made harmless for HTML."""
    return escape(plain(value), quote=True)


def _css_string(value: str) -> str:
    """Text for a CSS string: every character that is not a letter, digit or space by its number, so that nothing in it
    can end the string or the style sheet."""
    return re.sub(r"[^A-Za-z0-9 ]", lambda match: f"\\{ord(match[0]):06x} ", plain(value).replace("\n", " "))


def _lines(values: Iterable[str], tag: str) -> str:
    return "".join(f"<{tag}>{text(value)}</{tag}>" for value in values)


def _heading(block: model.Heading) -> str:
    return f"<h{block.level}>{text(block.text)}</h{block.level}>"


def _paragraph(block: model.Paragraph) -> str:
    return f"<p>{f'<strong>{text(block.text)}</strong>' if block.strong else text(block.text)}</p>"


def _callout(block: model.Callout) -> str:
    return (f'<section class="callout {block.kind}"><p class="title"><span class="kind">{block.kind.upper()}</span> '
            f"{text(block.title)}</p>{_lines(block.lines, 'p')}</section>")


def _points(block: model.Points) -> str:
    tag = "ol" if block.numbered else "ul"
    return f"<{tag}>{_lines(block.lines, 'li')}</{tag}>"


def _cell(cell: model.Cell) -> str:
    main = f"<b>{text(cell.text)}</b>" if cell.strong else text(cell.text)
    return f'{main}<span class="small">{text(cell.note)}</span>' if cell.note else main


def _table(block: model.Table) -> str:
    # Roles are written out, because a narrow screen shows each row as a block, and some browsers then forget them.
    head = "".join(f'<th scope="col" role="columnheader">{text(column)}</th>' for column in block.columns)
    rows = []
    for row in block.rows:
        first, *others = row
        cells = "".join(f'<td role="cell" data-label="{text(column)}">{_cell(cell)}</td>'
                        for column, cell in zip(block.columns[1:], others, strict=True))
        rows.append(f'<tr role="row"><th scope="row" role="rowheader">{_cell(first)}</th>{cells}</tr>')
    total = sum(block.widths)
    columns = "".join(f'<col width="{100 * width / total:.1f}%">' for width in block.widths)
    kind = "narrow" if len(block.columns) == 2 else "wide"
    return (f'<table role="table" class="{kind}"><caption>{text(block.caption)}</caption><colgroup>{columns}</colgroup>'
            f'<thead role="rowgroup"><tr role="row">{head}</tr></thead>'
            f'<tbody role="rowgroup">{"".join(rows)}</tbody></table>')


def _tiles(block: model.Tiles) -> str:
    tiles = "".join(f"<div><dt>{text(tile.label)}</dt><dd>{text(tile.value)}"
                    + (f'<span class="small">{text(tile.note)}</span>' if tile.note else "") + "</dd></div>"
                    for tile in block.tiles)
    return f'<dl class="tiles">{tiles}</dl>'


def _figure(block: model.Figure) -> str:
    size = "true" if block.true_size else "fits"
    scale = f"scale {block.scale}; " if block.scale else ""
    svg = re.sub(r"^\s*<\?xml[^>]*\?>\s*", "", plain(block.svg))
    return (f'<figure class="{size}"><figcaption>{text(block.title)} '
            f'<span class="small">{text(scale)}{text(block.description)}</span></figcaption>'
            f'<div tabindex="0" role="group" aria-label="{text(block.title)}">{svg}</div></figure>')


def _steps(block: model.Steps) -> str:
    items = []
    for step in block.steps:
        tags = "".join(f'<span class="tag">{text(tag)}</span>' for tag in (step.hold, step.witness) if tag)
        rows = [("Must be true", step.must_be_true), ("Stop if", step.stop_if),
                ("Numbers", "; ".join(f"{title}: {value}" for title, value in step.numbers)),
                ("Barriers after it", f"{step.barriers}; {step.way}" if step.way else step.barriers)]
        facts = "".join(f"<div><dt>{label}</dt><dd>{text(value)}</dd></div>" for label, value in rows if value)
        items.append(f'<li class="{"hold" if step.hold else "step"}"><p><b>{text(step.id)}</b> {text(step.action)} '
                     f'{tags}</p><dl class="facts">{facts}</dl></li>')
    return f"<h2>{text(block.card)}</h2><ul class=\"steps\">{''.join(items)}</ul>"


def _fill_in(block: model.FillIn) -> str:
    title = f'<p class="title">{text(block.title)}</p>' if block.title else ""
    lines = "".join(f'<li><span>{text(label)}</span><span class="line"></span>'
                    + (f"<span>{text(after)}</span>" if after else "") + "</li>" for label, after in block.lines)
    return f'<section class="fill">{title}<ul>{lines}</ul></section>'


def _checklist(block: model.Checklist) -> str:
    items = "".join(f'<li><span class="box"></span>{text(item)}</li>' for item in block.items)
    return f'<section class="fill"><p class="title">{text(block.title)}</p><ul>{items}</ul></section>'


def _columns(block: model.Columns) -> str:
    return f'<div class="columns"><div>{_blocks(block.left)}</div><div>{_blocks(block.right)}</div></div>'


def _page_break(_: model.PageBreak) -> str:
    return '<div class="break"></div>'


BLOCKS: dict[type, Callable[..., str]] = {
    model.Heading: _heading, model.Paragraph: _paragraph, model.Callout: _callout, model.Points: _points,
    model.Table: _table, model.Tiles: _tiles, model.Figure: _figure, model.Steps: _steps, model.FillIn: _fill_in,
    model.Checklist: _checklist, model.Columns: _columns, model.PageBreak: _page_break,
}


def _blocks(blocks: Iterable[model.Block]) -> str:
    return "\n".join(BLOCKS[type(block)](block) for block in blocks)


def _part(part: Part, document: Document) -> str:
    subtitle = f'<p class="subtitle">{text(part.subtitle)}</p>' if part.subtitle else ""
    facts = "".join(f"<div><dt>{text(label)}</dt><dd>{text(value)}</dd></div>" for label, value in part.facts)
    head = f'<dl class="head">{facts}</dl>' if facts else ""
    kind = "part one-page" if part.one_page else "part"
    banner = f'<p class="banner">{text(document.banner)}</p>' if document.banner else ""
    return (f'<section class="{kind}" id="{part.key}"><header>{banner}<h1>{text(part.title)}</h1>{subtitle}{head}'
            f'</header>\n{_blocks(part.blocks)}\n<footer>{text(document.statement)} '
            f"<span>{text(document.mark)}</span></footer></section>")


def parts_html(document: Document) -> str:
    """The parts of a document, to stand in a page that has a head of its own. No style attribute stands in it, so that
    a page may forbid them."""
    return "\n".join(_part(part, document) for part in document.parts)


def to_html(document: Document) -> str:
    """The document as one HTML page."""
    style = files("stillbore.report").joinpath("page.css").read_text(encoding="utf-8")
    page = (f'@page {{ @bottom-left {{ content: "{_css_string(document.statement)}"; width: 75%; }} '
            f'@bottom-right {{ content: "{_css_string(document.mark)}, page " counter(page) "/" counter(pages); }} '
            + (f'@top-center {{ content: "{_css_string(document.banner)}"; }} }}' if document.banner else "}"))
    contents = "".join(f'<li><a href="#{part.key}">{text(part.title)}</a></li>' for part in document.parts)
    menu = f'<nav aria-label="Parts"><ul>{contents}</ul></nav>' if len(document.parts) > 1 else ""
    return (f'<!DOCTYPE html>\n<html lang="{text(document.language)}">\n<head>\n<meta charset="utf-8">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f"<title>{text(document.title)}</title>\n<style>\n{style}{page}\n</style>\n</head>\n"
            f"<body>\n{menu}\n<main>\n{parts_html(document)}\n</main>\n</body>\n</html>\n")
