"""`kb names`: one name for one thing."""

import click

from kb.cli.main import App
from kb.cli.options import HOW_MANY
from kb.cli.output import json_option, show
from kb.store.names import Thing

_location = click.option("--location", is_flag=True, help="Names of a location, not a component.")


@click.group()
def names() -> None:
    """Join the names of one component or location, so that every count goes by one of them.

    What was typed on a job stays as it is. Nothing is joined unasked, and what is joined can be
    parted again.
    """


@names.command("list")
@json_option
@click.pass_obj
def list_(app: App, as_json: bool) -> None:
    """List the other names of things, and how many jobs say each.

    \b
    Example:
      kb names list
    """
    from kb.reports.names import render  # noqa: PLC0415
    from kb.services.names import list_names  # noqa: PLC0415

    show(list_names(app.address), render, as_json=as_json)


@names.command()
@click.option("--limit", "-n", type=HOW_MANY, default=10, show_default=True, help="How many.")
@json_option
@click.pass_obj
def propose(app: App, limit: int, as_json: bool) -> None:
    """Propose names of components that may be of one thing, with the jobs on both sides.

    Found by spelling, shorthand, word order, number, parts of names, and by the words of their
    jobs. Nothing is joined; join what is right, and leave what is not.

    \b
    Example:
      kb names propose --limit 20
    """
    from kb.reports.names import render_pairs  # noqa: PLC0415
    from kb.services.names import propose_names  # noqa: PLC0415

    show(propose_names(app.address, limit=limit), render_pairs, as_json=as_json)


@names.command()
@click.argument("name")
@click.argument("meant")
@_location
@json_option
@click.pass_obj
def join(app: App, name: str, meant: str, location: bool, as_json: bool) -> None:
    """Let NAME mean what MEANT means, in every count from now on.

    \b
    Examples:
      kb names join "seat plug" "seat connector"
      kb names join --location "below seat" "under seat"
    """
    from kb.reports.names import render  # noqa: PLC0415
    from kb.services.names import join_names  # noqa: PLC0415

    joined = join_names(app.address, name, meant, kind=_kind(location), who=app.who)
    show([joined], render, as_json=as_json)


@names.command()
@click.argument("name")
@_location
@click.pass_obj
def part(app: App, name: str, location: bool) -> None:
    """Part NAME again from the thing it was joined to.

    \b
    Example:
      kb names part "seat plug"
    """
    from kb.services.names import part_names  # noqa: PLC0415

    part_names(app.address, name, kind=_kind(location), who=app.who)


def _kind(location: bool) -> Thing:
    return Thing.LOCATION if location else Thing.COMPONENT
