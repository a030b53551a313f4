"""Asking at the terminal, and showing what was understood before it is stored."""

import re
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from enum import StrEnum
from functools import partial
from typing import Any, TypeVar

import click
from rich.text import Text

from kb.bounds import whole_of
from kb.case import Stage
from kb.cli.clock import mind_clock
from kb.cli.job.typed import EMPTY, typed_now
from kb.cli.main import App
from kb.cli.options import Option
from kb.cli.output import at_terminal, confirm, json_option, print_page, prompt, say, show
from kb.errors import InvalidField, NotAgreed, StoreBusy
from kb.intake.distances import parse_odometer
from kb.reports import layout
from kb.reports.job import render_draft, unvouched_lines
from kb.safety.igniter_steps import Danger
from kb.safety.job_dangers import danger_line
from kb.safety.job_words import JobWords
from kb.services.doubts import after_a_fix
from kb.services.drafts import Draft
from kb.services.keeping import ChangedMeanwhile, Recorded, keep
from kb.services.lookup import JobSheet
from kb.services.mending import doubtful_target, nothing_but_words, standing

T = TypeVar("T")
_FIRST_WORD = "kb.first_word"
_VAIN_BEFORE_HELP = 2
_MOST_TRIES = 3
"""Answers in vain to a question that need not be answered."""
_BEFORE = frozenset(
    [
        "b",
        "bef",
        "before",
        "earlier",
        "first",
        "prior",
        "v",
        "vor",
        "vorher",
        "avant",
        "przed",
        "found",
    ]
)
_AFTER = frozenset(
    [
        "a",
        "aft",
        "after",
        "afterwards",
        "later",
        "since",
        "now",
        "nach",
        "nachher",
        "danach",
        "après",
        "apres",
        "po",
        "potem",
    ]
)

PATIENCE_SECONDS, TRIES = 2, 60
"""After which somebody at a terminal is told that others write, and how often it is tried then."""
HAPPENED = "kb.happened"
"""Where a command notes that a dangerous step was in fact done."""


def ask(
    label: str,
    parse: Callable[[str], T],
    *,
    need: bool = False,
    hint: str | None = None,
    told: str | None = None,
    tries: int | None = None,
) -> T | None:
    """Ask until the answer can be read; an empty one is None, unless it is needed.

    An answer that was given before and not stored is offered again. The hint stands behind the
    label, and is no part of the question. What was told with the command is the first answer. Until
    it is read an answer is kept as typed; one that is refused is kept no more. How to leave is told
    with the second answer in vain. After so many `tries` in vain it goes on as if nothing was told.
    """
    typed, vain = typed_now(), 0
    while True:
        offered, given = dict(typed.offered), dict(typed.given)
        before = offered.get(label, "")
        beside = f"[{_offer(before, typed.words)}]" if before else hint
        shown = f"{label} {beside}" if beside else label
        text, told = told or prompt(shown, default=before), None
        if before and text == EMPTY:
            text = ""
            typed.offered.pop(label)
        if not text and not need:
            typed.unsaid(label)
            return None
        try:
            if text:
                typed.note(label, text)
                answer = parse(text)
                typed.answered(label, text)
                return answer
        except InvalidField as error:
            typed.refused(label, offered, given)
            say(f"  {error}")
        vain += 1
        if vain == tries:
            say("  It is kept as not told.")
            return None
        if vain == _VAIN_BEFORE_HELP or not text:
            say("  Ctrl-C leaves; nothing is stored then.")


def _offer(before: str, words: JobWords) -> str:
    """Return how an answer is offered again; one that is not shown by what it is."""
    return before if words.named(before) == before else "your last line, not shown"


def ask_whether(question: str, *, default: bool) -> bool:
    """Ask what is so or not; an answer given before and not stored is the one Enter takes."""
    typed = typed_now()
    before = {"yes": True, "no": False}.get(typed.offered.get(question, ""), default)
    answer = confirm(question, default=before)
    if answer is default:
        typed.unsaid(question)
    else:
        typed.answered(question, "yes" if answer else "no")
    return answer


