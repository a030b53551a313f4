"""What is typed and not stored yet: kept when somebody is called away, and offered again."""

import signal
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from typing import Any, Self

import click
from click.core import ParameterSource

from kb.bounds import whole_of
from kb.case import Job, System
from kb.cli.clock import mind_clock
from kb.cli.main import App, spoilt_behind
from kb.cli.output import at_terminal, confirm, forget_typed_ahead, print_page, prompt, say
from kb.errors import KbError, StoreMissing, StoreUnusable
from kb.intake.items import trade_wording
from kb.local_time import local, local_now
from kb.reports import layout
from kb.reports.job import car
from kb.safety.hazards import Situation, cautions, concerns, hazards
from kb.safety.job_words import FIT, JobWords
from kb.services.lookup import show_job
from kb.store.address import desk_file, must_be_changeable
from kb.store.desk import MOST, Desk, Unstored

_META = "kb.typed"
NUMBER = "Job number"
"""The question for a job."""
STEP = "Step"
"""Stands for the step of a job that was begun and not ended, among the answers."""
GO_ON = "Go on with what you had typed?"
EMPTY = "-"
"""What empties an answer that is offered again."""
_NOT_NOW = (StoreUnusable, StoreMissing, OSError)
"""The disk is full, others write for long, a drive is not there, nobody reads what is printed:
nothing typed is lost by it."""
_TELL_NOTHING = frozenset(["yes", "as_json", "happened"])
"""Options that say how to go on, and nothing of a job."""


@dataclass(slots=True)
class TypedAnswers:
    """The answers to one command on one job: those offered again, and those given now.

    `kept` has the command for which the offered ones were kept, and them. `stored` says that
    nothing has to be kept any more, `wanted` that there is something to keep,
    `options` which of the command's own are among the answers, `words` how what is offered is
    shown.
    """

    job: int | None = None
    kept: tuple[str, Unstored] | None = None
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

    Also where the store cannot be written just then, or is not there; then a script's, too.

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
        with _script(app, command, number) as typed:
            yield typed
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
    except _NOT_NOW as error:
        typed.wanted = True
        _say_if_stored(typed, error)
        raise
    except Exception as error:
        typed.wanted = typed.wanted or spoilt_behind(error, app) is not None
        raise
    finally:
        meta[_META] = above
        with _undisturbed():
            _put_away(app, desk, _of_job(command, typed.job), typed)


@contextmanager
def _script(app: App, command: str, number: int | None) -> Iterator[TypedAnswers]:
    """Keep the line of a script that could not be stored for no fault of its own.

    Nor is a value of the store that cannot be read any.
    """
    typed = TypedAnswers()
    try:
        yield typed
    except Exception as error:
        if not isinstance(error, _NOT_NOW) and spoilt_behind(error, app) is None:
            raise
        typed.wanted = True
        _say_if_stored(typed, error)
        job = typed.job if typed.job is not None else number
        _put_away(app, desk_of(app), _of_job(command, job), typed)
        raise


def _say_if_stored(typed: TypedAnswers, error: Exception) -> None:
    """Say that a line is stored although the system refused to print what became of it."""
    if isinstance(error, OSError) and typed.stored:
        say("It was stored, but what became of it could not be printed.", err=True)


def _say_still_kept(desk: Desk, command: str, number: int | None) -> None:
    """Say that what was kept before is not lost: to leave the question of it is no answer."""
    found = desk.unstored(_of_job(command, number)) or desk.unstored(command)
    if found is not None and _without_number(found[1].answers):
        say(f"What you typed before is still kept: kb job {found[0]} goes on with it.", err=True)


_LEAVE = [
    number for each in ("SIGHUP", "SIGTERM") if (number := getattr(signal, each, None)) is not None
]
"""What a program gets whose terminal is closed, or that is told to end."""


