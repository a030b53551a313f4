"""What two people added to one job at once: neither has to give way to the other."""

from dataclasses import fields, replace
from typing import Any

from kb.case import Job

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


def _is_longer(base: Job, mine: Job, name: str) -> bool:
    before = getattr(base, name)
    return bool(getattr(mine, name)[: len(before)] == before)


def _moved(fact: Any, shift: int) -> Any:
    """Return a fact that says in which entry it was said, when entries came before that."""
    said = getattr(fact, "said", None)
    return replace(fact, said=replace(said, entry=said.entry + shift)) if said else fact
