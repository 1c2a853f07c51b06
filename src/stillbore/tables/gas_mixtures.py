"""Named gases by composition, for planning and examples. A network's own analysis always ranks above them.

The columns stand in the order of ``units.COMPONENTS``; a cell that is empty means none of that component.
"""

from stillbore.tables import Column, Table
from stillbore.units import COMPONENTS

TABLE = Table(
    title="Named gases, mole fractions in per cent (the natural gases are invented, typical of their kind)",
    source="COMMON-PRACTICE",
    status="common practice",
    columns=(Column("name"), *(Column(component, "-", "%") for component in COMPONENTS)),
    rows=(
        # name, CH4, C2H6, C3H8, n-C4, i-C4, n-C5, i-C5, neo-C5, n-C6, H2, CO, N2, O2, CO2, H2O
        ("methane", "100", "", "", "", "", "", "", "", "", "", "", "", "", "", ""),
        ("natural gas", "92.5", "4.5", "1.0", "0.2", "0.1", "", "", "", "", "", "", "1.2", "", "0.5", ""),
        ("lean natural gas", "83.0", "3.5", "0.6", "0.2", "", "", "", "", "", "", "", "11.2", "", "1.5", ""),
        ("hydrogen blend 20", "74.0", "3.6", "0.8", "0.16", "0.08", "", "", "", "", "20.0", "", "0.96", "", "0.4", ""),
        ("hydrogen", "", "", "", "", "", "", "", "", "", "100", "", "", "", "", ""),
        ("propane", "", "", "100", "", "", "", "", "", "", "", "", "", "", "", ""),
    ),
    checksum="600.00",
    notes="Invented and typical, to plan with until the network's own analysis is known: 'natural gas' is a rich one, "
          "'lean natural gas' one with much nitrogen, 'hydrogen blend 20' the first with a fifth of hydrogen by "
          "volume.",
)


def fractions(name: str) -> tuple[float, ...]:
    """The mole fractions of a named gas, in the order of units.COMPONENTS. Raises KeyError."""
    return tuple(float(cell) / 100.0 if cell else 0.0 for cell in TABLE.row(name=name)[1:])


def text(name: str) -> str:
    """The composition of a named gas as it would be written in a survey. Raises KeyError."""
    return ", ".join(f"{component} {share:g}" for component, share in zip(COMPONENTS, fractions(name), strict=True)
                     if share)
