"""Units of measure as workshops write them, and how they turn into the unit of a quantity.

A small table instead of a units library: the library takes longer to load than a whole query.
Every line is tested against that library. Conversions are done in decimal arithmetic, so that
``300 mV`` becomes exactly 0.3.
"""

import re
from dataclasses import dataclass, field
from decimal import Context, Decimal
from functools import cache, lru_cache

from kb.case import Quantity

# Enough digits that no conversion of a 17-digit number is rounded before it becomes a float; too
# large a number becomes infinite instead of raising.
_EXACT = Context(prec=60, Emax=999_999, Emin=-999_999, traps=[])


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: value in ``quantity.unit`` = (typed number - offset) x factor / divisor."""

    symbol: str
    quantity: Quantity
    factor: Decimal = Decimal(1)
    divisor: Decimal = Decimal(1)
    offset: Decimal = Decimal(0)
    scale: float = field(init=False, repr=False, compare=False)
    """Factor / divisor."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "scale", float(self.factor / self.divisor))

    def convert(self, number: Decimal) -> float:
        """Turn a number, not NaN, into the unit of the quantity; infinite if too large for a float.

        Examples
        --------
        >>> find_unit("°F").convert(Decimal(212))
        100.0
        """
        scaled = _EXACT.multiply(_EXACT.subtract(number, self.offset), self.factor)
        return float(_EXACT.divide(scaled, self.divisor))


def _unit(
    symbol: str, quantity: Quantity, factor: str = "1", divisor: str = "1", offset: str = "0"
) -> Unit:
    return Unit(symbol, quantity, Decimal(factor), Decimal(divisor), Decimal(offset))


