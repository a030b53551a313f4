"""`kb job follow-up`."""

from datetime import date
from functools import partial

import click

from kb.case import Outcome
from kb.cli.clock import mind_clock
from kb.cli.job.asking import (
    ask,
    happened_option,
    keep_asking,
    keep_shown,
    odometer,
    parsed,
    whole_number,
)
from kb.cli.main import App
from kb.cli.options import HOW_MANY, day_option
from kb.cli.output import at_terminal, confirm, json_option, plain, print_page, say, show
from kb.errors import InvalidField, KbError, for_shell
from kb.intake.outcomes import is_another_fault
from kb.intake.single_facts import parse_contact
from kb.reports import layout
from kb.reports.follow_up import opening, render, render_answer, rows
from kb.services.drafts import Draft
from kb.services.follow_up import (
    NOT_REACHED,
    FollowUps,
    ToAsk,
    follow_ups,
    heard,
    later_visits,
    only_visit,
)

KEYS = {
    "h": ("[h]eld", Outcome.HELD),
    "c": ("[c]ame back", Outcome.COMEBACK),
    "o": ("[o]ther reason", Outcome.OTHER_REASON),
    "n": ("[n]obody reached", Outcome.NOT_TOLD),
}
OF_RETURNS = {
    "s": ("[s]ame fault", Outcome.COMEBACK),
    "a": ("[a]nother fault", Outcome.OTHER_REASON),
    "n": ("[n]ot known", Outcome.NOT_TOLD),
}
"""Keys of a return that is to be judged: that it was waved through as held is no answer."""
LATER, STOP = "\r", "q"
NOT_KNOWN = "not known"
SAID = {
    "same fault": Outcome.COMEBACK,
    "another fault": Outcome.OTHER_REASON,
    "other fault": Outcome.OTHER_REASON,
    NOT_KNOWN: Outcome.NOT_TOLD,
    NOT_REACHED: Outcome.NOT_TOLD,
}
"""Answers of a script as the terminal has them; others are read as they are told elsewhere."""


