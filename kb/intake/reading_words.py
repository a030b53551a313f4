"""The words around a value: item, position, stage, method, and values that are no readings."""

import re
from functools import lru_cache

from kb.case import Quantity, Stage
from kb.intake.positions import find_position
from kb.intake.units import find_unit
from kb.patterns import compiled

_STAGES = (
    (Stage.AFTER_FIX, r"(?:after|post|since)[ -](?:the |a )?(?:fix|repair|fixing|repairs)\b"),
    (Stage.DURING_TEST, r"(?:during|under|on) (?:the |a )?test\b"),
    (Stage.AS_FOUND, r"as found\b|before (?:the |any )?(?:fix|repair|repairs)\b"),
)
_STAGE = tuple(
    (stage, compiled(rf"[\s,;(]*\b(?:{words})[\s,;)]*", re.IGNORECASE)) for stage, words in _STAGES
)
_STAGE_WITHIN = tuple(
    (stage, compiled(rf"(?<![\s,;(]){pattern.pattern}", re.IGNORECASE)) for stage, pattern in _STAGE
)
# The way of measuring, where it is named beside the value (common practice, no source).
_METHOD = compiled(
    r"\b(?:(?:by|via|on|using|from|with)\s+(?:the\s+|a\s+)?)?"
    r"(scan tool(?: live (?:value|data))?|live (?:value|data)|multimeter|dmm|clamp meter|amp clamp"
    r"|current clamp|oscilloscope|scope|pressure gauge|gauge|feeler gauge|dial gauge)\b",
    re.IGNORECASE,
)
# A supply or a rating named by its voltage or current is part of an item's name, not a reading.
_RATING = compiled(
    r"\s*-?(?:supply|feed|ref|reference|battery|system|socket|line|rail|circuit|side|fuse|relay"
    r"|bulb|motor)\b",
    re.IGNORECASE,
)
# "1.4 16V" counts valves.
_ENGINE_SIZE_BEFORE = compiled(r"[0-9][.,][0-9] ?l? $", re.IGNORECASE)
FOREIGN_UNIT = compiled(
    r"\s?(x|ml|cc|l|litres?|liters?|gal|g|kg|grams?|mg(?:/\w+)?|daN|kN|N|W|kW|hp|Ah|kWh|clicks?"
    r"|l/100 ?km|mpg|mi|deg/s|plugs?|coils?|hrs?|days?|weeks?)(?![\w])",
    re.IGNORECASE,
)
"""Units that no quantity of a reading is held in, and things: the number stays in the words."""
_WARM = compiled(r"\b(?:temp|temps|temperature|coolant|thermostat)\b", re.IGNORECASE)
_LEADING = compiled(r"^(?:(?:the|a|an|at|on|of|for|across|from|in|is|was)\s+)+", re.IGNORECASE)
_TRAILING = compiled(
    r"(?:[\s:=,;.(-]++|\b(?:at|is|was|are|were|of|to|only|just|now|still|reads?|reading|shows?"
    r"|showing|showed|measures|measured|measuring|draws|drawing|pulls"
    r"|got|gave|gives|has|had|with|about|steady|stuck|constant|hunts?|hunting|checked|tested|down|holds|held|drops|dropped|rises"
    r"|falls|good to"
    r"|up|mini?|minimum|maxi?|maximum|spec|limit|act|actual|ist)(?![\w/]))\Z",
    re.IGNORECASE,
)
_LONGEST_TRAILING = 16
"""Characters at an end that hold the longest of them, and one before it."""


def lift_stage(text: str) -> tuple[str, Stage | None]:
    """Take ``after the fix``, ``during a test`` or ``as found`` out of a text."""
    for stage, pattern in _STAGE_WITHIN:
        found = pattern.search(text)
        if found:
            return f"{text[: found.start()]} {text[found.end() :]}".strip(), stage
    return text, None


def stage_at(text: str, start: int, end: int) -> tuple[Stage | None, int]:
    """Read a stage that begins at a place of a text; with where it stops."""
    for stage, pattern in _STAGE:
        found = pattern.match(text, start, end)
        if found:
            return stage, found.end()
    return None, start


def lift_method(text: str, start: int) -> tuple[str, str | None]:
    """Take the way of measuring out of a text, where it stands behind `start`."""
    found = _METHOD.search(text, start)
    if not found:
        return text, None
    return f"{text[: found.start()]} {text[found.end() :]}".strip(), found[1].lower()


def is_rating(match: re.Match[str]) -> bool:
    """Whether a value only names a part: ``12V supply``, ``10 A fuse``, ``1.4 16V``."""
    if not match["number"] or match["above"] or match["below"]:
        return False
    is_valves = _ENGINE_SIZE_BEFORE.search(match.string[max(0, match.start() - 6) : match.start()])
    is_of_a_part = _RATING.match(match.string, match.end())
    return match["number"].isdigit() and bool(is_valves or is_of_a_part)


def trim(words: str) -> str:
    """Cut links and verbs from the end of an item's words: ``charging voltage is only``."""
    return words[: trimmed(words, 0, len(words))]


def trimmed(text: str, start: int, end: int) -> int:
    """Where a stretch of a text stops once it is trimmed; read from its end, one word at a time."""
    while match := _TRAILING.search(text[max(start, end - _LONGEST_TRAILING) : end]):
        end -= len(match[0])
    return end


def unlink(words: str) -> str:
    """Cut links and articles from the start of an item's words: ``at the``."""
    return _LEADING.sub("", f"{words} ").strip()


@lru_cache(maxsize=4096)
def item_and_position(words: str) -> tuple[str, str | None]:
    """Split an item's words into the item, in lower case, and its position."""
    if not words:
        return "", None
    position, rest = find_position(trim(unlink(words.strip(" ,;:()"))).strip())
    plain = " ".join(word for word in rest.split() if word not in {"the", "a", "an"})
    return unlink(plain).strip(" ,;:-=()"), position


def degrees_of(match: re.Match[str], item: str) -> Quantity | None:
    """Plain degrees of something warm are no angle: which scale they are of must be asked."""
    unit = find_unit(match["unit"]) if match["unit"] else None
    is_angle = unit is not None and unit.quantity is Quantity.ANGLE
    return Quantity.TEMPERATURE if is_angle and _WARM.search(item) else None
