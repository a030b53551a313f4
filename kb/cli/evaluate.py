"""`kb evaluate`: how good the ranking is on the shop's own past."""

from datetime import date
from pathlib import Path

import click

from kb.cli.destination import PLACE, force_option, settle
from kb.cli.main import App
from kb.cli.options import HOW_MANY, since_option
from kb.cli.output import counting, json_option, say, show, write_page
from kb.services.evaluate import LEAST_KNOWN
from kb.services.evaluate import evaluate as measure


@click.command()
@since_option("Ask only jobs opened on or after this day; earlier ones are known all the same.")
@click.option(
    "--least-known",
    type=HOW_MANY,
    default=LEAST_KNOWN,
    show_default=True,
    metavar="N",
    help="Ask nothing until N cases are closed.",
)
@click.option(
    "--baselines/--no-baselines",
    default=True,
    help="Put the same questions to plain ways of ranking, too (takes most of the time).",
)
@click.option(
    "--page",
    type=PLACE,
    metavar="FILE",
    help="Write a page with plots as well, one HTML file that stands alone.",
)
@force_option
@json_option
@click.pass_obj
def evaluate(
    app: App,
    *,
    since: date | None,
    least_known: int,
    baselines: bool,
    page: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Measure how good the ranking of causes is on the shop's own closed jobs.

    Every job is asked again as on the day it came in, of nothing but the jobs closed before. Told
    are how often the true cause stood in front, whether the chances and "not seen before" mean
    what they say, and, in words, whether the shop has jobs enough to tell the program from plain
    ways of ranking on the same questions; and the same where only the words are told, the codes
    and readings as well, and the tests as well.

    \b
    Examples:
      kb evaluate
      kb evaluate --since 2025 --page evaluation.html
      kb evaluate --no-baselines --json
    """
    from kb.reports.evaluate import render  # noqa: PLC0415
    from kb.reports.evaluate_page import to_page  # noqa: PLC0415

    settle(app, page, force=force)
    with counting("Asking past jobs again") as progress:
        result = measure(
            app.address,
            app.settings,
            since=since,
            least_known=least_known,
            baselines=baselines,
            progress=progress,
        )
    if page is not None:
        write_page(page, to_page(result))
        say(f"Page written to {page}", err=True)
    show(result, render, as_json=as_json)
