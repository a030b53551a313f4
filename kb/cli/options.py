"""Options that several commands share."""

from collections.abc import Callable
from typing import Any

import click

from kb.bounds import LARGEST_INTEGER

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


def since_option(about: str) -> Option:
    """Make the option ``--since``, for which a year is enough; it gives a `date`."""
    return day_option("--since", about, "%Y", metavar=None)


JOB = click.IntRange(1, LARGEST_INTEGER)
"""The number of a job, or of one of its changes."""
HOW_MANY = click.IntRange(1, 100_000)
"""How many of something to show."""
MINUTES = click.IntRange(0, 100_000)
