"""What an odometer shows, as people write it: ``80.000``, ``80 000 km``, ``80k``, ``49,700 mi``."""

import re
from typing import NamedTuple

from kb.errors import InvalidField
from kb.intake.lifting import Lifted, Place, blanked, cut
from kb.patterns import compiled

ODOMETER = "odometer_km"
"""Field of a job, or of a contact, that holds a distance."""
KM_A_MILE = 1.609344
"""The international mile, by definition (international yard and pound agreement, 1959)."""
MOST_KM = 3_000_000
"""More than a road vehicle drives before it is scrapped (by judgement)."""

_NUMBER = (
    r"(?:(?P<whole>[1-9][0-9]{0,2}(?P<gap>[ .,'’\u00a0\u202f])[0-9]{3}(?:(?P=gap)[0-9]{3})*|[0-9]+)"
    r"|(?P<thousands>[0-9]+(?:[.,][0-9])?) ?(?:k|t(?= ?km)))"
)
_UNIT = r"(?:(?P<km>kms?|kilomet(?:er|re)s?)|(?P<miles>mi|mls?|miles?))"
_ALONE = compiled(rf"{_NUMBER}(?: ?{_UNIT})?", re.IGNORECASE)
_THOUSANDS = compiled(
    r"(?<![\w.,])(?P<thousands>[0-9]{1,3}(?:[.,][0-9])?)k(?![\w/])", re.IGNORECASE
)
_IN_TEXT = compiled(rf"\b(?:at )?(?<![0-9][.,]){_NUMBER} ?{_UNIT}\b", re.IGNORECASE)
_GROUPED = r"[1-9][0-9]{0,2}(?P<parted>[ .,'’\u00a0\u202f])[0-9]{3}(?:(?P=parted)[0-9]{3})?"
_BEHIND_CAR = compiled(
    r"(?<=\w[\s,])(?<![0-9] )\s*(?P<thousands>)"
    r"(?P<whole>[1-9][0-9]{1,2}[ .,'’][0-9]{3}|[1-9][0-9]{4,5})\s*$"
)
"""A number behind a car that can be no year of it, nor an engine."""
_SHOWN = (
    rf"(?<![\w/.,+-])(?:(?P<full>{_GROUPED}|[0-9]{{4,6}})|(?P<short>[0-9]{{1,3}}(?:[.,][0-9])?) ?k)"
)
_NAMED = (
    r"\b(?P<named>odometer|odo|mil(?:e)?age|clock|speedo|kilometerstand|km-?stand|przebieg|kilom[eé]trage)"
    r"(?:[ :=]+(?:is|at|now|reads|shows|out|in))*[ :=]+"
)
_MEASURED = r" ?(?:(?P<km>kms?\b|kilomet(?:er|re)s?\b)|(?P<miles>mi\b|mls?\b|miles?\b))"
_TOLD = compiled(
    r"(?=[0-9cmopks])"
    rf"(?:(?:{_NAMED})?{_SHOWN}(?:{_MEASURED}|(?(named)(?![\w.,]*[0-9])|(?!)))"
    r"|(?<![\w/.,+-])(?P<thousand>[1-9][0-9]{0,2}[.,][0-9]|[1-9][0-9]{1,2}) ?(?P<tkm>tkm)\b"
    r"|(?<![\w/.,+-])(?P<metres>[1-9][0-9]{4,5})m\b)",
    re.IGNORECASE,
)
"""With its unit, or the name of what shows it; nobody drives up in metres.

Like the next one it looks at the first letter before anything else: most are none of its."""
_TENS = "twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety"
_ONES = (
    "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen"
    "|sixteen|seventeen|eighteen|nineteen"
)
_END = r"\s*(?:[;)\n]|\.(?![0-9])|,\s|$)"
_ON_CLOCK = r" (?:on|an) (?:the )?(?:clock|odo(?:meter)?|speedo)\b"
_AND_OUT = compiled(
    rf"(?<=[0-9]) ?(?:km|mi)?,? (?:in|out)[ :=]*(?P<full>{_GROUPED}|[0-9]{{4,6}})(?![\w.,]*[0-9])"
)
"""What it showed when the car left, behind what it showed when it came."""
_BARE = compiled(
    r"(?=[ 1-9efnost])(?:"
    rf"(?<![\w/.,+-])(?P<short>[1-9][0-9]{{1,2}})(?:k(?![\w-])| ?(?:tys|tsd|thou(?:sand)?)\b)"
    r"(?: ?(?:km\b|(?P<miles>mi(?:les?)?\b)))?"
    rf"|(?:^|(?<=[,.;:(\n])(?<![0-9]\.(?=[0-9])))[ ]*"
    rf"(?P<full>{_GROUPED}|[1-9][0-9]{{4,5}})(?={_END}|{_ON_CLOCK})"
    rf"|(?:^|(?<=[,.;:(\n]))[ ]*(?P<thousand>[1-9][0-9]{{1,2}}) k(?={_END})"
    rf"|(?:^|(?<=[,.;:(\n]))[ ]*(?P<few>[2-4][0-9]{{3}}) ?(?:kms?"
    rf"|(?P<few_miles>mi(?:les?)?))(?={_END})"
    rf"|\b(?:(?P<tens>{_TENS})(?:[ -](?P<ones>{_ONES}))?|(?P<low>{_ONES})) thousand\b)",
    re.IGNORECASE,
)
"""Without a unit: what else would a customer's car have so many of?"""
_DRIVEN = compiled(
    r"\b(?:after|for|ran|runs?|drove|drives?|driven|driving|rode|test(?:ed|s)?|every|per|within|last"
    r"|next|another|since|ago(?: at)?|covered|travelled|range|nach|alle|jede[nr]?|po|co|apr[eè]s"
    r"|quote|cash|paid|cost)"
    r"(?: (?:the|about|approx|around|roughly|last|first|only|\w+ for))*[ ~]+$",
    re.IGNORECASE,
)
_AGO = compiled(
    r" *(?:ago|later|since|before|further|on(?=\s*(?:[,.;)]|$))|down the road"
    r"|test|trip|run\b|road|drive\b|per|/|old\b|ohms?|rpm|service)",
    re.I,
)
_IN_LIST = compiled(
    r"(?<!no )\b(?:codes?|dtcs?):?(?= )"
    r"(?:[ ,/&+-]|\b(?:\w{1,3}|\w{0,2}[0-9O][0-9A-FO]{3})\b)*$",
    re.I,
)
"""What stands before a bare number that is one of a list of codes."""
_BEHIND_CODE = compiled(
    r"(?<![\w/-])[PCBU][0-3O][0-9A-FO]{3}(?:[-:][0-9A-F]{2})?"
    r"(?:[ ,/&+]{1,3}[0-9]{4,5}(?!\w)){0,8}[ ,/&+]{1,3}$",
    re.IGNORECASE,
)
_FIVE, _TWO_BYTES = 5, 0xFFFF
"""A trouble code has two bytes (SAE J2012, ISO 15031-6); some print them as a number."""
_LIST = 120
"""So far back a list of codes is looked for: a dozen of them."""
_NUMBERS = {word: place for place, word in enumerate(_ONES.split("|"), 1)}
_NUMBERS |= {word: 10 * place for place, word in enumerate(_TENS.split("|"), 2)}
_A_DAY = 1000
_ROUGHLY = (
    r"(?:(?:the|about|around|roughly|approx\.?|only|just|barely|another|some|less than|under|ca\.?"
    r"|etwa|rund|nur|knapp|weiteren|environ|seulement|około|tylko) )*"
)
_SOME_KM = (
    r"[0-9]+(?:[., '’\u00a0\u202f][0-9]{3})*(?:[.,][0-9])? ?[kt]?"
    r" ?(?:kms?|kilomet\w+|miles?|mi|mls?)"
)
AFTER_DISTANCE = (
    rf"\b(?:for|after|within|in|nach|après|apres|pendant|po|przez) {_ROUGHLY}{_SOME_KM}\b"
    rf"|\b{_SOME_KM} (?:later|after(?:wards)?|further|on\b|down the road|später|danach|weiter"
    r"|plus tard|après|apres|później|dalej)"
)
"""After what distance something was: a pattern, in any case of letters."""
_OF_RETURN_OR_HOLD = (
    r"(?:back|again|returned|comeback|failed|dead|died|gave up|packed up|wieder|kam|kaputt|defekt"
    r"|revenue?s?|panne|wr[óo]ci[łl]\w*|znowu|znów|ponownie|held|holds?|holding|last(?:ed|s)?|ok|okay"
    r"|fine|good|well|quiet|dry|hielt|hält|gehalten|gut|tenu|tient|tenait|w?y?trzyma\w*)"
)
_DRIVEN_SINCE = compiled(
    rf"\b{_OF_RETURN_OR_HOLD}\b,?(?: (?:it|us|in|only|just|to|do|nas))*"
    r" (?:(?:for|after|within|in|nach|après|apres|pendant|po|przez) )?"
    rf"{_ROUGHLY}(?P<one>{_SOME_KM})\b"
    rf"|\b(?:after|nach|après|apres|po) {_ROUGHLY}(?P<two>{_SOME_KM})\b,?"
    rf" (?:\w+ )?{_OF_RETURN_OR_HOLD}\b"
    rf"|\b(?P<three>{_SOME_KM}) (?:later|further|on\b|down the road|später|weiter|plus tard|później"
    r"|dalej)",
    re.IGNORECASE,
)
_WITHOUT_TROUBLE = (
    r"(?:no|not|never|nothing|without|(?:trouble|fault)[- ]free|kein\w*|ohne|nichts|nie|problemlos"
    r"|sans|aucune?|rien|jamais|pas|bez\w*|nic|żadn\w*)"
)
_ON_THE_WAY = compiled(
    rf"\b{_WITHOUT_TROUBLE}(?: [^\W\d]+){{0,4}}? (?:in|for|over|on|auf|sur|en|przez|na) {_ROUGHLY}"
    rf"(?P<one>{_SOME_KM})\b"
    rf"|\b(?P<two>{_SOME_KM})"
    r"(?: (?:on|later|gefahren|driven|parcourus?|przejechan\w+|and|und|et|i))*"
    rf" {_WITHOUT_TROUBLE}\b"
    rf"|\b(?:driven|covered|roulé|parcouru|przejecha\w+) {_ROUGHLY}(?P<three>{_SOME_KM})\b"
    rf"|\b(?P<four>{_SOME_KM}) (?:gefahren|driven|parcourus|przejechan\w+)",
    re.IGNORECASE,
)
"""How far a car went with or without trouble: it is no odometer."""
_LEAST_SINCE = 100
"""Kilometres; what is less may be how far it goes from cold until it shows (by judgement)."""
LEAST = 5000
"""What is less, and does not name the odometer, is a distance driven."""


