"""Following up: whom to ask whether a fix held, and recording what was heard."""

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from kb.case import Contact, Job, LaterVisit, Outcome, same_text
from kb.errors import InvalidField
from kb.intake.days import heard_on
from kb.intake.elapsed import dated_by_words, since_when, tells_today, told_when
from kb.intake.wording import Wording
from kb.rates.due import Due, Unheard, due, weighed
from kb.rates.returns import unjudged
from kb.rates.shrinkage import neutral_stages
from kb.recurrence.cars import tell_apart
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.job_words import FIT, JobWords
from kb.services.adding import with_part
from kb.services.advisable import only_advisable, withheld_jobs
from kb.services.contact_doubts import not_before, with_distance_told
from kb.services.drafts import Draft, refuse_void
from kb.services.fix_history import wider_history
from kb.services.indexing import shop_wording
from kb.settings import FollowUpSettings, Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

NOT_REACHED = "not reached"
"""Words of a contact that was tried in vain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """What a car came back with that may have been the same fault, which nobody has judged.

    `job` is the visit's own. Where the comeback was told of an earlier job, though another fix was
    on the car by then, `told_of` is that job; `job` is it, too, unless the comeback has its own.
    The complaint and cause are those of `job`.
    """

    job: int
    on: date
    complaint: str
    cause: str | None
    odometer_km: int | None
    told_of: int | None

    @property
    def visit(self) -> int | None:
        """Number of the visit's own job, if it has one."""
        return None if self.job == self.told_of else self.job


@dataclass(frozen=True, slots=True, kw_only=True)
class ToAsk:
    """One car to ask after.

    `car` is key tag and vehicle; `good_until` the days after the handover on which it was last
    said to be good, 0: never; `seen_until` when it was seen for something else after that.
    `risk` is the chance that the fix has failed unheard, None where nothing is known of it yet;
    `perhaps` other jobs to ask about whose car, without a tag, is likely the same; `untold` whether
    nobody wrote down that it cured;
    `width` what an answer is expected to take off the widths of the fix's rates, in shares; `cases`
    how many the cause has; `weighed` the width times the cases, counted more where `grave`.
    """

    job: int
    car: str
    opened: date
    complaint: str
    cause: str
    fix: str
    closed: date
    days: int
    good_until: int
    seen_until: int
    risk: float | None
    width: float
    cases: int
    grave: bool
    weighed: float
    untold: bool
    perhaps: tuple[int, ...]
    visit: Return | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUps:
    """Fixes to ask after under cautions, the returns that nobody judged first.

    `total` of them there are, `returns` of these are such, and the others are on `on_cars` cars;
    `rested` more were asked after in vain in the last `rest_days`, `past` more left over
    `last_days` ago, and `same_car` more are likely on a car that is listed. `fresh` ones were
    handed over, or heard of, less than `first_days` ago, and of the `needless` an answer would
    change no rate. `cars` are those shown, a car with several fixes as often. Of the `withheld`
    jobs what was left on the car was dangerous, or hid its fault: whether it held counts nowhere.
    """

    cautions: tuple[str, ...]
    total: int
    returns: int
    on_cars: int
    same_car: int
    rested: int
    rest_days: int
    past: int
    last_days: int
    fresh: int
    first_days: int
    needless: int
    horizons_days: tuple[int, ...]
    grave: float
    unheard: Unheard
    withheld: tuple[int, ...]
    cars: tuple[ToAsk, ...]


