"""When a car came back, by words that tell it: "the next week", "after 2 days", "never held".

A comeback is often heard of months later. The day it was heard of is then not the day the fix
failed, and would count as time for which it held.
"""

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import NamedTuple

from rapidfuzz.distance import OSA
from rapidfuzz.process import extractOne

from kb.case import Contact, Outcome
from kb.intake.days import (
    earliest_meant,
    earliest_written,
    heard_on,
    is_one_day,
    length_written,
    month_told,
)
from kb.intake.distances import AFTER_DISTANCE, driven_since
from kb.intake.items import trade_wording
from kb.intake.known_words import is_known
from kb.intake.outcome_words import DENIALS, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.patterns import compiled

_COUNTS = {
    **dict.fromkeys(
        ("a", "an", "one", "the first", "ein", "eine", "einem", "einer", "un", "une"), 1
    ),
    **dict.fromkeys(("two", "couple of", "a couple of", "a couple", "zwei", "deux", "dwóch"), 2),
    **dict.fromkeys(("three", "few", "a few", "several", "drei", "trois", "trzech"), 3),
    **dict.fromkeys(("ein paar", "einigen", "quelques", "kilku"), 3),
    **dict(
        zip(["four", "five", "six", "seven", "eight", "nine", "ten"], range(4, 11), strict=True)
    ),
    **dict(
        zip(["vier", "fünf", "sechs", "sieben", "acht", "neun", "zehn"], range(4, 11), strict=True)
    ),
    **dict(
        zip(["quatre", "cinq", "six", "sept", "huit", "neuf", "dix"], range(4, 11), strict=True)
    ),
    **dict(zip(["czterech", "pięciu", "sześciu"], range(4, 7), strict=True)),
    **dict.fromkeys(("dwoch", "dwa", "dwie"), 2),
    **dict.fromkeys(("trzy",), 3),
    **dict(zip(["cztery", "pieciu", "szesciu", "siedmiu"], range(4, 8), strict=True)),
    **dict.fromkeys(("eleven", "elf", "onze"), 11),
    **dict.fromkeys(("twelve", "a dozen", "zwölf", "zwoelf", "douze", "une douzaine de"), 12),
    **dict.fromkeys(("fourteen", "vierzehn", "quatorze"), 14),
    **dict.fromkeys(("fifteen", "fünfzehn", "quinze", "une quinzaine de"), 15),
    **dict.fromkeys(("twenty", "zwanzig", "vingt"), 20),
    **dict.fromkeys(("thirty", "dreißig", "dreissig", "trente"), 30),
}
_DAYS_OF = {
    1: ("day", "night", "tag", "jour", "dzień", "dzien", "dnia", "dniach", "dniu", "dni"),
    7: (
        *("week", "wk", "woche", "semaine", "tydzień", "tydzien", "tygodnia", "tygodniach"),
        *("tygodniu", "tygodni"),
    ),
    14: ("fortnight",),
    30: (
        *("month", "mth", "monat", "mois", "miesiąca", "miesiaca", "miesiącach", "miesiacach"),
        *("miesiącu", "miesiacu", "miesięcy", "miesiecy", "miesiąc", "miesiac"),
    ),
    365: ("year", "yr", "jahr", "an", "année", "annee", "roku", "latach", "lat"),
}
_UNITS = {unit: days for days, units in _DAYS_OF.items() for unit in units}
_UNIT = rf"(?P<unit>{'|'.join(sorted(_UNITS, key=len, reverse=True))})"
_COUNT = rf"(?P<count>[0-9]{{1,3}}|{'|'.join(sorted(_COUNTS, key=len, reverse=True))})"
_SPAN = rf"(?:about |around |only |just |barely |some |another )*{_COUNT} {_UNIT}(?:s|n|en|e)?\b"
_ANY_SPAN = compiled(rf"(?<!\blast )(?<!\bnext )(?<!\bin )\b{_SPAN}(?! ago)", re.IGNORECASE)
_LEAST_KM_A_DAY = 10
"""As far as a car goes that is driven at all (by judgement)."""
_AT_ONCE = compiled(
    r"\b(?:(?:the )?same day|straight ?away|right away|at once|immediately|on the way home"
    r"|never (?:held|lasted|cured|fixed|worked|right)"
    r"|(?:not|did ?n[o']?t|has ?n[o']?t) (?:ever )?(?:held|hold|lasted|last))\b",
    re.IGNORECASE,
)
_NOT_HELD = compiled(
    r"\b(?:not|did ?n[o']?t|has ?n[o']?t) (?:ever )?(?:held|hold|lasted|last)\b", re.IGNORECASE
)
"""That it did not hold, which may be said of what held for a time as well."""
_WORD = compiled(r"[\w’']+")
_WITHIN = compiled(rf"\b(?:within|inside|in under|in less than) (?:of )?{_SPAN}", re.IGNORECASE)
_AGO = compiled(
    rf"\b(?:(?P<abroad>vor|il y a) )?(?:about |around |only |just |barely |some |another )*"
    rf"(?:{_COUNT} )?{_UNIT}(?:s|n|en|e)?\b(?(abroad)| (?:ago|temu)\b)",
    re.IGNORECASE,
)
_LAST = compiled(rf"\blast {_UNIT}\b|\b(?P<day>today|yesterday|(?<=depuis )hier)\b", re.IGNORECASE)
_AFTER = compiled(
    rf"\b(?:after|nach|après|apres|au bout (?:de|d['’])|po|(?:back|again) in|lasted|held"
    rf"|held for|lasted for) {_SPAN}(?! ago)",
    re.IGNORECASE,
)
_LATER = compiled(
    rf"\b{_SPAN} (?:later|after|afterwards|down the road|après|apres|plus tard"
    r"|später|danach|później|pozniej)\b",
    re.IGNORECASE,
)
_NEXT = compiled(
    rf"\b(?:next|following) {_UNIT}\b|\bthe (?P<after>{'|'.join(_UNITS)}) after\b", re.IGNORECASE
)
_TODAY = compiled(
    r"\b(?:today|just now|(?:here|back in|in(?: again)?) now|this (?:morning|afternoon)|heute"
    r"|(?:steht|ist) (?:jetzt |gerade )?(?:wieder )?(?:hier|da)\b|aujourd['’]hui"
    r"|ce matin|dziś|dzisiaj)(?!\w)",
    re.IGNORECASE,
)
_UNTIL = r"(?:until|till?|up (?:to|until)|bis)"
_SINCE = r"(?:since|seit|depuis|od)"
_LEAD = (
    r"(?: (?:the|about|around|roughly|zum|etwa|ungefähr|some|say|dem|der|den|le|la|ce|environ|około"
    r"|ca\.?))*"
)
_GOOD_FOR = compiled(
    r"\b(?:ok|okay|fine|good|great|held|hold|lasted|last|ran|run|worked|drove|driven|cured|quiet|dry"
    rf"|perfect|well|gut|hielt|gehalten|lief)\b(?: (?:again|it|only|just|nur))* (?:for )?{_SPAN}",
    re.IGNORECASE,
)
_GOOD_FIRST = compiled(rf"^(?:for )?{_SPAN} (?:ok|okay|fine|good|quiet|dry|gut|ruhe)\b", re.I)
_SINCE_SPAN = compiled(
    rf"\b{_SINCE}{_LEAD} (?:{_SPAN}|(?P<whole>tygodnia|miesiąca|roku)\b)", re.IGNORECASE
)
_AGAIN_FOR = compiled(rf"\b(?:again|back|wieder)\b(?: \w+)?,? for {_SPAN}", re.IGNORECASE)
_SINCE_WHEN = compiled(rf"\b{_SINCE}{_LEAD} (?P<time>.{{1,40}})", re.IGNORECASE)
_EITHER_END = compiled(rf"\b(?:{_UNTIL}|{_SINCE}){_LEAD} (?P<time>.{{1,40}})", re.IGNORECASE)
"""Until when it was good, or since when it is not: the day may stand behind."""
_DAYLESS = (
    r"(?:(?:last|this|his|her|their|our|my|dem|den|der|die|letzte[mnrs]?) )?(?:spring|summer|autumn"
    r"|fall|winter|x-?mas|christmas|easter|whitsun|new year|half[ -]term|bank holidays?|holidays?"
    r"|vacation|trip|frost|cold spell|heatwave|m\.?o\.?t|inspection|service|a while|a (?:good )?bit"
    r"|ages|long|(?:days|weeks|months|years)(?= |$|[,.;])"
    r"|frühling|frühjahr|sommer|herbst|ostern|pfingsten|weihnachten|neujahr|urlaub|ferien|tüv"
    r"|längerem|langem|einer weile|tagen|wochen|monaten|jahren"
    r"|(?:l['’])?(?:été|hiver|automne)|printemps|pâques|noël|vacances|les vacances|longtemps"
    r"|un moment|des (?:jours|semaines|mois|années)|(?:son |le )?contrôle technique"
    r"|wiosny|lata|jesieni|zimy|wielkanocy|świąt|nowego roku|wakacji|urlopu|dawna|przeglądu"
    r"|(?:dni|tygodni|miesięcy|lat)(?= |$|[,.;]))(?!\w)"
)
_AROUND = (
    r"(?:\b(?:around|about|before|after|at|over|during|in|by|im|in der|um|an|zu|vor|nach|über|en|au"
    r"|aux|à|avant|après|vers|pendant|przed|po|na|w|około|podczas)"
    rf"(?: (?:the|this|last|dem|den|der|le|la|les))? (?:halloween|{_DAYLESS})"
    r"|\b(?:this|last|diese[nrsm]?|letzte[nrsm]?) (?:spring|summer|autumn|fall|winter|frühling"
    r"|frühjahr|sommer|herbst)\b|\b(?:wiosną|latem|jesienią|zimą)\b)"
)
_AGAIN_FOR_LONG = (
    r"\b(?:again|back|wieder) for (?:days|weeks|months|years|ages|a while|a (?:good )?bit)\b"
)
_DAY_UNKNOWN = (
    r"(?:(?:the )?(?:exact )?(?:day|date|time)(?: is| was)? (?:not |un)(?:known|told|sure|clear)"
    r"|(?:(?:he|she|they|customer|owner|driver) )?(?:do|did|does)(?: not|n['’]?t)"
    r" (?:know|say|remember|recall)(?: exactly)? when"
    r"|no (?:idea|telling) when|(?:not sure|who knows|unclear|(?:no|any)body knows) when"
    r"|tag (?:un|nicht )bekannt|(?:ich |er |sie )?weiß nicht wann|jour inconnu"
    r"|on ne sait pas quand|nie wiadomo kiedy)"
)
_SOME_TIME = compiled(
    r"\b(?:(?:some |a (?:good |long |little )?|quite a )(?:time|while|bit) (?:ago|back)|long ago"
    r"|ages (?:ago|back)|sometime|some day|at some (?:point|time|stage)|recently|lately"
    r"|vor (?:einiger|längerer|kurzer) zeit|vor (?:einer weile|längerem|kurzem)|irgendwann|kürzlich"
    r"|neulich|il y a (?:quelque|un certain|peu de) ?temps"
    r"|il y a un (?:moment|bail)|il y a longtemps|récemment|dernièrement|à un moment donné"
    rf"|(?:jakiś|pewien) czas temu|(?:nie)?dawno(?: temu)?|kiedyś|ostatnio|{_DAY_UNKNOWN})(?!\w)",
    re.IGNORECASE,
)
"""When something was that nobody can tell the day of."""
_NO_DAY = compiled(
    rf"\b(?:{_UNTIL}|{_SINCE}){_LEAD} {_DAYLESS}|{_AROUND}|{_AGAIN_FOR_LONG}|{_SOME_TIME.pattern}"
    rf"|{AFTER_DISTANCE}",
    re.IGNORECASE,
)
"""An end that is told, and of which nobody can tell the day."""
_SOME_DISTANCE = compiled(AFTER_DISTANCE, re.IGNORECASE)
_TIMES = (_WITHIN, _AGO, _LAST, _AFTER, _LATER, _NEXT, _SOME_TIME, _SOME_DISTANCE)
_UNKNOWN_DAY = compiled(rf"[\s,;(–—-]{{0,4}}\b{_DAY_UNKNOWN}(?!\w)\)?", re.IGNORECASE)
_SINCE_NO_DAY = compiled(rf"\b{_SINCE}{_LEAD} {_DAYLESS}|{_AGAIN_FOR_LONG}", re.IGNORECASE)
_AGAIN = frozenset(
    {
        *("again", "back", "returned", "reappeared", "recurred", "wieder", "erneut", "nouveau"),
        *("revenu", "revenue", "revenus", "revenues", "znowu", "znów", "ponownie"),
        *("wrócił", "wróciła", "wróciło", "wróciły", "powrócił", "powróciła", "powróciło"),
    }
)
_ABOUT_IT = frozenset(
    {
        *("it", "car", "she", "he", "they", "vehicle", "customer", "fault", "problem", "the", "a"),
        *(
            "came",
            "come",
            "comes",
            "is",
            "was",
            "has",
            "had",
            "been",
            "brought",
            "went",
            "in",
            "on",
        ),
        *(
            "to",
            "us",
            "with",
            "already",
            "only",
            "just",
            "and",
            "then",
            "about",
            "shop",
            "workshop",
        ),
        *("here", "after", "later", "around", "same", "at", "some"),
        *(
            "da",
            "der",
            "das",
            "ist",
            "fehler",
            "auto",
            "wagen",
            "le",
            "la",
            "c'est",
            "c’est",
            "est",
        ),
        *("de", "à", "défaut", "voiture", "jest", "usterka", "samochód", "auto"),
        *("hat", "hatte", "angefangen", "begonnen", "started", "began", "begun", "zaczęło", "a"),
        *("kam", "kommt", "war", "hier", "il", "elle", "se", "się", "do", "nas", "była", "był"),
    }
)
"""All that may stand beside a return and its time: nothing that denies, asks, or names a reason."""
_PERSON_BACK = compiled(
    r"\b(?:customer|cust|owner|driver|he|they|kunde|kundin|client|cliente|klient|klientka)"
    r"(?:['’]?s| is| are| was| were| has| have| been| ist| est| jest)* (?:back|wieder|de retour)\b",
    re.IGNORECASE,
)
"""Of somebody who was away, not of the fault."""
_STRETCHES = frozenset(
    {
        *("days", "nights", "week", "weeks", "wks", "fortnight", "fortnights", "month", "months"),
        *("mth", "mths", "year", "years", "yrs", "tage", "tagen", "woche", "wochen", "monat"),
        *("monate", "monaten", "jahr", "jahre", "jahren", "jours", "semaine", "semaines", "mois"),
        *("année", "années", "dniach", "tydzień", "tygodniu", "tygodnia", "tygodnie", "tygodni"),
        *("tygodniach", "miesiąc", "miesiącu", "miesiące", "miesiąca", "miesięcy", "miesiącach"),
        *("roku", "latach"),
    }
)
"""Words for stretches of time, in the forms that tell nothing else."""
_TIMES_OF_YEAR = frozenset(
    {
        *("january", "february", "march", "april", "august", "september", "october", "november"),
        *("december", "spring", "summer", "autumn", "winter", "easter", "christmas", "januar"),
        *("februar", "oktober", "dezember", "frühling", "frühjahr", "sommer", "herbst", "ostern"),
        *("weihnachten", "janvier", "février", "juillet", "septembre", "octobre", "novembre"),
        *("décembre", "printemps", "automne", "hiver", "pâques", "stycznia", "lutego", "kwietnia"),
        *("czerwca", "lipca", "sierpnia", "września", "października", "listopada", "grudnia"),
        *("wiosna", "jesień", "zima", "wiosną", "jesienią"),
    }
)
"""Looked for where they are misspelt alone: read, they tell a day, or that nobody knows it."""
_LEADS_TO_A_TIME = compiled(
    r"\b(?:since|seit(?:dem)?|depuis|by the time|within|ever after)\s+\w"
    r"|\bod (?:zeszł|ubiegł|zim|wiosn|jesien|kilku|czasu|wtedy|dawna|począt|[0-9])"
    r"|\b(?:after|nach|après|po)\s+(?:about |around |etwa |environ |około )?[0-9]+\s*(?:[,.;]|$)"
    r"|\b[0-9]{1,2} ?(?:o['’]?\s?clock|[ap]m|uhr)\b"
    r"|\b(?:later|afterwards|danach|später|plus tard|później)\b",
    re.IGNORECASE,
)
"""What stands behind or beside these is a time, whatever it is."""
_FUZZY_FROM = 4
"""Letters from which a word that nobody knows may be one of them, misspelt by one."""
_HOW_OFTEN = compiled(
    r"\b(?:every|each|all|per|most|some|other|one|a|by|jede[nrs]?|alle|chaque|tous les|toutes les"
    r"|co|każd\w+)(?: (?:single|other|second))? (?:day|night|morning|week|tag|nacht|woche|jours?"
    r"|nuits?|semaines?|dzień|noc|tydzień)\b|\bday ?light\b|\bnight time\b",
    re.IGNORECASE,
)
_LEAST_ROOM = 3
"""Days by which a day may differ from such words, or half of what they tell, if that is more."""


