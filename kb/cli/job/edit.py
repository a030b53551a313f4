"""`kb job edit` and `kb job remove`: what a job tells, by its number on the page or its field."""

from datetime import date

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
from kb.errors import InvalidField
from kb.intake.parts import field_of
from kb.reports.job import render_sheet
from kb.services.lookup import JobSheet, show_job
from kb.services.mending import edit_part, remove_part
from kb.services.record import Draft, edit_job

part_argument = click.argument(
    "part", callback=parsed(whole_number), required=False, metavar="[NUMBER]"
)
WHICH = "Number of what to change, or FIELD=VALUE"
LEAVE = "(empty: leave all as it is)"


@click.command()
@number_argument
@part_argument
@click.argument("text", nargs=-1, metavar="[TEXT]...")
@click.option("--set", "edits", multiple=True, metavar="FIELD=VALUE", help="May be repeated.")
@recording_options
@click.pass_obj
def edit(
    app: App,
    number: int | None,
    part: int | None,
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
    number = job_meant(app, number)
    words = " ".join(text)
    if part is not None and (words or edits):
        draft = edit_part(app.address, number, part, words, edits, today=date.today())
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
    sheet = show_job(app.address, number)
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


@click.command()
@number_argument
@part_argument
@recording_options
@click.pass_obj
def remove(app: App, number: int | None, part: int | None, yes: bool, as_json: bool) -> None:
    """Take something out of a job, by its number on the page of kb job show.

    The history keeps it, and kb undo brings it back. A whole job is taken out with kb job void.

    \b
    Example:
      kb job remove 12 7
    """
    number = need(number, "Job number", whole_number)
    if part is None and at_terminal():
        print_page(render_sheet(show_job(app.address, number)))
    part = need(part, "Number of what to take out", whole_number)
    draft = remove_part(app.address, number, part)
    keep_shown(app, draft, done="Taken out of job {number}.", yes=yes, as_json=as_json)
