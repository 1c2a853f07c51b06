"""ISO 6976:2016: molar mass, summation factor and gross calorific value of each component, as printed.

The rows stand in the order of ``units.COMPONENTS``. The tuples below the table are the same numbers in SI, made once
when the module is loaded, because the physics may not look anything up by name.
"""

from stillbore.tables import Column, Table

TABLE = Table(
    title="Component data of natural gas (ISO 6976:2016)",
    source="ISO-6976-2016",
    status="found",
    columns=(
        Column("component"),
        Column("molar_mass", "kg/mol", "kg/kmol"),
        Column("hydrogen_atoms", "-", "-"),
        Column("s_0", "-", "-"), Column("s_15", "-", "-"), Column("s_15.55", "-", "-"), Column("s_20", "-", "-"),
        Column("gross_0", "J/mol", "kJ/mol"), Column("gross_15", "J/mol", "kJ/mol"),
        Column("gross_15.55", "J/mol", "kJ/mol"), Column("gross_20", "J/mol", "kJ/mol"),
        Column("gross_25", "J/mol", "kJ/mol"),
    ),
    rows=(
        ("CH4", "16.04246", "4", "0.04886", "0.04452", "0.04437", "0.04317",
         "892.92", "891.51", "891.46", "891.05", "890.58"),
        ("C2H6", "30.06904", "6", "0.0997", "0.0919", "0.0916", "0.0895",
         "1564.35", "1562.14", "1562.06", "1561.42", "1560.69"),
        ("C3H8", "44.09562", "8", "0.1465", "0.1344", "0.1340", "0.1308",
         "2224.03", "2221.10", "2220.99", "2220.13", "2219.17"),
        ("n-C4H10", "58.12220", "10", "0.2022", "0.1840", "0.1834", "0.1785",
         "2883.35", "2879.76", "2879.63", "2878.58", "2877.40"),
        ("i-C4H10", "58.12220", "10", "0.1885", "0.1722", "0.1717", "0.1673",
         "2874.21", "2870.58", "2870.45", "2869.39", "2868.20"),
        ("n-C5H12", "72.14878", "12", "0.2586", "0.2361", "0.2354", "0.2295",
         "3542.91", "3538.60", "3538.45", "3537.19", "3535.77"),
        ("i-C5H12", "72.14878", "12", "0.2458", "0.2251", "0.2244", "0.2189",
         "3536.01", "3531.68", "3531.52", "3530.25", "3528.83"),
        ("neo-C5H12", "72.14878", "12", "0.2245", "0.2040", "0.2033", "0.1979",
         "3521.75", "3517.44", "3517.28", "3516.02", "3514.61"),
        ("n-C6H14", "86.17536", "14", "0.3319", "0.3001", "0.2990", "0.2907",
         "4203.24", "4198.24", "4198.06", "4196.60", "4194.95"),
        ("H2", "2.01588", "2", "-0.01", "-0.01", "-0.01", "-0.01",
         "286.64", "286.15", "286.13", "285.99", "285.83"),
        ("CO", "28.0101", "0", "0.0258", "0.0217", "0.0215", "0.0203",
         "282.80", "282.91", "282.91", "282.95", "282.98"),
        ("N2", "28.0134", "0", "0.0214", "0.0170", "0.0169", "0.0156",
         "0", "0", "0", "0", "0"),
        ("O2", "31.9988", "0", "0.0311", "0.0276", "0.0275", "0.0265",
         "0", "0", "0", "0", "0"),
        ("CO2", "44.0095", "0", "0.0821", "0.0752", "0.0749", "0.0730",
         "0", "0", "0", "0", "0"),
        ("H2O", "18.01528", "2", "0.3093", "0.2562", "0.2546", "0.2419",
         "45.064", "44.431", "44.408", "44.222", "44.013"),
    ),
    checksum="129883.18660",
    notes="Read in two open implementations whose tests quote annex D, not in the standard itself; the columns of "
          "standard uncertainty are left out. Summation factors (s) at 101.325 kPa and 0, 15, 15.55 and 20 degC; "
          "ideal-gas gross calorific values (gross) at combustion temperatures 0, 15, 15.55, 20 and 25 degC.",
)

# The constants that belong to the table. R is CODATA 2010, 2e-7 below the exact one of 2019. [J/(mol K)], [kg/mol]
R_ISO6976 = 8.3144621
MOLAR_MASS_AIR = 28.96546e-3

METERING_COLUMNS = ("s_0", "s_15", "s_15.55", "s_20")
COMBUSTION_COLUMNS = ("gross_0", "gross_15", "gross_15.55", "gross_20", "gross_25")


def _column(name: str) -> tuple[float, ...]:
    return tuple(TABLE.number(name, component=row[0]) for row in TABLE.rows)


MOLAR_MASSES = _column("molar_mass")
HYDROGEN_ATOMS = _column("hydrogen_atoms")
SUMMATION_FACTORS = tuple(_column(name) for name in METERING_COLUMNS)
GROSS_CALORIFIC_VALUES = tuple(_column(name) for name in COMBUSTION_COLUMNS)
