"""`kb evaluate`: how good the ranking is on the shop's own past."""

from datetime import datetime
from pathlib import Path

import click

from kb.cli.main import App
from kb.cli.output import counting, json_option, show
from kb.services.evaluate import LEAST_KNOWN
from kb.services.evaluate import evaluate as measure


@click.command()
@click.option(
    "--since",
    type=click.DateTime(formats=["%Y-%m-%d", "%Y"]),
    help="Ask only jobs opened on or after this day; earlier ones are known all the same.",
)
@click.option(
    "--least-known",
    type=click.IntRange(min=1),
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
    type=click.Path(dir_okay=False, writable=True, path_type=Path),
    metavar="FILE",
    help="Write a page with plots as well, one HTML file that stands alone.",
)
@json_option
@click.pass_obj
def evaluate(
    app: App,
    *,
    since: datetime | None,
    least_known: int,
    baselines: bool,
    page: Path | None,
    as_json: bool,
) -> None:
    """Measure how good the ranking of causes is on the shop's own closed jobs.

    Every job is asked again as on the day it came in, of nothing but the jobs closed before. Told
    are how often the true cause stood in front, whether the chances and "not seen before" mean
    what they say, and, in words, whether the shop has jobs enough to tell the program from plain
    ways of ranking on the same questions.

    \b
    Examples:
      kb evaluate
      kb evaluate --since 2025 --page evaluation.html
      kb evaluate --no-baselines --json
    """
    from kb.reports.evaluate import render  # noqa: PLC0415
    from kb.reports.evaluate_page import to_page  # noqa: PLC0415

    if page is not None and not page.parent.is_dir():
        raise click.BadParameter(
            f"there is no folder {page.parent}; make it first", param_hint="--page"
        )
    with counting("Asking past jobs again") as progress:
        result = measure(
            app.address,
            app.settings,
            since=since.date() if since else None,
            least_known=least_known,
            baselines=baselines,
            progress=progress,
        )
    if page is not None:
        try:
            page.write_text(to_page(result), encoding="utf-8")
        except OSError as error:
            raise click.ClickException(
                f"page: {page} cannot be written: {error.strerror}"
            ) from error
        click.echo(f"Page written to {page}", err=True)
    show(result, render, as_json=as_json)
