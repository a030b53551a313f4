"""`kb report`: the foreman's page, as one file."""

from datetime import date
from pathlib import Path

import click

from kb.cli.destination import PLACE, force_option, settle
from kb.cli.main import App
from kb.cli.options import since_option, until_option
from kb.cli.output import counting, json_option, say, show, write_page


@click.command()
@click.argument("file", type=PLACE, required=False)
@since_option("Only jobs opened on or after this day; else two years, beside all time.")
@until_option("Only jobs opened on or before this day.")
@click.option(
    "--asked-again",
    is_flag=True,
    help="Ask past jobs again, too, and draw whether the chances hold: a minute for a thousand.",
)
@force_option
@json_option
@click.pass_obj
def report(
    app: App,
    *,
    file: Path | None,
    since: date | None,
    until: date | None,
    asked_again: bool,
    force: bool,
    as_json: bool,
) -> None:
    """Write the foreman's page: what recurs and what to do, what came back, what is fitted most.

    What good and bad ones of an item read, and what the history rests on, are on it, too.

    One HTML file that stands alone, for a telephone, a screen or paper (A4). It fetches nothing
    and runs nothing.

    \b
    Examples:
      kb report friday.html
      kb report friday.html --since 2025 --force
      kb report friday.html --asked-again
      kb report --json
    """
    from kb.services.friday import friday  # noqa: PLC0415

    if file is None and not as_json:
        raise click.UsageError("Where to? kb report friday.html")
    settle(app, file, force=force)
    with counting("Reading cases") as progress:
        found = friday(
            app.address,
            app.settings,
            today=date.today(),
            since=since,
            until=until,
            asked_again=asked_again,
            progress=progress,
        )
    if file is not None:
        from kb.reports.friday_page import to_html  # noqa: PLC0415

        write_page(file, to_html(found))
        say(f"Written: {file}", err=as_json)
    if as_json:
        show(found, lambda _: "", as_json=True)