def follow_ups(address: str, settings: Settings, *, limit: int, today: date) -> FollowUps:
    """List every return that is to be judged, and `limit` of the other cars to ask after."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        history = wider_history(work, address, settings)
        advisable = only_advisable(work.repairs.all())
        calls = due(
            advisable,
            history or neutral_stages(settings.rates.horizons_days),
            settings.rates,
            settings.follow_up,
            today,
            _likely_cars(work, settings),
        )
        returns = sum(each.back is not None for each in calls.cars)
        listed = calls.cars[: returns + limit]
        numbers = dict.fromkeys(number for each in listed for number in _jobs_of(each))
        jobs = dict(zip(numbers, work.jobs.get_many(numbers), strict=True))
        wording = shop_wording(work)
    return FollowUps(
        cautions=cautions_of_list(Situation.of_jobs(jobs.values()), wording),
        total=len(calls.cars),
        returns=returns,
        on_cars=len({each.car for each in calls.cars if each.back is None}),
        same_car=calls.same_car,
        rested=calls.rested,
        rest_days=settings.follow_up.rest_days,
        past=calls.past,
        last_days=settings.follow_up.last_days,
        fresh=calls.fresh,
        first_days=settings.follow_up.first_days,
        needless=calls.needless,
        horizons_days=settings.rates.horizons_days,
        grave=settings.follow_up.grave,
        unheard=calls.unheard,
        withheld=withheld_jobs(advisable),
        cars=tuple(_to_ask(each, jobs, wording, settings.follow_up) for each in listed),
    )


def _likely_cars(work: UnitOfWork, settings: Settings) -> dict[int, Hashable]:
    """Return of which car each case without a key tag or VIN likely is, as `kb recurring` does."""
    numbers = sorted(work.repairs.untagged())
    cars = tell_apart(work.jobs.get_many(numbers), settings.recurrence).of
    return dict(zip(numbers, cars, strict=True))


def _jobs_of(each: Due) -> Iterator[int]:
    yield each.job
    if each.back is not None:
        yield each.back.number


def _to_ask(
    each: Due, jobs: Mapping[int, Job], wording: Wording, settings: FollowUpSettings
) -> ToAsk:
    job = jobs[each.job]
    return ToAsk(
        job=each.job,
        car=FIT.shown_vehicle(job.vehicle).tagged,
        opened=job.opened,
        complaint=JobWords.of(job, wording).named(job.complaint_as_typed),
        cause=FIT.named(job.cause.label) if job.cause else "",
        fix=FIT.named(each.fix),
        closed=job.closed or job.opened,
        days=each.days,
        good_until=each.good_until,
        seen_until=each.seen_until,
        risk=each.risk,
        width=each.width,
        cases=each.cases,
        grave=each.grave,
        weighed=weighed(each, settings),
        untold=each.untold,
        perhaps=each.perhaps,
        visit=_return(each.back, jobs[each.back.number], wording) if each.back else None,
    )


def _return(back: LaterVisit, job: Job, wording: Wording) -> Return:
    return Return(
        job=back.number,
        on=back.opened,
        complaint=JobWords.of(job, wording).named(job.complaint_as_typed),
        cause=FIT.named(job.cause.label) if job.cause else None,
        odometer_km=back.odometer_km,
        told_of=back.told_of,
    )


def heard(
    address: str,
    number: int,
    outcome: Outcome,
    *,
    on: date | None = None,
    odometer_km: int | None = None,
    job: int | None = None,
    words: str | None = None,
    today: date,
) -> Draft:
    """Draft what was heard of a car after a job.

    The day is by default the visit's, else today; `job` is the visit's own, whose odometer is taken
    where none is given, or the earlier one of which a return was told. What is not told of a visit
    was asked today. That of a comeback is the day it came back; where neither `on` nor the words
    tell it, the fix gets no credit for the time since it was last known to hold.

    Raises
    ------
    InvalidField
        If the day lies before the handover or ahead, the odometer ran backwards, or the visit is
        none of this car after it.
    Conflict
        If the job is void.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        refuse_void(base)
        told = _told_of(work, number, job)
        if told is not None:
            job, on = None, on or told.opened
            odometer_km = told.odometer_km if odometer_km is None else odometer_km
        visit = work.jobs.get(job) if job is not None else None
        if visit is not None and outcome is not Outcome.NOT_TOLD:
            on = on or _first_day(visit, base, outcome)
            odometer_km = visit.odometer_km if odometer_km is None else odometer_km
        on = on or heard_on(words or "", today).day
        contact = Contact(
            on=on or today, outcome=outcome, odometer_km=odometer_km, job=job, words=words
        )
        contact = with_distance_told(contact, base)
        _check(base, contact, today)
        unsaid = on is None and _tells_no_day(base, contact, today)
        visits = work.jobs.of_vehicle(base.vehicle) if unsaid else []
        contact = _undated(base, contact, visits, today) if unsaid else contact
        draft = with_part(work, base, contact, today=today)
    named = (
        *_named(visit),
        *_since(visit, contact),
        *_named_earlier(told),
        *_early(base, visit),
        *_another_part(base, visit, outcome),
        *_no_day(contact, unsaid),
    )
    return replace(draft, notices=(*draft.notices, *named))


def _tells_no_day(job: Job, contact: Contact, today: date) -> bool:
    """Whether it is a comeback whose words do not tell when it came back."""
    words, handed_over = contact.words or "", job.closed or today
    if contact.outcome is not Outcome.COMEBACK or tells_today(words):
        return False
    moved = dated_by_words(contact, handed_over, today) != contact
    return not moved and told_when(words, handed_over, today) is None