_LONGEST_VAGUE = timedelta(days=31)
"""How much later than the first day that is meant it may have been: "in March"."""
_CAME_ANEW = (
    *(WordRole.RETURNED, WordRole.BACK, WordRole.AGAIN, WordRole.GONE_AGAIN),
    *(WordRole.NO_LONGER, WordRole.NO_MORE, WordRole.ANY_MORE, WordRole.SPAN),
    *(WordRole.NOW, WordRole.UNTIL, WordRole.THEN, WordRole.WAS_WELL),
)
_NOT_WELL = (
    *(WordRole.CURED, WordRole.WORKS, WordRole.CHANGE, WordRole.FINE),
    *(WordRole.GONE, WordRole.OUT, WordRole.STOPPED),
)
_NO_USE = compiled(
    r"\b(?:h(?:ä|ie)lt nicht(?! mehr)|nie (?:wy)?trzyma\w*(?! już)|nie pomog\w+"
    r"|nichts gebracht|bez zmian"
    r"|unverändert|rien changé|aucun effet|no (?:difference|change|effect|use)|unchanged"
    r"|(?:the )?same as before|as before|still (?:broken|there)|(?:immer )?noch (?:da|vorhanden)"
    r"|\w+t noch|toujours là|persist\w*|remain(?:s|ed)?)(?!\w)",
    re.IGNORECASE,
)


