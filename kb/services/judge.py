"""Judging a reading by the shop's own past, with the trade's limits beside it."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from kb.bands.conditions import conditions, kinds_of, told_in, told_of
from kb.bands.judgement import Verdict, judge
from kb.bands.limits import Limit, find_limit, read_limits, trade_limits
from kb.bands.measured import SameItem, same_item, taken_on
from kb.bands.neighbours import OTHERS
from kb.case import Handedness, Job, Reading, System, Vehicle
from kb.errors import Dangerous, InvalidField
from kb.intake.fuels import SupposedFuel, supposed_fuel
from kb.intake.items import is_item_word
from kb.intake.positions import resolve
from kb.intake.reading_search import find_readings
from kb.intake.readings import limit_in, parse_reading
from kb.intake.shoptalk import understand
from kb.intake.vehicle import parse_vehicle
from kb.intake.vehicle_list import lines_of
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.hazards import Situation, cautions, concerns, hazards
from kb.safety.igniter_steps import dangerous_step, tells_work
from kb.safety.job_dangers import danger_line
from kb.safety.job_words import FIT, JobWords
from kb.services.indexing import shop_wording
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

FEW = 10
"""With fewer readings of an item, like-named items with more are mentioned: it may be the same
under another name, and ten would have been a band of its own (by judgement)."""


_OTHERS = compiled(r"\b(?:others?|rest)\b", re.IGNORECASE)
_FUEL = "fuel"
"""The kind of state that an engine's fuel is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingAnswer:
    """The verdict on a reading, under the cautions that come before it.

    Attributes
    ----------
    asked : Reading
        As understood, before its item was looked up.
    twin_job : int or None
        Job that the twin was read on, where it was not the one asked with.
    content, confidence : float
        What a band is to hold, and how surely.
    """

    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    asked: Reading
    vehicle: Vehicle
    verdict: Verdict
    twin_job: int | None
    content: float
    confidence: float


def judge_reading(
    address: str,
    text: str,
    settings: Settings,
    *,
    vehicle: str | None = None,
    job: int | None = None,
    limits: Path | None = None,
) -> ReadingAnswer:
    """Judge one reading.

    Parameters
    ----------
    address : str
        Of the store.
    text : str
        As `kb.intake.readings.parse_reading` reads it.
    settings : Settings
    vehicle : str, optional
        As `kb.intake.vehicle.parse_vehicle` reads it; a key tag gives the very car, whose last
        visit may hold the twin.
    job : int, optional
        Take vehicle and twin from this job.
    limits : Path, optional
        A table of the shop's own figures, to go before the trade's.

    Raises
    ------
    Dangerous
        If it was taken in a way that may fire an igniter.
    KbError
        If the store or the table cannot be read, or something typed cannot be understood.
    """
    asked, told_beside = _read(text)
    own_limits = () if limits is None else read_limits(limits, own=True)
    with UnitOfWork(open_store(address), read_only=True) as work:
        wording = shop_wording(work)
        car, doubts = _car(work, vehicle, job)
        recorded = work.jobs.measured(asked.quantity)
        spelt = _spelt(asked, wording)
        same = same_item(spelt, recorded, wording)
        visit = _visit(work, car, job, same)
        beside = (*told_beside, *(_sound(visit).readings if visit else ()))
        fuel = _fuel(work, spelt, car, wording, own_limits)
        verdict, alike = _judged(
            work,
            spelt,
            _fuelled(car, fuel),
            same,
            wording,
            settings,
            beside=beside,
            visit=visit,
            own=own_limits,
        )
    systems = tuple(_systems(text, wording, same, alike, visit if job else None))
    situation = Situation(systems=systems, vehicles=(car,), said=(text,))
    found = hazards(situation | Situation.of_readings((spelt,)), wording)
    _refuse_dangerous(text, wording, igniter=concerns(found, System.RESTRAINTS))
    elsewhere = visit is not None and visit.number != job and verdict.twin is not None
    return ReadingAnswer(
        cautions=cautions(found),
        notices=(
            *doubts,
            *_on_limit(text),
            *_on_state(asked),
            *_on_fuel(fuel, car),
            *_on_item(spelt, same, recorded),
        ),
        asked=asked,
        vehicle=car,
        verdict=verdict,
        twin_job=visit.number if visit and elsewhere else None,
        content=settings.readings.content,
        confidence=settings.readings.confidence,
    )


