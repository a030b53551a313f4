"""Causes that are told anew, held against those the shop has already."""

from collections.abc import Iterable
from dataclasses import replace

from kb.case import Cause, FailureMode, even
from kb.errors import InvalidField
from kb.intake.items import is_item_word, item_key
from kb.intake.positions import find_position
from kb.intake.single_facts import parse_cause
from kb.intake.unproved import objection_to, without_denied
from kb.intake.wording import Wording

LEAST_LIKENESS = 0.88
"""Of two components, or of two places, from which they may be the same; found by trying."""
ONE_PLACE_TOLD = 0.95
"""Likeness of two places of which only one is told."""
_NEAR_MODE = 0.85
"""Likeness of words to a failure mode from which that is proposed; found by trying."""


def near_causes(
    told: Cause, known: Iterable[tuple[Cause, int]], wording: Wording, *, limit: int = 3
) -> list[tuple[Cause, int]]:
    """Causes of the shop that one told anew may be: like components in like places.

    Parameters
    ----------
    known : iterable of (Cause, int)
        Every cause of the shop, with how many jobs it has.

    Returns
    -------
    list of (Cause, int)
        Those that failed the same way first, then the likest, then those with the most jobs; none
        if the shop has the very cause, or nothing like it.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> worn, plug = FailureMode.WORN, FailureMode.HIGH_RESISTANCE
    >>> known = [(Cause(component="seat connector", location="under seat", failure_mode=plug), 23),
    ...          (Cause(component="wheel bearing", failure_mode=worn), 4)]
    >>> told = Cause(component="seat conector", failure_mode=plug)
    >>> [(cause.label, jobs) for cause, jobs in near_causes(told, known, Wording.default())]
    [('seat connector, under seat: high resistance', 23)]
    """
    found = []
    for cause, jobs in known:
        if cause.key == told.key:
            return []
        part = _part_likeness(told.component, cause.component, wording)
        place = _place_likeness(told.location, cause.location)
        if min(part, place) >= LEAST_LIKENESS:
            other_way = cause.failure_mode is not told.failure_mode
            found.append(((other_way, -part * place, -jobs), (cause, jobs)))
    return [each for _, each in sorted(found, key=lambda each: each[0])[:limit]]


def by_nearness(component: str, told: Iterable[Cause], wording: Wording) -> list[Cause]:
    """Put causes in the order in which a part may be theirs under another name.

    Those that share a word of its name stand first, the likest of them before the others; among
    those that share none the order is kept.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> known = [Cause(component=part, failure_mode=FailureMode.OPEN)
    ...     for part in ("blower motor", "pollen filter", "blower resistor")]
    >>> near = by_nearness("fan resistor pack", known, Wording.default())
    >>> [cause.component for cause in near]
    ['blower resistor', 'blower motor', 'pollen filter']
    """
    own = set(wording.tokens(component))

    def distance(cause: Cause) -> float:
        shared = own & set(wording.tokens(cause.component))
        return -_part_likeness(component, cause.component, wording) if shared else 0.0

    return sorted(told, key=distance)


def mode_meant(text: str) -> str | None:
    """Return a cause with the failure mode it nearly tells put right; None if none is near.

    Examples
    --------
    >>> mode_meant("seat connector, high resistence")
    'seat connector, high resistance'
    >>> mode_meant("seat connector") is None
    True
    """
    words = text.split()
    found = []
    for mode in FailureMode:
        length = len(mode.split())
        for start in range(len(words) - length + 1):
            run = " ".join(words[start : start + length])
            bare = run.strip(",;:.!?()")
            likeness = _likeness(bare, mode.value)
            if likeness >= _NEAR_MODE:
                meant = [*words[:start], run.replace(bare, mode.value), *words[start + length :]]
                found.append((likeness, length, " ".join(meant)))
    return max(found)[2] if found else None


def read_cause(text: str, known: Iterable[Cause] = ()) -> Cause:
    """Read a cause; one of the shop's, told as it is printed, is that very cause.

    Any other is read as `kb.intake.single_facts.parse_cause` does; a near failure mode is proposed.
    What is told not to have been the cause is left out of it.

    Raises
    ------
    InvalidField
        If it names no component, no way of failing, or no cause that was proved.

    Examples
    --------
    >>> damaged = FailureMode.MECHANICAL_DAMAGE
    >>> shop = [Cause(component="regulator", location="front door", failure_mode=damaged)]
    >>> read_cause("Regulator, front door: mechanical damage (left)", shop).location
    'front door'
    """
    named = _as_printed(text, known)
    if named is not None:
        return named
    if objection := objection_to(text):
        raise InvalidField("cause", text, objection)
    proved = without_denied(text)
    try:
        cause = parse_cause(proved)
        return cause if proved == text.strip() else replace(cause, words=text.strip())
    except InvalidField as error:
        meant = mode_meant(proved)
        if meant is None:
            raise
        raise InvalidField("cause", text, f"{error.cure}; is “{meant}” meant?") from error


def _as_printed(text: str, known: Iterable[Cause]) -> Cause | None:
    """Return the cause whose label a text is, perhaps with its position in brackets behind it."""
    told = even(text)
    for cause in known:
        label = even(cause.label)
        if told == label:
            return cause
        if told.startswith(f"{label} (") and told.endswith(")"):
            position, rest = find_position(told[len(label) + 2 : -1])
            if position and not rest.strip():
                return replace(cause, position=position)
    return None


def _part_likeness(one: str, other: str, wording: Wording) -> float:
    if item_key(_spelt(one, wording), wording) == item_key(_spelt(other, wording), wording):
        return 1.0
    return _likeness(one, other)


def _spelt(part: str, wording: Wording) -> str:
    """Mend slips in the name of a part, where the trade's items tell what was meant."""
    return " ".join(is_item_word(word, wording) or word for word in part.lower().split())


def _place_likeness(one: str | None, other: str | None) -> float:
    if not one or not other:
        return 1.0 if one == other else ONE_PLACE_TOLD
    words, others = set(even(one).split()), set(even(other).split())
    if words < others or others < words:  # "engine", "engine bay"
        return ONE_PLACE_TOLD
    return _likeness(one, other)


def _likeness(one: str, other: str) -> float:
    """Likeness of two names, 0 to 1, whichever word of them comes first."""
    from rapidfuzz import fuzz  # noqa: PLC0415  only a proposal needs it, not every start

    return fuzz.token_sort_ratio(even(one), even(other)) / 100
