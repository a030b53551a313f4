"""Asking at the terminal, and showing what was understood before it is stored."""

from collections.abc import Callable
from enum import StrEnum
from typing import Any, TypeVar

import click
from rich.text import Text

from kb.cli.main import App
from kb.cli.options import Option
from kb.cli.output import at_terminal, json_option, print_page, show
from kb.errors import InvalidField
from kb.reports import layout
from kb.reports.job import render_draft, unvouched_lines
from kb.safety.job_words import danger_line
from kb.services.record import Draft, Recorded, keep

T = TypeVar("T")


HAPPENED = "kb.happened"
"""Where a command notes that a dangerous step was in fact done."""


def ask(label: str, parse: Callable[[str], T], *, need: bool = False) -> T | None:
    """Ask until the answer can be read; an empty one is None, unless it is needed."""
    while True:
        text = click.prompt(label, default="", show_default=False).strip()
        if not text and not need:
            return None
        try:
            if text:
                return parse(text)
        except InvalidField as error:
            click.echo(f"  {error}")


def need(value: T | None, label: str, parse: Callable[[str], T]) -> T:
    """Return what was given on the command line, or ask for it; without a terminal it must be."""
    if value:
        return value
    if not at_terminal():
        raise click.UsageError(f"Give the {label.lower()}; asking needs a terminal.")
    answer = ask(label, parse, need=True)
    assert answer is not None  # noqa: S101  it was needed
    return answer


def keep_shown(app: App, draft: Draft, *, done: str, yes: bool, as_json: bool) -> bool:
    """Show what was understood, store it, at a terminal only when agreed, and say so.

    Parameters
    ----------
    done : str
        What to say, with a place for the job's ``{number}``.

    Returns
    -------
    bool
        Whether it was stored.
    """
    if draft.base is not None and not draft.changes:
        raise InvalidField("job", draft.base.number, "is so already; nothing was changed")
    if not as_json:
        print_page(render_draft(draft))
    asked = at_terminal() and not yes and not as_json
    if asked and not draft.dangers and not click.confirm("Store it?", default=True):
        click.echo("Nothing was stored.")
        return False
    recorded = keep_asking(app, draft, ask=asked)
    if recorded is None:
        return False
    show(
        recorded,
        lambda kept: layout.page(
            Text(done.format(number=kept.job.number)),
            *layout.notices(unvouched_lines(kept.unvouched)),
        ),
        as_json=as_json,
    )
    return True


def keep_asking(app: App, draft: Draft, *, ask: bool = True) -> Recorded | None:
    """Store a draft; dangerous steps in it only if somebody says that they were in fact done.

    Returns
    -------
    Recorded or None
        None if nobody said so.
    """
    happened = click.get_current_context().meta.get(HAPPENED, False)
    if draft.dangers and ask and not happened:
        for danger in draft.dangers:
            line = Text(danger_line(danger), "bold")
            print_page(layout.labelled([("DANGER", line)], style="bold red"))
        happened = click.confirm("Was that in fact done? Store it as what happened", default=False)
        if not happened:
            click.echo("Nothing was stored.")
            return None
    return keep(app.address, draft, who=app.who, happened=happened)


def whole_number(text: str) -> int:
    """Read a whole number, thousands perhaps parted, perhaps with its unit behind."""
    digits = text.lower().removesuffix("km").replace(",", "").replace(" ", "").lstrip("#")
    if not (digits.isascii() and digits.isdigit()):
        raise InvalidField("number", text, "is no whole number")
    return int(digits)


def parsed(
    parse: Callable[[str], T],
) -> Callable[[click.Context, click.Parameter, str | None], Any]:
    """Return a callback that reads an option; what cannot be read is told with its cure."""

    def read(ctx: click.Context, param: click.Parameter, value: str | None) -> T | None:  # noqa: ARG001
        return None if value is None else parse(value)

    return read


def choice_option(name: str, kind: type[StrEnum], about: str) -> Option:
    """Make an option that takes one of the words of an enumeration and gives the member."""
    words = [word.value for word in kind]
    return click.option(
        name,
        type=click.Choice(words, case_sensitive=False),
        callback=parsed(kind),
        metavar="WORDS",
        help=f"{about}: {', '.join(words)}.",
    )


def recording_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add ``--yes``, ``--happened`` and ``--json``."""
    asked = click.option("--yes", "-y", is_flag=True, help="Store without asking.")
    return asked(happened_option(json_option(command)))


def happened_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add ``--happened``, which `keep_asking` looks for."""

    def note(ctx: click.Context, param: click.Parameter, value: bool) -> None:  # noqa: ARG001
        ctx.meta[HAPPENED] = value

    return click.option(
        "--happened",
        is_flag=True,
        expose_value=False,
        callback=note,
        help="A dangerous step told here was in fact done: store it as what happened.",
    )(command)


number_argument = click.argument(
    "number", callback=parsed(whole_number), required=False, metavar="JOB"
)
