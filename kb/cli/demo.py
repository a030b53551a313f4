"""`kb demo`: a copy of the demonstration shop to try things on."""

from pathlib import Path

import click

from kb.cli.options import FilePath
from kb.cli.output import counting, say
from kb.errors import for_shell
from kb.services.demo import copy_demo, reset_demo


@click.group()
def demo() -> None:
    """Copy the demonstration shop to a store that may be changed, or make it anew.

    \b
    Examples:
      kb demo copy practice.sqlite
      kb --store practice.sqlite job open "LR door lock dead after rain"
    """


@demo.command()
@click.argument("file", type=FilePath(dir_okay=False))
def copy(file: Path) -> None:
    """Copy the demonstration shop to FILE, a store of its own.

    What --demo asks stays as it is: every command that would change it says so.

    \b
    Example:
      kb demo copy practice.sqlite
    """
    with counting("Copying the demonstration shop") as progress:
        made = copy_demo(file, progress)
    say(f"Copied to {made}; work on it with: kb --store {for_shell(str(made))} ...")


@demo.command()
def reset() -> None:
    """Make the demonstration shop anew, as it comes along; copies of it stay as they are.

    \b
    Example:
      kb demo reset
    """
    with counting("Making the demonstration shop") as progress:
        address = reset_demo(progress)
    say(f"The demonstration shop is as it comes along: {address}")
