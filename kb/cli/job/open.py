"""`kb job open`."""

from dataclasses import replace
from datetime import date
from typing import Any

import click

from kb.cli.job.asking import (
    ask,
    ask_whether,
    keep_shown,
    odometer,
    parsed,
    recording_options,
)
from kb.cli.job.typed import desk_of, typed_now, typing
from kb.cli.main import App
from kb.cli.options import day_option
from kb.cli.output import at_terminal, confirm, print_page, say
from kb.intake.bare import as_told
from kb.reports import layout
from kb.services.new_job import Opening, open_job
from kb.services.opening import OpeningAnswers

COMPLAINT, TAG, CAR = "Complaint", "Key tag", "Make, model, year, engine"
ODOMETER, CONDITIONS, INITIALS = "Odometer, km", "When does it show", "Your initials"
QUESTIONS = {
    COMPLAINT: "text",
    TAG: "ref",
    CAR: "vehicle",
    ODOMETER: "odometer_km",
    CONDITIONS: "conditions",
    INITIALS: "technician",
}
"""What is asked, and which field of an `Opening` the answer is."""


@click.command("open")
@click.argument("words", nargs=-1, metavar="[COMPLAINT]...")
@click.option("--vehicle", "-v", help='Known key tag, or roughly: "corvane lido 2016 1.4 petrol".')
@click.option("--ref", metavar="TAG", help="Key tag, for a car that is new to the store.")
@click.option("--code", "-c", "codes", multiple=True, help="Trouble code; may be repeated.")
@click.option("--reading", "-r", "readings", multiple=True, help="What was measured; repeatable.")
@click.option("--km", "odometer_km", callback=parsed(odometer), help="Odometer; also 50k miles.")
@click.option("--system", "-s", help="As restraints, brakes, cooling.")
@click.option("--conditions", help="When it shows.")
@click.option("--technician", metavar="INITIALS", help="Who works on it; else --who.")
@click.option("--notes", help="Anything else.")
@day_option("--opened", "Day of opening, as 2026-03-02; else today.")
@recording_options
@click.pass_obj
def open_(app: App, /, words: tuple[str, ...], yes: bool, as_json: bool, **told: Any) -> None:
    """Open a job. Codes, readings and conditions may stand in the complaint itself.

    It is then the job in hand, which is meant where no number is given (see kb job use). What was
    typed and not stored, be it left with Ctrl-C, is offered again by a bare kb job open.

    \b
    Examples:
      kb job open "LR door lock dead after rain, B1234-13, motor feed 4.1 V"
      kb job open no crank, clicks once --vehicle K031 --km 81000
      kb job open "runs hot uphill" --ref K207 --vehicle "sunato kiri 2014"
      kb job open                    (asks for everything)
    """
    opening = Opening(text=" ".join(words), **told)
    bare = not opening.text.strip()
    if bare and not at_terminal():
        raise click.UsageError('Say what the complaint is: kb job open "no crank"')
    with typing(app, "open", bare=bare) as typed:
        for question, field in QUESTIONS.items():
            typed.note(question, getattr(opening, field), field)
        if bare:
            opening = _asked(opening, app.who, OpeningAnswers.of_shop(app.address))
        draft = open_job(app.address, opening, who=app.who, today=date.today())
        done = "Stored as job {number}. Past jobs like it: kb causes --job {number}"
        stored = keep_shown(app, draft, done=done, yes=yes, as_json=as_json)
    if stored is not None:
        desk_of(app).take(stored.job.number, date.today())


def _asked(told: Opening, who: str | None, shop: OpeningAnswers) -> Opening:
    """Ask for what was not told; what the complaint calls for comes before the next question."""
    say("Codes and readings may stand in the complaint. Empty: not known.")
    text = ask(COMPLAINT, shop.complaint, need=True) or ""
    print_page(layout.page(*layout.cautions(shop.cautions(text))))
    tag = told.ref or _tag(shop)
    return replace(
        told,
        text=text,
        ref=tag,
        vehicle=told.vehicle or _car(shop, tag),
        odometer_km=told.odometer_km or ask(ODOMETER, odometer),
        conditions=told.conditions or ask(CONDITIONS, as_told),
        technician=told.technician or (None if who else ask(INITIALS, as_told)),
    )


def _car(shop: OpeningAnswers, tag: str | None) -> str | None:
    """Ask for the car; once more where nothing tells it, for most is learnt by the car."""
    car = ask(CAR, as_told, hint="(empty: as known by the tag)")
    if car or shop.tells_car(tag):
        return car
    say("  No car is told, and the shop knows none by that tag." if tag else "  No car is told.")
    return ask(CAR, as_told, hint="(empty: not known)")


def _tag(shop: OpeningAnswers) -> str | None:
    """Ask for the key tag; where it is like one of the shop's, whether that is meant."""
    tag = ask(TAG, shop.tag)
    while tag and shop.may_be_distance(tag):
        question = f"{tag} may be a distance, which is asked for later. Is it the key tag?"
        if confirm(question, default=False):
            break
        typed_now().unsaid(TAG)
        tag = ask(TAG, shop.tag)
    for known in shop.cars_like(tag) if tag else ():
        question = f"No car has the key tag {tag}. Is {known.ref} meant, the {known.label}?"
        if known.ref and ask_whether(question, default=False):
            typed_now().unsaid(question)
            typed_now().answered(TAG, known.ref)
            return known.ref
    return tag
