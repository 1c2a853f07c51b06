"""The bibliography: short keys, each with edition, year and clause. Every key is used, every use is keyed."""

SOURCES: dict[str, str] = {
    "GEOM-SAW": "Two circular cylinders with crossing axes at right angles: the saw's edge meets the bore where "
                "z = R -/+ sqrt(r^2 - x^2). Derivation in docs/geometry.md; checked against a boolean cut of solids.",
    "COMMON-PRACTICE": "Common practice of the trade, without a published source.",
}
