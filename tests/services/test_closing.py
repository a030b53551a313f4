"""Closing a job with a cause that the shop has a name for already."""

from datetime import date, datetime

import pytest

from kb.case import Cause, FailureMode
from kb.errors import InvalidField
from kb.safety.job_dangers import DONE_HERE
from kb.services.adding import add_line, cause_told
from kb.services.closing import Closing, close_job
from kb.services.editing import edit_job
from kb.services.keeping import keep
from kb.services.lookup import show_job
from kb.services.new_job import Opening, open_job
from kb.services.troubleshoot import working_job
from kb.settings import Settings

TODAY = date(2026, 3, 2)
REGULATOR = Cause(
    component="window regulator", location="front door", failure_mode=FailureMode.MECHANICAL_DAMAGE
)
PRINTED = "window regulator, front door: mechanical damage"


@pytest.fixture
def shop(empty_store: str) -> str:
    """A shop with one proved cause and an open job."""
    for _ in range(2):
        opening = Opening(text="window stuck", vehicle="bramwick dray 2014")
        keep(empty_store, open_job(empty_store, opening, today=TODAY))
    proved = Closing(cause=REGULATOR)
    keep(empty_store, close_job(empty_store, 1, proved, Settings(), today=TODAY))
    return empty_store


def test_a_cause_is_closed_by_the_name_it_is_printed_by(shop: str) -> None:
    assert show_job(shop, 1).job.cause == REGULATOR
    assert REGULATOR.label == PRINTED
    draft = close_job(shop, 2, Closing(cause=PRINTED), Settings(), today=TODAY)
    assert draft.job.cause == REGULATOR
    assert draft.job.entries[-1].text == PRINTED


def test_a_cause_is_edited_by_the_name_it_is_printed_by(shop: str) -> None:
    assert edit_job(shop, 2, [f"cause={PRINTED}"], today=TODAY).job.cause == REGULATOR
    assert cause_told(shop, PRINTED) == REGULATOR


@pytest.mark.parametrize(
    ("line", "told"),
    [("left a 2 ohm resistor in the side airbag plug", True), ("looked at the plug: dry", False)],
)
def test_what_may_be_left_on_a_car_is_told_before_its_job_ends(
    empty_store: str, line: str, told: bool
) -> None:
    opening = Opening(text="airbag lamp on", system="restraints")
    keep(empty_store, open_job(empty_store, opening, today=TODAY))
    keep(empty_store, add_line(empty_store, 1, line, today=TODAY), happened=True)
    closing = Closing(cause="seat connector, under seat, high resistance")
    draft = close_job(empty_store, 1, closing, Settings(), today=TODAY)
    assert (DONE_HERE in draft.notices) is told
    now = datetime(2026, 3, 2, 12).astimezone()
    working = working_job(empty_store, 1, Settings(), who="BT", now=now)
    assert (DONE_HERE in working.notices) is told


@pytest.mark.parametrize(
    ("line", "cause", "asked"),
    [
        ("replaced coil, did not cure", "coil, cylinder head, open", True),
        ("replaced coil, did not cure", "ignition coil, cylinder head, open", True),
        ("replaced coil, did not cure", "coil connector, cylinder head, open", False),
        ("replaced coil, cured", "coil, cylinder head, open", False),
        ("cleaned coil, did not cure", "coil, cylinder head, open", False),
    ],
)
def test_a_part_that_was_replaced_in_vain_is_asked_about_as_the_cause(
    empty_store: str, line: str, cause: str, asked: bool
) -> None:
    keep(empty_store, open_job(empty_store, Opening(text="misfire"), today=TODAY))
    keep(empty_store, add_line(empty_store, 1, line, today=TODAY))
    draft = close_job(empty_store, 1, Closing(cause=cause), Settings(), today=TODAY)
    assert any("cause all the same?" in notice for notice in draft.notices) is asked


