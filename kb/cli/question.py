"""What a technician may ask with: the options that `kb similar` and `kb causes` share."""

from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from kb.cli.options import JOB, Option, since_option
from kb.services.inquiry import Question


def question_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options of a question; the function receives one `Question` as ``question``."""

    @wraps(command)
    def with_question(*args: Any, text: tuple[str, ...], **given: Any) -> Any:
        fields = {
            name: given.pop(name) for name in ("codes", "readings", "vehicle", "job", "since")
        }
        return command(*args, question=Question(text=" ".join(text), **fields), **given)

    options: list[Option] = [
        click.argument("text", nargs=-1, metavar="[COMPLAINT]..."),
        click.option("--code", "-c", "codes", multiple=True, help="Trouble code; may be repeated."),
        click.option(
            "--reading",
            "-r",
            "readings",
            multiple=True,
            help='What was measured, as "LF pretensioner 5.8 ohm"; may be repeated.',
        ),
        click.option("--vehicle", "-v", help='Roughly, as "corvane lido 2016 1.4 petrol".'),
        click.option("--job", "-j", type=JOB, help="Ask with a job's own facts."),
        since_option("Only past jobs opened on or after this day."),
    ]
    made: Callable[..., Any] = with_question
    for option in reversed(options):
        made = option(made)
    return made
