"""`kb init` and `kb db`: making, looking at, upgrading and copying a store."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import click

from kb.bounds import whole_of
from kb.cli.clock import mind_clock, tell_of_clock
from kb.cli.main import App
from kb.cli.options import HOW_MANY, FilePath
from kb.cli.output import (
    at_terminal,
    confirm,
    counting,
    forget_typed_ahead,
    json_option,
    prompt,
    say,
)
from kb.errors import NotAgreed
from kb.reports.json import to_json
from kb.reports.labels import plural
from kb.reports.store import (
    condition_lines,
    copied_line,
    created_line,
    erased_lines,
    mended_lines,
    places_lines,
    reindexed_line,
    restored_line,
    roles_lines,
    status_line,
    upgrade_line,
)
from kb.store.address import must_be_changeable
from kb.store.backup import NewerStore, back_up, clear_parts, restore
from kb.store.database import (
    StoreThere,
    create_store,
    let_in,
    open_store,
    store_status,
    upgrade_store,
)
from kb.store.rotation import Rotated, rotate

T = TypeVar("T")


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
        try:
            create_store(app.address)
        except StoreThere:  # somebody else was quicker
            is_new = False
    open_store(app.address)
    render = created_line if is_new else status_line
    _tell(store_status(app.address), render, as_json=as_json)


@click.group()
def db() -> None:
    """Look after the store: status, check, upgrade, backup, restore, erase, roles, reindex.

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
    _tell(store_status(app.address), status_line, as_json=as_json)


@db.command()
@click.option("--no-backup", is_flag=True, help="Make no copy first.")
@json_option
@click.pass_obj
def upgrade(app: App, no_backup: bool, as_json: bool) -> None:
    """Bring an older store up to date; it is copied first, as by 'kb db backup'.

    Nothing is lost: the upgrade is done as a whole, or not at all. Where no copy can be made,
    nothing is changed; --no-backup goes on without one.

    \b
    Example:
      kb db upgrade
    """
    _tell(upgrade_store(app.address, copy_first=not no_backup), upgrade_line, as_json=as_json)


@db.command()
@click.argument("target", required=False, type=FilePath(dir_okay=False))
@click.option(
    "--keep",
    type=HOW_MANY,
    metavar="N",
    help="Keep only the newest N dated copies of the store, if all of it can be read.",
)
@json_option
@click.pass_context
def backup(ctx: click.Context, target: Path | None, keep: int | None, as_json: bool) -> None:
    """Copy the store, also while it is in use; without TARGET to a dated file beside it.

    The copy is read through before it counts. Where the store holds what cannot be read, --keep
    removes no older copy, says so, and the exit code is 1. 'kb db restore' puts a copy back. A
    store in a PostgreSQL server is copied by pg_dump, which must be installed, to the user's data
    folder; pg_restore puts that back.

    \b
    Examples:
      kb db backup
      kb db backup --keep 14
      kb db backup /media/stick/cases.sqlite
    """
    app: App = ctx.obj
    tell_of_clock(app)  # the copy is named by it
    cleared = tuple(clear_parts(app.address))
    if keep is None:
        made = Rotated(copy=back_up(app.address, target))
    else:
        made = rotate(app.address, target, keep=keep)
    made = replace(made, cleared=cleared)
    _tell(made, copied_line, as_json=as_json)
    ctx.exit(1 if made.unsound else 0)


@db.command()
@click.option("--repair", is_flag=True, help="Mend what can be mended, after a copy.")
@json_option
@click.pass_context
def check(ctx: click.Context, repair: bool, as_json: bool) -> None:
    """Look through the whole store for what cannot be read back; changes nothing.

    What a flipped bit on a disk, a broken copy or another program has spoilt is named by job and
    field, and the exit code is then 1; until it is mended, questions are answered without it, with
    a note. 'kb export --raw' gives what stands there. --repair makes a field what it was where the
    history, or what was typed, tells it; otherwise it empties fields that may be empty, takes out
    list items that cannot be read or belong to no job, and gives a job whose number or
    car is lost another; what stood there is kept word for word in a file beside the store. Jobs
    that the index has otherwise than the store are named, too; --repair makes again
    all that is computed from it.

    \b
    Examples:
      kb db check
      kb db check --repair
    """
    from kb.services.checking import check as look_through  # noqa: PLC0415  pulls in the matcher
    from kb.services.checking import repair as mend  # noqa: PLC0415
    from kb.services.indexing import reindex as make_again  # noqa: PLC0415

    app: App = ctx.obj
    found = look_through(app.address, app.settings)
    if repair and found.cells:
        must_be_changeable(app.address)
        mended = mend(app.address, app.settings, app.who)
        _tell(mended, mended_lines, as_json=as_json)
        ctx.exit(1 if mended.left or found.database or found.missing else 0)
    if repair and (found.astray or found.rates_astray):
        make_again(app.address, app.settings)
        found = look_through(app.address, app.settings)
    _tell(found, condition_lines, as_json=as_json)
    ctx.exit(0 if found.is_sound else 1)


