"""A cause as it is typed at the close that names none, or two, or what it was not.

Nobody learns from "the ECU or the loom, never found out": such words are asked about. What is told
not to have been the cause is no part of its name. All common practice, no source.
"""

import re

from kb.intake.failure_words import MODES
from kb.intake.part_words import PART_NOUN
from kb.patterns import compiled

_OR = r"or|oder|ou(?: bien)?|lub|albo"
_EITHER = compiled(
    rf"^\W*(?:either|entweder|soit|albo|ou bien)\s.*\b(?:{_OR}|soit)\b", re.IGNORECASE
)
_TWO_PARTS = compiled(
    rf"[^\W\d_]{{3,}}\s+(?:{_OR})\s+(?:the |a |an |der |die |das |le |la |l['’])?[^\W\d_]{{3,}}",
    re.IGNORECASE,
)
_WHICH_UNKNOWN = compiled(
    r"\b(?:(?:never|not|did ?n['’]?t|do(?:es)? ?n['’]?t|can ?n?['’]?t|could ?n['’]?t|un)\s*"
    r"(?:found|find|sure|known?|clear|certain|decided?|tell|established|proved|proven|determined)"
    r"(?: out)? (?:which|what|where|if|whether)"
    r"|(?:no idea|who knows|unclear|undecided) (?:which|what)|one of the two|one or the other"
    r"|(?:nie|nicht) (?:herausgefunden|klar|sicher|geklärt|bekannt),? (?:welche[rs]?|was)"
    r"|(?:jamais|pas) (?:su|trouvé|sûr|déterminé),? (?:lequel|laquelle|ce que)"
    r"|nie (?:wiadomo|ustalono|znaleziono),? (?:który|która|które|co))\b",
    re.IGNORECASE,
)
_NONE_FOUND = compiled(
    r"\b(?:no (?:fault|cause|reason|defect)(?: was| has been)? found|nff|n\.?f\.?f"
    r"|(?:cause|reason|fault) (?:is |was )?(?:unknown|unclear|not known|(?:not|never) found)"
    r"|(?:found nothing|nothing found)|(?:could ?n['’]?t|could not|did ?n['’]?t|did not|never) find"
    r"|kein(?:en)? (?:fehler|defekt)\w*(?: gefunden)?|keine ursache|ursache (?:unbekannt|unklar)"
    r"|nichts gefunden|fehler nicht gefunden|ursache nicht gefunden"
    r"|(?:rien|aucune? (?:défaut|panne|cause)) trouvée?|aucune? (?:défaut|panne|cause)"
    r"|cause (?:inconnue|indéterminée|non trouvée)"
    r"|(?:nic )?nie znaleziono(?: usterki| przyczyny)?|brak usterki|przyczyna nieznana)\b",
    re.IGNORECASE,
)
_GUESSED = compiled(
    r"\b(?:(?:could|might|may|must) (?:well )?(?:be|have been)|maybe|perhaps|probably|possibly"
    r"|presumably|suspect(?:ed)?|i (?:think|guess|reckon)|most likely"
    r"|vermutlich|wahrscheinlich|vielleicht|möglicherweise|könnte|verdacht(?: auf)?|evtl"
    r"|peut[- ]être|probablement|sans doute|soupçon"
    r"|chyba|prawdopodobnie|być może|może)\b|\?",
    re.IGNORECASE,
)
_LINKED = (
    r"(?:it (?:was|is|'s)|was|is|but|rather|es war|war|sondern|aber|mais|c['’](?:était|est)"
    r"|był[aoy]?|to|ale|tylko|lecz)"
)
_ARTICLE = r"(?:the|a|an|der|die|das|den|dem|le|la|les|l['’]|un|une)"
_PART = r"[^,;:.–—]{1,60}?(?=\s*(?:[,;:.–—]|\s-\s|\s(?:but|sondern|mais|tylko|ale|lecz)\s|\)|$))"
_NOT_FIRST = compiled(
    rf"^\W*(?:(?:it )?(?:was|is) )?(?:not|nicht|kein\w*|pas|nie)\s+(?P<not>{_PART})"
    rf"(?:\s*(?:[,;:.–—]|\s-\s)+\s*(?:(?:and|und|et|i)\s+)?(?:{_LINKED}\s+)*"
    rf"|\s+(?:(?:but|sondern|mais|tylko|ale|lecz)\s+)(?:{_LINKED}\s+)*)(?:(?:{_ARTICLE}|its|sein\w*|ihr\w*|son|sa|jego|jej)\s+)?(?=\w)",
    re.IGNORECASE,
)
_NOT_LATER = compiled(
    rf"[,;–—(]\s*(?:and |und |et )?(?:it (?:was|is) )?(?:not|nicht|kein\w*|pas|nie)\s+"
    rf"(?:{_ARTICLE}\s+{_PART}|(?:\w+ ){{0,2}}(?:{PART_NOUN}))\)?(?=[,;:.–—]|$)",
    re.IGNORECASE,
)


def objection_to(text: str) -> str | None:
    """Say why words name no cause that was proved; None if they do.

    Examples
    --------
    >>> objection_to("either the ECU or the loom, open") is None
    False
    >>> objection_to("no fault found")
    'tells that none was found: --no-cause'
    >>> objection_to("earth strap, corroded") is None
    True
    """
    if _NONE_FOUND.search(text):
        return "tells that none was found: --no-cause"
    if _EITHER.search(text) or _WHICH_UNKNOWN.search(text) or _names_two(text):
        return "names two, and not which: write the one that was proved, or --no-cause"
    if guessed := _GUESSED.search(text):
        return (
            f"tells a guess (“{guessed[0]}”): write it without that if it was proved, "
            "else --no-cause"
        )
    return None


def _names_two(text: str) -> bool:
    """Whether two parts are told with *or* between them; two ways to fail are of one part."""
    for pattern in MODES.values():
        text = pattern.sub(",", text)
    return _TWO_PARTS.search(text) is not None


def without_denied(text: str) -> str:
    """Return words of a cause without what they tell not to have been it.

    Examples
    --------
    >>> without_denied("not the alternator, it was the earth strap, corroded")
    'earth strap, corroded'
    >>> without_denied("earth strap, not the alternator, corroded")
    'earth strap, corroded'
    >>> without_denied("relay not closing, worn")
    'relay not closing, worn'
    """
    first = _NOT_FIRST.match(text)
    rest = text[first.end() :] if first else text
    return _NOT_LATER.sub("", rest).strip()
