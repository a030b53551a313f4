"""Options that several commands share."""

import os
from calendar import monthrange
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from kb.bounds import LARGEST_INTEGER, MOST_COST, MOST_MINUTES
from kb.store.address import refuse_address

Option = Callable[[Callable[..., Any]], Callable[..., Any]]
"""What adds an option or argument to a command."""


def day_option(name: str, about: str, *formats: str, metavar: str | None = "DAY") -> Option:
    """Make an option that takes a day, as 2026-03-02 or in other formats, and gives a `date`."""
    return click.option(
        name,
        type=click.DateTime(formats=["%Y-%m-%d", *formats]),
        callback=lambda _ctx, _param, moment: moment and moment.date(),
        metavar=metavar,
        help=about,
    )


class CalendarSpan(click.ParamType[date]):
    """A day, a month or a year, as 2026-03-02, 2026-03 or 2026: its first day, or its last one."""

    name = "day, month or year"

    def __init__(self, *, last: bool) -> None:
        self._last = last

    def convert(
        self, value: str | date, param: click.Parameter | None, ctx: click.Context | None
    ) -> date:
        """Read a day; of a month or a year its first or last one."""
        if isinstance(value, date):
            return value
        for form, months in (("%Y-%m-%d", 0), ("%Y-%m", 1), ("%Y", 12)):
            with suppress(ValueError):
                first = datetime.strptime(value, form).date()
                return _last_day(first, months) if self._last and months else first
        told = "is no day, month or year, as 2026-03-02, 2026-03 or 2026"
        raise click.BadParameter(f"{value!r} {told}.", ctx, param)


def _last_day(first: date, months: int) -> date:
    last_month = first.month + months - 1
    return first.replace(month=last_month, day=monthrange(first.year, last_month)[1])


def since_option(about: str) -> Option:
    """Make the option ``--since``, for which a month or a year is enough; it gives a `date`."""
    return click.option("--since", type=CalendarSpan(last=False), metavar="DAY", help=about)


def until_option(about: str) -> Option:
    """Make the option ``--until``, for which a month or a year is enough; it gives a `date`."""
    return click.option("--until", type=CalendarSpan(last=True), metavar="DAY", help=about)


JOB = click.IntRange(1, LARGEST_INTEGER)
"""The number of a job, or of one of its changes."""
HOW_MANY = click.IntRange(1, 100_000)
"""How many of something to show."""
MINUTES = click.IntRange(0, MOST_MINUTES)
COST = click.FloatRange(0, MOST_COST)


class FilePath(click.Path):
    """The path of a file: no address of a database, and no dash, which elsewhere is the screen."""

    def __init__(self, **how: Any) -> None:
        super().__init__(path_type=Path, **how)

    def convert(
        self,
        value: str | os.PathLike[str],
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> Any:
        """Read a path; what may hold a password is refused before anybody repeats it."""
        name = os.fspath(value)
        refuse_address(name)
        if name == "-" and not self.allow_dash:
            self.fail("'-' names no file here; give one (or ./- for one of that name).", param, ctx)
        return super().convert(value, param, ctx)
