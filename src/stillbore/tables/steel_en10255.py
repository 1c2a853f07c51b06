"""EN 10255: outside diameters and walls of medium and heavy tube, 3/4 to 2 inch."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Steel tube, medium and heavy series (EN 10255:2004)",
    source="EN-10255-2004",
    status="from memory; outside diameters found in the ISO 65 family",
    columns=(
        Column("size"),
        Column("grade"),
        Column("outside_diameter", "m", "mm"),
        Column("outside_diameter_min", "m", "mm"),
        Column("outside_diameter_max", "m", "mm"),
        Column("wall", "m", "mm"),
        Column("wall_tolerance_low", "-", "%"),
        Column("wall_tolerance_high", "-", "%"),
    ),
    rows=(
        ("3/4", "medium", "26.9", "26.5", "27.3", "2.6", "-10", "12.5"),
        ("3/4", "heavy", "26.9", "26.5", "27.3", "3.2", "-10", "12.5"),
        ("1", "medium", "33.7", "33.3", "34.2", "3.2", "-10", "12.5"),
        ("1", "heavy", "33.7", "33.3", "34.2", "4.0", "-10", "12.5"),
        ("1 1/4", "medium", "42.4", "42.0", "42.9", "3.2", "-10", "12.5"),
        ("1 1/4", "heavy", "42.4", "42.0", "42.9", "4.0", "-10", "12.5"),
        ("1 1/2", "medium", "48.3", "47.9", "48.8", "3.2", "-10", "12.5"),
        ("1 1/2", "heavy", "48.3", "47.9", "48.8", "4.0", "-10", "12.5"),
        ("2", "medium", "60.3", "59.7", "60.8", "3.6", "-10", "12.5"),
        ("2", "heavy", "60.3", "59.7", "60.8", "4.5", "-10", "12.5"),
    ),
    checksum="1330.5",
    notes="Outside diameters were found in public tables of the ISO 65 family; that EN 10255 carries the same "
          "limits, and that its walls are those of BS 1387, is from memory. Its limits are 0.1 mm wider below, and "
          "for 3/4 inch above, than those of BS 1387: say which table a clamp was fitted by. Lower wall tolerance: "
          "-10 % welded, found; seamless tube may have -12.5 % (from memory). The standard does not limit the wall "
          "upwards, only the mass: +12.5 % is common practice (4.5 mm for 1 inch heavy). The light series stands in "
          "steel_bs1387.",
)
