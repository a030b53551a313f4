"""`kb stock`: which parts cured, and how many the next months will take."""

from datetime import date
from functools import partial

import click

from kb.cli.main import App
from kb.cli.options import until_option
from kb.cli.output import counting, json_option, show


@click.command()
@until_option("Count the quarters back from this day, else from today.")
@click.option("--detail", "-d", is_flag=True, help="All parts, and the models they go on.")
@json_option
@click.pass_obj
def stock(app: App, *, until: date | None, detail: bool, as_json: bool) -> None:
    """Show which parts cured, quarter by quarter, and how many the next quarter will take.

    Counted are parts that were fitted and left on a car that went without the complaint. The range
    is one that four of five quarters lie in; how such ranges have held in the shop's own past is
    told below them.

    \b
    Examples:
      kb stock
      kb stock --detail
      kb stock --until 2026-06-30
    """
    from kb.reports.stock import render  # noqa: PLC0415
    from kb.services.stock import stock as count  # noqa: PLC0415

    with counting("Reading cases") as progress:
        found = count(app.address, until=until or date.today(), progress=progress)
    show(found, partial(render, detail=detail), as_json=as_json)
