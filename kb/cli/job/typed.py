"""What is typed and not stored yet: kept when somebody is called away, and offered again."""

import signal
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime

import click
from click.core import ParameterSource

from kb.case import Job, System
from kb.cli.clock import mind_clock
from kb.cli.main import App
from kb.cli.output import at_terminal, confirm, print_page, say
from kb.errors import KbError, StoreUnusable
from kb.intake.items import trade_wording
from kb.reports import layout
from kb.reports.job import car
from kb.safety.hazards import Situation, cautions, concerns, hazards
from kb.safety.job_words import FIT, JobWords
from kb.services.lookup import show_job
from kb.store.address import desk_file, must_be_changeable
from kb.store.desk import Desk

_META = "kb.typed"
NUMBER = "Job number"
"""The question for a job."""
GO_ON = "Go on with what you had typed?"
EMPTY = "-"
"""What empties an answer that is offered again."""
_TELL_NOTHING = frozenset(["yes", "as_json", "happened"])
"""Options that say how to go on, and nothing of a job."""


@dataclass(slots=True)
class TypedAnswers:
    """The answers to one command on one job: those offered again, and those given now.

    `kept_as` is the command for which the offered ones were kept. `stored` says that nothing has
    to be kept any more, `wanted` that there is something to keep,
    `options` which of the command's own are among the answers, `words` how what is offered is
    shown.
    """

    job: int | None = None
    kept_as: str | None = None
    offered: dict[str, str] = field(default_factory=dict)
    given: dict[str, str] = field(default_factory=dict)
    stored: bool = False
    wanted: bool = False
    options: set[str] = field(default_factory=set)
    words: JobWords = FIT

    def note(self, question: str, answer: str | int | None, option: str | None = None) -> None:
        """Take an answer that was given with the command itself, perhaps as an option."""
        if answer not in (None, ""):
            self.given[question] = str(answer)
            self.offered.pop(question, None)
            self.options |= {option} if option else set()

    def answered(self, question: str, answer: str) -> None:
        """Take an answer to a question."""
        self.given[question] = answer
        self.offered.pop(question, None)
        self.stored, self.wanted = False, True

    def unsaid(self, question: str) -> None:
        """Take no answer to a question."""
        self.given.pop(question, None)
        self.offered.pop(question, None)

    def left(self) -> dict[str, str]:
        """Return what would be lost, in the order it was given.

        The number of a job is none of it: it is in `job` once there is such a job.
        """
        return _without_number(self.given | self.offered)

    def refused(self, question: str, offered: dict[str, str], given: dict[str, str]) -> None:
        """Take back an answer that was refused: what was `offered` and `given` before stays."""
        self.given.pop(question, None)
        self.given |= {question: given[question]} if question in given else {}
        self.offered = offered

    def settled(self) -> None:
        """Everything is stored."""
        self.given.clear()
        self.offered.clear()
        self.stored, self.wanted = True, False


def _without_number(answers: Mapping[str, str]) -> dict[str, str]:
    return {question: answer for question, answer in answers.items() if question != NUMBER}


def desk_of(app: App) -> Desk:
    """Return the desk of whoever is at the keyboard."""
    return Desk(desk_file(app.address, app.who))


def typed_now() -> TypedAnswers:
    """Return the answers of the command that runs; an idle one where nothing is kept."""
    context = click.get_current_context(silent=True)
    found: TypedAnswers | None = context.meta.get(_META) if context else None
    return found or TypedAnswers()


@contextmanager
def typing(
    app: App, command: str, number: int | None = None, *, bare: bool, goes_on: bool = False
) -> Iterator[TypedAnswers]:
    """Keep what is typed to a command until it is stored, whatever comes between.

    Also where the store cannot be written just then.

    Parameters
    ----------
    command : str
        As behind ``kb job``.
    number : int, optional
        Of the job, if it was given: then only what was kept for that job is offered.
    bare : bool
        Whether it was called without an answer: then those kept before are offered.
    goes_on : bool
        Whether more is asked all the same: then those kept for that very job are offered. Where
        none are, that there are some is said.
    """
    must_be_changeable(app.address)
    if not at_terminal():
        yield TypedAnswers()
        return
    mind_clock(app)
    meta, desk = click.get_current_context().meta, desk_of(app)
    above, typed = meta.get(_META), TypedAnswers()
    try:
        kept = number is not None and desk.unstored(_of_job(command, number)) is not None
        if bare or (goes_on and kept):
            typed = _offered(app, desk, command, number)
        elif kept:
            left = _of_job(command, number)
            say(f"What you typed before is still kept: kb job {left} goes on with it.", err=True)
        meta[_META] = typed
        with _hung_up_as_left():
            yield typed
    except (click.Abort, KeyboardInterrupt):
        typed.wanted = bool(typed.given)
        typed.stored = typed.stored and not typed.wanted
        with suppress(OSError):  # where the terminal itself is gone
            click.echo(err=True)  # behind the question that was left
            if not (typed.stored or typed.left()):
                say("Nothing was stored.", err=True)
                _say_still_kept(desk, command, number)
        raise
    except StoreUnusable:  # the disk is full, or others write for long: nothing typed is lost
        typed.wanted = True
        raise
    finally:
        meta[_META] = above
        with _undisturbed():
            _put_away(desk, _of_job(command, typed.job), typed)


