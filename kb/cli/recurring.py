"""`kb recurring`: what keeps coming back."""

from datetime import date
from functools import partial

import click

from kb.cli.main import App
from kb.cli.options import since_option, until_option
from kb.cli.output import counting, json_option, plain, show


@click.command()
@click.option("--system", "-s", help='Faults of this part of the car only, as "restraints".')
@since_option("Only jobs opened on or after this day; else two years, beside all time.")
@until_option("Only jobs opened on or before this day.")
@click.option("--detail", "-d", is_flag=True, help="All facts, all job numbers.")
@click.option("--csv", "as_csv", is_flag=True, help="Print CSV for a spreadsheet.")
@json_option
@click.pass_obj
def recurring(
    app: App,
    *,
    system: str | None,
    since: date | None,
    until: date | None,
    detail: bool,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Show which faults befall some make or model more often than all others, and what to do.

    Every car counts once and is compared with cars of other models seen in the same years, weighed
    by age and distance; fewer than three cars never make a fact. ACT: at least one and a half times
    as often for sure, and about one such line in twenty is luck, or how models differ anyway;
    watch: one in five. What is as sure, but was seen on one model only, stands apart: it may be how
    it is built. What cannot be compared, as no other car is of that age, has a heading of its own.
    Each fact comes with its counts, what settled and cured it, a line for Monday and its jobs.

    \b
    Examples:
      kb recurring
      kb recurring --system restraints --since 2024
      kb recurring --csv > recurring.csv
    """
    from kb.reports.recurring import render, to_csv  # noqa: PLC0415
    from kb.services.scan import scan  # noqa: PLC0415

    with counting("Reading cases") as progress:
        found = scan(
            app.address,
            app.settings,
            system=system,
            since=since,
            until=until,
            today=date.today(),
            progress=progress,
        )
    if as_csv and not as_json:
        click.echo("\r\n".join(map(plain, to_csv(found).split("\r\n"))), nl=False)
    else:
        show(found, partial(render, detail=detail), as_json=as_json)
