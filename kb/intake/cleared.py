"""A part that is said not to be at fault: ``it was not the coil connector``, ``coil ruled out``.

A clause counts where it says that and nothing else. The words are common practice, no source.
"""

import re
from typing import NamedTuple

from kb.patterns import compiled

_PART = r"(?:the |a |any |that )?(?P<part>[^\W\d_][\w/-]*(?: [\w/-]+){0,4}?)"
_SURE = r"(?:definitely |surely |certainly |so )?"
_DENIED = compiled(
    rf"{_SURE}(?:"
    r"(?:(?:it|that|this|(?:the )?(?:fault|problem|cause|trouble))(?: is|['’]s| was)? not"
    r"|(?:(?:it|that|this|(?:the )?(?:fault|problem|cause|trouble)) )?(?:was|is)n['’]?t|not)"
    r"(?: (?:in|at|with|due to|because of))?"
    r"|nothing wrong (?:with|at|in)|no fault (?:found )?(?:with|at|in)"
    r"|(?:have |we )?(?:ruled out|eliminated|excluded)"
    rf") {_PART}[ .!]*",
    re.IGNORECASE,
)
_OUT = compiled(
    rf"{_PART} (?:(?:is|was|has been|can be) )?(?:ruled out|eliminated|excluded|not it|not to blame"
    r"|not (?:at fault|the (?:fault|cause|problem|trouble|culprit)))[ .!]*",
    re.IGNORECASE,
)
_FINE = compiled(
    rf"{_PART} (?:(?:is|are|seems?|looks?|tests?|tested|checks?|checked(?: out)?|all|perfectly) )*"
    r"(?:ok|okay|fine|good|sound|healthy)[ .!]*",
    re.IGNORECASE,
)


class Cleared(NamedTuple):
    """A part that a clause clears; `fine` where it is only said to be well."""

    part: str
    fine: bool


def cleared_in(clause: str) -> Cleared | None:
    """Return the part that a clause says not to be at fault; None if it says anything else.

    Examples
    --------
    >>> cleared_in("it was not the coil connector"), cleared_in("coil is fine")
    (Cleared(part='coil connector', fine=False), Cleared(part='coil', fine=True))
    >>> cleared_in("coil fine when cold") is None
    True
    """
    words = " ".join(clause.strip(" ,;").split())
    if told := _DENIED.fullmatch(words) or _OUT.fullmatch(words):
        return Cleared(told["part"].lower(), False)
    told = _FINE.fullmatch(words)
    return Cleared(told["part"].lower(), True) if told else None
