"""What proves a repair, fitted to the job: what is shown, and what is missing.

Which proofs a system asks for is common practice, no source.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from kb.bands.conditions import exclude, told_of
from kb.bands.judgement import Finding, judge
from kb.bands.limits import Limit, Reach, find_limit, trade_limits
from kb.bands.measured import ends_of
from kb.bands.measured import kind_of as kind_of_reading
from kb.case import (
    Attempt,
    DiagnosticTest,
    Job,
    LinkKind,
    Proof,
    Reading,
    Relation,
    Stage,
    System,
    even,
    same_text,
)
from kb.intake.items import item_key
from kb.intake.outcomes import judge_attempt
from kb.intake.reading_search import find_readings
from kb.intake.told_proofs import told_proofs
from kb.intake.wording import Wording
from kb.settings import ReadingSettings
from kb.troubleshooting.circuit import kind_of
from kb.troubleshooting.fitting import has_word, signs_of
from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.testing import key_of

_DRIVEN = frozenset(System) - {System.RESTRAINTS, System.OTHER}
_SELF_TESTED = frozenset({System.RESTRAINTS, System.BRAKES_WHEEL_SPEED, System.HIGH_VOLTAGE})


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofLine:
    """One proof that the job asks for; `shown` says by what, None that it is missing."""

    proof: Proof
    shown: str | None


def proofs(job: Job, wording: Wording, settings: ReadingSettings) -> tuple[ProofLine, ...]:
    """Say what would prove the repair of a job, and what of it is there.

    A proof is there if somebody said so of the last fix, in its words or in a test behind it, or if
    the readings after the fix show it; nothing else is taken for one.
    """
    told = job.attempts[-1].proofs if job.attempts else ()
    said = _said(job)
    seen = {
        Proof.IN_BAND: _back(job, wording, settings) or _told_back(job, wording),
        Proof.LIKE_TWIN: _like_twin(job, settings),
    }
    wanted = dict.fromkeys((*_wanted(job, wording), *told))
    return tuple(
        ProofLine(
            proof=proof,
            shown=seen.get(proof) or ("told" if proof in told or proof in said else None),
        )
        for proof in wanted
    )


def checks_again(job: Job, wording: Wording) -> tuple[str, ...]:
    """Say what is done once more behind the last fix, and what must then be seen.

    It is every test that found the fault before it, and what such trouble is proved by; where
    neither is known, what the customer complained of is brought on. Empty if all that was done
    since, or there was no fix.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Action, Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="wet carpet after rain",
    ...     attempts=(Attempt(action=Action.REPLACED, component="door membrane", cured=True),))
    >>> checks_again(job, Wording.default())
    ('water test again: all stays dry inside',)
    """
    if not job.attempts:
        return ()
    usual, since = _usual(job, wording), _passed_since(job)
    found = [key_of(test.name) for test in job.tests if test.points_to and not _is_since(test, job)]
    wanted = dict.fromkeys([*usual, *found])
    if not wanted:
        return () if since else ("bring on what was complained of: it stays away",)
    return tuple(_again(name) for name in wanted if name not in since)


def usual_checks(job: Job, wording: Wording) -> tuple[str, ...]:
    """Say what such trouble, or the part that was mended, is proved by, if it was not done since.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Action, Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="a/c does not cool",
    ...     attempts=(Attempt(action=Action.REPLACED, component="condenser", cured=True),))
    >>> usual_checks(job, Wording.default())
    ('leak test again: it holds',)
    """
    since, told = _passed_since(job), _told_proof(job)
    named = {each.name: (each.name, *each.also) for each in general_tests().test}
    return tuple(
        _again(name)
        for name in _usual(job, wording)
        if name not in since and not has_word(told, named[name], wording)
    )


def _told_proof(job: Job) -> str:
    """Return what is told to have proved the cause, and the last fix."""
    return " ".join(filter(None, (job.proved_by, *(each.verified for each in job.attempts[-1:]))))


def _usual(job: Job, wording: Wording) -> list[str]:
    """Return the tests made once more behind the last fix: for such trouble, or at such a part.

    Where no fix is recorded, the part that had failed is what was mended.
    """
    mended = job.attempts[-1].component if job.attempts else job.cause and job.cause.component
    if not mended:
        return []
    signs = signs_of(job, wording)
    return [
        each.name
        for each in general_tests().test
        if each.repeated and (signs.intersection(each.only_for) or _is_at(each, mended, wording))
    ]


def _is_at(test: GeneralTest, mended: str, wording: Wording) -> bool:
    """Whether a part that was mended is proved by a test: one that sees the fault, or of any."""
    of_it = has_word(mended, test.parts, wording) and not has_word(mended, test.never, wording)
    return of_it and (test.sees or not test.only_for)


def _is_since(test: DiagnosticTest, job: Job) -> bool:
    return _is_behind(test, job.attempts[-1])


def _passed_since(job: Job) -> frozenset[str]:
    """Return the tests made behind the last fix that found nothing."""
    made = (test for test in job.tests if job.attempts and _is_since(test, job))
    return frozenset(key_of(test.name) for test in made if not test.points_to)


def _again(name: str) -> str:
    """Say that a test is made once more, and what must then be seen."""
    seen = next((each.outcome[-1].seen for each in general_tests().test if each.name == name), None)
    return f"{name} again: {seen or 'it finds nothing any more'}"


def _said(job: Job) -> Mapping[Proof, str]:
    """Return the proofs that words tell of the last fix, unless it is told not to have cured.

    What is told to have proved the cause tells of those that there are behind a repair alone.
    """
    last = job.attempts[-1] if job.attempts else None
    if last is not None and last.cured is False:
        return {}
    behind = told_proofs(job.proved_by or "").items()
    ends = {proof: words for proof, words in behind if proof in _BEHIND_A_REPAIR}
    if last is None:
        return ends
    passed = [f"{each.name}, {each.seen}" for each in job.tests if _is_passed(each, last)]
    told = [last.words, last.verified, *passed]
    return ends | {
        proof: words
        for each in told
        if each
        for proof, words in told_proofs(each).items()
        if last.cured or judge_attempt(words)
    }


_BEHIND_A_REPAIR = frozenset([Proof.SELF_TEST, Proof.CODE_GONE])
"""Proofs that show nothing of the cause: terminals are checked and cars driven to find it, too."""


def _is_passed(test: DiagnosticTest, fix: Attempt) -> bool:
    """Whether a test was told behind a fix, and to have gone well."""
    return _is_behind(test, fix) and judge_attempt(test.seen) is True


def _is_behind(test: DiagnosticTest, fix: Attempt) -> bool:
    if test.said is None or fix.said is None:
        return False
    return (test.said.entry, test.said.start) > (fix.said.entry, fix.said.start)


def _wanted(job: Job, wording: Wording) -> Iterator[Proof]:
    found = [reading for reading in job.readings if reading.stage is not Stage.AFTER_FIX]
    if found:
        yield Proof.IN_BAND
    if any(twin_of(reading, found) for reading in found):
        yield Proof.LIKE_TWIN
    if job.system in _SELF_TESTED:
        yield Proof.SELF_TEST
    if job.codes:
        yield Proof.CODE_GONE
    if job.system in _DRIVEN:
        yield Proof.DRIVEN
    if job.cause and kind_of(job.cause.component, wording) is LinkKind.CONNECTOR:
        yield Proof.TERMINALS


def _back(job: Job, wording: Wording, settings: ReadingSettings) -> str | None:
    """A reading after the fix that is good, of something that was read before it in such a state.

    It proved good, or the trade's limits say so; of several the last of each decides.
    """
    before, read = _at(job, after=False), set[object]()
    for reading in reversed(_at(job, after=True)):
        place = kind_of_reading(reading, wording), even(reading.position or "")
        alike = [each for each in before if _is_same(each, reading, wording)]
        if place not in read and alike and _is_good(reading, alike[-1], job, wording, settings):
            return f"{reading.place} {reading.typed}"
        read.add(place)
    return None


def _is_same(before: Reading, after: Reading, wording: Wording) -> bool:
    """Whether the same was read twice, in states that do not exclude one another."""
    kinds = kind_of_reading(before, wording), kind_of_reading(after, wording)
    item = item_key(before.item, wording) == item_key(after.item, wording)
    return (
        (kinds[0] == kinds[1] or (item and before.quantity is after.quantity))
        and same_text(before.position or "", after.position or "")
        and not exclude(told_of(before), told_of(after))
    )


def _is_good(
    after: Reading, before: Reading, job: Job, wording: Wording, settings: ReadingSettings
) -> bool:
    """Whether a reading after the fix is good; where it tells no state, it had that of before.

    What only the twin and the model can judge, as an igniter's circuit, must have proved good.
    """
    if after.proved_good is not None:
        return after.proved_good
    told = after if told_of(after) else replace(after, condition=before.condition)
    others = [each for each in _at(job, after=True) if each is not after]
    verdict = judge(
        told, job.vehicle, (), wording, settings, same_car=others, limits=trade_limits()
    )
    is_open = verdict.limit is not None and verdict.limit.reach is not Reach.MAKE
    return verdict.finding is Finding.GOOD and is_open


def _told_back(job: Job, wording: Wording) -> str | None:
    """A reading told as what proved the cause, good by the trade's limit, of what was read before.

    What was proved good is not known of it, so that the limit must say so.
    """
    before = {(item_key(each.item, wording), each.quantity) for each in _at(job, after=False)}
    for reading in find_readings(job.proved_by or "", wording).readings:
        line = find_limit(reading, job.vehicle, trade_limits(), wording).line
        known = (item_key(reading.item, wording), reading.quantity) in before
        if known and line and reading.value is not None and _passes(line, reading):
            return f"{reading.place} {reading.typed}"
    return None


def _passes(line: Limit, reading: Reading) -> bool:
    return all(line.passes(end) for end in ends_of(reading))


def _like_twin(job: Job, settings: ReadingSettings) -> str | None:
    for reading in reversed(_at(job, after=True)):
        twin = twin_of(reading, job.readings)
        if twin is not None and reading.value and twin.value:
            ratio = reading.value / twin.value
            if ratio > 0 and max(ratio, 1 / ratio) <= 1 + settings.twin_ratio:
                return f"{reading.place} {reading.typed}, {twin.position} {twin.typed}"
    return None


def _at(job: Job, *, after: bool) -> list[Reading]:
    return [reading for reading in job.readings if (reading.stage is Stage.AFTER_FIX) is after]


def twin_of(reading: Reading, readings: Sequence[Reading]) -> Reading | None:
    """Return the last reading of the same item at another place, not known to be bad."""
    for other in reversed(readings):
        if (
            same_text(other.item, reading.item)
            and other.position is not None
            and reading.position is not None
            and not same_text(other.position, reading.position)
            and other.quantity is reading.quantity
            and other.relation is reading.relation is Relation.EXACT
            and other.proved_good is not False
        ):
            return other
    return None
