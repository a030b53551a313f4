"""What should be looked at before a job is stored, by what is known of it and of its car."""

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress

from kb.case import (
    Contact,
    DiagnosticTest,
    Job,
    Outcome,
    Reading,
    Stage,
    Vehicle,
    VehicleModel,
    tag_key,
)
from kb.errors import InvalidField, for_shell
from kb.intake.days import days_of_no_clock
from kb.intake.distances import LEAST, Distance, parse_odometer
from kb.intake.grammar import with_article
from kb.intake.items import trade_wording
from kb.intake.vehicle import like_tags, resembles_car, tag_meant
from kb.intake.wording import suggest
from kb.patterns import compiled
from kb.rates.trials import most_km
from kb.safety.job_words import FIT, is_igniter_job
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.circuit import shorted

_TAG_LIKE = compiled(r"(?<![\w-])(?=[A-Za-z-]*[0-9])(?=[0-9-]*[A-Za-z])[A-Za-z0-9-]{2,8}(?![\w-])")
_MOST_WORDS_OF_A_TAG = 2
_LIKE_DIGITS = str.maketrans("oOlI", "0011")
_ANOTHER_PLACE = compiled(
    r"\b(?:other|opposite|different) (?:side|end|wheel|corner|axle|door|window|seat|cylinder)\b",
    re.IGNORECASE,
)


def tag_or_car(
    ref: str | None,
    vehicle: str | None,
    known: Sequence[Vehicle],
    models: Sequence[VehicleModel],
) -> tuple[str | None, str | None, tuple[str, ...]]:
    """Return key tag and car as they were meant, where a car may stand in place of the tag.

    With what to say of it, and of a new tag that is like one of the shop's.

    Raises
    ------
    InvalidField
        If it is neither: a sentence, say.
    """
    if ref is None or tag_meant(ref, known):
        return ref, vehicle, ()
    if resembles_car(ref, known, models):
        notice = f"“{ref}” names a car and was not taken as its key tag; --ref gives the tag."
        return None, vehicle or ref, (notice,)
    words = ref.split()
    if len(words) > _MOST_WORDS_OF_A_TAG or (len(words) > 1 and not any(map(str.isdigit, ref))):
        raise InvalidField("ref", ref, "is no key tag; a tag is one short word, such as K031")
    if may_be_distance(ref, known):
        return ref, vehicle, (f"“{ref}” may be a distance; it was taken as the key tag of a car.",)
    tags = " or ".join(like_tags(ref, known))
    notices = (f"No car has the key tag {ref} yet; if {tags} is meant, give that.",) if tags else ()
    return ref, vehicle, notices


def may_be_distance(ref: str, known: Iterable[Vehicle] = ()) -> bool:
    """Whether what was told as a key tag may be what the odometer shows, perhaps mistyped.

    Not where the shop's own tags are such numbers.

    Examples
    --------
    >>> [may_be_distance(ref) for ref in ("80.000", "8o000", "84 tkm", "K031", "207")]
    [True, True, True, False, False]
    """
    if any(car.ref and _is_distance(car.ref) for car in known):
        return False
    return _is_distance(ref)


def _is_distance(ref: str) -> bool:
    digits = ref.translate(_LIKE_DIGITS) if ref[:1].isdigit() and not ref.isdigit() else ref
    for text in (ref, digits):
        with suppress(InvalidField):
            return parse_odometer(text).km >= LEAST
    return False


def other_car(car: Vehicle, clash: str | None) -> str | None:
    """Say that a car was told in other words than fit its key tag or VIN."""
    if clash is None:
        return None
    return f"{car.ref or car.vin} is {with_article(car.label)}, and not “{clash}”."


def mistyped_tags(text: str, known: Sequence[Vehicle]) -> Iterator[str]:
    """Ask about words of a complaint that may be a key tag of the shop's with a sign mistyped."""
    tags = {tag_key(car.ref) for car in known if car.ref}
    for word in dict.fromkeys(_TAG_LIKE.findall(text)):
        like = [] if tag_key(word) in tags else like_tags(word, known)
        if like:
            yield f"“{word}” is no key tag of the shop's; if {' or '.join(like)} is meant: --ref"


