"""What is typed and not stored yet: kept when somebody is called away, and offered again."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime

import click

from kb.case import System
from kb.cli.main import App
from kb.cli.output import at_terminal, plain, print_page
from kb.errors import KbError
from kb.intake.items import trade_wording
from kb.reports import layout
from kb.safety.hazards import Situation, cautions, concerns, hazards
from kb.safety.job_words import FIT, JobWords
from kb.services.lookup import show_job
from kb.store.address import desk_file
from kb.store.desk import Desk

_META = "kb.typed"
NUMBER = "Job number"
"""The question for a job."""
GO_ON = "Go on with what you had typed?"
EMPTY = "-"
"""What empties an answer that is offered again."""


@dataclass(slots=True)
class TypedAnswers:
    """The answers to one command: those offered again, and those given now.

    `stored` says that nothing has to be kept any more, `wanted` that there is something to keep,
    `words` how what is offered is shown.
    """

    offered: dict[str, str] = field(default_factory=dict)
    given: dict[str, str] = field(default_factory=dict)
    stored: bool = False
    wanted: bool = False
    words: JobWords = FIT

    def note(self, question: str, answer: str | int | None) -> None:
        """Take an answer that was given with the command itself."""
        if answer not in (None, ""):
            self.given[question] = str(answer)

    def answered(self, question: str, answer: str) -> None:
        """Take an answer to a question."""
        self.given[question] = answer
        self.offered.pop(question, None)
        self.stored, self.wanted = False, True

    def left(self) -> dict[str, str]:
        """Return what would be lost, in the order it was given."""
        return self.given | self.offered

    def settled(self) -> None:
        """Everything is stored."""
        self.given.clear()
        self.offered.clear()
        self.stored, self.wanted = True, False


def desk_of(app: App) -> Desk:
    """Return the desk of whoever is at the keyboard."""
    return Desk(desk_file(app.address, app.who))


def typed_now() -> TypedAnswers:
    """Return the answers of the command that runs; an idle one where nothing is kept."""
    context = click.get_current_context(silent=True)
    found: TypedAnswers | None = context.meta.get(_META) if context else None
    return found or TypedAnswers()


@contextmanager
def typing(app: App, command: str, *, bare: bool) -> Iterator[TypedAnswers]:
    """Keep what is typed to a command until it is stored, whatever comes between.

    Parameters
    ----------
    command : str
        As behind ``kb job``.
    bare : bool
        Whether it was called without an answer: then those kept before are offered.
    """
    if not at_terminal():
        yield TypedAnswers()
        return
    meta, desk = click.get_current_context().meta, desk_of(app)
    above = meta.get(_META)
    typed = meta[_META] = _offered(app, desk, command) if bare else TypedAnswers()
    try:
        yield typed
    except (click.Abort, KeyboardInterrupt):
        click.echo(err=True)  # behind the question that was left
        raise
    finally:
        meta[_META] = above
        _put_away(desk, command, typed, bare=bare)


def _put_away(desk: Desk, command: str, typed: TypedAnswers, *, bare: bool) -> None:
    """Keep what is not stored; what was stored of answers offered again is kept no more."""
    if typed.stored:
        if bare:
            desk.forget(command)
    elif typed.wanted and (left := typed.left()):
        kept = desk.keep(command, left, datetime.now().astimezone())
        said = f"is kept: kb job {command} goes on with it" if kept else "could not be kept"
        click.echo(f"What you typed {said}.", err=True)


def _offered(app: App, desk: Desk, command: str) -> TypedAnswers:
    """Show what was kept, and ask whether to go on with it; if not, it is gone.

    Other words than yes and no are what should have been typed: the first answer anew.
    """
    kept = desk.unstored(command)
    if kept is None:
        return TypedAnswers()
    number = kept.answers.get(NUMBER, command.removeprefix("work "))
    words, cautions = _judged(app, kept.answers, number)
    print_page(layout.page(*layout.cautions(cautions)))
    click.echo(f"Not stored yet, typed {kept.at.astimezone():%Y-%m-%d %H:%M}:")
    for question, answer in kept.answers.items():
        click.echo(f"  {question}: {plain(words.named(answer))}")
    fit = all(words.named(answer) == answer for answer in kept.answers.values())
    choice = ("[Y/n]", "y") if fit else ("[y/N]", "n")
    answer = click.prompt(f"{GO_ON} {choice[0]}", default=choice[1], show_default=False).strip()
    said = answer.casefold()
    if said in {"n", "no"}:
        desk.forget(command)
        return TypedAnswers()
    answers = dict(kept.answers)
    if said not in {"y", "yes"}:
        first = next((each for each in answers if each != NUMBER), None)
        answers |= {first: answer} if first else {}
        click.echo(f"Taken as: {first or NUMBER}")
    click.echo(f"Enter takes what stands in brackets; {EMPTY} leaves it empty.")
    return TypedAnswers(offered=answers, words=words)


def _judged(app: App, answers: Mapping[str, str], number: str) -> tuple[JobWords, tuple[str, ...]]:
    """Return how kept answers are shown, and what comes before them: those of their job, too."""
    said = Situation(said=tuple(answers.values()))
    job = None
    if number.isdecimal():
        with suppress(KbError):
            job = show_job(app.address, int(number)).job
    found = hazards(said | Situation.of_job(job) if job else said, trade_wording())
    igniter_job = concerns(found, System.RESTRAINTS)
    number_known = job.number if job else None
    return JobWords(number=number_known, igniter_job=igniter_job), cautions(found)
