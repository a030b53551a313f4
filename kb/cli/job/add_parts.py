"""`kb job add code|reading|test|attempt|contact`: one part, its details as options."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import click

from kb.case import Cause, CodeStatus, Contact, Stage
from kb.cli.job.asking import (
    choice_option,
    job_and_words,
    keep_shown,
    need,
    odometer,
    parsed,
    recording_options,
    whole_number,
)
from kb.cli.job.in_hand import job_meant
from kb.cli.job.typed import typing
from kb.cli.main import App
from kb.cli.options import COST, MINUTES, Option, day_option
from kb.errors import Dangerous, InvalidField
from kb.intake.codes import parse_code
from kb.intake.readings import parse_reading
from kb.intake.single_facts import parse_attempt, parse_contact, parse_test
from kb.safety.job_dangers import danger_line
from kb.services.adding import Part, add_part, cause_told, dangerous_words


def _command(
    name: str, parse: Callable[[str], Part], about: str, example: str, *options: Option
) -> click.Command:
    """Make the command for one kind of part; its options are fields of the part."""

    def run(
        app: App,
        /,
        number: int | None,
        text: tuple[str, ...],
        yes: bool,
        as_json: bool,
        **told: Any,
    ) -> None:
        with typing(app, f"add {name}", number, bare=not text) as typed:
            question = name.capitalize()
            typed.note(question, " ".join(text))
            number = job_meant(app, number, asks=not text)
            line = need(" ".join(text), question, lambda line: str(parse(line)) and line)
            typed.note(question, line)
            details = {field: value for field, value in told.items() if value not in (None, ())}
            try:
                part = replace(parse(line), **details)
            except InvalidField as error:
                if danger := dangerous_words(app.address, number, line):
                    raise Dangerous(f"{danger_line(danger)}\n{error}") from error
                raise
            cure_told, day_told = "cured" in details, "on" in details
            draft = add_part(
                app.address, number, part, line, cure_told=cure_told, day_told=day_told
            )
            keep_shown(app, draft, done="Added to job {number}.", yes=yes, as_json=as_json)

    run.__doc__ = f"{about}\n\n\b\nExample:\n  kb job add {name} {example}\n"
    command: Any = click.pass_obj(run)
    for option in reversed((job_and_words("[TEXT]..."), *options, recording_options)):
        command = option(command)
    made: click.Command = click.command(name)(command)
    return made


def _minutes() -> Option:
    return click.option("--minutes", type=MINUTES, help="Time it took.")


def _contact(text: str) -> Contact:
    return parse_contact(text, date.today())


def _supposed(ctx: click.Context, param: click.Parameter, value: str | None) -> Cause | None:  # noqa: ARG001
    """Read the cause a fix was tried for, by the shop's names."""
    app: App = ctx.obj
    return None if value is None else cause_told(app.address, value)


COMMANDS = (
    _command(
        "code",
        parse_code,
        "Add a trouble code.",
        "12 B1234-13 --status stored",
        choice_option("--status", CodeStatus, "What the control unit says"),
    ),
    _command(
        "reading",
        parse_reading,
        "Add a measured value: item, position, value and unit.",
        '12 "RF pretensioner 2.3 ohm" --method "scan tool" --good',
        choice_option("--stage", Stage, "When in the job"),
        click.option("--method", help="How it was taken."),
        click.option("--condition", help="Under which condition."),
        click.option(
            "--good/--not-good", "proved_good", default=None, help="If the item proved so."
        ),
    ),
    _command(
        "test",
        parse_test,
        "Add a test: what was done, a colon, what was seen.",
        '12 "wiggle test: reading jumps" --points-to "seat connector"',
        click.option("--points-to", multiple=True, help="Suspect it speaks for; repeatable."),
        click.option("--clears", multiple=True, help="Suspect it speaks against; repeatable."),
        _minutes(),
    ),
    _command(
        "attempt",
        parse_attempt,
        "Add a fix that was tried: what was done, and to what.",
        '12 "replaced wheel speed sensor" --not-cured --minutes 40',
        click.option("--cured/--not-cured", default=None, help="Whether the complaint was gone."),
        click.option("--verified", help="How that was made sure."),
        click.option("--supposed", callback=_supposed, help="Cause it was tried for."),
        click.option("--part-maker", help="Who made the part that was fitted."),
        click.option("--cost", "parts_cost", type=COST, help="Parts."),
        _minutes(),
    ),
    _command(
        "contact",
        _contact,
        "Add what was heard of the vehicle later: held, comeback, other reason or not told.",
        "12 held --on 2026-05-02 --km 91000",
        day_option("--on", "The day, as 2026-03-02; else today."),
        click.option("--km", "odometer_km", callback=parsed(odometer), help="Odometer then."),
        click.option("--job", callback=parsed(whole_number), help="The comeback's own job."),
        click.option("--words", help="What was said."),
    ),
)
