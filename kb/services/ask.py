"""Asking the shop's past for the likely causes, with what fixed them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import chain
from math import exp

from kb.cards.proposed import ProposedCase
from kb.case import Attempt, Cause, Complaint, Job
from kb.diagnosis.causes import CauseChance, Ranking
from kb.diagnosis.diagnose import Diagnosis
from kb.diagnosis.reading_evidence import ReadingEvidence, reading_evidence
from kb.errors import Notice, for_shell
from kb.intake.account import Account
from kb.intake.wording import Wording
from kb.progress import Progress
from kb.rates.fixes import FixRate
from kb.recall.recall import Recalled
from kb.recall.why import drivers, naming_words
from kb.safety.job_words import FIT, JobWords
from kb.services.found_wrong import WrongBefore, wrong_before
from kb.services.indexing import answered_anew, refuse_astray
from kb.services.inquiry import (
    Inquiry,
    InSight,
    Question,
    cautions_for,
    from_other_cars,
    inquire,
    not_kept,
    not_known,
    of_the_store,
)
from kb.services.judge import verdicts_on
from kb.services.kept_rates import CauseRepairs
from kb.services.knowledge import (
    fit_rate,
    repairs_of,
    shop_cards,
    shop_knowledge,
    with_unreviewed,
)
from kb.services.past_jobs import Match, matches
from kb.services.proposed import ProposedFix, fixes_proposed
from kb.services.starting import StartingPoint, starting_point
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork

LEAST_NAMED = 0.15
"""A cause is told to be named from this likeness on, about one word of three in common ..."""
NAMED_OUTRIGHT = 0.4
"""... and from this on even where no past job resembles the complaint: most words in common (both
by judgement)."""
ENOUGH_CASES = 0.5
"""With a cause on fewer than this share of its jobs a shop is told of the others, too, ..."""
MOST_BESIDE = 3
"""... and of so many: what one screen has room for beside the causes (both by judgement)."""
LEAST_TOLD = 0.01
"""A cause that no similar job had is told only from this chance on: what would be printed as 0% or
1% is not worth a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LastProof:
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
    by_subject : float
        How many times likelier it is because it is about what the complaint is about.
    by_said_fine : float
        The same because the complaint says that it is fine: at most 1.
    by_readings : float
        The same because a faulty reading speaks for it: at least 1.
    jobs : tuple of int
        Similar past jobs that had this cause, nearest first.
    all_jobs : int
        Jobs of the store that had it, similar or not, besides the one asked about.
    fixes : tuple of FixRate
        Best first.
    wrong : WrongBefore or None
        Cases of it that came back and proved another cause; they lower its chance.
    came_back : int
        So many of the similar jobs count less, as their cars came back for something alike that
        nobody has judged; those judged are in `wrong`.
    proposed : tuple of int
        Those of `jobs` that are cards which nobody has reviewed: the cause is proposed of them.
    all_proposed : int
        Cards of the store that it is proposed of, similar or not; they count in no fix rate.
    proposed_fixes : tuple of ProposedFix
        What was done on those.
    """

    cause: Cause
    chance: float
    by_jobs: float
    by_model: float | None
    drivers: tuple[str, ...]
    by_name: float
    named_by: tuple[str, ...]
    by_subject: float
    by_said_fine: float
    by_readings: float
    jobs: tuple[int, ...]
    all_jobs: int
    fixes: tuple[FixRate, ...]
    proved: LastProof | None
    wrong: WrongBefore | None
    came_back: int
    proposed: tuple[int, ...]
    all_proposed: int
    proposed_fixes: tuple[ProposedFix, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CausesAnswer:
    """Causes, likeliest first, under the cautions.

    The chances, `other_causes` (those not told), `doubt` (that what is proposed of the cards behind
    them is wrong) and `not_seen_before` sum to one. `cases` are past jobs with a cause, `proposed`
    the cards that nobody has reviewed of which one is proposed. `typed` are the words asked with,
    `account` tells what became of them; `readings` how the readings asked with compare with good
    ones here. `in_vain` are the fixes that did not cure the job asked about while it is open,
    `needless` those that mend what was renewed on it, `came_back` those of earlier jobs, by number,
    that came back as it; `cured_by` the one that did: what is left then is its proof. `start` tells
    where to start where the cause is more likely than not one that was never seen here. `nearest`
    are like jobs without a cause, told where most past jobs have none.
    """

    typed: str
    account: Account
    complaint: Complaint
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    cases: int
    proposed: int
    readings: tuple[ReadingEvidence, ...]
    causes: tuple[LikelyCause, ...]
    other_causes: float
    doubt: float
    not_seen_before: float
    in_vain: tuple[str, ...]
    needless: tuple[str, ...]
    came_back: dict[int, str]
    cured_by: str | None
    start: StartingPoint | None
    nearest: tuple[Match, ...]


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

    def asked(may_be_astray: bool) -> CausesAnswer:
        return _causes(
            address, question, settings, limit=limit, progress=progress, hold=may_be_astray
        )

    return answered_anew(asked, address, settings, progress)


def _causes(
    address: str,
    question: Question,
    settings: Settings,
    *,
    limit: int | None,
    progress: Progress | None,
    hold: bool,
) -> CausesAnswer:
    """Answer with the index as it is; with `hold`, only if what it recalls is as in the store."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        job = _open_job(work, question)
        known = shop_knowledge(work, address, settings, progress)
        known = with_unreviewed(
            known,
            work,
            address,
            settings,
            today=date.today(),
            without=question.job,
            progress=progress,
        )
        cards = known.unreviewed.cases if known.unreviewed else {}
        asked = inquire(work, known, question, as_it_came=job is not None)
        diagnosis = asked.diagnosed()
        ranking, recalled = diagnosis.ranking, diagnosis.recalled
        named = _named_outright(work, recalled)
        vain: tuple[Attempt, ...] = ()
        cure: Attempt | None = None
        before: dict[int, Attempt] = {}
        here_before: list[str] = []
        if job is not None:
            from kb.services.came_as import not_judged  # noqa: PLC0415  open jobs only
            from kb.troubleshooting.attempts import cure_of, in_vain  # noqa: PLC0415

            here_before = not_judged(work, job)

            ranking, before = _as_it_stands(work, address, job, asked, diagnosis)
            vain, cure = in_vain(job), cure_of(job)
        worth_telling = [each for each in ranking.causes if each.jobs or each.chance >= LEAST_TOLD]
        shown = worth_telling[:limit]
        near = work.jobs.get_many(
            {each.number: None for each in recalled.neighbours}
            | {each.example: None for each in shown}
        )
        if hold:
            refuse_astray(known.index, near)
        taken_as = [_as_proposed(job, cards) for job in near]
        cause_of = {job.number: job.cause for job in taken_as if job.cause}
        suspects = _suspects(shown, taken_as, alone=limit is not None)
        behind = {number for each in shown for number in (each.example, *each.jobs)}
        folded = [
            *(job for job in taken_as if job.number in behind),
            *work.jobs.get_many(each.example for each in worth_telling[len(shown) :]),
        ]
        keys = {each.cause: cause_of[each.example].key for each in shown}
        repairs = repairs_of(work, address, keys.values(), settings)
        wrong = wrong_before(work, repairs)
        proving = {
            job.number: job
            for job in work.jobs.get_many(chain(*(each.last_proved for each in repairs.values())))
        }
        optimistic = bool(shown) and work.repairs.only_final_fixes()
        verdicts = verdicts_on(
            work,
            asked.complaint.readings,
            asked.complaint.vehicle,
            asked.known.wording,
            settings,
            job=job,
        )
        own = _own_cause(work, question)
        beside = _beside(work, address, asked, recalled, cards, progress)
    return CausesAnswer(
        typed=asked.typed,
        account=asked.account,
        complaint=asked.complaint,
        cautions=cautions_for(
            asked,
            [*suspects, *(InSight.of_job(each, 1) for each in named), *beside.in_sight],
            folded,
        ),
        notices=(
            *asked.notices,
            *not_known(recalled),
            *(beside.notices or of_the_store(recalled, settings)),
            *not_kept(known),
            *(_had_it(each) for each in named),
            *here_before,
            *from_other_cars(asked, recalled, near),
            *([Notice.FINAL_FIXES_ONLY] if optimistic else []),
        ),
        cases=len(known.index) - (own is not None),
        proposed=len(cards),
        readings=reading_evidence(
            asked.complaint, verdicts, near, asked.known.wording, settings.readings
        ),
        causes=tuple(
            _likely(
                asked,
                diagnosis,
                each,
                cause_of[each.example],
                repairs[keys[each.cause]],
                [proving[number] for number in repairs[keys[each.cause]].last_proved],
                wrong.get(keys[each.cause]),
                cards,
                itself=own == cause_digest(keys[each.cause]),
            )
            for each in shown
        ),
        other_causes=sum(each.chance for each in ranking.causes if each not in shown),
        doubt=ranking.doubt,
        not_seen_before=ranking.not_seen_before,
        in_vain=tuple(FIT.named(each.label) for each in vain),
        needless=_needless(repairs.values(), (*vain, *before.values()), asked.known.wording),
        came_back={number: FIT.named(each.label) for number, each in before.items()},
        cured_by=FIT.named(cure.label) if cure else None,
        start=None if job else starting_point(diagnosis, asked.known.wording),
        nearest=beside.matches,
    )


