"""Conductors for the continuity bond: resistivity and the factor k of the adiabatic equation."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Copper conductors: resistivity at 20 C and adiabatic factor k",
    source="IEC-60364-5-54",
    status="found",
    columns=(Column("conductor"), Column("insulation"), Column("resistivity", "ohm m", "ohm m"),
             Column("withstand_factor", "A s^0.5/m2", "A s^0.5/mm2")),
    rows=(
        ("copper, single lead", "PVC 70 C", "1.7241e-8", "143"),
        ("copper, single lead", "thermosetting 90 C", "1.7241e-8", "176"),
        ("copper, core of a cable", "PVC 70 C", "1.7241e-8", "115"),
    ),
    checksum="434.000000051723",
    notes="Resistivity: annealed copper, IEC-60028-1925, 1/58 ohm mm2/m. k of single leads starts at 30 C; that of the "
          "core of a cable at the working temperature.",
)
