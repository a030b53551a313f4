"""`kb undo`: take back what was recorded last."""

from datetime import date

import click

from kb.cli.clock import mind_clock
from kb.cli.job.asking import HAPPENED, confirmed_danger, happened_option
from kb.cli.job.typed import desk_of
from kb.cli.main import App
from kb.cli.options import JOB
from kb.cli.output import at_terminal, confirm, json_option, print_page, say, show
from kb.errors import NotAgreed
from kb.reports.mending import render_entries, render_taking_back, taken_back_line
from kb.services.mending import last_entries, take_back, taking_back


@click.command()
@click.argument("entry", type=JOB, required=False, metavar="[ENTRY]")
@click.option("--list", "listed", is_flag=True, help="Show the last entries with their numbers.")
@click.option("--limit", "-n", type=click.IntRange(1, 200), default=10, help="How many to list.")
@click.option("--yes", "-y", is_flag=True, help="Take it back without asking.")
@happened_option
@json_option
@click.pass_obj
def undo(app: App, entry: int | None, listed: bool, limit: int, yes: bool, as_json: bool) -> None:
    """Take back the last entry on a job: everything that one command stored.

    It is the last one with your initials (--who, KB_WHO) that still stands, so calling it again
    goes one further back; ENTRY names another. It is the last one whatever job it is on; where
    that is not the job in hand (see kb job use), it is said. Without initials it is the last one
    that has none, which may be anybody's. What would be taken back is shown first, with its car.
    Taking back is an entry of its own, and can be taken back in turn. What was changed since,
    by anybody, is not touched: then it says what to do. A job whose opening is taken back
    becomes void: it counts nowhere, and can still be read.

    \b
    Examples:
      kb undo
      kb undo --list
      kb undo 1234 --yes
    """
    if listed:
        show(last_entries(app.address, limit=limit), render_entries, as_json=as_json)
        return
    held = desk_of(app).in_hand() if at_terminal() and not as_json else None
    taking = taking_back(
        app.address,
        who=app.who,
        entry=entry,
        in_hand=held.job if held and held.since == date.today() else None,
    )
    if not as_json:
        print_page(render_taking_back(taking))
    happened = bool(click.get_current_context().meta.get(HAPPENED, False))
    if not yes:
        if not at_terminal() or as_json:
            raise NotAgreed(
                f"entry: {taking.entry.sequence} would be taken back; if that is the one, "
                f"say kb undo {taking.entry.sequence} --yes"
            )
        mind_clock(app)
        if not confirm("Take it back?", default=taking.doubt is None):
            say("Nothing was changed.")
            return
        dangers = [danger for draft in taking.drafts for danger in draft.dangers]
        if dangers and not happened:
            happened = confirmed_danger(dangers)
            if not happened:
                say("Nothing was changed.")
                return
    done = take_back(app.address, taking, who=app.who, happened=happened)
    show(done, taken_back_line, as_json=as_json)
