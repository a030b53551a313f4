"""Which outcome of a step was meant, by its letter, its words, or a technician's own."""

import re
from dataclasses import replace

from kb.case import FailureMode, Reading, Vehicle, even
from kb.errors import InvalidField, KbError
from kb.intake.outcomes import judge_attempt
from kb.intake.readings import parse_reading
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.recall.faulty_readings import speak_for
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.general_tests import GeneralOutcome, GeneralTest, general_tests
from kb.troubleshooting.steps import Branch, Step
from kb.troubleshooting.testing import key_of
from kb.troubleshooting.told_outcome import outcome_told

_DENIED = compiled(
    r"\b(?:no|not|nor|none|never|nothing|without|isn'?t|wasn'?t|except|ok|okay|good|fine|sound|dry"
    r"|normal|or|maybe|perhaps|possibly)\b|\?",
    re.IGNORECASE,
)
"""Words beside which a part that is named may be the one at which nothing was found."""
_IN_DOUBT = compiled(
    r"\b(?:or|maybe|perhaps|possibly|unsure|not (?:so |too |really |quite )?sure"
    r"|hard to (?:say|tell)"
    r"|can(?:no|'?)t (?:say|tell)|sort of|kind of|kinda)\b|\?",
    re.IGNORECASE,
)
_CLAUSES = compiled(r"[;,]\s|\b(?:but|however|whereas|and)\b", re.IGNORECASE)
_NUMBER = compiled(r"\d")
_NOTHING = compiled(
    r"(?:there was |there is |i )?(?:nothing (?:to (?:see|be seen|find|hear)|visible|found|wrong"
    r"|abnormal|unusual|loose|leaking|wet)|(?:found|saw|see|heard) nothing"
    r"|no (?:fault|leak|leaks|play|damage|noise)(?: (?:found|seen|to see|there|anywhere))?"
    r"|(?:all|everything|looks|all looks|everything looks) (?:is )?(?:ok|okay|good|fine|dry|normal"
    r"|as it should be))(?=\s*(?:[,.;]|$))",
    re.IGNORECASE,
)
"""That nothing was found, told first and of no part alone."""


def branch_meant(
    step: Step, saw: str, number: int, vehicle: Vehicle, wording: Wording
) -> tuple[Branch, bool]:
    """Return the outcome meant by its letter or words of it, and whether by somebody's own words.

    Own words mean an outcome if what was read, in one clause or all, is by the trade's limits a
    fault of it, if the trade's table has phrases of it alone there, or if they name the part of
    that one alone and deny nothing; of a fix, if they plainly tell that it cured or did not.

    Raises
    ------
    InvalidField
        If they mean none, or more than one; with how else to record them on the job.
    """
    words = even(saw)
    letters = {chr(ord("a") + place): each for place, each in enumerate(step.branches)}
    if step.kind is Kind.REPAIR:
        letters |= {"cured": step.branches[0], "not cured": step.branches[1]}
    if words in letters:
        return letters[words], False
    meant = [each for each in step.branches if words and words in each.seen.casefold()]
    if len(meant) == 1:
        return meant[0], False
    if words and step.kind is Kind.TEST:
        meant = _told(step, saw, vehicle, wording)
    elif words and (cured := judge_attempt(saw)) is not None:
        meant = [step.branches[0 if cured else 1]]
    if len(meant) == 1:
        return meant[0], True
    known = "; ".join(f"{letter} {each.seen}" for letter, each in letters.items())
    own = f'; is it none of these: kb job add {number} "{step.title}: ..."'
    raise InvalidField("saw", saw, f"must be one of: {known}{own}")


def _told(step: Step, saw: str, vehicle: Vehicle, wording: Wording) -> list[Branch]:
    """Return the outcomes that somebody's own words tell of."""
    if _found_nothing(step, saw, wording):
        return [each for each in step.branches if not each.points_to]
    general = next((each for each in general_tests().test if each.name == key_of(step.title)), None)
    numbers = _NUMBER.search(saw) is not None
    if not _IN_DOUBT.search(saw):
        if numbers and (read := _by_readings(step, saw, general, vehicle, wording)):
            return read
        if general and (told := _by_phrases(step, saw, general)):
            return told
    return [] if numbers or _DENIED.search(saw) else _by_part(step.branches, saw, wording)


def _by_readings(
    step: Step, saw: str, general: GeneralTest | None, vehicle: Vehicle, wording: Wording
) -> list[Branch]:
    """Return the outcomes of what was read, in one clause or all."""
    found: list[Branch] = []
    for part in filter(_NUMBER.search, _CLAUSES.split(saw)):
        read = _by_reading(step, part, general, vehicle, wording)
        found += [each for each in read if each not in found]
    return found or _by_reading(step, saw, general, vehicle, wording)


def _by_phrases(step: Step, saw: str, general: GeneralTest) -> list[Branch]:
    """Return the outcome that phrases of the table tell, if it is of one part."""
    outcome = outcome_told(general, saw)
    told = [each for each in step.branches if outcome and _is_of(each, outcome)]
    return told if len(told) == 1 else []


def _is_of(branch: Branch, outcome: GeneralOutcome) -> bool:
    """Whether a step's outcome is one of the table's, said of some part."""
    before, _, behind = outcome.seen.partition("{here}")
    return branch.seen.startswith(before) and branch.seen.endswith(behind)


def _found_nothing(step: Step, saw: str, wording: Wording) -> bool:
    """Whether words begin with that nothing was found, and neither doubt it nor name a part."""
    plain = _NOTHING.match(saw.strip()) is not None and not _IN_DOUBT.search(saw)
    return plain and "but" not in saw.casefold() and not _by_part(step.branches, saw, wording)


def _by_part(branches: tuple[Branch, ...], text: str, wording: Wording) -> list[Branch]:
    """Return the outcomes all of whose part's words stand in a text: the longest name alone."""
    told = set(wording.tokens(text))
    named = [
        (len(part), each)
        for each in branches
        if len(each.points_to) == 1 and (part := set(wording.tokens(each.points_to[0]))) <= told
    ]
    longest = max((length for length, _ in named), default=0)
    return [each for length, each in named if length == longest]


def _by_reading(
    step: Step, saw: str, general: GeneralTest | None, vehicle: Vehicle, wording: Wording
) -> list[Branch]:
    """Return the outcomes for whose part a value read is a fault by the trade's limits."""
    if general is None or general.reads is None:
        return []
    try:
        reading = parse_reading(f"{general.reads} {saw}")
    except KbError:
        return []
    faults = [
        " ".join(wording.tokens(fault))
        for told in speak_for([_of_all_ways(reading)], vehicle, wording)
        for fault in told
    ]
    if not faults:
        return []
    return _by_part(step.branches, saw, wording) or [
        each
        for each in step.branches
        if len(each.points_to) == 1
        and " ".join(wording.tokens(each.points_to[0])) in {_part_of(fault) for fault in faults}
    ]


def _of_all_ways(reading: Reading) -> Reading:
    """Return a reading whose item is all that was told of the way it was read along."""
    words = (reading.item, reading.position, reading.condition)
    return replace(reading, item=" ".join(filter(None, words)))


def _part_of(fault: str) -> str:
    """Return the part of a fault as the limits name it, its way of failing left off."""
    mode = next((mode for mode in FailureMode if fault.endswith(f" {mode}")), "")
    return fault.removesuffix(f" {mode}")
