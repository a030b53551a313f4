"""Days of work done, and of what was heard: as people write them, and none beyond tomorrow."""

import re
from collections.abc import Iterator
from contextlib import suppress
from datetime import date, timedelta
from typing import NamedTuple

from kb.case import Job
from kb.errors import InvalidField
from kb.intake.lifting import Doubt, Place
from kb.patterns import compiled

CLOCKS = timedelta(days=1)
"""How far two clocks may be apart: the shop's may be a zone behind."""
_MONTHS = (
    "jan(?:uary|uar|\\.)?|janvier|stycz(?:nia|niu|eń)",
    "feb(?:ruary|ruar|\\.)?|février|lut(?:ego|ym|y)",
    "mar(?:ch|\\.)?|märz|mars|mar(?:ca|cu|zec)",
    "apr(?:il|\\.)?|avril|kwie(?:tnia|tniu|cień)",
    "may|mai|maj[au]",
    "june?|juni|jun\\.|juin|czerw(?:ca|cu|iec)",
    "july?|juli|jul\\.|juillet|lip(?:ca|cu|iec)",
    "aug(?:ust|\\.)?|août|sierp(?:nia|niu|ień)",
    "sept(?:ember|\\.)?|sep\\.?|septembre|wrze(?:śnia|śniu|sień)",
    "o[ck]t(?:ober|\\.)?|octobre|październik[au]?",
    "nov(?:ember|\\.)?|novembre|listopad(?:a|zie)?",
    "de[cz](?:ember|\\.)?|décembre|grud(?:nia|niu|zień)",
)
_MONTH = rf"(?:{'|'.join(_MONTHS)})(?![^\W\d_])"
_YEAR = "(?P<year>[0-9]{4}|[0-9]{2}(?![0-9]))"
_NUMBERED = r"(?P<day>[0-3]?[0-9])(?:st|nd|rd|th|\.)?"
_WRITTEN = (
    r"(?P<iso>[0-9]{4}-[0-9]{2}-[0-9]{2})(?![\w-])",
    rf"(?P<day>[0-3]?[0-9])\.(?P<month>[01]?[0-9])\.{_YEAR}(?![\w.])",
    r"(?P<day>[0-3]?[0-9])\.(?P<month>[01][0-9])\.(?=[\s,;)]|$)",
    rf"(?P<one>[0-3]?[0-9])(?P<sign>[/-])(?P<two>[0-3]?[0-9])(?P=sign){_YEAR}(?![\w/-])",
    rf"{_NUMBERED} ?(?:of )?(?P<name>{_MONTH})(?! (?:be|have)\b)"
    rf"(?:,? {_YEAR}(?![\w:.]| [0-9]{{3}}\b))?",
    rf"(?P<name>{_MONTH}) {_NUMBERED}(?![\w:]|[.,][0-9])(?:,? (?P<year>[0-9]{{4}})(?!\w))?",
    r"(?P<ago>[0-9]{1,2}|an?|one|two|three|four|five|six) days? ago\b",
    r"(?P<yesterday>yesterday|last night|gestern|wczoraj)\b",
)
_DAYS = tuple(compiled(rf"(?<![\w.,/-])(?:on )?{form}", re.IGNORECASE) for form in _WRITTEN)
_WEEKDAY_NAMES = (
    r"monday|montag|lundi|poniedzia[łl](?:ek|ku)",
    r"tuesday|tues|dienstag|mardi|wtor(?:ek|ku)",
    r"wednesday|weds|mittwoch|mercredi|[śs]rod[aęeyą]",
    r"thursday|thurs?|donnerstag|jeudi|czwart(?:ek|ku)",
    r"friday|freitag|vendredi|pi[ąa]t(?:ek|ku)",
    r"saturday|samstag|sonnabend|samedi|sobot[aęey]",
    r"sunday|sonntag|dimanche|niedziel[aęei]",
)
_WEEKDAY_WITHIN = 92
"""Days back within which a weekday with the day of a month alone is meant: about a season."""
_CUT_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DAY_OF_WEEK = compiled(
    r"(?<![\w.,/-])(?:on )?"
    rf"(?:(?P<weekday>{'|'.join(_WEEKDAY_NAMES)})|(?P<cut>{'|'.join(_CUT_WEEKDAYS)}))"
    r"[.,]? (?:the )?(?P<day>[12][0-9]|3[01]|0?[1-9])(?:st|nd|rd|th|\.)?"
    r"(?![\w:/-]|[.,][0-9]|\.? ?[0-9]|[. ]*(?:v|a|km|miles?|mm|bar|h|hrs?|days?|times?|deg)\b"
    rf"|\.? ?(?:of )?(?:{_MONTH}))",
    re.IGNORECASE,
)
"""A weekday with the day of a month that is not named: "Sat 21st"."""
_SHORT = compiled(
    r"(?:^|(?<=[,;(] )|\b(?:on|back|again|comeback|returned|(?:rang|called|phoned)(?: \w+)?) )"
    r"(?P<day>[0-3]?[0-9])\.(?P<month>1[0-2]|[1-9])\.(?=[\s,;)]|$)",
    re.IGNORECASE,
)
"""With a month of one digit, which may be a value elsewhere: "charges at 14.2."."""
_TOLD_BACK = (
    r"(?:(?:c[ao]me |brought |kam |kommt |is |was |est |wurde )?(?:back|zurück|zurueck)|returned"
    r"|comeback|(?:rang|called|phoned|towed|brought)(?: (?:back|in|again))?|kam|kamen|revenue?s?"
    r"|retour|(?:rap|a )?appelée?|wr[óo]ci[łl]\w*|dzwoni[łl]\w*|przyjecha[łl]\w*|angerufen)"
)
_TELLING_NEXT = (
    r"(?: \w+){0,2} (?:back|again|returned|comeback|rang|called|phoned|cust\w*|kam|wieder|zurück"
    r"|zurueck|angerufen|kunde|kundin|revenue?|retour|client\w*|wr[óo]ci[łl]\w*|znowu|znów"
    r"|klient\w*)(?!\w)"
)
_NO_VALUE = (
    r"(?![\w/%°-]|[.,:][0-9]| ?(?:[vakmlhgs°%Ωµ]|mv|m[as]|k?w|volts?|amps?|[km]?bar|[km]?ohms?"
    r"|k?hz|km|miles?|k?pa|mm|nm|psi|hrs?|kg|lit\w*|sec\w*|min\w*|deg\w*|grad|degr\w*|stopni\w*"
    r"|of|to|tank|full|times?|gear|cyl\w*|days?|weeks?|months?|tage?n?|wochen|jours?|semaines?"
    r"|dni|tygodni\w*)(?!\w))"
)
_UNDOTTED = compiled(
    rf"(?:(?<![\w-]){_TOLD_BACK} (?:on |am |vom |le |dnia )?|\A(?=[0-9.]+{_TELLING_NEXT}))"
    rf"(?P<day>0?[1-9]|[12][0-9]|3[01])\.(?P<month>0?[1-9]|1[0-2]){_NO_VALUE}",
    re.IGNORECASE,
)
"""Without the dot behind the month: where a contact is told, "came back 20.11"."""
_A_RESULT = compiled(
    r"(?:readings?|tests?|results?|values?|voltage|pressure|resistance|current|samples?|lab) "
    r"(?:\w+ )?$",
    re.IGNORECASE,
)
"""What comes back as a number and not on a day: "the test came back 4.10"."""
_SLASHED = compiled(
    r"(?:^|(?<=[,;(:] )|\b(?:on|back|again|comeback|returned|am|dnia|le"
    r"|(?:rang|called|phoned|asked|seen|saw|spoke|in|checked|angerufen)(?: \w+)?) )"
    r"(?P<one>[0-3]?[0-9])(?P<sign>[/-])(?P<two>[0-3]?[0-9])(?![\w/%-]|[.,][0-9]"
    r"| ?(?:[vakm°%]|volts?|bar|ohms?|km|miles?|mm|psi|h|hrs?|tank|of|full|days?|weeks?|months?"
    r"|times)\b)",
    re.IGNORECASE,
)
"""Day and month alone, which may be a value elsewhere: "brakes 7/8"."""
_DAY_LIKE = compiled(
    r"(?<![\w.,/-])(?:(?!24/7)(?:[12][0-9]|3[01]|0?[1-9])/(?:0?[1-9]|1[0-2])"
    r"|(?:[12][0-9]|3[01]|0?[1-9])\.(?:0[1-9]|1[0-2])"
    r"|(?:am|vom|on|the) (?:[12][0-9]|3[01]|0?[1-9])(?:\.|st|nd|rd|th))(?![\w/%-]|[.,][0-9]"
    r"| ?(?:[vakm°%]|volts?|bar|ohms?|km|miles?|mm|psi|h|hrs?|tank|of|full|gear|cyl\w*|times?)\b)",
    re.IGNORECASE,
)
"""What may be a day, where none was understood."""
_TWO_NUMBERS = compiled(
    r"(?<!\d)(?P<day>0?[1-9]|[12][0-9]|3[01])[/.-](?P<month>0?[1-9]|1[0-2])(?![/.-]?\d)"
)
_BEHIND = {_SHORT: "day", _SLASHED: "one", _UNDOTTED: "day"}
"""The group with which a day begins that is told by what stands before it."""
_PAST = (
    r"(?:last|this|past|letzte[mnrs]?|vorige[mnrs]?|diese[mnrs]?|(?:ze|po)sz[łl](?:y|[ąa]|ego|ej)"
    r"|ubieg[łl](?:y|[ąa]|ego|ej))"
)
_WEEKDAY_TOLD = (
    rf"(?:(?:on|am|le|we?|dnia) )?(?:{_PAST} )?(?P<weekday>{'|'.join(_WEEKDAY_NAMES)})(?: dernier)?"
    r"(?![\w-]| (?:prochain|coming|next)\b|[^,;.\n]{0,20}\b(?:will|wird|kommt|viendra"
    r"|przyjedzie)\b)"
)
_ON_WEEKDAY = compiled(
    rf"(?<![\w.,/-]){_WEEKDAY_TOLD}"
    r"|(?:\bon |(?<=rang )|(?<=said )|(?<=called )|(?<=back )|(?<=again )|(?<=last )"
    rf"|(?<=[,;] )(?=\w{{3}}\.?\s*(?:[,;]|$)))(?P<cut>{'|'.join(_CUT_WEEKDAYS)})(?!\w)",
    re.IGNORECASE,
)
_WEEKDAY_AT_START = compiled(
    rf"{_WEEKDAY_TOLD}|(?P<cut>{'|'.join(_CUT_WEEKDAYS)})(?!\w)", re.IGNORECASE
)
_OF_ANOTHER_WEEK = compiled(
    r"\b(?:(?:last|previous|other) (?:week|wk)|week before|weeks? ago|(?:letzte|vorletzte"
    r"|vorige)\w? woche"
    r"|vor\w* woche\w*|semaines? (?:derni[èe]re|pass[ée]e)|il y a|zesz[łl]\w+ tygodni\w+"
    r"|tygodni\w* temu)",
    re.IGNORECASE,
)
"""What tells of a weekday that it was not the last such day."""
_WEEKDAY = "(?:mon|tues|wednes|thurs|fri|satur|sun)days?|tues?|weds?|thurs?"
_VAGUE = compiled(
    rf"\b(?:(?:last|this|earlier this|previous) (?:week(?:end)?|wk|month|year|yr|spring|summer"
    rf"|autumn|winter|{_WEEKDAY}|{_MONTH})|(?:on )?(?:{_WEEKDAY})"
    r"|(?:(?<=on )|(?<=rang )|(?<=called )|(?<=back )|(?<=last ))(?:mon|tue|wed|thu|fri|sat|sun)"
    r"|(?:[0-9]+|an?|one|two|three|four|five|six|few|couple(?: of)?) "
    r"(?:weeks?|wks?|months?|mths?|years?|yrs?) ago|few days ago|the other day"
    rf"|(?:in|early|mid|late|end of)[ -](?:{_MONTH})"
    r"|letzte[nrs]? (?:woche|monat|jahr)|(?:la semaine|le mois) derni(?:er|ère)"
    r"|w zeszłym (?:tygodniu|miesiącu))(?!\w)",
    re.IGNORECASE,
)
_A_MONTH = compiled(_MONTH, re.IGNORECASE)
_OTHER_DAY = compiled(
    r"(?:\b(?:since|until|till?|from|before|by|for|seit|bis(?: zum)?|depuis|d[èe]s|od|do)"
    r"(?: (?:the|last|about|early|le))?"
    r"|\bjusqu['’](?:[àa]|au)|\bn[äa]e?chste[mnrs]?|\bkommende[mnrs]?|\bprzysz[łl]\w+"
    r"|\bnast[ęe]pn\w+"
    r"|\b(?:comes?|coming|kommt|kommen|vient|viendra|przyjedzie|przyjdzie|would|(?:call|ring"
    r"|phone|chase|rappeler|anrufen|zadzwonić)(?!\w))"
    r"(?: back| him| her| cust\w*| in| on| am| le| we?)*"
    r"|\b(?:booked|due|next|will|try|wants?|coming|fitted|replaced|bought)\b[^,;.]{0,30}?) *$",
    re.IGNORECASE,
)
"""Before a day on which the car was not heard of."""
_PARTS_OF_MONTH = {
    **dict.fromkeys(("early", "beginning of", "start of", "anfang", "début", "początku"), 1),
    **dict.fromkeys(("mid", "middle of", "mitte", "mi", "połowy"), 11),
    **dict.fromkeys(("late", "end of", "the end of", "ende", "fin", "końca"), 21),
}
"""The first day of what is called so, in thirds of a month."""
_IN_MONTH = compiled(
    rf"(?:(?P<part>{'|'.join(_PARTS_OF_MONTH)})[ -])?(?:in )?(?P<name>{_MONTH})(?! (?:be|have)\b)"
    r"(?: (?P<year>[0-9]{4}))?",
    re.IGNORECASE,
)
_ALSO_VERBS = frozenset({"may", "mar", "mars", "mai"})
"""Months whose names mean something else as well."""
_SPAN_BEFORE = compiled(
    rf"(?:last|this|previous) (?:week|wk|month|year|yr|{_WEEKDAY}|sun)\b|(?:{_WEEKDAY})\b"
    r"|(?:mon|tue|wed|thu|fri|sat|sun)\b|(?:(?:last|this|previous) )?weekend\b",
    re.IGNORECASE,
)
_OTHER_WEEKDAY = (
    r"(?:montag|dienstag|mittwoch|donnerstag|freitag|samstag|sonntag|lundi|mardi|mercredi|jeudi"
    r"|vendredi|samedi|dimanche|poniedziałku|wtorku|środy|czwartku|piątku|soboty|niedzieli)"
)
_BEFORE_THIS = r"(?:letzte[mnrs]?|vorige[mnrs]?|(?:ze|po)szł(?:ego|ej)|ubiegł(?:ego|ej)) "
_SPANS_ABROAD = tuple(
    (compiled(rf"(?:{forms})(?!\w)", re.IGNORECASE), meant)
    for forms, meant in (
        (
            rf"{_BEFORE_THIS}(?:{_OTHER_WEEKDAY})|(?:{_OTHER_WEEKDAY}) dernier",
            "last monday",
        ),
        (_OTHER_WEEKDAY, "monday"),
        (
            rf"{_BEFORE_THIS}(?:wochenendes?|weekendu)|(?:le )?week-?end dernier",
            "last weekend",
        ),
        ("wochenende|(?:le )?week-?end|weekendu", "weekend"),
        (rf"{_BEFORE_THIS}(?:woche|tygodnia)|(?:la )?semaine dernière", "last week"),
        (rf"{_BEFORE_THIS}(?:monat|miesiąca)|(?:le )?mois dernier", "last month"),
        (rf"{_BEFORE_THIS}(?:jahr|roku)|(?:l['’])?(?:an dernier|année dernière)", "last year"),
    )
)
"""Times of no one day in other tongues, each by one in English that begins as early."""
NO_ONE_DAY = "names no one day"
"""What is asked about such a time."""
_NEAR = 60
_CENTURY = 2000
_LEAP_YEARS = 8
"""Years in which every day of the calendar occurs."""
_COUNTS = {"two": 2, "three": 3, "four": 4, "five": 5, "six": 6}


