"""Where an open job stands: the chances of its causes by all that was told of it until now.

`kb causes --job`, `kb next-test` and `kb job work` all ask here: what was found and what did not
cure must move their chances alike.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kb.case import Attempt, Cause, Job, System
from kb.diagnosis.causes import CauseChance, Ranking
from kb.diagnosis.diagnose import Diagnosis
from kb.intake.wording import Wording
from kb.rates.fixes import FixRate
from kb.services.came_as import failed_before
from kb.services.deeds import deeds_of, imported
from kb.services.kept_rates import CauseRepairs
from kb.services.knowledge import CauseKey, repairs_of
from kb.settings import Settings, TroubleshootingSettings
from kb.store.history import Change
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.locks import NOBODY, Presence
from kb.troubleshooting.steps import BEST, Advice, advise
from kb.troubleshooting.suspicion import Prior

WIDER = 3
"""So many times as many causes are looked at once something was tested or tried, and so many times
less likely ones (by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobStanding:
    """An open job after its tests and fixes.

    `unlikely` are chances of causes, by their keys, that are no suspects (`Advice.unlikely`).
    `named` are the suspects as the ranking of the complaint has them, `near` the past jobs that
    were asked, `repairs` what the cases of each suspect tell, `fixes`
    what was tried for it where the fault was seen to occur, `systems` what the suspects are usually
    of; `before` are the fixes that came back as this job, by number of the earlier one.
    """

    named: Sequence[tuple[Cause, CauseChance]]
    near: Sequence[Job]
    repairs: Mapping[CauseKey, CauseRepairs]
    fixes: Mapping[CauseKey, Sequence[FixRate]]
    before: dict[int, Attempt]
    unlikely: Mapping[int, float]
    advice: Advice


def standing(
    work: UnitOfWork,
    address: str,
    job: Job,
    diagnosis: Diagnosis,
    wording: Wording,
    settings: Settings,
    *,
    presence: Presence = NOBODY,
    best: int = BEST,
    wanted: Callable[[str], bool] = lambda _: True,
) -> JobStanding:
    """Weigh what was done on a job, and what to do next.

    Parameters
    ----------
    diagnosis : Diagnosis
        Of its complaint as it came in, without tests (`kb.case.Complaint.of`).
    presence, best, wanted
        As `kb.troubleshooting.steps.advise` takes them; the deeds of the job are put in here.
    """
    before = failed_before(work, job)
    kept = _in_question(diagnosis.ranking, settings.troubleshooting, wider=_has_moved(job, before))
    told = {number for each in kept for number in (each.example, *each.jobs)}
    recalled = [each.number for each in diagnosis.recalled.neighbours]
    near = work.jobs.get_many(dict.fromkeys([*recalled, *sorted(told)]))
    named = _named(kept, near)
    keys = [cause.key for cause, _ in named]
    repairs = repairs_of(work, address, keys, settings)
    # Whether a fix cured is a guess where the fault was never seen to occur.
    fixes = {
        key: tuple(rate for rate in each.rates if not rate.never_reproduced)
        for key, each in repairs.items()
    }
    system_of = {each.number: each.system for each in near}
    changes = work.changes.of(job.number) if job.number is not None else []
    advice = advise(
        _given_here(job, changes),
        [
            Prior(
                cause=cause,
                chance=each.chance,
                jobs=each.jobs,
                cases=repairs[cause.key].cases,
                system=_usual_system(each, system_of),
            )
            for cause, each in named
        ],
        work.jobs.tests_of_causes(keys),
        wording,
        settings.troubleshooting,
        fixes=fixes,
        presence=replace(presence, deeds=deeds_of(job, changes)),
        before=tuple(before.values()),
        like=near,
        best=best,
        wanted=wanted,
    )
    suspected = {each.cause.key for each in advice.suspects}
    unlikely = {cause.key: chance for cause, chance in advice.unlikely}
    return JobStanding(
        named=[each for each in named if each[0].key in suspected],
        near=near,
        repairs=repairs,
        fixes=fixes,
        before=before,
        unlikely={each.cause: unlikely[c.key] for c, each in named if c.key in unlikely},
        advice=advice,
    )


def _has_moved(job: Job, before: Mapping[int, Attempt]) -> bool:
    """Whether what was told of a job since it came in may bring other causes into question."""
    return bool(job.tests or job.attempts or job.contacts or before)


def _in_question(
    ranking: Ranking, settings: TroubleshootingSettings, *, wider: bool
) -> list[CauseChance]:
    """Return the causes that may be suspects: more of them where something was tested or tried.

    What was unlikely at first is not when what was likely has been tried in vain.
    """
    most, least = settings.most_causes, settings.least_chance
    if wider:
        most, least = most * WIDER, least / WIDER
    return [each for each in ranking.causes[:most] if each.chance >= least]


def ranked_as_it_stands(ranking: Ranking, stands: JobStanding) -> Ranking:
    """Return the ranking of a complaint with the chances of the job as it stands.

    What is no suspect shares the chance that it is none of them, by what was tried as well; links
    of a told circuit that no past job found faulty are not seen before.
    """
    now: dict[CauseKey, float] = defaultdict(float)
    for suspect in stands.advice.suspects:
        now[suspect.cause.key] += suspect.chance
    suspected = {each.cause: now.pop(cause.key) for cause, each in stands.named}
    rest = {
        each.cause: stands.unlikely.get(each.cause, each.chance)
        for each in ranking.causes
        if each.cause not in suspected
    }
    left = sum(rest.values()) + ranking.not_seen_before
    share = stands.advice.none_of_them / left if left else 0.0
    moved = (
        replace(each, chance=suspected.get(each.cause, rest.get(each.cause, 0.0) * share))
        for each in ranking.causes
    )
    return Ranking(
        causes=tuple(sorted(moved, key=lambda each: -each.chance)),
        not_seen_before=ranking.not_seen_before * share + sum(now.values()),
    )


def _given_here(job: Job, changes: Iterable[Change]) -> Job:
    """Leave out confirmations that nobody gave on this very job: they came with an import."""
    came = imported(job, changes)
    given = enumerate(job.confirmations)
    kept = tuple(each for place, each in given if place not in came)
    return replace(job, confirmations=kept)


def _named(kept: Iterable[CauseChance], near: Iterable[Job]) -> list[tuple[Cause, CauseChance]]:
    """Name the ranked causes as the jobs that spoke for them do."""
    cause_of = {job.number: job.cause for job in near}
    return [(cause, each) for each in kept if (cause := cause_of.get(each.example)) is not None]


def _usual_system(
    each: CauseChance, system_of: Mapping[int | None, System | None]
) -> System | None:
    """Return the system that most jobs which speak for a cause were about.

    One job of another system among many is no hazard of this car: a worn battery that lit the
    airbag lamp once is not behind an airbag.
    """
    numbers = each.jobs or (each.example,)
    return Counter(system_of[number] for number in numbers).most_common(1)[0][0]
