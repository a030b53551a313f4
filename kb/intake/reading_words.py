"""The words around a value: item, position, stage, method, and values that are no readings."""

import re
from functools import lru_cache

from kb.case import Quantity, Stage
from kb.intake.positions import find_position
from kb.intake.units import find_unit
from kb.intake.values import UNIT
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
_LIVE_IN_GERMAN = compiled(
    r"\b(?:laut|lt\.?|gem[äa](?:ß|ss))\s+(?:dem\s+)?(?:diagnose-?)?tester\b", re.IGNORECASE
)
"""What the control unit tells of itself, as German shops call it (common practice, no source)."""
_LIMIT = compiled(
    r"[\s,;(]*(?<![0-9])(?<![0-9] )(?<!/)\b(?P<limit>(?:should (?:be|read|show)"
    r"|(?:ought|supposed|meant) to be|must be|spec(?:ification|ified)?|min(?:i|imum)?"
    r"|max(?:i|imum)?|limit|legal|nominal|target|soll|required)\.?"
    r"(?: (?:is|of|limit|value|th|thickness|wear|min(?:imum)?|max(?:imum)?|at least|about|around"
    r"|over|under|above|below))*"
    r" ?[:=<>≥≤]*\s?[+-]?[0-9][0-9.,]*(?:\s?(?:-|to|\.\.)\s?[0-9][0-9.,]*)?"
    rf"(?:\s?(?:{UNIT})(?![\w/]))?)[\s,;)]*",
    re.IGNORECASE,
)
# A supply or a rating named by its voltage or current is part of an item's name, not a reading.
_RATING = compiled(
    r"\s*-?(?:supply|feed|ref|reference|battery|system|socket|line|rail|circuit|side|fuse|relay"
    r"|bulb|motor)\b",
    re.IGNORECASE,
)
_RESISTOR = compiled(
    r"(?: ?(?:ohms?|[rΩ]))?\s*-?(?:(?:dummy|load|test|substitute|series|terminating) )*"
    r"(?:resistors?|dummy|substitute|widerstand)(?! (?:pack|wire|value|reading))\b",
    re.IGNORECASE,
)
# A resistor in place of a part is named by its value, which nobody measured.
_CAMPAIGN = compiled(
    r"\b(?:recall|campaign|camp\.|bulletin|tsb|r[üu]ckruf)(?: (?:no|nr|number)\.?)? $",
    re.IGNORECASE,
)
_ELECTRICAL = {Quantity.VOLTAGE, Quantity.CURRENT, Quantity.RESISTANCE}
_FAR_BEFORE = 24
_RATED = compiled(r"\b(?:hybrid|mhev)\s$", re.IGNORECASE)  # "mild hybrid 48V fault"
# "1.4 16V" counts valves.
_ENGINE_SIZE_BEFORE = compiled(r"[0-9][.,][0-9] ?l? $", re.IGNORECASE)
FOREIGN_UNIT = compiled(
    r"\s?(x|ml|cc|(?-i:l|L(?!\s+[0-9]))|ltrs?|litres?|liters?|pints?|pts?|quarts?|qts?|gal(?:lons?)?|g|kg|grams?|mg(?:/\w+)?|daN|kN|N|W|kW|hp(?!\s+[0-9])|Ah|kWh|clicks?"
    r"|l/100 ?km|mpg|mi|deg/s|plugs?|coils?|hrs?|days?|weeks?|wks?|months?|years?|yrs?"
    r"|times|pieces?|pcs|stunden?|std|tage?n?|wochen?|monate?n?|jahre?n?|gang|mal|stück|stk"
    r"|heures?|jours?|semaines?|mois|ans?|années?|fois|vitesses?|rapports?|pièces?"
    r"|godzin\w*|dni(?:ach|ami|a|u|om)?|dzień|tygodni\w*|tydzień|miesi[ąa]c\w*|miesięcy|lat(?:ach)?"
    r"|rok\w*|razy?|bieg\w*|sztuk\w*|szt)(?![\w])"
    r"|(?:st|nd|rd|th|[èe](?:re|me)?|\.|er)?[ -](?:gear|gang|vitesse|bieg)\w*(?!\w)",
    re.IGNORECASE,
)
"""Units that no quantity of a reading is held in, and things: the number stays in the words."""
_WARM = compiled(
    r"\b(?:temp|temps|temp[ée]rature|coolant|thermostat|\w*temperatur|kühlmittel|kühlwasser)\b",
    re.IGNORECASE,
)
LITTLE_WORDS = frozenset(
    [
        "am",
        "an",
        "auf",
        "aus",
        "bei",
        "beim",
        "bis",
        "das",
        "dann",
        "dem",
        "den",
        "der",
        "des",
        "die",
        "durch",
        "ein",
        "eine",
        "einem",
        "einer",
        "einen",
        "er",
        "es",
        "für",
        "gegen",
        "hat",
        "ich",
        "ihr",
        "im",
        "in",
        "ist",
        "jetzt",
        "mit",
        "nach",
        "noch",
        "nur",
        "oder",
        "ohne",
        "seit",
        "sich",
        "sie",
        "sind",
        "über",
        "um",
        "und",
        "unter",
        "vom",
        "von",
        "vor",
        "war",
        "wenn",
        "wie",
        "wir",
        "wird",
        "zu",
        "zum",
        "zur",
        "aber",
        "auch",
        "immer",
        "nicht",
        "kein",
        "keine",
        "fällt",
        "faellt",
        "sinkt",
        "steigt",
        "geht",
        "liegt",
        "kommt",
        "à",
        "au",
        "aux",
        "avec",
        "ça",
        "ce",
        "cela",
        "dans",
        "de",
        "des",
        "du",
        "elle",
        "elles",
        "en",
        "est",
        "et",
        "était",
        "il",
        "ils",
        "je",
        "la",
        "le",
        "les",
        "mais",
        "ne",
        "nous",
        "on",
        "ou",
        "où",
        "par",
        "pas",
        "plus",
        "pour",
        "quand",
        "que",
        "qui",
        "sans",
        "se",
        "ses",
        "son",
        "sous",
        "sur",
        "un",
        "une",
        "vers",
        "tombe",
        "chute",
        "descend",
        "monte",
        "passe",
        "reste",
        "seulement",
        "encore",
        "puis",
        "alors",
        "jusque",
        "ale",
        "aż",
        "bez",
        "był",
        "była",
        "było",
        "być",
        "czy",
        "dla",
        "do",
        "go",
        "gdy",
        "i",
        "jak",
        "jest",
        "miał",
        "na",
        "nad",
        "nie",
        "niż",
        "od",
        "ona",
        "ono",
        "oni",
        "po",
        "pod",
        "podczas",
        "przed",
        "przez",
        "przy",
        "są",
        "się",
        "tak",
        "tego",
        "to",
        "tu",
        "tylko",
        "w",
        "we",
        "z",
        "za",
        "ze",
        "że",
        "spada",
        "opada",
        "spadło",
        "rośnie",
        "wzrasta",
        "wynosi",
        "jeszcze",
        "już",
        "potem",
        "oraz",
        "lub",
        "albo",
        "około",
        "ponad",
        "poniżej",
    ]
)
"""Little words of German, French and Polish: common practice of the languages, no source."""
_LEADING = compiled(r"^(?:(?:the|a|an|at|on|of|for|across|from|in|is|was)\s+)+", re.IGNORECASE)
_BEHIND_ITEMS = """
at is was are were of to only just now still read reads reading show shows showing showed measures
measured measuring draws drawing drew weak poor pulls got gave gives has had with about steady stuck
constant
hunt hunts hunting checked tested down holds held drops dropped rises falls fell went goes sag
sags swing swings swinging cycles cycling fluctuates fluctuating wanders drifts sweeps varies
switching peaks sits moves checks tests says makes did does comes turns gets feels ran opens
opening sink sinks sank climbs climbed rose stays sat it up min mini minimum max maxi maximum spec
limit target nominal act actual ist ok okay good fine healthy dips dipped
auf fällt faellt fiel sinkt sank steigt stieg bricht liegt lag beträgt betraegt zeigt misst nur
    noch bei hat
war etwa ca rund bis zu mit geht
à tombe tombait chute descend monte passe reste est était affiche indique mesure seulement
    environ que encore
do na spada spadło spadł spadła spadnie opada maleje rośnie wzrasta wynosi pokazuje jest było
    był była miał
tylko około zaledwie ledwo
"""
_TRAILING = frozenset(_BEHIND_ITEMS.split())
"""Links and verbs between an item and its value."""
_OF_A_LIMIT = ("should be", "should read", "should show", "must be", "ought to be", "meant to be")
_PHRASES = (
    "jusqu'à",
    "jusqu’à",
    "good to",
    "back to",
    "weak at",
    "bad at",
    "putting out",
    "puts out",
    "pushing out",
    *_OF_A_LIMIT,
)
_NAMES = ("leak down", "tick over", "stat opens", "stat opening")
"""Names that end in one of the links."""
SUB_PARTS = {
    "l": {"h"},
    "st": {"lt"},
    "lt": {"st"},
    "stft": {"ltft"},
    "ltft": {"stft"},
    "lp": {"hp"},
    "hp": {"lp", "bp"},
    "bp": {"hp"},
    "hd": {"nd"},
    "nd": {"hd"},
    "discharge": {"suction"},
    "suction": {"discharge"},
    "return": {"supply", "flow", "feed"},
    "flow": {"return"},
    "lo": {"hi"},
    "low": {"high"},
    "sec": {"prim", "pri"},
    "secondary": {"primary"},
    "outlet": {"inlet"},
    "inlet": {"outlet"},
}
"""What names a part of the same thing as the word before did: ``coil prim 0.6 sec 6k1``."""
_TWO_NAMED = compiled(r"(?:.*\s)?(?P<one>\S+)\s+[0-9][0-9.,]*\s+(?P<other>\S+)")
_TRAILING_SIGNS = " \t\n\r\f\v:=,;.(-"
_LAST_WORD = compiled(r"\w+\Z")
_LONGEST_TRAILING = 16
"""Characters at an end that hold the longest of them, and one before it."""


