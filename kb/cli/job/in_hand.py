"""Which job is meant: the number that was given, else the job in hand, else the answer."""

from datetime import date
from functools import partial

import click

from kb.cli.job.asking import need, whole_number
from kb.cli.job.typed import NUMBER, desk_of, typed_now
from kb.cli.main import App
from kb.cli.output import at_terminal
from kb.errors import InvalidField, NoSuchJob
from kb.reports.job import car
from kb.services.lookup import show_job


def job_meant(app: App, number: int | None, *, asks: bool = True) -> int:
    """Return the job that is meant, and say which car it is where its number was not given.

    Without a number it is the job in hand, if it is open; one taken on an earlier day only if
    somebody says so. Without a terminal the number has to be given; at one, that of a job that is
    not there is asked for again, and never kept with what was typed.

    Parameters
    ----------
    asks : bool
        Whether something is asked before the command itself looks at the job.
    """
    typed = typed_now()
    if number is None and at_terminal():
        kept = typed.offered.pop(NUMBER, None)
        number = _in_hand(app) if kept is None else _named(app, kept)
    elif number is not None and asks and at_terminal():
        show_job(app.address, number)
    number = need(number, NUMBER, partial(_there, app))
    typed.note(NUMBER, number)
    return number


def _there(app: App, text: str) -> int:
    """Read the number of a job that is there."""
    number = whole_number(text)
    try:
        show_job(app.address, number)
    except NoSuchJob:
        raise InvalidField("job", text, "is not there; kb job list shows those that are") from None
    return number


def _named(app: App, kept: str) -> int | None:
    """Say which car the job is that answers were kept for; None if it is not there."""
    try:
        number = _there(app, kept)
    except InvalidField as error:
        click.echo(f"  {error}")
        return None
    click.echo(f"This is for job {number}, {car(show_job(app.address, number).job.vehicle)}")
    return number


def _in_hand(app: App) -> int | None:
    desk = desk_of(app)
    held = desk.in_hand()
    if held is None:
        return None
    try:
        job = show_job(app.address, held.job).job
    except NoSuchJob:
        desk.take(None, date.today())
        return None
    if job.state != "open":
        return None
    name = f"job {held.job}, {car(job.vehicle)}"
    if held.since != date.today():
        if not click.confirm(f"Is it still {name}?", default=False):
            desk.take(None, date.today())
            return None
        desk.take(held.job, date.today())
    else:
        click.echo(f"This is for {name}; another: kb job use NUMBER", err=True)
    return held.job
