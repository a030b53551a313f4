"""One measured value as people write it: number, unit, and what is known of it if not exact."""

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from kb.case import Quantity, Relation
from kb.errors import InvalidField
from kb.intake.grammar import with_article
from kb.intake.units import AMBIGUOUS, Unit, find_unit, spellings, squeeze
from kb.patterns import compiled


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """A value in ``quantity.unit``, as in `kb.case.Reading`; `typed` is the text it came from."""

    quantity: Quantity
    typed: str
    relation: Relation = Relation.EXACT
    value: float | None = None
    upper: float | None = None
    condition: str | None = None


_NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?"
_SPACED_UNITS = (
    r"deg\.?\s*[CF]",
    r"°\s*[CF]",
    r"[kKmM]\s(?:ohms?|Ω)",
    r"(?:ft|lbf?|in)[\s.·-]{1,3}(?:lbs?|lbf|ft|in)",
    r"N[\s.·-]{1,3}m",
    r"m?V\s[AD]C",
    r"(?:in(?:ch(?:es)?)?|mm)[./]?\s?Hg",
    r"(?:km|kg)\s?/\s?hr?",
    r"g\s?/\s?s(?:ec)?",
    r"(?:deg(?:s|rees)?|grad|°)\s?(?:BTDC|before\sTDC|(?:KW\s?)?v(?:\.\s?|or\s?|\s)?OT|KW|CA|crank)",
)


def _by_first_letter(texts: Iterable[str]) -> Iterator[str]:
    """Yield a pattern for all texts that begin alike: others are ruled out at once."""
    rests: dict[str, list[str]] = {}
    for text in texts:
        rests.setdefault(text[0].lower(), []).append(re.escape(text[1:]))
    for first, rest in rests.items():
        yield f"{re.escape(first)}(?:{'|'.join(rest)})"


UNIT = (
    "(?![0-9])(?:"
    + "|".join((*_SPACED_UNITS, *_by_first_letter(filter(None, spellings()))))
    + r")(?![^\W_]|°|-[A-Za-z]\b)(?!(?:(?<=in)|(?<=sec))\s+[0-9])"
)
_OVER = (
    r"(?:OL|O\.L\.?|O/L|0L|(?<!wide )(?<!fully )(?<!half )(?<!throttle )"
    r"open(?:[ -]?(?:circuit|cct))?|o/c|infinit[ey]|infinity|inf|∞|over[ -]?range|over[ -]?load"
    r"|off[ -]scale|no continuity|unendlich|infinie?)(?![A-Za-z0-9])"
)
_RELATIONS = {
    Relation.ABOVE: r">=?|≥|over|above|more than|greater than|at least"
    r"|größer(?: als)?|mindestens|über",
    Relation.BELOW: r"<=?|≤|under|below|less than|at most|up to"
    r"|kleiner(?: als)?|höchstens|unter",
}
_ROUGHLY = r"(?:~|≈|approx\.?|about|around|roughly|circa|ca\.)"
_TO = r"(?:(?<!\s)-|-(?=\s)|to\b|\.\.+|…)"  # "2 -1 %" tells two numbers

_GAP = r"\s{0,3}"

VALUE = compiled(
    r"(?<![A-Za-z0-9.,])"
    rf"(?:(?![0-9\s])(?:(?P<above>{_RELATIONS[Relation.ABOVE]})|(?P<below>{_RELATIONS[Relation.BELOW]})"
    rf"|{_ROUGHLY}){_GAP})?"
    rf"(?:(?![1-9\s])(?P<over>{_OVER})(?:{_GAP}(?P<over_unit>{UNIT}))?"
    r"|(?P<rkm>[+-]?[0-9]++[RKM][0-9]++|[0-9]{1,2}V[0-9]{1,2}|R[0-9]++|[+-]?[0-9]{1,2}[d°][0-5][0-9]'?)"
    rf"(?:\s?(?:ohms?|Ω))?(?![A-Za-z0-9.,]*[A-Za-z0-9])"
    rf"|(?P<low>{_NUMBER}){_GAP}(?P<low_unit>{UNIT})?{_GAP}{_TO}{_GAP}(?P<high>{_NUMBER}){_GAP}"
    rf"(?P<high_unit>{UNIT})"
    rf"|(?P<number>{_NUMBER}){_GAP}(?P<unit>{UNIT}))",
    re.IGNORECASE,
)
"""A value with its unit, anywhere in a text prepared by `prepare`."""

_BARE = compiled(rf"(?:{_ROUGHLY}\s*)?({_NUMBER})(?![A-Za-z0-9])", re.IGNORECASE)
_BETWEEN = compiled(r"^between\s+([^\S\n]|.+?(?<!\s))\s+and\s+", re.IGNORECASE)
_CONDITION_WORD = compiled(r"^(?:@|at\b|when\b|while\b|with\b|,|;|:|\()\s*", re.IGNORECASE)