def ask_outcome(question: str) -> bool | None:
    """Ask what may be so, not so, or not known; only what is told counts as told."""
    answer = ask(question, _outcome, hint="(y yes, n no, Enter: not known)")
    return None if answer is None else answer == "yes"


def _outcome(text: str) -> str:
    said = {"y": "yes", "yes": "yes", "n": "no", "no": "no"}.get(text.casefold())
    if said is None:
        raise InvalidField("answer", text, "is none of: y, n, or nothing for not known")
    return said


def need(value: T | None, label: str, parse: Callable[[str], T]) -> T:
    """Return what was given on the command line, or ask for it; without a terminal it must be."""
    if value:
        return value
    if not at_terminal():
        raise click.UsageError(f"{label}: nothing was given, and asking needs a terminal.")
    answer = ask(label, parse, need=True)
    assert answer is not None  # noqa: S101  it was needed
    return answer


def keep_shown(
    app: App, draft: Draft, *, done: str, yes: bool, as_json: bool, ask: bool = True
) -> Recorded | None:
    """Show what was understood, store it, at a terminal only when agreed, and say so.

    Parameters
    ----------
    done : str
        What to say, with a place for the job's ``{number}``.
    yes : bool
        Ask nothing.
    ask : bool
        If False, ask only where the job is closed or old.

    Returns
    -------
    Recorded or None
        None if it was not stored.
    """
    if draft.base is not None and not draft.changes:
        raise InvalidField("job", draft.base.number, "is so already; nothing was changed")
    asked = at_terminal() and not yes and not as_json
    if asked:
        mind_clock(app)
        draft = _cure_settled(_staged(draft))
    if not as_json:
        print_page(render_draft(draft))
        if click.get_current_context().meta.get(HAPPENED, False):
            name_dangers(draft.dangers)
    if not yes and not _is_meant(app, draft, asked=asked, always=ask):
        say("Nothing was stored.")
        typed_now().wanted = True
        return None
    recorded = keep_asking(app, draft, ask=asked and (ask or bool(draft.dangers)))
    if recorded is None:
        typed_now().wanted = True
        return None
    typed_now().settled()
    show(
        recorded,
        lambda kept: layout.page(
            Text(done.format(number=kept.job.number)),
            *layout.notices(
                unvouched_lines(JobWords.of(kept.job).steps_of(kept.job, kept.unvouched))
            ),
        ),
        as_json=as_json,
    )
    return recorded


def _staged(draft: Draft) -> Draft:
    """Ask of readings whether they were taken after the fix that was tried before them."""
    known = draft.base.readings if draft.base else ()
    added = draft.job.readings[len(known) :]
    new = [each for each in added if each.stage is Stage.AS_FOUND]
    if not (draft.base and draft.base.attempts and new) or draft.base.closed:
        return draft  # whether a closed job is meant is asked first
    if draft.dangers:
        return draft  # what is dangerous is named before anything else is asked
    print_page(layout.page(*layout.cautions(draft.cautions)))
    fix, them = JobWords.of(draft.base).shown_fix(draft.base.attempts[-1]), new[0].place
    when = ask(
        f"Was {them} measured before or after: {fix}",
        _when,
        hint="(b before, a after; Enter: not told)",
        tries=_MOST_TRIES,
    )
    if when is None:
        return draft
    noted = set(after_a_fix(draft.base, new))
    staged = tuple(replace(each, stage=when) if each in new else each for each in added)
    return replace(
        draft,
        job=replace(draft.job, readings=(*known, *staged)),
        notices=tuple(each for each in draft.notices if each not in noted),
    )


def _cure_settled(draft: Draft) -> Draft:
    """Ask whether trouble is what the last fix was told to have cured; it may be another's."""
    if draft.cure_in_doubt is None or draft.dangers:
        return draft
    print_page(layout.page(*layout.cautions(draft.cautions)))
    *before, last = draft.job.attempts
    fix = JobWords.of(draft.job).shown_fix(last)
    if ask_outcome(f"Is that the fault that was to be gone by: {fix}") is not True:
        return draft
    return replace(
        draft,
        job=replace(draft.job, attempts=(*before, replace(last, cured=False))),
        notices=tuple(each for each in draft.notices if each != draft.cure_in_doubt),
        cure_in_doubt=None,
    )


