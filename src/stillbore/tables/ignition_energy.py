"""Least spark energies that ignite the most easily ignited mixture of a gas with air."""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Minimum ignition energy in air",
    source="ISO-TR-15916",
    status="from memory",
    columns=(Column("gas"), Column("ignition_energy", "J", "mJ"), Column("source")),
    rows=(
        ("natural gas", "0.28", "NFPA-921-2017"),
        ("hydrogen", "0.017", "ISO-TR-15916"),
    ),
    checksum="0.297",
    notes="Natural gas as methane; 0.28 is also found in public, in a quotation of NFPA 921 that gives hydrogen 0.019. "
          "Published values for hydrogen lie between 0.016 and 0.02; for a blend take hydrogen's own.",
)
