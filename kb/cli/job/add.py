"""`kb job add`: a line of shop talk, or one part of a job with all its details."""

from datetime import date
from difflib import get_close_matches
from typing import Any

import click

from kb.bounds import LONGEST_TEXT
from kb.cli.job import add_parts
from kb.cli.job.asking import (
    job_and_words,
    keep_shown,
    need,
    recording_options,
)
from kb.cli.job.in_hand import in_hand_now, job_meant
from kb.cli.job.typed import typing
from kb.cli.main import App
from kb.cli.output import at_terminal
from kb.errors import for_shell
from kb.intake.bare import as_told
from kb.intake.units import find_unit
from kb.services.adding import add_line

WHAT = "What to add"
_LIKE_A_PART = 0.8
"""Likeness from which a word is taken for a misspelt part: reading, test."""


class AddGroup(click.Group):
    """Takes a job number, or words, for a command name: then it is a line of shop talk."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Send ``12 motor feed 4.1 V`` to the command ``line``; without a number, the words."""
        first, *rest = args
        if first.lstrip("#").isdigit():
            if rest and _is_unit(rest[0]):
                raise click.UsageError(
                    f"Is {first} {rest[0]} a value, or {first} a job? Put the line in quotes: "
                    f"kb job add JOB {for_shell(f'{first} {rest[0]} ...')}"
                )
            return super().resolve_command(ctx, ["line", *args])
        near = get_close_matches(first, self.commands, n=1, cutoff=_LIKE_A_PART)
        if first in self.commands or near:
            return super().resolve_command(ctx, args)
        return super().resolve_command(ctx, ["line", *args])


def _is_unit(word: str) -> bool:
    """Whether a word is nothing but a unit; a lone small letter may be a word."""
    return find_unit(word) is not None and (len(word) > 1 or not word.islower() or word == "v")


@click.group(cls=AddGroup, invoke_without_command=True, subcommand_metavar="JOB TEXT... | PART ...")
@click.pass_context
def add(ctx: click.Context) -> Any:
    """Add what was measured, tested, tried or heard to a job.

    With a job number and a line of shop talk, pieces parted by semicolons: codes and readings are
    lifted out; a piece that begins with what was done (cleaned, replaced) is a fix; a test is
    written "wiggle test: reading jumps"; "held" or "came back" tells how a fix fared.

    Without a number it is for the job in hand (see kb job use), whose car is told; without a
    terminal only for one that was taken in hand today.

    \b
    Examples:
      kb job add 12 "B1234-13, motor feed 4.1 V; cleaned door plug, no change"
      kb job add 12 "wiggle test: reading jumps; replaced loom, cured, 90 min"
      kb job add reading 12 "RF pretensioner 2.3 ohm" --good
      kb job add contact 12 held --on 2026-05-02 --km 91000
    """
    if ctx.invoked_subcommand is None:
        if not at_terminal():
            raise click.UsageError('Give a job number and what to add: kb job add 12 "..."')
        ctx.invoke(line)


@click.command()
@job_and_words("[TEXT]...", piped=True)
@recording_options
@click.pass_obj
def line(app: App, number: int | None, text: tuple[str, ...], yes: bool, as_json: bool) -> None:
    """Add what one line of shop talk tells; the word "line" may be left out.

    \b
    Example:
      kb job add line 12 "motor feed 4.1 V; cleaned door plug, no change"
    """
    with typing(app, "add", number, bare=not text) as typed:
        typed.note(WHAT, " ".join(text))  # not to be lost at the question for the job
        number = number_meant(app, number, " ".join(text))
        told = need(" ".join(text), WHAT, as_told)
        typed.note(WHAT, told)
        typed.wanted = typed.wanted or len(told) > LONGEST_TEXT  # refused, and not to be lost
        draft = add_line(app.address, number, told, today=date.today())
        keep_shown(app, draft, done="Added to job {number}.", yes=yes, as_json=as_json)


def number_meant(app: App, number: int | None, words: str) -> int:
    """Return the job a line is for; without a terminal that is the number, or the job in hand."""
    if number is None and words and not at_terminal():
        number = in_hand_now(app)
        if number is None:
            raise click.UsageError(
                f"The job's number is missing before {words!r}: kb job add JOB {for_shell(words)}"
            )
    return job_meant(app, number, asks=not words)


for command in (line, *add_parts.COMMANDS):
    add.add_command(command)
