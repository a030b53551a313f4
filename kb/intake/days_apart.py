"""What was heard of a car on two days or more, told in one line, parted by its days."""

from collections.abc import Sequence
from datetime import date
from itertools import pairwise

from kb.case import Outcome
from kb.errors import InvalidField
from kb.intake.days import days_told
from kb.intake.distances import Distance
from kb.intake.elapsed import returned_then
from kb.intake.lifting import Place, blanked
from kb.intake.outcome_words import DENIALS, TROUBLE, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.outcomes import judge_contact
from kb.intake.pieces import work_behind
from kb.patterns import compiled

_ENDS = compiled(r"[;\n]|\.(?=\s)")
_BREAKS = compiled(r",(?=\s)|\b(?:and|but|then|und|aber|dann)\b(?! (?:on|am)? ?$)|\s[-–—]\s")
_BACK = (
    *(WordRole.RETURNED, WordRole.BACK, WordRole.AGAIN, WordRole.GONE_AGAIN),
    *(WordRole.STILL, WordRole.LIT, WordRole.BROKEN),
)
_WELL = (WordRole.CURED, WordRole.WORKS, WordRole.FINE)
_NOT_FOR_GOOD = (
    *DENIALS,
    *(WordRole.SPAN, WordRole.TIMED, WordRole.LASTED, WordRole.WAS_WELL, WordRole.PLAN),
)
_WRONG = frozenset({*TROUBLE, WordRole.BROKEN, WordRole.LIT, WordRole.BAD})
_BESIDE_WRONG = frozenset(
    {WordRole.LAMP, WordRole.LITTLE, WordRole.WAY, WordRole.NOW, WordRole.AGAIN, WordRole.THEN}
)
_LOOSE = " \t\n,;:.-–—"


def by_days(text: str, today: date) -> list[tuple[Place, Outcome]]:
    """Part a text that tells what was heard on several days, with how the fix fared by each part.

    Empty where it names one day or none, where a part between two days tells no outcome, or where
    work is told in it.

    Examples
    --------
    >>> line = "rang 2025-10-30, ok; on 2025-12-02 abs lamp back"
    >>> [(line[slice(*each)], str(told)) for each, told in by_days(line, date(2026, 1, 2))]
    [('rang 2025-10-30, ok', 'held'), ('on 2025-12-02 abs lamp back', 'comeback')]
    """
    try:
        days = days_told(text, today)
    except InvalidField:
        return []  # what is no day is refused by whoever reads the contact
    if len({day for _, day in days}) < 2 or work_behind(text):
        return []
    cuts = [0, *(_cut(text, one.end, two.start) for (one, _), (two, _) in pairwise(days))]
    found: list[tuple[Place, Outcome]] = []
    for (day, _), start, end in zip(days, cuts, [*cuts[1:], len(text)], strict=True):
        said = text[start : day.start] + text[day.end : end]
        outcome = judge_contact(said.strip(_LOOSE))
        if outcome is Outcome.NOT_TOLD and returned_then(said.strip(_LOOSE)):
            outcome = Outcome.COMEBACK
        if outcome is Outcome.NOT_TOLD:
            return []
        whole = text[start:end]
        begin = start + len(whole) - len(whole.lstrip(_LOOSE))
        found.append((Place(begin, start + len(whole.rstrip(_LOOSE))), outcome))
    return found


def by_distances(
    text: str, shown: Sequence[tuple[Distance, Place]]
) -> tuple[Distance, Outcome | None] | None:
    """Return the last of several distances of a line, and how the fix fared, if that tells it.

    What was well with fewer kilometres, and behind the last is told to be wrong and nothing else,
    came back by then; what was back and then well is not told.

    Examples
    --------
    >>> from kb.intake.distances import find_odometers
    >>> line = "at 95000 km still quiet, at 99000 km whining"
    >>> at, outcome = by_distances(line, find_odometers(line))
    >>> at.km, str(outcome)
    (99000, 'comeback')
    """
    distances = [each.km for each, _ in shown]
    if len(distances) < 2 or distances != sorted(set(distances)):
        return None
    cuts = [0, *(_cut(text, one.end, two.start) for (_, one), (_, two) in pairwise(shown))]
    said = [
        blanked(text, [place])[start:end].strip(_LOOSE)
        for (_, place), start, end in zip(shown, cuts, [*cuts[1:], len(text)], strict=True)
    ]
    told = [judge_contact(each) for each in said]
    well = all(each is Outcome.HELD for each in told[:-1])
    outcome = None
    if told[-1] is Outcome.COMEBACK or (well and _is_bare_trouble(said[-1])):
        outcome = Outcome.COMEBACK
    elif any(map(sounds_back, said[:-1])):
        outcome = Outcome.NOT_TOLD
    return shown[-1][0], outcome


def _is_bare_trouble(said: str) -> bool:
    told = outcome_clauses(said)
    words = {word for each in told for word in each.words}
    asked = any(each.asked for each in told)
    return bool(words & _WRONG) and words <= _WRONG | _BESIDE_WRONG and not asked


def _cut(text: str, start: int, end: int) -> int:
    """Return where between two days the words of the second begin."""
    for pattern in (_ENDS, _BREAKS):
        breaks = [match.start() for match in pattern.finditer(text, start, end)]
        if breaks:
            return breaks[-1]
    return end


def sounds_back(said: str) -> bool:
    """Whether words may tell that a fault is there again, though nobody could say so for sure.

    Examples
    --------
    >>> sounds_back("abs lamp back"), sounds_back("no codes back"), sounds_back("still ok")
    (True, False, False)
    """
    outcome = judge_contact(said.strip(_LOOSE))
    if outcome is not Outcome.NOT_TOLD:
        return outcome is Outcome.COMEBACK
    return any(clause.has(*_BACK) and not clause.has(*DENIALS) for clause in outcome_clauses(said))


def sounds_held(said: str) -> bool:
    """Whether words may tell that a fix held, and not only for a time.

    Examples
    --------
    >>> sounds_held("held at first call"), sounds_held("ok for 3 weeks"), sounds_held("not ok")
    (True, False, False)
    """
    outcome = judge_contact(said.strip(_LOOSE))
    told = outcome_clauses(said)
    if outcome is not Outcome.NOT_TOLD or any(each.joint is WordRole.UNTIL for each in told):
        return outcome is Outcome.HELD
    return any(clause.has(*_WELL) and not clause.has(*_NOT_FOR_GOOD) for clause in told)