class HeardOn(NamedTuple):
    """The day on which a car was heard of, if one is told, and where; and what names no one day."""

    day: date | None = None
    place: Place | None = None
    doubt: Doubt | None = None


def heard_on(text: str, today: date, stretch: Place | None = None) -> HeardOn:
    """Find the day on which a car was heard of, in all of a text or a stretch of it.

    Without a year it is the last such day up to today. A weekday is the last such day before today,
    which is said as a doubt, too. What names no one day ("last week"), or may be two ("3/9/2026"),
    is a doubt, and so are two days told.

    Raises
    ------
    InvalidField
        If it names a day that the calendar does not have.

    Examples
    --------
    >>> heard_on("came back 14.02., same noise", date(2026, 3, 2)).day
    datetime.date(2026, 2, 14)
    >>> told = heard_on("back on Tuesday", date(2026, 3, 2))
    >>> str(told.day), str(told.doubt)
    ('2026-02-24', '“on Tuesday” is taken as 2026-02-24, the last one; else write the day')
    >>> str(heard_on("came back last week", date(2026, 3, 2)).doubt)
    '“last week” names no one day; kept is 2026-03-02, else write it as 2026-02-28'
    """
    begin, end = stretch or Place(0, len(text))
    found = _days_within(text, today, begin, end)
    days = {day for day in found.values() if day}
    if len(days) == 1:
        place, day = next((place, day) for place, day in found.items() if day)
        return HeardOn(day, place)
    if not found and (weekday := _on_weekday(text, today, begin, end)):
        return weekday
    vague = [*found] or [
        Place(*match.span())
        for pattern in (_VAGUE, _DAY_LIKE)
        for match in pattern.finditer(text, begin, end)
        if not _is_other_day(text, begin, match.start())
    ]
    if not vague:
        return HeardOn()
    said = text[slice(*vague[0])]
    meant = _day_first(said, today) or today - timedelta(days=2)
    why = f"{NO_ONE_DAY}; kept is {today}, else write it as {meant}"
    return HeardOn(doubt=Doubt(said, why, vague[0]))


