"""The shop's own list of vehicles: which of its lines a car belongs to."""

import re
from collections.abc import Iterable, Iterator, Sequence

from kb.case import Vehicle, VehicleModel, same_text
from kb.errors import InvalidField
from kb.intake.lifting import Doubt
from kb.patterns import compiled

_YEARS = compiled(r"\s*+([0-9]{4})?\s*+(-|–|to|on|onwards)?\s*+([0-9]{4})?\s*+", re.IGNORECASE)


def lines_of(vehicle: Vehicle, models: Iterable[VehicleModel]) -> tuple[VehicleModel, ...]:
    """Return the lines of the list that a car may belong to.

    Its model must be known; its make and year narrow the choice. With one line, the generation is
    known.

    Examples
    --------
    >>> shop = [VehicleModel(make="Corvane", model="Lido", generation="first", last_year=2016),
    ...         VehicleModel(make="Corvane", model="Lido", generation="second", first_year=2017)]
    >>> car = Vehicle(make="Corvane", model="Lido", year=2018)
    >>> [line.generation for line in lines_of(car, shop)]
    ['second']
    """
    return tuple(
        line
        for line in _of_model(vehicle, models)
        if vehicle.year is None or line.built_in(vehicle.year)
    )


def _of_model(vehicle: Vehicle, models: Iterable[VehicleModel]) -> list[VehicleModel]:
    return [
        line
        for line in models
        if same_text(line.model, vehicle.model)
        and (vehicle.make is None or same_text(line.make, vehicle.make))
    ]


def year_doubt(vehicle: Vehicle, models: Sequence[VehicleModel]) -> Iterator[Doubt]:
    """Ask about a year in which the list has no such car."""
    listed = _of_model(vehicle, models)
    if vehicle.year is not None and listed and not lines_of(vehicle, listed):
        told = ", ".join(line.label for line in listed)
        yield Doubt(str(vehicle.year), f"is no year of it on the shop's list ({told})")


def lift_generation(
    words: list[str], vehicle: Vehicle, models: Sequence[VehicleModel]
) -> tuple[VehicleModel, ...]:
    """Take the name of a generation out of the words; with the lines that bear it."""
    for line in _of_model(vehicle, models):
        named = (line.generation or "").casefold().split()
        plain = [word.casefold() for word in words]
        for start in range(len(plain) - len(named) + 1) if named else ():
            if plain[start : start + len(named)] == named:
                del words[start : start + len(named)]
                return (line,)
    return ()


def as_vehicles(models: Iterable[VehicleModel]) -> list[Vehicle]:
    """Return one car without a tag for each line and engine, to be matched like any other."""
    return [
        Vehicle(make=line.make, model=line.model, engine=engine)
        for line in models
        for engine in line.engines or (None,)
    ]


def parse_years(text: str) -> tuple[int | None, int | None]:
    """Read the first and last model year of a line, None where it is open.

    As ``2011-2016``, ``2017-`` or ``2017 on``, ``-2016``, ``2014``.

    Raises
    ------
    InvalidField
        If it is none of these.

    Examples
    --------
    >>> parse_years("2011-2016"), parse_years("2017 on"), parse_years("2014")
    ((2011, 2016), (2017, None), (2014, 2014))
    """
    match = _YEARS.fullmatch(text)
    if not match or not (match[1] or match[3]) or (match[1] and match[3] and not match[2]):
        raise InvalidField("years", text, "cannot be read; write 2011-2016, 2017- or 2014")
    first, last = (int(year) if year else None for year in (match[1], match[3]))
    return (first, first) if match[2] is None else (first, last)
