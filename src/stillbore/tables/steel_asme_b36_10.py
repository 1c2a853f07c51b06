"""ASME B36.10M: schedule 40 and 80 pipe, 3/4 to 2 inch, in millimetres."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Steel pipe, schedules 40 and 80 (ASME B36.10M)",
    source="ASME-B36.10-2018",
    status="from memory",
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
        ("3/4", "schedule 40", "26.7", "25.9", "27.1", "2.87", "-12.5", "12.5"),
        ("3/4", "schedule 80", "26.7", "25.9", "27.1", "3.91", "-12.5", "12.5"),
        ("1", "schedule 40", "33.4", "32.6", "33.8", "3.38", "-12.5", "12.5"),
        ("1", "schedule 80", "33.4", "32.6", "33.8", "4.55", "-12.5", "12.5"),
        ("1 1/4", "schedule 40", "42.2", "41.4", "42.6", "3.56", "-12.5", "12.5"),
        ("1 1/4", "schedule 80", "42.2", "41.4", "42.6", "4.85", "-12.5", "12.5"),
        ("1 1/2", "schedule 40", "48.3", "47.5", "48.7", "3.68", "-12.5", "12.5"),
        ("1 1/2", "schedule 80", "48.3", "47.5", "48.7", "5.08", "-12.5", "12.5"),
        ("2", "schedule 40", "60.3", "59.5", "61.1", "3.91", "-12.5", "12.5"),
        ("2", "schedule 80", "60.3", "59.5", "61.1", "5.54", "-12.5", "12.5"),
    ),
    checksum="1303.53",
    notes="All from memory, and checked against an open library of pipe sizes and the inch bores of IFGC 2018 table "
          "402.4. The diameter limits are worked from +0.4/-0.8 mm up to 1 1/2 inch and +0.8/-0.8 mm at 2 inch (ASTM "
          "A530, from memory; A53 allows +/-0.4 mm, and +/-1 % from 2 inch). The standard does not limit the wall "
          "upwards, only the mass: +12.5 % is common practice.",
)