class When(NamedTuple):
    """The day that some words tell, and between which days it may have been.

    Where it is `vague`, the day is the first that may be meant.
    """

    day: date
    first: date
    last: date
    vague: bool = False


def tells_return(words: str) -> bool:
    """Whether words tell that a car, or its fault, was back at some time, and nothing else.

    Since when something is back tells it as well, but not of a person.

    Examples
    --------
    >>> tells_return("came back a fortnight later"), tells_return("again after three weeks")
    (True, True)
    >>> tells_return("came back yesterday?"), tells_return("back next day for tyres")
    (False, False)
    >>> tells_return("back since summer"), tells_return("customer is back since summer")
    (True, False)
    """
    text = " ".join(words.split())
    state = without_since(text)
    if "?" in text or not (state != text or any(time.search(text) for time in _TIMES)):
        return False
    rest = state
    for time in _TIMES:
        rest = time.sub(_without_time, rest)
    said = set(_WORD.findall(rest.casefold()))
    return bool(said & _AGAIN) and said <= _AGAIN | _ABOUT_IT


def returned_then(words: str) -> bool:
    """Whether words that stand beside a day tell that a car, or its fault, was back on it.

    Examples
    --------
    >>> returned_then("back again"), returned_then("back for tyres"), returned_then("not back")
    (True, False, False)
    """
    return tells_return(f"{words} yesterday")


