"""`kb job close`."""

from dataclasses import replace
from datetime import date
from typing import Any

import click

from kb.case import Cause, FailureMode, Job, Proof
from kb.cli.job.asking import (
    ask,
    choice_option,
    keep_shown,
    need,
    number_argument,
    recording_options,
    whole_number,
)
from kb.cli.job.look import print_open_jobs
from kb.cli.learning import learn_if_due
from kb.cli.main import App
from kb.cli.options import day_option
from kb.cli.output import at_terminal, print_page
from kb.intake.findings import parse_attempt, parse_cause
from kb.reports.job import render_sheet
from kb.services.closing import Closing, close_job, proofs_wanted
from kb.services.lookup import JobSheet, show_job
from kb.settings import Settings

_CURED = {"y": True, "n": False, "not known": None}


@click.command()
@number_argument
@click.argument("words", nargs=-1, metavar="[CAUSE]...")
@click.option("--component", help="What failed, instead of CAUSE.")
@choice_option("--mode", FailureMode, "How it failed")
@click.option("--location", help="Where such components sit: under seat.")
@click.option("--position", help="Which one it was: left front.")
@click.option("--no-cause", "without_cause", is_flag=True, help="The cause was not found.")
@click.option("--proved-by", "-p", help="What proved the cause.")
@click.option("--fix", "-f", help='What was done last: "cleaned seat connector".')
@click.option("--cured/--not-cured", default=None, help="Whether it was gone at handover.")
@click.option("--verified", help="How that was made sure.")
@click.option(
    "--proof",
    "proofs",
    multiple=True,
    type=click.Choice([proof.value for proof in Proof], case_sensitive=False),
    callback=lambda _ctx, _param, told: tuple(map(Proof, told)),
    metavar="WORDS",
    help=f"What shows that it worked; repeatable: {', '.join(Proof)}.",
)
@click.option(
    "--never-reproduced",
    "reproduced",
    flag_value=False,
    default=None,
    help="The fault was never seen to occur here.",
)
@click.option("--cost", "parts_cost", type=click.FloatRange(min=0), help="Parts.")
@click.option("--minutes", type=click.IntRange(min=0), help="Work on the fix.")
@day_option("--closed", "Day of closing, as 2026-03-02; else today.")
@click.option(
    "--learn/--no-learn",
    default=None,
    help="Learn the weights again where the shop has grown; asked at a terminal.",
)
@recording_options
@click.pass_obj
def close(
    app: App,
    /,
    number: int | None,
    words: tuple[str, ...],
    learn: bool | None,
    yes: bool,
    as_json: bool,
    **told: Any,
) -> None:
    """Close a job with its cause: what failed, where such parts sit, how it failed.

    Closed jobs with a cause are what later questions are answered from. Once the shop has grown
    by a fifth, closing a job is when the weights are learnt again (see kb weights).

    \b
    Examples:
      kb job close 12 "seat connector under LF seat, high resistance" \\
         --proved-by "steady with substitute load" --fix "cleaned seat connector"
      kb job close 12 --component "clock spring" --mode open --location column
      kb job close 12 --no-cause
    """
    closing = _told(" ".join(words), **told)
    if number is None and at_terminal():
        print_open_jobs(app)
    number = need(number, "Job number", whole_number)
    if closing.cause is None and not closing.without_cause and at_terminal():
        closing = _asked(closing, show_job(app.address, number), app.settings)
    draft = close_job(app.address, number, closing, app.settings, today=date.today())
    if keep_shown(app, draft, done="Job {number} is closed.", yes=yes, as_json=as_json):
        learn_if_due(app, draft.weights, wanted=learn, ask=not yes, quiet=as_json)


def _told(
    text: str,
    component: str | None,
    mode: FailureMode | None,
    location: str | None,
    position: str | None,
    **told: Any,
) -> Closing:
    """Put together what the options told of the cause."""
    if component is None and mode is None and location is None and position is None:
        return Closing(cause=text or None, **told)
    if text or component is None or mode is None:
        raise click.UsageError("Give the cause as text, or with --component and --mode.")
    cause = Cause(
        component=component,
        failure_mode=mode,
        location=location,
        position=position,
    )
    return Closing(cause=cause, **told)


def _asked(told: Closing, sheet: JobSheet, settings: Settings) -> Closing:
    """Show the job, and ask for its end."""
    print_page(render_sheet(sheet))
    typed = ask("Cause, as: seat connector under LF seat, high resistance (empty: none)", _cause)
    if typed is None:
        return replace(told, without_cause=True)
    last = sheet.job.attempts[-1].label if sheet.job.attempts else None
    fix = told.fix or ask(f"Last fix, as: cleaned seat connector (empty: {last or 'none'})", _fix)
    cured = told.cured
    if cured is None and (fix or last):
        cured = _cured(fix, sheet.job)
    return replace(
        told,
        cause=typed,
        proved_by=told.proved_by or ask("What proved the cause", str),
        fix=fix,
        cured=cured,
        proofs=told.proofs or (_proofs(sheet, parse_cause(typed), settings) if cured else ()),
        reproduced=_reproduced(told, sheet),
    )


def _cured(fix: str | None, job: Job) -> bool | None:
    """Ask whether the last fix cured; what its own words tell is the default."""
    last = parse_attempt(fix) if fix else job.attempts[-1]
    default = next(key for key, cured in _CURED.items() if cured is last.cured)
    return _CURED[click.prompt("Did it cure?", type=click.Choice(list(_CURED)), default=default)]


def _proofs(sheet: JobSheet, cause: Cause, settings: Settings) -> tuple[Proof, ...]:
    """Ask for each proof that the job asks for and that nothing shows yet."""
    lines = proofs_wanted(sheet.job, cause, settings)
    missing = [line.proof for line in lines if not line.shown]
    return tuple(proof for proof in missing if click.confirm(f"{proof}?", default=False))


def _reproduced(told: Closing, sheet: JobSheet) -> bool | None:
    """Ask, where nothing was seen to go wrong on the car, whether the fault ever showed."""
    if told.reproduced is not None or sheet.job.tests or sheet.job.readings:
        return told.reproduced
    return click.confirm("Was the fault ever seen to occur here?", default=True)


def _cause(text: str) -> str:
    parse_cause(text)
    return text


def _fix(text: str) -> str:
    parse_attempt(text)
    return text
