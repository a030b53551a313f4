"""`kb job follow-up`."""

from datetime import date

import click

from kb.case import Outcome
from kb.cli.job.asking import (
    happened_option,
    keep_asking,
    keep_shown,
    odometer,
    parsed,
    whole_number,
)
from kb.cli.main import App
from kb.cli.options import day_option
from kb.cli.output import at_terminal, json_option, print_page, show
from kb.intake.single_facts import parse_contact
from kb.reports import layout
from kb.reports.follow_up import opening, render, rows
from kb.services.follow_up import ToAsk, follow_ups, heard

KEYS = {"h": Outcome.HELD, "c": Outcome.COMEBACK, "o": Outcome.OTHER_REASON}
SKIP, STOP = "n", "q"


@click.command("follow-up")
@click.argument("number", callback=parsed(whole_number), required=False, metavar="[JOB]")
@click.argument("words", nargs=-1, metavar="[ANSWER]...")
@day_option("--on", "Day the car was heard of, as 2026-03-02; else the visit's day, else today.")
@click.option("--km", "odometer_km", callback=parsed(odometer), help="Odometer then.")
@click.option("--job", callback=parsed(whole_number), help="The later visit's own job.")
@click.option(
    "--limit", "-n", type=click.IntRange(min=1), default=20, show_default=True, help="How many."
)
@click.option("--list", "only_list", is_flag=True, help="Show who is due without asking.")
@click.option("--yes", "-y", is_flag=True, help="Store without asking.")
@happened_option
@json_option
@click.pass_obj
def follow_up(
    app: App,
    *,
    number: int | None,
    words: tuple[str, ...],
    on: date | None,
    odometer_km: int | None,
    job: int | None,
    limit: int,
    only_list: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """Ask whether fixes held, the riskiest first, and record the answers.

    At a terminal every car is answered with one key: h held, c came back with the same complaint,
    o was here or spoken of for another reason, n nobody reached, q stop. A later visit for
    something alike is shown, and asked about, never taken for a comeback. An answer in words that
    does not plainly tell how the fix fared is kept as not told, and counts for nothing.

    \b
    Examples:
      kb job follow-up
      kb job follow-up --list --json
      kb job follow-up 1042 held --on 2026-11-20 --km 91000
      kb job follow-up 1042 comeback --job 1077
    """
    if number is None:
        if on or odometer_km is not None or job is not None:
            raise click.UsageError("Say of which job: kb job follow-up 1042 held --km 91000")
        _ask_all(app, limit, listed=only_list or as_json or not at_terminal(), as_json=as_json)
        return
    if not words:
        raise click.UsageError("Give the answer: held, comeback or other reason")
    today = date.today()
    told = parse_contact(" ".join(words), today)
    draft = heard(
        app.address,
        number,
        told.outcome,
        on=on or (told.on if told.on != today else None),
        odometer_km=told.odometer_km if odometer_km is None else odometer_km,
        job=told.job if job is None else job,
        words=told.words,
        today=today,
    )
    keep_shown(app, draft, done="Added to job {number}.", yes=yes, as_json=as_json)


def _ask_all(app: App, limit: int, *, listed: bool, as_json: bool) -> None:
    found = follow_ups(app.address, app.settings, limit=limit, today=date.today())
    if listed or not found.total:
        show(found, render, as_json=as_json)
        return
    print_page(opening(found))
    stored = 0
    for each in found.cars:
        outcome = _answer(each)
        if outcome is None:
            break
        stored += _store(app, each, outcome)
    click.echo(f"{stored} recorded. What was wrongly keyed: kb job edit JOB")


def _answer(each: ToAsk) -> Outcome | str | None:
    """Show one car and take one key; None to stop."""
    print_page(layout.labelled(rows(each)))
    held = "" if each.visit else "[h]eld, "
    same = "[c] the same complaint" if each.visit else "[c]ame back"
    click.echo(f"{held}{same}, [o]ther reason, [n]obody reached, [q]uit: ", nl=False)
    allowed = {*KEYS, SKIP, STOP} - ({"h"} if each.visit else set())
    while (key := click.getchar().lower()) not in allowed:
        if key in {"", "\x03", "\x04"}:
            key = STOP
            break
    answer = KEYS.get(key, "skipped")
    click.echo("stop" if key == STOP else str(answer))
    return None if key == STOP else answer


def _store(app: App, each: ToAsk, outcome: Outcome | str) -> int:
    if not isinstance(outcome, Outcome):
        return 0
    later = each.visit.job if each.visit else None
    draft = heard(app.address, each.job, outcome, on=None, job=later, today=date.today())
    keep_asking(app, draft)
    return 1