def less_than_before(job: Job, base: Job) -> Iterator[str]:
    """Say that an edit takes kilometres off a job, or the key tag."""
    before, now = base.odometer_km, job.odometer_km
    if before is not None and now is not None and now < before:
        yield f"{now:,} km is less than the {before:,} km that stood here; check it."
    if base.vehicle.ref and job.vehicle.ref is None:
        yield (
            f"The job will have no key tag; it had {base.vehicle.ref}, of "
            f"{with_article(base.vehicle.label)}. "
            f"To keep it: kb job edit {job.number} --set "
            f"{for_shell(f'vehicle.ref={base.vehicle.ref}')}"
        )


def less_far(job: Job, visits: Iterable[Job]) -> Iterator[str]:
    """Say that a car has gone less far than it had on an earlier visit."""
    before = [
        (each.odometer_km, each.opened, each.number)
        for each in visits
        if each.odometer_km is not None and each.opened <= job.opened
    ]
    if not before or job.odometer_km is None:
        return
    km, day, number = max(before)
    if job.odometer_km < km:
        yield (
            f"{job.odometer_km:,} km is less than the {km:,} km of job {number} on {day}; check "
            "the distance, or the car."
        )


def after_a_fix(job: Job, parts: Iterable[object]) -> Iterator[str]:
    """Ask of readings that are kept as found whether they were taken after a fix of the job."""
    as_found = [
        each for each in parts if isinstance(each, Reading) and each.stage is Stage.AS_FOUND
    ]
    if as_found and job.attempts:
        yield (
            f"Kept as found, though {job.attempts[-1].label} was tried before. If it was measured "
            f"after that: kb job edit {job.number} --set "
            f'"readings[{len(job.readings)}].stage={Stage.AFTER_FIX}"'
        )


def too_early(job: Job, base: Job | None = None) -> Iterator[str]:
    """Ask about days before the car was built, or that a wrong clock makes, where they are new."""
    known = {day for _, day in days_of_no_clock(base)} if base is not None else set()
    days = [(field, day) for field, day in days_of_no_clock(job) if day not in known]
    for field, day in days:
        year = job.vehicle.year
        built = f", and the car is of {year}" if year and day.year < year - 1 else ""
        yield f"The job is told to be {field} on {day}{built}: check the day."


def too_far(contact: Contact, job: Job) -> Iterator[str]:
    """Ask about an odometer that gained more than a car is driven."""
    if job.odometer_km is None or contact.odometer_km is None:
        return
    gained, days = contact.odometer_km - job.odometer_km, (contact.on - job.opened).days
    if gained > most_km(job.opened, contact.on):
        yield (
            f"{gained:,} km since job {job.number} in {days} {'day' if days == 1 else 'days'} is "
            "more than a car is driven: no rate counts these kilometres. Look at the odometer and "
            "the day again"
        )


def another_place(contact: Contact) -> Iterator[str]:
    """Ask whether it was this fix that failed, where a comeback is told of another place."""
    found = _ANOTHER_PLACE.search(contact.words or "")
    if found and contact.outcome is Outcome.COMEBACK:
        yield (
            f"“{found[0]}”: if what was fixed still holds, this is no comeback of it, but “other "
            "reason”"
        )


def other_distance(job: Job, told: Distance | None) -> Iterator[str]:
    """Say that the words tell another distance than the job keeps."""
    if told and job.odometer_km is not None and told.km != job.odometer_km:
        yield f"The words tell {told.km:,} km; kept are {job.odometer_km:,} km."


def proves_nothing(job: Job, parts: Iterable[object]) -> Iterator[str]:
    """Warn of what was measured through a connector whose shorting bars bridge it when open."""
    for part in parts:
        match part:
            case Reading():
                text = f"{part.place} {part.typed} {part.method or ''} {part.condition or ''}"
            case DiagnosticTest():
                text = f"{part.name} {part.seen}"
            case _:
                continue
        restraint = is_igniter_job(job, trade_wording())
        if link := shorted(text, job.circuit, trade_wording(), restraint=restraint):
            yield (
                f"Through {link} this proves nothing: its shorting bars bridge it when it is "
                "open. Read the live value, or put a known load in its place."
            )


def spelt_otherwise(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Ask about components that no job has, but that resemble ones some jobs have."""
    told = [attempt.component for attempt in job.attempts if attempt not in base.attempts]
    if job.cause is not None and job.cause != base.cause:
        told.append(job.cause.component)
    known = work.jobs.components() if told else ()
    for component in dict.fromkeys(told):
        near = [] if component in known else suggest(component, known, limit=2)
        if near:
            meant = " or ".join(f"“{FIT.named(name)}”" for name in near)
            yield f"No job yet has “{FIT.named(component)}”; did you mean {meant}?"
