"""`kb lesson`: what the shop's history teaches about a system."""

from functools import partial

import click

from kb.cli.main import App
from kb.cli.output import json_option, show


@click.command()
@click.argument("system", nargs=-1, required=True)
@click.option("--detail", "-d", is_flag=True, help="All causes, readings and job numbers.")
@json_option
@click.pass_obj
def lesson(app: App, system: tuple[str, ...], detail: bool, as_json: bool) -> None:
    """Teach what the shop's own jobs tell about a system, cautions first.

    What such complaints turned out to be and what held, what is read when a part is good and
    when not, which first attempts were in vain, and a past job or two worth reading.

    \b
    Examples:
      kb lesson restraints
      kb lesson charging --detail
    """
    from kb.reports.lesson import render  # noqa: PLC0415
    from kb.services.teach import teach  # noqa: PLC0415

    taught = teach(app.address, " ".join(system), app.settings)
    show(taught, partial(render, detail=detail), as_json=as_json)
