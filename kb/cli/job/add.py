"""`kb job add`: a line of shop talk, or one part of a job with all its details."""

from datetime import date
from typing import Any

import click

from kb.cli.job import add_parts
from kb.cli.job.asking import (
    keep_shown,
    need,
    number_argument,
    recording_options,
    whole_number,
)
from kb.cli.main import App
from kb.cli.output import at_terminal
from kb.services.record import add_line


class AddGroup(click.Group):
    """Takes a job number for a command name: what follows is a line of shop talk."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Send ``12 motor feed 4.1 V`` to the command ``line``."""
        if args and args[0].lstrip("#").isdigit():
            return super().resolve_command(ctx, ["line", *args])
        return super().resolve_command(ctx, args)


@click.group(cls=AddGroup, invoke_without_command=True, subcommand_metavar="JOB TEXT... | PART ...")
@click.pass_context
def add(ctx: click.Context) -> Any:
    """Add what was measured, tested, tried or heard to a job.

    With a job number and a line of shop talk, pieces parted by semicolons: codes and readings are
    lifted out; a piece that begins with what was done (cleaned, replaced) is a fix; a test is
    written "wiggle test: reading jumps"; "held" or "came back" tells how a fix fared.

    \b
    Examples:
      kb job add 12 "B1234-13, motor feed 4.1 V; cleaned door plug, no change"
      kb job add 12 "wiggle test: reading jumps; replaced loom, cured, 90 min"
      kb job add reading 12 "LF pretensioner 2.7 ohm" --good
      kb job add contact 12 held --on 2026-05-02 --km 91000
    """
    if ctx.invoked_subcommand is None:
        if not at_terminal():
            raise click.UsageError('Give a job number and what to add: kb job add 12 "..."')
        ctx.invoke(line)


@click.command()
@number_argument
@click.argument("text", nargs=-1, metavar="[TEXT]...")
@recording_options
@click.pass_obj
def line(app: App, number: int | None, text: tuple[str, ...], yes: bool, as_json: bool) -> None:
    """Add what one line of shop talk tells; the word "line" may be left out.

    \b
    Example:
      kb job add line 12 "motor feed 4.1 V; cleaned door plug, no change"
    """
    number = need(number, "Job number", whole_number)
    told = need(" ".join(text), "What to add", str)
    draft = add_line(app.address, number, told, today=date.today())
    keep_shown(app, draft, done="Added to job {number}.", yes=yes, as_json=as_json)


for command in (line, *add_parts.COMMANDS):
    add.add_command(command)
