"""Whether a live value is compared to one that was measured at an igniter itself.

*Scan tool 2.3, same as I got at the pins* tells two readings, and the second took a meter. A value
is compared to another live one, to a book or to a known load as freely as before. All of it is
common practice, no source.
"""

import re
from collections.abc import Iterator, Sequence

from kb.patterns import compiled
from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_words import Role, role_of


def compared_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what tells that a live value is like one taken at a plug, its pins or an igniter."""
    roles = frozenset[Role]().union(*(clause.roles for clause in sentence))
    if not roles & {Role.VALUE, Role.QUANTITY} or Role.SCAN not in roles:
        return
    told = with_marks(sentence)
    if found := _LIKE_AT_IT.search(told) or _IT_SAYS_LIKEWISE.search(told):
        yield Piece(Role.INSTRUMENT, unmarked(found.group())), Reason.METER


def with_marks(sentence: Sequence[Clause]) -> str:
    """Return a sentence in one line: a mark before contacts, two before what names an igniter."""
    words = [word for clause in sentence for word in (clause.joiner, *clause.words) if word]
    return " ".join(map(_marked, words))


def unmarked(told: str) -> tuple[str, ...]:
    """Return the words of a line of `with_marks`, without its marks."""
    return tuple(told.replace("~", "").split())


def _marked(word: str) -> str:
    """Put a mark before what a meter's tips may stand on, two before an igniter itself."""
    role = role_of(word)
    if role is Role.CONTACT or word.startswith(_TIPS_ON):
        return f"~{word}"
    return f"~~{word}" if role in TARGETS else word


_TIPS_ON = ("pin", "terminal", "broche", "borne", "klemme", "styk", "kontakt", "plug", "connector")
_LIKE = (
    r"same(?: as| like)?|identical(?: to| with)?|equals?(?: to)?|equal to|agree[sd]?(?: with)?|"
    r"match\w*|tall(?:y|ies|ied)(?: with)?|confirm\w*|exactly|just|like|as|wie|gleich|dasselbe|"
    r"stimmt|pareil\w*|comme|identique\w*|meme|tyle samo|tak samo|jak|zgadza\w*|zgodn\w*"
)
_BETWEEN = (
    r"as|like|with|to|what|that|which|the|i|we|he|it|they|was|were|is|had|have|has|got|get|gave|"
    r"found|saw|seen|read|reads|readings?|measured|metered|taken|took|my|our|his|own|value|values|"
    r"one|ones|figure|before|earlier|first|there|been|did|meter|multimeter|dmm|by|me|we've|i've|"
    r"wie|ich|wir|vorher|gemessen|was|mit|que|ce|j'ai|ai|mesure|trouve|avant|co|jak|mialem|"
    r"zmierzylem|wczesniej|przedtem"
)
_AT = r"at|across|on|off|over|from|between|an|am|auf|an den|aux|au|a|sur|na|w|przy"
_THE = r"the|its|his|my|both|two|these|those|own|bare|itself|den|dem|der|les|des|la|le|#"
_LIKE_AT_IT: re.Pattern[str] = compiled(
    rf"(?<!\S)(?:{_LIKE})(?: (?:{_BETWEEN}))* (?:"
    rf"(?:{_AT})(?: (?:{_THE}|~~\S+))* ~\S+|(?:at|across|between|an|am)(?: (?:{_THE}))* ~~\S+)"
)
_IT_SAYS_LIKEWISE: re.Pattern[str] = compiled(
    r"(?<!\S)~[^~\s]+ (?:gave|give|gives|said|say|says|showed|show|shows|had|have|read|reads|told) "
    r"(?:(?:me|us|you|exactly|just|the|about|much) )*(?:same|likewise|as much|no different|too)"
)