def _suspects(
    shown: Sequence[CauseChance], near: Sequence[Job], *, alone: bool
) -> Iterator[InSight]:
    """Yield what causes tell of hazards: `alone`, or each with the like jobs that had it."""
    jobs = {job.number: job for job in near}
    for each in shown:
        example = jobs[each.example]
        like = [jobs[number] for number in each.jobs if number in jobs] or [example]
        if alone and example.cause:
            yield InSight.of_suspect(example.cause, like, each.chance)
            continue
        yield InSight.of_job(example, each.chance)
        yield from (InSight.of_job(job) for job in like)


def _as_proposed(job: Job, cards: Mapping[int, ProposedCase]) -> Job:
    """Return a card that nobody has reviewed as the case it may be, any other job as it is."""
    case = cards.get(job.number or 0)
    return case.as_case(job) if case else job


def _open_job(work: UnitOfWork, question: Question) -> Job | None:
    """Return the job asked about while it is open."""
    job = None if question.job is None else work.jobs.get_many([question.job])[0]
    return job if job is not None and job.closed is None else None


def _own_cause(work: UnitOfWork, question: Question) -> str | None:
    """Return the cause of the job asked about, if it has one: it is no past job beside itself."""
    own = [] if question.job is None else work.repairs.of_jobs([question.job])
    return own[0].cause if own else None


