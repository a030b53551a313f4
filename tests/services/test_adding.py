"""Tests of what a line adds to a job."""

from datetime import date

import pytest

from kb.services.adding import add_line
from kb.services.keeping import keep
from kb.services.new_job import Opening, open_job

DAY = date(2026, 3, 2)


def test_a_code_that_the_job_has_is_not_stored_a_second_time_and_said(empty_store: str) -> None:
    opened = open_job(empty_store, Opening(text="hard start, P0087"), today=DAY)
    number = keep(empty_store, opened).job.number or 0
    draft = add_line(empty_store, number, "P0087 came back, U0100, P0087-16", today=DAY)
    assert [str(code) for code in draft.job.codes] == ["P0087", "U0100", "P0087-16"]
    assert any(notice.startswith("P0087 is on the job already") for notice in draft.notices)


def test_trouble_of_another_part_leaves_the_cure_and_says_so(empty_store: str) -> None:
    opened = open_job(empty_store, Opening(text="LF window dead, horn dead"), today=DAY)
    number = keep(empty_store, opened).job.number or 0
    fixed = add_line(empty_store, number, "window motor LF replaced, window works", today=DAY)
    keep(empty_store, fixed)
    for line, cured in (("horn still dead", True), ("window still dead", False)):
        draft = add_line(empty_store, number, line, today=DAY)
        assert draft.job.attempts[0].cured is cured
        assert any("another fault" in notice for notice in draft.notices) is cured


@pytest.mark.parametrize(
    ("complaint", "fix", "trouble", "cured"),
    [
        (
            "AC warm at idle, fan noisy",
            "condenser fan renewed, AC cold",
            "rattle still there",
            True,
        ),
        ("AC warm at idle, fan noisy", "condenser fan renewed, AC cold", "AC warm again", False),
        ("AC warm at idle, fan noisy", "condenser fan renewed, AC cold", "still there", False),
        ("AC warm at idle, fan noisy", "condenser fan renewed, cured", "fault back", False),
        ("knock over bumps", "droplink renewed, knock gone", "rattle still there", False),
    ],
)
def test_trouble_that_may_be_another_part_of_a_complaint_leaves_the_cure_and_says_so(
    empty_store: str, complaint: str, fix: str, trouble: str, cured: bool
) -> None:
    keep(empty_store, open_job(empty_store, Opening(text=complaint), today=DAY))
    keep(empty_store, add_line(empty_store, 1, fix, today=DAY))
    draft = add_line(empty_store, 1, trouble, today=DAY)
    assert draft.job.attempts[-1].cured is cured
    assert (draft.cure_in_doubt is not None) is cured
    assert draft.cure_in_doubt is None or draft.cure_in_doubt in draft.notices
