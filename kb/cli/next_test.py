"""`kb next-test`: what to do next on an open job, and recording that it was done."""

from functools import partial
from typing import Any

import click
from rich.text import Text

from kb.cli.job.asking import happened_option, keep_shown, number_argument
from kb.cli.job.in_hand import job_meant
from kb.cli.main import App
from kb.cli.options import MINUTES
from kb.cli.output import counting, json_option, page_lines, print_page, room_above, show
from kb.local_time import local_now


@click.command("next-test")
@number_argument
@click.option("--did", metavar="STEP", help="Step that was done: its number, or words of it.")
@click.option("--saw", metavar="OUTCOME", help="What was seen: its letter, or words of it.")
@click.option("--words", help="The same in your own words.")
@click.option("--minutes", type=MINUTES, help="Time it took.")
@click.option("--confirm", metavar="STEP", help="What locks this step is so; needs --who.")
@click.option("--yes", "-y", is_flag=True, help="Store on a job even if it is old.")
@click.option("--detail", "-d", is_flag=True, help="All suspects, all outcomes, job numbers.")
@happened_option
@json_option
@click.pass_obj
def next_test(
    app: App,
    /,
    number: int | None,
    did: str | None,
    saw: str | None,
    words: str | None,
    minutes: int | None,
    confirm: str | None,
    yes: bool,
    detail: bool,
    as_json: bool,
) -> None:
    """Propose the best three things to do next on an open job.

    Each comes with its minutes, what its outcomes would mean, and which suspects they would
    leave. A fix may be the best thing to do, where testing first costs more. A step that could
    hurt is locked until somebody confirms what makes it safe. At a terminal "kb job work" does
    the same as a conversation.

    \b
    Examples:
      kb next-test 12
      kb next-test 12 --did 1 --saw a --words "2.3 to 6 ohm at the yellow plug" --minutes 8
      kb --who BT next-test 12 --confirm "drag test"
      kb next-test 12 --did "cleaned seat connector" --saw cured
    """
    from kb.reports.one_case import told_working  # noqa: PLC0415
    from kb.reports.troubleshoot import proved, render  # noqa: PLC0415
    from kb.services import troubleshoot as working  # noqa: PLC0415

    number = job_meant(app, number, asks=False, proposes=True)
    if (did is None) != (saw is None) or (did is not None and confirm is not None):
        raise click.UsageError("Give --did and --saw together, or --confirm alone.")
    if did is None and (words or minutes is not None):
        raise click.UsageError("--words and --minutes tell of what was done: give --did and --saw.")
    settings, now = app.settings, local_now()
    presence: dict[str, Any] = {"who": app.who, "now": now}
    before = None
    if confirm is not None:
        draft = working.confirm(app.address, number, confirm, settings, by=app.who, now=now)
        keep_shown(
            app, draft, done="Confirmed on job {number}.", ask=False, yes=yes, as_json=as_json
        )
    elif did is not None and saw is not None:
        told = working.Done(step=did, saw=saw, words=words, minutes=minutes)
        draft = working.done(app.address, number, told, settings, **presence)
        before = draft.before
        keep_shown(app, draft, done="Added to job {number}.", ask=False, yes=yes, as_json=as_json)
    if as_json and (confirm is not None or did is not None):
        return
    with counting("Reading past jobs") as progress:
        found = working.working_job(app.address, number, settings, **presence, progress=progress)
    if before is not None:
        print_page(Text(proved(before, found.advice), "bold green"))
    answer = told_working(found) if as_json else found
    short = not as_json and not detail and _is_cut(found)
    show(answer, partial(render, detail=detail, short_first=short), as_json=as_json)


def _is_cut(found: Any) -> bool:
    """Whether the steps, with what they would show, do not fit on the screen."""
    from kb.reports.troubleshoot import where_it_stands  # noqa: PLC0415

    room = room_above(1)
    return room is not None and len(page_lines(where_it_stands(found))) > room