def without_since(words: str) -> str:
    """Return what words tell without the time since when it is so; not where a person is back.

    Examples
    --------
    >>> without_since("seit 3 Wochen wieder tot"), without_since("lamp lit again since Easter")
    ('wieder tot', 'lamp lit again')
    >>> without_since("back since we fitted the radio")
    'back since we fitted the radio'
    """
    text = " ".join(words.split())
    if _PERSON_BACK.search(text):
        return text
    for time in (_SINCE_SPAN, _AGAIN_FOR, _SINCE_NO_DAY):
        text = time.sub(lambda found: f" {_without_time(found)} ", text)
    for found in _SINCE_WHEN.finditer(text):
        if length := length_written(found["time"]):
            text = f"{text[: found.start()]} {text[found.start('time') + length :]}"
            break
    return " ".join(text.split())


def without_unknown_day(words: str) -> str:
    """Return what words tell without that nobody knows the day of it.

    Examples
    --------
    >>> without_unknown_day("comeback, day unknown"), without_unknown_day("unknown noise")
    ('comeback', 'unknown noise')
    """
    told = _UNKNOWN_DAY.sub(" ", words)
    return words if told == words else " ".join(told.split())


def _without_time(found: re.Match[str]) -> str:
    """Leave of a time what tells the return: "back in two days" is "back"."""
    return " ".join(word for word in found[0].split() if word.casefold() in _AGAIN)


