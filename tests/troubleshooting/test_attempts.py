"""What was tried on an open job, and whether it is still cured."""

from datetime import date

import pytest

from kb.case import Action, Attempt, Contact, Job, Outcome, SaidAt, Vehicle
from kb.troubleshooting.attempts import cure_of, in_vain

DAY = date(2026, 3, 2)


def fix(component: str, cured: bool | None, entry: int | None = None) -> Attempt:
    said = None if entry is None else SaidAt(entry=entry, start=0, end=1)
    return Attempt(action=Action.REPLACED, component=component, cured=cured, said=said)


def back(entry: int | None = None, outcome: Outcome = Outcome.COMEBACK) -> Contact:
    said = None if entry is None else SaidAt(entry=entry, start=0, end=1)
    return Contact(on=DAY, outcome=outcome, said=said)


@pytest.mark.parametrize(
    ("attempts", "contacts", "cure", "vain"),
    [
        ((), (), None, []),
        ((fix("coil", None),), (), None, []),
        ((fix("coil", True),), (), "coil", []),
        ((fix("plug", False), fix("coil", True)), (), "coil", ["plug"]),
        ((fix("coil", True), fix("plug", False)), (), None, ["plug"]),
        ((fix("coil", True),), (back(),), None, ["coil"]),
        ((fix("coil", None),), (back(),), None, ["coil"]),
        ((fix("coil", None), fix("plug", None)), (back(),), None, ["plug"]),
        ((fix("plug", None, 3),), (back(2),), None, []),
        ((fix("coil", True),), (back(outcome=Outcome.HELD),), "coil", []),
        ((fix("coil", True, 1), fix("plug", True, 3)), (back(2),), "plug", ["coil"]),
        ((fix("coil", True, 1), fix("plug", True, 3)), (back(4),), None, ["coil", "plug"]),
    ],
)
def test_a_cure_stands_until_the_fault_is_back(
    attempts: tuple[Attempt, ...],
    contacts: tuple[Contact, ...],
    cure: str | None,
    vain: list[str],
) -> None:
    job = Job(
        vehicle=Vehicle(), opened=DAY, complaint="misfires", attempts=attempts, contacts=contacts
    )
    found = cure_of(job)
    assert (found.component if found else None) == cure
    assert [each.component for each in in_vain(job)] == vain
    assert all(each.cured is False for each in in_vain(job))
