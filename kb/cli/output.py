"""How results reach the terminal: one option for machines, one console for people."""

from collections.abc import Callable
from typing import Any, TypeVar

import click
from rich.console import Console, RenderableType

from kb.reports.json import to_json

Command = TypeVar("Command", bound=Callable[..., Any])


def json_option(command: Command) -> Command:
    """Add ``--json`` to a command; its function receives ``as_json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")(command)


def show(result: object, render: Callable[[Any], RenderableType], *, as_json: bool) -> None:
    """Print a result: as JSON, or as `render` lays it out.

    Parameters
    ----------
    result : object
        A result dataclass of a service, or a list of them.
    render : callable
        From `kb.reports`: takes the result and returns a rich renderable.
    as_json : bool
        Print JSON and nothing else.
    """
    if as_json:
        click.echo(to_json(result))
    else:
        console().print(render(result))


def console(*, stderr: bool = False) -> Console:
    """Return a console that prints the shop's words as they are: no markup, no emoji codes."""
    return Console(stderr=stderr, markup=False, emoji=False, highlight=False)
