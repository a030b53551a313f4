"""`kb job show`, `kb job list` and `kb job history`."""

from functools import partial
from typing import Any

import click

from kb.cli.job.asking import number_argument
from kb.cli.job.in_hand import job_meant
from kb.cli.main import App
from kb.cli.options import HOW_MANY, since_option
from kb.cli.output import json_option, print_page
from kb.cli.output import show as show_result
from kb.reports.job import render_history, render_list, render_sheet
from kb.services.lookup import Selection, job_history, list_jobs, show_job

STATES = ("open", "closed", "closed without a cause", "void")


@click.command()
@number_argument
@click.option("--verbatim", is_flag=True, help="As it was written, even what nobody should repeat.")
@json_option
@click.pass_obj
def show(app: App, number: int | None, verbatim: bool, as_json: bool) -> None:
    """Show all that is known of a job, each thing with the number by which it is changed.

    What may put a meter, lamp or voltage on an igniter is not shown unless --verbatim is given.
    JSON is for machines and has everything, but on a screen no more than the page.

    \b
    Examples:
      kb job show 12
      kb job show 12 --verbatim
      kb job show 12 --json
    """
    number = job_meant(app, number, asks=False)
    render = partial(render_sheet, verbatim=verbatim)
    show_result(
        show_job(app.address, number, hours=app.hours), render, as_json=as_json, verbatim=verbatim
    )


@click.command("list")
@click.option("--state", type=click.Choice(STATES), help="Only jobs in this state.")
@click.option("--open", "only_open", is_flag=True, help="Short for --state open.")
@click.option("--vehicle", "-v", help='Words of the vehicle: "lido 2016", K031.')
@click.option("--system", "-s", help="As restraints, brakes, cooling.")
@click.option("--code", "-c", help="Only jobs with this trouble code.")
@since_option("Opened on this day or later.")
@click.option("--limit", "-n", type=HOW_MANY, default=20, show_default=True, help="How many.")
@json_option
@click.pass_obj
def list_(app: App, /, only_open: bool, as_json: bool, **wanted: Any) -> None:
    """List jobs, the last opened first; void ones only with --state void.

    \b
    Examples:
      kb job list --open
      kb job list --vehicle K031
      kb job list --system restraints --code B1234 --since 2025
    """
    if only_open:
        wanted["state"] = "open"
    selection = Selection(**wanted)
    show_result(list_jobs(app.address, selection), render_list, as_json=as_json)


@click.command()
@number_argument
@click.option("--verbatim", is_flag=True, help="As it was written, even what nobody should repeat.")
@json_option
@click.pass_obj
def history(app: App, number: int | None, verbatim: bool, as_json: bool) -> None:
    """Show every change of a job: when, who, which field, from what to what.

    What the job's page does not show is not shown here, unless --verbatim is given.

    \b
    Examples:
      kb job history 12
      kb job history 12 --verbatim
    """
    number = job_meant(app, number, asks=False)
    render = partial(render_history, verbatim=verbatim)
    show_result(job_history(app.address, number), render, as_json=as_json, verbatim=verbatim)


def print_open_jobs(app: App) -> None:
    """Print the jobs that can be chosen to be closed."""
    print_page(render_list(list_jobs(app.address, Selection(state="open"))))