def told_when(words: str, handed_over: date, today: date | None = None) -> When | None:
    """Read when a car came back; None if the words do not tell.

    Of "within a week" the day is that of the handover: for no longer the fix is known to have held;
    of "last week" it is its first day, likewise.

    Parameters
    ----------
    today : date, optional
        From which "two weeks ago" is reckoned; without it such words tell nothing.

    Examples
    --------
    >>> told_when("came back the next week", date(2026, 1, 2)).day.isoformat()
    '2026-01-09'
    >>> told_when("never held", date(2026, 1, 2)).day.isoformat()
    '2026-01-02'
    """
    text = " ".join(words.split())
    if _AT_ONCE.search(text):
        return _about(handed_over, 0)
    if found := _WITHIN.search(text):
        return When(handed_over, handed_over, handed_over + timedelta(_days(found)))
    if found := _AGO.search(text) or _LAST.search(text):
        return None if today is None else _before(found, today)
    if found := _AFTER.search(text) or _LATER.search(text) or _NEXT.search(text):
        return _about(handed_over, _days(found))
    return _at_end(text, handed_over, today)


def _at_end(text: str, handed_over: date, today: date | None) -> When | None:
    """Read until when it was good, or since when it is not: by the earliest day that may be meant.

    Examples
    --------
    >>> [
    ...     str(_at_end(said, date(2026, 8, 1), date(2026, 11, 28)).day)
    ...     for said in ("ok for 3 weeks then same lamp", "dead again since end of Sept")
    ... ]
    ['2026-08-22', '2026-09-21']
    """
    since = _SINCE_SPAN.search(text) or _AGAIN_FOR.search(text)
    if today is not None and since:
        return _no_later(handed_over, today - timedelta(_days(since)), vague=True)
    if good := _GOOD_FOR.search(text) or _GOOD_FIRST.search(text):
        last = handed_over + timedelta(_days(good))
        return When(last, handed_over, last)
    if today is not None:
        for end in _EITHER_END.finditer(text):
            if day := earliest_written(end["time"], today):
                return _no_later(handed_over, day, vague=not is_one_day(end["time"]))
        if day := month_told(text, today):
            return _no_later(handed_over, day, vague=True)
    return None


