"""Following up: whom to ask whether a fix held, and recording what was heard."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kb.case import Contact, Job, Outcome, same_text
from kb.errors import InvalidField
from kb.rates.due import due, weighed
from kb.rates.shrinkage import neutral
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.job_words import FIT, JobWords
from kb.services.fix_history import wider_history
from kb.services.indexing import shop_wording
from kb.services.record import Draft, with_part
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.repairs import StoredReturn
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A later visit of the same car about the same system, which nobody has judged yet."""

    job: int
    opened: date
    complaint: str
    cause: str | None
    odometer_km: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToAsk:
    """One car to ask after.

    `car` is key tag and vehicle; `good_until` the days after the handover on which it was last
    known to be good, 0: never heard of. `risk` is the chance that the fix has failed unheard,
    `weighed` the same, counted more on systems whose failure can hurt somebody. `visit` is what the
    car came for since, if that may have been the same complaint.
    """

    job: int
    car: str
    complaint: str
    cause: str
    fix: str
    closed: date
    days: int
    good_until: int
    risk: float
    weighed: float
    visit: Return | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUps:
    """Cars to ask after, the riskiest first, under cautions; `total` of them there are."""

    cautions: tuple[str, ...]
    total: int
    horizon_days: int
    grave: float
    cars: tuple[ToAsk, ...]


def follow_ups(address: str, settings: Settings, *, limit: int, today: date) -> FollowUps:
    """List the cars to ask after: visits to be judged first, then by risk."""
    horizon = settings.rates.horizons_days[0]
    first = today - timedelta(settings.follow_up.last_days)
    last = today - timedelta(settings.follow_up.first_days)
    with UnitOfWork(open_store(address), read_only=True) as work:
        repairs = work.repairs.of_causes_closed(first, last)
        wider = wider_history(work, address, settings)
        history = wider.stages[0] if wider else neutral(horizon)
        asked = due(repairs, history, settings.rates, settings.follow_up, today)
        visits = _visits(work.repairs.returns(first, last), horizon)
        order = sorted(asked, key=lambda each: each.job not in visits)
        jobs = work.jobs.get_many(each.job for each in order[:limit])
        wording = shop_wording(work)
    return FollowUps(
        cautions=cautions_of_list(Situation.of_jobs(jobs), wording),
        total=len(asked),
        horizon_days=horizon,
        grave=settings.follow_up.grave,
        cars=tuple(
            ToAsk(
                job=each.job,
                car=FIT.shown_vehicle(job.vehicle).tagged,
                complaint=JobWords.of(job, wording).named(job.complaint_as_typed),
                cause=FIT.named(job.cause.label) if job.cause else "",
                fix=FIT.named(each.fix),
                closed=job.closed or today,
                days=each.days,
                good_until=each.good_until,
                risk=each.risk,
                weighed=weighed(each, settings.follow_up),
                visit=visits.get(each.job),
            )
            for each, job in zip(order[:limit], jobs, strict=True)
        ),
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
    where none is given.

    Raises
    ------
    InvalidField
        If the day lies before the handover or ahead, or the odometer ran backwards.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        visit = work.jobs.get(job) if job is not None else None
        if visit is not None:
            on = on or visit.opened
            odometer_km = visit.odometer_km if odometer_km is None else odometer_km
        contact = Contact(
            on=on or today, outcome=outcome, odometer_km=odometer_km, job=job, words=words
        )
        check_contact(base, contact, today)
        draft = with_part(work, base, contact)
    return replace(draft, notices=(*draft.notices, *_another_part(base, visit, outcome)))


def check_contact(job: Job, contact: Contact, today: date) -> None:
    """Refuse what cannot have been: a day ahead, an odometer run back, a job that is open.

    Raises
    ------
    InvalidField
        With the cure.
    """
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
    if contact.job is not None and contact.job == number:
        raise InvalidField("contact.job", number, "is this very job; give the later one's number")


def _another_part(job: Job, visit: Job | None, outcome: Outcome) -> Iterator[str]:
    """Ask whether it was this fix that failed, where the comeback's job found another part bad."""
    if outcome is not Outcome.COMEBACK or not (job.cause and visit and visit.cause):
        return
    if not same_text(job.cause.component, visit.cause.component):
        yield (
            f"Job {visit.number} found another part bad, {FIT.named(visit.cause.label)}. If the "
            "first fix still holds, the answer is other reason."
        )


def _visits(returns: Iterable[StoredReturn], horizon: int) -> dict[int, Return]:
    """Take the first of each case's later visits, where it fell within the horizon."""
    found: dict[int, StoredReturn] = {}
    for each in returns:
        found.setdefault(each.case, each)
    return {
        case: Return(
            job=visit.job,
            opened=visit.opened,
            complaint=FIT.named(visit.complaint),
            cause=FIT.named(visit.cause.label) if visit.cause else None,
            odometer_km=visit.odometer_km,
        )
        for case, visit in found.items()
        if (visit.opened - visit.closed).days <= horizon
    }