@pytest.mark.parametrize(
    ("complaint", "line", "cause", "asked"),
    [
        ("airbag lamp on", "replaced thermostat, cured", "seat connector, high resistance", True),
        ("airbag lamp on", "replaced thermostat, no change", "seat connector, open", False),
        ("airbag lamp on", "cleaned seat connector, cured", "seat connector, open", False),
        ("overheats", "replaced thermostat, cured", "thermostat, stuck", False),
        ("airbag lamp on", "repaired earth strap, cured", "seat connector, open", False),
    ],
)
def test_a_cure_of_another_system_than_the_cause_is_asked_about(
    empty_store: str, complaint: str, line: str, cause: str, asked: bool
) -> None:
    keep(empty_store, open_job(empty_store, Opening(text=complaint), today=TODAY))
    keep(empty_store, add_line(empty_store, 1, line, today=TODAY))
    draft = close_job(empty_store, 1, Closing(cause=cause), Settings(), today=TODAY)
    assert any("did it cure this?" in each for each in draft.notices) is asked


def test_a_name_that_is_most_likely_a_slip_is_marked_as_one(shop: str) -> None:
    slip = Closing(cause="window regulater, rear door, broken")
    assert close_job(shop, 2, slip, Settings(), today=TODAY).misspelt
    for right in (Closing(cause=PRINTED), Closing(without_cause=True)):
        assert not close_job(shop, 2, right, Settings(), today=TODAY).misspelt


@pytest.mark.parametrize(
    ("lines", "named", "left_out"),
    [
        (["replaced coil", "cleaned earth strap"], ["replaced coil", "cleaned earth strap"], []),
        (
            ["replaced coil", "replaced plugs, did not cure", "replaced leads", "replaced relay"],
            ["replaced leads", "replaced relay"],
            ["replaced coil", "replaced plugs"],
        ),
    ],
)
def test_every_fix_that_may_have_cured_is_named_at_the_end(
    empty_store: str, lines: list[str], named: list[str], left_out: list[str]
) -> None:
    keep(empty_store, open_job(empty_store, Opening(text="misfire"), today=TODAY))
    for line in lines:
        keep(empty_store, add_line(empty_store, 1, line, today=TODAY))
    told = Closing(cause="coil, cylinder head, open")
    draft = close_job(empty_store, 1, told, Settings(), today=TODAY)
    (said,) = [each for each in draft.notices if "not told" in each]
    assert all(each in said for each in named)
    assert not any(each in said for each in left_out)


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("cleaned earth strap, did not cure", True),
        ("cleaned earth strap, cured", False),
        ("cleaned earth strap", False),
    ],
)
def test_what_cured_is_missed_where_the_only_fix_did_not(
    empty_store: str, line: str, asked: bool
) -> None:
    keep(empty_store, open_job(empty_store, Opening(text="misfire"), today=TODAY))
    keep(empty_store, add_line(empty_store, 1, line, today=TODAY))
    cause = Closing(cause="coil, cylinder head, open")
    draft = close_job(empty_store, 1, cause, Settings(), today=TODAY)
    told = [each for each in draft.notices if "what cured is not told" in each]
    assert len(told) == asked


def test_what_cured_is_told_by_a_fix_behind_the_one_in_vain(empty_store: str) -> None:
    keep(empty_store, open_job(empty_store, Opening(text="misfire"), today=TODAY))
    line = "cleaned earth strap, did not cure"
    keep(empty_store, add_line(empty_store, 1, line, today=TODAY))
    cause = Closing(cause="coil, cylinder head, open", fix="replaced coil", cured=True)
    draft = close_job(empty_store, 1, cause, Settings(), today=TODAY)
    assert not [each for each in draft.notices if "what cured is not told" in each]


def test_a_bare_number_proves_no_cause(shop: str) -> None:
    told = Closing(cause=REGULATOR, proved_by="2")
    with pytest.raises(InvalidField, match="nothing seen"):
        close_job(shop, 2, told, Settings(), today=TODAY)