_POINT = compiled(
    r"(?<![\w.,])([0-9]{1,4}) point ([0-9]{1,3}|nought|zero|oh)(?![\w.,]*[0-9])", re.I
)
_SIGN = compiled(r"\b(?:(?P<minus>minus|moins)|plus)\s+(?=[.,]?[0-9])", re.IGNORECASE)
_BETWEEN = compiled(r"\b(between )([+-]?[0-9.,]{1,8}[0-9]|[0-9]) and (?=[+-]?[.,]?[0-9])", re.I)
_FRONT_RIGHT = compiled(r"\bFR\b", re.IGNORECASE)
_LEFT_BESIDE = compiled(r"\b(?:FL|RL)\b", re.IGNORECASE)


_AVANT_APRES = compiled(
    r"\bavant(?P<between>\s[+-]?[0-9][^;\n]{0,30}?\b)(?:après|apres)(?=\s[+-]?[0-9])",
    re.IGNORECASE,
)
"""French before and after a fix, and not the front: "masse avant 0,8 V, après 0,05 V"."""


def spelt_out(plain: str) -> str:
    """Write signs, points and ranges told in words as such, ``FR`` beside ``FL`` as ``RF``.

    The text stays as long as it was.

    Examples
    --------
    >>> spelt_out("trim minus 14"), spelt_out("FL 3 FR 3.5"), spelt_out("2 point 1 V")
    ('trim      -14', 'FL 3 RF 3.5', '      2.1 V')
    """
    plain = _AVANT_APRES.sub(lambda told: f"  vor{told['between']} nach", plain)
    plain = _BETWEEN.sub(lambda ends: f"{'':{len(ends[1])}}{ends[2]}  to ", plain)
    plain = _POINT.sub(lambda told: _pointed(told).rjust(len(told[0])), plain)
    plain = _SIGN.sub(lambda sign: ("-" if sign["minus"] else "+").rjust(len(sign[0])), plain)
    return _FRONT_RIGHT.sub("RF", plain) if _LEFT_BESIDE.search(plain) else plain


