"""`kb import`: jobs of a file into the store."""

from datetime import date
from pathlib import Path

import click

from kb.cli.clock import mind_clock
from kb.cli.destination import PLACE, force_option, settle
from kb.cli.main import App
from kb.cli.options import FilePath
from kb.cli.output import counting, json_option, show

FILE = FilePath(dir_okay=False)


@click.command("import")
@click.argument("file", type=FILE)
@click.option("--mapping", type=FILE, help="TOML file that says what a foreign CSV's columns are.")
@click.option("--dry-run", is_flag=True, help="Show what would become of the file; keep nothing.")
@click.option("--rejects", type=PLACE, help="Where to write refused jobs [FILE.rejects.jsonl].")
@force_option
@json_option
@click.pass_context
def import_(
    ctx: click.Context,
    *,
    file: Path,
    mapping: Path | None,
    dry_run: bool,
    rejects: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Store the jobs of a FILE: JSON Lines, CSV, or TOML with [[job]] tables.

    Importing the same file twice adds nothing. Rows that say the same are jobs of their own, unless
    they have one number or uid. Jobs that cannot be stored are written to a file
    with line, field, value, reason and row, and the exit code is then 1. A job whose number is
    taken gets the next free one. `kb schema` describes a line of JSON.

    \b
    Examples:
      kb import jobs.jsonl
      kb import --dry-run --mapping columns.toml old-jobs.csv

    \b
    A mapping for CSV with other columns than `kb export` writes:
      delimiter = ";"
      decimal = ","
      dates = "%d.%m.%Y"
      [columns]                          # their column = our field
      "Order" = "number"
      "Came in" = "opened"
      "Complaint" = "complaint"
      "Part" = "attempts[0].component"
      "Fixed" = "attempts[0].cured"
      [constants]                        # the same in every row
      "attempts[0].action" = "replaced"
      [words."attempts[0].cured"]        # their word = ours
      "ja" = "yes"
      "unklar" = ""                      # not known
    """
    from kb.reports.exchange import render_import  # noqa: PLC0415
    from kb.services.exchange import import_file  # noqa: PLC0415
    from kb.services.proposed import prepare_recall  # noqa: PLC0415

    app: App = ctx.obj
    read = (file, mapping) if mapping else (file,)
    settle(app, rejects, force=force, sources=read)
    if not dry_run:
        mind_clock(app, ask=not as_json)
    with counting("Importing") as progress:
        result = import_file(
            app.address,
            file,
            mapping=mapping,
            dry_run=dry_run,
            rejects=rejects,
            who=app.who,
            progress=progress,
        )
    if result.added and not dry_run:
        made = "the jobs are stored, and the next question prepares it"
        with counting("Preparing recall", broken_off=made) as progress:
            prepare_recall(app.address, app.settings, today=date.today(), progress=progress)
    show(result, render_import, as_json=as_json)
    if result.rejects:
        ctx.exit(1)
