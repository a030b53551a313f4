"""What changing a part with its like showed: the fault went along with it, or stayed where it was.

"Swapped coils 4 and 1: misfire stays on 4" clears the coil, "moved to 1" points to it (common
practice, no source).
"""

import re

from kb.patterns import compiled

_SWAPPED = r"(?:sw[ao]pp?ed|swap|changed over|exchanged|getauscht|vertauscht|gewechselt|zamieni\w+)"
_SIDE = r"(?:(?:the|both|all|die|den|der|les|das|and|left|right|front|rear|[lr][fr]|[fr][lr]) )*"
_PART = rf"{_SIDE}(?P<what>[^\W\d_][^\W\d_/-]*(?: [^\W\d_]+){{0,2}}?)"
_WHERE = (
    r"(?:\s*$|\s*[0-9#]|\s+(?:and|und|with|from|to|between|for|side|sides|over|round|around|left"
    rf"|right|front|rear|onto|on|of|lr|rf|lf|rr|cyl\w*|no|mit|von|auf|links|vorne|{_SWAPPED})\b)"
)
_NAMED = (
    compiled(rf"\s*{_SWAPPED}(?: over| round)? {_PART}(?={_WHERE})", re.IGNORECASE),
    compiled(rf"\s*{_PART}(?={_WHERE}).{{0,40}}?\b{_SWAPPED}\b", re.IGNORECASE),
)
_STAYED = compiled(
    r"\b(?:stay(?:s|ed|ing)?|remain(?:s|ed)?|still|unchanged|same|no (?:change|difference|diff)"
    r"|(?:did(?:n['’]?t| not)|has ?n['’]?t|not|never) (?:move|moved|follow|followed|go|went)"
    r"|bleibt|blieb|geblieben|gleich|unver[äa]ndert|reste|rest[ée]|bez zmian|zosta\w+)\b",
    re.IGNORECASE,
)
_MOVED = compiled(
    r"\b(?:mov(?:es|ed)|follow(?:s|ed)|went|goes|travel(?:s|led)|wander(?:s|ed)|gewandert|wandert"
    r"|mitgewandert|mitgezogen|suit|suivi|przesz\w+)\b",
    re.IGNORECASE,
)


def told_by_swap(name: str, seen: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what a test points to and what it clears, if a part was changed with its like in it.

    Nothing of either where it is no such test, or both or neither is told.

    Examples
    --------
    >>> told_by_swap("swapped coils 4 and 1", "misfire stays on 4")
    ((), ('coil',))
    >>> told_by_swap("relay swapped with the horn's", "fault moved to the horn")
    (('relay',), ())
    >>> told_by_swap("swapped coil 3 to 1", "misfire gone")
    ((), ())
    """
    part = swapped_part(name)
    stayed = _STAYED.search(seen) is not None
    moved = _MOVED.search(_STAYED.sub("", seen)) is not None
    if part is None or stayed is moved or "?" in seen:
        return (), ()
    told = (part,)
    return (told, ()) if moved else ((), told)


def swapped_part(name: str) -> str | None:
    """Return the part that a test changed with its like, as its name tells; None if it is no such.

    Examples
    --------
    >>> swapped_part("swapped coil 3 with coil 1"), swapped_part("load test")
    ('coil', None)
    """
    part = next((found["what"] for each in _NAMED if (found := each.match(name))), None)
    return _one(part.casefold()) if part else None


def _one(part: str) -> str:
    """Return a part as one of its kind: "coils" are a coil."""
    return part[:-1] if part.endswith("s") and not part.endswith(("ss", "us")) else part
