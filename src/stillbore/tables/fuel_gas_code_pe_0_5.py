"""What PE pipe carries at 0.5 in of water by the fuel gas code. Columns are nominal sizes in inches."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Natural gas in PE pipe, 0.5 in w.c. drop, relative density 0.60",
    source="IFGC-2018",
    status="found",
    columns=(
        Column("length", "m", "ft"),
        Column("3/4", "m3/s", "ft3/h"), Column("1", "m3/s", "ft3/h"),
        Column("1 1/4", "m3/s", "ft3/h"), Column("1 1/2", "m3/s", "ft3/h"), Column("2", "m3/s", "ft3/h"),
    ),
    rows=(
        ("10", "403", "726", "1260", "1900", "3410"),
        ("20", "277", "499", "865", "1310", "2350"),
        ("30", "222", "401", "695", "1050", "1880"),
        ("40", "190", "343", "594", "898", "1610"),
        ("50", "169", "304", "527", "796", "1430"),
        ("60", "153", "276", "477", "721", "1300"),
        ("70", "140", "254", "439", "663", "1190"),
        ("80", "131", "236", "409", "617", "1110"),
    ),
    checksum="32585",
    notes="Table 402.4(21), first eight lengths. The 1 1/4 in column is SDR 10, the others SDR 11; bores stand in "
          "fuel_gas_code_bores.",
)
