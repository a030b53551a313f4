"""`kb similar`: past jobs like this one."""

import click

from kb.cli.main import App
from kb.cli.output import counting, json_option, show
from kb.cli.question import question_options
from kb.services.inquiry import Question


@click.command()
@question_options
@click.option(
    "--limit", "-n", type=click.IntRange(1, 40), default=5, show_default=True, help="How many jobs."
)
@json_option
@click.pass_obj
def similar(app: App, question: Question, limit: int, as_json: bool) -> None:
    """Show past jobs like this one, and why each matched.

    Every job is looked through, open or closed, with a cause or without, by its complaint and by
    all that is written on it. Codes and readings may stand in the complaint itself.

    \b
    Examples:
      kb similar "airbag lamp on after seat was moved"
      kb similar no crank, clicks once --reading "battery 12.1 V"
      kb similar --code P0301 --vehicle "sunato kiri" --since 2025
    """
    from kb.reports.similar import render  # noqa: PLC0415
    from kb.services.similar import similar as ask  # noqa: PLC0415

    with counting("Reading past jobs") as progress:
        answer = ask(app.address, question, app.settings, limit=limit, progress=progress)
    show(answer, render, as_json=as_json)
