"""Whether a value in running text was measured, or is only told of: conditions, limits, ratings."""

import re
from functools import cache, lru_cache
from typing import NamedTuple

from kb.case import Quantity
from kb.intake.reading_words import warm_degrees
from kb.intake.units import find_unit
from kb.intake.wording import words_of_languages
from kb.patterns import compiled

# In running text these are told, not measured, whatever stands before them ...
_TOLD_UNITS = frozenset({"km", "mile", "m", "min", "h", "times", "in", "cm"})
_DRIVEN_UNITS = frozenset({"km", "mile"})
_THOUSANDS_DRIVEN = compiled(r"(?<=[0-9 ][kK]) ?(?:km|kms|mi|miles)\b", re.IGNORECASE)
# ... and these, unless the words before say that they were read.
_READ_OFF = {
    Quantity.TORQUE: r".*\b(?:turning|breakaway|preload|steering|sensor|drag)\b.*",
    Quantity.ROTATION: r"(?:.*\bslip|idle|(?:idle|engine|cranking) speed|rpm|revs)",
    Quantity.SPEED: r".*\b(?:sensor|signal|wheel speed)\b.*",
    Quantity.TEMPERATURE: (
        r".*\b(?:temps?|temperature|ect|iat|cht|egt|coolant|oil|air|vents?|disc|hub|sensor|outlet|inlet|engine"
        r"|gearbox|atf|fluid|stat|housing|hoses?|brakes?|drum|bearing|battery|pack|cell|module|inverter"
        r"|motor|cabin|cat|exhaust|turbo"
        r"|thermostat|rad|radiator|gauge|boil\w*|freez\w*)\b.*"
    ),
    Quantity.ANGLE: (
        r".*\b(?:timing|advanced?|retard(?:ed)?|radar|misalign\w*|dwell|toe|camber|castor|caster|angle|cam"
        r"|offset|throttle|zündung|zündzeitpunkt|zzp|sturz|spur|nachlauf|avance|carrossage|chasse"
        r"|wyprzedzeni\w*|zapłon\w*|zbieżność)\b.*"
    ),
    Quantity.PROPORTION: (
        r".*\b(?:hc|co|co2|o2|nox|water|moisture|humidity|leakage|leakdown|leak down|imbalance"
        r"|shock|damper|absorber|trim|stft|ltft|duty|charge|soc|soh|health|load|throttle|pedal|position|level"
        r"|correction|efficiency|egr|soot|ash|aim|opacity|ethanol|handbrake|brakes?|flow|purge|fuel|tank)\b.*"
    ),
}
_TOLD_UNLESS = {kind: compiled(words, re.IGNORECASE) for kind, words in _READ_OFF.items()}
# "60k" is a mileage unless it is said of something that has a resistance.
_BARE_K = compiled(
    r".*\b(?:resistance|sensor|coil|injector|sender|lead|thermistor|ntc|pot|wss)\b.*"
)
_TOLD_BEFORE = compiled(
    r"\b(?:for|every|within|past|until|till|last|(?P<after>after)|about"
    r"|(?:hunt|surg|wander)\w*(?: idle| revs)?)\s*$",
    re.I,
)
_WEATHER = compiled(
    r"\b(?:outside|ambient|weather)(?: air)?(?: temp(?:erature|s)?)?(?: (?:is|was))?\s*$",
    re.IGNORECASE,
)
_DECIMAL = compiled(r"[0-9][.,][0-9]")
_NUMBERED = compiled(
    r"\b(?:(?<!left )(?<!right )(?<!hand )bank|cyl|cylinder|row|gear|type)\s*$", re.IGNORECASE
)
_ON_THE_METER = compiled(r"[O0]\.?/?L\.?|∞")
_IN_MINUTES = compiled("[d°]", re.IGNORECASE)
_DIGITS = compiled("[0-9]+")
_MOST_CACHED = 8192
_NEAR = 24
_APART = "VvAΩ%°CFcfλ"
"""Units of one letter that may stand apart from their number."""

# Where a cylinder may lose its air.
_WAYS_OUT = "exhaust|intake|inlet|oil|filler|breather|dipstick|plug|next|rad"

