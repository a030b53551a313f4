"""The fuel of a car that nobody told: of the shop's list and its past cars, where all agree."""

from collections.abc import Iterable
from dataclasses import dataclass

from kb.case import Vehicle, VehicleModel, same_text
from kb.intake.vehicle import FUEL_WORDS
from kb.intake.vehicle_list import lines_of

_YEARS_APART = 3
"""Model years within which another car is of the same build (by judgement)."""
_CARS_ENOUGH = 3
"""So many past cars make up for a list that does not know the model (by judgement)."""


@dataclass(frozen=True, slots=True)
class SupposedFuel:
    """The fuel that all known cars like one have, and whether the shop's list says so."""

    fuel: str
    listed: bool


def fuel_of(engine: str | None) -> str | None:
    """Return the fuel that an engine's name tells.

    Examples
    --------
    >>> fuel_of("1.6 diesel"), fuel_of("1.4 benzin"), fuel_of("1.4")
    ('diesel', 'petrol', None)
    """
    words = (engine or "").casefold().split()
    return next((FUEL_WORDS[word] for word in words if word in FUEL_WORDS), None)


def supposed_fuel(
    vehicle: Vehicle, models: Iterable[VehicleModel], past: Iterable[Vehicle]
) -> SupposedFuel | None:
    """Return the fuel of a car whose engine does not tell it, if all that is known agrees.

    Every engine of the lines of the list that it may belong to counts, and so do past cars of the
    same make and model, of years near its own. None where the car tells its fuel itself, where a
    listed engine tells none, where two differ, or where too little is known.

    Examples
    --------
    >>> tessel = VehicleModel(make="Corvane", model="Tessel", engines=("1.6 diesel", "2.0 diesel"))
    >>> car = Vehicle(make="Corvane", model="Tessel", year=2015)
    >>> supposed_fuel(car, [tessel], []).fuel
    'diesel'
    >>> other = Vehicle(make="Corvane", model="Tessel", year=2016, engine="1.4 petrol")
    >>> supposed_fuel(car, [tessel], [other]) is None
    True
    """
    if vehicle.model is None or vehicle.make is None or fuel_of(vehicle.engine):
        return None
    listed = [fuel_of(each) for line in lines_of(vehicle, models) for each in line.engines]
    driven = [fuel for car in past if _is_like(car, vehicle) and (fuel := fuel_of(car.engine))]
    fuels = {*listed, *driven}
    fuel = fuels.pop() if len(fuels) == 1 else None
    if fuel is None or not (listed or len(driven) >= _CARS_ENOUGH):
        return None
    return SupposedFuel(fuel, bool(listed))


def _is_like(car: Vehicle, vehicle: Vehicle) -> bool:
    same = same_text(car.model, vehicle.model) and same_text(car.make, vehicle.make)
    if not same or car.year is None or vehicle.year is None:
        return same
    return abs(car.year - vehicle.year) <= _YEARS_APART
