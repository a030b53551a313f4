"""Tests of what a line adds to a job."""

from datetime import date

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
