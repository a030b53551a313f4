"""What the tests of an open job have found, told by the trade's table: what leaks, what is good."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from kb.case import Action, Cause, DiagnosticTest, FailureMode, Job
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.troubleshooting.attempts import in_vain, was_tried_after
from kb.troubleshooting.circuit import is_within
from kb.troubleshooting.fitting import leads, longest_word
from kb.troubleshooting.general_tests import GeneralTest, Leaves, general_tests
from kb.troubleshooting.loops import ends_behind, loops_told
from kb.troubleshooting.possible_outcomes import ANOTHER_PART
from kb.troubleshooting.testing import key_of

_DENIED = compiled(r"\b(?:no|not|nor|never|nothing|without|dry|ok|okay|good|fine|sound)\b|\?")
_CLAUSES = compiled(r"[;,.]\s|\bbut\b")


def found_on(job: Job) -> Iterator[tuple[GeneralTest, DiagnosticTest]]:
    """Yield the tests of a job that saw the fault itself at some part, as the table has them."""
    for test in job.tests:
        for general in general_tests().test:
            if general.name == key_of(test.name) and general.sees and test.points_to:
                yield general, test


def signs_found(job: Job) -> frozenset[str]:
    """Return the signs that tests of a job tell of by what they found, as the table names them."""
    return frozenset(general.tells for general, _ in found_on(job) if general.tells)


def unmended(job: Job, signs: frozenset[str]) -> tuple[GeneralTest, ...]:
    """Return the tests that found a leak to be mended first: nothing was mended since."""
    return tuple(
        general
        for general, test in found_on(job)
        if general.finds
        and leads(general, signs)
        and not any(was_tried_after(fix, test) for fix in job.attempts)
    )


def found_parts(job: Job) -> tuple[Cause, ...]:
    """Return the leaks that were found, by their parts: they may be none that was suspected."""
    return tuple(
        Cause(component=part, failure_mode=FailureMode.LEAKING)
        for general, test in found_on(job)
        if general.finds
        for part in test.points_to
        if part != ANOTHER_PART
    )


def read_with_words(job: Job, wording: Wording) -> Job:
    """Return a job with its tests as the words behind their outcomes tell them, and its fixes.

    Another part that a test found is what its words name, else what the test `finds`. All up to a
    plug that read right is good, the plug as well if it was renewed in vain: what its loop leads
    to is left.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> search = DiagnosticTest(name="fuel leak search", points_to=(ANOTHER_PART,),
    ...     seen="fuel comes out, or smells, elsewhere; under the pump flange it drips")
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="smells of petrol",
    ...           tests=(search,))
    >>> [test.points_to for test in read_with_words(job, Wording.default()).tests]
    [('fuel pump flange',)]
    """
    return replace(job, tests=tuple(_read(test, job, wording) for test in job.tests))


def _read(test: DiagnosticTest, job: Job, wording: Wording) -> DiagnosticTest:
    general = next((each for each in general_tests().test if each.name == key_of(test.name)), None)
    if general is None:
        return test
    if ANOTHER_PART in test.points_to and general.finds:
        part = _told_behind(test, general.parts, wording) or general.finds
        medium = general.finds.split()[0]
        whole = part if medium in part.split() else f"{medium} {part}"
        return replace(test, points_to=(whole,))
    plug = test.name.partition(", ")[2]
    if plug and _is_good_up_to(plug, test, general) and _is_renewed_in_vain(plug, job, wording):
        behind = ends_behind(plug, loops_told(job, wording), wording)
        return replace(test, points_to=behind, clears=(*test.clears, plug))
    return test


def _told_behind(test: DiagnosticTest, parts: Iterable[str], wording: Wording) -> str | None:
    """Return the first of some parts that the words behind an outcome name, and do not clear."""
    words = test.seen.partition("; ")[2].casefold()
    told = (each for each in _CLAUSES.split(words) if not _DENIED.search(each))
    return next(filter(None, (longest_word(each, parts, wording) for each in told)), None)


def _is_good_up_to(plug: str, test: DiagnosticTest, general: GeneralTest) -> bool:
    good = (each.seen for each in general.outcome if each.leaves is Leaves.FROM_HERE)
    return any(test.seen.startswith(each.replace("{here}", plug)) for each in good)


def _is_renewed_in_vain(plug: str, job: Job, wording: Wording) -> bool:
    return any(
        fix.action is Action.REPLACED and is_within(plug, fix.component, wording)
        for fix in in_vain(job)
    )