def prepare(text: str) -> str:
    """Bring signs of minus, dashes, units and arrows to one form each; the length stays the same.

    Examples
    --------
    >>> prepare("12.6V -> 11.9V"), prepare("idle => 900 rpm"), prepare("780 1/min")
    ('12.6V  → 11.9V', 'idle => 900 rpm', '780 U/min')
    """
    plain = _ARROW.sub(lambda arrow: "→".rjust(len(arrow[0])), text.translate(_ONE_FORM))
    return _PER_MINUTE.sub("U/min", plain)


_PER_MINUTE = compiled(r"(?<=[0-9] )(?:1/min|min-1)(?!\w)", re.IGNORECASE)
"""Revolutions, as German instruments have them; ``U/min`` is as long and begins with a letter."""


# "=>" is an arrow between two values, and elsewhere a slip for "at least".
_ARROW = compiled(
    r"-+>|(?:(?<=[0-9])|(?<=[0-9][\w%°])|(?<=[0-9]\s)|(?<=[0-9][\w%°]\s))=>(?=\s?[0-9.])"
)
_ONE_FORM = str.maketrans("−–—‐‑‒\u2126\u03bcº˚\u00a0\u202f\u2009", "------Ωµ°°   ")


def parse_value(text: str, quantity: Quantity | None = None) -> Value:
    """Read a value with its unit.

    As ``2.3 ohm``, ``4k7``, ``0,3V``, ``>10 Mohm``, ``0.2–0.4 mm``, ``OL``, ``14.2V @ 2000 rpm``.
    What follows the value becomes its condition. Where the quantity is not known ``OL`` is taken as
    a resistance; over range a value has no number.

    Raises
    ------
    InvalidField
        If there is no value, no unit, two values, a unit of another quantity, or more than one
        way to read it (``5 m ohm``, ``2,100 ohm``): the message says how to write it.

    References
    ----------
    ``4k7``: IEC 60062, letter in place of the decimal point.

    Examples
    --------
    >>> parse_value("300 mV").value, parse_value("2k1").value, parse_value("OL").relation.value
    (0.3, 2100.0, 'over range')
    >>> parse_value("14.2V @ 2000 rpm").condition
    '2000 rpm'
    >>> parse_value("5 m ohm")
    Traceback (most recent call last):
    kb.errors.InvalidField: reading: '5 m ohm' has a unit that may be mΩ (milliohm) or MΩ ...
    """
    typed = text.strip()
    plain = _BETWEEN.sub(r"\1 to ", prepare(typed))
    match = VALUE.match(plain)
    if match is None:
        return _bare_count(typed, plain, quantity)
    rest = plain[match.end() :].strip()
    condition = _CONDITION_WORD.sub("", rest)
    if rest == condition and (VALUE.match(rest) or re.match(r"[/+-]\s*[0-9]", rest)):
        raise _refused(typed, "holds two values; write one, and a condition after @")
    condition = condition.rstrip(" .,;:").removesuffix("" if "(" in condition else ")")
    return read_match(match, typed, quantity, condition or None)


def read_match(
    match: re.Match[str], typed: str, quantity: Quantity | None = None, condition: str | None = None
) -> Value:
    """Turn a match of `VALUE` into a value; raises as `parse_value` does."""
    relation = Relation.EXACT
    low: float | None = None
    high: float | None = None
    if match["over"]:
        unit = _unit(match["over_unit"], typed) if match["over_unit"] else None
        found = unit.quantity if unit else quantity or Quantity.RESISTANCE
        relation = Relation.OVER_RANGE
    elif match["rkm"]:
        found, low = _letter_for_point(match["rkm"], typed)
    elif match["low"]:
        unit = _unit(match["high_unit"], typed)
        low_unit = _unit(match["low_unit"], typed) if match["low_unit"] else unit
        if low_unit.quantity is not unit.quantity:
            raise _refused(typed, "has ends of two quantities; write both in one unit")
        found, relation = unit.quantity, Relation.RANGE
        ends = (_in_unit(match["low"], low_unit, typed), _in_unit(match["high"], unit, typed))
        low, high = min(ends), max(ends)
    else:
        unit = _unit(match["unit"], typed)
        found, low = unit.quantity, _in_unit(match["number"], unit, typed)
    if match["above"] or match["below"]:
        if relation is not Relation.EXACT:
            raise _refused(typed, "says 'above' or 'below' of what is no single number")
        relation = Relation.ABOVE if match["above"] else Relation.BELOW
    if quantity is not None and found is not quantity:
        raise _refused(typed, _other_quantity(found, quantity))
    return Value(
        quantity=found, typed=typed, relation=relation, value=low, upper=high, condition=condition
    )


def typed_unit(typed: str) -> Unit | None:
    """Return the unit that a value was typed in; None where no one is said.

    Examples
    --------
    >>> typed_unit("55 psi").symbol, typed_unit("2k1").symbol, typed_unit("OL")
    ('psi', 'kΩ', None)
    """
    match = VALUE.search(prepare(typed))
    if match is None:
        return None
    if match["rkm"]:
        return letter_unit(match["rkm"])
    unit = match["unit"] or match["high_unit"] or match["over_unit"]
    return find_unit(unit) if unit else None


