"""`kb stock`: which parts were fitted, and how many the next months will take."""

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
    """Show which parts were fitted, quarter by quarter, and how many the next one will take.

    Counted is every part that was replaced on a closed job and left on the car, whether or not a
    cause was proved, and also where nobody wrote down whether it cured. What was fitted in vain
    left the shelf as well and stands in a column of its own: order for it as you see fit. The range
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
