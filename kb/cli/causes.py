"""`kb causes`: likely causes, with what fixed them."""

from functools import partial

import click

from kb.cli.main import App
from kb.cli.output import counting, json_option, show
from kb.cli.question import question_options
from kb.services.inquiry import Question

FIRST_SCREEN = 3
"""Causes worth reading before anything is tested."""


@click.command()
@question_options
@click.option("--detail", "-d", is_flag=True, help="All causes, all fixes, the job numbers.")
@json_option
@click.pass_obj
def causes(app: App, question: Question, detail: bool, as_json: bool) -> None:
    """Rank the likely causes of a complaint from the shop's past jobs.

    Each cause comes with its chance, the fix that held best with its counts and rate, and what
    proved it last time. "Not seen before" is the chance that it is none of them. Codes and
    readings may stand in the complaint itself. Cautions are of the complaint and of what is
    shown; what only like jobs behind it concern is named, and warned of with --detail.

    \b
    Examples:
      kb causes "airbag lamp on after seat was moved, B1234-1B"
      kb causes no crank, clicks once --reading "battery 12.1 V"
      kb causes --job 1042 --detail
    """
    from kb.reports.causes import render  # noqa: PLC0415
    from kb.reports.one_case import told_causes  # noqa: PLC0415
    from kb.services.ask import causes as ask  # noqa: PLC0415

    with counting("Reading past jobs") as progress:
        answer = ask(
            app.address,
            question,
            app.settings,
            limit=None if detail or as_json else FIRST_SCREEN,
            progress=progress,
        )
    told = told_causes(answer) if as_json else answer
    show(told, partial(render, detail=detail), as_json=as_json)
