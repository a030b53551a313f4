"""Which visits are one car's.

A car is known by its ref, else by its vin; a job that tells neither has a car of its own. What
one visit tells of a car holds for all of its visits.
"""

from collections import defaultdict
from collections.abc import Iterable
from functools import reduce
from typing import Any

from sqlalchemy import Connection, delete, func, or_, select, update

from kb.case import Vehicle, tag_key
from kb.store.changes import Changes, Recording
from kb.store.mapping import VEHICLE_FIELDS, merged, vehicle_row
from kb.store.tables import JOBS, VEHICLES
from kb.store.transaction import Transaction, batches

Known = tuple[int, Vehicle]
Key = tuple[str, str]
"""Column and value that tell one car from all others."""
_NO_SIGNS = str.maketrans("", "", " \t-‐‑‒–—―._/")
"""Leaves out all that `kb.case.tag_key` does, and between digits as well: what may be one tag."""


class Cars(Recording):
    """The cars of the store; the key of a car never leaves this room."""

    def __init__(self, transaction: Transaction, changes: Changes) -> None:
        super().__init__(transaction, changes)
        self._seen: dict[Key, Known | None] = {}

    def look_ahead(self, vehicles: Iterable[Vehicle]) -> None:
        """Read with one statement what `admit` would ask about each of these vehicles."""
        vehicles = list(vehicles)
        self._seen = dict.fromkeys(key for vehicle in vehicles for key in _keys(vehicle))
        same = [
            column.in_([value for name, value in self._seen if name == column.key])
            for column in (VEHICLES.c.ref, VEHICLES.c.vin)
        ]
        for known in self._read(or_(*same)):
            self._note(known)

    def admit(self, vehicle: Vehicle) -> Known:
        """Find the car of a new job, with gaps filled from both sides, or make it.

        Raises
        ------
        Conflict
            If the job contradicts what the store knows of the car.
        """
        known = self._matching(vehicle)
        if not known:
            made = self._transaction.insert(VEHICLES, vehicle_row(vehicle)), vehicle
            self._note(made)
            return made
        return self._unite(known, reduce(merged, [car for _, car in known] + [vehicle]))

    def correct(self, job: int, vehicle: Vehicle) -> Known:
        """Settle the car of a stored job whose vehicle was edited.

        An edit that leaves the car's ref (or vin) corrects the car for all its jobs; one that
        changes it moves the job to the other car.

        Raises
        ------
        Conflict
            If the edit contradicts what the store knows of the other car.
        """
        self._seen.clear()
        visited = select(JOBS.c.vehicle_id).where(JOBS.c.number == job)
        (own,) = self._read(VEHICLES.c.id.in_(visited))
        visits = self._connection.scalar(
            select(func.count()).select_from(JOBS).where(JOBS.c.vehicle_id == own[0])
        )
        if _identity(vehicle) != _identity(own[1]) and visits != 1:
            return self.admit(vehicle)
        others = [car for car in self._matching(vehicle) if car[0] != own[0]]
        united = reduce(merged, [car for _, car in others], vehicle)
        return self._unite([own, *others], united, besides=job)

    def _matching(self, vehicle: Vehicle) -> list[Known]:
        """Find the cars with that ref or vin: none, one, or two; the one with the ref first."""
        keys = _keys(vehicle)
        if not all(key in self._seen for key in keys):
            self.look_ahead([vehicle])
        known = {car[0]: car for key in keys if (car := self._seen[key])}
        return sorted(known.values(), key=lambda car: car[1].ref != vehicle.ref)

    def _note(self, known: Known) -> None:
        for key in _keys(known[1]):
            self._seen[key] = known

    def _read(self, wanted: Any) -> list[Known]:
        query = select(VEHICLES.c.id, *vehicle_columns()).where(wanted)
        return [(row[0], vehicle_of(row[1:])) for row in self._connection.execute(query)]

    def _unite(self, cars: list[Known], united: Vehicle, besides: int | None = None) -> Known:
        """Make the cars one, the first; its jobs' history (`besides` the edited one) tells it."""
        keep, first = cars[0]
        if len(cars) == 1 and first == united:
            return keep, first
        for key, before in cars:
            visits = select(JOBS.c.number).where(JOBS.c.vehicle_id == key)
            for number in self._connection.scalars(visits).all():
                if number != besides:
                    self._tell(number, before, united)
        for key, _ in cars[1:]:
            moved = update(JOBS).where(JOBS.c.vehicle_id == key).values(vehicle_id=keep)
            self._connection.execute(moved)
            self._connection.execute(delete(VEHICLES).where(VEHICLES.c.id == key))
        renewed = update(VEHICLES).where(VEHICLES.c.id == keep).values(vehicle_row(united))
        self._connection.execute(renewed)
        self._note((keep, united))
        return keep, united

    def _tell(self, job: int, before: Vehicle, after: Vehicle) -> None:
        for name in VEHICLE_FIELDS:
            old, new = getattr(before, name), getattr(after, name)
            if old != new:
                self._changes.note(job, f"vehicle.{name}", old, new)


def spelt_alike(connection: Connection) -> dict[int, int]:
    """Return of cars whose key tags are one in two spellings the first of them, by each.

    As "K-031" and "k031" are (`kb.case.tag_key`). Cars that contradict each other in what else is
    known of them are not joined; `kb review --health` names them.
    """
    told = select(VEHICLES.c.id, VEHICLES.c.ref).where(VEHICLES.c.ref.is_not(None))
    spelt: dict[str, list[int]] = defaultdict(list)
    for key, ref in connection.execute(told).all():
        if not isinstance(ref, str):  # spoilt: it is none of two spellings
            continue
        spelt[ref.casefold().translate(_NO_SIGNS)].append(key)
    alike = [key for keys in spelt.values() if len(keys) > 1 for key in keys]
    if not alike:
        return {}
    query = select(VEHICLES.c.id, *vehicle_columns())
    rows = [
        row
        for some in batches(sorted(alike))
        for row in connection.execute(query.where(VEHICLES.c.id.in_(some)).order_by(VEHICLES.c.id))
    ]
    first: dict[str, list[Known]] = defaultdict(list)
    found: dict[int, int] = {}
    for key, *values in rows:
        car = vehicle_of(values)
        known = first[tag_key(car.ref or "")]
        same = next((one for one, other in known if may_be_one(other, car)), None)
        if same is None:
            known.append((key, car))
        else:
            found |= {same: same, key: same}
    return found


def may_be_one(one: Vehicle, other: Vehicle) -> bool:
    """Whether nothing that is told of two cars, but how their tags are spelt, says they are two.

    Examples
    --------
    >>> may_be_one(Vehicle(ref="K-1", make="corvane"), Vehicle(ref="k1", year=2016))
    True
    """
    return all(
        None in (mine, others) or mine == others
        for mine, others in (
            (getattr(one, name), getattr(other, name)) for name in VEHICLE_FIELDS if name != "ref"
        )
    )


def vehicle_columns() -> list[Any]:
    """Columns of a vehicle, in the order of its fields."""
    return [VEHICLES.c[name] for name in VEHICLE_FIELDS]


def vehicle_of(values: Iterable[Any]) -> Vehicle:
    """Build a vehicle from its columns."""
    return Vehicle(**dict(zip(VEHICLE_FIELDS, values, strict=True)))


def _keys(vehicle: Vehicle) -> list[Key]:
    keys = (("ref", vehicle.ref), ("vin", vehicle.vin))
    return [(name, value) for name, value in keys if value is not None]


def _identity(vehicle: Vehicle) -> str | None:
    return vehicle.ref or vehicle.vin