def _as_it_stands(
    work: UnitOfWork, address: str, job: Job, asked: Inquiry, diagnosis: Diagnosis
) -> tuple[Ranking, dict[int, Attempt]]:
    """Rank by all that was done on an open job; with the fixes that came back as it."""
    from kb.services.standing import ranked_as_it_stands, standing  # noqa: PLC0415  open jobs only

    known = asked.known
    stands = standing(work, address, job, diagnosis, known.wording, known.settings, best=0)
    return ranked_as_it_stands(diagnosis.ranking, stands), stands.before


@dataclass(frozen=True, slots=True)
class _Beside:
    """Jobs without a cause told beside the causes."""

    notices: tuple[str, ...] = ()
    in_sight: tuple[InSight, ...] = ()
    matches: tuple[Match, ...] = ()


def _beside(
    work: UnitOfWork,
    address: str,
    asked: Inquiry,
    recalled: Recalled,
    proposals: Mapping[int, ProposedCase],
    progress: Progress | None,
) -> _Beside:
    """Return what was done on the nearest jobs without a cause, where most jobs have none."""
    jobs, cases = work.jobs.count() - work.jobs.count_in_state("void"), len(asked.known.index)
    few = asked.known.settings.diagnosis.few_jobs
    if cases >= jobs or cases >= max(few, jobs * ENOUGH_CASES):
        return _Beside()
    cards = replace(asked, known=shop_cards(work, address, asked.known.settings, progress))
    found = [each for each in cards.nearest().neighbours if not each.cause][:MOST_BESIDE]
    near = work.jobs.get_many(each.number for each in found)
    model, wording = cards.known.index.model, cards.known.wording
    few_cases = of_the_store(recalled, asked.known.settings) if cases else ()
    return _Beside(
        notices=(*few_cases, _few_causes(cases, jobs, len(found))),
        in_sight=tuple(
            InSight.of_job(job, each.chance) for each, job in zip(found, near, strict=True)
        ),
        matches=matches(work, asked.complaint, found, near, model, wording, proposals),
    )


