"""The next step of an open job: suspects after what was seen, and the best things to do now.

Chances start from the ranking of the complaint as it stood before any test, and are moved by the
job's tests and failed fixes by Bayes. What may hurt is locked until its precondition is confirmed;
on a circuit with an igniter only the trade's tests that are fit for it are proposed.
"""

from collections.abc import Callable, Collection, Container, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import islice

from kb.case import (
    Action,
    Attempt,
    Cause,
    Complaint,
    DiagnosticTest,
    FailureMode,
    Job,
    LinkKind,
    Precondition,
    System,
)
from kb.intake.swaps import told_by_swap
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.attempts import cure_of, in_vain, was_tried_after
from kb.troubleshooting.circuit import Chain, chain_of, is_within, kind_of, names
from kb.troubleshooting.decision import (
    Choice,
    Kind,
    Problem,
    Test,
    choices,
    information,
    repair_order,
)
from kb.troubleshooting.fitting import (
    ESCAPING_FUEL,
    INSULATION,
    NO_TROUBLE,
    cautions_there,
    how_at,
    is_of,
    lacks,
    leading_tests,
    leads,
    signs_of,
)
from kb.troubleshooting.found import read_with_words, signs_found, unmended
from kb.troubleshooting.general_tests import GeneralTest, Leaves, general_tests
from kb.troubleshooting.guard import Guard
from kb.troubleshooting.locks import NOBODY, Presence, unconfirmed
from kb.troubleshooting.loops import loops_told
from kb.troubleshooting.possible_outcomes import FAULT_ELSEWHERE, PossibleOutcome
from kb.troubleshooting.proof import twin_of
from kb.troubleshooting.read_beforehand import with_tests_read
from kb.troubleshooting.remedies import Key, Remedy, TriedFix, after_fixes, remedies_for
from kb.troubleshooting.settling import WhatSettles
from kb.troubleshooting.starts import first_tests
from kb.troubleshooting.suspicion import (
    Prior,
    recorded_tests,
    suspected,
    without_worthless,
    worthless_tests,
)
from kb.troubleshooting.testing import (
    Candidate,
    TestedCase,
    candidates,
    key_of,
    kin_of,
    pasts,
    updated,
)

