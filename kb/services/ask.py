"""Asking the shop's past: similar jobs, and the likely causes with what fixed them."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import exp

from kb.case import Cause, Complaint, Job, System
from kb.diagnosis.causes import CauseChance, rank
from kb.diagnosis.fixes import FixRate, fix_rates
from kb.diagnosis.showing import Showing, showings
from kb.diagnosis.shrinkage import WiderHistory
from kb.errors import InvalidField, Notice
from kb.intake.codes import facts, parse_code
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import understand
from kb.intake.wording import Wording
from kb.recall.features import Asked
from kb.recall.index import Index
from kb.recall.recall import Neighbour, Part, Recalled, recall
from kb.recall.vehicle import kin
from kb.recall.why import Why, drivers, naming_words, why
from kb.safety import cautions_for, screen, systems_of
from kb.services.fix_history import wider_history
from kb.services.indexing import Progress, current_index, shop_wording
from kb.services.weights import shop_settings
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.mapping import cause_digest
from kb.store.repairs import StoredRepair
from kb.store.unit_of_work import UnitOfWork

MOST_MODELS = 3
"""So many other models are named as the source of what is told of a new one."""
LEAST_NAMED = 0.15
"""A cause is told to be named from this likeness on ..."""
NAMED_OUTRIGHT = 0.4
"""... and from this on even where no past job resembles the complaint."""
LEAST_TOLD = 0.01
"""A cause that no similar job had is told only from this chance on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a technician typed.

    Attributes
    ----------
    job : int or None
        Ask with what a job of the store says, too; it is not recalled itself.
    since : date or None
        Only past jobs opened on or after this day.
    """

    text: str = ""
    codes: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    vehicle: str | None = None
    job: int | None = None
    since: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One similar past job: the chance that it shares its cause, and why it was recalled."""

    number: int
    chance: float
    vehicle: str
    opened: date
    odometer_km: int | None
    complaint: str
    cause: str
    fix: str | None
    proved_by: str | None
    why: Why
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SimilarAnswer:
    """Similar past jobs, nearest first, under the cautions that come before them."""

    complaint: Complaint
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    cases: int
    matches: tuple[Match, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What proved a cause, in the words of the job that had it last."""

    text: str
    job: int
    closed: date


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelyCause:
    """One possible cause.

    Attributes
    ----------
    by_jobs : float
        Its share of the votes of the similar past jobs.
    by_model : float or None
        Its chance by the words and facts of all jobs; None where these have no say.
    drivers : tuple of str
        The words and facts that speak most for it there, strongest first.
    by_name : float
        How many times likelier it is because the complaint names it.
    named_by : tuple of str
        The words that name it; empty where the complaint hardly does.
    jobs : tuple of int
        Similar past jobs that had this cause, nearest first.
    all_jobs : int
        Jobs of the store that had it, similar or not; the fix rates are theirs.
    fixes : tuple of FixRate
        Best first.
    """

    cause: Cause
    chance: float
    by_jobs: float
    by_model: float | None
    drivers: tuple[str, ...]
    by_name: float
    named_by: tuple[str, ...]
    jobs: tuple[int, ...]
    all_jobs: int
    fixes: tuple[FixRate, ...]
    proved: Proof | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CausesAnswer:
    """Causes, likeliest first, under the cautions.

    The chances, `other_causes` (those not told) and `not_seen_before` sum to one.
    `readings` tells how the readings asked with compare with good ones here.
    """

    complaint: Complaint
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    cases: int
    readings: tuple[Showing, ...]
    causes: tuple[LikelyCause, ...]
    other_causes: float
    not_seen_before: float
    horizon_days: int


def similar(
    address: str,
    question: Question,
    settings: Settings,
    *,
    limit: int = 10,
    progress: Progress | None = None,
) -> SimilarAnswer:
    """Find the past jobs most like a complaint.

    Raises
    ------
    KbError
        If the store cannot be opened, or something typed cannot be understood.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        asked = _ask(work, address, question, settings, progress)
        neighbours = asked.recalled.neighbours[:limit]
        jobs = work.jobs.get_many(neighbour.number for neighbour in neighbours)
    return SimilarAnswer(
        complaint=asked.complaint,
        cautions=_cautions(asked.complaint, [*jobs, *asked.named]),
        notices=(*asked.notices, *_from_other_cars(asked, jobs)),
        cases=asked.recalled.cases,
        matches=tuple(
            _match(asked, neighbour, job) for neighbour, job in zip(neighbours, jobs, strict=True)
        ),
    )


def causes(
    address: str,
    question: Question,
    settings: Settings,
    *,
    limit: int | None = None,
    progress: Progress | None = None,
) -> CausesAnswer:
    """Rank the likely causes of a complaint, each with its fixes and what proved it last time.

    Parameters
    ----------
    limit : int, optional
        Look up the fixes of so many causes only; the others are left out.

    Raises
    ------
    KbError
        If the store cannot be opened, or something typed cannot be understood.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        asked = _ask(work, address, question, settings, progress)
        ranking = rank(asked.recalled, asked.settings.diagnosis)
        worth_telling = [each for each in ranking.causes if each.jobs or each.chance >= LEAST_TOLD]
        shown = worth_telling[:limit]
        near = work.jobs.get_many(
            {each.number: None for each in asked.recalled.neighbours}
            | {each.example: None for each in shown}
        )
        cause_of = {job.number: job.cause for job in near if job.cause}
        told = {number for each in shown for number in (each.example, *each.jobs)}
        keys = {each.cause: cause_of[each.example].key for each in shown}
        repairs = work.repairs.of_causes(keys.values())
        history = wider_history(work, address, settings) if shown else None
        optimistic = bool(shown) and work.repairs.only_final_fixes()
    return CausesAnswer(
        complaint=asked.complaint,
        cautions=_cautions(
            asked.complaint, [*(job for job in near if job.number in told), *asked.named]
        ),
        notices=(
            *asked.notices,
            *_from_other_cars(asked, near),
            *([Notice.FINAL_FIXES_ONLY] if optimistic else []),
        ),
        cases=asked.recalled.cases,
        readings=showings(asked.complaint, near, asked.index, asked.wording),
        causes=tuple(
            _likely(
                asked,
                each,
                cause_of[each.example],
                repairs[cause_digest(keys[each.cause])],
                history,
                settings,
            )
            for each in shown
        ),
        other_causes=sum(each.chance for each in ranking.causes if each not in shown),
        not_seen_before=ranking.not_seen_before,
        horizon_days=settings.diagnosis.horizon_days,
    )


@dataclass(frozen=True, slots=True)
class _Asked:
    question: Asked
    notices: tuple[str, ...]
    recalled: Recalled
    index: Index
    wording: Wording
    settings: Settings
    named: tuple[Job, ...]

    @property
    def complaint(self) -> Complaint:
        return self.question.complaint


def _ask(
    work: UnitOfWork,
    address: str,
    question: Question,
    settings: Settings,
    progress: Progress | None,
) -> _Asked:
    wording = shop_wording(work)
    settings = shop_settings(work, address, settings)
    complaint, notices = _understood(work, question, wording)
    index = current_index(work, address, wording, settings, progress)
    asked = Asked(
        complaint=complaint,
        on=date.today() if question.job is None else work.jobs.get(question.job).opened,
        kin=kin(complaint.vehicle, work.models.all()),
    )
    recalled = recall(
        asked,
        index,
        wording,
        settings.recall,
        since=question.since,
        without=[] if question.job is None else [question.job],
    )
    named = _named_outright(work, recalled)
    said = (
        *notices,
        *_not_known(recalled),
        *_of_the_store(recalled, settings),
        *([] if index.kept else [Notice.INDEX_NOT_KEPT]),
        *(_had_it(job) for job in named),
    )
    return _Asked(asked, said, recalled, index, wording, settings, named)


def _understood(
    work: UnitOfWork, question: Question, wording: Wording
) -> tuple[Complaint, tuple[str, ...]]:
    """Turn what was typed, and the job it belongs to, into one complaint."""
    known = Complaint() if question.job is None else Complaint.so_far(work.jobs.get(question.job))
    understood = understand(
        question.text,
        codes=tuple(parse_code(text) for text in question.codes),
        readings=tuple(parse_reading(text) for text in question.readings),
        vehicle=question.vehicle,
        vehicles=work.jobs.vehicles() if question.vehicle else (),
        models=work.models.all() if question.vehicle else (),
        wording=wording,
    )
    now = understood.complaint
    complaint = replace(
        now,
        text="\n".join(filter(None, (known.text, now.text))),
        codes=(*known.codes, *now.codes),
        readings=(*known.readings, *now.readings),
        vehicle=now.vehicle if question.vehicle else known.vehicle,
        conditions=now.conditions or known.conditions,
        system=known.system or now.system,
        tests=known.tests,
    )
    if not (complaint.text.strip() or complaint.codes or complaint.readings):
        raise InvalidField(
            "complaint", question.text, "says nothing; give words, --code, --reading or --job"
        )
    return complaint, understood.notices


def _not_known(recalled: Recalled) -> tuple[str, ...]:
    """Say which words and codes no past job has, and what is known of them all the same."""
    words = [
        f"No past job says '{typed}'; read as '{known}', too."
        for typed, known in recalled.read_as.items()
    ]
    codes = [f"No past job has {code} ({facts(code).words})." for code in recalled.strange_codes]
    return (*words, *codes) if recalled.cases else ()


def _from_other_cars(asked: _Asked, near: Sequence[Job]) -> tuple[str, ...]:
    """Say plainly that the evidence comes from other cars, and from which, for a new model."""
    vehicle = asked.complaint.vehicle
    if not (asked.recalled.new_model and near):
        return ()
    makes = Counter(
        " ".join(filter(None, (job.vehicle.make, job.vehicle.model))) or "unknown" for job in near
    )
    named = [f"{label} {times}" for label, times in makes.most_common(MOST_MODELS)]
    others = len(makes) - len(named)
    more = f" and {others} other models" if others > 1 else " and one other model" if others else ""
    platform = {same.model for same in asked.question.kin if same.model}
    shared = f" {', '.join(sorted(platform))} on the same platform." if platform else ""
    return (
        f"The shop never had a {vehicle.model}: this comes from like jobs on other cars "
        f"({', '.join(named)}{more}), so the chances are lower.{shared}",
    )


def _of_the_store(recalled: Recalled, settings: Settings) -> tuple[str, ...]:
    if not recalled.cases:
        return (Notice.EMPTY_STORE,)
    if not recalled.neighbours:
        return (Notice.NOTHING_SIMILAR,)
    if recalled.cases < settings.diagnosis.few_jobs:
        return (Notice.FEW_JOBS,)
    return ()


def _named_outright(work: UnitOfWork, recalled: Recalled) -> tuple[Job, ...]:
    """Return the job whose cause has the words asked, where no past complaint resembles them."""
    named = max(recalled.named, key=lambda each: each.likeness, default=None)
    if recalled.neighbours or named is None or named.likeness < NAMED_OUTRIGHT:
        return ()
    return (work.jobs.get(named.job),)


def _had_it(job: Job) -> str:
    label, part = (job.cause.label, job.cause.component) if job.cause else ("", "")
    return (
        f"But #{job.number} proved to have what is named: {label}; "
        f"'kb fixes \"{part}\"' tells more."
    )


def _cautions(complaint: Complaint, told: Sequence[Job]) -> tuple[str, ...]:
    """Cautions for what was asked and for every job that what is told rests on."""
    systems = [complaint.system, *(job.system for job in told)]
    return cautions_for(systems_of(complaint.codes, systems))


def _match(asked: _Asked, neighbour: Neighbour, job: Job) -> Match:
    fix = job.attempts[-1].label if job.attempts else None
    return Match(
        number=neighbour.number,
        chance=neighbour.chance,
        vehicle=job.vehicle.label,
        opened=job.opened,
        odometer_km=job.odometer_km,
        complaint=_screened(job, job.complaint),
        cause=job.cause.label if job.cause else "",
        fix=fix and _screened(job, fix),
        proved_by=job.proved_by and _screened(job, job.proved_by),
        why=why(asked.complaint, job, asked.index.model, asked.wording),
        parts=neighbour.parts,
    )


def _likely(
    asked: _Asked,
    each: CauseChance,
    cause: Cause,
    repairs: Sequence[StoredRepair],
    history: WiderHistory | None,
    settings: Settings,
) -> LikelyCause:
    return LikelyCause(
        cause=replace(cause, position=None, words=None),
        chance=each.chance,
        by_jobs=each.by_jobs,
        by_model=each.by_model,
        drivers=drivers(asked.question, asked.index, asked.wording, each.cause)
        if each.by_model is not None
        else (),
        by_name=exp(asked.settings.diagnosis.named * each.named),
        named_by=naming_words(asked.complaint, cause, asked.index.model, asked.wording)
        if each.named >= LEAST_NAMED
        else (),
        jobs=each.jobs,
        all_jobs=len(repairs),
        fixes=fix_rates(repairs, settings.diagnosis, history),
        proved=_proof(repairs),
    )


def _proof(repairs: Sequence[StoredRepair]) -> Proof | None:
    """Return what proved the cause on the job closed last that tells it."""
    told = [each for each in repairs if each.proved_by]
    if not told:
        return None
    last = max(told, key=lambda each: (each.closed, each.number))
    text = screen(last.proved_by or "", restraint=last.system is System.RESTRAINTS)
    return Proof(text=text, job=last.number, closed=last.closed)


def _screened(job: Job, text: str) -> str:
    return screen(text, restraint=job.system is System.RESTRAINTS)
