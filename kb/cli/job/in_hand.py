"""Which job is meant: the number that was given, else the job in hand, else the answer."""

from datetime import date
from functools import partial

from kb.case import System
from kb.cli.job.asking import need, whole_number
from kb.cli.job.typed import NUMBER, desk_of, typed_now
from kb.cli.main import App
from kb.cli.output import at_terminal, confirm, print_page, say
from kb.errors import InvalidField, NoSuchJob
from kb.intake.items import trade_wording
from kb.reports import layout
from kb.reports.job import car
from kb.safety.hazards import Situation, cautions_of
from kb.services.lookup import show_job


def job_meant(
    app: App,
    number: int | None,
    *,
    in_hand: bool = True,
    asks: bool = True,
    proposes: bool = False,
) -> int:
    """Return the job that is meant, and say which car it is where its number was not given.

    Without a number it is the job of the answers that are gone on with, else the job in hand, if
    it is open; one taken on an earlier day only if somebody says so. Without a terminal the number
    has to be given (but see `in_hand_now`); at one, it is asked for until such a job is there, and
    an open one is then in hand. With `in_hand` False no open job can be meant, and so not that one.
    `asks` tells whether something is asked before the command itself looks at the job. What
    `proposes` what to do next asks under the caution for igniters, which no job has ruled out yet.
    """
    typed = typed_now()
    if number is None and at_terminal():
        number = typed.job or (_in_hand(app) if in_hand else None)
    if number is None:
        if proposes and at_terminal():
            worst = Situation(systems=(System.RESTRAINTS,))
            print_page(layout.page(*layout.cautions(cautions_of(worst, trade_wording()))))
        number = need(number, NUMBER, partial(_there, app))
        typed.unsaid(NUMBER)
        if show_job(app.address, number).job.state == "open":
            desk_of(app).take(number, date.today())
    elif asks and at_terminal():
        show_job(app.address, number)
    typed.job = number
    return number


def in_hand_now(app: App) -> int | None:
    """Return the open job that was taken in hand today, and say which it is; None if none was."""
    held = desk_of(app).in_hand()
    return _in_hand(app) if held is not None and held.since == date.today() else None


def _there(app: App, text: str) -> int:
    """Read the number of a job that is there."""
    number = whole_number(text)
    try:
        show_job(app.address, number)
    except NoSuchJob:
        raise InvalidField("job", text, "is not there; kb job list shows those that are") from None
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
        if not confirm(f"Is it still {name}?", default=False):
            desk.take(None, date.today())
            return None
        desk.take(held.job, date.today())
    else:
        say(f"This is for {name}; another: kb job use NUMBER", err=True)
    return held.job
