"""Flammable limits in air of each component, on two bases. Rows in the order of units.COMPONENTS.

100 % of the lower limit means another concentration on each basis: 4.4 % of methane by the IEC convention, 5.0 % by
the older one. Gas monitors are set to one or the other, so a figure in % LFL is worth nothing without its basis.
"""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Lower and upper flammable limits in air, per cent by volume: IEC convention and older values",
    source="IEC-60079-20-1-2010",
    status="found, row by row as the column status says",
    columns=(
        Column("component"),
        Column("lower_iec", "-", "%"), Column("upper_iec", "-", "%"),
        Column("lower_older", "-", "%"), Column("upper_older", "-", "%"),
        Column("status"),
    ),
    rows=(
        ("CH4", "4.4", "17.0", "5.0", "15.0", "found"),
        ("C2H6", "2.4", "15.5", "3.0", "12.5", "found"),
        ("C3H8", "1.7", "10.9", "2.1", "9.5", "found"),
        ("n-C4H10", "1.4", "9.3", "1.9", "8.5", "found"),
        ("i-C4H10", "1.3", "9.8", "1.8", "8.4", "found"),
        ("n-C5H12", "1.1", "8.7", "1.5", "7.8", "found"),
        ("i-C5H12", "1.3", "8.3", "1.4", "8.3", "found"),
        ("neo-C5H12", "1.1", "", "1.4", "8.3", "found; lower_iec: not in the standard, that of n-C5H12 taken instead"),
        ("n-C6H14", "1.0", "8.9", "1.1", "7.5", "found"),
        ("H2", "4.0", "77.0", "4.0", "75.0", "found"),
        ("CO", "10.9", "74.0", "12.5", "74.0", "found; IEC value for air saturated with water at 18 degC"),
        ("N2", "", "", "", "", "does not burn"),
        ("O2", "", "", "", "", "does not burn"),
        ("CO2", "", "", "", "", "does not burn"),
        ("H2O", "", "", "", "", "does not burn"),
    ),
    checksum="540.5",
    notes="The columns _iec: IEC 60079-20-1:2010. The columns _older: NFPA 497:2008 (source key NFPA-497-2008). Both "
          "read in a machine-readable copy in an open library; CH4, H2, C3H8 and C4H10 of the first also found "
          "elsewhere.",
)

# Lower limits by the IEC convention as volume fractions; 0 where the component does not burn.
LOWER_LIMITS = tuple(TABLE.in_si("lower_iec", row[1]) if row[1] else 0.0 for row in TABLE.rows)
