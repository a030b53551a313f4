"""`kb watch`: the weekly look at what was chosen, and at what is new."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

import click

from kb.cli.main import App
from kb.cli.options import day_option
from kb.cli.output import counting, json_option, say, show

NEW = 3
"""Exit code where something is new; 1 and 2 are errors."""


@click.command()
@click.option("--follow", "what", metavar="WHAT", help="Watch a part, a part and place, or a code.")
@click.option("--model", "group", metavar="MODEL", help="On this model alone; else on every one.")
@day_option("--since", "Watch from this day on; else from today.")
@click.option("--stop", "stopped", metavar="ID", help="Watch this no more.")
@click.option("--ack", "seen", metavar="ID|all", help="It was seen: do not tell it again.")
@click.option("--list", "as_list", is_flag=True, help="Tell what is watched, and what was done.")
@click.option(
    "--false-alarms",
    type=click.FloatRange(0.001, 0.5),
    metavar="CHANCE",
    help="Of a false alarm in a year, among all that was chosen.  [default: 0.1]",
)
@json_option
@click.pass_context
def watch(
    ctx: click.Context,
    *,
    what: str | None,
    group: str | None,
    since: date | None,
    stopped: str | None,
    seen: str | None,
    as_list: bool,
    false_alarms: float | None,
    as_json: bool,
) -> None:
    """Tell what is new: chosen facts beyond luck, and facts to act on that nobody has seen.

    Made for a weekly run: one line each, and the exit code is 0 where nothing is new, 3 where
    something is, 1 or 2 for errors. Without options it looks and changes nothing. A chosen fact is
    told when its group has had it more often than all others since the day it was chosen, surely
    enough that all of them together give a false alarm in a year with the chance of --false-alarms
    only, however often one looks. What was acknowledged is not told again; a chosen fact is then
    watched anew, and any other told again once it takes clearly more of its cars' jobs than in the
    two years before. New facts are those to act on of kb recurring, as sure as they are there, and
    of those that stand apart there what grows.

    \b
    Examples:
      kb watch --follow "seat connector, under seat" --model Lido
      kb watch --follow B1234 --since 2026-01-01
      kb watch || [ $? -ne 3 ] || kb watch --json > new.json
      kb watch --ack all
    """
    from kb.reports import watch as reports  # noqa: PLC0415
    from kb.services import watch as watching  # noqa: PLC0415

    app: App = ctx.obj
    chance = false_alarms or app.settings.recurrence.false_alarms_a_year
    chosen_now = what is not None or group is not None
    asked = [chosen_now, stopped is not None, seen is not None, as_list]
    if sum(asked) > 1:
        raise click.UsageError("One thing at a time: --follow (--model), --stop, --ack or --list.")
    if as_list:
        _tell(watching.listed(app.address), reports.list_lines, as_json=as_json)
    elif stopped is not None:
        done = watching.stop(app.address, stopped, who=app.who, today=date.today())
        _tell(done, reports.stopped_lines, as_json=as_json)
    elif chosen_now:
        chosen = watching.follow(
            app.address, what, group, who=app.who, since=since, today=date.today()
        )
        _tell(chosen, reports.followed_lines, as_json=as_json)
    elif seen is not None:
        with counting("Reading cases") as progress:
            told = watching.acknowledge(
                app.address,
                app.settings,
                seen,
                who=app.who,
                today=date.today(),
                false_alarms=chance,
                progress=progress,
            )
        _tell(told, reports.seen_lines, as_json=as_json)
    else:
        with counting("Reading cases") as progress:
            found = watching.look(
                app.address,
                app.settings,
                today=date.today(),
                false_alarms=chance,
                progress=progress,
            )
        _tell(found, reports.look_lines, as_json=as_json)
        ctx.exit(NEW if found.alerts else 0)


def _tell(result: Any, lines: Callable[[Any], Iterable[str]], *, as_json: bool) -> None:
    """Print a result as JSON, or its lines unbroken."""
    if as_json:
        show(result, str, as_json=True)
        return
    for line in lines(result):
        say(line)
