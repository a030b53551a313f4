"""The weekly look: chosen facts by a sequential rule, and facts to act on that nobody has seen."""

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from rapidfuzz import process

from kb.case import Job, even
from kb.errors import InvalidField, Notice
from kb.progress import Progress
from kb.recurrence.change import Trend
from kb.recurrence.pattern import AlertLevel, Pattern
from kb.recurrence.recorders import burst, recorder_of
from kb.recurrence.watch import Course, WatchedFact, courses, grown, is_arrival
from kb.safety.job_words import FIT
from kb.services.closed_cases import read_cases
from kb.services.found_wrong import refuted_jobs
from kb.services.scan import scan_cases
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from kb.store.watched import WatchAct, WatchEntry

LENGTH = 6
"""Characters by which a fact is called."""
EVERYTHING = "all"
"""Acknowledges whatever is new."""
LOOKS_A_YEAR = 52
"""Weekly ones, which share the chance of a false alarm in a year."""
MOST_PROPOSED = 3
LIKE = 70.0
"""Likeness of a name from which it is proposed, 0 to 100."""


class WatchReason(StrEnum):
    """Why a fact is told: it was chosen and is beyond luck, nobody has seen it yet, or it grew."""

    CHOSEN = "chosen"
    UNSEEN = "unseen"
    GROWN = "grown"


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchAlert:
    """Something new. `id` is what it is acknowledged by.

    Of `cars` that had the fault since a day, or within the window of the page, `hits` were of the
    group, where `expected` were to be. `told` is the day on which a chosen fact was beyond luck,
    and `later` of the group have come with it since. Where it has grown since it was seen on a
    day, `cars` and `hits` are those that came with it since, and `before` those of the months
    before that day. `by_one` if most of its jobs were recorded by one person, more than luck
    explains.
    """

    id: str
    reason: WatchReason
    fault: str
    group: str
    since: date
    told: date | None
    hits: int
    later: int
    cars: int
    expected: float
    before: int | None = None
    by_one: bool = False
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchLook:
    """What is new. A false alarm among the chosen facts has the chance `false_alarms` a year.

    That is of all `chosen` together; what is unseen is judged as `kb recurring` does.
    """

    on: date
    cases: int
    chosen: int
    false_alarms: float
    notices: tuple[str, ...]
    alerts: tuple[WatchAlert, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchLine:
    """A chosen fact, watched from the day `since`, or an act on one, done at `at`."""

    id: str
    act: str
    fault: str
    group: str
    since: date
    who: str | None
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchList:
    """What is watched now, and every act so far, oldest first."""

    chosen: tuple[WatchLine, ...]
    history: tuple[WatchLine, ...]


Found = tuple[WatchedFact, WatchAlert]
"""A fact, and what is told of it."""


def look(
    address: str,
    settings: Settings,
    *,
    today: date,
    false_alarms: float,
    progress: Progress | None = None,
) -> WatchLook:
    """Tell what is new since somebody last said that it was seen.

    `false_alarms` is the chance that any of the chosen facts is told by luck in a year.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        cases = read_cases(work, progress)
        entries = work.watched.all()
        new = _new(work, address, cases, entries, settings, false_alarms, today)
    return WatchLook(
        on=today,
        cases=len(cases),
        chosen=len(_chosen(entries)),
        false_alarms=false_alarms,
        notices=() if cases else (Notice.NO_CASES,),
        alerts=tuple(alert for _, alert in new),
    )


def acknowledge(
    address: str,
    settings: Settings,
    name: str,
    *,
    who: str | None,
    today: date,
    false_alarms: float,
    progress: Progress | None = None,
) -> tuple[WatchAlert, ...]:
    """Write down that what is new, or `EVERYTHING`, was seen: it is not told again.

    A chosen fact is watched anew from the next day on.

    Raises
    ------
    InvalidField
        If nothing new is called so.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        cases = read_cases(work, progress)
        new = _new(work, address, cases, work.watched.all(), settings, false_alarms, today)
    meant = [(fact, alert) for fact, alert in new if name in {EVERYTHING, alert.id}]
    if not meant and name != EVERYTHING:
        raise InvalidField("ack", name, "is nothing new; 'kb watch' tells what is")
    with UnitOfWork(open_store(address), who=who) as work:
        for fact, _ in meant:
            work.watched.add(WatchAct.SEEN, asdict(fact), today)
        work.commit()
    return tuple(alert for _, alert in meant)


def follow(
    address: str,
    what: str | None,
    group: str | None,
    *,
    who: str | None,
    since: date | None = None,
    today: date,
) -> WatchLine:
    """Watch a component, a cause's component and location, or a code, on a model, from a day on.

    Without `what` every fault of the model is watched, without `group` every model, without `since`
    from today.

    Raises
    ------
    InvalidField
        If no closed job has such a part, code or model, nothing is named, or the day is to come.
    """
    since = since or today
    if since > today:
        raise InvalidField("since", str(since), "is yet to come; give a day up to today")
    with UnitOfWork(open_store(address), who=who) as work:
        cases = read_cases(work, None)
        if not (what or group):
            raise InvalidField("follow", "", "names nothing; say a part, a code or a model")
        fault = _fault(cases, what) if what else {}
        make, model = _group(cases, group) if group else (None, None)
        fact = WatchedFact(make=make, model=model, **fault)
        work.watched.add(WatchAct.FOLLOW, asdict(fact), since)
        work.commit()
    return listed(address).chosen[-1]


def stop(address: str, name: str, *, who: str | None, today: date) -> WatchLine:
    """Watch a chosen fact no more; its history stays.

    Raises
    ------
    InvalidField
        If no chosen fact is called so.
    """
    with UnitOfWork(open_store(address), who=who) as work:
        for entry in _chosen(work.watched.all()):
            if name_of(_fact(entry)) == name:
                work.watched.add(WatchAct.STOP, entry.fact, today)
                work.commit()
                return _line(entry)
    raise InvalidField("stop", name, "is not watched; 'kb watch --list' tells what is")


def listed(address: str) -> WatchList:
    """List what is watched now, and every act so far."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        entries = work.watched.all()
    return WatchList(chosen=tuple(map(_line, _chosen(entries))), history=tuple(map(_line, entries)))


def name_of(fact: WatchedFact) -> str:
    """Return what a fact is called by: it stays the same from week to week."""
    return hashlib.sha256("\x1f".join(fact.key).encode()).hexdigest()[:LENGTH]


def _new(
    work: UnitOfWork,
    address: str,
    cases: list[Job],
    entries: Sequence[WatchEntry],
    settings: Settings,
    false_alarms: float,
    today: date,
) -> list[Found]:
    refuted = refuted_jobs(work)
    stand = [job for job in cases if job.number not in refuted and job.opened <= today]
    return [
        *_sure(stand, entries, settings, false_alarms),
        *_unseen(work, address, cases, entries, settings, today),
        *_grown(stand, entries, settings, false_alarms),
    ]


def _sure(
    cases: Sequence[Job], entries: Sequence[WatchEntry], settings: Settings, false_alarms: float
) -> Iterator[Found]:
    """Yield the chosen facts that have become sure since they were seen last."""
    chosen, told = _chosen(entries), set[str]()
    seen = _seen_since_chosen(entries)
    for entry in chosen:
        share = false_alarms / len(chosen)
        for fact, first in courses(
            cases, _fact(entry), entry.day, settings.recurrence, chance=share
        ):
            course, last = first, seen.get(fact.key, date.min)
            if last >= entry.day:
                start = last + timedelta(days=1)
                anew = courses(cases, fact, start, settings.recurrence, chance=first.chance)
                ((_, course),) = anew
            if course.crossed and name_of(fact) not in told:
                told.add(name_of(fact))
                by_one = _by_one(cases, course.since, course.jobs, settings)
                yield fact, _told(fact, course, by_one=by_one)


def _by_one(cases: Iterable[Job], since: date, numbers: Sequence[int], settings: Settings) -> bool:
    """Whether one person recorded most of some jobs, more than luck brings."""
    lately = [job for job in cases if job.opened >= since]
    wanted = set(numbers)
    behind = [job for job in lately if job.number in wanted]
    recorded = Counter(map(recorder_of, lately))
    return burst(behind, recorded, settings.recurrence.recorder_level) is not None


def _grown(
    cases: Sequence[Job], entries: Sequence[WatchEntry], settings: Settings, false_alarms: float
) -> Iterator[Found]:
    """Yield the facts that were seen, are not chosen, and take clearly more of the work since.

    Of a year of weekly looks at all of them one gives a false alarm with the chance of
    `false_alarms` at most.
    """
    chosen = {_fact(entry).key for entry in _chosen(entries)}
    last = {_fact(entry).key: entry for entry in entries}
    left = [each for key, each in last.items() if each.act is WatchAct.SEEN and key not in chosen]
    for entry in left:
        fact = _fact(entry)
        found = grown(cases, fact, entry.day, settings.recurrence)
        enough = found.after >= settings.recurrence.least_vehicles
        if enough and found.chance < false_alarms / (LOOKS_A_YEAR * len(left)):
            behind = tuple(
                job.number or 0
                for job in sorted(cases, key=lambda job: (job.opened, job.number or 0))
                if job.opened > entry.day and is_arrival(job, fact)
            )
            yield (
                fact,
                WatchAlert(
                    id=name_of(fact),
                    reason=WatchReason.GROWN,
                    fault=FIT.named(fact.fault),
                    group=FIT.named(fact.group),
                    since=entry.day,
                    told=None,
                    hits=found.after,
                    later=0,
                    cars=found.after,
                    expected=found.expected,
                    before=found.before,
                    by_one=_by_one(cases, entry.day, behind, settings),
                    jobs=behind,
                ),
            )


def _told(fact: WatchedFact, course: Course, *, by_one: bool) -> WatchAlert:
    return WatchAlert(
        id=name_of(fact),
        reason=WatchReason.CHOSEN,
        fault=FIT.named(fact.fault),
        group=FIT.named(fact.group),
        since=course.since,
        told=course.crossed,
        hits=course.hits,
        later=course.later,
        cars=course.tried,
        expected=course.expected,
        by_one=by_one,
        jobs=course.jobs,
    )


def _unseen(
    work: UnitOfWork,
    address: str,
    cases: list[Job],
    entries: Sequence[WatchEntry],
    settings: Settings,
    today: date,
) -> Iterator[Found]:
    """Yield the facts to act on that were neither seen nor chosen."""
    known = [_fact(entry) for entry in (*_chosen(entries), *_seen(entries))]
    found = scan_cases(work, address, cases, settings, today=today)
    for pattern in (each.pattern for each in found.facts):
        fact = WatchedFact(
            component=pattern.component,
            location=pattern.location,
            make=pattern.make,
            model=pattern.model,
        )
        if _is_to_be_told(pattern) and not any(_covers(each, fact) for each in known):
            alert = WatchAlert(
                id=name_of(fact),
                reason=WatchReason.UNSEEN,
                fault=pattern.fault,
                group=pattern.group,
                since=pattern.counts.window.since,
                told=None,
                hits=pattern.counts.observed,
                later=0,
                cars=pattern.counts.observed + pattern.counts.others_observed,
                expected=pattern.expected,
                by_one=pattern.one_recorder is not None,
                jobs=pattern.jobs,
            )
            yield fact, alert


def _is_to_be_told(pattern: Pattern) -> bool:
    """Whether a fact is to be acted on; what one model alone has is, if it grows."""
    grows = pattern.change.trend is Trend.GROWING and not pattern.change.stopped
    return pattern.level is AlertLevel.ACT or (pattern.level is AlertLevel.APART and grows)


def _covers(known: WatchedFact, fact: WatchedFact) -> bool:
    """Whether a part on a group was chosen or seen: a make stands for its models, and they for it.

    A part without a location is one at any of them.
    """
    if known.component is None:
        return False
    return all(
        mine is None or even(mine) == even(its or "")
        for mine, its in (
            (known.component, fact.component),
            (known.location, fact.location),
            (known.make, fact.make),
            (known.model if fact.model else None, fact.model),
        )
    )


def _chosen(entries: Iterable[WatchEntry]) -> list[WatchEntry]:
    """Return what is watched now, each as it was chosen last."""
    now: dict[tuple[str, ...], WatchEntry] = {}
    for entry in entries:
        key = _fact(entry).key
        if entry.act is not WatchAct.SEEN:
            now.pop(key, None)
        if entry.act is WatchAct.FOLLOW:
            now[key] = entry
    return list(now.values())


def _seen(entries: Iterable[WatchEntry]) -> list[WatchEntry]:
    return [entry for entry in entries if entry.act is WatchAct.SEEN]


def _seen_since_chosen(entries: Iterable[WatchEntry]) -> dict[tuple[str, ...], date]:
    """Return the day each was seen last; who chooses it after that wants to be told again."""
    days: dict[tuple[str, ...], date] = {}
    for entry in entries:
        if entry.act is WatchAct.FOLLOW:
            days.pop(_fact(entry).key, None)
        elif entry.act is WatchAct.SEEN:
            days[_fact(entry).key] = entry.day
    return days


def _fact(entry: WatchEntry) -> WatchedFact:
    return WatchedFact(**entry.fact)


def _line(entry: WatchEntry) -> WatchLine:
    fact = _fact(entry)
    return WatchLine(
        id=name_of(fact),
        act=entry.act,
        fault=FIT.named(fact.fault),
        group=FIT.named(fact.group),
        since=entry.day,
        who=entry.who,
        at=entry.at,
    )


def _fault(cases: Iterable[Job], text: str) -> dict[str, str | None]:
    """Return the names of the component, its location or the code that is meant."""
    known: dict[str, dict[str, str | None]] = {}
    for job in cases:
        for code in job.codes:
            known.setdefault(even(str(code)), {"code": str(code)})
            known.setdefault(even(code.code), {"code": code.code})
        if job.cause is not None:
            part, place = job.cause.component, job.cause.location
            known.setdefault(even(part), {"component": part})
            if place:
                known.setdefault(even(f"{part}, {place}"), {"component": part, "location": place})
    return known[_meant("follow", text, known, "no part, place or code of a closed job")]


def _group(cases: Iterable[Job], text: str) -> tuple[str | None, str | None]:
    """Return the make and model that are meant."""
    known: dict[str, tuple[str | None, str | None]] = {}
    for job in cases:
        make, model = job.vehicle.make, job.vehicle.model
        if make and model:
            known.setdefault(even(f"{make} {model}"), (make, model))
            known.setdefault(even(model), (make, model))
    return known[_meant("model", text, known, "no model of a closed job")]


def _meant(field: str, text: str, known: Iterable[str], reason: str) -> str:
    names = list(known)
    if even(text) in names:
        return even(text)
    near = process.extract(even(text), names, limit=MOST_PROPOSED, score_cutoff=LIKE)
    proposed = " or ".join(FIT.named(name) for name, *_ in near)
    raise InvalidField(
        field, text, f"is {reason}" + (f"; did you mean {proposed}?" if near else "")
    )
