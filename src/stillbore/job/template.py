"""A commented file to fill in, written from the schema, so that it can never fall behind the loader."""

from __future__ import annotations

import textwrap

from stillbore.job.schema import Schema, Section
from stillbore.units import written_units

HOW_IT_IS_KNOWN = [
    '# How the facts of this section are known: "measured" (then by whom and when), "record" or "assumed".',
    '# A fact may say so itself: { value = "…", how = "measured", by = "P2", when = …, instrument = "C7" }',
    '# how = "record"',
]


def _section(section: Section) -> list[str]:
    lines = ["", *textwrap.wrap(f"{section.about[0].upper()}{section.about[1:]}.", 100, initial_indent="# ",
                                subsequent_indent="# ")]
    if section.many:
        lines.append(f"# One [[{section.key}]] each; write as many as there are.")
    lines.append(f"[[{section.key}]]" if section.many else f"[{section.key}]")
    has_facts = any(field.kind in ("fact", "composition") for field in section.fields)
    if has_facts and not section.how:
        lines += HOW_IT_IS_KNOWN
    for field in section.fields:
        notes = [field.about]
        if field.kind == "fact":
            notes.append(f"in {written_units(field.unit)}")
        if field.choices:
            notes.append("one of: " + ", ".join(field.choices))
        if field.may_be_unknown:
            notes.append('or "unknown"')
        if field.optional:
            notes.append("may be left out")
        lines += textwrap.wrap("; ".join(notes), 100, initial_indent="# ", subsequent_indent="#   ")
        lines.append(f"# {field.key} = {field.example}")
    return lines


def template(schema: Schema) -> str:
    """The commented file. Every value is commented out: nothing in it can be taken for a fact by mistake."""
    lines = [f"# {schema.about}",
             "# Take the # from each key, and write what is known. Quantities carry their unit; a range is",
             '# "21..36 mbar"; what nobody knows is "unknown". A blank is refused.', f'format = "{schema.format}"']
    for section in schema.sections:
        lines += _section(section)
    return "\n".join(lines) + "\n"