def _pointed(told: re.Match[str]) -> str:
    return f"{told[1]}.{told[2] if told[2].isdigit() else 0}"


def points_in_words(text: str) -> list[tuple[int, int]]:
    """Find the decimals whose point is a word, as it is dictated: ``12 point 4``.

    Examples
    --------
    >>> points_in_words("battery 12 point 4 volts")
    [(8, 18)]
    """
    return [match.span() for match in _POINT.finditer(text)]


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


def lift_limit(text: str, start: int) -> tuple[str, str | None]:
    """Take what a value should be out of a text, where it is told behind `start`.

    Examples
    --------
    >>> lift_limit("pads 2 mm min 3", 9), lift_limit("oil 2 bar after 20 min 90 C", 9)
    (('pads 2 mm', 'min 3'), ('oil 2 bar after 20 min 90 C', None))
    """
    found = _LIMIT.search(text, start)
    if not found:
        return text, None
    return f"{text[: found.start()]} {text[found.end() :]}".strip(), found["limit"]


def lift_method(text: str, start: int) -> tuple[str, str | None]:
    """Take the way of measuring out of a text, where it stands behind `start`."""
    if found := _LIVE_IN_GERMAN.search(text, start):
        return f"{text[: found.start()]} {text[found.end() :]}".strip(), "scan tool"
    found = _METHOD.search(text, start)
    if not found:
        return text, None
    return f"{text[: found.start()]} {text[found.end() :]}".strip(), found[1].lower()