def _when(text: str) -> Stage:
    """Read whether something was before or after the fix, in words or by their letters.

    Examples
    --------
    >>> [_when(said).value for said in ("B", "before it", "vorher", "after the fix", "après", "po")]
    ['as found', 'as found', 'as found', 'after the fix', 'after the fix', 'after the fix']
    """
    first, *_ = re.findall(r"\w+", text.casefold()) or [""]
    if first in _BEFORE:
        return Stage.AS_FOUND
    if first in _AFTER:
        return Stage.AFTER_FIX
    raise InvalidField("answer", text, "tells neither; write before or after, or nothing")


def _is_meant(app: App, draft: Draft, *, asked: bool, always: bool) -> bool:
    """Ask whether to store a draft; where its car or job is in doubt, whether that is the one.

    A fresh one is asked about only if `always`; one with dangerous steps is asked about later.

    Raises
    ------
    NotAgreed
        If it is, and nobody can be asked.
    """
    if draft.clash and not asked:
        raise NotAgreed(
            f"vehicle: {draft.clash} Give the car that is meant, or say --yes; nothing was stored."
        )
    if draft.clash:
        return confirm(f"{draft.clash} Is that the car? Store it?", default=False)
    doubtful = doubtful_target(draft, app.settings.mending, today=date.today())
    if doubtful and not asked:
        raise NotAgreed(f"job: {doubtful} If that is the one, say --yes; nothing was stored.")
    if doubtful:
        return confirm(f"{doubtful} Store it there?", default=False)
    if not always or not asked or draft.dangers:
        return True
    if nothing_but_words(draft):
        return confirm("Nothing of it was understood. Store it as words?", default=False)
    return confirm("Store it?", default=not draft.misspelt)


def may_write(app: App, sheet: JobSheet) -> bool:
    """Ask, where a job is old, under its cautions, whether it is the one that is meant."""
    old = standing(sheet.job, app.settings.mending, today=date.today())
    if old is None:
        return True
    print_page(layout.page(*layout.cautions(sheet.cautions)))
    return confirm(f"{old} Is that the one?", default=False)


def keep_asking(app: App, draft: Draft, *, ask: bool = True) -> Recorded | None:
    """Store a draft; dangerous steps in it only if somebody says that they were in fact done.

    Returns
    -------
    Recorded or None
        None if nobody said so.
    """
    happened = click.get_current_context().meta.get(HAPPENED, False)
    if draft.dangers and ask and not happened:
        happened = confirmed_danger(draft.dangers)
        if not happened:
            say("Nothing was stored.")
            return None
    store = partial(keep, app.address, who=app.who, happened=happened, hours=app.hours)
    if not at_terminal():
        return store(draft)
    while True:
        try:
            return _trying_on(partial(store, draft))
        except ChangedMeanwhile as changed:
            left = _what_is_left(draft, changed) if ask else None
            if left is None:
                typed_now().wanted = True
                raise
            draft = left


def _what_is_left(draft: Draft, changed: ChangedMeanwhile) -> Draft | None:
    """Show what two people did to one job; what to store on top of theirs, if that is agreed."""
    say("Somebody else changed the job meanwhile. Theirs:")
    print_page(render_draft(changed.theirs))
    say("Yours:")
    print_page(render_draft(draft))
    if changed.collide:
        say(f"These collide, and stay as theirs: {', '.join(changed.collide)}.")
    if changed.left is None:
        return None
    say("What is left of yours:")
    print_page(render_draft(changed.left))
    return changed.left if confirm("Store that on top of theirs?", default=False) else None


def _trying_on(store: Callable[..., Recorded]) -> Recorded:
    """Store, and while others write try again, a moment each time, for Ctrl-C waits for its end."""
    with suppress(StoreBusy):
        return store(patience=PATIENCE_SECONDS)
    say("Somebody else is writing; still trying. Ctrl-C leaves and keeps what you typed.", err=True)
    for _ in range(TRIES):
        with suppress(StoreBusy):
            return store(patience=1)
    return store(patience=1)