def _on_weekday(text: str, today: date, begin: int, end: int) -> HeardOn | None:
    """Find the one weekday that a stretch of a text tells; None if it tells none, or several."""
    if _OF_ANOTHER_WEEK.search(text, begin, end):
        return None
    found = {
        Place(*match.span()): _last_weekday(match, today)
        for match in _ON_WEEKDAY.finditer(text, begin, end)
        if not _is_other_day(text, begin, match.start())
    }
    if len(set(found.values())) != 1:
        return None
    place, day = next(iter(found.items()))
    said = text[slice(*place)]
    why = f"is taken as {day}, the last one; else write the day"
    return HeardOn(day, place, Doubt(said, why, place))


def _last_weekday(match: re.Match[str], today: date) -> date:
    """Return the last such day before today."""
    return today - timedelta(days=(today.weekday() - _weekday(match) - 1) % 7 + 1)


def _last_on_weekday(match: re.Match[str], today: date) -> date | None:
    """Return the last day of a month up to today that falls on the weekday told; None if none."""
    days = (today - timedelta(days=back) for back in range(_WEEKDAY_WITHIN))
    told = _weekday(match), int(match["day"])
    return next((each for each in days if (each.weekday(), each.day) == told), None)


def _weekday(match: re.Match[str]) -> int:
    if cut := match["cut"]:
        return _CUT_WEEKDAYS.index(cut.lower())
    return next(
        place
        for place, form in enumerate(_WEEKDAY_NAMES)
        if re.fullmatch(form, match["weekday"], re.IGNORECASE)
    )


