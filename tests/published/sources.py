"""The printed sources of the published checks, each named once, with what is uncertain about it."""

from __future__ import annotations

KHURMI = "R. S. Khurmi and J. K. Gupta, Theory of Machines"
JINDAL = "U. C. Jindal, Machine Design"
BHANDARI = "V. B. Bhandari, Design of Machine Elements"
WENTZELL = "T. H. Wentzell, Machine Design"
ESPOSITO = "A. Esposito, Fluid Power with Applications"
SULLIVAN = "J. Sullivan, Fluid Power: Theory and Applications, 4th ed."
FOX = "R. W. Fox and A. T. McDonald, Introduction to Fluid Mechanics"
MASSEY = "B. S. Massey and A. J. Ward-Smith, Mechanics of Fluids"
MUNSON = "B. R. Munson et al., Fundamentals of Fluid Mechanics"
LEXICON = "A pump maker's lexicon of fluid power"
STANDARD_ATMOSPHERE = "U.S. Standard Atmosphere, 1976"
ATMOSPHERE_BY_FEET = "A reference table of standard atmospheric data, psi by thousand feet"
BAROMETER_BY_FEET = "A reference table of barometric pressure by altitude, inches of mercury"
ORDNANCE = "US Army course OD1001"
D2270 = "ASTM D2270"
D341 = "A worksheet on ASTM D341"
GATE = "GATE examination, mechanical engineering"
B1_1 = "ASME B1.1, tables as reprinted for fastener users"
GRADE_FIVE = "A worked example of bolt torque by SAE J429"
DEALER = "A hardware dealer's tables of bolt torque, SAE J429"
TORQUE_CHART = "A chart of torque against tension for SAE J429 bolts"
ENGAGEMENT = "A published calculator of thread engagement"
GUIDE = "JCGM 100:2008, Guide to the expression of uncertainty in measurement"
SUPPLEMENT = "JCGM 101:2008, propagation of distributions using a Monte Carlo method"
TN1297 = "NIST Technical Note 1297"
CFR_429 = "US Code of Federal Regulations, title 10, part 429"
SOONG = "Fundamentals of Probability and Statistics for Engineers"
HANGING_RODS = "A worked exercise of physics, a ride hung on steel rods"
RING_CALCULATOR = "A published calculator of the stretch of O-rings"
STACK_FOUR = "A worked example of a tolerance stack of four parts"
STACK_HOUSING = "A worked example of a tolerance stack in a housing"
STACK_TEN = "A page on tolerance analysis by root sum of squares"
STRD = "NIST Statistical Reference Datasets, nonlinear regression"
MONTGOMERY = "D. C. Montgomery and G. C. Runger, Applied Statistics and Probability for Engineers"
TYRES = "A published table of tyre revolutions a mile"
NAVEDTRA = "NAVEDTRA 14105"
GLANDS = "A seal maker's guide, seal types and gland design"
ENERGY_OFFICE = "Nebraska Energy Office, table of conversion factors"
POCKET_TABLE = "An engineering pocket table of pressure units"
RUSSELL = "S. Russell and P. Norvig, Artificial Intelligence: A Modern Approach, 3rd ed."
MITCHELL = "T. Mitchell, Machine Learning, 1997"
WITTEN = "I. H. Witten and E. Frank, Data Mining, 2nd ed."
EHANDBOOK = "NIST/SEMATECH e-Handbook of Statistical Methods"
DECISION_LECTURE = "A lecture on decision analysis, the example of three investments"
GELMAN = "A commentary on A. Gelman et al., Bayesian Data Analysis, 3rd ed."

UNCERTAIN = {
    BHANDARI: "numbers read with chapter and example; that they are this book's is from memory",
    KHURMI: "edition unknown; that the governor exercises of chapter 18 are this book's is from memory",
    JINDAL: "edition unknown",
    B1_1: "read in two reprints, not in the standard",
    SUPPLEMENT: "read in a paper that reprints the table",
    D2270: "sections 5.1.4 and 6.1.4 read in a reprint",
}
