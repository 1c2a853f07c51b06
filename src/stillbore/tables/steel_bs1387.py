"""BS 1387: what most old services are made of. Light, medium and heavy tube, 3/4 to 2 inch, with masses."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Steel tube, light, medium and heavy (BS 1387:1985)",
    source="BS-1387-1985",
    status="found; the light wall tolerance from memory, the upper one common practice",
    columns=(
        Column("size"),
        Column("grade"),
        Column("outside_diameter", "m", "mm"),
        Column("outside_diameter_min", "m", "mm"),
        Column("outside_diameter_max", "m", "mm"),
        Column("wall", "m", "mm"),
        Column("wall_min", "m", "mm"),
        Column("wall_tolerance_low", "-", "%"),
        Column("wall_tolerance_high", "-", "%"),
        Column("mass_per_length", "kg/m", "kg/m"),
    ),
    rows=(
        ("3/4", "light", "", "26.4", "26.9", "2.3", "", "-8", "12.5", "1.38"),
        ("3/4", "medium", "26.9", "26.6", "27.2", "2.6", "2.3", "-10", "12.5", "1.56"),
        ("3/4", "heavy", "26.9", "26.6", "27.2", "3.2", "2.9", "-10", "12.5", "1.87"),
        ("1", "light", "", "33.2", "33.8", "2.6", "", "-8", "12.5", "1.98"),
        ("1", "medium", "33.7", "33.4", "34.2", "3.2", "2.9", "-10", "12.5", "2.41"),
        ("1", "heavy", "33.7", "33.4", "34.2", "4.0", "3.6", "-10", "12.5", "2.94"),
        ("1 1/4", "light", "", "41.9", "42.5", "2.6", "", "-8", "12.5", "2.54"),
        ("1 1/4", "medium", "42.4", "42.1", "42.9", "3.2", "2.9", "-10", "12.5", "3.10"),
        ("1 1/4", "heavy", "42.4", "42.1", "42.9", "4.0", "3.6", "-10", "12.5", "3.80"),
        ("1 1/2", "light", "", "47.8", "48.4", "2.9", "", "-8", "12.5", "3.23"),
        ("1 1/2", "medium", "48.3", "48.0", "48.8", "3.2", "2.9", "-10", "12.5", "3.57"),
        ("1 1/2", "heavy", "48.3", "48.0", "48.8", "4.0", "3.6", "-10", "12.5", "4.38"),
        ("2", "light", "", "59.6", "60.2", "2.9", "", "-8", "12.5", "4.08"),
        ("2", "medium", "60.3", "59.8", "60.8", "3.6", "3.2", "-10", "12.5", "5.03"),
        ("2", "heavy", "60.3", "59.8", "60.8", "4.5", "4.1", "-10", "12.5", "6.19"),
    ),
    checksum="1867.86",
    notes="Found: diameters, walls, masses; smallest walls and the -10 % of medium and heavy on a second sheet. From "
          "memory: -8 % for light; seamless tube may have -12.5 %. The wall is not limited upwards, only the mass: "
          "+12.5 % is common practice. No specified diameter is printed for the light series: at 2 inch 60.3 would "
          "lie outside its limits.",
)
