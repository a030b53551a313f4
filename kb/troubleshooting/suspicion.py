"""Who is suspected on an open job: of what was likely before any test, what is left of it now."""

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from kb.case import Attempt, Cause, FailureMode, Job, Link, System
from kb.intake.systems import guess_system, systems_told
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.circuit import chain_of, names, shorted
from kb.troubleshooting.fitting import DANGEROUS, lacks, signs_of
from kb.troubleshooting.found import found_parts
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.loops import is_off, loops_told
from kb.troubleshooting.remedies import Key, TriedFix, after_fixes
from kb.troubleshooting.testing import Candidate, TestedCase, candidates, key_of, pasts, updated

LEAST_STRANGE = 0.05
"""A part of plainly another system than the job's is no suspect below this chance (by judgement):
a plug of the steering is not looked at for an air conditioning that does not cool."""

LINKS_OF_A_LOOP = 4
"""Unit, harness, plug and what hangs on it: so many parts share what of a loop was not seen before
(by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """One cause as the ranking of the complaint gives it, with the past jobs that spoke for it.

    `cases` are all past jobs that had it, `system` what they are usually about: its cautions and
    locks apply while the cause is suspected. It is `new` where a test found what nobody suspected,
    the `end` where a loop leads to it and no past job tells of it.
    """

    cause: Cause
    chance: float
    jobs: tuple[int, ...] = ()
    cases: int = 0
    system: System | None = None
    new: bool = False
    end: bool = False


def suspected(
    job: Job,
    priors: Sequence[Prior],
    history: Sequence[TestedCase],
    tried: Sequence[Attempt],
    fixes: Mapping[Key, Sequence[TriedFix]],
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[list[Prior], float, tuple[tuple[Cause, float], ...]]:
    """Return the suspects as they were before any test, the chance of anything else, and the rest.

    The rest are causes that were asked about and are no suspects, with their chances now beside
    what was told of none of them.
    """
    known = recorded_tests(job, [each.cause for each in priors], history, wording, settings)
    likely, others = _likeliest_now(job, priors, known, tried, fixes, wording, settings)
    rest = max(1 - sum(each.chance for each in priors), 0.0) + sum(chance for _, chance in others)
    held, unseen = _held_of(job, likely, rest, wording, settings)
    return held, unseen, others


def recorded_tests(
    job: Job,
    causes: Sequence[Cause],
    history: Sequence[TestedCase],
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[Candidate, ...]:
    """Return the tests that were made, as they could be proposed among some suspects.

    What an outcome then says is what it was foretold to say, whatever the trouble shows by now.
    """
    made = frozenset(key_of(test.name) for test in job.tests)
    if not made:
        return ()
    about = loops_told(job, wording)
    chain, starting = chain_of(causes, job.circuit, wording, about), general_tests().test
    return candidates(
        *(causes, chain, pasts(history), wording, settings, signs_of(job, wording)),
        starting=[test for test in starting if test.name in made],
        wanted=made,
    )


def _likeliest_now(
    job: Job,
    priors: Sequence[Prior],
    recorded: Sequence[Candidate],
    tried: Sequence[Attempt],
    fixes: Mapping[Key, Sequence[TriedFix]],
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[list[Prior], tuple[tuple[Cause, float], ...]]:
    """Return the causes worth suspecting after what was tested and tried, as they were told.

    With the others, and their chances beside what was told of none of them.

    """
    causes = [each.cause for each in priors]
    chances = [each.chance for each in priors]
    unseen = max(1 - sum(chances), settings.least_chance)
    untested = after_fixes([*chances, unseen], tried, causes, fixes, wording, settings)
    now = updated([*chances, unseen], job.tests, recorded, causes, wording, settings)
    now = after_fixes(now, tried, causes, fixes, wording, settings)
    ranked = sorted(range(len(priors)), key=lambda place: -now[place])
    signs = signs_of(job, wording)
    about = systems_told(job.complaint, job.codes) | ({job.system} if job.system else set())
    fit = [n for n in ranked if not lacks(causes[n].component, signs, wording)]
    kept = {
        n
        for n in fit[: settings.most_causes]
        if max(now[n], untested[n]) >= settings.least_chance  # what a test clears stays in sight
        and (now[n] >= LEAST_STRANGE or not _is_strange(priors[n], about, wording))
    }
    scale = unseen / now[-1] if now[-1] else 0.0
    others = tuple((causes[n], now[n] * scale) for n in ranked if n not in kept)
    return [priors[n] for n in sorted(kept)], others


def _is_strange(prior: Prior, told: AbstractSet[System], wording: Wording) -> bool:
    """Whether a suspect is a part of plainly another system than its job is told to be about.

    What supplies every system is of none; what may hurt is suspected all the same, for its locks.
    """
    own = guess_system(" ".join(wording.tokens(prior.cause.component)))
    its = {own, prior.system} - {None}
    return bool(told and its) and its.isdisjoint(told | _ANY_SYSTEM | DANGEROUS)


_ANY_SYSTEM = frozenset([System.OTHER, System.BODY_ELECTRICS, System.CHARGING_STARTING])


def _held_of(
    job: Job,
    likely: Sequence[Prior],
    rest: float,
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[list[Prior], float]:
    """Return the suspects, and the chance of anything else.

    They are those of a told circuit; else little of what is on none of the loops that the job is
    about, and what these lead to. What a test found is one of them. Neither need be known here.
    """
    held, unseen = list(likely), max(rest, settings.least_chance)
    if job.circuit:
        held, unseen = _on_circuit(job.circuit, held, unseen, wording, settings)
    else:
        held, unseen = _on_loops(job, held, unseen, wording, settings)
    return _with_new(found_parts(job), held, unseen, wording, settings.in_links, found=True)


def _on_loops(
    job: Job,
    held: Sequence[Prior],
    unseen: float,
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[list[Prior], float]:
    about = loops_told(job, wording)
    known = [
        replace(each, chance=each.chance * settings.off_circuit)
        if is_off(each.cause, about, wording)
        else each
        for each in held
    ]
    total = sum(each.chance for each in known) + unseen
    known = [replace(each, chance=each.chance / total) for each in known]
    ends = (Cause(component=end, failure_mode=FailureMode.UNKNOWN) for end in about.ends)
    share = settings.in_links / LINKS_OF_A_LOOP
    return _with_new(ends, known, unseen / total, wording, share)


def _with_new(
    causes: Iterable[Cause],
    held: Sequence[Prior],
    unseen: float,
    wording: Wording,
    share: float,
    *,
    found: bool = False,
) -> tuple[list[Prior], float]:
    """Suspect as well what nobody had in mind, by a share of the chance of anything else."""
    keys = {each.cause.key for each in held}
    placed = [_where(each, held, wording) for each in causes]
    added = {each.key: each for each in placed if each.key not in keys}
    if not added:
        return list(held), unseen
    each_one = unseen * share / len(added)
    more = [
        Prior(cause=cause, chance=each_one, new=found, end=not found) for cause in added.values()
    ]
    return [*held, *more], unseen * (1 - share)


def _where(cause: Cause, held: Sequence[Prior], wording: Wording) -> Cause:
    """Return a cause with the location that the same part is suspected at, if it is."""
    there = (each.cause.location for each in held if names(cause.component, each.cause, wording))
    return replace(cause, location=next(there, None))


def _on_circuit(
    circuit: Sequence[Link],
    held: Sequence[Prior],
    unseen: float,
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[list[Prior], float]:
    """Suspect every link of a told circuit, be it in a way not seen before, and little else."""
    on_it = chain_of([each.cause for each in held], circuit, wording).on_it
    shares = [1.0 if place in on_it else settings.off_circuit for place in range(len(held))]
    known = [
        replace(each, chance=each.chance * share) for each, share in zip(held, shares, strict=True)
    ]
    each_link = unseen * settings.in_links / len(circuit)
    known += [
        Prior(cause=Cause(component=link.name, failure_mode=FailureMode.UNKNOWN), chance=each_link)
        for link in circuit
    ]
    rest = unseen * (1 - settings.in_links)
    total = sum(each.chance for each in known) + rest
    return [replace(each, chance=each.chance / total) for each in known], rest / total


def without_worthless(job: Job, wording: Wording, restraint: bool) -> Job:
    """Return a job without the tests that tell nothing as they were made."""
    beforehand = dict(worthless_tests(job, wording, restraint))
    return replace(job, tests=tuple(each for each in job.tests if each.name not in beforehand))


def worthless_tests(job: Job, wording: Wording, restraint: bool) -> tuple[tuple[str, str], ...]:
    """Return the tests that tell nothing as they were made, and the connector that is why."""
    found = (
        (test.name, shorted(f"{test.name} {test.seen}", job.circuit, wording, restraint=restraint))
        for test in job.tests
    )
    return tuple((name, link) for name, link in found if link)