def days_told(text: str, today: date) -> list[tuple[Place, date]]:
    """Return every day on which a text says that a car was heard of, in the order told.

    Examples
    --------
    >>> [str(day) for _, day in days_told("ok 3 Mar 2025, back 14.02.2026", date(2026, 3, 2))]
    ['2025-03-03', '2026-02-14']
    """
    found = _days_within(text, today, 0, len(text))
    return sorted((place, day) for place, day in found.items() if day)


def tells_day_to_come(text: str, today: date) -> bool:
    """Whether a text writes a day that is still to come, be it of a contact or until when.

    Examples
    --------
    >>> tells_day_to_come("held until 2027-01-01", date(2026, 3, 2))
    True
    """
    for match in (match for pattern in _DAYS for match in pattern.finditer(text)):
        with suppress(InvalidField):  # a number that no calendar has is a value
            day = _day(match, today)
            if day is not None and day > today:
                return True
    return False


def _days_within(text: str, today: date, begin: int, end: int) -> dict[Place, date | None]:
    found: dict[Place, date | None] = {}
    for pattern in (*_DAYS, _DAY_OF_WEEK, _SHORT, _SLASHED, _UNDOTTED):
        for match in pattern.finditer(text, begin, end + text.startswith(".", end)):
            start = match.start(_BEHIND.get(pattern, 0))
            place = Place(start, match.end())
            overlaps = any(place.start < each.end and each.start < place.end for each in found)
            if overlaps or _is_other_day(text, begin, place.start):
                continue
            if pattern is not _UNDOTTED:
                found[place] = _day(match, today)
            elif not _A_RESULT.search(text, max(begin, match.start() - _NEAR), match.start()):
                with suppress(InvalidField):  # a number that no calendar has is a value
                    found[place] = _day(match, today)
    return found


