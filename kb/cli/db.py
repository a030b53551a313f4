"""`kb init` and `kb db`: making, looking at, upgrading and copying a store."""

from pathlib import Path

import click

from kb.cli.main import App
from kb.cli.output import json_option, show
from kb.reports.store import created_line, status_line, upgrade_line
from kb.store.backup import back_up
from kb.store.database import create_store, open_store, store_status, upgrade_store


@click.command()
@json_option
@click.pass_obj
def init(app: App, as_json: bool) -> None:
    """Create an empty case store; one that is there already is left as it is.

    \b
    Examples:
      kb init
      kb --store /srv/shop/cases.sqlite init
      kb --store postgresql://shop@server/cases init
    """
    is_new = store_status(app.address).revision is None
    if is_new:
        create_store(app.address)
    open_store(app.address)
    render = created_line if is_new else status_line
    show(store_status(app.address), render, as_json=as_json)


@click.group()
def db() -> None:
    """Look after the store: status, upgrade, backup.

    \b
    Examples:
      kb db status
      kb db backup
    """


@db.command()
@json_option
@click.pass_obj
def status(app: App, as_json: bool) -> None:
    """Show where the store is, what it holds and whether it is up to date; changes nothing.

    \b
    Example:
      kb db status --json
    """
    show(store_status(app.address), status_line, as_json=as_json)


@db.command()
@json_option
@click.pass_obj
def upgrade(app: App, as_json: bool) -> None:
    """Bring an older store up to date; an SQLite store is copied first.

    Nothing is lost: the upgrade is done as a whole, or not at all. Of a PostgreSQL store make a
    copy with the server's own backup before.

    \b
    Example:
      kb db upgrade
    """
    show(upgrade_store(app.address), upgrade_line, as_json=as_json)


@db.command()
@click.argument("target", required=False, type=click.Path(dir_okay=False, path_type=Path))
@json_option
@click.pass_obj
def backup(app: App, target: Path | None, as_json: bool) -> None:
    """Copy the store, also while it is in use; without TARGET to a dated file beside it.

    \b
    Examples:
      kb db backup
      kb db backup /media/stick/cases.sqlite
    """
    show({"copy": str(back_up(app.address, target))}, _copied, as_json=as_json)


def _copied(result: dict[str, str]) -> str:
    return f"Copied to {result['copy']}"