def _few_causes(cases: int, jobs: int, shown: int) -> str:
    """Say how few past jobs have a cause, and what stands in place of more.

    Examples
    --------
    >>> _few_causes(0, 1, 1)
    'The only past job has no proved cause; what was done on it stands below.'
    >>> _few_causes(1, 2, 0)
    'Only 1 of 2 past jobs has a proved cause; the other does not resemble this one.'
    """
    if jobs == 1:
        have, other = "The only past job has no", "it"
    elif cases:
        have = f"Only {cases:,} of {jobs:,} past jobs {'has' if cases == 1 else 'have'} a"
        other = "the other" if jobs - cases == 1 else ""
    else:
        have, other = f"None of {jobs:,} past jobs has a", ""
    others = "the others" if cases else "them"
    if other:
        shows, resembles = f"what was done on {other}", f"{other} does not resemble this one"
    else:
        shows = f"what was done on the nearest of {others}"
        resembles = f"none of {others} resembles this one"
    return f"{have} proved cause; {f'{shows} stands below' if shown else resembles}."


def _named_outright(work: UnitOfWork, recalled: Recalled) -> tuple[Job, ...]:
    """Return the job whose cause has the words asked, where no past complaint resembles them."""
    named = max(recalled.named, key=lambda each: each.likeness, default=None)
    if recalled.neighbours or named is None or named.likeness < NAMED_OUTRIGHT:
        return ()
    return (work.jobs.get(named.job),)


def _had_it(job: Job) -> str:
    cause = job.cause and FIT.shown_cause(job.cause)
    label, part = (cause.label, cause.component) if cause else ("", "")
    return (
        f"But #{job.number} proved to have what is named: {label}; "
        f"more is told by: kb fixes {for_shell(part)}"
    )


def _likely(
    asked: Inquiry,
    diagnosis: Diagnosis,
    each: CauseChance,
    cause: Cause,
    known: CauseRepairs,
    proved_on: Sequence[Job],
    wrong: WrongBefore | None,
    cards: Mapping[int, ProposedCase],
    *,
    itself: bool,
) -> LikelyCause:
    judged = wrong.jobs if wrong else ()
    of_cause = [card for card in cards.values() if card.cause.key == cause.key]
    return LikelyCause(
        cause=FIT.shown_cause(replace(cause, position=None, words=None)),
        chance=each.chance,
        by_jobs=each.by_jobs,
        by_model=each.by_model,
        drivers=drivers(diagnosis.query, asked.known.index, asked.known.wording, each.cause)
        if each.by_model is not None
        else (),
        by_name=exp(asked.known.settings.diagnosis.named * each.named),
        named_by=naming_words(asked.complaint, cause, asked.known.index.model, asked.known.wording)
        if each.named >= LEAST_NAMED
        else (),
        by_subject=exp(asked.known.settings.diagnosis.subject * each.at_home),
        by_said_fine=exp(-asked.known.settings.diagnosis.said_fine * each.said_fine),
        by_readings=exp(asked.known.settings.diagnosis.shown * each.shown),
        jobs=each.jobs,
        all_jobs=known.cases - itself,
        fixes=tuple(map(fit_rate, known.rates)),
        proved=newest_proof(proved_on, asked.known.wording),
        wrong=wrong,
        came_back=len(diagnosis.came_back.intersection(each.jobs).difference(judged)),
        proposed=tuple(number for number in each.jobs if number in cards),
        all_proposed=len(of_cause),
        proposed_fixes=fixes_proposed(of_cause, cause.key),
    )


def _needless(
    known: Iterable[CauseRepairs], tried: Sequence[Attempt], wording: Wording
) -> tuple[str, ...]:
    """Return the fixes that are not left to be tried after those that did not cure."""
    if not tried:
        return ()
    from kb.troubleshooting.remedies import is_left  # noqa: PLC0415  open jobs only

    rates = (rate for each in known for rate in each.rates)
    needless = (FIT.named(each.label) for each in rates if not is_left(each.label, tried, wording))
    return tuple(dict.fromkeys(needless))


def newest_proof(jobs: Sequence[Job], wording: Wording) -> LastProof | None:
    """Return the newest proof that may be shown, or that it may not."""
    found = None
    for job in jobs:
        if job.number is None or job.closed is None or job.proved_by is None:
            continue
        text = JobWords.of(job, wording).shown_proof(job.proved_by)
        proof = LastProof(text=text, job=job.number, closed=job.closed)
        if text == job.proved_by:
            return proof
        found = found or proof
    return found
