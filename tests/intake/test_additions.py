"""What two people did to one job at once."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given

from kb.case import (
    Action,
    Attempt,
    EntryKind,
    Job,
    JobEntry,
    SaidAt,
    TroubleCode,
    Vehicle,
)
from kb.intake.additions import combined
from tests.strategies import jobs

CODE = TroubleCode(code="P0335")
BASE = Job(
    vehicle=Vehicle(make="Corvane"),
    opened=date(2026, 3, 2),
    complaint="no crank",
    technician="BT",
    codes=(CODE, TroubleCode(code="U0100")),
    entries=(JobEntry(kind=EntryKind.COMPLAINT, text="no crank"),),
)


@given(jobs(), jobs())
def test_what_one_alone_did_stands_as_it_is(base: Job, changed: Job) -> None:
    assert combined(base, changed, base) == (changed, ())
    assert combined(base, base, changed) == (changed, ())
    assert combined(base, changed, changed) == (changed, ())


@pytest.mark.parametrize(
    ("mine", "theirs", "both", "collide"),
    [
        ({"odometer_km": 5}, {"notes": "key"}, {"odometer_km": 5, "notes": "key"}, ()),
        ({"technician": None}, {"notes": "key"}, {"technician": None, "notes": "key"}, ()),
        ({"technician": None}, {"technician": "JO"}, {"technician": "JO"}, ("technician",)),
        (
            {"codes": BASE.codes[:1]},
            {"codes": BASE.codes[1:]},
            {"codes": BASE.codes[1:]},
            ("codes",),
        ),
        (
            {"codes": BASE.codes[:1]},
            {"codes": (*BASE.codes, TroubleCode(code="B1310"))},
            {"codes": (CODE, TroubleCode(code="B1310"))},
            (),
        ),
        (
            {"vehicle": Vehicle(make="Corvane", year=2014)},
            {"vehicle": Vehicle(make="Sunato")},
            {"vehicle": Vehicle(make="Sunato", year=2014)},
            (),
        ),
        (
            {"closed": date(2026, 3, 4)},
            {"opened": date(2026, 3, 5)},
            {"opened": date(2026, 3, 5)},
            ("closed",),
        ),
    ],
)
def test_what_does_not_collide_is_taken_from_both(
    mine: dict[str, object],
    theirs: dict[str, object],
    both: dict[str, object],
    collide: tuple[str, ...],
) -> None:
    found = combined(
        BASE,
        replace(BASE, **mine),  # type: ignore[arg-type]
        replace(BASE, **theirs),  # type: ignore[arg-type]
    )
    assert found == (replace(BASE, **both), collide)  # type: ignore[arg-type]


def test_a_fact_still_points_at_the_words_that_told_it() -> None:
    said = JobEntry(kind=EntryKind.LINE, text="cleaned plug")
    fix = Attempt(
        action=Action.CLEANED, component="plug", said=SaidAt(entry=1, start=0, end=len(said.text))
    )
    mine = replace(BASE, attempts=(fix,), entries=(*BASE.entries, said), technician="MK")
    other = JobEntry(kind=EntryKind.LINE, text="B1310")
    theirs = replace(BASE, entries=(*BASE.entries, other))
    job, collide = combined(BASE, mine, theirs)
    assert not collide
    assert job.entries == (*BASE.entries, other, said)
    assert job.attempts[0].said == SaidAt(entry=2, start=0, end=len(said.text))