def odometer(text: str) -> int:
    """Read a distance in km; of miles it is told what they are."""
    told = parse_odometer(text)
    if told.miles is not None:
        say(f"{told.miles:,} miles are {told.km:,} km.", err=True)
    return told.km


def confirmed_danger(dangers: Sequence[Danger]) -> bool:
    """Name dangerous steps, and ask whether they were in fact done."""
    name_dangers(dangers)
    return confirm("Was that in fact done? Store it as what happened", default=False)


def name_dangers(dangers: Sequence[Danger]) -> None:
    """Say what is dangerous, why, and what to do instead."""
    for danger in dangers:
        line = Text(danger_line(danger), "bold")
        print_page(layout.labelled([("DANGER", line)], style="bold red"))


def whole_number(text: str) -> int:
    """Read a whole number, thousands perhaps parted."""
    digits = text.replace(",", "").replace(" ", "").lstrip("#")
    number = whole_of(digits)
    if number is None:
        too_long = "is larger than any number kept here"
        raise InvalidField("number", text, too_long if digits.isdecimal() else "is no whole number")
    return number


def job_number(text: str) -> int:
    """Read the number of a job, which comes first in a command."""
    try:
        return whole_number(text)
    except InvalidField:
        context = click.get_current_context()
        raise click.UsageError(
            f"The job's number is missing before {text!r}: {context.command_path} JOB {text!r}"
        ) from None


def parsed(
    parse: Callable[[str], T],
) -> Callable[[click.Context, click.Parameter, str | None], Any]:
    """Return a callback that reads an option; what cannot be read is told with its cure."""

    def read(ctx: click.Context, param: click.Parameter, value: str | None) -> T | None:  # noqa: ARG001
        return None if value is None else parse(value)

    return read


def choice_option(name: str, kind: type[StrEnum], about: str) -> Option:
    """Make an option that takes one of the words of an enumeration and gives the member."""
    words = [word.value for word in kind]
    return click.option(
        name,
        type=click.Choice(words, case_sensitive=False),
        callback=parsed(kind),
        metavar="WORDS",
        help=f"{about}: {', '.join(words)}.",
    )


def recording_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add ``--yes``, ``--happened`` and ``--json``."""
    asked = click.option("--yes", "-y", is_flag=True, help="Store without asking.")
    return asked(happened_option(json_option(command)))


def happened_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add ``--happened``, which `keep_asking` looks for."""

    def note(ctx: click.Context, param: click.Parameter, value: bool) -> None:  # noqa: ARG001
        ctx.meta[HAPPENED] = value

    return click.option(
        "--happened",
        is_flag=True,
        expose_value=False,
        callback=note,
        help="A dangerous step told here was in fact done: store it as what happened.",
    )(command)


def job_and_words(metavar: str, *, piped: bool = False) -> Option:
    """Make the arguments of a command that takes a job and words.

    Where the first is no job number, it is one of the words, and the number None: at a terminal, or
    without one where the command knows what to do then (`piped`).
    """

    def number_or_word(ctx: click.Context, param: click.Parameter, value: str | None) -> int | None:
        is_word = value is not None and not value.lstrip("#").isdecimal()
        is_word = is_word and (piped or at_terminal())
        if is_word:
            ctx.meta[_FIRST_WORD] = value
        number: int | None = None if is_word else read(ctx, param, value)
        return number

    def all_words(
        ctx: click.Context,
        param: click.Parameter,  # noqa: ARG001
        value: tuple[str, ...],
    ) -> tuple[str, ...]:
        first = ctx.meta.pop(_FIRST_WORD, None)
        return value if first is None else (first, *value)

    read = parsed(job_number)
    number = click.argument("number", callback=number_or_word, required=False, metavar="[JOB]")
    words = click.argument("text", callback=all_words, nargs=-1, metavar=metavar)
    return lambda command: number(words(command))


number_argument = click.argument(
    "number", callback=parsed(whole_number), required=False, metavar="JOB"
)