class Distance(NamedTuple):
    """A distance in km, and in miles where it was told so."""

    km: int
    miles: int | None = None


def parse_odometer(text: str, field: str = "odometer") -> Distance:
    """Read what an odometer shows: in km, or in miles, which are turned into km.

    A point, comma, blank or apostrophe before three digits parts thousands, for nobody reads an
    odometer in metres.

    Raises
    ------
    InvalidField
        If it is no whole distance, or more than `MOST_KM`.

    Examples
    --------
    >>> [parse_odometer(text).km for text in ("80.000", "80,000 km", "80 000", "80k", "81234")]
    [80000, 80000, 80000, 80000, 81234]
    >>> parse_odometer("75000 mi")
    Distance(km=120701, miles=75000)
    """
    match = _ALONE.fullmatch(" ".join(text.split()))
    if match is None:
        raise InvalidField(field, text, "is no distance; write 81000, 81.000 km or 50k miles")
    told = _distance(match)
    check_km(told.km, field)
    return told


def check_km(km: int | None, field: str = ODOMETER) -> None:
    """Refuse what no odometer has come to.

    Raises
    ------
    InvalidField
        If it is more than `MOST_KM`.
    """
    if km is not None and km > MOST_KM:
        cure = f"is more than a car drives, {MOST_KM:,} km at most; look again, or leave it out"
        raise InvalidField(field, km, cure)