def is_rating(match: re.Match[str]) -> bool:
    """Whether a value only names a part: ``12V supply``, ``10 A fuse``, ``2.2 ohm resistor``."""
    before = match.string[max(0, match.start() - _FAR_BEFORE) : match.start()]
    if _RESISTOR.match(match.string, match.end()) or (
        " " in before[-1:] and _CAMPAIGN.search(before)
    ):
        return True
    number = match["number"]
    if not number or match["above"] or match["below"] or not number.isdigit():
        return False
    if not number.strip("0"):
        return False
    is_valves = _ENGINE_SIZE_BEFORE.search(match.string[max(0, match.start() - 6) : match.start()])
    is_of_a_part = _is_electrical(match) and _RATING.match(match.string, match.end())
    is_rated = _RATED.search(match.string, max(0, match.start() - len("x hybrid ")), match.start())
    return bool(is_valves or is_of_a_part or is_rated)


def _is_electrical(match: re.Match[str]) -> bool:
    unit = find_unit(match["unit"])
    return unit is None or unit.quantity in _ELECTRICAL


OF_A_FLOW = frozenset(["return", "flow"])
"""Beside one of these "supply" is a pipe, and no wire."""


def are_counterparts(item: str, other: str) -> bool:
    """Whether two names are of parts of the same thing, told beside one another.

    Examples
    --------
    >>> are_counterparts("a/c hp", "lp"), are_counterparts("suction", "rail")
    (True, False)
    """
    return any(last in SUB_PARTS.get(other, ()) for last in item.split()[-1:])


def names_two(words: str) -> bool:
    """Whether words in front of a value hold another value that shares its unit.

    Examples
    --------
    >>> names_two("HP 9 LP"), names_two("tyre front 2.3 rear"), names_two("squib 1 res")
    (True, True, False)
    """
    named = _TWO_NAMED.fullmatch(words.lower().strip(_TRAILING_SIGNS))
    if named is None:
        return False
    places = (find_position(named[each]) for each in ("one", "other"))
    return are_counterparts(named["one"], named["other"]) or all(
        position and not rest for position, rest in places
    )


def trim(words: str) -> str:
    """Cut links and verbs from the end of an item's words: ``charging voltage is only``."""
    return words[: trimmed(words, 0, len(words))]


def trimmed(text: str, start: int, end: int) -> int:
    """Where a stretch of a text stops once it is trimmed; read from its end, one word at a time."""
    while end > start:
        tail = text[max(start, end - _LONGEST_TRAILING) : end]
        signs, link = _trailing(tail)
        end -= signs + link
        if not link and signs < len(tail):
            break
    return end


@lru_cache(maxsize=4096)
def _trailing(tail: str) -> tuple[int, int]:
    """Count the signs that end a few words, and the letters of the link or verb before them."""
    bare = tail.rstrip(_TRAILING_SIGNS)
    signs, lower = len(tail) - len(bare), bare.lower()
    if lower.endswith(_PHRASES):
        return signs, next(len(each) for each in _PHRASES if lower.endswith(each))
    word = _LAST_WORD.search(bare)
    if word is None or lower.endswith(_NAMES) or word[0].lower() not in _TRAILING:
        return signs, 0
    return signs, len(word[0])


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
    plain = "" if LITTLE_WORDS.issuperset(plain.split()) else plain
    return unlink(plain).strip(" ,;:-=()"), position


def degrees_of(match: re.Match[str], item: str) -> Quantity | None:
    """Plain degrees of something warm are no angle: which scale they are of must be asked."""
    return warm_degrees(match["unit"], item) if match["unit"] else None


def warm_degrees(typed_unit: str, item: str) -> Quantity | None:
    """Tell as `degrees_of` of a unit alone."""
    unit = find_unit(typed_unit)
    is_angle = unit is not None and unit.quantity is Quantity.ANGLE
    return Quantity.TEMPERATURE if is_angle and _WARM.search(item) else None
