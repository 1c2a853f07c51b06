"""Roughness of pipe walls. A survey seldom knows it: take the range that the pipe may have, not the middle."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Absolute roughness of pipe walls, low, usual and high",
    source="COMMON-PRACTICE",
    status="from memory",
    columns=(Column("wall"), Column("low", "m", "mm"), Column("usual", "m", "mm"), Column("high", "m", "mm")),
    rows=(
        ("steel, new", "0.03", "0.046", "0.1"),
        ("steel, galvanised", "0.1", "0.15", "0.2"),
        ("steel, old, lightly rusted", "0.1", "0.25", "0.5"),
        ("steel, old, scaled or pitted", "0.5", "1.0", "2.0"),
        ("PE", "0.0015", "0.003", "0.01"),
    ),
    checksum="4.9905",
    notes="New steel 0.046 mm and drawn smooth pipe 0.0015 mm as on the Moody chart; the old ones are what handbooks "
          "commonly give, and differ between them by a factor of two. For PE the high value covers joints.",
)