_LONGEST_OFFER = 20
"""Signs of a number that is offered with a unit, as it was typed."""


def _bare_count(typed: str, plain: str, quantity: Quantity | None) -> Value:
    bare = _BARE.match(plain)
    if bare is None:
        raise _refused(typed, "holds no value; write a number with its unit, as 2.3 ohm")
    if quantity is not Quantity.COUNT or plain[bare.end() :].strip():
        shown = bare[1] if len(bare[1]) <= _LONGEST_OFFER else "2.3"
        raise _refused(typed, f"has no unit that is known; write it as {shown} V, {shown} ohm ...")
    value = _in_unit(bare[1], Unit("", Quantity.COUNT), typed)
    return Value(quantity=Quantity.COUNT, typed=typed, value=value)


def _unit(text: str, typed: str) -> Unit:
    unit = find_unit(text.replace(".", "") if text.lower().startswith("deg") else text)
    if unit is None:
        meant = AMBIGUOUS.get(squeeze(text).lower(), "more than one; write it out")
        raise _refused(typed, f"has a unit that may be {meant}")
    return unit


_UNITS_OF_LETTERS = {"R": "Ω", "K": "kΩ", "M": "MΩ", "V": "V", "D": "°", "°": "°"}


def letter_unit(text: str) -> Unit:
    """Return the unit of a value that has a letter for its point: ``4k7``, ``3V3``, ``0d22``."""
    unit = find_unit(_UNITS_OF_LETTERS[_letter(text).upper()])
    assert unit is not None  # noqa: S101 - all of them are in the table
    return unit


def _letter(text: str) -> str:
    return next(char for char in text if char.isalpha() or char == "°")


def _letter_for_point(text: str, typed: str) -> tuple[Quantity, float]:
    """Read ``4k7``, ``2R7``, ``3V3`` (IEC 60062), and degrees with minutes: ``0d22``, ``1°30'``."""
    letter, unit = _letter(text), letter_unit(text)
    if letter == "m":
        raise _refused(typed, "has a small m for its point; write mΩ or MΩ")
    if unit.quantity is not Quantity.ANGLE:
        return unit.quantity, _in_unit(text.replace(letter, ".", 1), unit, typed)
    degrees, minutes = text.rstrip("'").split(letter)
    value = (int(degrees.lstrip("+-")) * 60 + int(minutes)) / 60
    return unit.quantity, -value if text.startswith("-") else value


def _in_unit(number: str, unit: Unit, typed: str) -> float:
    told = _decimal(number, unit, typed)
    if told and float(told) == 0:  # would be held as nought
        raise _refused(typed, "is too small a number")
    value = unit.convert(told)
    if not math.isfinite(value):
        raise _refused(typed, "is too large a number")
    return value


def _decimal(number: str, unit: Unit, typed: str) -> Decimal:
    """Read a number with a decimal point or comma; a separator of thousands must be plain."""
    mantissa = number.lower().partition("e")[0].lstrip("+-")
    points, commas = mantissa.count("."), mantissa.count(",")
    plain = number
    if points and commas:
        decimal = max(".,", key=mantissa.rfind)
        thousands = "," if decimal == "." else "."
        whole = mantissa[: mantissa.rfind(decimal)]
        if mantissa.count(decimal) > 1 or not _grouped(whole, thousands):
            raise _refused(typed, "has a number that cannot be read; write it with one point")
        plain = number.replace(thousands, "").replace(decimal, ".")
    elif points + commas > 1:
        if not _grouped(mantissa, "." if points else ","):
            raise _refused(typed, "has a number that cannot be read; write it with one point")
        plain = number.replace(".", "").replace(",", "")
    elif commas and _grouped(mantissa, ","):
        if unit.quantity is not Quantity.ROTATION:
            whole, part = mantissa.split(",")
            raise _refused(
                typed, f"has a comma that may be a point: write {whole}{part} or {whole}.{part}"
            )
        plain = number.replace(",", "")
    elif commas:
        plain = number.replace(",", ".")
    elif points and unit.quantity is Quantity.ROTATION and _grouped(number.lstrip("+-"), "."):
        raise _refused(typed, "has a point that may part thousands; write the rpm without it")
    try:
        return Decimal(plain)
    except InvalidOperation:
        raise _refused(typed, "has a number that cannot be read") from None


def _grouped(mantissa: str, separator: str) -> bool:
    """Whether a number looks like one with thousands set apart: ``1,200`` but not ``0,350``."""
    return (
        re.fullmatch(rf"[1-9][0-9]{{0,2}}(?:{re.escape(separator)}[0-9]{{3}})+", mantissa)
        is not None
    )


def _other_quantity(found: Quantity, wanted: Quantity) -> str:
    if found is Quantity.ANGLE and wanted is Quantity.TEMPERATURE:
        return "has degrees of no scale; write °C or °F"
    return f"is {with_article(found)}, where {with_article(wanted)} is meant; check the unit"


def _refused(typed: str, cure: str) -> InvalidField:
    return InvalidField("reading", typed, cure)