def find_odometers(
    text: str, *, bare: bool = False, typed: str | None = None
) -> list[tuple[Distance, Place]]:
    """Find what the odometer shows, as people write it among other words, and where.

    A distance driven ("ran 4 miles", "every 50 km", "no trouble in 9,000 km") is none.

    Parameters
    ----------
    bare : bool
        Whether a number may do without a unit, as when a car is brought in: ``91k``, ``141000``.
    typed : str, optional
        The text as it was typed, where of `text` something is blanked, as codes are.

    Examples
    --------
    >>> [distance.km for distance, _ in find_odometers("80.000 km, cuts out after 10 km")]
    [80000]
    >>> find_odometers("no trouble in 9,000 km")
    []
    >>> find_odometers("rattles, 91k", bare=True)
    [(Distance(km=91000, miles=None), Place(start=9, end=12))]
    """
    text = blanked(text, [Place(*match.span()) for match in _ON_THE_WAY.finditer(text)])
    found: list[tuple[Distance, Place]] = []
    for pattern in (_TOLD, _AND_OUT, _BARE) if bare else (_TOLD, _AND_OUT):
        if pattern is _AND_OUT and not found:
            continue
        rest = text if pattern is _AND_OUT else blanked(text, [place for _, place in found])
        for match in pattern.finditer(rest):
            start = (
                match.start("full") if pattern is _AND_OUT else match.end() - len(match[0].lstrip())
            )
            place, distance = Place(start, match.end()), _shown(match)
            named = match.groupdict().get("named") or pattern is _AND_OUT
            told = distance.miles or distance.km
            alone = match.groupdict().get("few")
            if not (named or alone or told >= LEAST):
                continue
            before = (typed or text)[max(0, start - _LIST) : start]
            number = match["full"] if pattern is _BARE else None
            if number and (_IN_LIST.search(before) or is_among_codes(number, before)):
                continue
            driven = _DRIVEN.search(text, max(0, start - 30), start) or _AGO.match(
                text, match.end()
            )
            if named or not driven:
                found.append((distance, place))
    return sorted(found, key=lambda each: each[1])