@db.command("restore")
@click.argument("copy", type=FilePath())
@click.option("--force", is_flag=True, help="Also where the store has changes the copy has not.")
@json_option
@click.pass_obj
def restore_(app: App, copy: Path, force: bool, as_json: bool) -> None:
    """Put a COPY in the place of the store; what was there is copied first.

    Where the store has changes that the copy has not, it is asked first.

    \b
    Examples:
      kb db restore shop.2026-11-02_181500_000000.backup.sqlite
      kb --store /srv/shop/cases.sqlite db restore /media/stick/cases.sqlite
    """
    must_be_changeable(app.address)
    try:
        done = restore(app.address, copy, undo=force)
    except NewerStore as error:
        if not at_terminal():
            raise
        say(str(error).partition("; ")[0], err=True)
        if not confirm("Go back all the same?", default=False, err=True):
            raise click.Abort from None
        done = restore(app.address, copy, undo=True)
    _tell(done, restored_line, as_json=as_json)


@db.command()
@click.argument("texts", nargs=-1, metavar="[TEXT]...")
@click.option(
    "--confirm",
    "confirmed",
    type=HOW_MANY,
    metavar="N",
    help="Go on where it is found in just so many places; without a terminal this is needed.",
)
@json_option
@click.pass_obj
def erase(app: App, texts: tuple[str, ...], confirmed: int | None, as_json: bool) -> None:
    """Take a name, telephone number, plate, VIN or key tag out of the whole store, for good.

    Jobs, the words they were told in, contacts, vehicles, the history with what was there before,
    what was typed and not stored, and the index. TEXT is found as whole words, in any case, with
    or without gaps; each other way of writing it is a TEXT of its own. Without one it is asked for,
    and so stays out of the shell's list of past commands.

    It is shown where it stands, and the number of places is to be typed. History says then that
    something was erased, when and by whom, and not what. It cannot be undone. Copies and exports
    made before still hold it.

    \b
    Examples:
      kb --who BT db erase
      kb db erase "Berit Talle" "Talle, Berit"
      kb db erase "07700 900123" --confirm 4
    """
    from kb.services.erasing import erase_for_good, places_to_erase  # noqa: PLC0415

    must_be_changeable(app.address)
    mind_clock(app)
    if not texts and at_terminal():
        texts = (prompt("Text to erase:", err=True),)
    places = places_to_erase(app.address, texts)
    if places and confirmed is None:
        say(places_lines(places), err=True)
        if not at_terminal():
            raise NotAgreed(f"erase: nothing was changed; to go on, give --confirm {len(places)}")
        forget_typed_ahead()
        said = prompt(f"Cannot be undone. Type {len(places)} to erase it:", err=True)
        confirmed = whole_of(said)
    if places and confirmed != len(places):
        raise NotAgreed(
            f"erase: found in {plural(len(places), 'place')}, and another number was given; "
            "nothing was changed"
        )
    _tell(erase_for_good(app.address, texts, who=app.who), erased_lines, as_json=as_json)


@db.command()
@json_option
@click.pass_obj
def roles(app: App, as_json: bool) -> None:
    """Make roles for readers, technicians and foremen of a store in a PostgreSQL server.

    A reader asks and copies. A technician records and edits jobs as well, a foreman keeps the
    shop's words, names, vehicle list and watch, and erases. None of them can change the tables,
    delete a job, or give anybody anything; history is changed by erasing alone. Others can no
    longer connect. It is asked by the owner of the store, who may make roles, and asked again it
    sets right what each may do. An upgrade keeps it right by itself.

    A person gets a role of their own and is made a member of one of these; how is shown.

    \b
    Examples:
      kb db roles
      kb --store postgresql://owner@server/cases db roles
    """
    must_be_changeable(app.address)
    _tell(let_in(app.address), roles_lines, as_json=as_json)


@db.command()
@json_option
@click.pass_obj
def reindex(app: App, as_json: bool) -> None:
    """Make the index of past jobs again, which 'kb causes' and 'kb similar' ask.

    Never needed: a damaged or outdated index is noticed and made again at the next question. This
    takes the wait out of that question. The store itself is not changed. In a store of more than
    2,000 cases new ones are recalled at once, but what words mean is learnt of them only when they
    are one in a hundred of the cases above these: until then a complaint in the words of one of
    them may be given another chance than after this.

    \b
    Examples:
      kb db reindex
      kb db reindex --json
    """
    from kb.services.indexing import reindex as make_again  # noqa: PLC0415  pulls in the matcher

    with counting("Reading past jobs") as progress:
        made = make_again(app.address, app.settings, progress)
    _tell(made, reindexed_line, as_json=as_json)


def _tell(result: T, line: Callable[[T], str], *, as_json: bool) -> None:
    """Print a result; unwrapped, so that a path can be copied."""
    say(to_json(result) if as_json else line(result))
