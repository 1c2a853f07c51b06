"""Ideal-gas heat capacity of each component: a polynomial in temperature. Rows in the order of units.COMPONENTS."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Ideal-gas molar heat capacity, cp/R = a0 + a1 T + a2 T^2 + a3 T^3 + a4 T^4, T in K",
    source="POLING-2001",
    status="found",
    columns=(
        Column("component"),
        Column("a0", "-", "-"), Column("a1 x 10^3", "-", "-"), Column("a2 x 10^5", "-", "-"),
        Column("a3 x 10^8", "-", "-"), Column("a4 x 10^11", "-", "-"),
    ),
    rows=(
        ("CH4", "4.568", "-8.975", "3.631", "-3.407", "1.091"),
        ("C2H6", "4.178", "-4.427", "5.66", "-6.651", "2.487"),
        ("C3H8", "3.847", "5.131", "6.011", "-7.893", "3.079"),
        ("n-C4H10", "5.547", "5.536", "8.057", "-10.571", "4.134"),
        ("i-C4H10", "3.351", "17.883", "5.477", "-8.1", "3.243"),
        ("n-C5H12", "7.554", "-0.368", "11.846", "-14.939", "5.753"),
        ("i-C5H12", "1.959", "38.191", "2.434", "-5.175", "2.165"),
        ("neo-C5H12", "-11.428", "156.037", "-33.383", "40.127", "-17.806"),
        ("n-C6H14", "8.831", "-0.166", "14.302", "-18.314", "7.124"),
        ("H2", "2.883", "3.681", "-0.772", "0.692", "-0.213"),
        ("CO", "3.912", "-3.913", "1.182", "-1.3", "0.515"),
        ("N2", "3.539", "-0.261", "0.007", "0.157", "-0.099"),
        ("O2", "3.63", "-1.794", "0.658", "-0.6", "0.179"),
        ("CO2", "3.259", "1.356", "1.502", "-2.374", "1.056"),
        ("H2O", "4.395", "-4.186", "1.405", "-1.564", "0.632"),
    ),
    checksum="255.195",
    notes="Read in a machine-readable copy of the book's appendix A in an open library. Printed for 50 or 200 K to "
          "1000 K.",
)

_SCALES = (1.0, 1e-3, 1e-5, 1e-8, 1e-11)

# One tuple of (a0, a1, a2, a3, a4) for each component.
HEAT_CAPACITY_COEFFICIENTS = tuple(
    tuple(float(cell) * scale for cell, scale in zip(row[1:], _SCALES, strict=True)) for row in TABLE.rows)
