"""Where a command may write a file: what is there is replaced only when somebody says so."""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

from kb.cli.main import App
from kb.cli.options import FilePath
from kb.cli.output import at_terminal, confirm
from kb.errors import FileThere
from kb.services.destinations import check_destination

Command = TypeVar("Command", bound=Callable[..., Any])
PLACE = FilePath()
"""A path to write to; `settle` tells what is wrong with it."""


def force_option(command: Command) -> Command:
    """Add ``--force`` to a command that writes a file."""
    about = "Replace a file that is there already, without asking."
    return click.option("--force", is_flag=True, help=about)(command)


def settle(app: App, path: Path | None, *, force: bool, sources: Iterable[Path] = ()) -> None:
    """See that a file may be written there, asking where one is to be replaced.

    Raises
    ------
    Conflict
        If what stands there is the store's, one of the files that are read, or no plain file.
    FileThere
        If there is one, and nobody can be asked.
    UnreadableFile
        If there is no folder for it.
    click.Abort
        If it is not to be replaced.
    """
    if path is None:
        return
    try:
        check_destination(path, app.address, sources=sources, replace=force)
    except FileThere:
        if not at_terminal():
            raise
        if not confirm(f"{path} is there already. Replace it?", default=False, err=True):
            raise click.Abort from None
