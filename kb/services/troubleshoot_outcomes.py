"""Which outcome of a step was meant, by its letter, its words, or a technician's own."""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from kb.case import FailureMode, Reading, Vehicle, even
from kb.errors import InvalidField, KbError
from kb.intake.outcomes import judge_attempt
from kb.intake.reading_search import find_readings
from kb.intake.readings import parse_reading
from kb.intake.subjects import subjects_of
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.recall.faulty_readings import is_faulty, speak_for
from kb.troubleshooting.circuit import names
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.named_parts import parts_named
from kb.troubleshooting.remedies import to_be_done
from kb.troubleshooting.steps import Branch, Step
from kb.troubleshooting.testing import key_of
from kb.troubleshooting.told_branches import branches_told

_EITHER_WAY = compiled(
    r"\b(?:hot|cold|warm|wet|dry|on|off|left|right|up|down|in|out|loaded|idle)"
    r" or (?:hot|cold|warm|wet|dry|on|off|left|right|up|down|in|out|loaded|idle|not)\b",
    re.IGNORECASE,
)
"""That it was so both ways, which is no doubt."""
_IN_DOUBT = compiled(
    r"\b(?:or|maybe|perhaps|possibly|probably|unsure|not (?:so |too |really |quite )?sure"
    r"|might|could be|i think"
    r"|hard to (?:say|tell)"
    r"|can(?:no|'?)t (?:say|tell)|sort of|kind of|kinda)\b|\?",
    re.IGNORECASE,
)
_CLAUSES = compiled(r"[;,]\s|\b(?:but|however|whereas|and)\b", re.IGNORECASE)
_NUMBER = compiled(r"\d")
_CURED_FIRST = compiled(r"\s*(?P<not>not )?cured(?=\s*(?:[,;:.]\s|$))", re.IGNORECASE)
_PEDAL = compiled(r"\bpedals?\b", re.IGNORECASE)
_HAS_PEDAL = compiled(r"brake|clutch|servo|cylinder|caliper|hose|pedal|fluid", re.IGNORECASE)
_PLAINLY = compiled(
    r"\b(?:cured|fixed|sorted|gone|no (?:more|longer)|not any ?more|fault|complaint|customer)\b",
    re.IGNORECASE,
)
"""Tells of the complaint itself, whatever else is named beside it."""
_NUMBER_FIRST = compiled(r"\s*#?([1-9])\s*([:,)=-]?)\s*(\S.*)", re.DOTALL)


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
    elif words and (cured := _cured(step, saw, wording)) is not None:
        meant = [step.branches[0 if cured else 1]]
    if len(meant) == 1:
        return meant[0], True
    known = "; ".join(f"{letter} {each.seen}" for letter, each in letters.items())
    own = f'; is it none of these: kb job add {number} "{step.title}: ..."'
    own += "".join(f"; {each}" for each in unread(saw))
    raise InvalidField("saw", saw, f"must be one of: {known}{own}")


def _cured(step: Step, saw: str, wording: Wording) -> bool | None:
    """Whether words tell that a fix cured; None where they do not, or doubt it.

    What works that the fix is not about may have worked before: *pedal good* behind a coil.
    """
    first = _CURED_FIRST.match(saw)
    if first and not _IN_DOUBT.search(saw):
        return not first["not"]
    cured = judge_attempt(saw)
    about = subjects_of(step.title, wording)
    strange = subjects_of(saw, wording) - about or (
        _PEDAL.search(saw) and not _HAS_PEDAL.search(step.title)
    )
    return None if cured and strange and not _PLAINLY.search(saw) else cured


def unread(saw: str) -> Iterator[str]:
    """Yield what in words may be a reading, and how it is to be told so that it is one."""
    for each in find_readings(saw).doubtful:
        yield f"“{each.text}” {each.why}"


@dataclass(frozen=True, slots=True)
class StepTold:
    """The steps of which words tell what they showed, and the words without what names a step."""

    steps: tuple[Step, ...]
    saw: str


def step_told(
    steps: Sequence[Step], text: str, number: int, vehicle: Vehicle, wording: Wording
) -> StepTold:
    """Return of which of the proposed steps a text tells what it showed.

    It may begin with the number or the name of a step, else it must plainly mean an outcome of one.
    """
    if (begun := _NUMBER_FIRST.match(text)) and 1 <= int(begun[1]) <= len(steps):
        step = steps[int(begun[1]) - 1]
        if begun[2] or _means(step, begun[3], number, vehicle, wording):
            return StepTold((step,), begun[3])
    for step in steps:
        for name in (to_be_done(step.title), step.title, key_of(step.title)):
            behind = text[len(name) :].lstrip(" :,-")
            if text.casefold().startswith(name.casefold()) and behind:
                return StepTold((step,), behind)
    tests = (each for each in steps if each.kind is Kind.TEST)
    meant = (each for each in tests if _means(each, text, number, vehicle, wording))
    return StepTold(tuple(meant), text)


