"""`kb job edit` and `kb job remove`: what a job tells, by its number on the page or its field."""

import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from itertools import islice, takewhile
from typing import Any

import click

from kb.cli.job.asking import (
    ask,
    keep_shown,
    need,
    recording_options,
    whole_number,
)
from kb.cli.job.in_hand import job_meant
from kb.cli.job.typed import typing
from kb.cli.main import App
from kb.cli.options import JOB
from kb.cli.output import at_terminal, print_page, say
from kb.errors import InvalidField, NotAgreed, for_shell
from kb.intake.parts import field_of
from kb.local_time import local, local_now
from kb.reports.job import part_line, render_sheet
from kb.services.drafts import Draft
from kb.services.editing import edit_job
from kb.services.lookup import JobSheet, show_job
from kb.services.mending import edit_part, last_of_another, remove_part

WHICH = "Number of what to change, or FIELD=VALUE"
ANEW = "What should stand there instead"
TAKE_OUT = "Number of what to take out"
_FIELD_VALUE = re.compile(r"[a-z_]+[a-z_.0-9\[\]]*=")
LEAVE = "(empty: leave all as it is)"


at_option = click.option(
    "--at",
    type=JOB,
    metavar="CHANGE",
    help="Last change of the job as NUMBER was read; asked for where somebody else wrote to it.",
)


def part_and_words(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the arguments of a command that takes a job, a number on its page, and words.

    Leading numbers are these two, in this order; at a terminal either may be left out.
    """

    def split(
        ctx: click.Context,  # noqa: ARG001
        param: click.Parameter,  # noqa: ARG001
        value: tuple[str, ...],
    ) -> tuple[int | None, int | None, str]:
        leading = list(islice(takewhile(_is_number, value), 2))
        number, part = (*map(whole_number, leading), None, None)[:2]
        return number, part, " ".join(value[len(leading) :])

    words = click.argument("told", nargs=-1, callback=split, metavar="[JOB] [NUMBER] [TEXT]...")
    return words(command)


def _is_number(text: str) -> bool:
    with suppress(InvalidField):
        return whole_number(text) >= 0
    return False


@click.command()
@part_and_words
@at_option
@click.option("--set", "edits", multiple=True, metavar="FIELD=VALUE", help="May be repeated.")
@recording_options
@click.pass_obj
def edit(
    app: App,
    told: tuple[int | None, int | None, str],
    at: int | None,
    edits: tuple[str, ...],
    yes: bool,
    as_json: bool,
) -> None:
    """Change what a job tells; every change is kept in its history.

    NUMBER is the one on the page of kb job show, and TEXT what should stand there instead,
    written as it is told elsewhere; with a NUMBER, --set sets fields of that part alone. Without
    one a field is a path: complaint, odometer_km, vehicle.year, cause.component,
    readings[0].typed. An empty value takes the field away; the place behind the last item adds
    one. The fields are those of 'kb schema'. At a terminal what is left out is asked for, and
    nothing need be changed.

    \b
    Examples:
      kb job edit 12 7 "RF pretensioner 2.3 ohm"
      kb job edit 12 9 --set cured=no
      kb job edit 12 --set odometer_km=81500 --set "vehicle.engine=1.4 petrol"
      kb job edit 12 --set "codes=B1234-13 stored, U0100" --set notes=
    """
    number, part, words = told
    if part is None and _FIELD_VALUE.match(words):
        words, edits = "", (*edits, words)
    if words and part is None and not at_terminal():
        raise click.UsageError(
            f"Which NUMBER on the page should be {words!r}? "
            f"kb job edit JOB NUMBER {for_shell(words)}; a field is set with --set FIELD=VALUE"
        )
    with typing(app, "edit", number, bare=not (words or edits)) as typed:
        number = job_meant(app, number, asks=False)
        typed.note(WHICH, part)
        typed.note(ANEW, words)
        if part is None and len(edits) == 1:
            typed.note(WHICH, edits[0], "edits")
        if part is not None and (words or edits):
            draft = edit_part(app.address, number, part, words, edits, today=date.today())
            draft = _checked_number(app, draft, part, at, asked=not (yes or as_json))
        elif edits:
            draft = edit_job(app.address, number, edits, today=date.today())
        elif at_terminal():
            found = _asked(app, number, part, words)
            if found is None:
                say("Nothing was changed.")
                return
            draft = found
        else:
            raise click.UsageError("Give what to set: --set odometer_km=81500, or NUMBER and TEXT")
        keep_shown(app, draft, done="Job {number} is changed.", yes=yes, as_json=as_json)


def _asked(app: App, number: int, part: int | None, words: str) -> Draft | None:
    """Show the job, and ask what to change in it, perhaps to given words; None to leave it."""
    sheet = show_job(app.address, number, hours=app.hours)
    print_page(render_sheet(sheet))
    if part is None:
        what = f"(to “{words}”; empty: leave all)"
        answer = ask(WHICH, partial(_checked, sheet), hint=what if words else LEAVE)
        if answer is None:
            return None
        if "=" in answer:
            return edit_job(app.address, number, [answer], today=date.today())
        part = whole_number(answer)

    def anew(text: str) -> Draft:
        return edit_part(app.address, number, part, text, today=date.today())

    if words:
        return anew(words)
    now = part_line(sheet, field_of(sheet.job, part))
    say(f"Number {part} is: {now}")
    return ask(ANEW, anew, hint="(empty: leave it as it is)")


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
    lately = local_now() - timedelta(hours=app.settings.mending.moved_hours)
    since = lately if at is None else None
    last = last_of_another(app.address, job.number or 0, app.who, since=since)
    if last and not (asked and at_terminal()) and at != last.sequence:
        raise NotAgreed(
            f"number: {last.who or 'somebody'} wrote to job {job.number} at "
            f"{local(last.at):%Y-%m-%d %H:%M}, so its numbers may have moved. {named}. "
            f"If that is meant, say --at {last.sequence}; nothing was stored."
        )
    return replace(draft, notices=(named, *draft.notices))


@click.command()
@part_and_words
@at_option
@recording_options
@click.pass_obj
def remove(
    app: App,
    told: tuple[int | None, int | None, str],
    at: int | None,
    yes: bool,
    as_json: bool,
) -> None:
    """Take something out of a job, by its number on the page of kb job show.

    The history keeps it, and kb undo brings it back. A whole job is taken out with kb job void.

    \b
    Example:
      kb job remove 12 7
    """
    number, part, words = told
    if words:
        raise click.UsageError(f"{words!r} is no number on the page: kb job remove JOB NUMBER")
    with typing(app, "remove", number, bare=part is None) as typed:
        number = job_meant(app, number)
        if part is None and at_terminal():
            print_page(render_sheet(show_job(app.address, number, hours=app.hours)))
        part = need(part, TAKE_OUT, partial(_on_page, app, number))
        typed.note(TAKE_OUT, part)
        draft = remove_part(app.address, number, part)
        draft = _checked_number(app, draft, part, at, asked=not (yes or as_json))
        keep_shown(app, draft, done="Taken out of job {number}.", yes=yes, as_json=as_json)


def _on_page(app: App, number: int, text: str) -> int:
    """Read the number of something on a job's page."""
    part = whole_number(text)
    field_of(show_job(app.address, number).job, part)
    return part
