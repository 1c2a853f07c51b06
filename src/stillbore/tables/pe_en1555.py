"""PE gas pipe: outside diameters and walls of the small sizes, with both walls that editions give the smallest."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="PE gas pipe (EN 1555-2), 16 to 63 mm",
    source="EN-1555-2",
    status="from memory; walls from 32 mm found in sellers' tables of the same series",
    columns=(
        Column("size"),
        Column("series"),
        Column("edition"),
        Column("outside_diameter", "m", "mm"),
        Column("outside_diameter_max", "m", "mm"),
        Column("wall", "m", "mm"),
        Column("wall_max", "m", "mm"),
    ),
    rows=(
        ("16", "SDR 11", "at least 2.3 mm", "16.0", "16.3", "2.3", "2.7"),
        ("16", "SDR 11", "at least 3.0 mm", "16.0", "16.3", "3.0", "3.4"),
        ("20", "SDR 11", "at least 2.3 mm", "20.0", "20.3", "2.3", "2.7"),
        ("20", "SDR 11", "at least 3.0 mm", "20.0", "20.3", "3.0", "3.4"),
        ("25", "SDR 11", "at least 2.3 mm", "25.0", "25.3", "2.3", "2.7"),
        ("25", "SDR 11", "at least 3.0 mm", "25.0", "25.3", "3.0", "3.4"),
        ("32", "SDR 11", "", "32.0", "32.3", "3.0", "3.4"),
        ("40", "SDR 11", "", "40.0", "40.4", "3.7", "4.2"),
        ("50", "SDR 11", "", "50.0", "50.4", "4.6", "5.2"),
        ("63", "SDR 11", "", "63.0", "63.4", "5.8", "6.5"),
        ("32", "SDR 17", "at least 2.0 mm", "32.0", "32.3", "2.0", "2.3"),
        ("32", "SDR 17", "at least 2.3 mm", "32.0", "32.3", "2.3", "2.7"),
        ("40", "SDR 17", "", "40.0", "40.4", "2.4", "2.8"),
        ("50", "SDR 17", "", "50.0", "50.4", "3.0", "3.4"),
        ("63", "SDR 17", "", "63.0", "63.4", "3.8", "4.3"),
    ),
    checksum="1152.7",
    notes="The largest mean diameters of EN 1555-2 are from memory. The walls of SDR 11 from 32 mm and of SDR 17 from "
          "32 mm (2.0, 2.4, 3.0, 3.8) were found in public sheets of water pipe, which has the same series. Gas pipe "
          "has a least wall in small sizes, 2.3 or 3.0 mm by edition (from memory): where nobody has measured, both "
          "are shown. The largest wall is the least, a tenth more and 0.1 mm, rounded up to 0.1 mm.",
)