ONE_OF_SEVERAL = "is one of several values; write each by itself, with its position"
SHOULD_BE = "says what should be; write what was measured"
_DIFFERENCE = "may be a difference; write the value that was measured"
_DRIVEN = "is a distance driven; write what was measured, in mm where it is a length"
_ON_ANOTHER_CAR = "was measured on another car; write what was measured on this one"
_ANOTHER_CAR = (
    r"(?:other|another|different|donor|loan|sister|comparison|compare|known good|identical|similar"
    r"|own)(?: \w+)? (?:car|van|vehicle|truck|lorry|bus|motor)\b"
)
IS_LIMITED = compiled(
    r"[,(]?\s*(?:it |which )?(?:should(?: (?:be|read|have|show|see|do))?"
    r"|(?:ought|supposed|meant) to be|must be"
    r"|(?:book|data|target|nominal|spec(?:ified)?|soll)(?: (?:is|says))?"
    r"|(?:legal )?(?:limit|min(?:imum)?|max(?:imum)?)(?: is)?|needs?|expected|instead of)"
    r"(?: (?:about|around|at least|up to|over|under))?",
    re.IGNORECASE,
)
"""What stands between a value and what it should be."""
_FALLS_BY = compiled(
    r"\b(?:drops|dropped|falls|fell|rises|rose|goes (?:up|down)|gained|(?:up|down) by)\s+$",
    re.IGNORECASE,
)
_COMES_TO = compiled(r"\s*(?:-|to\b|→)")
_OBJECTIONS_BEFORE = tuple(
    (compiled(rf"{pattern}\s*$", re.IGNORECASE), why)
    for pattern, why in (
        (r"\b(?:diag(?:ram)?|book|manual|data|sheet|plate) (?:says|shows|wants)\b.*", SHOULD_BE),
        (r"[0-9]\s*[/&]", ONE_OF_SEVERAL),
        (
            r"\b(?:no|not|without|never|lost|loses?)",
            "says what is not there; write what was measured",
        ),
        (rf"\b{_ANOTHER_CAR}[^.;]*", _ON_ANOTHER_CAR),
        (
            r"(?:\b(?:needs?|wants?|should(?: \w+){0,2}|asked(?: for)?|requested|stamped"
            r"|printed|book"
            r"|legal|spec|specified|(?<!/)(?<![0-9] )(?<![0-9])mini?|minimum|maxi?|maximum"
            r"|expect|expected|nominal|target|rated|limit|normally"
            r"|(?:ought to|supposed to|meant to|must) be"
            r"|marked|tol|tolerance|req|requires?|label|says|instead of|ok (?:below|under)"
            r"|tripped at|charged at)(?: is)?|[0-9] ?[a-z]* of):?[ <>=]*",
            SHOULD_BE,
        ),
    )
)
_FUSE = compiled(r"\bfuse(?: is)?:?[ <>=]*$", re.IGNORECASE)
_ELECTRIC = compiled(r"[0-9]\s?(?:m?v|volts?|millivolts?|m?Ω|m?ohms?)", re.IGNORECASE)
"""What was measured at a fuse; its amperes are what it is made for."""
_WORD_BEHIND = compiled(r"\s*[^\W_]")
"""Every objection behind a value begins with a letter or a digit."""
_OBJECTIONS_AFTER = tuple(
    (compiled(rf"\s*{pattern}", re.IGNORECASE), why)
    for pattern, why in (
        (
            r"(?:fitted|on (?:the )?label|rated|rating|fuse|capacity|blown|long|wide(?! open)"
            r"|hole|spanner|socket|speakers?|bulbs?)\b(?! ?(?:[0-9]|is\b))",
            "says what it is made for; write what was measured",
        ),
        (
            r"(?:legal|limit|spec|nominal|required|allowed|target)\b(?!\s*[.,]?[0-9:=<>])",
            SHOULD_BE,
        ),
        (rf"(?:on|from|in|with|for) (?:\w+ )?{_ANOTHER_CAR}", _ON_ANOTHER_CAR),
        (r"[0-9]+ ?Ah\b", "says what it is made for; write what was measured"),
        (
            r"(?:missing|absent|gone|lost)\b(?!\s+[.0-9])",
            "says what is not there; write what was measured",
        ),
        (
            r"(?:too )?(?:low|high|lower|higher|below|above|under|over|more|less|apart|adrift"
            rf"|out(?! (?:of )?(?:the |its )?(?:{_WAYS_OUT}))|difference)\b"
            r"(?!\s*(?:side|load|[0-9]))",
            _DIFFERENCE,
        ),
    )
)


