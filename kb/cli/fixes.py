"""`kb fixes`: everything that was tried for one cause, and how it held."""

from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

import click

from kb.cli.destination import PLACE, force_option, settle
from kb.cli.main import App
from kb.cli.options import HOW_MANY, JOB
from kb.cli.output import json_option, say, show, write_page


@click.command()
@click.argument("words", nargs=-1, metavar="[CAUSE]...")
@click.option("--job", "-j", type=JOB, help="Take the cause of this job.")
@click.option("--km", is_flag=True, help="Count in kilometres instead of days.")
@click.option(
    "--silence",
    type=HOW_MANY,
    envvar="KB_SILENCE_DAYS",
    metavar="DAYS",
    help="Also show what the rates were if so many days of silence counted as held; off unless "
    "given.  [env: KB_SILENCE_DAYS]",
)
@click.option(
    "--page",
    type=PLACE,
    help="Write a page for the browser, with curves and their intervals.",
)
@click.option("--detail", "-d", is_flag=True, help="All fixes, the job numbers.")
@force_option
@json_option
@click.pass_obj
def fixes(
    app: App,
    *,
    words: tuple[str, ...],
    job: int | None,
    km: bool,
    silence: int | None,
    page: Path | None,
    detail: bool,
    force: bool,
    as_json: bool,
) -> None:
    """Show all fixes that were tried for a cause: how often they cured, and how they held.

    A few words of the cause are enough if they name one. Each fix comes with its raw counts, the
    chance that it cures and holds, the chance that the first one is better, what it usually
    takes, and its curve: the share still good over time, dotted where few cars are watched.

    \b
    Examples:
      kb fixes seat connector high resistance
      kb fixes clock spring --km --detail
      kb fixes --job 1042 --page clock_spring.html
    """
    from kb.rates.trials import Clock  # noqa: PLC0415
    from kb.reports.fixes import render  # noqa: PLC0415
    from kb.services.fixes import fixes as ask  # noqa: PLC0415

    if not words and job is None:
        raise click.UsageError("Say which cause: kb fixes clock spring, or --job 1042")
    settle(app, page, force=force)
    settings = app.settings
    settings = replace(settings, rates=replace(settings.rates, silence_days=silence))
    clock = Clock.KM if km else Clock.DAYS
    answer = ask(app.address, " ".join(words), settings, job=job, clock=clock, today=date.today())
    if page is not None:
        from kb.reports.fixes_page import to_html  # noqa: PLC0415

        write_page(page, to_html(answer))
    show(answer, partial(render, detail=detail), as_json=as_json)
    if page is not None and not as_json:
        say(f"Page written: {page}")