def _read(text: str) -> tuple[Reading, tuple[Reading, ...]]:
    """Read one reading, with what the others of its kind read where that is told beside it."""
    if _OTHERS.search(text):
        first, *others = find_readings(text).readings or (None,)
        alike = (
            first is not None and (each.item, each.quantity) == (first.item, first.quantity)
            for each in others
        )
        if first and others and all(alike) and {each.position for each in others} <= OTHERS:
            return first, tuple(others)
    try:
        reading = parse_reading(text)
    except InvalidField:
        _refuse_unsaid(text)
        raise
    if told_in(reading.item):
        _refuse_unsaid(text, reading.typed)
    return reading, ()


def _refuse_unsaid(text: str, typed: str = "") -> None:
    """Refuse a value whose item or unit is left unsaid with how it is written in full.

    Raises
    ------
    InvalidField
        If it can be told how, as for ``12.3 running``.
    """
    for each in find_readings(text).doubtful:
        if typed in each.text and each.why.startswith(("has no unit; write “", "names no item; w")):
            raise InvalidField("reading", text, each.why) from None


def _on_limit(text: str) -> Iterator[str]:
    """Say that a limit typed beside the value is not what it is judged by."""
    limit = limit_in(text)
    if limit:
        yield f"Not judged by “{limit}”: to judge by figures of your own, name a table (--limits)."


def _on_state(asked: Reading) -> Iterator[str]:
    """Name the words of a condition that tell no state, so that nobody takes them as reckoned in.

    A verdict that was found without them may be that of another state.
    """
    for words in (asked.condition or "").split(","):
        if words.strip() and not told_in(words):
            yield f"“{words.strip()}” tells no state that limits know: judged without it."


def _fuel(
    work: UnitOfWork, asked: Reading, car: Vehicle, wording: Wording, own: Sequence[Limit] = ()
) -> SupposedFuel | None:
    """Return the fuel that every known car like one has, where a reading differs by the fuel."""
    kinds = find_limit(asked, car, (*own, *trade_limits()), wording).kinds
    if _FUEL not in kinds or car.model is None or _FUEL in kinds_of(told_of(asked, car)):
        return None
    fuel = supposed_fuel(car, work.models.all(), work.jobs.vehicles_of_model(car.model))
    return fuel if fuel and fuel.fuel in conditions() else None


def _fuelled(car: Vehicle, fuel: SupposedFuel | None) -> Vehicle:
    """Tell the fuel of a car with its engine."""
    if fuel is None:
        return car
    return replace(car, engine=" ".join(filter(None, (car.engine, fuel.fuel))))


def _on_fuel(fuel: SupposedFuel | None, car: Vehicle) -> Iterator[str]:
    """Say by which fuel a reading was judged, and who says that it is the car's."""
    if fuel is not None:
        known = "on the shop's list" if fuel.listed else "among past cars here"
        model = FIT.shown_vehicle(Vehicle(make=car.make, model=car.model)).label
        yield f"Judged as {fuel.fuel}: every {model} {known} is; say so if it is not."


def verdicts_on(
    work: UnitOfWork,
    readings: Sequence[Reading],
    car: Vehicle,
    wording: Wording,
    settings: Settings,
    *,
    job: Job | None = None,
) -> tuple[Verdict, ...]:
    """Judge the readings of a complaint beside one another, in their order.

    `job` is the one that they were taken on, if it is in the store; it is no witness.
    """
    found = []
    for each in readings:
        spelt = _spelt(each, wording)
        same = same_item(spelt, work.jobs.measured(each.quantity), wording)
        known = _fuelled(car, _fuel(work, spelt, car, wording))
        verdict, _ = _judged(
            work, spelt, known, same, wording, settings, beside=readings, visit=job
        )
        found.append(verdict)
    return tuple(found)


def _judged(
    work: UnitOfWork,
    spelt: Reading,
    car: Vehicle,
    same: SameItem,
    wording: Wording,
    settings: Settings,
    *,
    beside: Sequence[Reading],
    visit: Job | None,
    own: Sequence[Limit] = (),
) -> tuple[Verdict, list[Job]]:
    """Judge one reading; with the jobs on which the like was measured."""
    side = _handedness(work, car)
    reading = _sided(_named(spelt, same, wording), side)
    jobs = work.jobs.with_readings(same.names, spelt.quantity, spelt.value)
    alike = jobs if same.names else work.jobs.with_readings(same.others, spelt.quantity)
    past = [other for other in jobs if visit is None or other.number != visit.number]
    verdict = judge(
        reading,
        car,
        [
            replace(each, reading=_renamed(each.reading, same))
            for each in taken_on(map(_sound, past))
        ],
        wording,
        settings.readings,
        same_car=_beside(reading, [_spelt(each, wording) for each in beside], same, side),
        limits=(*own, *trade_limits()),
        asked=spelt,
    )
    return verdict, alike


