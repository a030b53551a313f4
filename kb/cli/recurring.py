"""`kb recurring`: what keeps coming back."""

from datetime import datetime
from functools import partial

import click

from kb.cli.main import App
from kb.cli.output import counting, json_option, show


@click.command()
@click.option("--system", "-s", help='Faults of this part of the car only, as "restraints".')
@click.option(
    "--since",
    type=click.DateTime(formats=["%Y-%m-%d", "%Y"]),
    help="Only jobs opened on or after this day.",
)
@click.option("--detail", "-d", is_flag=True, help="All facts, all job numbers.")
@click.option("--csv", "as_csv", is_flag=True, help="Print CSV for a spreadsheet.")
@json_option
@click.pass_obj
def recurring(
    app: App,
    *,
    system: str | None,
    since: datetime | None,
    detail: bool,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Show which faults some make or model has more often than its share.

    Every car counts once, cars are compared with cars of their age, and fewer than three cars
    never make a fact. An ALERT is at least twice the share for sure, a watch one and a half
    times. Each fact comes with the jobs behind it.

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
            since=since.date() if since else None,
            progress=progress,
        )
    if as_csv and not as_json:
        click.echo(to_csv(found), nl=False)
    else:
        show(found, partial(render, detail=detail), as_json=as_json)
