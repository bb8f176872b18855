"""The units a gearbox shop writes, each with its exact factor to SI.

Every factor is derived here from the defining constants below, so that none is a rounded copy.
Dimensions and the SI unit each one has inside the program:

length [m], area [m2], volume [m3], mass [kg], time [s], speed [m/s], rotation [rad/s], angle [rad],
force [N], torque [N m], pressure [Pa], temperature [K], temperature difference [K], power [W], energy [J],
voltage [V], current [A], resistance [ohm], number [1], flow [m3/s], density [kg/m3], inertia [kg m2],
viscosity [m2/s] (kinematic), dynamic viscosity [Pa s], displacement [m3/rad], leakage [m3/s/Pa],
flow droop [Pa s/m3], capacity factor [rad/s/sqrt(N m)], spring rate [N/m], force per turn [N/rad].

A pressure is a gauge pressure; a vacuum is a positive number below the atmosphere around it.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import NamedTuple

INCH = 0.0254  # [m], exact by definition (1959)
POUND = 0.45359237  # [kg], exact by definition (1959)
GRAVITY = 9.80665  # standard acceleration of free fall [m/s2], exact by definition (1901)
MERCURY = 13595.1  # density of the conventional inch of mercury, 0 degC [kg/m3]
WATER = 1000.0  # density of the conventional inch of water [kg/m3]
GALLON = 231 * INCH**3  # US gallon [m3], exact by definition
IMPERIAL_GALLON = 4.54609e-3  # [m3], exact by definition

FOOT = 12 * INCH
MILE = 5280 * FOOT
POUND_FORCE = POUND * GRAVITY
PSI = POUND_FORCE / INCH**2
LITRE = 1e-3
REV = 2 * pi
MINUTE = 60.0
RANKINE = 5 / 9


class Row(NamedTuple):
    """One unit: its name, what is printed, its dimension, SI = value*factor + offset, spellings."""

    name: str
    symbol: str
    dimension: str
    factor: float
    decimals: int
    spellings: str = ""
    offset: float = 0.0


# Spellings are separated by "|"; case, spaces, hyphens and full stops in them do not matter.
ROWS: tuple[Row, ...] = (
    Row("in", "in", "length", INCH, 3, '"|inch|inches|ins'),
    Row("mm", "mm", "length", 1e-3, 2, "millimetre|millimetres|millimeter|millimeters"),
    Row("thou", "thou", "length", INCH / 1000, 0, "thous|mil|mils|thousandth|thousandths"),
    Row("m", "m", "length", 1.0, 2, "metre|metres|meter|meters"),
    Row("cm", "cm", "length", 1e-2, 1, "centimetre|centimetres|centimeter|centimeters"),
    Row("um", "µm", "length", 1e-6, 0, "micron|microns|micrometre|micrometres|micrometer"),
    Row("ft", "ft", "length", FOOT, 1, "'|foot|feet"),
    Row("mile", "miles", "length", MILE, 0, "miles|mi"),
    Row("km", "km", "length", 1e3, 0, "kilometre|kilometres|kilometer|kilometers|kms"),
    Row("cm2", "cm²", "area", 1e-4, 2, "sq cm|square centimetre|square centimetres"),
    Row("mm2", "mm²", "area", 1e-6, 0, "sq mm|square millimetre|square millimetres"),
    Row("m2", "m²", "area", 1.0, 3, "sq m|square metre"),
    Row("in2", "in²", "area", INCH**2, 2, "sq in|square inch|square inches"),
    Row("qt", "US qt", "volume", GALLON / 4, 1, "quart|quarts|qts|us qt|us quart|us quarts|us qts"),
    Row("pint", "US pint", "volume", GALLON / 8, 1, "pints|pt|pts|us pint|us pints|us pt"),
    Row("gal", "US gal", "volume", GALLON, 1, "gallon|gallons|us gal|us gallon|us gallons"),
    Row("fl oz", "US fl oz", "volume", GALLON / 128, 0, "fluid ounce|fluid ounces|us fl oz"),
    Row("imp qt", "imp qt", "volume", IMPERIAL_GALLON / 4, 1, "imperial quart|imperial quarts|imp quart"),
    Row("imp pint", "imp pint", "volume", IMPERIAL_GALLON / 8, 1, "imperial pint|imperial pints|imp pt"),
    Row("imp gal", "imp gal", "volume", IMPERIAL_GALLON, 1, "imperial gallon|imperial gallons"),
    Row("l", "l", "volume", LITRE, 1, "litre|litres|liter|liters|ltr"),
    Row("ml", "ml", "volume", 1e-6, 0, "millilitre|millilitres|milliliter|milliliters"),
    Row("cm3", "cm³", "volume", 1e-6, 0, "cc|ccm|ccs|cu cm|cubic centimetre|cubic centimetres"),
    Row("m3", "m³", "volume", 1.0, 4, "cubic metre|cubic metres"),
    Row("in3", "in³", "volume", INCH**3, 2, "cu in|cubic inch|cubic inches"),
    Row("g", "g", "mass", 1e-3, 1, "gram|grams|gramme|grammes|gm"),
    Row("kg", "kg", "mass", 1.0, 2, "kilogram|kilograms|kilo|kilos"),
    Row("lb", "lb", "mass", POUND, 1, "lbs|pound|pounds|lbm"),
    Row("oz", "oz", "mass", POUND / 16, 2, "ounce|ounces"),
    Row("s", "s", "time", 1.0, 2, "sec|secs|second|seconds"),
    Row("ms", "ms", "time", 1e-3, 0, "millisecond|milliseconds"),
    Row("min", "min", "time", MINUTE, 0, "mins|minute|minutes"),
    Row("h", "h", "time", 3600.0, 2, "hr|hrs|hour|hours"),
    Row("day", "days", "time", 86400.0, 0, "days"),
    Row("mph", "mph", "speed", MILE / 3600, 0, "mi/h|miles/hour|miles an hour|mile/hour|mile an hour"),
    Row("km/h", "km/h", "speed", 1 / 3.6, 0, "kmh|kph|kmph|km an hour|kilometres/hour|kms/h"),
    Row("m/s", "m/s", "speed", 1.0, 1, "metres/second|m/sec"),
    Row("rpm", "rpm", "rotation", REV / MINUTE, 0, "rev/min|revs/min|r/min|revs|revs a minute"),
    Row("rad/s", "rad/s", "rotation", 1.0, 1, "rad/sec"),
    Row("deg", "°", "angle", pi / 180, 0, "degree|degrees|angular degree"),
    Row("turn", "turns", "angle", REV, 2, "turns|rev|revolution|revolutions"),
    Row("rad", "rad", "angle", 1.0, 3, "radian|radians"),
    Row("N", "N", "force", 1.0, 0, "newton|newtons"),
    Row("kN", "kN", "force", 1e3, 2, "kilonewton|kilonewtons"),
    Row("lbf", "lbf", "force", POUND_FORCE, 1, "lb|lbs|pound|pounds|pounds force|pound force"),
    Row("kgf", "kgf", "force", GRAVITY, 1, "kg|kp|kilopond"),
    Row("lb ft", "lb ft", "torque", POUND_FORCE * FOOT, 0,
        "ft lb|ft lbs|lbs ft|lbf ft|ft lbf|foot pound|foot pounds|pound foot|pounds foot|pound feet"),
    Row("lb in", "lb in", "torque", POUND_FORCE * INCH, 0,
        "in lb|in lbs|lbs in|lbf in|in lbf|inch pound|inch pounds|pound inch|pound inches"),
    Row("N m", "N m", "torque", 1.0, 0, "newton metre|newton metres|newton meter|newton meters"),
    Row("kgf m", "kgf m", "torque", GRAVITY, 1, "kg m|m kg|m kgf|mkp|kpm"),
    Row("psi", "psi", "pressure", PSI, 0,
        "psig|lb/in2|lbs/in2|lbf/in2|lb/sq in|lbs/sq in|lbf/sq in|pounds/square inch|pound/square inch"
        "|pounds/sq in|lb|lbs|pound|pounds|lbs of pressure|pounds of pressure|pounds pressure|#"),
    Row("bar", "bar", "pressure", 1e5, 2, "bars|barg"),
    Row("kPa", "kPa", "pressure", 1e3, 0, "kilopascal|kilopascals"),
    Row("inHg", "inHg", "pressure", MERCURY * GRAVITY * INCH, 1,
        "in|ins|inch|inches|\"|in of hg|ins of hg|\"hg|\" of hg|inch of hg|inches of hg|inch hg|inches hg"
        "|in of mercury|inch of mercury|inches of mercury|\" of mercury|inches mercury|in mercury|\"mercury"
        "|in of vacuum|ins of vacuum|inch of vacuum|inches of vacuum|\" of vacuum|in vacuum|inches vacuum"
        "|inch vacuum|\"vacuum|in vac|\"vac|in of vac|inches of vac|\" of vac|vacuum|vac|of vacuum"),
    Row("Pa", "Pa", "pressure", 1.0, 0, "pascal|pascals|n/m2"),
    Row("MPa", "MPa", "pressure", 1e6, 3, "megapascal|megapascals|n/mm2"),
    Row("mbar", "mbar", "pressure", 100.0, 0, "millibar|millibars|hpa"),
    Row("mmHg", "mmHg", "pressure", MERCURY * GRAVITY * 1e-3, 0, "mm of hg|mm of mercury|torr"),
    Row("inH2O", "inH2O", "pressure", WATER * GRAVITY * INCH, 1, "in of water|inches of water|\"h2o"),
    Row("kgf/cm2", "kgf/cm²", "pressure", GRAVITY * 1e4, 2, "kg/cm2|kg/sq cm|kp/cm2"),
    Row("degF", "°F", "temperature", RANKINE, 0, "f|fahrenheit|deg|degree|degrees|deg fahrenheit"
        "|degrees fahrenheit|degrees f|degree f", 273.15 - 32 * RANKINE),
    Row("degC", "°C", "temperature", 1.0, 0, "c|celsius|centigrade|deg|degree|degrees|deg celsius"
        "|degrees celsius|degrees centigrade|degrees c|degree c", 273.15),
    Row("K", "K", "temperature", 1.0, 1, "kelvin|kelvins"),
    Row("degF difference", "°F", "temperature difference", RANKINE, 0,
        "degf|f|fahrenheit|deg|degree|degrees|degrees f|fahrenheit degrees|f degrees"),
    Row("degC difference", "°C", "temperature difference", 1.0, 0,
        "degc|c|celsius|deg|degree|degrees|degrees c|celsius degrees|c degrees"),
    Row("K difference", "K", "temperature difference", 1.0, 1, "k|kelvin|kelvins"),
    Row("W", "W", "power", 1.0, 0, "watt|watts"),
    Row("kW", "kW", "power", 1e3, 1, "kilowatt|kilowatts"),
    Row("hp", "hp", "power", 550 * FOOT * POUND_FORCE, 0, "bhp|horsepower"),
    Row("J", "J", "energy", 1.0, 0, "joule|joules"),
    Row("kJ", "kJ", "energy", 1e3, 1, "kilojoule|kilojoules"),
    Row("V", "V", "voltage", 1.0, 1, "volt|volts"),
    Row("A", "A", "current", 1.0, 1, "amp|amps|ampere|amperes"),
    Row("ohm", "Ω", "resistance", 1.0, 1, "ohms|ω"),
    Row("", "", "number", 1.0, 3, "1"),
    Row("%", "%", "number", 0.01, 1, "percent|per cent|pc|pct"),
    Row("times", "times", "number", 1.0, 0, "time|x"),
    Row("teeth", "teeth", "number", 1.0, 0, "tooth"),
    Row("plates", "plates", "number", 1.0, 0, "plate|faces|face"),
    Row("m3/s", "m³/s", "flow", 1.0, 6),
    Row("l/min", "l/min", "flow", LITRE / MINUTE, 1, "lpm|litres/minute|liters/minute|litres a minute"),
    Row("cm3/s", "cm³/s", "flow", 1e-6, 1, "cc/s|cc/sec|ml/s"),
    Row("gal/min", "US gal/min", "flow", GALLON / MINUTE, 1, "gpm|us gal/min|gallons/minute"),
    Row("qt/min", "US qt/min", "flow", GALLON / 4 / MINUTE, 1, "us qt/min|quarts/minute|qts/min"),
    Row("kg/m3", "kg/m³", "density", 1.0, 0),
    Row("g/cm3", "g/cm³", "density", 1e3, 3, "kg/l|g/ml|g/cc"),
    Row("kg m2", "kg m²", "inertia", 1.0, 4, "kgm2"),
    Row("lb ft2", "lb ft²", "inertia", POUND * FOOT**2, 3),
    Row("cSt", "cSt", "viscosity", 1e-6, 1, "mm2/s|centistoke|centistokes"),
    Row("m2/s", "m²/s", "viscosity", 1.0, 7),
    Row("Pa s", "Pa s", "dynamic viscosity", 1.0, 4),
    Row("cP", "cP", "dynamic viscosity", 1e-3, 1, "mpa s|centipoise"),
    Row("cm3/rev", "cm³/rev", "displacement", 1e-6 / REV, 1, "cc/rev|cm3/turn|ml/rev"),
    Row("in3/rev", "in³/rev", "displacement", INCH**3 / REV, 3, "cu in/rev"),
    Row("m3/rad", "m³/rad", "displacement", 1.0, 9),
    Row("cm3/s/psi", "cm³/s/psi", "leakage", 1e-6 / PSI, 4, "cc/s/psi|cm3/(s psi)"),
    Row("m3/s/Pa", "m³/s/Pa", "leakage", 1.0, 15, "m3/(s pa)"),
    Row("psi/(l/min)", "psi/(l/min)", "flow droop", PSI / (LITRE / MINUTE), 3, "psi/l/min|psi/lpm"),
    Row("Pa s/m3", "Pa s/m³", "flow droop", 1.0, 0),
    Row("rpm/sqrt(lb ft)", "rpm/√(lb ft)", "capacity factor",
        REV / MINUTE / sqrt(POUND_FORCE * FOOT), 1, "rpm/√(lb ft)|rpm/√lb ft|rpm/sqrt(ft lb)|rpm/√(ft lb)"),
    Row("rpm/sqrt(N m)", "rpm/√(N m)", "capacity factor", REV / MINUTE, 1, "rpm/√(n m)"),
    Row("rad/s/sqrt(N m)", "rad/s/√(N m)", "capacity factor", 1.0, 3, "rad/s/√(n m)"),
    Row("psi/in", "psi/in", "pressure per length", PSI / INCH, 1, "psi/inch"),
    Row("kPa/mm", "kPa/mm", "pressure per length", 1e6, 2),
    Row("Pa/m", "Pa/m", "pressure per length", 1.0, 0),
    Row("N/mm", "N/mm", "spring rate", 1e3, 2),
    Row("N/m", "N/m", "spring rate", 1.0, 0),
    Row("lb/in", "lb/in", "spring rate", POUND_FORCE / INCH, 1, "lbf/in|lbs/in|lb/inch|lbs/inch|pounds/inch"),
    Row("N/turn", "N/turn", "force per turn", 1 / REV, 2, "n/rev"),
    Row("lbf/turn", "lbf/turn", "force per turn", POUND_FORCE / REV, 2, "lb/turn|lbs/turn|pounds/turn"),
    Row("N/rad", "N/rad", "force per turn", 1.0, 3),
)  # fmt: skip

# What to offer first where a figure has no unit or the wrong one; every other unit is still understood.
EVERYDAY: dict[str, tuple[str, ...]] = {
    "length": ("in", "mm", "thou"),
    "pressure": ("psi", "bar", "kPa", "inHg"),
    "speed": ("mph", "km/h"),
    "rotation": ("rpm",),
    "torque": ("lb ft", "N m", "lb in"),
    "temperature": ("degF", "degC"),
    "temperature difference": ("degF difference", "degC difference"),
    "volume": ("qt", "l", "pint", "cm3"),
    "time": ("s", "min", "h"),
    "mass": ("g", "kg", "lb", "oz"),
    "force": ("N", "lbf"),
    "area": ("cm2", "in2"),
    "angle": ("deg", "turn"),
    "flow": ("l/min", "gal/min"),
}
