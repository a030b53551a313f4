"""What was done on a job, and by whom, as its history tells."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from kb.case import DiagnosticTest, Job
from kb.local_time import local
from kb.store.history import Change
from kb.troubleshooting.locks import Deed, ToldStep, supply_on, tells_on


def deeds_of(job: Job, changes: Iterable[Change]) -> tuple[Deed, ...]:
    """Tell what was recorded on a job, and when and by whom.

    A step is judged by all that it ever was: what was removed or reworded was done all the same.
    """
    return tuple(_deed(job, change) for change in changes)


def steps_of(job: Job, changes: Sequence[Change]) -> tuple[ToldStep, ...]:
    """Return the tests of a job, and the fixes that were told one by one.

    Fixes that came with a whole job, as an import's do, are history: nobody could confirm here.
    """
    tests = [_step(f"tests[{at}]", each.name, changes) for at, each in enumerate(job.tests)]
    fixes = [
        _step(f"attempts[{at}]", each.label, changes, fix=True)
        for at, each in enumerate(job.attempts)
    ]
    return (*tests, *(each for each in fixes if each.at is not None))


def imported(job: Job, changes: Iterable[Change]) -> tuple[int, ...]:
    """Return the places of confirmations that nobody gave on this very job: they open nothing.

    They came with the whole job, as an import's do.
    """
    here = {change.field for change in changes}
    places = range(len(job.confirmations))
    return tuple(place for place in places if f"confirmations[{place}]" not in here)


def _step(place: str, name: str, changes: Sequence[Change], *, fix: bool = False) -> ToldStep:
    own = [each for each in changes if each.field in (place, f"{place}.name")]
    names = [_name(value) for each in own for value in (each.old, each.new)]
    told = next((each for each in own if each.field == place and each.old is None), None)
    return ToldStep(
        names=tuple(dict.fromkeys(filter(None, (*names, name)))),
        fix=fix,
        who=told.who if told else None,
        at=local(told.at) if told else None,
    )


def _name(value: Any) -> str | None:
    """Name of a test as a change has it, whole or alone."""
    if isinstance(value, dict):
        return value.get("name")
    return value if isinstance(value, str) else None


def _deed(job: Job, change: Change) -> Deed:
    at, who = change.at, change.who
    field, _, place = change.field.partition("[")
    index = int(place.partition("]")[0].partition(".")[0]) if place else None
    told = " ".join((*_texts(change.old), *_texts(change.new)))
    if field == "tests":
        now = job.tests[index] if index is not None and index < len(job.tests) else None
        tests = [*map(_test, (change.old, change.new)), now]
        live = any(map(supply_on, filter(None, tests)))
        return Deed(at=at, who=who, title=now.name if now else None, live=live or tells_on(told))
    if field == "attempts":
        known = index is not None and index < len(job.attempts)
        title = job.attempts[index].label if known and index is not None else None
        return Deed(at=at, who=who, title=title, live=tells_on(told) or _is_reversed(change))
    if field in _TOLD_BESIDE:
        return Deed(at=at, who=who, live=tells_on(told))
    of_car = field.partition(".")[0] == "vehicle"
    return Deed(at=at, who=who, live=field in _WITH_SUPPLY, of_car=of_car)


_TOLD_BESIDE = frozenset(["notes", "conditions", "complaint", "proved_by", "entries"])
"""Fields that tell what was done beside the steps; entries keep what stayed words only."""
_WITH_SUPPLY = frozenset(["readings", "codes", "contacts", "closed", "void"])
"""Fields that change with a reading, with the tester on, or with the car leaving the step."""


def _is_reversed(change: Change) -> bool:
    """Whether a step was removed again: nobody knows what the car had meanwhile."""
    return change.new is None


def _test(value: Any) -> DiagnosticTest | None:
    """Return a test as a change has it, if it has all of one."""
    if not isinstance(value, dict) or not value.get("name"):
        return None
    return DiagnosticTest(name=str(value["name"]), seen=str(value.get("seen") or "nothing"))


def _texts(value: Any) -> Iterator[str]:
    """Yield every text inside a value of a change."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from _texts(each)
    elif isinstance(value, list):
        for each in value:
            yield from _texts(each)
