"""What was recorded on a job, and whether it was done with the supply on."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from kb.case import DiagnosticTest, Job, Vehicle
from kb.services.deeds import deeds_of
from kb.store.history import Change

LOOK = {"name": "felt the pins", "seen": "tight"}
SCAN = {"name": "scan of live data", "seen": "2.3"}
JOB = Job(
    vehicle=Vehicle(),
    opened=date(2026, 3, 2),
    complaint="airbag lamp on",
    tests=(DiagnosticTest(name="visual check", seen="nothing"),),
)


def is_live(field: str, old: Any, new: Any) -> bool:
    at = datetime(2026, 3, 2, 10, tzinfo=UTC)
    change = Change(sequence=1, job=1, at=at, who="BT", field=field, old=old, new=new)
    return deeds_of(JOB, [change])[0].live


def test_a_look_leaves_the_supply_off() -> None:
    assert not is_live("tests[0]", None, LOOK)


@pytest.mark.parametrize(
    ("field", "old", "new"),
    [
        ("tests[0]", None, SCAN),  # reworded since
        ("tests[5]", None, SCAN),  # removed since
        ("tests[5]", SCAN, None),
        ("attempts[0]", None, {"action": "reseated", "component": "battery", "words": "key on"}),
        ("codes[0]", None, {"code": "B0012"}),
        ("contacts[0]", None, {"words": "drove away and came back"}),
        ("notes", None, "battery back on, engine running"),
        ("entries[3]", None, {"kind": "line", "text": "ignition back on, lamp still on"}),
        ("entries[3]", None, {"kind": "line", "text": "moved the car off the ramp"}),
        ("closed", "2026-03-02", None),
        ("void", "twice", None),
    ],
)
def test_what_may_have_had_it_on_stays_so_whatever_became_of_it(
    field: str, old: Any, new: Any
) -> None:
    assert is_live(field, old, new)
