"""Viscosity of each component as a dilute gas: a polynomial in temperature. Rows in the order of units.COMPONENTS."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Dynamic viscosity of gases at low pressure, mu = A + B T + C T^2 + D T^3 + E T^4, T in K, mu in Pa s",
    source="VDI-HEAT-ATLAS-2010",
    status="found; the row H2O from memory",
    columns=(
        Column("component"),
        Column("A x 10^6", "-", "-"), Column("B x 10^9", "-", "-"), Column("C x 10^12", "-", "-"),
        Column("D x 10^15", "-", "-"), Column("E x 10^18", "-", "-"),
    ),
    rows=(
        ("CH4", "-0.7759", "50.484", "-43.101", "31.18", "-9.81"),
        ("C2H6", "-0.4537", "35.537", "-9.658", "0", "0"),
        ("C3H8", "0.7353", "20.874", "24.208", "-39.14", "17.84"),
        ("n-C4H10", "0.2688", "25.13", "-2.326", "0", "0"),
        ("i-C4H10", "-0.3056", "27.695", "-5.12", "0", "0"),
        ("n-C5H12", "-0.1656", "24.855", "-3.565", "0", "0"),
        ("i-C5H12", "-0.4174", "27.672", "-7.472", "0", "0"),
        ("neo-C5H12", "-0.8799", "28.748", "-6.331", "0", "0"),
        ("n-C6H14", "-0.745", "25.522", "-4.815", "0", "0"),
        ("H2", "1.8024", "27.174", "-13.395", "5.85", "-1.04"),
        ("CO", "0.1384", "74.306", "-62.996", "39.48", "-10.32"),
        ("N2", "-0.102", "74.785", "-59.037", "32.3", "-6.73"),
        ("O2", "-1.0257", "92.625", "-80.657", "51.13", "-12.95"),
        ("CO2", "-1.8024", "65.989", "-37.108", "15.86", "-3"),
        ("H2O", "6.4966", "-15.102", "115.935", "-100.8", "31"),
    ),
    checksum="434.4743",
    notes="Read in a machine-readable copy of the table in an open library; powers of ten are ours. The row H2O is not "
          "in that copy and is from memory. Against CoolProp at 273..303 K: CH4, H2, N2, CO2, C2H6, C3H8, O2 within "
          "0.8 %, the C4 to C6 and H2O within 3.5 %.",
)

_SCALES = (1e-6, 1e-9, 1e-12, 1e-15, 1e-18)

# One tuple of (A, B, C, D, E) in SI for each component.
VISCOSITY_COEFFICIENTS = tuple(
    tuple(float(cell) * scale for cell, scale in zip(row[1:], _SCALES, strict=True)) for row in TABLE.rows)
