"""Inside diameters that the fuel gas code prints above its capacity tables."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Actual inside diameters of schedule 40 steel and of PE pipe in the fuel gas code's tables",
    source="IFGC-2018",
    status="found",
    columns=(Column("size"), Column("steel", "m", "in"), Column("pe", "m", "in")),
    rows=(
        ("3/4", "0.824", "0.860"),
        ("1", "1.049", "1.077"),
        ("1 1/4", "1.380", "1.328"),
        ("1 1/2", "1.610", "1.554"),
        ("2", "2.067", "1.943"),
    ),
    checksum="13.692",
    notes="Headings of tables 402.4(3) and 402.4(20). PE: SDR 11, but the 1 1/4 in size is SDR 10.",
)