def earliest_meant(said: str, today: date) -> date | None:
    """Return the earliest day that a time of no one day may mean; None where nobody can tell.

    Weeks begin on Monday (ISO 8601).

    Examples
    --------
    >>> [str(earliest_meant(said, date(2026, 3, 4))) for said in ("last week", "last month")]
    ['2026-02-23', '2026-02-01']
    >>> [str(earliest_meant(said, date(2026, 3, 4))) for said in ("on Tuesday", "in may", "lately")]
    ['2026-03-03', '2025-05-01', 'None']
    """
    words = said.casefold().replace("-", " ").split()
    before, name = not {"last", "previous"}.isdisjoint(words), words[-1]
    if name == "weekend":
        return today - timedelta(days=today.weekday() + (9 if before else 2))
    if name.startswith(("week", "wk")):
        return today - timedelta(days=today.weekday() + 7 * before)
    if name == "month":
        return (today.replace(day=1) - timedelta(days=before)).replace(day=1)
    if name in {"year", "yr"}:
        return date(today.year - before, 1, 1)
    if weekday := _WEEKDAY_AT_START.fullmatch(name):
        return _last_weekday(weekday, today) - timedelta(days=7 * before)
    return _last(said, _month(name), 1, today) if _A_MONTH.fullmatch(name) else None


