"""What schedule 40 steel carries at 0.5 in of water by the fuel gas code. Columns are nominal sizes in inches."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Natural gas in schedule 40 steel pipe, 0.5 in w.c. drop, relative density 0.60",
    source="NFPA-54-2012",
    status="found",
    columns=(
        Column("length", "m", "ft"),
        Column("3/4", "m3/s", "ft3/h"), Column("1", "m3/s", "ft3/h"),
        Column("1 1/4", "m3/s", "ft3/h"), Column("1 1/2", "m3/s", "ft3/h"), Column("2", "m3/s", "ft3/h"),
    ),
    rows=(
        ("10", "360", "678", "1390", "2090", "4020"),
        ("20", "247", "466", "957", "1430", "2760"),
        ("40", "170", "320", "657", "985", "1900"),
        ("50", "151", "284", "583", "873", "1680"),
        ("80", "117", "220", "452", "677", "1300"),
        ("100", "104", "195", "400", "600", "1160"),
    ),
    checksum="27526",
    notes="Six of the lengths and the five sizes of services. Bores stand in fuel_gas_code_bores.",
)
