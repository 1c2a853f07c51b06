"""The bibliography: short keys, each with edition, year and clause. Every key is used, every use is keyed."""

SOURCES: dict[str, str] = {
    "GEOM-SAW": "Two circular cylinders with crossing axes at right angles: the saw's edge meets the bore where "
                "z = R -/+ sqrt(r^2 - x^2). Derivation in docs/geometry.md; checked against a boolean cut of solids.",
    "DARCY-WEISBACH": "Darcy-Weisbach equation with fittings as sums of K; any textbook of fluid mechanics. From "
                      "memory.",
    "HAGEN-POISEUILLE": "Laminar flow in a round pipe, v = d^2 dp/(32 mu L); any textbook of fluid mechanics. From "
                        "memory.",
    "COLEBROOK-1939": "Turbulent flow in pipes, with particular reference to the transition region between the smooth "
                      "and rough pipe laws, J. Institution of Civil Engineers 11 (1939) 133-156. Formula from memory.",
    "PRANDTL-SMOOTH": "Friction factors of smooth pipe by the law of Prandtl, as tabulated in textbooks of fluid "
                      "mechanics. From memory.",
    "OIL-PIPE-EXAMPLE": "Worked example of textbooks of fluid mechanics: oil, 900 kg/m3 and 1e-5 m2/s, 0.2 m3/s in "
                        "500 m of 200 mm cast iron pipe of roughness 0.26 mm. From memory.",
    "NACA-1135": "NACA Report 1135 (1953), equations, tables and charts for compressible flow, heat ratio 1.4. From "
                 "memory.",
    "NFPA-54-2012": "NFPA 54 / ANSI Z223.1-2012, National Fuel Gas Code: low-pressure formula and table for schedule "
                    "40 steel at 0.5 in w.c.; table read in a public copy, coefficients of the formula from memory.",
    "NFPA-54-OLDER": "An edition of NFPA 54 before the low-pressure formula: table for schedule 40 steel at 0.3 in "
                     "w.c., two to three figures, read in a public copy that does not name the year.",
    "IFGC-2018": "International Fuel Gas Code 2018: tables 402.4(20) and (21) for PE pipe and the symbols of appendix "
                 "A.4, read in a public copy.",
    "SPITZGLASS-LOW": "Spitzglass formula for gas below 1 psi, 3550 form, with worked example and table; read in "
                      "public copies of an engineering reference.",
    "POLE-FORMULA": "Pole's formula for low-pressure gas: metric constant 0.0071 and imperial 1350 with yards. From "
                    "memory.",
    "IEC-60079-10-1-2015": "IEC 60079-10-1:2015, annex B: release through a hole, subsonic and choked. Formulas from "
                           "memory; read in the same form in a public copy of gas discharge equations.",
    "CHOKED-CO2": "Fluid mechanics textbook, example 12-4: critical pressure of carbon dioxide in a nozzle; as quoted "
                  "in the documentation of fluids 1.3.1.",
    "CHOKED-N2": "Process safety textbook, problem on nitrogen from a 0.1 in hole at 200 psig. From memory; "
                 "arithmetic checked.",
    "ORIFICE-POINTS": "Points worked out from the formula of IEC 60079-10-1 apart from this program, R 8.314462618.",
    "FANNO-FLOW": "Adiabatic flow with friction in a pipe of constant bore; any textbook of gas dynamics. Formula "
                  "from memory, read in the same form in a public encyclopedia.",
    "FANNO-TABLE": "Table of adiabatic flow with friction, heat ratio 1.4, Aircraft Propulsion, 2nd ed., 2014, "
                   "appendix E; read in a public copy.",
    "FANNO-TABLES-AT-LARGE": "Tables of adiabatic flow with friction, heat ratio 1.4, as in any textbook of gas "
                             "dynamics. From memory.",
    "API-520": "API Standard 520 part I, example of sizing for critical and subcritical flow; as quoted in the "
               "documentation of fluids 1.3.1, edition not stated there.",
    "WELL-MIXED": "Well-mixed space: mass balance of gas and fresh air; any textbook of occupational hygiene. From "
                  "memory.",
    "HYGIENE-INTERVAL": "Occupational hygiene: time to reach a concentration in a ventilated room, worked example in "
                        "the documentation of an open statistics package; read in a public copy.",
    "DILUTION-POINTS": "Points worked out from the well-mixed equations apart from this program.",
    "BIPM-SI-2019": "BIPM, The International System of Units (SI), 9th edition, 2019: defining constants k and N_A, "
                    "whose product is R; degree Celsius in section 2.3.1.",
    "CGPM-10-1954": "10th General Conference on Weights and Measures, 1954, resolution 4: standard atmosphere "
                    "101 325 Pa.",
    "CGPM-3-1901": "3rd General Conference on Weights and Measures, 1901: standard acceleration 9.806 65 m/s2.",
    "IDEAL-GAS": "Equation of state of an ideal gas, p V = n R T, and its adiabatic; textbook thermodynamics.",
    "FLUID-MECHANICS": "Textbook fluid mechanics: hydrostatic head; laminar flow inverse to viscosity; flow through a "
                       "hole with the root of pressure over density.",
    "STATICS-FRICTION": "Textbook statics: force = pressure x area; friction = coefficient x normal force.",
    "CIRCUIT-THEORY": "Textbook electricity: R = rho l / A, U = I R, energy of an inductance L I^2 / 2.",
    "IGEM-UP-1": "IGEM/UP/1, tightness testing of installations: gauge readable movement and the rule TTD = GRM x IV x "
                 "F1; edition not stated, the gauge table read in a public copy, the rule and its factors from memory.",
    "NIST-SP-811": "NIST Special Publication 811, Guide for the Use of the SI, appendix B.9: factors for pressure, "
                   "read in public copies.",
    "IEC-60364-5-54": "IEC 60364-5-54 (BS 7671 tables 54.2 to 54.4): factor k and the adiabatic equation for "
                      "protective conductors; figures as quoted in public guides.",
    "IEC-60228-2004": "IEC 60228:2004, conductors of insulated cables: maximum resistance at 20 C, read in public "
                      "copies.",
    "IEC-60028-1925": "IEC 60028, standard of resistance for copper: annealed copper 1/58 ohm mm2/m at 20 C.",
    "NFPA-921-2017": "NFPA 921:2017, Guide for Fire and Explosion Investigations: ignition energies, as quoted on a "
                     "university's public page.",
    "ISO-TR-15916": "ISO/TR 15916, Basic considerations for the safety of hydrogen systems: ignition energy; from "
                    "memory.",
    "ISO-6976-2016": "ISO 6976:2016, Natural gas: calculation of calorific values, density, relative density and Wobbe "
                     "indices from composition: component tables and annex D; read in two open implementations.",
    "ISO-6976-1995": "ISO 6976:1995, the edition before, for comparison; values read in an open implementation.",
    "VDI-HEAT-ATLAS-2010": "VDI Heat Atlas, 2nd edition, 2010, part D3.1: viscosity of gases; read in a "
                           "machine-readable copy in an open library, the row of water from memory.",
    "POLING-2001": "The Properties of Gases and Liquids, 5th edition, 2001, appendix A: ideal-gas heat capacities; "
                   "read in a machine-readable copy in an open library.",
    "WILKE-1950": "A viscosity equation for gas mixtures, J. Chemical Physics 18 (1950) 517-519. Formula from memory.",
    "KESTIN-YATA-1968": "Viscosity and diffusion coefficients of six binary mixtures, J. Chemical Physics 49 (1968) "
                        "4780-4791, as quoted in a worked example of POLING-2001 chapter 9. From memory.",
    "LE-CHATELIER-1891": "The mixing rule for flammable limits of 1891, as in any textbook of process safety. From "
                         "memory.",
    "IEC-60079-20-1-2010": "IEC 60079-20-1:2010, Explosive atmospheres: material characteristics for gas and vapour "
                           "classification, annex B; read in a machine-readable copy in an open library.",
    "NFPA-497-2008": "NFPA 497:2008, Classification of flammable liquids, gases or vapors: flammable limits; read in a "
                     "machine-readable copy in an open library.",
    "GEOM-TUBE": "Two concentric circles: diameters and areas of a round tube.",
    "GEOM-SECTION": "Second moments of area of a ring and of a ring less a strip through its crown. Derivation in "
                    "docs/geometry.md; checked against polygons.",
    "BEAM-ELASTIC": "Elastic beams of constant section, the formulas of any handbook: fixed ends P L / 8 at mid-span, "
                    "free ends P L / 4, cantilever P L. Checked against a beam-element solution.",
    "ISO-4200-1991": "ISO 4200:1991, Plain end steel tubes, welded and seamless: general tables of dimensions and "
                     "masses per unit length; M = 0.0246615 (D - T) T, density 7.85 kg/dm3 (from memory).",
    "ISO-7-1-1994": "ISO 7-1:1994, Pipe threads where pressure-tight joints are made on the threads; thread form, "
                    "h = 0.640327 P (from memory).",
    "EN-10255-2004": "EN 10255:2004, Non-alloy steel tubes suitable for welding and threading, table 2. Outside "
                     "diameters read in public tables of the ISO 65 family; that EN 10255 carries them is from "
                     "memory.",
    "EN-1555-2": "EN 1555-2, Plastics piping systems for the supply of gaseous fuels, polyethylene, part 2: pipes. "
                 "From memory; its walls from 32 mm are those of public sheets of the same series.",
    "BS-1387-1985": "BS 1387:1985, Screwed and socketed steel tubes and tubulars, table 2, read in two public copies.",
    "ASME-B36.10-2018": "ASME B36.10M-2018, Welded and seamless wrought steel pipe, table 1 (from memory).",
    "STEEL-PROPERTIES": "EN 10255:2004 (S195T); ASTM A53/A53M (grades A and B); EN 1993-1-1:2005 clause 3.2.6 "
                        "(modulus, expansion); ISO 4200 (density). From memory.",
    "GEOM-BEND": "Two circular pipes in a bend, the inner one touching the outside of the straights and the inside of "
                 "the bend. Derivation in docs/geometry.md; checked against a search.",
    "CAPSTAN-EQUATION": "Capstan equation T_2 = T_1 e^(mu phi), with the friction of a straight length before it; "
                        "any textbook of statics.",
    "CAPSTAN-TABLE": "Public tables of the capstan equation: coefficient 0.3, half a turn 2.57, a turn 6.59.",
    "MINI-HDD-EXAMPLE": "Worked example of pulling PE by directional drilling: 600 ft, 7.8 lb/ft, a third as friction, "
                        "1.6 for each of 2.2 quarter turns; read in a public copy.",
    "PIPE-IN-PIPE-BUCKLING": "Buckling of pipe in horizontal holes, Chen, Lin and Cheatham: sinusoidal and helical "
                             "loads; as quoted in public papers.",
    "PE-PULL": "Allowable pull of PE pipe, ring area by the dimension ratio times the stress (ASTM F1804 form); "
               "formula from memory.",
    "PE-PULL-TABLE": "A seller's table of allowable pull, 12 h, IPS sizes, 1,100 psi; in a public copy.",
    "THERMAL-EXPANSION": "Linear thermal expansion; any textbook of physics.",
    "ENERGY-BALANCE": "Heat input = flow x calorific value, on one basis and at one reference; any textbook.",
    "FLOW-CONTINUITY": "Volume = flow x time, flow = mean velocity x area; any textbook of fluid mechanics.",
    "TAYLOR-ARIS": "Dispersion of soluble matter in solvent flowing slowly through a tube, Proc. Royal Society A 219 "
                   "(1953) 186-203, with Aris 1956. From memory.",
    "CREEP-POWER-LAW": "Linear viscoelastic creep with a modulus that falls with a power of time; any textbook of "
                       "plastics engineering. From memory.",
    "LAME-CYLINDER": "Lame's thick-walled cylinder under inner pressure with closed ends; any textbook of strength of "
                     "materials. Checked against an integration of the wall.",
    "SOIL-BULKING": "Bulking factors of earthworks; public tables and examples of volumes of clay.",
    "IPCC-AR6": "IPCC, Sixth Assessment Report, working group I, chapter 7: warming of fossil methane over a hundred "
                "years, 29.8. From memory.",
    "TRIANGULAR-DISTRIBUTION": "Triangular distribution: mean and variance; any textbook of statistics. From memory.",
    "VARIANCE-OF-A-SUM": "Variance of a sum of correlated quantities; any textbook of statistics.",
    "NORMAL-DISTRIBUTION": "Normal distribution and its quantiles; any textbook of statistics.",
    "STILLBORE-DEFINITION": "A sum or difference defined by this program; the formula is the whole of it.",
    "COMMON-PRACTICE": "Common practice of the trade, without a published source.",
}
