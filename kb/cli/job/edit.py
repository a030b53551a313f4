"""`kb job edit`."""

from datetime import date

import click

from kb.cli.job.asking import (
    ask,
    keep_shown,
    need,
    number_argument,
    recording_options,
    whole_number,
)
from kb.cli.main import App
from kb.cli.output import at_terminal, print_page
from kb.errors import InvalidField
from kb.reports.job import render_sheet
from kb.services.lookup import show_job
from kb.services.record import edit_job


@click.command()
@number_argument
@click.option("--set", "edits", multiple=True, metavar="FIELD=VALUE", help="May be repeated.")
@recording_options
@click.pass_obj
def edit(app: App, number: int | None, edits: tuple[str, ...], yes: bool, as_json: bool) -> None:
    """Set fields of a job; every change is kept in its history.

    A field is a path: complaint, odometer_km, vehicle.year, cause.component, readings[0].typed.
    An empty value takes the field away; the place behind the last item adds one. Whole items may
    be written as elsewhere: attempts[0]=cleaned seat connector. The fields are those of
    'kb schema'.

    \b
    Examples:
      kb job edit 12 --set odometer_km=81500 --set "vehicle.engine=1.4 petrol"
      kb job edit 12 --set "codes=B1234-13 stored, U0100"
      kb job edit 12 --set "attempts[0].cured=no" --set notes=
    """
    number = need(number, "Job number", whole_number)
    if not edits:
        if not at_terminal():
            raise click.UsageError("Give what to set: --set odometer_km=81500")
        print_page(render_sheet(show_job(app.address, number)))
        edits = (_asked(),)
    draft = edit_job(app.address, number, edits, today=date.today())
    keep_shown(app, draft, done="Job {number} is changed.", yes=yes, as_json=as_json)


def _asked() -> str:
    return ask("Set, as odometer_km=81500", _checked, need=True) or ""


def _checked(text: str) -> str:
    if "=" not in text:
        raise InvalidField("edit", text, "must be written as field=value")
    return text
