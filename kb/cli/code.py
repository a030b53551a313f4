"""`kb code`: what trouble codes say, and what they turned out to be here."""

from functools import partial

import click

from kb.cli.main import App
from kb.cli.output import json_option, show


@click.command()
@click.argument("codes", nargs=-1, required=True)
@click.option("--detail", "-d", is_flag=True, help="All causes, models and job numbers.")
@json_option
@click.pass_obj
def code(app: App, codes: tuple[str, ...], detail: bool, as_json: bool) -> None:
    """Tell what trouble CODES mean, and what they turned out to be in this shop.

    The structure is the public standard's, in our own words. What a maker-defined code means
    only the shop's own jobs can tell: the models that had it, the codes beside it, the causes
    proved. Chances and fixes for a whole complaint: kb causes.

    \b
    Examples:
      kb code P0171/P0174
      kb code po301-po304
      kb code b1234 13 --detail
    """
    from kb.reports.code import render  # noqa: PLC0415
    from kb.services.code_lookup import explain_codes  # noqa: PLC0415

    answer = explain_codes(app.address, " ".join(codes))
    show(answer, partial(render, detail=detail), as_json=as_json)