def _undated(job: Job, contact: Contact, visits: Sequence[Job], today: date) -> Contact:
    """Put a comeback of no known day on the first day on which it can have been."""
    first = not_before(contact, job, visits, today)
    words = f"{contact.words or contact.outcome}; heard of {today}, its day not told"
    return replace(contact, on=max(filter(None, (job.closed or today, first))), words=words)


def _no_day(contact: Contact, unsaid: bool) -> Iterator[str]:
    if unsaid:
        yield (
            f"The day it came back is not told: kept as {contact.on}, the first on which it can "
            "have been. Give it if it is known: --on DAY"
        )


def only_visit(address: str, number: int) -> int | None:
    """Return the one return of a job that is to be judged; None if there is none, or several.

    That is the job that an answer names: the visit's own, or the earlier one it was told of.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        found = {visit.number for visit in _to_judge(work, number)}
    return found.pop() if len(found) == 1 else None


def later_visits(address: str, number: int) -> list[int]:
    """Return the later jobs of a job's car that an answer may name: those to be judged, else all.

    Raises
    ------
    NoSuchJob
        If there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        work.jobs.get(number)
        (visits,) = [each.visits for each in work.repairs.of_jobs([number])] or [()]
        to_judge = {each.number for each in _to_judge(work, number)}
    return sorted(to_judge or {each.number for each in visits})


def _to_judge(work: UnitOfWork, number: int) -> Iterator[LaterVisit]:
    for each in work.repairs.of_jobs([number]):
        yield from unjudged(each)


def _told_of(work: UnitOfWork, number: int, job: int | None) -> LaterVisit | None:
    """Return the first unjudged return that was told of an earlier job and has no job of its own.

    A day is then all that an answer can name it by.
    """
    told = (each for each in _to_judge(work, number) if each.number == job == each.told_of)
    return next(told, None) if job is not None else None


def _check(job: Job, contact: Contact, today: date) -> None:
    """Refuse what cannot have been: a day ahead, an odometer run back, a job that is open."""
    number = job.number
    if job.closed is None:
        raise InvalidField("job", number, f"is open yet; close it first: kb job close {number}")
    if contact.on > today:
        raise InvalidField("contact.on", str(contact.on), "is yet to come; give a day up to today")
    behind = job.odometer_km is not None and contact.odometer_km is not None
    if behind and (contact.odometer_km or 0) < (job.odometer_km or 0):
        raise InvalidField(
            "odometer_km",
            contact.odometer_km,
            f"is less than the {job.odometer_km:,} km of job {number}; look again, leave it out, "
            f"or correct the job: kb job edit {number} --set odometer_km=KM",
        )


def _named(visit: Job | None) -> Iterator[str]:
    """Show the job that an answer names, so that a mistyped number is seen."""
    if visit is not None:
        said = " ".join(JobWords.of(visit).named(visit.complaint_as_typed).split())
        yield f"Job {visit.number}, opened {visit.opened}: “{said}”"


def _first_day(visit: Job, base: Job, outcome: Outcome) -> date:
    """Return when a car was back: since when its later complaint says so, or when it came."""
    since = since_when(visit.complaint_as_typed, visit.opened)
    back = since if outcome is Outcome.COMEBACK and since else visit.opened
    return max(min(back, visit.opened), base.closed or visit.opened)


def _since(visit: Job | None, contact: Contact) -> Iterator[str]:
    if visit is not None and contact.outcome is Outcome.COMEBACK and contact.on < visit.opened:
        yield (
            f"By its words it was back before job {visit.number} was opened: kept as {contact.on}; "
            "where it was another day: --on DAY"
        )


def _named_earlier(told: LaterVisit | None) -> Iterator[str]:
    if told is not None:
        yield f"Judges the comeback of {told.opened} that was told of job {told.number}"


def _early(job: Job, visit: Job | None) -> Iterator[str]:
    """Say that a visit was begun before the handover, so that one of the days may be wrong."""
    if visit is not None and job.closed is not None and visit.opened < job.closed:
        yield (
            f"Job {visit.number} was opened before the handover of job {job.number} on "
            f"{job.closed}; where that day is wrong: kb job edit {job.number} --set closed=DAY"
        )


def _another_part(job: Job, visit: Job | None, outcome: Outcome) -> Iterator[str]:
    """Ask whether it was this fix that failed, where the comeback's job found another part bad."""
    if outcome is not Outcome.COMEBACK or not (job.cause and visit and visit.cause):
        return
    if not same_text(job.cause.component, visit.cause.component):
        yield (
            f"Job {visit.number} found another part bad, {FIT.named(visit.cause.label)}. If the "
            "first fix still holds, the answer is another fault."
        )