_Q = Quantity
PLAIN_DEGREES = frozenset(
    (
        *("°", "deg", "degs", "degree", "degrees", "grad"),
        *("degré", "degrés", "degre", "degres", "stopni", "stopnie", "stopień"),
    )
)
"""Degrees, of an angle or of a scale that is not told."""
_OF_THE_CRANK = (
    "btdc",
    "beforetdc",
    "kw",
    "ca",
    "crank",
    "vot",
    "v.ot",
    "vorot",
    "kwvot",
    "kwvorot",
)
_CRANK_DEGREES = [
    sign + of for sign in ("°", "deg", "degs", "degrees", "grad") for of in _OF_THE_CRANK
]
"""Degrees of the crankshaft, ahead of top dead centre where that is said."""
# Unit, then the spellings that people use for it besides its symbol. A spelling with a capital
# that matters (mΩ and MΩ) is looked up as written; all others in any case.
_TABLE: tuple[tuple[Unit, str], ...] = (
    (_unit("Ω", _Q.RESISTANCE), "ohm ohms r Ω"),
    (_unit("mΩ", _Q.RESISTANCE, "1e-3"), "milliohm milliohms"),
    (_unit("kΩ", _Q.RESISTANCE, "1e3"), "kohm kohms kiloohm kiloohms kilohm kilohms k kr"),
    (_unit("MΩ", _Q.RESISTANCE, "1e6"), "megohm megohms megaohm megaohms megs meg"),
    (_unit("V", _Q.VOLTAGE), "volt volts vdc vac"),
    (_unit("µV", _Q.VOLTAGE, "1e-6"), "uv microvolt microvolts"),
    (_unit("mV", _Q.VOLTAGE, "1e-3"), "millivolt millivolts mvdc mvac"),
    (_unit("kV", _Q.VOLTAGE, "1e3"), "kilovolt kilovolts"),
    (_unit("A", _Q.CURRENT), "amp amps ampere amperes"),
    (_unit("mA", _Q.CURRENT, "1e-3"), "milliamp milliamps milliampere milliamperes"),
    (_unit("µA", _Q.CURRENT, "1e-6"), "ua microamp microamps"),
    (_unit("Pa", _Q.PRESSURE), "pascal pascals"),
    (_unit("hPa", _Q.PRESSURE, "1e2"), "hectopascal"),
    (_unit("kPa", _Q.PRESSURE, "1e3"), "kilopascal kilopascals"),
    (_unit("MPa", _Q.PRESSURE, "1e6"), "megapascal megapascals"),
    (_unit("bar", _Q.PRESSURE, "1e5"), "bars"),
    (_unit("mbar", _Q.PRESSURE, "1e2"), "millibar millibars"),
    # pound-force per square inch: 0.45359237 kg x 9.80665 m/s² / (0.0254 m)²
    (_unit("psi", _Q.PRESSURE, "4.4482216152605", "0.00064516"), "lb/in2 lbf/in2 psig"),
    # conventional mercury, 13.5951 g/cm³ x 9.80665 m/s²
    (_unit("inHg", _Q.PRESSURE, "3386.388640341"), "in.hg in/hg inchhg incheshg"),
    (_unit("mmHg", _Q.PRESSURE, "133.322387415"), ""),
    (_unit("kgf/cm²", _Q.PRESSURE, "98066.5"), "kg/cm2 kgf/cm2 kg/cm²"),
    (_unit("°C", _Q.TEMPERATURE), "c degc celsius ℃"),
    (_unit("°F", _Q.TEMPERATURE, "5", "9", "32"), "f degf fahrenheit ℉"),
    (_unit("Hz", _Q.FREQUENCY), "hertz"),
    (_unit("kHz", _Q.FREQUENCY, "1e3"), "kilohertz"),
    (_unit("MHz", _Q.FREQUENCY, "1e6"), "megahertz"),
    (_unit("rpm", _Q.ROTATION), "r/min rev/min revs u/min umdr/min tr/min tours/min obr/min"),
    (_unit("s", _Q.TIME), "sec secs second seconds"),
    (_unit("ms", _Q.TIME, "1e-3"), "msec msecs millisecond milliseconds"),
    (_unit("µs", _Q.TIME, "1e-6"), "us usec microsecond microseconds"),
    (_unit("min", _Q.TIME, "60"), "mins minute minutes"),
    (_unit("h", _Q.TIME, "3600"), "hr hrs hour hours"),
    (_unit("m", _Q.LENGTH), "metre metres meter meters"),
    (_unit("mm", _Q.LENGTH, "1e-3"), "millimetre millimetres millimeter millimeters"),
    (_unit("cm", _Q.LENGTH, "1e-2"), "centimetre centimetres"),
    (_unit("µm", _Q.LENGTH, "1e-6"), "um micron microns"),
    (_unit("km", _Q.LENGTH, "1e3"), "kms kilometre kilometres"),
    (_unit("in", _Q.LENGTH, "0.0254"), 'inch inches "'),
    (_unit("thou", _Q.LENGTH, "0.0000254"), ""),
    (_unit("mile", _Q.LENGTH, "1609.344"), "miles mi"),
    (_unit("m/s", _Q.SPEED), ""),
    (_unit("km/h", _Q.SPEED, "1", "3.6"), "kmh kph"),
    (_unit("mph", _Q.SPEED, "0.44704"), ""),
    (_unit("g", _Q.MASS), "gram grams"),
    (_unit("g/s", _Q.MASS_FLOW), "gps g/sec"),
    (_unit("kg/h", _Q.MASS_FLOW, "1", "3.6"), "kg/hr"),
    # no litre: what is told in litres is an engine or a filling
    (_unit("ml", _Q.VOLUME), "millilitre millilitres milliliter milliliters"),
    (_unit("N·m", _Q.TORQUE), "nm n.m n-m newtonmetre newtonmetres"),
    # pound-force (4.4482216152605 N) x foot (0.3048 m) or inch (0.0254 m)
    (_unit("ft-lb", _Q.TORQUE, "1.3558179483314004"), "lb-ft ftlb ftlbs lbft lbsft ft-lbs lbf-ft"),
    (_unit("in-lb", _Q.TORQUE, "0.1129848290276167"), "inlb inlbs in-lbs lb-in"),
    (_unit("°", _Q.ANGLE), " ".join(("btdc", *sorted(PLAIN_DEGREES), *_CRANK_DEGREES))),
    (_unit("%", _Q.PROPORTION), "percent pct"),
    (_unit("ppm", _Q.PROPORTION, "1e-4"), ""),
    (_unit("times", _Q.COUNT), "count counts pulses flashes blinks"),
    # the air there is, in times of the air that the fuel takes
    (_unit("λ", _Q.COUNT), ""),
)

UNITS = tuple(unit for unit, _ in _TABLE)

AMBIGUOUS = {
    "mohm": "mΩ (milliohm) or MΩ (megohm)",
    "mohms": "mΩ (milliohm) or MΩ (megohm)",
}
"""Lower-cased spellings that mean two units; only ``Mohm`` says which, by its one capital."""


def squeeze(text: str) -> str:
    """Bring the signs of one unit to one spelling: no spaces, one sign each for Ω, µ and °."""
    for sign, ours in (("\u2126", "Ω"), ("\u03bc", "µ"), ("º", "°"), ("˚", "°"), (" ", "")):
        text = text.replace(sign, ours)
    return text


