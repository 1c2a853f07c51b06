"""What schedule 40 steel carries at 0.3 in of water by an older edition of the fuel gas code."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Natural gas in schedule 40 steel pipe, 0.3 in w.c. drop, relative density 0.60, older edition",
    source="NFPA-54-OLDER",
    status="found",
    columns=(
        Column("length", "m", "ft"),
        Column("3/4", "m3/s", "ft3/h"), Column("1", "m3/s", "ft3/h"),
        Column("1 1/4", "m3/s", "ft3/h"), Column("1 1/2", "m3/s", "ft3/h"), Column("2", "m3/s", "ft3/h"),
    ),
    rows=(
        ("10", "278", "520", "1050", "1600", "3050"),
        ("20", "190", "350", "730", "1100", "2100"),
        ("40", "130", "245", "500", "760", "1450"),
        ("50", "115", "215", "440", "670", "1270"),
        ("80", "90", "170", "350", "530", "990"),
        ("100", "79", "150", "305", "460", "870"),
    ),
    checksum="21057",
    notes="Printed to two or three figures, so half the last figure is up to 2 % of the smaller entries. The current "
          "edition's table was not found.",
)
