"""`kb comebacks`: what came back, what was tried in vain, and what it cost."""

from datetime import date
from functools import partial

import click

from kb.cli.main import App
from kb.cli.options import since_option, until_option
from kb.cli.output import counting, json_option, show


@click.command()
@click.option(
    "--by",
    "kind",
    type=click.Choice(["fix", "action", "cause", "model", "maker"]),
    default="fix",
    show_default=True,
    help="What is counted together; maker: who made the part.",
)
@click.option("--mine", is_flag=True, help="My own jobs alone; needs --who or KB_WHO.")
@since_option("Only jobs closed on or after this day.")
@until_option("Only jobs closed on or before this day.")
@click.option("--detail", "-d", is_flag=True, help="All rows, and the job numbers.")
@json_option
@click.pass_obj
def comebacks(
    app: App,
    *,
    kind: str,
    mine: bool,
    since: date | None,
    until: date | None,
    detail: bool,
    as_json: bool,
) -> None:
    """Show which work came back or was in vain, with the minutes and parts spent on it.

    Counted as fix rates are: once a job, a comeback where it was told or the same cause was proved
    again. Back for something alike that nobody has judged is told with a question mark: `kb job
    follow-up` asks about it. What cured only when it was tried again on the job counts as in vain
    and as cured, and the first tries' minutes and parts as spent for nothing. What comes back of
    work that nobody heard of again is not known. Each person can see their own; nobody is compared
    with anybody.

    \b
    Examples:
      kb comebacks
      kb comebacks --by cause --since 2025
      kb comebacks --by maker
      kb --who BT comebacks --mine
    """
    from kb.reports.comebacks import render  # noqa: PLC0415
    from kb.services.comebacks import WorkKind  # noqa: PLC0415
    from kb.services.comebacks import comebacks as count  # noqa: PLC0415

    if mine and not app.who:
        raise click.UsageError("Whose? kb --who BT comebacks --mine, or set KB_WHO")
    with counting("Reading cases") as progress:
        found = count(
            app.address,
            app.settings,
            kind=WorkKind(kind),
            by=app.who if mine else None,
            since=since,
            until=until,
            progress=progress,
        )
    show(found, partial(render, detail=detail), as_json=as_json)