def earliest_written(said: str, today: date) -> date | None:
    """Return the earliest day that may be meant by a time at the start of a text, if it is a day.

    Examples
    --------
    >>> told = ("20.09. at home", "mid September, then", "Monday", "the customer")
    >>> [str(earliest_written(said, date(2026, 11, 28))) for said in told]
    ['2026-09-20', '2026-09-11', '2026-11-23', 'None']
    """
    with suppress(InvalidField):
        return _earliest_written(said, today)
    return None


def _earliest_written(said: str, today: date) -> date | None:
    for pattern in _DAYS:
        if written := pattern.match(said):
            return _day(written, today) or _day_first(written[0], today)
    if numbers := _DAY_LIKE.match(said):
        return _day_first(numbers[0], today)
    if found := _IN_MONTH.match(said):
        return _begin_of_month(found, today)
    if weekday := _WEEKDAY_AT_START.match(said):
        return _last_weekday(weekday, today)
    span = _SPAN_BEFORE.match(said)
    abroad = (meant for pattern, meant in _SPANS_ABROAD if pattern.match(said))
    meant = next(abroad, span[0] if span else None)
    return earliest_meant(meant, today) if meant else None


def _begin_of_month(found: re.Match[str], today: date) -> date:
    month, first = _month(found["name"]), _PARTS_OF_MONTH[(found["part"] or "early").lower()]
    if found["year"]:
        return date(int(found["year"]), month, first)
    return _last(found[0], month, first, today)


def month_told(text: str, today: date) -> date | None:
    """Return the first day of the last month, or the part of one, that a text tells by its name.

    Examples
    --------
    >>> told = ("same whine, beginning of August", "wieder da, Mitte Oktober", "it may rattle")
    >>> [str(month_told(said, date(2026, 11, 28))) for said in told]
    ['2026-08-01', '2026-10-11', 'None']
    """
    for found in _IN_MONTH.finditer(text):
        alone = text[: found.start()].endswith(tuple("abcdefghijklmnopqrstuvwxyzäöüéł-/"))
        verb = found["name"].casefold() in _ALSO_VERBS and not found["part"]
        if not alone and not verb and not _is_other_day(text, 0, found.start()):
            return earliest_written(found[0], today)
    return None


def is_one_day(said: str) -> bool:
    """Whether the time at the start of a text is a single day: "20.09.", but not "September".

    Examples
    --------
    >>> is_one_day("20.09. at home"), is_one_day("mid September")
    (True, False)
    """
    return any(each.match(said) for each in (*_DAYS, _DAY_LIKE, _WEEKDAY_AT_START))


