"""No fix is stored as cured because something is absent that nobody complained of."""

from datetime import date

import pytest

from kb.intake.single_facts import parse_attempt
from kb.services.adding import add_line, add_part
from kb.services.closing import Closing, close_job
from kb.services.keeping import keep
from kb.services.new_job import Opening, open_job
from kb.settings import Settings

DAY = date(2026, 3, 2)
NO_CURE = ["topped up coolant 1.2 l, no leak", "replaced sump gasket, no codes stored"]


def _opened(address: str, complaint: str) -> int:
    return keep(address, open_job(address, Opening(text=complaint), today=DAY)).job.number or 0


@pytest.mark.parametrize("line", NO_CURE)
def test_an_absence_that_nobody_complained_of_cures_nothing(empty_store: str, line: str) -> None:
    number = _opened(empty_store, "no crank, clicks once")
    draft = add_line(empty_store, number, line, today=DAY)
    assert [each.cured for each in draft.job.attempts] == [None]
    assert any("nobody complained of" in notice for notice in draft.notices)
    part = add_part(empty_store, number, parse_attempt(line), line, today=DAY)
    assert part.job.attempts[-1].cured is None
    closing = Closing(cause="starter: worn", fix=line)
    assert (
        close_job(empty_store, number, closing, Settings(), today=DAY).job.attempts[-1].cured
        is None
    )


@pytest.mark.parametrize("line", NO_CURE)
def test_where_it_was_complained_of_it_is_a_cure(empty_store: str, line: str) -> None:
    number = _opened(empty_store, "losing coolant, EML on")
    assert add_line(empty_store, number, line, today=DAY).job.attempts[-1].cured is True


def test_a_cure_told_by_itself_stands(empty_store: str) -> None:
    number, line = _opened(empty_store, "no crank, clicks once"), NO_CURE[0]
    told = add_part(empty_store, number, parse_attempt(line), line, cure_told=True, today=DAY)
    assert told.job.attempts[-1].cured is True
    closing = Closing(cause="starter: worn", fix=line, cured=True)
    ended = close_job(empty_store, number, closing, Settings(), today=DAY)
    assert ended.job.attempts[-1].cured is True


def test_a_later_line_of_it_gives_the_last_fix_no_cure(empty_store: str) -> None:
    number = _opened(empty_store, "no crank, clicks once")
    keep(empty_store, add_line(empty_store, number, "replaced starter", today=DAY))
    assert add_line(empty_store, number, "no longer leaks", today=DAY).job.attempts[0].cured is None
    assert add_line(empty_store, number, "starts now", today=DAY).job.attempts[0].cured is not False


@pytest.mark.parametrize(
    ("complaint", "line", "cured"),
    [
        ("clunk front left over bumps", "new drop link LF, windows work again", None),
        ("clunk front left over bumps", "new drop link LF, heater hot again", None),
        ("clunk front left over bumps", "new drop link LF, brakes fine now", None),
        ("clunk front left over bumps", "new drop link LF, starts fine", None),
        ("clunk front left over bumps", "new drop link LF, clunk gone, windows ok", True),
        ("no crank, clicks once", "replaced earth strap, starts every time", True),
        ("airbag lamp and horn dead", "replaced clock spring, horn works again", True),
        ("no heat", "replaced thermostat, heater hot", True),
    ],
)
def test_what_is_well_of_another_part_cures_nothing(
    empty_store: str, complaint: str, line: str, cured: bool | None
) -> None:
    """Common practice, no source."""
    number = _opened(empty_store, complaint)
    draft = add_line(empty_store, number, line, today=DAY)
    assert [each.cured for each in draft.job.attempts] == [cured]
    assert any("nobody complained of" in notice for notice in draft.notices) is (cured is None)
