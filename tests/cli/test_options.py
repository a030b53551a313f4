"""Days, months and years that several commands take."""

from calendar import monthrange
from contextlib import suppress
from datetime import date

import click
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from kb.cli.options import CalendarSpan, since_option, until_option


@given(st.dates(min_value=date(1900, 1, 1)))
def test_a_month_and_a_year_stand_for_their_first_or_last_day(day: date) -> None:
    def first(text: str) -> date:
        return CalendarSpan(last=False).convert(text, None, None)

    def last(text: str) -> date:
        return CalendarSpan(last=True).convert(text, None, None)

    assert first(f"{day}") == last(f"{day}") == day
    assert first(f"{day:%Y-%m}") == day.replace(day=1)
    assert last(f"{day:%Y-%m}") == day.replace(day=monthrange(day.year, day.month)[1])
    assert first(f"{day:%Y}") == date(day.year, 1, 1)
    assert last(f"{day:%Y}") == date(day.year, 12, 31)


@given(st.text(alphabet="0123456789-/ x", max_size=11))
def test_anything_else_is_a_slip_and_never_a_traceback(text: str) -> None:
    with suppress(click.BadParameter):
        assert isinstance(CalendarSpan(last=True).convert(text, None, None), date)


def test_a_slip_is_told_with_what_may_be_typed() -> None:
    with pytest.raises(click.BadParameter, match="'2025-13' is no day, month or year, as 2026-03"):
        CalendarSpan(last=True).convert("2025-13", None, None)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--since", "2025-02", "--until", "2024-02"], "2025-02-01 2024-02-29"),
        (["--until", "2025"], "None 2025-12-31"),
    ],
)
def test_the_options_give_days(words: list[str], told: str) -> None:
    @click.command()
    @since_option("From.")
    @until_option("To.")
    def command(since: date | None, until: date | None) -> None:
        click.echo(f"{since} {until}")

    assert CliRunner().invoke(command, words).output.strip() == told