def _no_later(handed_over: date, day: date, *, vague: bool) -> When:
    day = max(handed_over, day)
    return When(day, day, day, vague)


def since_when(complaint: str, told: date) -> date | None:
    """Read since when something has been wrong, of words that were told on a day; None if not.

    Of several days that may be meant it is the first.

    Examples
    --------
    >>> since_when("radio dead again since 20 March", date(2026, 7, 1)).isoformat()
    '2026-03-20'
    >>> since_when("lamp on since the seat was moved", date(2026, 7, 1)) is None
    True
    """
    text = " ".join(complaint.split())
    if found := _SINCE_SPAN.search(text) or _AGAIN_FOR.search(text):
        return told - timedelta(_days(found))
    days = (earliest_written(each["time"], told) for each in _SINCE_WHEN.finditer(text))
    return next(filter(None, days), None)


def tells_today(words: str) -> bool:
    """Whether words tell that a car is back on the day they are said.

    Examples
    --------
    >>> [tells_today(said) for said in ("back today", "is here now", "came back, same noise")]
    [True, True, False]
    """
    return _TODAY.search(words) is not None


def never_well(words: str) -> bool:
    """Whether words tell that a fault was never away: that it is still there, or was not cured.

    Examples
    --------
    >>> [never_well(said) for said in ("hat nicht gehalten", "says not fixed", "still dead")]
    [True, True, True]
    >>> [never_well(said) for said in ("dead again", "holds no more", "back, not fixed")]
    [False, False, False]
    """
    told = outcome_clauses(words)
    if _AT_ONCE.search(words):
        return True
    if any(each.has(*_CAME_ANEW) or each.joint in _CAME_ANEW for each in told):
        return False
    return _NO_USE.search(words) is not None or any(
        each.has(WordRole.STILL) or (each.has(*DENIALS) and each.has(*_NOT_WELL)) for each in told
    )