def objection(match: re.Match[str]) -> str | None:
    """Say why a value is no reading although it has an item, with the cure; None if it may be one.

    The match is of `kb.intake.values.VALUE`, in its whole text.
    """
    return (
        _is_driven(match)
        or runs_down(match)
        or objection_at(match.string, match.start(), match.end())
    )


def _is_driven(match: re.Match[str]) -> str | None:
    unit = find_unit(match["unit"] or match["high_unit"] or "")
    is_driven = unit is not None and unit.symbol in _DRIVEN_UNITS
    return _DRIVEN if is_driven or _THOUSANDS_DRIVEN.match(match.string, match.end()) else None


def runs_down(match: re.Match[str]) -> str | None:
    """Say that a range runs from high to low: ``14-0A``."""
    if match["low"] and match["low"].isdigit() and match["high"].isdigit():
        glued = match.string[match.end("low") : match.start("high")] == "-"
        low, high = (match[each].lstrip("0") for each in ("low", "high"))
        if glued and (len(low), low) > (len(high), high):  # perhaps more digits than int reads
            return "runs down as no range does; write each value by itself"
    return None


def objection_at(plain: str, start: int, end: int, floor: int = 0) -> str | None:
    """Say as `objection` why what stands at a place is no reading.

    What stands before `floor` is not looked at.
    """
    before = plain[max(floor, start - _NEAR) : start]
    why, falls_by = _objection_before(_DIGITS.sub("0", before))
    if why:
        return why
    if _FUSE.search(before) and not _ELECTRIC.search(plain[start:end]):
        return SHOULD_BE
    by = falls_by and "mm" not in plain[start:end]  # a pedal drops 40 mm
    if by and not _COMES_TO.match(plain, end):
        return _DIFFERENCE
    return objection_behind(plain, end)


@lru_cache(maxsize=_MOST_CACHED)
def _objection_before(words: str) -> tuple[str | None, bool]:
    """Say why words in front of a value object to it, and whether a value falls or rises by it.

    What the numbers among the words are makes no difference: each is a nought here.
    """
    last = words.rstrip(" \t:<>=")[-1:]
    falls_by = _FALLS_BY.search(words) is not None
    if not (last.isalpha() or last in {"/", "&"}):
        return None, falls_by
    every = (*_OBJECTIONS_BEFORE, _in_other_languages())
    return next((why for pattern, why in every if pattern.search(words)), None), falls_by


@cache
def _in_other_languages() -> tuple[re.Pattern[str], str]:
    words = words_of_languages().items()
    instead = "|".join(re.escape(word) for word, meant in words if meant == "instead of")
    return compiled(rf"\b(?:{instead}) *$", re.IGNORECASE), SHOULD_BE


@lru_cache(maxsize=8)
def _is_shouted(text: str) -> bool:
    """Whether a whole text is in capitals; asked of each value of it."""
    return text.isupper()


class _ToldBefore(NamedTuple):
    """What the words in front of a value make of it, whatever numbers are among them."""

    of_time: bool
    is_after: bool
    of_weather: bool
    is_number: bool


@lru_cache(maxsize=_MOST_CACHED)
def _told_before(words: str) -> _ToldBefore:
    of_time = _TOLD_BEFORE.search(words)
    return _ToldBefore(
        of_time is not None,
        of_time is not None and of_time["after"] is not None,
        _WEATHER.search(words) is not None,
        _NUMBERED.search(words) is not None,
    )


