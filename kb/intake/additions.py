"""What two people did to one job at once: where it does not collide, neither has to give way."""

from dataclasses import fields, replace
from typing import Any

from kb.case import Job, Vehicle
from kb.errors import InvalidField

_LISTS = ("codes", "readings", "tests", "attempts", "contacts", "entries")
_STAND = ("closed", "void")
"""Whether a job is still worked on: what is added to it was meant for that."""


def joined(base: Job, mine: Job, theirs: Job) -> Job | None:
    """Return their job with what mine adds to the base; None if mine does anything but add.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import TroubleCode, Vehicle
    >>> base = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank")
    >>> mine = replace(base, codes=(TroubleCode(code="P0335"),))
    >>> theirs = replace(base, odometer_km=81000, codes=(TroubleCode(code="U0100"),))
    >>> [str(code) for code in joined(base, mine, theirs).codes]
    ['U0100', 'P0335']
    >>> joined(base, replace(base, odometer_km=80000), theirs) is None
    True
    """
    changed = [
        each.name for each in fields(Job) if getattr(base, each.name) != getattr(mine, each.name)
    ]
    stands = all(getattr(base, name) == getattr(theirs, name) for name in _STAND)
    if not stands or not all(name in _LISTS and _is_longer(base, mine, name) for name in changed):
        return None
    shift = len(theirs.entries) - len(base.entries)
    added: dict[str, Any] = {
        name: (
            *getattr(theirs, name),
            *(_moved(each, shift) for each in getattr(mine, name)[len(getattr(base, name)) :]),
        )
        for name in changed
    }
    return replace(theirs, **added)


def combined(base: Job, mine: Job, theirs: Job) -> tuple[Job, tuple[str, ...]]:
    """Return their job with what of mine does not collide, and the fields that do.

    A field collides where both changed it, and not alike; of a list, and of a vehicle, each part
    by itself. Where what comes of it would be no job, all of mine collides.

    Examples
    --------
    >>> from datetime import date
    >>> base = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank")
    >>> mine = replace(base, odometer_km=81000, technician="BT")
    >>> theirs = replace(base, technician="JO", vehicle=Vehicle(year=2014))
    >>> job, collide = combined(base, mine, theirs)
    >>> job.odometer_km, job.technician, job.vehicle.year, collide
    (81000, 'JO', 2014, ('technician',))
    """
    changed = [
        each.name for each in fields(Job) if getattr(base, each.name) != getattr(mine, each.name)
    ]
    place, shift = len(base.entries), len(theirs.entries) - len(base.entries)
    taken: dict[str, Any] = {}
    collide: list[str] = []
    for name in changed:
        was, one, other = (getattr(job, name) for job in (base, mine, theirs))
        if isinstance(one, tuple) and one != other:
            one = tuple(_moved(each, shift, place) for each in one)
        try:
            taken[name] = _both(was, one, other)
        except _CollisionError:
            collide.append(name)
    try:
        return replace(theirs, **taken), tuple(collide)
    except InvalidField:
        return theirs, tuple(changed)


class _CollisionError(Exception):
    """Two people changed one thing, and not alike."""


def _both(was: Any, one: Any, other: Any) -> Any:
    """Return a value with what two people did to it."""
    if one == was:
        return other
    if other in (was, one):
        return one
    if isinstance(was, tuple):
        return _both_lists(was, one, other)
    if not isinstance(was, Vehicle):
        raise _CollisionError
    parts = (each.name for each in fields(Vehicle))
    return Vehicle(
        **{
            name: _both(*(getattr(vehicle, name) for vehicle in (was, one, other)))
            for name in parts
        }
    )


def _both_lists(
    was: tuple[Any, ...], one: tuple[Any, ...], other: tuple[Any, ...]
) -> tuple[Any, ...]:
    """Return a list with what two people did to it: one alone added, or each item by itself."""
    if one[: len(was)] == was:
        return (*other, *one[len(was) :])
    if other[: len(was)] == was:
        return (*one, *other[len(was) :])
    if not len(was) == len(one) == len(other):
        raise _CollisionError
    return tuple(_both(*three) for three in zip(was, one, other, strict=True))


def _is_longer(base: Job, mine: Job, name: str) -> bool:
    before = getattr(base, name)
    return bool(getattr(mine, name)[: len(before)] == before)


def _moved(fact: Any, shift: int, place: int = 0) -> Any:
    """Return a fact that was said in an entry from a place on, when entries came before that."""
    said = getattr(fact, "said", None)
    if said is None or said.entry < place:
        return fact
    return replace(fact, said=replace(said, entry=said.entry + shift))