def _means(step: Step, saw: str, number: int, vehicle: Vehicle, wording: Wording) -> bool:
    """Whether words mean an outcome of a step."""
    with suppress(InvalidField):
        return branch_meant(step, saw, number, vehicle, wording)[1]
    return False


def _told(step: Step, saw: str, vehicle: Vehicle, wording: Wording) -> list[Branch]:
    """Return the outcomes that somebody's own words tell of."""
    if _IN_DOUBT.search(_EITHER_WAY.sub(" ", saw)):
        return []
    general = next((each for each in general_tests().test if each.name == key_of(step.title)), None)
    if _NUMBER.search(saw) and (read := _by_readings(step, saw, general, vehicle, wording)):
        return read
    return branches_told(step.branches, saw, general, wording, _places(step, wording))


def _places(step: Step, wording: Wording) -> Mapping[str, str]:
    """Return where the parts of a step sit, as its suspects tell."""
    causes = [cause for each in step.branches for cause, _ in each.leaves]
    told: dict[str, set[str]] = defaultdict(set)
    for each in step.branches:
        for part in each.points_to or each.clears:
            told[part] |= {
                where
                for cause in causes
                if names(part, cause, wording)
                for where in (cause.location, cause.position)
                if where
            }
    return {part: " ".join(sorted(where)) for part, where in told.items()}


def _by_readings(
    step: Step, saw: str, general: GeneralTest | None, vehicle: Vehicle, wording: Wording
) -> list[Branch]:
    """Return the outcomes of what was read, in all or in one clause."""
    whole = _by_reading(step, saw, general, vehicle, wording)
    if len(whole) == 1:
        return whole
    found: list[Branch] = []
    for part in filter(_NUMBER.search, _CLAUSES.split(saw)):
        read = _by_reading(step, part, general, vehicle, wording)
        found += [each for each in read if each not in found]
    return found or whole


def _by_reading(
    step: Step, saw: str, general: GeneralTest | None, vehicle: Vehicle, wording: Wording
) -> list[Branch]:
    """Return the outcomes for whose part a value read is a fault by the trade's limits.

    Of which part a fault is that no part is named with, nobody knows: then it may be any.
    """
    reading = _reading_in(saw, general)
    if reading is None:
        return []
    branches = [each for each in step.branches if len(each.points_to) == 1]
    parts = [each.points_to[0] for each in branches]
    told = parts_named(parts, saw, wording)
    if is_faulty(_of_all_ways(reading), vehicle, wording):
        if told.parts:
            return [branches[each] for each in told.parts]
        faults = {
            " ".join(wording.tokens(_part_of(fault)))
            for told in speak_for([_of_all_ways(reading)], vehicle, wording)
            for fault in told
        }
        of_faults = [
            each
            for each, part in zip(branches, parts, strict=True)
            if " ".join(wording.tokens(part)) in faults
        ]
        return of_faults or list(step.branches)
    if told.parts or told.another:
        return []
    of_part = (replace(reading, item=f"{part.partition(',')[0]} {reading.item}") for part in parts)
    faulty = [
        each
        for each, one in zip(branches, of_part, strict=True)
        if is_faulty(one, vehicle, wording)
    ]
    return list(step.branches) if faulty and general and general.reads else faulty


def _reading_in(saw: str, general: GeneralTest | None) -> Reading | None:
    """Return the one reading of a clause: of what the test reads, else of what it names."""
    if general and general.reads:
        with suppress(KbError):
            return parse_reading(f"{general.reads} {saw}")
        return None
    found = find_readings(saw).readings
    return found[0] if len(found) == 1 and found[0].item else None


def _of_all_ways(reading: Reading) -> Reading:
    """Return a reading whose item is all that was told of the way it was read along."""
    words = (reading.item, reading.position, reading.condition)
    return replace(reading, item=" ".join(filter(None, words)))


def _part_of(fault: str) -> str:
    """Return the part of a fault as the limits name it, its way of failing left off."""
    mode = next((mode for mode in FailureMode if fault.endswith(f" {mode}")), "")
    return fault.removesuffix(f" {mode}")
