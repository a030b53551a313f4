"""`kb export`: jobs of the store into a file."""

import os
import sys
from datetime import date
from io import StringIO
from pathlib import Path
from shutil import copyfileobj
from tempfile import SpooledTemporaryFile
from typing import IO, cast

import click

from kb.cli.destination import force_option, settle
from kb.cli.main import App
from kb.cli.options import FilePath, since_option
from kb.cli.output import at_terminal, console, counting, page_lines, print_under, say

_IN_MEMORY = 100_000_000
"""Bytes of an export that are kept until it is whole, before a file is made for them."""


@click.command()
@click.argument("file", type=FilePath(allow_dash=True), default="-")
@click.option(
    "--format",
    "form",
    type=click.Choice(["jsonl", "csv"]),
    help="What to write  [default: by FILE's name, else jsonl]",
)
@click.option("--system", help='Only jobs about this part of the car, as "brakes".')
@since_option("Only jobs opened on or after this day.")
@click.option("--raw", is_flag=True, help="Only what cannot be read, as it lies in the store.")
@force_option
@click.pass_obj
def export(
    app: App,
    *,
    file: Path,
    form: str | None,
    system: str | None,
    since: date | None,
    raw: bool,
    force: bool,
) -> None:
    """Write the jobs of the store to FILE, or to standard output.

    JSON Lines hold everything and come back exactly with `kb import`. CSV is for spreadsheets. On a
    screen, what may put a meter, lamp or voltage on an igniter is left out, and the cautions stand
    above every page.

    --raw writes, in place of jobs, the rows that 'kb db check' finds spoilt, with what stands in
    them, for whoever is to make sense of it; never to a screen.

    \b
    Examples:
      kb export jobs.jsonl
      kb export --format csv --system brakes --since 2025 > brakes.csv
      kb export --raw spoilt.jsonl
    """
    from rich.text import Text  # noqa: PLC0415

    from kb.case import System  # noqa: PLC0415
    from kb.intake.items import trade_wording  # noqa: PLC0415
    from kb.intake.systems import parse_system  # noqa: PLC0415
    from kb.reports import layout  # noqa: PLC0415
    from kb.reports.exchange import render_export  # noqa: PLC0415
    from kb.safety.hazards import Situation, cautions_of  # noqa: PLC0415
    from kb.services.exchange import Form, export_file  # noqa: PLC0415

    chosen = parse_system(system) if system else None
    to_screen = str(file) == "-"
    if raw and (form or system or since):
        raise click.UsageError("--raw goes with no other choice: it is what cannot be read.")
    if raw and to_screen and console().is_terminal:
        raise click.UsageError("--raw: name a file; what stands there is not for a screen.")
    if to_screen and getattr(sys.stdout, "name", None) == os.devnull:
        raise click.UsageError("Standard output is closed; name a FILE to write to.")
    settle(app, None if to_screen else file, force=force)
    if raw:
        _export_raw(app, None if to_screen else file)
        return
    read = to_screen and console().is_terminal
    paged = StringIO() if read else None
    found = Situation(systems=(chosen,) if chosen else tuple(System))
    cautions = layout.page(*layout.cautions(cautions_of(found, trade_wording())))
    whole = click.get_current_context().with_resource(
        SpooledTemporaryFile(_IN_MEMORY, "w+", encoding="utf-8", newline="")  # noqa: SIM115
    )
    with counting("Exporting") as progress:
        result = export_file(
            app.address,
            paged or (cast("IO[str]", whole) if to_screen else file),
            form=Form(form or ("csv" if file.suffix.lower() == ".csv" else "jsonl")),
            system=chosen,
            since=since,
            for_people=read,
            progress=progress,
        )
    if paged is not None and at_terminal():
        print_under(cautions, page_lines(Text(paged.getvalue())))
    elif paged is not None:
        console(stderr=True).print(cautions)
        say(paged.getvalue())
    elif to_screen:
        whole.seek(0)
        out = click.open_file("-", "w", encoding="utf-8")
        copyfileobj(whole, out)
        out.flush()
    if not to_screen:
        console(stderr=True).print(render_export(result))


def _export_raw(app: App, file: Path | None) -> None:
    from kb.reports.exchange import render_raw_export  # noqa: PLC0415
    from kb.services.exchange import export_raw  # noqa: PLC0415

    out = None if file else click.open_file("-", "w", encoding="utf-8")
    result = export_raw(app.address, file or cast("IO[str]", out))
    if out:
        out.flush()
    console(stderr=True).print(render_raw_export(result))