def _sound(job: Job) -> Job:
    """Return a past job without the readings that nobody should have taken so."""
    return replace(job, readings=JobWords.of(job).sound_readings(job))


def _refuse_dangerous(text: str, wording: Wording, *, igniter: bool) -> None:
    """Judge no value that was taken in a way that may fire an igniter."""
    alike = tells_work(text, wording)
    danger = dangerous_step(text, igniter_job=igniter, wording=wording, alike=alike)
    if danger:
        raise Dangerous(f"{danger_line(danger)} A value taken so is not judged.")


def _car(work: UnitOfWork, typed: str | None, job: int | None) -> tuple[Vehicle, tuple[str, ...]]:
    if typed:
        match = parse_vehicle(typed, work.jobs.vehicles(), work.models.all())
        return match.vehicle, tuple(map(str, match.doubts))
    return (Vehicle() if job is None else work.jobs.get(job).vehicle), ()


def _visit(work: UnitOfWork, car: Vehicle, job: int | None, same: SameItem) -> Job | None:
    """Return the job asked with, else the car's last visit on which the item was measured."""
    if job is not None:
        return work.jobs.get(job)
    visits = work.jobs.of_vehicle(car)
    with_item = [each for each in visits if any(r.item in same.names for r in each.readings)]
    return with_item[-1] if with_item else None


def _spelt(asked: Reading, wording: Wording) -> Reading:
    """Mend slips of spelling in the item, where the trade's table of items tells what was meant."""
    words = [is_item_word(word, wording) or word for word in asked.item.split()]
    return replace(asked, item=" ".join(words))


def _named(asked: Reading, same: SameItem, wording: Wording) -> Reading:
    """Call the item what the shop calls it; a position that is part of the name goes into it."""
    if not same.names:
        return asked
    name, position = same.names[0], asked.position
    into_name = set(wording.tokens(name)) - set(wording.tokens(asked.item))
    left = [word for word in (position or "").split() if word not in into_name]
    return replace(asked, item=name, position=" ".join(left) or None)


def _renamed(reading: Reading, same: SameItem) -> Reading:
    """Call a reading by the one name, where its own tells nothing of its state."""
    if reading.item not in same.names or told_in(reading.item) != told_in(same.names[0]):
        return reading
    return replace(reading, item=same.names[0])


def _handedness(work: UnitOfWork, car: Vehicle) -> Handedness | None:
    """Return where the driver sits, if the shop's list of models tells it."""
    told = {line.handedness for line in lines_of(car, work.models.all())}
    return told.pop() if len(told) == 1 else None


def _sided(reading: Reading, handedness: Handedness | None) -> Reading:
    """Tell driver's and passenger's side as left and right where that is known."""
    if reading.position is None:
        return reading
    return replace(reading, position=resolve(reading.position, handedness))


def _beside(
    reading: Reading,
    readings: Sequence[Reading],
    same: SameItem,
    handedness: Handedness | None,
) -> tuple[Reading, ...]:
    """Return the other readings of the visit, the one that is judged left out."""
    renamed = [_sided(_renamed(each, same), handedness) for each in readings]
    return tuple(
        each
        for each in renamed
        if (each.place, each.value, each.relation)
        != (reading.place, reading.value, reading.relation)
    )


def _systems(
    text: str, wording: Wording, same: SameItem, jobs: Sequence[Job], visit: Job | None
) -> Iterable[System]:
    """Systems of what was typed, of the job, and of the jobs on which the item was measured."""
    typed = understand(text, wording=wording).complaint.system
    names = same.names or same.others
    measured = [
        job.system for job in jobs if job.system and any(r.item in names for r in job.readings)
    ]
    usual = [system for system, _ in Counter(measured).most_common(1)]
    found = (typed, visit.system if visit else None, *usual)
    return [system for system in found if system is not None]


def _on_item(asked: Reading, same: SameItem, recorded: Mapping[str, int]) -> tuple[str, ...]:
    """Say how the item was looked up, and under which other names it may be recorded."""
    others = [f"'{FIT.named(name)}' ({recorded[name]})" for name in same.others]
    instead = f"; recorded are {', '.join(others)}" if others else ""
    if not same.names:
        return (f"No past job measured the {asked.quantity} of '{asked.item}'{instead}.",)
    if not same.exact:
        return (f"'{asked.item}' was read as '{FIT.named(same.names[0])}'{instead}.",)
    here = sum(recorded[name] for name in same.names)
    more = [name for name in same.others if recorded[name] > here]
    return (
        (f"Few readings of '{FIT.named(same.names[0])}'{instead}.",) if here < FEW and more else ()
    )
