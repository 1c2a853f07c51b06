"""ISO 6976:2016: what depends on the reference temperature alone: Z of air, and the heat of vaporisation of water."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Compression factor of dry air at 101.325 kPa, and molar heat of vaporisation of water (ISO 6976:2016)",
    source="ISO-6976-2016",
    status="found",
    columns=(
        Column("at"),
        Column("temperature", "K", "degC"),
        Column("compressibility_air", "-", "-"),
        Column("heat_of_vaporisation", "J/mol", "kJ/mol"),
    ),
    rows=(
        ("0 degC", "0", "0.999419", "45.064"),
        ("15 degC", "15", "0.999595", "44.431"),
        ("15.55 degC", "15.55", "0.999601", "44.408"),
        ("20 degC", "20", "0.999645", "44.222"),
        ("25 degC", "25", "", "44.013"),
    ),
    checksum="301.686260",
    notes="Read in two open implementations whose tests quote annex D. 25 degC is a combustion temperature only: "
          "the standard has no metering at 25 degC, so no Z of air there.",
)

COMBUSTION_TEMPERATURES = tuple(TABLE.in_si("temperature", row[1]) for row in TABLE.rows)
METERING_TEMPERATURES = COMBUSTION_TEMPERATURES[:4]
COMPRESSIBILITIES_AIR = tuple(TABLE.in_si("compressibility_air", row[2]) for row in TABLE.rows[:4])
HEATS_OF_VAPORISATION = tuple(TABLE.in_si("heat_of_vaporisation", row[3]) for row in TABLE.rows)
