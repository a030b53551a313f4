"""Articles and verbs of sentences that are put together from names and counts."""

import re

from kb.patterns import compiled

_LIKE_YOU = compiled(r"(?:eu|ewe|uni(?![nm])|us[ae]|uti|ubi|ur[aeio]|one\b|once\b)", re.IGNORECASE)
"""Written with a vowel and spoken with a consonant."""
_SPELT_OUT = compiled(r"[AEFHILMNORSX][A-Z]{0,2}\b")
"""Capitals that are spoken letter by letter and begin with a vowel then: an ECU, an LED."""
_CAPITALS = compiled(r"[A-Z]{1,3}\b")
_NUMBER = compiled(r"(?:8\d*|11|18)(?![\d.,])")
"""Eight, eighty, eleven, eighteen; 110 is a hundred."""


def with_article(noun: str) -> str:
    """Return what a thing or a make is called, with *a* or *an* as it is spoken.

    Examples
    --------
    >>> with_article("Orrin"), with_article("Corvane Lido"), with_article("unit")
    ('an Orrin', 'a Corvane Lido', 'a unit')
    >>> with_article("ECU"), with_article("BCM"), with_article("8-way plug")
    ('an ECU', 'a BCM', 'an 8-way plug')
    """
    if _CAPITALS.match(noun):
        vowel = _SPELT_OUT.match(noun) is not None
    else:
        starts = noun[:1].casefold() in set("aeiouäöü") and not _LIKE_YOU.match(noun)
        vowel = starts or _NUMBER.match(noun) is not None
    return f"an {noun}" if vowel else f"a {noun}"


def agreeing(count: int, one: str, many: str) -> str:
    """Return a count with the words that go with it.

    Examples
    --------
    >>> agreeing(1, "was tried", "were tried"), agreeing(1200, "was tried", "were tried")
    ('1 was tried', '1,200 were tried')
    """
    return f"{count:,} {one if count == 1 else many}"