def length_written(said: str) -> int:
    """Return how many signs at the start of a text are such a time, 0 if none is there.

    Examples
    --------
    >>> length_written("Monday again"), length_written("letzter Woche wieder"), length_written("us")
    (6, 13, 0)
    """
    forms = (
        *_DAYS,
        _DAY_LIKE,
        _IN_MONTH,
        _WEEKDAY_AT_START,
        *(each for each, _ in _SPANS_ABROAD),
        _SPAN_BEFORE,
    )
    return max((found.end() for each in forms if (found := each.match(said))), default=0)


def _is_other_day(text: str, begin: int, start: int) -> bool:
    return _OTHER_DAY.search(text, max(begin, start - _NEAR), start) is not None


def _day(match: re.Match[str], today: date) -> date | None:
    """Return the day that is written, None if it may be one of two."""
    told = match.groupdict()
    if told.get("weekday") or told.get("cut"):
        return _last_on_weekday(match, today)
    if told.get("yesterday") or told.get("ago"):
        ago = told.get("ago") or "one"
        return today - timedelta(days=int(ago) if ago.isdigit() else _COUNTS.get(ago.lower(), 1))
    if told.get("iso"):
        year, month, day = map(int, match["iso"].split("-"))
        return _of_calendar(match[0], year, month, day)
    if told.get("sign"):
        day, month = int(match["one"]), int(match["two"])
        if day != month and max(day, month) <= len(_MONTHS):
            return None
        day, month = (month, day) if month > len(_MONTHS) else (day, month)
    else:
        day = int(match["day"])
        month = _month(told["name"]) if told.get("name") else int(match["month"])
    if written := told.get("year"):
        century = _CENTURY if len(written) < len("2000") else 0
        return _of_calendar(match[0], century + int(written), month, day)
    return _last(match[0], month, day, today)


def _day_first(said: str, today: date) -> date | None:
    """Return the last day that two numbers tell, day before month: ``9/10``."""
    found = _TWO_NUMBERS.search(said)
    return _last(said, int(found["month"]), int(found["day"]), today) if found else None


def _last(said: str, month: int, day: int, today: date) -> date:
    """Return the last such day up to today."""
    for year in range(today.year, today.year - _LEAP_YEARS - 1, -1):
        try:
            last = date(year, month, day)
        except ValueError:
            continue
        if last <= today:
            return last
    return _of_calendar(said, today.year, month, day)


def _month(name: str) -> int:
    return next(
        place for place, form in enumerate(_MONTHS, 1) if re.fullmatch(form, name, re.IGNORECASE)
    )


def _of_calendar(said: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise InvalidField("contact.on", said, "is no day; write it as 2026-03-02") from None


def days_to_come(job: Job, today: date, clocks: timedelta = CLOCKS) -> Iterator[tuple[str, date]]:
    """Yield field and day of what a job tells of days to come.

    Parameters
    ----------
    clocks : timedelta
        How far this machine's clock and the one by which the job was told may be apart; none where
        it is told here and now.

    Examples
    --------
    >>> from kb.case import Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2099, 1, 1), complaint="no crank")
    >>> list(days_to_come(job, date(2026, 3, 2)))
    [('opened', datetime.date(2099, 1, 1))]
    """
    told = [("opened", job.opened), ("closed", job.closed)]
    told += [(f"contacts[{place}].on", each.on) for place, each in enumerate(job.contacts)]
    for field, day in told:
        if day is not None and day > today + clocks:
            yield field, day


def days_of_no_clock(job: Job) -> Iterator[tuple[str, date]]:
    """Yield field and day of what a job tells of days that a wrong clock or an empty cell makes.

    A car is sold in the year before its model year at the earliest (common practice, no source).

    References
    ----------
    IEEE Std 1003.1, "Seconds since the Epoch", counts from 1970-01-01; ISO/IEC 29500-1, date
    systems of spreadsheets, from 1900 and 1904; FAT file systems from 1980-01-01 (from memory).

    Examples
    --------
    >>> from kb.case import Vehicle
    >>> job = Job(vehicle=Vehicle(year=2014), opened=date(2010, 3, 2), complaint="no crank")
    >>> list(days_of_no_clock(job))
    [('opened', datetime.date(2010, 3, 2))]
    """
    built = job.vehicle.year or _FIRST_CARD
    for field, day in (("opened", job.opened), ("closed", job.closed)):
        if day is not None and (day in _ZEROS or day.year < built - 1):
            yield field, day


_FIRST_CARD = 1950
"""No shop has older job cards of its own (common practice, no source)."""
_ZEROS = {date(year, 1, 1) for year in (1900, 1904, 1970, 1980)}