def dated_by_words(
    contact: Contact,
    handed_over: date,
    today: date | None = None,
    not_before: date | None = None,
) -> Contact:
    """Return a contact on the day its words tell, where its own day is against them.

    What is told to be good after, or for, some time is known to have held so long and no longer.

    "A week ago" moves none whose day was told, for it may be the day it came back as well as the
    one on which it was heard of. A comeback that names the later visit's job, and what the words
    put before the handover or ahead, is left as it is. Any contact of no one day ("in March") is of
    the earliest that may be meant: until then a fix is known to have held, and no longer.

    Parameters
    ----------
    not_before : date, optional
        The first day on which it can have come back, for the fix was known to hold until then; a
        comeback of which nobody can tell the day gets no credit for more. What was never well gets
        none, and so does what tells no day.
    """
    if not contact.words or contact.outcome is Outcome.NOT_TOLD:
        return contact
    back = contact.outcome is Outcome.COMEBACK
    if back and contact.job is not None:
        return contact
    known = min(max(handed_over, not_before or handed_over), contact.on)
    if contact.on == today and (doubt := heard_on(contact.words, today).doubt):
        day = max(handed_over, _earliest(doubt.text, today) or (known if back else handed_over))
        return replace(contact, on=_once_known(day, known) if back else day)
    if back and contact.on == today and _is_unplaced(contact.words, handed_over, today):
        return replace(contact, on=known)
    if back:
        return _as_told(contact, contact.words, handed_over, today, known)
    return _as_long(contact, contact.words, handed_over) if contact.on == today else contact