BEST = 3
"""How many steps are proposed: as many as somebody at the car weighs at once."""
LIKELY_ENOUGH = 0.5
"""What a test spoke for comes before what is cheap if it has this share of the likeliest suspect's
chance: it lost its chance where its fix was tried in vain (by judgement)."""
UNKNOWN = 0.5
"""From this chance that it is none of the suspects on, tests come before fixes, and those that fit
the trouble whatever is suspected are among them."""
NEARLY_SURE = 0.9
"""A fix that cures less likely than this waits for a test that proves the part in no more time than
the fix takes: the swap with its like, the feed read at its plug (by judgement)."""
LIKELY_TO_CURE = 0.5
"""A fix that cures less likely than this comes behind the tests, however much less time it takes
than all of them: nobody renews a part against the odds while something can be tested (by
judgement)."""
LEAST_TOLD = 0.02
"""A test that tells fewer bits of which cause it is decides nothing (by judgement)."""
LEAST_MENDED = 0.05
"""A fix that cures less likely than this is not among the few best steps beside others (by
judgement)."""
LONGER = 1.5
"""A test that takes so many times as long as one behind it says why it comes first (by
judgement)."""
_AFRESH = ""
"""Stands among the steps for thinking the job through from the start."""
_NO_FIXES: Mapping[Key, Sequence[TriedFix]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """One possible cause: its chance before any test and now, and the link it lies in.

    `cases` are all past jobs that had it, `jobs` those of them that spoke for it.
    """

    cause: Cause
    cases: int
    before: float
    chance: float
    link: str | None
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkState:
    """One link of the circuit, with the chance that the fault lies in it."""

    name: str
    kind: LinkKind
    shorting_bars: bool
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """One outcome of a step, its chance, and what it would leave.

    Attributes
    ----------
    leaves : tuple of (Cause, float)
        Suspects with their chances then, the likeliest first.
    then : str or None
        What would be best after it.
    points_to, clears : tuple of str
        Suspects the test would be recorded as speaking for and against.
    by_one_case : bool
        Whether it is foretold by suspects alone that were proved but once: then its chance is none
        to be acted on.
    """

    seen: str
    chance: float
    leaves: tuple[tuple[Cause, float], ...]
    then: str | None
    points_to: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    past: tuple[int, ...] = ()
    by_one_case: bool = False


class StepReason(StrEnum):
    """Why a step comes before the one behind it."""

    LOOK = "on the restraints a look comes before anything else"
    LEADS = "such trouble calls for it before anything else"
    CALLED_FOR = "likelier none of the suspects, and such trouble calls for it"
    NO_SUSPECT = "nothing is suspected yet, and such trouble is begun with so"
    FEW_CASES = "a test before a part, as too little speaks for one yet"
    PROVES = "it may prove the part, and takes no longer than the fix"
    SPOKEN_FOR = "a test speaks for its part"
    TELLS = "of what is left it settles and tells most for its time"
    QUICKEST = "of the fixes left it promises the least work"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do next.

    Attributes
    ----------
    minutes : float
        What it takes; `minutes_known` jobs of the shop told it, 0 if it is the table's.
    minutes_left : float
        Expected work to a proven repair if it is done now.
    why : StepReason
        Why it comes before the next.
    locks : tuple of Precondition
        What must be confirmed before it.
    spoke_for, heard : int
        Of so many past tests on these causes that said something of the true one, so many
        spoke for it.
    settled, like : int
        Of so many tested jobs like this one, so many were settled by it.
    longer : bool
        Whether a test behind it, put there as it settles and tells less, is much the quicker.
    cures : float or None
        For a fix, the chance that it cures now.
    """

    kind: Kind
    title: str
    how: str | None
    minutes: float
    minutes_known: int
    minutes_left: float
    why: StepReason
    locks: tuple[Precondition, ...]
    cautions: tuple[str, ...]
    branches: tuple[Branch, ...]
    spoke_for: int = 0
    heard: int = 0
    settled: int = 0
    like: int = 0
    longer: bool = False
    cures: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Where an open job stands.

    Attributes
    ----------
    none_of_them : float
        Chance that it is none of the suspects; with theirs it makes one.
    unlikely : tuple of (Cause, float)
        Causes that were asked about and are no suspects, after what was tested and tried: beside
        one another, and not beside the suspects.
    steps : tuple of Step
        Best first.
    afresh : bool
        Whether thinking the job through from the start is worth more than any of them.
    minutes_left : float
        Expected work to a proven repair with the best of them.
    by_fixes_alone : float
        The same if nothing were tested.
    worthless : tuple of (str, str)
        Tests on record that prove nothing, and the connector whose shorting bars are why.
    systems : tuple of System
        Whose cautions belong before the steps, judged by words as well.
    """

    suspects: tuple[Suspect, ...]
    none_of_them: float
    unlikely: tuple[tuple[Cause, float], ...]
    circuit: tuple[LinkState, ...]
    circuit_told: bool
    steps: tuple[Step, ...]
    afresh: bool
    minutes_left: float
    by_fixes_alone: float
    worthless: tuple[tuple[str, str], ...]
    systems: tuple[System, ...]


def advise(
    job: Job,
    priors: Sequence[Prior],
    history: Iterable[TestedCase],
    wording: Wording,
    settings: TroubleshootingSettings,
    *,
    systems: Sequence[System] = (),
    fixes: Mapping[Key, Sequence[TriedFix]] = _NO_FIXES,
    presence: Presence = NOBODY,
    before: Sequence[Attempt] = (),
    like: Iterable[TestedCase] = (),
    best: int = BEST,
    wanted: Callable[[str], bool] = lambda _: True,
) -> Advice:
    """Say where an open job stands and what to do next.

    Parameters
    ----------
    job : Job
    priors : sequence of Prior
        Likely causes of its complaint as it stood before any test, likeliest first; what they
        lack of one is the chance of something not seen before.
    history : iterable of TestedCase
        Closed jobs with these causes, from which is learnt what tests say.
    systems : sequence of System
        Whose cautions and locks apply, beside the job's own.
    fixes : mapping of Cause.key to fixes
        What was tried for each cause, best first.
    presence : Presence
        Who stands at the car: whose confirmations open locked steps.
    before : sequence of Attempt
        Fixes of earlier jobs in vain, as the car is back with the same fault.
    like : iterable of TestedCase
        Past jobs that the complaint is like, from which is learnt what settles such a one.
    best : int
        How many steps to propose.
    wanted : callable
        Whether a step of this title is wanted; by default all are.
    """
    job, told_signs = _with_all_tests(job, wording), signs_of(job, wording)
    fixes = {
        key: [each for each in tried if not lacks(each.label, told_signs, wording)]
        for key, tried in fixes.items()
    }
    history = list(history)
    failed = [*before, *in_vain(job)]
    tried = [*failed, *filter(None, [cure_of(job)])]
    told = without_worthless(job, wording, Guard.of(job, (), systems, wording).restraint)
    held, unseen, unlikely = suspected(told, priors, history, tried, fixes, wording, settings)
    causes = [each.cause for each in held]
    guard = Guard.of(job, causes, [*systems, *filter(None, (p.system for p in held))], wording)
    chain = chain_of(causes, job.circuit, wording, loops_told(job, wording))
    signs = _signs_now(job, told_signs, guard)
    on_these = _of_causes(history, {each.cause.key for each in held})
    strange = unseen >= UNKNOWN * (unseen + sum(each.chance for each in held))
    starting = (
        *leading_tests(signs),
        *(guard.looks() if not strange else first_tests(Complaint.of(job), guard.systems, wording)),
    )
    known = candidates(
        *(causes, chain, pasts(on_these), wording, settings, signs, starting),
        own=not guard.restraint,
    )
    worthless = dict(worthless_tests(job, wording, guard.restraint))
    telling = [test for test in job.tests if test.name not in worthless]
    repairs = remedies_for(causes, fixes, guard, wording, settings, failed)
    made = recorded_tests(job, causes, on_these, wording, settings)
    weights = updated([p.chance for p in held] + [unseen], telling, made, causes, wording, settings)
    weights = after_fixes(weights, tried, causes, fixes, wording, settings)
    tests = {
        each.title: each
        for each in known
        if guard.allows(each)
        and (_is_asked_again(each, signs, job) or not _done(each, job))
        and not _is_renewed(each, failed, wording)
    }
    leading = {name: place for place, name in enumerate(tests) if _leads(tests[name], signs)}

    def locks(title: str, candidate: Candidate | None) -> tuple[Precondition, ...]:
        general, parts = (candidate.general, _blamed(candidate)) if candidate else (None, [title])
        needs = guard.needs(general, parts, wording)
        return unconfirmed(needs, title, job, presence, settings.confirmation_hours)

    minutes = {
        name: max(each.minutes, 1.0) + settings.unlock_minutes * bool(locks(name, each))
        for name, each in tests.items()
    }
    problem = Problem(
        weights,
        tuple(each.repair for each in repairs),
        tuple(Test(name, minutes[name], each.likelihoods) for name, each in tests.items()),
        settings.from_scratch + _usual(repairs, [each.repair.cost for each in repairs], weights),
    )
    remedies = {each.repair.name: each for each in repairs}
    settling = WhatSettles.of(causes, on_these, like, wording, settings.settles_pull)
    keys_of = {name: key_of(each.name) for name, each in tests.items()}
    every = choices(problem)
    starts = _starts(tests, starting, signs) if strange else frozenset[str]()
    ranked = [
        choice
        for choice in (
            *settling.in_order(every, keys_of, problem, settings.besides_test),
            *_left_to_lead(leading if held else dict.fromkeys([*leading, *tests]), every, minutes),
        )
        if choice.kind is not Kind.GIVE_UP and wanted(choice.name)
    ]
    spoken_for = _spoken_for(telling, causes, weights, wording)
    behind = {
        each.repair.name
        for each in repairs
        if _is_behind(each, held, weights, spoken_for, settings.few_cases)
    }
    of_no_suspect = {
        each.title
        for each in known
        if each.left_at_best == {len(causes)} and not settling.like.times.get(key_of(each.name))
    }
    ranked.sort(
        key=lambda choice: (
            not guard.comes_first(tests.get(choice.name)),
            leading.get(choice.name, len(tests)),
            choice.name not in starts,
            choice.kind is Kind.REPAIR and (bool(leading) or choice.name in behind),
            bool(held) and choice.name in of_no_suspect and not _is_look(tests.get(choice.name)),
        )
    )
    needed = {choice.name: locks(choice.name, tests.get(choice.name)) for choice in ranked}
    proving = _proved_first(ranked, needed, tests, remedies, weights, spoken_for)
    whys = _whys(ranked, proving, behind) | _put_first(
        *(remedies, spoken_for, starts, () if held else tests, leading),
        [name for name, each in tests.items() if guard.comes_first(each)],
    )
    escaping = unmended(job, signs)
    proving = [
        each
        for each in proving
        if (not escaping or _mends(each, remedies, spoken_for))
        and not _mends_nothing_but(each, remedies, _doubtful_ends(held, weights, spoken_for))
    ]
    few = _worth_proposing(proving, remedies, weights, _tell_nothing(problem, starts))
    afresh = settings.from_scratch + _usual(repairs, [each.minutes for each in repairs], weights)
    minutes |= {name: each.minutes for name, each in remedies.items()} | {_AFRESH: afresh}
    plan = _Plan(
        *(problem, held, minutes, guard, settling, keys_of),
        *(settings.besides_test, wording, tuple(leading), escaping),
    )
    steps = _compared(
        [
            plan.test(
                *(choice, tests[choice.name], locks(choice.name, tests[choice.name])),
                whys[choice.name],
            )
            if choice.kind is Kind.TEST
            else plan.fix(
                *(choice, remedies[choice.name], locks(choice.name, None)), whys[choice.name]
            )
            for choice in (few if best <= BEST else proving)[:best]
        ]
    )
    alone = plan.order_minutes(problem)
    return Advice(
        suspects=_suspects(held, weights, chain),
        none_of_them=weights[-1],
        unlikely=unlikely,
        circuit=_states(chain, weights) if job.circuit else (),
        circuit_told=bool(job.circuit),
        steps=steps,
        afresh=every[0].kind is Kind.GIVE_UP and bool(held) and not escaping,
        minutes_left=steps[0].minutes_left if steps else alone,
        by_fixes_alone=alone,
        worthless=tuple(worthless.items()),
        systems=guard.systems,
    )


def _with_all_tests(job: Job, wording: Wording) -> Job:
    """Return a job with its tests as their words tell them, and those that readings tell of."""
    return with_tests_read(read_with_words(job, wording), signs_of(job, wording), wording)


def _of_causes(history: Iterable[TestedCase], keys: Container[Key]) -> list[TestedCase]:
    return [each for each in history if each.cause is not None and each.cause.key in keys]


def _signs_now(job: Job, told: frozenset[str], guard: Guard) -> frozenset[str]:
    """Return the kinds of trouble that a job still shows.

    Fuel escapes until the search found nothing; insulation is of high voltage alone.
    """
    signs = told | guard.signs()
    if not guard.high_voltage:
        signs -= {INSULATION}
    searches = {each.name: each for each in leading_tests(frozenset([ESCAPING_FUEL]))}
    dry = any(_found_nothing(test, searches.get(key_of(test.name))) for test in job.tests)
    return (signs | signs_found(job)) - ({ESCAPING_FUEL} if dry else frozenset[str]())


def _found_nothing(test: DiagnosticTest, general: GeneralTest | None) -> bool:
    """Whether a test of the table was made and ended as it does where nothing is found."""
    if general is None or test.points_to or test.seen.startswith(FAULT_ELSEWHERE):
        return False
    return bool(test.clears) or test.seen.startswith(general.outcome[-1].seen)


def _leads(candidate: Candidate, signs: frozenset[str]) -> bool:
    return candidate.general is not None and leads(candidate.general, signs)


def _left_to_lead(
    leading: Iterable[str], every: Sequence[Choice], minutes: Mapping[str, float]
) -> list[Choice]:
    """Return the tests that come first and tell no suspects apart.

    They make it safe to go on, or there is no suspect yet.
    """
    known = {each.name for each in every}
    return [
        Choice(Kind.TEST, name, minutes[name] + every[0].expected)
        for name in leading
        if name not in known
    ]


def _is_asked_again(candidate: Candidate, signs: frozenset[str], job: Job) -> bool:
    """Whether a test is made once more after each fix, until it finds nothing.

    That is the search for escaping fuel; what it found stands until something was mended.
    """
    if ESCAPING_FUEL not in signs or not _leads(candidate, signs):
        return False
    made = [test for test in job.tests if key_of(test.name) == key_of(candidate.name)]
    return any(all(was_tried_after(fix, test) for test in made) for fix in job.attempts)


def _starts(
    tests: Mapping[str, Candidate], starting: Sequence[GeneralTest], signs: frozenset[str]
) -> frozenset[str]:
    """Return the tests to start with where it is likelier none of the suspects.

    That is what such trouble calls for, and a look; where it calls for nothing, none.
    """
    found = {
        name: each.general
        for name, each in tests.items()
        if each.general in starting
        or (each.general and not (signs - NO_TROUBLE).isdisjoint(each.general.only_for))
    }
    called_for = any(general and not general.first for general in found.values())
    return frozenset(found) if called_for else frozenset()


def _proved_first(
    ranked: Sequence[Choice],
    needed: Mapping[str, Collection[Precondition]],
    tests: Mapping[str, Candidate],
    remedies: Mapping[str, Remedy],
    weights: Sequence[float],
    spoken_for: AbstractSet[int],
) -> list[Choice]:
    """Put before a fix that is not nearly sure to cure the tests behind it that prove its part.

    Where there is none, and nothing that was tested or stands before speaks for the part, the first
    test that may. Only those that take no longer than it, and nothing locks that does not lock it:
    what is `needed` tells.
    """
    left, found = list(ranked), list[Choice]()
    while left:
        now = left.pop(0)
        if now.kind is Kind.REPAIR:
            remedy = remedies[now.name]
            shares = [
                weight * cure for weight, cure in zip(weights, remedy.repair.cures, strict=True)
            ]
            likeliest = max(range(len(shares)), key=shares.__getitem__)
            quick = [
                each
                for each in left
                if each.name in tests
                and set(needed[each.name]) <= set(needed[now.name])
                and tests[each.name].minutes <= remedy.minutes
            ]
            speaking = likeliest in spoken_for or any(
                each.name in tests and _may_speak_for(tests[each.name], likeliest) for each in found
            )
            before = []
            if sum(shares) < NEARLY_SURE:
                before = [each for each in quick if _proves(tests[each.name], likeliest)]
            if not speaking:
                may = (each for each in quick if _may_speak_for(tests[each.name], likeliest))
                before = before or [*islice(may, 1)]
            found += before
            left = [each for each in left if each not in before]
        found.append(now)
    return found


def _whys(
    ranked: Sequence[Choice], proving: Sequence[Choice], behind: Container[str]
) -> dict[str, StepReason]:
    """Say of each step what puts it before the next, from the order before and with proofs."""
    at = {choice.name: place for place, choice in enumerate(ranked)}

    def why(place: int, choice: Choice) -> StepReason:
        later = proving[place + 1 :]
        if choice.kind is Kind.REPAIR:
            return StepReason.QUICKEST
        if any(at[each.name] < at[choice.name] for each in later):
            return StepReason.PROVES
        return (
            StepReason.FEW_CASES
            if any(each.name in behind for each in later[:1])
            else StepReason.TELLS
        )

    return {choice.name: why(place, choice) for place, choice in enumerate(proving)}


def _compared(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Return steps with whether each takes longer than one behind it."""
    return tuple(
        replace(step, longer=_is_longer(step, steps[place:])) for place, step in enumerate(steps, 1)
    )


def _is_longer(step: Step, behind: Sequence[Step]) -> bool:
    """Whether a test takes much longer than one behind it that was put there by its worth alone."""
    groups = ({StepReason.TELLS, StepReason.FEW_CASES}, {StepReason.CALLED_FOR})
    alike = next((group for group in groups if step.why in group), set[StepReason]())
    return any(
        each.kind is Kind.TEST and each.why in alike and step.minutes >= LONGER * each.minutes
        for each in behind
    )


def _put_first(
    remedies: Mapping[str, Remedy],
    spoken_for: AbstractSet[int],
    starts: Iterable[str],
    bare: Iterable[str],
    leading: Iterable[str],
    looks: Iterable[str],
) -> dict[str, StepReason]:
    """Say of the steps that a rule puts before others which one it was, the strongest last.

    `bare` are the tests where nothing is suspected.
    """
    spoken = {
        name
        for name, each in remedies.items()
        if any(each.repair.cures[place] for place in spoken_for)
    }
    return (
        dict.fromkeys(spoken, StepReason.SPOKEN_FOR)
        | dict.fromkeys(starts, StepReason.CALLED_FOR)
        | dict.fromkeys(bare, StepReason.NO_SUSPECT)
        | dict.fromkeys(leading, StepReason.LEADS)
        | dict.fromkeys(looks, StepReason.LOOK)
    )


def _mends(choice: Choice, remedies: Mapping[str, Remedy], spoken_for: AbstractSet[int]) -> bool:
    """Whether a step mends what a test speaks for."""
    remedy = remedies.get(choice.name)
    return remedy is not None and any(remedy.repair.cures[place] for place in spoken_for)


def _doubtful_ends(
    held: Sequence[Prior], weights: Sequence[float], spoken_for: AbstractSet[int]
) -> frozenset[int]:
    """Return what loops lead to and nothing speaks for: no igniter is renewed against the odds."""
    unlikely = (n for n, each in enumerate(held) if each.end and weights[n] < LIKELY_TO_CURE)
    return frozenset(unlikely) - spoken_for


def _mends_nothing_but(
    choice: Choice, remedies: Mapping[str, Remedy], suspects: AbstractSet[int]
) -> bool:
    remedy = remedies.get(choice.name)
    return remedy is not None and {n for n, cure in enumerate(remedy.repair.cures) if cure} <= (
        suspects
    )


def _may_speak_for(candidate: Candidate, suspect: int) -> bool:
    """Whether some outcome of a test finds something at the part of a suspect."""
    return any(each.points_to and suspect in each.left for each in candidate.outcomes)


def _proves(candidate: Candidate, suspect: int) -> bool:
    """Whether a test proves the part of a suspect before it is renewed, or that it is fed."""
    general = candidate.general
    if general is None or not general.proves:
        return False
    if any(each.leaves is Leaves.FED_HERE for each in general.outcome):
        return any(suspect not in each.left for each in candidate.outcomes)
    return suspect in candidate.left_at_best


def _tell_nothing(problem: Problem, starts: AbstractSet[str]) -> frozenset[str]:
    """Return the tests after which, whatever is seen, next to the same is suspected as before.

    None of the `starts`, nor any where it is likelier none of the suspects: there nearly
    all is as it was until something is found.
    """
    if problem.weights[-1] >= UNKNOWN * sum(problem.weights):
        return frozenset()
    told = ((test.name, information(problem.weights, test)) for test in problem.tests)
    return frozenset(name for name, bits in told if bits < LEAST_TOLD and name not in starts)


def _worth_proposing(
    ranked: Sequence[Choice],
    remedies: Mapping[str, Remedy],
    weights: Sequence[float],
    tell_nothing: AbstractSet[str],
) -> list[Choice]:
    """Leave out fixes that hardly cure and tests that tell nothing, where there is aught else."""

    def cures(name: str) -> float:
        cured = remedies[name].repair.cures
        return sum(weight * cure for weight, cure in zip(weights, cured, strict=True))

    kept = [
        each
        for each in ranked
        if each.name not in tell_nothing
        and (each.kind is not Kind.REPAIR or cures(each.name) >= LEAST_MENDED)
    ]
    return kept or list(ranked[:1])


def _done(candidate: Candidate, job: Job) -> bool:
    general = candidate.general
    if general and general.compares and any(twin_of(each, job.readings) for each in job.readings):
        return True  # both sides were read, and the ranking knows
    place = (candidate.place or "").casefold()
    if place and key_of(candidate.name) == key_of("swap"):
        swapped = (told_by_swap(test.name, test.seen) for test in job.tests)
        if any(place.endswith(part) for told in swapped for parts in told for part in parts):
            return True
    return any(
        key_of(test.name) == key_of(candidate.name) and test.name.casefold().endswith(place)
        for test in job.tests
    )


def _is_renewed(candidate: Candidate, failed: Iterable[Attempt], wording: Wording) -> bool:
    """Whether a test tells of nothing but a plug or a wire that was replaced in vain."""
    general, place = candidate.general, candidate.place
    if general is None or place is None or kind_of(place, wording) is LinkKind.COMPONENT:
        return False
    alone = all(each.leaves in (Leaves.HERE, Leaves.ELSEWHERE) for each in general.outcome)
    return alone and any(
        each.action is Action.REPLACED and is_within(place, each.component, wording)
        for each in failed
    )


def _is_look(candidate: Candidate | None) -> bool:
    return candidate is not None and candidate.general is not None and candidate.general.first


def _cases_behind(remedy: Remedy, held: Sequence[Prior], weights: Sequence[float]) -> int:
    """Return how often what a fix would mostly cure was proved; 0 if that is no past case's."""
    cures = remedy.repair.cures
    likeliest = max(range(len(held)), key=lambda n: weights[n] * cures[n], default=None)
    return 0 if likeliest is None else held[likeliest].cases


def _spoken_for(
    done: Sequence[DiagnosticTest],
    causes: Sequence[Cause],
    weights: Sequence[float],
    wording: Wording,
) -> frozenset[int]:
    """Return the suspects that a test plainly speaks for: none against, and they are likely now."""
    plainly = [test for test in done if not _may_be_the_feed(test)]
    pointed = [
        place
        for place, cause in enumerate(causes)
        if any(names(each, cause, wording) for test in plainly for each in test.points_to)
        and not any(names(each, cause, wording) for test in done for each in test.clears)
    ]
    likely = LIKELY_ENOUGH * max(weights[: len(causes)], default=0.0)
    return frozenset(place for place in pointed if weights[place] >= likely)


def _may_be_the_feed(test: DiagnosticTest) -> bool:
    """Whether what a test finds at a part may as well be what feeds it."""
    return any(
        each.leaves is Leaves.HERE_OR_ITS_FEED
        for general in general_tests().test
        if general.name == key_of(test.name)
        for each in general.outcome
    )


def _is_behind(
    remedy: Remedy,
    held: Sequence[Prior],
    weights: Sequence[float],
    spoken_for: frozenset[int],
    few: int,
) -> bool:
    """Whether other steps come before a fix, however cheap it is.

    It is for no suspect that a test speaks for, while it does for others; or, where none is, it
    is likelier none of the suspects, it hardly cures, or what it would mostly cure was proved on
    few jobs.
    """
    if spoken_for:
        return not any(remedy.repair.cures[place] for place in spoken_for)
    cured = sum(w * c for w, c in zip(weights, remedy.repair.cures, strict=True))
    unlikely = weights[-1] >= UNKNOWN or cured < LIKELY_TO_CURE * sum(weights)
    return unlikely or 1 <= _cases_behind(remedy, held, weights) <= few


def _usual(repairs: Sequence[Remedy], values: Sequence[float], weights: Sequence[float]) -> float:
    """Mean of a value of the repairs, each counted by the chance that it cures."""
    chances = [
        sum(weight * cure for weight, cure in zip(weights, each.repair.cures, strict=True))
        for each in repairs
    ]
    total = sum(chances)
    return sum(v * c for v, c in zip(values, chances, strict=True)) / total if total else 0.0


def _is_of_insulation(general: GeneralTest) -> bool:
    """Whether a test reads what leaks to the body from parts that are dead: no medium gets out."""
    return Precondition.HIGH_VOLTAGE_OFF in general.needs


def _blamed(candidate: Candidate) -> list[str]:
    """Return the parts that a test may speak for."""
    return [part for each in candidate.outcomes for part in each.points_to]


@dataclass(frozen=True, slots=True)
class _Plan:
    """What is to be decided, and the minutes of whatever may be done, by name.

    `keys` are the names that tests are one under, `besides` the minutes that a job takes beside its
    test; `escaping` are the tests whose cautions hold until what they found is mended.
    """

    problem: Problem
    held: Sequence[Prior]
    minutes: Mapping[str, float]
    guard: Guard
    settling: WhatSettles
    keys: Mapping[str, str]
    besides: float
    wording: Wording
    leading: tuple[str, ...]
    escaping: tuple[GeneralTest, ...]

    def test(
        self, choice: Choice, candidate: Candidate, locks: tuple[Precondition, ...], why: StepReason
    ) -> Step:
        """Lay out a test as the next step."""
        test = next(each for each in self.problem.tests if each.name == choice.name)
        after = [self.problem.seen(test, k) for k in range(len(test.outcomes))]
        return Step(
            kind=Kind.TEST,
            title=candidate.title,
            how=self._how(candidate),
            minutes=candidate.minutes,
            minutes_known=candidate.own_minutes,
            minutes_left=test.cost + sum(map(self._best_minutes, after)),
            why=why,
            locks=locks,
            cautions=self._cautions(candidate),
            branches=tuple(
                self._branch(outcome, left, choice.name)
                for outcome, left in zip(candidate.outcomes, after, strict=True)
            ),
            spoke_for=candidate.said.spoke_for,
            heard=candidate.said.spoke_for + candidate.said.against,
            settled=self.settling.like.times.get(key_of(candidate.name), 0),
            like=self.settling.like.jobs,
        )

    def _how(self, candidate: Candidate) -> str | None:
        """Return what to do; of a test of the shop's own what its like is, or where it was made."""
        at = _blamed(candidate)
        like = self._like(candidate)
        if like:
            return how_at(like[0], at, self.wording)
        made = [each.job for outcome in candidate.outcomes for each in outcome.past if each.job]
        return f"As it was made on #{max(made)}: kb job show {max(made)}" if made else None

    def _like(self, candidate: Candidate) -> tuple[GeneralTest, ...]:
        """Return the test of the trade that it is, or those of its name for what it speaks for.

        A *pressure test* of the fuel is none of the cooling system.
        """
        if candidate.general is not None:
            return (candidate.general,)
        at = _blamed(candidate)
        return tuple(test for test in kin_of(candidate.title) if is_of(test, at, self.wording))

    def _cautions(self, candidate: Candidate) -> tuple[str, ...]:
        """Return the cautions on a test: its own, and where it looks for a leak the suspects'.

        Of one that the trade does not know, those of its words and of the parts it speaks for.
        """
        general = candidate.general
        if general is None:
            blamed = _blamed(candidate)
            found = self.guard.cautions_on_own(candidate.title, blamed, self.wording)
            like = (
                line
                for test in self._like(candidate)
                for line in (*cautions_there(test, blamed, self.wording), *test.cautions)
            )
            return tuple(dict.fromkeys((*found, *like)))
        leak = FailureMode.LEAKING in general.shows and not _is_of_insulation(general)
        held = [each.cause.component for each in self.held if leak]
        return (
            *self.guard.cautions_at(held, self.wording),
            *cautions_there(general, _blamed(candidate), self.wording),
            *self.guard.cautions_of(general),
        )

    def fix(
        self, choice: Choice, remedy: Remedy, locks: tuple[Precondition, ...], why: StepReason
    ) -> Step:
        """Lay out a fix as the next step."""
        failed = self.problem.failed(remedy.repair)
        cured = 1 - sum(failed.weights)
        outcome = PossibleOutcome(seen="it is not", left=frozenset())
        not_cured = self._branch(outcome, failed, choice.name)
        return Step(
            kind=Kind.REPAIR,
            title=choice.name,
            how=None,
            minutes=remedy.minutes,
            minutes_known=remedy.tried,
            minutes_left=remedy.minutes + self._best_minutes(failed),
            why=why,
            locks=locks,
            cautions=tuple(
                dict.fromkeys(
                    (
                        *(caution for each in self.escaping for caution in each.cautions),
                        *self.guard.cautions_on_fix(choice.name, self.wording),
                    )
                )
            ),
            branches=(
                Branch(
                    seen="it is cured",
                    chance=cured,
                    leaves=(),
                    then="prove it, and close the job",
                    by_one_case=_cases_behind(remedy, self.held, self.problem.weights) == 1,
                ),
                replace(not_cured, chance=1 - cured),
            ),
            cures=cured,
        )

    def order_minutes(self, problem: Problem) -> float:
        """Expected minutes of the repairs in their order, and of what follows them."""
        total = 0.0
        for repair in repair_order(problem):
            total += sum(problem.weights) * self.minutes[repair.name]
            problem = problem.failed(repair)
        return total + sum(problem.weights) * self.minutes[_AFRESH]

    def _best_minutes(self, problem: Problem) -> float:
        """Expected minutes when the best by one step is done, then repairs in order."""
        best = choices(problem, 1)[0]
        for test in problem.tests:
            if best.kind is Kind.TEST and test.name == best.name:
                after = (problem.seen(test, k) for k in range(len(test.outcomes)))
                now = sum(problem.weights) * self.minutes[test.name]
                return now + sum(map(self.order_minutes, after))
        return self.order_minutes(problem)

    def _best(self, problem: Problem) -> Choice:
        """What comes first once a step was done: of tests the one that most likely settles it."""
        ranked = choices(problem, 1)
        return self.settling.in_order(ranked, self.keys, problem, self.besides)[0]

    def _said(self, outcome: PossibleOutcome) -> str:
        """Return an outcome in words that may stand on a page, with its part if that may."""
        at_it = f"it points to {' or '.join(outcome.points_to)}"
        words = (outcome.seen, *([at_it] if outcome.points_to else []))
        return next(filter(self.guard.may_say, words), "as on past jobs")

    def _branch(self, outcome: PossibleOutcome, after: Problem, done: str) -> Branch:
        first = next((name for name in self.leading if name != done), None)
        total = sum(after.weights)
        shares = [weight / total if total else 0.0 for weight in after.weights]
        ranked = sorted(range(len(self.held)), key=lambda place: -shares[place])
        once = {place for place, each in enumerate(self.held) if each.cases == 1}
        return Branch(
            seen=self._said(outcome),
            chance=total,
            leaves=tuple((self.held[place].cause, shares[place]) for place in ranked),
            then=first or self._best(after).name or None,
            points_to=outcome.points_to,
            clears=outcome.clears,
            past=tuple(each.job for each in outcome.past if each.job is not None),
            by_one_case=bool(outcome.left) and outcome.left <= once,
        )


def _suspects(held: Sequence[Prior], weights: Sequence[float], chain: Chain) -> tuple[Suspect, ...]:
    link = {
        cause: chain.links[place].name
        for place, causes in enumerate(chain.suspects)
        for cause in causes
    }
    found = [
        Suspect(
            cause=each.cause,
            cases=each.cases,
            before=weights[place] if each.new else each.chance,
            chance=weights[place],
            link=link.get(place),
            jobs=each.jobs,
        )
        for place, each in enumerate(held)
    ]
    return tuple(sorted(found, key=lambda each: -each.chance))


def _states(chain: Chain, weights: Sequence[float]) -> tuple[LinkState, ...]:
    return tuple(
        LinkState(
            name=link.name,
            kind=link.kind,
            shorting_bars=link.shorting_bars,
            chance=sum(weights[cause] for cause in chain.suspects[place]),
        )
        for place, link in enumerate(chain.links)
    )
