"""`kb job void`, `kb job reopen` and `kb job use`: what a job counts as, and which is in hand."""

from datetime import date

import click

from kb.cli.job.asking import keep_shown, need, number_argument, recording_options
from kb.cli.job.in_hand import job_meant
from kb.cli.job.typed import desk_of, typing
from kb.cli.main import App
from kb.cli.output import json_option, say, show
from kb.errors import NotAgreed
from kb.reports.job import car, state
from kb.services.lookup import JobSheet, show_job
from kb.services.mending import bring_back, reopen_job, void_job

WHY = "Why"


@click.command()
@number_argument
@click.option("--why", "-w", help="The reason, for whoever reads the job later.")
@click.option("--back", is_flag=True, help="Let a void job count again.")
@recording_options
@click.pass_obj
def void(
    app: App, number: int | None, why: str | None, back: bool, yes: bool, as_json: bool
) -> None:
    """Let a job count nowhere: opened by mistake, told twice, of the wrong car.

    It can still be read with kb job show, which says that it is void and why, and is listed by kb
    job list --state void. Nothing is recalled, ranked, rated or followed up from it. --back undoes
    it.

    \b
    Examples:
      kb job void 12 --why "told twice, see job 11"
      kb job void 12 --back
    """
    if back and why is not None:
        raise click.UsageError("Give --why or --back, not both.")
    with typing(app, "void", number, bare=why is None and not back) as typed:
        number = job_meant(app, number, in_hand=not back)
        if back:
            draft, done = bring_back(app.address, number), "Job {number} counts again."
        else:
            typed.note(WHY, why, "why")
            draft = void_job(app.address, number, need(why, WHY, str))
            done = "Job {number} is void. To bring it back: kb job void {number} --back"
        keep_shown(app, draft, done=done, yes=yes, as_json=as_json)


@click.command()
@number_argument
@recording_options
@click.pass_obj
def reopen(app: App, number: int | None, yes: bool, as_json: bool) -> None:
    """Open a job again that was closed too soon.

    Its day of closing goes (the history keeps it); cause, proof and fixes stay on it, and the
    next kb job close takes the cause it has unless another is told. Until then it is not recalled.
    A car that came back is another visit: open a new job, and tell the old one by
    kb job add contact.

    \b
    Example:
      kb job reopen 12
    """
    with typing(app, "reopen", number, bare=False):
        number = job_meant(app, number, in_hand=False)
        draft = reopen_job(app.address, number)
        keep_shown(app, draft, done="Job {number} is open again.", yes=yes, as_json=as_json)


@click.command()
@number_argument
@click.option("--none", "nothing", is_flag=True, help="Have no job in hand.")
@json_option
@click.pass_obj
def use(app: App, number: int | None, nothing: bool, as_json: bool) -> None:
    """Take a job in hand: it is meant where no number is given, until another one is.

    kb job open does so with the new job. It is yours alone (--who, KB_WHO), for this store, and
    on this machine; its car is named whenever it is meant, and on another day it is asked about
    first. Only an open job can be meant, and only at a terminal. Bare, it tells which it is.

    \b
    Examples:
      kb job use 12
      kb job use
      kb job use --none
    """
    desk = desk_of(app)
    if nothing:
        desk.take(None, date.today())
        say("No job is in hand.")
        return
    if number is None:
        held = desk.in_hand()
        if held is None:
            raise NotAgreed("job: none is in hand; take one with kb job use NUMBER")
        number = held.job
    sheet = show_job(app.address, number)
    if not desk.take(number, date.today()):
        raise NotAgreed("job: which one is in hand cannot be kept on this machine; give its number")
    show(sheet, _in_hand, as_json=as_json)


def _in_hand(sheet: JobSheet) -> str:
    job = sheet.job
    return f"Job {job.number} is in hand: {car(job.vehicle)}, {state(job)}"
