"""Steel of the tubes: density, stiffness, strength and expansion."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Properties of tube steel at ground temperature",
    source="STEEL-PROPERTIES",
    status="from memory",
    columns=(
        Column("steel"),
        Column("steel_density", "kg/m3", "kg/m3"),
        Column("youngs_modulus", "Pa", "N/mm2"),
        Column("expansion", "1/K", "um/(m K)"),
        Column("yield_strength", "Pa", "N/mm2"),
        Column("tensile_strength_min", "Pa", "N/mm2"),
        Column("tensile_strength_max", "Pa", "N/mm2"),
    ),
    rows=(
        ("S195T", "7850", "210000", "12", "195", "320", "520"),
        ("A53 grade A", "7850", "210000", "12", "205", "330", ""),
        ("A53 grade B", "7850", "210000", "12", "240", "415", ""),
    ),
    checksum="655811",
    notes="S195T is the steel of EN 10255; old tube to BS 1387 has the same yield strength. A53 sets no upper "
          "tensile strength. Yield and tensile strength are the least the maker owes for new steel; corrosion is in "
          "the wall, not here.",
)