def _as_long(held: Contact, words: str, handed_over: date) -> Contact:
    """Return a hold on the last day of the time, or the way, that it is told for.

    A car that is driven goes at least `_LEAST_KM_A_DAY`: "fine after 200 km" was soon.
    """
    text = " ".join(words.split())
    if held.outcome is not Outcome.HELD or _AGO.search(text):
        return held
    days = [_days(found) for found in _ANY_SPAN.finditer(text)]
    gone = driven_since(text)
    if gone is not None and not days:
        days = [max(1, gone.km // _LEAST_KM_A_DAY)]
    return replace(held, on=min(held.on, handed_over + timedelta(max(days)))) if days else held


def _once_known(day: date, known: date) -> date:
    """Return the first day that may be meant on which it can have come back, if there is one."""
    return known if day < known <= day + _LONGEST_VAGUE else day


def _is_unplaced(words: str, handed_over: date, today: date) -> bool:
    """Whether an end is told whose day nobody can tell: "good till summer, then back".

    So is one by a time that is not understood: it was not today.
    """
    told = told_when(words, handed_over, today)
    never = never_well(words) and (told is None or _NOT_HELD.search(words) is not None)
    if never or told is not None or tells_today(words):
        return never
    return _NO_DAY.search(" ".join(words.split())) is not None or _names_a_time(words)


def _names_a_time(words: str) -> bool:
    """Whether words name a time, be it misspelt, and not how often: "every day".

    Examples
    --------
    >>> _names_a_time("came bak thre weks on"), _names_a_time("drips every day again")
    (True, False)
    >>> _names_a_time("came back after 300, same noise"), _names_a_time("leaks after 10 min again")
    (True, False)
    """
    if _LEADS_TO_A_TIME.search(words):
        return True
    said = _WORD.findall(_HOW_OFTEN.sub(" ", words.casefold()))
    return any(word in _STRETCHES or _is_misspelt_stretch(word) for word in said)


def _is_misspelt_stretch(word: str) -> bool:
    if len(word) < _FUZZY_FROM or is_known(word, trade_wording()):
        return False
    return (
        extractOne(word, _STRETCHES | _TIMES_OF_YEAR, scorer=OSA.distance, score_cutoff=1)
        is not None
    )


def _as_told(
    back: Contact, words: str, handed_over: date, today: date | None, known: date
) -> Contact:
    """Return a comeback on the day that its words tell, where that can be and its own is far."""
    when = told_when(words, handed_over, today if back.on == today else None)
    if when is None and (since := since_when(words, back.on)):
        when = _no_later(handed_over, since, vague=True)
    if when is None or when.first <= back.on <= when.last:
        return back
    day = _once_known(when.day, known) if when.vague else when.day
    can_be = handed_over <= day <= (today or back.on)
    return replace(back, on=day) if can_be else back


def _earliest(said: str, today: date) -> date | None:
    ago = _AGO.search(said)
    return today - timedelta(_days(ago)) if ago else earliest_meant(said, today)


def _before(found: re.Match[str], today: date) -> When:
    """Return when a time was that is reckoned from today: "two weeks ago", "last month"."""
    first = None if "ago" in found[0].casefold().split() else earliest_meant(found[0], today)
    if first is not None:
        return When(first, first, today - timedelta(1), vague=True)
    ago = _about(today, -_days(found))
    return ago._replace(last=ago.day) if found.groupdict().get("day") else ago


def _days(found: re.Match[str]) -> int:
    said = {name: (text or "").casefold() for name, text in found.groupdict().items()}
    if said.get("day"):
        return int(said["day"] != "today")
    if said.get("whole"):
        return _UNITS[said["whole"]]
    count = said.get("count") or "one"
    unit = _UNITS[said.get("unit") or said["after"]]
    return unit * (int(count) if count.isdecimal() else _COUNTS[count])


def _about(start: date, days: int) -> When:
    room = timedelta(max(_LEAST_ROOM, abs(days) // 2))
    day = start + timedelta(days)
    return When(day, day - room, day + room)
