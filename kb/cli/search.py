"""`kb search`: past jobs by words, code, vehicle, part, technician and day."""

from typing import Any

import click

from kb.cli.main import App
from kb.cli.options import day_option, since_option, until_option
from kb.cli.output import counting, json_option, show

STATES = ("open", "closed", "closed without a cause")


@click.command()
@click.argument("words", nargs=-1, metavar="[WORDS]...")
@click.option("--code", "-c", "codes", multiple=True, help="With this code; may be repeated.")
@click.option("--vehicle", "-v", help='Words of the vehicle: "lido 2016", K031.')
@click.option("--part", "-p", help="Words of what was repaired, of the cause, or in the notes.")
@click.option("--technician", "-t", help="Initials of who did it.")
@click.option("--state", type=click.Choice(STATES), help="Only jobs in this state.")
@since_option("Opened on this day or later.")
@until_option("Opened on this day or earlier.")
@day_option("--on", "Opened on this day.")
@click.option(
    "--limit",
    "-n",
    type=click.IntRange(1, 1000),
    default=10,
    show_default=True,
    help="How many jobs.",
)
@json_option
@click.pass_obj
def search(
    app: App, /, words: tuple[str, ...], on: Any, limit: int, as_json: bool, **wanted: Any
) -> None:
    """Find past jobs by their words, those with most of the words first, the hits marked.

    Looked through is all that is written on a job, open or closed: complaint, notes, tests, fixes,
    cause, proof. Codes may stand among the words. With options alone the last opened come first.

    \b
    Examples:
      kb search intake gasket whistle
      kb search "seat plug" --vehicle lido --since 2025
      kb search --part "earth strap" --technician MB --code P0562
    """
    from kb.reports.search import render  # noqa: PLC0415
    from kb.services.search import Search  # noqa: PLC0415
    from kb.services.search import search as find  # noqa: PLC0415

    if on is not None:
        wanted["since"] = wanted["until"] = on
    looked_for = Search(words=" ".join(words), **wanted)
    with counting("Reading past jobs") as progress:
        answer = find(app.address, looked_for, app.settings, limit=limit, progress=progress)
    show(answer, render, as_json=as_json)