def _say_still_kept(desk: Desk, command: str, number: int | None) -> None:
    """Say that what was kept before is not lost: to leave the question of it is no answer."""
    found = desk.unstored(_of_job(command, number)) or desk.unstored(command)
    if found is not None and _without_number(found[1].answers):
        say(f"What you typed before is still kept: kb job {found[0]} goes on with it.", err=True)


@contextmanager
def _hung_up_as_left() -> Iterator[None]:
    """Take a terminal that is closed as Ctrl-C: what was typed is kept."""
    hang_up = getattr(signal, "SIGHUP", None)
    if hang_up is None:
        yield
        return
    before = signal.signal(hang_up, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(hang_up, before)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Heed no Ctrl-C meanwhile: who presses it twice must not lose what was typed."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _of_job(command: str, number: int | None) -> str:
    return command if number is None else f"{command} {number}"


def _put_away(desk: Desk, command: str, typed: TypedAnswers) -> None:
    """Keep what is not stored; what was stored of answers offered again is kept no more."""
    if typed.stored:
        if typed.kept_as:
            desk.forget(typed.kept_as)
    elif typed.wanted and (left := typed.left()):
        kept = desk.keep(command, left, datetime.now().astimezone())
        lost = ", ".join(_options_lost(typed))
        but = f", but not {lost}" if lost and kept else ""
        said = f"is kept{but}: kb job {command} goes on with it" if kept else "could not be kept"
        with suppress(OSError):
            say(f"What you typed {said}.", err=True)


def _options_lost(typed: TypedAnswers) -> Iterator[str]:
    """Yield the options of the command that tell something and are no answers."""
    context = click.get_current_context()
    for each in context.command.params:
        name = each.name or ""
        told = context.get_parameter_source(name) is ParameterSource.COMMANDLINE
        if told and isinstance(each, click.Option) and name not in typed.options | _TELL_NOTHING:
            yield each.opts[0]


def _offered(app: App, desk: Desk, command: str, number: int | None) -> TypedAnswers:
    """Show what was kept, and ask whether to go on with it; if not, it is gone.

    What was typed for another job than the one given is offered for that, and stays if refused.
    Other words than yes and no are asked about again: whose answer they are, nobody knows.
    """
    found = desk.unstored(_of_job(command, number)) or desk.unstored(command)
    if found is None:
        return TypedAnswers()
    kept_as, kept = found
    answers = _without_number(kept.answers)
    if not answers:
        return TypedAnswers()
    told = kept_as.removeprefix(command).strip()
    job = int(told) if told else None
    elsewhere = number not in (None, job)
    about = _job(app, job)
    words, cautions = _judged(answers, about)
    print_page(layout.page(*layout.cautions(cautions)))
    whose = f" for job {job}, {car(about.vehicle)}" if about else ""
    say(f"Not stored yet{whose}, typed {kept.at.astimezone():%Y-%m-%d %H:%M}:")
    for question, answer in answers.items():
        say(f"  {question}: {words.named(answer)}")
    fit = all(words.named(answer) == answer for answer in answers.values())
    question = f"Take it for job {number} instead?" if elsewhere else GO_ON
    if not confirm(question, default=fit and not elsewhere):
        if not elsewhere:
            desk.forget(kept_as)
        return TypedAnswers()
    say(f"Enter takes what stands in brackets; {EMPTY} leaves it empty.")
    return TypedAnswers(job=number or job, kept_as=kept_as, offered=answers, words=words)


def _job(app: App, number: int | None) -> Job | None:
    if number is not None:
        with suppress(KbError):
            return show_job(app.address, number).job
    return None


def _judged(answers: Mapping[str, str], job: Job | None) -> tuple[JobWords, tuple[str, ...]]:
    """Return how kept answers are shown, and what comes before them: those of their job, too."""
    said = Situation(said=tuple(answers.values()))
    found = hazards(said | Situation.of_job(job) if job else said, trade_wording())
    igniter_job = concerns(found, System.RESTRAINTS)
    number = job.number if job else None
    return JobWords(number=number, igniter_job=igniter_job), cautions(found)