@cache
def _exact_spellings() -> dict[str, Unit]:
    table = {unit.symbol: unit for unit, _ in _TABLE}
    mega = table["MΩ"]
    capitals = dict.fromkeys(("Mohm", "Mohms", "MOhm", "MOhms", "M"), mega)
    return table | capitals | dict.fromkeys(("mOhm", "mOhms"), table["mΩ"])


@cache
def _loose_spellings() -> dict[str, Unit]:
    table: dict[str, Unit] = {}
    for unit, more in _TABLE:
        for spelling in (unit.symbol, *more.split()):
            table.setdefault(spelling.lower(), unit)
    del table["mω"]  # the lower case of both mΩ and MΩ
    return table


@lru_cache(maxsize=4096)
def find_unit(text: str) -> Unit | None:
    """Look a unit up by what people write: ``kohm``, ``MΩ``, ``deg C``, ``ft lb``.

    None when the spelling is not known, or means two units (`AMBIGUOUS`).

    Examples
    --------
    >>> find_unit("KPA").symbol, find_unit("MΩ").symbol, find_unit("mΩ").symbol
    ('kPa', 'MΩ', 'mΩ')
    >>> find_unit("mohm") is None
    True
    """
    spelling = squeeze(text.strip())
    return _exact_spellings().get(spelling) or _loose_spellings().get(spelling.lower())


def spellings() -> tuple[str, ...]:
    """Every spelling the table knows, longest first; for building patterns."""
    known = {*_exact_spellings(), *_loose_spellings(), *AMBIGUOUS}
    return tuple(sorted(known, key=lambda text: (-len(text), text)))


_PREFIXES = {
    Quantity.RESISTANCE: ("Ω", "kΩ", "MΩ"),
    Quantity.VOLTAGE: ("µV", "mV", "V", "kV"),
    Quantity.CURRENT: ("µA", "mA", "A"),
    Quantity.PRESSURE: ("Pa", "kPa", "bar"),
    Quantity.FREQUENCY: ("Hz", "kHz", "MHz"),
    Quantity.TIME: ("µs", "ms", "s"),
    Quantity.LENGTH: ("mm", "m"),
    Quantity.SPEED: ("km/h",),
    Quantity.COUNT: ("times",),
}


def format_value(
    value: float, quantity: Quantity, digits: int | None = None, unit: Unit | None = None
) -> str:
    """Print a value in a unit of its quantity, else in the trade's that keeps its number short.

    The value is finite and in ``quantity.unit``. Without a number of significant digits the text
    parses back to the same value.

    Examples
    --------
    >>> format_value(2700.0, Quantity.RESISTANCE), format_value(0.3, Quantity.VOLTAGE)
    ('2.7 kΩ', '300 mV')
    >>> format_value(220632.2336, Quantity.PRESSURE, digits=3)
    '2.21 bar'
    >>> format_value(220632.2336, Quantity.PRESSURE, digits=3, unit=find_unit("psi"))
    '32 psi'
    """
    exact = Decimal(repr(float(value)))
    if unit is not None and unit.quantity is quantity:
        scaled = _EXACT.divide(_EXACT.multiply(exact, unit.divisor), unit.factor)
        number = _EXACT.add(scaled, unit.offset)
        number = number if digits is None else Context(prec=digits).plus(number)
        return f"{_plain(number)} {unit.symbol}"
    if digits is not None:
        exact = Context(prec=digits).plus(exact)
    units = [_exact_spellings()[name] for name in _PREFIXES.get(quantity, (quantity.unit,))]
    fitting = [unit for unit in units if abs(exact) * unit.divisor >= unit.factor]
    unit = fitting[-1] if fitting else units[0]
    if not exact:
        unit = next((unit for unit in units if unit.symbol == quantity.unit), units[0])
    number = _EXACT.divide(_EXACT.multiply(exact, unit.divisor), unit.factor)
    text = _plain(number)
    if quantity is Quantity.ROTATION and re.fullmatch(r"-?[1-9][0-9]{0,2}\.[0-9]{3}", text):
        text += "0"  # 1.200 rpm may be read as 1200
    return f"{text} {unit.symbol}"


def _plain(number: Decimal) -> str:
    number = _EXACT.plus(number).normalize(_EXACT) if number else Decimal(0)
    longest = 15
    if abs(number.adjusted()) > longest:
        return str(number).replace("E+", "e").replace("E", "e")
    return f"{number:f}"
