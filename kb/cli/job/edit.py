"""`kb job edit` and `kb job remove`: what a job tells, by its number on the page or its field."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import click

from kb.cli.job.asking import (
    ask,
    keep_shown,
    need,
    number_argument,
    parsed,
    recording_options,
    whole_number,
)
from kb.cli.job.in_hand import job_meant
from kb.cli.main import App
from kb.cli.output import at_terminal, print_page
from kb.errors import InvalidField, NotAgreed
from kb.intake.parts import field_of
from kb.reports.job import part_line, render_sheet
from kb.services.lookup import JobSheet, show_job
from kb.services.mending import edit_part, last_of_another, remove_part
from kb.services.record import Draft, edit_job

part_argument = click.argument(
    "part", callback=parsed(whole_number), required=False, metavar="[NUMBER]"
)
WHICH = "Number of what to change, or FIELD=VALUE"
LEAVE = "(empty: leave all as it is)"


at_option = click.option(
    "--at",
    type=click.IntRange(min=1),
    metavar="CHANGE",
    help="Last change of the job as NUMBER was read; asked for where somebody else wrote to it.",
)


@click.command()
@number_argument
@part_argument
@at_option
@click.argument("text", nargs=-1, metavar="[TEXT]...")
@click.option("--set", "edits", multiple=True, metavar="FIELD=VALUE", help="May be repeated.")
@recording_options
@click.pass_obj
def edit(
    app: App,
    number: int | None,
    part: int | None,
    at: int | None,
    text: tuple[str, ...],
    edits: tuple[str, ...],
    yes: bool,
    as_json: bool,
) -> None:
    """Change what a job tells; every change is kept in its history.

    NUMBER is the one on the page of kb job show, and TEXT what should stand there instead,
    written as it is told elsewhere; with a NUMBER, --set sets fields of that part alone. Without
    one a field is a path: complaint, odometer_km, vehicle.year, cause.component,
    readings[0].typed. An empty value takes the field away; the place behind the last item adds
    one. The fields are those of 'kb schema'. Called bare at a terminal it asks, and can be left.

    \b
    Examples:
      kb job edit 12 7 "RF pretensioner 2.7 ohm"
      kb job edit 12 9 --set cured=no
      kb job edit 12 --set odometer_km=81500 --set "vehicle.engine=1.4 petrol"
      kb job edit 12 --set "codes=B1234-13 stored, U0100" --set notes=
    """
    number = job_meant(app, number, asks=False)
    words = " ".join(text)
    if part is not None and (words or edits):
        draft = edit_part(app.address, number, part, words, edits, today=date.today())
        draft = _checked_number(app, draft, part, at, asked=at_terminal() and not (yes or as_json))
    elif edits:
        draft = edit_job(app.address, number, edits, today=date.today())
    elif at_terminal():
        found = _asked(app, number, part)
        if found is None:
            click.echo("Nothing was changed.")
            return
        draft = found
    else:
        raise click.UsageError("Give what to set: --set odometer_km=81500, or NUMBER and TEXT")
    keep_shown(app, draft, done="Job {number} is changed.", yes=yes, as_json=as_json)


def _asked(app: App, number: int, part: int | None) -> Draft | None:
    """Show the job, and ask what to change in it; None to leave it."""
    sheet = show_job(app.address, number, hours=app.hours)
    print_page(render_sheet(sheet))
    if part is None:
        answer = ask(WHICH, lambda text: _checked(sheet, text), hint=LEAVE)
        if answer is None:
            return None
        if "=" in answer:
            return edit_job(app.address, number, [answer], today=date.today())
        part = whole_number(answer)
    field = field_of(sheet.job, part)

    def anew(text: str) -> Draft:
        return edit_part(app.address, number, part, text, today=date.today())

    return ask(f"{part}, {field}, anew", anew, hint="(empty: leave it as it is)")


def _checked(sheet: JobSheet, text: str) -> str:
    if "=" not in text:
        if not text.isdecimal():
            raise InvalidField("edit", text, "is no number on the page, and no field=value")
        field_of(sheet.job, whole_number(text))
    return text


def _checked_number(app: App, draft: Draft, part: int, at: int | None, *, asked: bool) -> Draft:
    """Name what a number on a page stands for; refuse it where it may have moved, and nobody looks.

    Raises
    ------
    NotAgreed
        If somebody else wrote to the job a short time ago, or it changed since `at`.
    """
    sheet = show_job(app.address, draft.job.number or 0)
    job = sheet.job
    named = f"Number {part} is: {part_line(sheet, field_of(job, part))}"
    lately = datetime.now().astimezone() - timedelta(hours=app.settings.mending.moved_hours)
    since = lately if at is None else None
    last = last_of_another(app.address, job.number or 0, app.who, since=since)
    if last and not asked and at != last.sequence:
        raise NotAgreed(
            f"number: {last.who or 'somebody'} wrote to job {job.number} at "
            f"{last.at.astimezone():%Y-%m-%d %H:%M}, so its numbers may have moved. {named}. "
            f"If that is meant, say --at {last.sequence}; nothing was stored."
        )
    return replace(draft, notices=(named, *draft.notices))


@click.command()
@number_argument
@part_argument
@at_option
@recording_options
@click.pass_obj
def remove(
    app: App, number: int | None, part: int | None, at: int | None, yes: bool, as_json: bool
) -> None:
    """Take something out of a job, by its number on the page of kb job show.

    The history keeps it, and kb undo brings it back. A whole job is taken out with kb job void.

    \b
    Example:
      kb job remove 12 7
    """
    number = need(number, "Job number", whole_number)
    if part is None and at_terminal():
        print_page(render_sheet(show_job(app.address, number, hours=app.hours)))
    part = need(part, "Number of what to take out", whole_number)
    draft = remove_part(app.address, number, part)
    draft = _checked_number(app, draft, part, at, asked=at_terminal() and not (yes or as_json))
    keep_shown(app, draft, done="Taken out of job {number}.", yes=yes, as_json=as_json)