def is_measured(
    match: re.Match[str], item: str, *, usual: bool = False, staged: bool = False
) -> bool:
    """Whether a value in running text was measured, as far as its kind and its item tell.

    False for speeds, distances, times and the weather that are only told. The match is of
    `kb.intake.values.VALUE`, in its whole text; the words that would be its item may be empty.
    `usual` says that the item is usually measured in a unit of that quantity; `staged` that "after"
    before the value tells when it was measured: "gap before 0.9 mm after 1.1 mm".
    """
    if match["over"]:
        shouted = _is_shouted(match.string) and not _ON_THE_METER.fullmatch(match["over"])
        return match["over"].isupper() and not shouted
    if match["rkm"]:
        if not _IN_MINUTES.search(match["rkm"]):
            return match["rkm"][0] not in "Rr"  # R134 is a refrigerant
        return usual or _TOLD_UNLESS[Quantity.ANGLE].fullmatch(item) is not None
    unit_text, whole = match["unit"] or match["high_unit"], match[0]
    written = _Written(
        unit_text,
        is_range=match["unit"] is None,
        is_apart=whole[-len(unit_text) - 1].isspace(),
        is_above=match["above"] is not None,
        has_point=_DECIMAL.search(whole) is not None,
    )
    before = match.string[max(0, match.start() - _NEAR) : match.start()]
    return _is_read_off(written, _DIGITS.sub("0", before), item, usual=usual, staged=staged)


def is_plainly_measured(match: re.Match[str], item: str, *, usual: bool) -> bool:
    """Whether a number with a unit was measured, and nothing in front of it objects to that.

    As `is_measured` and `objection_at` say; False also where more must be looked at.
    """
    unit, plain, start = match["unit"], match.string, match.start()
    is_apart = match.end("number") < match.start("unit")
    before = _DIGITS.sub("0", plain[max(0, start - _NEAR) : start])
    return _is_plainly_told(before, unit, is_apart, "." in match["number"], item, usual)


@lru_cache(maxsize=_MOST_CACHED)
def _is_plainly_told(
    before: str,
    unit: str,
    is_apart: bool,
    has_point: bool,
    item: str,
    usual: bool,
) -> bool:
    written = _Written(unit, False, is_apart, False, has_point)
    if _FUSE.search(before):
        return False
    return _objection_before(before) == (None, False) and _is_read_off(
        written, before, item, usual=usual, staged=False
    )


def objection_behind(plain: str, end: int) -> str | None:
    """Say as `objection` why what stands behind a value that ends at a place makes it none."""
    if not _WORD_BEHIND.match(plain, end):
        return None
    return next((why for pattern, why in _OBJECTIONS_AFTER if pattern.match(plain, end)), None)


class _Written(NamedTuple):
    """How a value with a unit is written, whatever its number."""

    unit: str
    is_range: bool
    is_apart: bool
    is_above: bool
    has_point: bool


@lru_cache(maxsize=_MOST_CACHED)
def _is_read_off(written: _Written, before: str, item: str, *, usual: bool, staged: bool) -> bool:
    """Whether a value with a unit was measured: of it, of the words before it, and of its item."""
    unit_text = written.unit
    unit = find_unit(unit_text)
    if unit is None:
        return True  # a unit of two meanings: whoever reads the value says so
    is_insulation = unit_text == "M" and (written.is_above or usual)
    kilohms = unit_text in {"k", "K"} and written.has_point and _BARE_K.fullmatch(item)
    told_before = _told_before(before)
    is_told = (
        unit.symbol in _DRIVEN_UNITS
        or (unit.symbol in _TOLD_UNITS and not (usual and unit.quantity is Quantity.LENGTH))
        or (
            len(unit_text) == 1
            and written.is_apart
            and unit_text not in _APART
            and not (is_insulation or kilohms)
        )
        or (told_before.of_time and not (staged and told_before.is_after))
        or (unit.quantity is Quantity.TEMPERATURE and told_before.of_weather)
        or told_before.is_number
    )
    if is_told or usual:
        return not is_told
    unless = _BARE_K if unit_text in {"k", "K"} else _TOLD_UNLESS.get(unit.quantity)
    if unit.symbol == "ppm":
        unless = None  # nobody tells anything else in them
    warm = not written.is_range and warm_degrees(unit_text, item)
    return bool(unless is None or warm or unless.fullmatch(item))
