"""What was done on a job, and by whom, as its history tells."""

from collections.abc import Iterable, Sequence
from typing import Any

from kb.case import Job
from kb.store.history import Change
from kb.troubleshooting.locks import Deed, ToldStep, supply_on


def deeds_of(job: Job, changes: Iterable[Change]) -> tuple[Deed, ...]:
    """Tell what was recorded on a job, and when and by whom."""
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


def _step(place: str, name: str, changes: Sequence[Change], *, fix: bool = False) -> ToldStep:
    own = [each for each in changes if each.field in (place, f"{place}.name")]
    names = [_name(value) for each in own for value in (each.old, each.new)]
    told = next((each for each in own if each.field == place and each.old is None), None)
    return ToldStep(
        names=tuple(dict.fromkeys(filter(None, (*names, name)))),
        fix=fix,
        who=told.who if told else None,
        at=told.at.astimezone() if told else None,
    )


def _name(value: Any) -> str | None:
    """Name of a test as a change has it, whole or alone."""
    if isinstance(value, dict):
        return value.get("name")
    return value if isinstance(value, str) else None


def _deed(job: Job, change: Change) -> Deed:
    at, who = change.at, change.who
    field, _, place = change.field.partition("[")
    index = int(place.partition("]")[0]) if place else None
    if field == "tests" and index is not None and index < len(job.tests):
        test = job.tests[index]
        return Deed(at=at, who=who, title=test.name, live=supply_on(test))
    if field == "attempts" and index is not None and index < len(job.attempts):
        return Deed(at=at, who=who, title=job.attempts[index].label)
    return Deed(at=at, who=who, live=field == "readings")
