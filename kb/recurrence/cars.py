"""Which visits are one car's, and what a car is comparable with."""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from kb.case import Job, Vehicle, even
from kb.settings import RecurrenceSettings

NAMES_KEPT = 50_000
"""Names of kinds of cars, as they are written, that are remembered as what they count as."""

CarKey = tuple[str, str] | int
"""A car's own key, or a number for one that no tag tells."""

Wear = tuple[int | None, int]
"""Age and distance, in bands."""


@dataclass(frozen=True, slots=True)
class ToldApart:
    """The cars of a shop's jobs.

    `of` has one car for every job, in the jobs' order. `untagged` jobs have no key tag and no VIN;
    they are taken for `folded` cars, as far as make, model, year and a rising odometer tell.
    `apart` has every such job for a car of its own, but for comebacks that a job names; `fewest`
    has the `unread` of them, whose model, year or odometer is not told, for as few cars as may be:
    the truth lies between.
    """

    of: tuple[CarKey, ...]
    apart: tuple[CarKey, ...]
    fewest: tuple[CarKey, ...]
    untagged: int
    unread: int
    folded: int


def tell_apart(jobs: Sequence[Job], settings: RecurrenceSettings) -> ToldApart:
    """Tell which jobs are one car's; those without a tag or VIN by make, model, year and odometer.

    A visit without a tag belongs to the untagged car of the same make, model, year and engine
    whose odometer it goes on from at a pace that a car may have; of several to the one it is
    nearest to. A comeback that a job names is that job's car. Where no odometer was read it may be
    any of them, and is a car of its own, or, for `fewest`, one of its kind that was met.
    """
    guessed, apart = _Untagged(settings), _Untagged(None)
    untagged = [job for job in jobs if job.vehicle.key is None]
    return ToldApart(
        of=_keys(jobs, guessed),
        apart=_keys(jobs, apart),
        fewest=_keys(jobs, _Untagged(settings, joined=True)),
        untagged=len(untagged),
        unread=sum(map(_is_unread, untagged)),
        folded=guessed.count,
    )


def _keys(jobs: Sequence[Job], untagged: "_Untagged") -> tuple[CarKey, ...]:
    found: dict[int, CarKey] = {}
    for place in sorted(range(len(jobs)), key=lambda place: (jobs[place].opened, place)):
        found[place] = jobs[place].vehicle.key or untagged.car_of(jobs[place])
    return tuple(found[place] for place in range(len(jobs)))


def wear(job: Job, settings: RecurrenceSettings) -> Wear:
    """Return the bands of age and distance in which a car is compared at a visit.

    Where no odometer was read the car counts as one that has not gone far, as most have not.
    """
    year, distance = job.vehicle.year, job.odometer_km
    age = None if year is None else max(0, job.opened.year - year) // settings.age_band
    return age, (distance or 0) // settings.km_band


@dataclass(slots=True)
class _Chain:
    """Visits of a car without a tag, as far as they are known."""

    number: int
    on: date = date.min
    odometer_km: int | None = None


class _Untagged:
    """The cars without a tag that were met so far; without settings none is guessed to be one.

    If `joined`, a visit that nothing tells from others of its kind is one of the cars met.
    """

    def __init__(self, settings: RecurrenceSettings | None, *, joined: bool = False) -> None:
        self._settings, self._joined = settings, joined
        self._chains: dict[Hashable, list[_Chain]] = defaultdict(list)
        self._named: dict[int, _Chain] = {}
        self.count = 0

    def car_of(self, job: Job) -> int:
        """Return the number of a visit's car; visits come in the order of their days."""
        chain = (
            self._named.get(job.number or 0)
            or self._goes_on_from(job)
            or self._may_be(job)
            or self._new(job)
        )
        if not (self._joined and _is_unread(job)):
            chain.on, chain.odometer_km = job.opened, job.odometer_km
        for contact in job.contacts:
            if contact.job is not None:
                self._named[contact.job] = chain
        return chain.number

    def _new(self, job: Job) -> _Chain:
        chain = _Chain(self.count)
        self.count += 1
        self._chains[_kind(job.vehicle)].append(chain)
        return chain

    def _goes_on_from(self, job: Job) -> _Chain | None:
        distance, settings = job.odometer_km, self._settings
        if settings is None or distance is None or _is_unread(job):
            return None
        may_be = [
            (distance - chain.odometer_km, chain.number, chain)
            for chain in self._chains[_kind(job.vehicle)]
            if chain.odometer_km is not None
            and 0 <= distance - chain.odometer_km <= _most(chain, job, settings)
        ]
        return min(may_be)[2] if may_be else None

    def _may_be(self, job: Job) -> _Chain | None:
        """Return a car that a visit may be of, where nothing tells one from the other."""
        if not self._joined:
            return None
        known = self._chains[_kind(job.vehicle)]
        unread = _is_unread(job)
        return next((each for each in known if unread or each.odometer_km is None), None)


def _is_unread(job: Job) -> bool:
    """Whether nothing tells a visit without a tag from those of other such cars."""
    return None in {job.odometer_km, job.vehicle.model, job.vehicle.year}


def _most(chain: _Chain, job: Job, settings: RecurrenceSettings) -> int:
    """Return how far a car may have gone since a visit."""
    return settings.trip_km + settings.most_km_a_day * (job.opened - chain.on).days


def _kind(vehicle: Vehicle) -> Hashable:
    """Make, model, year and engine with case and spacing evened out."""
    return vehicle.year, *_named(vehicle.make, vehicle.model, vehicle.engine)


@lru_cache(maxsize=NAMES_KEPT)
def _named(*names: str | None) -> tuple[str, ...]:
    return tuple(even(name or "") for name in names)
