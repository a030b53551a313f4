"""Which visits are one car's.

A car is known by its ref, else by its vin; a job that tells neither has a car of its own. What
one visit tells of a car holds for all of its visits.
"""

from collections.abc import Iterable
from functools import reduce
from typing import Any

from sqlalchemy import Connection, delete, func, insert, or_, select, update

from kb.case import Vehicle
from kb.store.changes import Changes
from kb.store.mapping import VEHICLE_FIELDS, merged, vehicle_row
from kb.store.tables import JOBS, VEHICLES

Known = tuple[int, Vehicle]


class Cars:
    """The cars of the store; the key of a car never leaves this room."""

    def __init__(self, connection: Connection, changes: Changes) -> None:
        self._connection = connection
        self._changes = changes

    def admit(self, vehicle: Vehicle) -> Known:
        """Find the car of a new job, with gaps filled from both sides, or make it.

        Raises
        ------
        Conflict
            If the job contradicts what the store knows of the car.
        """
        known = self._matching(vehicle)
        if not known:
            query = insert(VEHICLES).values(vehicle_row(vehicle)).returning(VEHICLES.c.id)
            return self._connection.execute(query).scalar_one(), vehicle
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
        own = self._of_job(job)
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
        same = []
        if vehicle.ref is not None:
            same.append(VEHICLES.c.ref == vehicle.ref)
        if vehicle.vin is not None:
            same.append(VEHICLES.c.vin == vehicle.vin)
        if not same:
            return []
        rows = self._connection.execute(select(VEHICLES.c.id, *vehicle_columns()).where(or_(*same)))
        known = [(row[0], vehicle_of(row[1:])) for row in rows]
        return sorted(known, key=lambda car: car[1].ref != vehicle.ref)

    def _of_job(self, job: int) -> Known:
        query = select(VEHICLES.c.id, *vehicle_columns()).join(JOBS).where(JOBS.c.number == job)
        row = self._connection.execute(query).one()
        return row[0], vehicle_of(row[1:])

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
        return keep, united

    def _tell(self, job: int, before: Vehicle, after: Vehicle) -> None:
        for name in VEHICLE_FIELDS:
            old, new = getattr(before, name), getattr(after, name)
            if old != new:
                self._changes.note(job, f"vehicle.{name}", old, new)


def vehicle_columns() -> list[Any]:
    """Columns of a vehicle, in the order of its fields."""
    return [VEHICLES.c[name] for name in VEHICLE_FIELDS]


def vehicle_of(values: Iterable[Any]) -> Vehicle:
    """Build a vehicle from its columns."""
    return Vehicle(**dict(zip(VEHICLE_FIELDS, values, strict=True)))


def _identity(vehicle: Vehicle) -> str | None:
    return vehicle.ref or vehicle.vin