def driven_since(text: str) -> Distance | None:
    """Read how far a car had gone since its repair when it came back, or until when it held.

    Examples
    --------
    >>> [driven_since(said) for said in ("came back after 9,000 km", "held 500 miles so far")]
    [Distance(km=9000, miles=None), Distance(km=805, miles=500)]
    >>> driven_since("no trouble in 9,000 km")
    Distance(km=9000, miles=None)
    >>> driven_since("back, cuts out after 200 km"), driven_since("came back at 74,500 km")
    (None, None)
    """
    line = " ".join(text.split())
    found = _ON_THE_WAY.search(line) or _DRIVEN_SINCE.search(line)
    if found is None:
        return None
    shown = _ALONE.fullmatch(next(filter(None, found.groups())))
    distance = _distance(shown) if shown else None
    return distance if distance and _LEAST_SINCE <= distance.km <= MOST_KM else None


def is_among_codes(number: str, before: str) -> bool:
    """Whether a number at once behind codes may be a maker's own number of a fault.

    Examples
    --------
    >>> is_among_codes("17000", "P0300, "), is_among_codes("84000", "P0300, ")
    (True, False)
    """
    fits = len(number) == _FIVE and number.isdecimal() and int(number) <= _TWO_BYTES
    return fits and _BEHIND_CODE.search(before) is not None


def shown_at_once(found: list[tuple[Distance, Place]]) -> list[tuple[Distance, Place]]:
    """Return what odometers showed, if one car may have shown all of it on one day; else nothing.

    Examples
    --------
    >>> shown_at_once(find_odometers("one has 88,150 mi, the other 31k mi"))
    []
    """
    distances = [distance.km for distance, _ in found]
    return found if distances and max(distances) - min(distances) <= _A_DAY else []


def _shown(match: re.Match[str]) -> Distance:
    told = match.groupdict()
    if told.get("full"):
        value = int(re.sub("[^0-9]", "", match["full"]))
    elif told.get("few"):
        value = int(match["few"])
    elif told.get("metres"):
        value = int(match["metres"])
    elif thousands := told.get("short") or told.get("thousand"):
        value = round(float(thousands.replace(",", ".")) * 1000)
    else:
        words = (told.get(name) for name in ("tens", "ones", "low"))
        value = 1000 * sum(_NUMBERS[word.casefold()] for word in words if word)
    in_miles = told.get("miles") or told.get("metres") or told.get("few_miles")
    return Distance(round(value * KM_A_MILE), value) if in_miles else Distance(value)


def lift_odometer(text: str) -> tuple[Distance | None, str]:
    """Take the first distance that names its unit out of a text; with the text without it.

    Examples
    --------
    >>> lift_odometer("came back at 91 000 km, as job 214")
    (Distance(km=91000, miles=None), 'came back, as job 214')
    """
    match = _IN_TEXT.search(text)
    return (None, text) if match is None else (_distance(match), cut(text, [Lifted(*match.span())]))


def lift_odometer_beside_car(text: str) -> tuple[Distance | None, str]:
    """Take the distance out of what was typed of a car, where ``84k`` is one, too.

    Examples
    --------
    >>> lift_odometer_beside_car("bramwick lido 2016, 84tkm")
    (Distance(km=84000, miles=None), 'bramwick lido 2016')
    >>> lift_odometer_beside_car("lido 84k 2016")
    (Distance(km=84000, miles=None), 'lido 2016')
    >>> lift_odometer_beside_car("lido 2016 diesel 92500")
    (Distance(km=92500, miles=None), 'lido 2016 diesel')
    """
    match = _IN_TEXT.search(text) or _THOUSANDS.search(text) or _BEHIND_CAR.search(text)
    return (None, text) if match is None else (_distance(match), cut(text, [Lifted(*match.span())]))


_MOST_DIGITS = 12
"""A distance with as many is refused, whatever follows them."""


def _distance(match: re.Match[str]) -> Distance:
    found = match.groupdict()
    if found["thousands"]:
        told = round(min(float(found["thousands"].replace(",", ".")), MOST_KM) * 1000)
    else:
        told = int(re.sub("[^0-9]", "", found["whole"]).lstrip("0")[:_MOST_DIGITS] or "0")
    return Distance(round(told * KM_A_MILE), told) if found.get("miles") else Distance(told)