@click.command("follow-up")
@click.argument("number", callback=parsed(whole_number), required=False, metavar="[JOB]")
@click.argument("words", nargs=-1, metavar="[ANSWER]...")
@day_option("--on", "Day the car was heard of, or came back, as 2026-03-02; else the visit's.")
@click.option("--km", "odometer_km", callback=parsed(odometer), help="Odometer then.")
@click.option("--job", callback=parsed(whole_number), help="The later visit's own job.")
@click.option(
    "--limit", "-n", type=HOW_MANY, default=20, show_default=True, help="How many besides returns."
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
    """Ask whether fixes held, where an answer tells most, and record the answers.

    First come all cars that were back with something alike which nobody has judged, both
    complaints beside each other: s same fault, a another fault, n not known. Then those of which
    an answer would narrow the most what is read of a fix: h held, c came back with the same
    complaint, o was here or spoken of for another reason, n nobody reached. Enter leaves a car for
    later, q stops. The day and the later job are asked for, and shown before anything is stored.
    The day of a comeback is the day it came back, not the one on which you heard of it: where it is
    not told, nor by words as "the next week", the fix gets no credit for holding.
    Whoever was not reached, or did not know, rests for a month.

    An answer in words that does not plainly tell how the fix fared is kept as not told, and counts
    for nothing.

    \b
    Examples:
      kb job follow-up
      kb job follow-up --list --json
      kb job follow-up 1042 held --on 2026-11-20 --km 91000
      kb job follow-up 1042 same fault --job 1077
      kb job follow-up 1042 not reached
    """
    if number is None:
        if on or odometer_km is not None or job is not None:
            raise click.UsageError("Say of which job: kb job follow-up 1042 held --km 91000")
        _ask_all(app, limit, listed=only_list or as_json or not at_terminal(), as_json=as_json)
        return
    if not words:
        raise click.UsageError("Give the answer: held, comeback, other reason or not reached")
    draft = _told(app, number, " ".join(words), on=on, odometer_km=odometer_km, job=job)
    keep_shown(app, draft, done="Added to job {number}.", yes=yes, as_json=as_json)


def _which_visit(app: App, number: int, words: str) -> str:
    """Ask which later job an answer is of, naming those there are."""
    visits = later_visits(app.address, number)
    undated = f"kb job follow-up {number} comeback --on DAY"
    if not visits:
        return f"No later job of this car is known; of one that came back without: {undated}"
    others = f" (or {', '.join(map(str, visits[1:]))})" if visits[1:] else ""
    return (
        f"Say which visit: kb job follow-up {number} {for_shell(words)} --job {visits[0]}{others}; "
        f"where it was none of them: {undated}"
    )


def _told(
    app: App, number: int, words: str, *, on: date | None, odometer_km: int | None, job: int | None
) -> Draft:
    """Draft an answer told in words."""
    today, said = date.today(), SAID.get(" ".join(words.casefold().split()))
    if said is None and is_another_fault(words) and parse_contact(words, today).job is None:
        said = Outcome.OTHER_REASON
    if said is not None:
        if job is None and said is not Outcome.NOT_TOLD:
            job = only_visit(app.address, number)
        if job is None and said is not Outcome.NOT_TOLD:
            raise click.UsageError(_which_visit(app, number, words))
        kept = words if said is Outcome.NOT_TOLD else None
        return heard(
            app.address,
            number,
            said,
            on=on,
            odometer_km=odometer_km,
            job=job,
            words=kept,
            today=today,
        )
    told = parse_contact(words, today)
    if job is None and on is None and told.outcome is Outcome.OTHER_REASON:
        job = only_visit(app.address, number)
    return heard(
        app.address,
        number,
        told.outcome,
        on=on or (told.on if told.on != today else None),
        odometer_km=told.odometer_km if odometer_km is None else odometer_km,
        job=told.job if job is None else job,
        words=told.words,
        today=today,
    )


def _ask_all(app: App, limit: int, *, listed: bool, as_json: bool) -> None:
    found = follow_ups(app.address, app.settings, limit=limit, today=date.today())
    if listed or not found.total:
        show(found, render, as_json=as_json)
        return
    mind_clock(app)
    print_page(opening(found))
    click.echo(f"{_ask_each(app, found)} recorded. What was wrongly keyed: kb undo")


def _ask_each(app: App, found: FollowUps) -> int:
    """Ask of each car until somebody stops, and count the answers that are stored.

    Ctrl-C and Ctrl-D stop as well: what was answered before is stored, and of this car nothing is.
    """
    stored = 0
    for place, each in enumerate(found.cars, 1):
        print_page(layout.labelled(rows(each, place)))
        try:
            key, is_stored = _asked(app, each)
        except (click.Abort, KeyboardInterrupt, EOFError):
            click.echo("\nNothing was stored of this car.")
            break
        stored += is_stored
        if key == STOP:
            break
    return stored


def _asked(app: App, each: ToAsk) -> tuple[str, bool]:
    """Ask of one car; return the key that was pressed last, and whether an answer is stored."""
    while (key := _key(each)) not in {LATER, STOP}:
        try:
            return key, _stored(app, each, _answer(app, each, key))
        except KbError as error:
            say(f"  {error}")
    return key, False


def _keys(each: ToAsk) -> dict[str, tuple[str, Outcome]]:
    return OF_RETURNS if each.visit else KEYS


def _key(each: ToAsk) -> str:
    """Take one key."""
    keys = _keys(each)
    asked = f"{', '.join(label for label, _ in keys.values())}, Enter: later, [q]uit: "
    click.echo(asked, nl=False)
    unknown = False
    while True:
        key = click.getchar().lower().replace("\n", LATER)
        if key in {"", "\x03", "\x04"}:
            key = STOP
            break
        if key in {*keys, LATER, STOP} and not (unknown and key == LATER):
            break
        if key != LATER:
            click.echo(f"\n{plain(key)} is none of these\n{asked}", nl=False)
        unknown = key != LATER  # the Enter behind it belongs to it
    click.echo("later" if key == LATER else key)
    return key


def _answer(app: App, each: ToAsk, key: str) -> Draft:
    """Ask for the day and the job of an answer, and draft it."""
    outcome, today, back = _keys(each)[key][1], date.today(), each.visit
    visit = back.visit if back else None
    if outcome is Outcome.NOT_TOLD:
        words = NOT_KNOWN if back else NOT_REACHED
        return heard(app.address, each.job, outcome, job=visit, words=words, today=today)
    came_back = outcome is Outcome.COMEBACK
    usual = max(back.on, each.closed) if back else None if came_back else today
    label = "Day it came back" if came_back else "Day"
    on = ask(label, partial(_day, each, today), hint=f"(Enter: {usual or NOT_KNOWN})")
    job = visit
    if outcome is not Outcome.HELD:
        visit_of = partial(_visit, app, each, outcome)
        job = ask("Its own job", visit_of, hint=f"(Enter: {visit or 'none yet'})") or visit
    return heard(app.address, each.job, outcome, on=on or usual, job=job, today=today)


def _day(each: ToAsk, today: date, text: str) -> date:
    """Read the day of an answer; one before the handover or ahead is asked again at once."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise InvalidField("day", text, "is none; write it as 2026-03-02") from None
    if day < each.closed:
        raise InvalidField("day", text, f"lies before the handover of {each.closed}; look again")
    if day > today:
        raise InvalidField("day", text, "is yet to come; give a day up to today")
    return day


def _visit(app: App, each: ToAsk, outcome: Outcome, text: str) -> int:
    """Read the number of a later job of the car; one that is none is asked again at once."""
    number = whole_number(text)
    try:
        heard(app.address, each.job, outcome, job=number, today=date.today())
    except KbError as error:
        raise InvalidField("job", text, f"cannot be it: {error}") from None
    return number


def _stored(app: App, each: ToAsk, draft: Draft) -> bool:
    """Show what would be stored, and store it if that is meant; what was tried in vain, at once."""
    print_page(render_answer(draft, each.car))
    told = draft.job.contacts[-1].outcome is not Outcome.NOT_TOLD
    if told and not confirm("  Store it?", default=True):
        return False
    return keep_asking(app, draft) is not None
