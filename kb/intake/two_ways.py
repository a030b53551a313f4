"""What is told of a fix in words that may be taken in two ways, and so tells neither.

*Held until today* is said of what failed today, and of what is still good. What *flickered once,
then never again* is no comeback, and whether the fix held nobody has said. Common practice, no
source.
"""

import re

from kb.patterns import compiled

_UNTIL_TODAY = compiled(
    r"\b(?:(?:un)?till?|untill|up (?:to|until|till)) (?:today|now|this (?:day|moment))\b"
    r"|\bbis (?:heute|jetzt|zum heutigen tag|eben|gerade)\b(?! (?:früh|morgen|nacht))"
    r"|\bjusqu['’]?\s?(?:à |a )?(?:aujourd['’]hui|maintenant|présent|ce jour)\b"
    r"|(?<!\w)(?:a[żz] )?do (?:dzi[śs]|dzisiaj|teraz|tej chwili|dnia dzisiejszego)(?!\w)",
    re.IGNORECASE,
)
_ONCE = (
    r"(?:(?:only |just |nur |ne |tylko )?(?:once|twice"
    r"|(?:one|two|three|[2-9]|a (?:couple|few)) times?"
    r"|the (?:once|first (?:day|night|time|mile|drive))|(?:at|to) (?:first|start with)|first"
    r"|a (?:bit|little)|briefly|initially|einmal|ein mal|zweimal|dreimal|kurz|anfangs|zuerst"
    r"|am (?:anfang|ersten tag)|une (?:seule )?fois|deux fois|au début|d['’]abord|brièvement"
    r"|raz|dwa razy|na początku|chwilę|krótko))"
)
_NEVER_AGAIN = (
    r"(?:(?:never|not) (?:again|since|any ?more|after(?: that)?|seen again|repeated)"
    r"|(?:has ?n['’]?t|hasn['’]?t|did ?n['’]?t|has not|did not|never) (?:(?:done|do|did) it|it"
    r"|happened|come back|came back|been back|returned|reappeared)(?: since| again)?|no more"
    r"|(?:seitdem |seither )?(?:nie|nicht)(?: mehr| wieder)+"
    r"|(?:et )?(?:puis )?plus jamais"
    r"|jamais (?:plus|revue?|depuis)|plus rien(?: depuis)?"
    r"|(?:już )?(?:nigdy|więcej nie|nie wróci\w+)"
    r"(?: więcej| już)?|i tyle)"
)
_JOINT = (
    r"[\s,;.:–—-]*(?:(?:and|but|then|since|it|the|lamp|danach|dann|seitdem|seither|und|aber|puis"
    r"|ensuite|et|mais|depuis|potem|później|od tamtej pory|a|i|ale)\b[\s,]*)*"
)
_ONLY_ONCE = compiled(
    rf"\b{_ONCE}(?!\w)(?:\W+[^\W\d_]+){{0,4}}?{_JOINT}\b{_NEVER_AGAIN}"
    r"(?:\s+(?:since|again|then|that|so far|depuis|seitdem|potem|od tego czasu))*[\s.!]*$"
    rf"|\b(?:then|dann|danach|puis|ensuite|potem)\W+{_NEVER_AGAIN}[\s.!]*$",
    re.IGNORECASE,
)
_CAME_BACK = compiled(
    r"\b(?:came|come|was|is|been|brought) back\b|\b(?:returned|wieder (?:da|hier)|zurück|revenue?s?"
    r"|(?:po)?wróci[łl]\w*|comeback)(?!\w)",
    re.IGNORECASE,
)

_RAN_ONCE = compiled(
    r"(?:^|[,;.]\s*|\b(?:engine|motor|car|van)\s+)(?:then )?"
    r"(?:started|ran|worked|drove|fired|cranked|startete|lief|funktionierte) (?:only |just )?"
    rf"(?:up )?{_ONCE}\W+(?:and )?(?:then|dann|danach)\W+{_NEVER_AGAIN}",
    re.IGNORECASE,
)

_FOR_SO_LONG = compiled(
    r"(?<!\w)(?:[0-9]{1,3}|two|three|four|five|six|zwei|drei|vier|fünf|sechs|deux|trois|quatre|dwa"
    r"|trzy|cztery|a|one|ein(?:e|en)?|une?)"
    r" (?:days?|weeks?|wks?|months?|mths?|years?|tagen?|wochen?|monaten?|monat|jahren?|jours?"
    r"|semaines?|mois|ans|dni|tygodni\w*|miesi[ęe]c\w*|lata?)(?!\w)",
    re.IGNORECASE,
)
_TODAY = compiled(r"\b(?:today|heute|aujourd['’]hui|dzi[śs]|dzisiaj)(?!\w)", re.IGNORECASE)


_LONGEST_UNTIL = 60
"""Characters that hold any *until today*, and what stands before it."""


def ends_with_until_today(lead: str) -> bool:
    """Whether *until now* stands before what is told: "till now" of "till now held"."""
    told = lead.rstrip(" ,:")[-_LONGEST_UNTIL:]
    return any(found.end() == len(told) for found in _UNTIL_TODAY.finditer(told))


def without_until_today(text: str) -> str | None:
    """Return what words tell beside *until today*; None if they do not say that.

    *Up to now* beside for how long is plain.

    Examples
    --------
    >>> without_until_today("held until today"), without_until_today("fine up to now, quiet")
    ('held', 'fine , quiet')
    >>> [without_until_today(told) for told in ("held until Monday", "ok till now, 5 weeks")]
    [None, None]
    """
    told = _UNTIL_TODAY.search(text)
    if not told or (_FOR_SO_LONG.search(text) and not _TODAY.search(told[0])):
        return None
    return " ".join(_UNTIL_TODAY.sub(" ", text).split())


def is_over(text: str) -> bool:
    """Whether what was seen of a fault is told to have been for a first time, and the last.

    What ran so often and then no more has failed.

    Examples
    --------
    >>> is_over("lamp flickered once, then never again"), is_over("flackerte kurz, nie wieder")
    (True, True)
    >>> is_over("started twice then no more"), is_over("noise started once, then never again")
    (False, True)
    >>> is_over("came back, then never again"), is_over("never again fixed, lamp on")
    (False, False)
    """
    if _CAME_BACK.search(text) or _RAN_ONCE.search(text):
        return False
    return _ONLY_ONCE.search(text) is not None