@contextmanager
def _hung_up_as_left() -> Iterator[None]:
    """Take a terminal that is closed, and a call to end, as Ctrl-C: what was typed is kept."""
    with _heeding(_LEAVE, signal.default_int_handler):
        yield


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Heed no Ctrl-C meanwhile: who presses it twice must not lose what was typed."""
    with _heeding([signal.SIGINT, *_LEAVE], signal.SIG_IGN):
        yield


@contextmanager
def _heeding(signals: Sequence[signal.Signals], how: Any) -> Iterator[None]:
    before = [(each, signal.signal(each, how)) for each in signals]
    try:
        yield
    finally:
        for each, handler in before:
            signal.signal(each, handler)


def _of_job(command: str, number: int | None) -> str:
    return command if number is None else f"{command} {number}"


def _put_away(app: App, desk: Desk, command: str, typed: TypedAnswers) -> None:
    """Keep what is not stored; what was stored of answers offered again is kept no more."""
    if typed.stored:
        if typed.kept:
            desk.forget(*typed.kept)
    elif typed.wanted and (left := typed.left()):
        kept = desk.keep(command, left, local_now(), instead=typed.kept)
        lost = ", ".join(_options_lost(typed))
        but = f", but not {lost}" if lost and kept else ""
        others = kept.beside if kept else 0
        beside = f", beside {others} from before ({MOST} at most)" if others else ""
        on = f"is kept{but}{beside}: kb job {command} goes on with it"
        with suppress(OSError):
            say(f"What you typed {on if kept else 'could not be kept: type it again'}.", err=True)
            for each in kept.dropped if kept else ():
                _tell_dropped(app, command, each)


def _tell_dropped(app: App, command: str, kept: Unstored) -> None:
    """Say what is kept no more, word for word: this is the last that is seen of it."""
    words, _ = _judged(kept.answers, _job(app, _job_in(command)))
    say(f"More are not kept. Kept no more is the oldest, {_when_typed(kept)}:", err=True)
    for question, answer in kept.answers.items():
        say(f"  {question}: {words.named(answer)}", err=True)


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

    Where there are several it is asked with which, and whether to keep them for later if with none.
    What was typed for another job than the one given is offered for that, and stays if refused;
    what was seen at a step never is: its letters mean something else on another car.
    Other words than yes and no are asked about again: whose answer they are, nobody knows.
    """
    found = desk.all_unstored(_of_job(command, number)) or _fit_for(desk, command, number)
    drafts = [_Draft.of(app, *each) for each in found if _without_number(each[1].answers)]
    if not drafts:
        return TypedAnswers()
    told = [each for draft in drafts for each in draft.cautions]
    print_page(layout.page(*layout.cautions(list(dict.fromkeys(told)))))
    chosen = drafts[0] if len(drafts) == 1 else _chosen(drafts)
    if len(drafts) == 1:
        _show_draft(chosen or drafts[0], "")
    if chosen is None:
        if not confirm("Keep them for later?", default=True):
            for each in drafts:
                desk.forget(each.command, each.kept)
        return TypedAnswers()
    elsewhere = number not in (None, chosen.job)
    if elsewhere:
        goes_on = confirm(f"Take it for job {number} instead?", default=False)
    else:
        goes_on = len(drafts) > 1 or confirm(GO_ON, default=chosen.fit)
    if not goes_on:
        if not elsewhere:
            desk.forget(chosen.command, chosen.kept)
        return TypedAnswers()
    say(f"Enter takes what stands in brackets; {EMPTY} leaves it empty.")
    return TypedAnswers(
        job=number or chosen.job,
        kept=(chosen.command, chosen.kept),
        offered=dict(chosen.answers),
        words=chosen.words,
    )


def _fit_for(desk: Desk, command: str, number: int | None) -> list[tuple[str, Unstored]]:
    """Return what was kept of other jobs and may be offered; steps are only named."""
    found = desk.all_unstored(command)
    if number is None:
        return found
    for elsewhere in dict.fromkeys(name for name, each in found if STEP in each.answers):
        say(f"A step that you began is still kept: kb job {elsewhere} goes on with it.")
    return [(name, each) for name, each in found if STEP not in each.answers]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draft:
    """What was kept of one time a command was called, and how it is shown."""

    command: str
    kept: Unstored
    job: int | None
    whose: str
    words: JobWords
    cautions: tuple[str, ...]

    @classmethod
    def of(cls, app: App, command: str, kept: Unstored) -> Self:
        job = _job_in(command)
        about = _job(app, job)
        words, told = _judged(_without_number(kept.answers), about)
        whose = f" for job {job}, {car(about.vehicle)}" if about else ""
        return cls(command=command, kept=kept, job=job, whose=whose, words=words, cautions=told)

    @property
    def answers(self) -> dict[str, str]:
        return _without_number(self.kept.answers)

    @property
    def fit(self) -> bool:
        """Whether all of it may be shown as it was typed."""
        return all(self.words.named(each) == each for each in self.answers.values())


def _show_draft(draft: _Draft, number: str) -> None:
    say(f"{number}Not stored yet{draft.whose}, {_when_typed(draft.kept)}:")
    for question, answer in draft.answers.items():
        say(f"  {question}: {draft.words.named(answer)}")


def _chosen(drafts: Sequence[_Draft]) -> _Draft | None:
    """Show what was kept at several times, the oldest first, and ask with which to go on."""
    for place, each in enumerate(drafts, start=1):
        _show_draft(each, f"{place}  ")
    question = f"Go on with which? (1 to {len(drafts)}; Enter: 1, the oldest; n: none of them)"
    forget_typed_ahead()
    while (said := prompt(question, default="1").casefold()) not in {"n", "no"}:
        if (place := whole_of(said) or 0) in range(1, len(drafts) + 1):
            return drafts[place - 1]
        say(f"  That is neither a number of 1 to {len(drafts)} nor n.")
    return None


def _job_in(command: str) -> int | None:
    """Return the number at the end of a command, of the job for which something was typed."""
    return whole_of(command.rpartition(" ")[2])


def _when_typed(kept: Unstored) -> str:
    return f"typed {local(kept.at):%Y-%m-%d %H:%M}"


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
