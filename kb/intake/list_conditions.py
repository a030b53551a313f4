"""What is told once, before or behind a list of values of one item, is told of all of them."""

import re
from collections.abc import Sequence
from dataclasses import replace

from kb.case import Reading, Relation
from kb.intake.company import Company, kinds
from kb.intake.company_words import Aspect
from kb.intake.lifting import Place
from kb.intake.listed_values import head_state
from kb.patterns import compiled

_TEST_VOLTAGE = compiled(r"[0-9]\s?k?v\b", re.IGNORECASE)
"""``500 V`` that a tester puts on one side may differ on the other."""
_OF_ALL = {Aspect.WARMTH, Aspect.OPENING, Aspect.POWER}
"""An engine is warm, open and run for all its cylinders; wet or dry is each on its own."""
_JOINT = compiled(r"[\s,;/&]*(?:\b(?:and|und|et|i|oraz)\b[\s,;/&]*)?")
_TWO = 2


def kinds_told(condition: str) -> set[Aspect] | None:
    """Return the kinds of what a condition tells; None where a part of it is not known.

    Examples
    --------
    >>> sorted(kind.name for kind in kinds_told("warm, wot"))
    ['POWER', 'WARMTH']
    >>> kinds_told("on the second try") is None
    True
    """
    told: set[Aspect] = set()
    for part in condition.split(", "):
        found = next(filter(None, map(_kinds_of, (part, f"at {part}"))), None)
        if found is None:
            return None
        told |= found
    return told


def _kinds_of(part: str) -> set[Aspect]:
    company = Company(part, alone=True)
    return kinds(company.after(0, len(part))) if company.holds(0, len(part)) else set()


def told_for_all(readings: Sequence[Reading], places: Sequence[Place], plain: str) -> list[Reading]:
    """Give each value of a list the condition that its first or its last one has alone.

    A list is two or more values of one item, each of another position, with nothing but commas
    between them. A condition before the list stands in front of its first number. An open circuit
    keeps its condition: it is what one shows and the others do not.
    """
    shared = list(readings)
    start = 0
    while start < len(readings):
        end = start + 1
        while end < len(readings) and _goes_on(
            readings[start:end], readings[end], plain[places[end - 1].end : places[end].start]
        ):
            end += 1
        condition = _told_once(readings[start:end], places[start], plain)
        if not any(each.condition for each in readings[start:end]):
            condition = _headed(plain, places[start])
        if condition:
            shared[start:end] = [replace(each, condition=condition) for each in readings[start:end]]
        start = end
    return shared


_HEADED = compiled(
    r"(?:^|[;.\n])\s*(?:engine |motor )?(?P<state>warm|hot|cold|kalt|heiß|heiss|chaud|froid|à chaud"
    r"|à froid|na zimno|na gorąco)(?: engine)?\s*:\s*$",
    re.IGNORECASE,
)
_LONGEST_HEAD = 30
_STATES = {
    **dict.fromkeys(("warm",), "warm"),
    **dict.fromkeys(("hot", "heiß", "heiss", "chaud", "à chaud", "na gorąco"), "hot"),
    **dict.fromkeys(("cold", "kalt", "froid", "à froid", "na zimno"), "cold"),
}


def _headed(plain: str, place: Place) -> str | None:
    """Return the state before a list, or between its item and it: "warm: cyl 1 12.4 bar"."""
    head = _HEADED.search(plain, max(0, place.start - _LONGEST_HEAD), place.start)
    state = head["state"] if head else head_state(plain[slice(*place)])
    return _STATES.get(state.lower(), state.lower()) if state else None


def _goes_on(before: Sequence[Reading], reading: Reading, between: str) -> bool:
    last = before[-1]
    if _JOINT.fullmatch(between) is None:
        return False
    alike = (last.item, last.quantity, last.stage) == (
        reading.item,
        reading.quantity,
        reading.stage,
    )
    if not alike or None in (last.position, reading.position):
        return False
    return all(each.position != reading.position for each in before)


def _told_once(row: Sequence[Reading], first: Place, plain: str) -> str | None:
    conditions = [each.condition for each in row]
    told = list(dict.fromkeys(filter(None, conditions)))
    if len(row) < _TWO or len(told) != 1 or None not in conditions or _TEST_VOLTAGE.search(told[0]):
        return None
    kinds_of = kinds_told(told[0])
    if not kinds_of or not kinds_of <= _OF_ALL:
        return None
    if conditions[-1]:
        return told[0] if row[-1].relation is Relation.EXACT else None
    return told[0] if conditions[0] and _leads(plain[slice(*first)]) else None


_BEFORE_A_NUMBER = compiled(r"[^0-9]*")


def _leads(words: str) -> bool:
    """Whether a condition stands in front of the first number."""
    head = _BEFORE_A_NUMBER.match(words)
    return head is not None and bool(kinds_in(head[0]) & _OF_ALL)


def kinds_in(words: str) -> set[Aspect]:
    """Return the kinds of all that is told within some words."""
    return kinds(Company(words, alone=True).within(0, len(words)))
