"""Lists with commas, of values that have their unit once, behind the last of them.

``LF 32, RF 31 psi`` is one list as ``LF 32 RF 31 psi`` is; ``comp hot: 1 12.4, 2 11.9 bar`` tells
its state in front of the first. How lists are written is common practice, no source.
"""

import re
from collections.abc import Iterator

from kb.intake.lifting import Place, blanked
from kb.intake.values import UNIT
from kb.patterns import compiled

_NUMBER = r"[+-]?[0-9]{1,4}(?:[.,][0-9]{1,2})?(?![.,]?[0-9])"
_COUNT = r"(?:[cz]yl(?:inder)?s?\.? ?(?:no\.? ?)?|nr\.? ?|no\.? ?|#)?[1-9]"
_CORNER = r"(?:[lr][fr]|[fr][lr]|[no]s[fr])"
_STATE = r"(?:dry|wet|hot|warm|cold|idle|cranking|kalt|warm|trocken|nass|before|after)"


def _listed(key: str) -> str:
    entry = rf"{key}[ :=]{{1,3}}{_NUMBER}"
    return rf"(?<![\w.,]){entry}(?:\s?,\s+{entry}){{1,15}}\s?{UNIT}"


_LIST = compiled("|".join(map(_listed, (_COUNT, _CORNER, _STATE))), re.IGNORECASE)
_COMMA = compiled(r",(?=\s)")
_HEAD = compiled(
    r"(?<!\w)(?:comp(?:ression)?s?|kompression|inj(?:ector)?s?|leak[ -]?off|glow ?plugs?|coils?)"
    r"(?P<state> (?:warm|hot|cold|kalt|dry|wet|trocken|nass))\s?:?\s"
    rf"(?={_COUNT}[ :=]{{1,3}}{_NUMBER})",
    re.IGNORECASE,
)
"""An item and its state in front of a list that counts: ``comp hot: 1 12.4``."""


def without_list_commas(plain: str) -> str:
    """Return a text with blanks for the commas of its lists, as long as it was.

    Examples
    --------
    >>> without_list_commas("cyl 1 12.4, cyl 2 11.9 bar, lamp on")
    'cyl 1 12.4  cyl 2 11.9 bar, lamp on'
    >>> without_list_commas("battery 12.4, rail 300 bar")
    'battery 12.4, rail 300 bar'
    """
    if "," not in plain:
        return plain
    return _LIST.sub(lambda found: _COMMA.sub(" ", found[0]), plain)


def without_head_states(plain: str) -> str:
    """Return a text with blanks for the states between an item and its list.

    Examples
    --------
    >>> without_head_states("comp hot: 1 12.4  2 11.9 bar")
    'comp    : 1 12.4  2 11.9 bar'
    """
    return blanked(plain, _head_states(plain))


def _head_states(plain: str) -> Iterator[Place]:
    return (Place(*head.span("state")) for head in _HEAD.finditer(plain))


def head_state(words: str) -> str | None:
    """Return the state that stands between an item and its list; None if none does.

    Examples
    --------
    >>> head_state("comp hot: 1 12.4 bar"), head_state("comp 1 12.4 bar")
    ('hot', None)
    """
    head = _HEAD.match(words)
    return head["state"].strip() if head else None
