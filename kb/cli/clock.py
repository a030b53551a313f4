"""A clock that seems wrong is told before anything is stored by it."""

from contextlib import suppress
from typing import TYPE_CHECKING

import click

from kb.cli.output import at_terminal, confirm, say
from kb.errors import KbError
from kb.store.clock import WrongClock

if TYPE_CHECKING:
    from kb.cli.main import App

_TOLD = "kb.wrong_clock"


def tell_once(wrong: WrongClock) -> None:
    """Say it to whoever stands there, once a command."""
    meta = click.get_current_context().meta
    if not meta.get(_TOLD):
        meta[_TOLD] = True
        say(str(wrong), err=True)


def mind_clock(app: "App", *, ask: bool = False) -> None:
    """Tell of a clock that seems wrong before the first question, at a terminal.

    Elsewhere it is told as soon as something is to be stored (`kb.store.clock.telling`).

    Parameters
    ----------
    ask : bool
        Also ask whether to go on, where nothing else is asked before it is stored.

    Raises
    ------
    Abort
        If somebody answers that it is not to go on.
    """
    if not at_terminal() or not tell_of_clock(app):
        return
    if ask and not confirm("Go on with this clock?", default=False, err=True):
        say("Nothing was stored.", err=True)
        raise click.Abort


def tell_of_clock(app: "App") -> bool:
    """Tell of a clock that seems wrong, whether or not anything is stored; whether it does."""
    from kb.store.database import clock_of  # noqa: PLC0415  most commands need it not

    with suppress(KbError):  # what is wrong with the store is told by whoever opens it next
        if wrong := clock_of(app.address):
            tell_once(wrong)
            return True
    return False
