"""What PE pipe carries at 0.3 in of water by the fuel gas code. Columns are nominal sizes in inches."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Natural gas in PE pipe, 0.3 in w.c. drop, relative density 0.60",
    source="IFGC-2018",
    status="found",
    columns=(
        Column("length", "m", "ft"),
        Column("3/4", "m3/s", "ft3/h"), Column("1", "m3/s", "ft3/h"),
        Column("1 1/4", "m3/s", "ft3/h"), Column("1 1/2", "m3/s", "ft3/h"), Column("2", "m3/s", "ft3/h"),
    ),
    rows=(
        ("10", "305", "551", "955", "1440", "2590"),
        ("20", "210", "379", "656", "991", "1780"),
        ("30", "169", "304", "527", "796", "1430"),
        ("40", "144", "260", "451", "681", "1220"),
        ("50", "128", "231", "400", "604", "1080"),
        ("60", "116", "209", "362", "547", "983"),
        ("70", "107", "192", "333", "503", "904"),
        ("80", "99", "179", "310", "468", "841"),
    ),
    checksum="24795",
    notes="Table 402.4(20), first eight lengths. The 1 1/4 in column is SDR 10, the others SDR 11; bores stand in "
          "fuel_gas_code_bores.",
)
