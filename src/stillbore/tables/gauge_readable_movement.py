"""Gauge readable movement: the smallest movement that each kind of gauge is taken to show."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Gauge readable movement",
    source="IGEM-UP-1",
    status="found",
    columns=(Column("gauge"), Column("readable_movement", "Pa", "mbar")),
    rows=(
        ("water gauge", "0.5"),
        ("high density fluid gauge", "1"),
        ("electronic, 1 decimal", "0.5"),
        ("electronic, 2 decimals, 0 to 200 mbar", "0.1"),
        ("electronic, 1 decimal, 0 to 2000 mbar", "0.5"),
        ("electronic, no decimal, 0 to 20000 mbar", "5"),
        ("mercury gauge", "7"),
    ),
    checksum="14.6",
    notes="Read in a public copy of the table, whose edition is not stated and whose column of longest test times was "
          "missing. What a careful reader sees on a still gauge is less; the rule set says which movement counts.",
)
