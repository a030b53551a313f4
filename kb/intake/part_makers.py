"""Who made a part that was fitted, where it is said plainly: ``made by Norvik``, ``maker Norvik``.

A name beside a part ("fitted Norvik seat connector") may be anything, and whose part is meant of an
old and a new one only the words around it tell: whatever is not plain stays words.
"""

import re
from itertools import takewhile
from typing import NamedTuple

from kb.bounds import LONGEST_KEY
from kb.intake.lifting import Place
from kb.patterns import compiled

_SAID = compiled(
    r"(?P<how>(?:^|(?<=[,;(])|(?<=[,;(] )|(?<= ))(?:made by|maker(?: is| was)?)(?: ?:)? )"
    r"(?P<name>[^\s,;:.()?!/]+(?: [^\s,;:.()?!/]+){0,12})(?P<end>\s*(?:[,;).]|$))?",
    re.IGNORECASE,
)
_ANOTHERS = compiled(
    r"\b(?:old|previous|former|first|original|genuine|other|another|wrong|same|no|not|never|both"
    r"|all|unlike|instead|than|car|vehicle|van|engine|tool|failed|faulty|broken|worn|burnt|burned|dead"
    r"|(?:the|that) ones?|ordered)\b|n['’]t\b",
    re.IGNORECASE,
)
"""Before it: the part is another than the one fitted, or it is denied."""
_OF_THE_OLD = compiled(
    r"[\s,;)]*(?:which |that |it )?(?:was|were|had|has|is|came|removed|taken|off|out)\b",
    re.IGNORECASE,
)
_IN_DOUBT = compiled(
    r"\b(?:i think|probably|maybe|perhaps|possibly|not sure|unsure|or so|i guess|supposedly)\b|\?",
    re.IGNORECASE,
)
_MAY_BE_OLD = compiled(
    r"\b(?:replac|chang|swap|renew|exchang|took|tak|remov)\w*\b[^,;(]*$", re.IGNORECASE
)
"""*Replaced a connector made by Norvik*: the new one, or the one that was taken out."""
_NO_NAME = compiled(
    r"a|an|the|hand|hands|us|me|him|her|them|it|i|ourselves|myself|himself|order"
    r"|request|same|maybe|probably|unknown|unclear|unmarked|untold|not|n/a|none|nobody"
    r"|tbc|tbd|illegible|missing|customer|owner|dealer|garage|workshop|shop|recall"
    r"|recalls|says|advises|mistake|machine",
    re.IGNORECASE,
)
_MOST_WORDS = 3
_INITIALS = 2
"""So few capitals may be a person's."""
_JOINED = frozenset({"or", "and", "&", "+"})
_BEFORE = 40
"""Characters before it that may tell of another part."""


class SaidMaker(NamedTuple):
    """The maker that a text tells, and where the whole of it stands."""

    name: str
    place: Place


def find_maker(text: str) -> SaidMaker | None:
    """Return who made the part that a text tells was fitted; None where it is not plain.

    A name in capitals has up to three words; one in small letters is one word, at the end of its
    clause.

    Examples
    --------
    >>> find_maker("new seat connector made by Norvik, cured")
    SaidMaker(name='Norvik', place=Place(start=19, end=33))
    >>> find_maker("seat connector replaced, the old one made by Norvik")
    """
    found = list(_SAID.finditer(text))
    if len(found) != 1:
        return None
    (said,) = found
    before = text[max(0, said.start() - _BEFORE) : said.start()]
    made = said["how"].casefold().startswith("made")
    name = _name(said, made=made)
    if not name or len(name) > LONGEST_KEY or _ANOTHERS.search(before):
        return None
    end = said.start("name") + len(name)
    if text.startswith("/", end) or _OF_THE_OLD.match(text, end) or _IN_DOUBT.search(text, end):
        return None
    if made and _MAY_BE_OLD.search(before):
        return None
    return SaidMaker(name, Place(said.start(), end))


def _name(said: re.Match[str], *, made: bool) -> str:
    """Return the words of a name; nothing where they are no name, or may be more than it."""
    words = said["name"].split(" ")
    shouted = said["how"].isupper()
    capitals = list(takewhile(lambda word: word[0].isupper() and word != "I", words))
    if not capitals or shouted:
        is_alone = len(words) == 1 and said["end"] is not None
        name = words[0] if is_alone else ""
    else:
        rest = words[len(capitals) :]
        several = bool(rest) and rest[0].casefold() in _JOINED
        while len(capitals) > 1 and _is_initials(capitals[-1]):
            capitals.pop()
        name = "" if several or len(capitals) > _MOST_WORDS else " ".join(capitals)
    if not name[:1].isalnum() or name.isdecimal() or _NO_NAME.fullmatch(name.split(" ")[0]):
        return ""
    return "" if made and _is_initials(name) else name


def _is_initials(word: str) -> bool:
    """Whether a word may be who did the work, noted behind it."""
    return len(word) <= _INITIALS and word.isupper()
