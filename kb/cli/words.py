"""`kb words`: the shop's own shorthand."""

import click

from kb.cli.main import App
from kb.cli.output import json_option, show


@click.group()
def words() -> None:
    """Show and change the shop's own shorthand, on top of the trade's."""


@words.command("list")
@click.option("--all", "with_trade", is_flag=True, help="Show the trade's shorthand too.")
@json_option
@click.pass_obj
def list_(app: App, with_trade: bool, as_json: bool) -> None:
    """List the shop's shorthand and what it means.

    \b
    Example:
      kb words list --all
    """
    from kb.reports.exchange import render_words  # noqa: PLC0415
    from kb.services.words import list_words  # noqa: PLC0415

    show(list_words(app.address, with_trade=with_trade), render_words, as_json=as_json)


@words.command()
@click.argument("short")
@click.argument("meanings", nargs=-1, required=True, metavar="MEANING...")
@json_option
@click.pass_obj
def add(app: App, short: str, meanings: tuple[str, ...], as_json: bool) -> None:
    """Set what SHORT means. Several meanings are all kept.

    SHORT is a word or slash form. In several words it names something that is measured, and
    MEANING is the name that its readings are compared under. The name of an igniter or of a tool
    that may fire one cannot be given another meaning.

    \b
    Examples:
      kb words add mulch "air filter"
      kb words add "belt shooter" pretensioner
      kb words add bcm "body control unit" "brake control unit"
    """
    from kb.reports.exchange import render_words  # noqa: PLC0415
    from kb.services.words import add_word  # noqa: PLC0415

    show([add_word(app.address, short, meanings, who=app.who)], render_words, as_json=as_json)


@words.command()
@click.argument("short")
@click.pass_obj
def remove(app: App, short: str) -> None:
    """Take SHORT out; the trade's meaning, if there is one, holds again.

    \b
    Example:
      kb words remove mulch
    """
    from kb.services.words import remove_word  # noqa: PLC0415

    remove_word(app.address, short, who=app.who)
