"""The constants of nature and of convention, each with the key of its source in ``sources.SOURCES``.

They are exact by definition; a contract test compares them with ``==``. Limits, thresholds and anything that an
operator may set differently are not constants: they stand in the rule set.
"""

# R = k N_A, both exact since 2019: 1.380649e-23 J/K times 6.02214076e23 /mol. [J/(mol K)] Source: BIPM-SI-2019.
# ISO 6976:2016 prints 8.3144621 (CODATA 2010, 6e-8 lower); a function that follows that table keeps the table's own.
R_MOLAR = 8.31446261815324

# Standard atmosphere. [Pa abs] Source: CGPM-10-1954, resolution 4.
STANDARD_ATMOSPHERE = 101325.0

# Standard acceleration of free fall. [m/s2] Source: CGPM-3-1901.
STANDARD_GRAVITY = 9.80665

# The zero of the Celsius scale. [K] Source: BIPM-SI-2019, section 2.3.1.
CELSIUS_ZERO = 273.15
