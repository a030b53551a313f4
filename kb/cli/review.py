"""`kb review`: old cards become cases, a key a group; and what shape the case base is in."""

from collections.abc import Collection, Sequence
from datetime import date

import click

from kb.bounds import whole_of
from kb.cli.clock import mind_clock
from kb.cli.job.asking import ask
from kb.cli.main import App
from kb.cli.options import HOW_MANY
from kb.cli.output import (
    at_terminal,
    counting,
    json_option,
    page_lines,
    plain,
    print_rest,
    say,
    show,
)
from kb.errors import InvalidField
from kb.intake.causes import read_cause
from kb.intake.single_facts import parse_attempt
from kb.reports import health
from kb.reports.labels import job_list, plural
from kb.reports.review import render
from kb.services.health import shop_health
from kb.services.review import CardQuestion, CardReview, CardsStored, review_cards

YES, NO, OTHER, SOME, LATER, STOP = "y", "n", "o", "s", "\r", "q"
_OF_CAUSE = {YES: "[y]es", NO: "[n]o", OTHER: "[o]ther", SOME: "[s]ome of them"}
_AS_CAUSE = "(as: seat connector under seat, high resistance; Enter: leave them)"
_NOTHING = CardsStored(numbers=(), refused=())
_NO_CAUSE = {OTHER: "[o]ther: tell it", NO: "[n]o"}


@click.command()
@click.option(
    "--limit", "-n", type=HOW_MANY, help="Ask about so many only, the last.  [default: all]"
)
@click.option(
    "--open-too",
    is_flag=True,
    help="Old jobs that are still open as well, as handed over on the day they came.",
)
@click.option(
    "--health", "of_shop", is_flag=True, help="Ask nothing: tell what shape the case base is in."
)
@json_option
@click.pass_obj
def review(app: App, limit: int | None, open_too: bool, of_shop: bool, as_json: bool) -> None:
    """Make cases of old job cards: closed jobs of which nobody told the cause.

    What was done is read from a card's words, and cards that say the same are shown together with
    the cause they may have had: y stores repair and cause on every card shown, s on those you name,
    o what you type instead. n keeps that this was not the cause, as s does of the cards you do not
    name: it is not asked of them again. Enter leaves them for another time, q stops. Each answer
    changes what is proposed next. A second key stores what a card tells of whether it
    cured, and of what was done in vain before. What nobody confirmed is marked proposed wherever it
    is shown, and counts in no fix rate. Whether the fix held is not told
    by this; what was wrongly keyed is taken back with kb undo, answer by answer, but for a no,
    which stays until you tell the cause with o.

    \b
    Examples:
      kb review
      kb review --limit 100
      kb review --open-too
      kb review --health
    """
    if of_shop:
        show(shop_health(app.address, app.settings), health.render, as_json=as_json)
        return
    with counting("Reading the cards") as progress:
        cards = review_cards(
            app.address, limit=limit, today=date.today(), open_too=open_too, progress=progress
        )
    question = cards.question()
    if question is None:
        say(f"No card is left to ask about.{_besides(cards)}")
    elif as_json or not at_terminal():
        show(question, render, as_json=as_json)
    else:
        mind_clock(app)
        click.echo(f"{_ask_each(app, cards, question)} confirmed.{_besides(cards)}")


def _besides(cards: CardReview) -> str:
    told = []
    if cards.unread:
        told.append(f"no work was read on {plural(cards.unread, 'card')}")
    if cards.open:
        told.append(f"{plural(cards.open, 'job')} still open, not asked about; see --open-too")
    return f" Besides: {'; '.join(told)}." if told else ""


def _ask_each(app: App, cards: CardReview, question: CardQuestion | None) -> int:
    """Ask about one group after the other until somebody stops; count the cards confirmed.

    Who leaves a page before its end is not asked about it: an answer is for what was shown.
    """
    stored = 0
    while question is not None:
        try:
            seen = print_rest(page_lines(render(question)), below=2)
            done = _answered(app, cards, question) if seen else None
        except (click.Abort, KeyboardInterrupt, EOFError):
            click.echo("\nNothing was stored of these cards.")
            break
        if done is None:
            break
        stored += len(done.numbers)
        for line in (*_said(done), *done.refused):
            say(f"  {line}")
        question = cards.question()
    return stored


def _said(done: CardsStored) -> Sequence[str]:
    return [f"Stored on {plural(len(done.numbers), 'job')}."] if done.numbers else []


def _answered(app: App, cards: CardReview, question: CardQuestion) -> CardsStored | None:
    """Take the answer about one group and store it; None to stop."""
    key = _key(question)
    if key == STOP:
        return None
    done, cause, chosen = None, None, question.numbers
    if key == OTHER:
        done = ask("What was done", parse_attempt, hint=f"(Enter: {question.fix})")
        cause = ask("Cause", read_cause, hint=_AS_CAUSE)
    if key == SOME or (cause and len(chosen) > 1):
        chosen = _chosen(question, every=key == OTHER)
    if key in {NO, LATER} or (key == OTHER and cause is None):
        chosen = ()
    as_told = cause is None and _as_told(question, chosen)
    stored = (
        cards.confirm(chosen, done, cause, as_told=as_told, who=app.who) if chosen else _NOTHING
    )
    rest = set(question.numbers) - set(stored.numbers)
    if key == NO or (key == SOME and chosen):
        kept = cards.deny(rest - set(chosen), who=app.who)
        rest -= set(kept.numbers)
        for line in kept.refused:
            say(f"  {line}")
    cards.later(rest)
    return stored


def _as_told(question: CardQuestion, chosen: Sequence[int]) -> bool:
    """Ask whether what the cards tell of outcome and earlier attempts is stored as well."""
    telling = [card.number for card in question.cards if card.number in chosen and card.tells_more]
    if not telling:
        return False
    jobs = job_list(telling)
    asked = f"What is told of whether it cured and what was in vain, {jobs}, too? [y]es, [n]o: "
    key = _pressed(asked, {YES, NO, STOP})
    if key == STOP:
        raise click.Abort
    click.echo(key)
    return key == YES


def _chosen(question: CardQuestion, *, every: bool) -> tuple[int, ...]:
    """Ask for numbers of the cards shown; nothing typed is all of them, or none."""

    def numbers(text: str) -> tuple[int, ...]:
        told = text.replace(",", " ").replace("#", " ").split()
        if not all(whole_of(each) in question.numbers for each in told):
            raise InvalidField("cards", text, "names a card that is not shown; as: 12 15")
        return tuple(dict.fromkeys(map(int, told)))

    hint = (
        f"(as: {question.numbers[0]} {question.numbers[-1]}; Enter: {'all' if every else 'none'})"
    )
    return ask("On which cards", numbers, hint=hint) or (question.numbers if every else ())


def _key(question: CardQuestion) -> str:
    """Take one key."""
    keys = dict(_OF_CAUSE if question.cause else _NO_CAUSE)
    if len(question.cards) == 1:
        keys.pop(SOME, None)
    key = _pressed(f"{', '.join(keys.values())}, Enter: later, [q]uit: ", {*keys, LATER, STOP})
    click.echo("later" if key == LATER else key)
    return key


def _pressed(asked: str, keys: Collection[str]) -> str:
    """Ask until one of some keys is pressed; whoever breaks off stops."""
    click.echo(asked, nl=False)
    while True:
        key = click.getchar().lower().replace("\n", LATER)
        if key in {"", "\x03", "\x04"}:
            key = STOP
        if key in keys:
            return key
        click.echo(f"\n{plain(key)} is none of these\n{asked}", nl=False)
