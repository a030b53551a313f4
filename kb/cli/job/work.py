"""`kb job work` and `kb job circuit`: the job in progress, as a conversation."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import partial

import click
from rich.text import Text

from kb.bounds import whole_of
from kb.case import DiagnosticTest
from kb.cli.job.asking import (
    ask,
    job_and_words,
    keep_asking,
    keep_shown,
    may_write,
    need,
    number_argument,
    recording_options,
    whole_number,
)
from kb.cli.job.close import close
from kb.cli.job.in_hand import job_meant
from kb.cli.job.look import print_open_jobs
from kb.cli.job.typed import STEP, TypedAnswers, desk_of, typed_now, typing
from kb.cli.main import App
from kb.cli.output import (
    at_terminal,
    confirm,
    counting,
    page_lines,
    print_page,
    print_rest,
    prompt,
    room_above,
    say,
    ways,
)
from kb.errors import InvalidField, KbError
from kb.intake.bare import as_told
from kb.intake.items import trade_wording
from kb.local_time import local_now
from kb.patterns import compiled
from kb.reports import layout
from kb.reports.troubleshoot import first_suspect, lock_line, proved, render, where_it_stands
from kb.services import troubleshoot as working
from kb.services.adding import add_line
from kb.services.drafts import Draft
from kb.services.lookup import show_job
from kb.services.signing import signature
from kb.services.troubleshoot_outcomes import step_told
from kb.troubleshooting.circuit import parse_circuit
from kb.troubleshooting.remedies import to_be_done
from kb.troubleshooting.steps import Step

WAYS = (
    "1-3: that was done · t: something else found or done · c: the circuit · x: close · "
    "d: detail; at any question m: more lines · q: leave"
)
TOLD = "What was found or done, as in kb job add"
CIRCUIT = "Circuit from the control unit on, * for shorting bars"
LINKS = "Circuit"
SEEN = "What was seen (a letter, or your own words; empty: not done)"
NEAREST = "Which of these comes nearest (a letter; empty: none of them)"
MINUTES = "Minutes it took (may stay empty)"
MINUTES_OR_OTHER = "Minutes it took (may stay empty; or the letter of what was meant instead)"
WHICH = "Of which step was that (its number; empty: of none)"
BELOW = 4
"""Lines below the page: those of the question, what was shown before it, and the answer."""
_NOT_DONE = compiled(r"\s*(?:it was )?(?:not done|skip(?:ped)?|not yet)\W*", re.IGNORECASE)
_WORD = compiled(r"[^\W\d_]{2}")


class _Left(Exception):
    """Somebody typed q in place of an answer."""


@click.command()
@number_argument
@click.pass_context
def work(ctx: click.Context, number: int | None) -> None:
    """Work through an open job: what is known, what to do next, what it showed.

    Shows where the job stands and what to do next, then asks what was done; m shows what did not
    fit the screen, so that anybody can take the job up. What was seen is told by its letter or in
    own words, at the first question, too ("2: cured"). Every answer is stored at once; q leaves at
    any question. Answers to a question that was left halfway are offered again. Scripts use "kb
    next-test".

    \b
    Example:
      kb job work 12
    """
    app: App = ctx.obj
    if not at_terminal():
        raise click.UsageError("This is a conversation; without a terminal use: kb next-test JOB")
    if number is None and desk_of(app).in_hand() is None:
        print_open_jobs(app)
    number = job_meant(app, number, asks=False, proposes=True)
    sheet = show_job(app.address, number)
    try:
        with ways({"q": _leave}):
            if not may_write(app, sheet):
                return
            if app.who is None:
                print_page(layout.page(*layout.cautions(sheet.cautions)))
                app = replace(app, who=ask("Your initials", _initials, need=True))
            with typing(app, "work", number, bare=True) as typed:
                typed.job = number
                _converse(ctx, app, number, typed)
    except _Left:
        say(f"Left as it is. Taken up again with: kb job work {number}")


def _converse(ctx: click.Context, app: App, number: int, typed: TypedAnswers) -> None:
    """Show, ask and store, until somebody leaves or closes."""
    detail, before = False, None
    while True:
        found = _look(app, number)
        if before is not None:
            print_page(Text(proved(before, found.advice), "bold green"))
        rest = _shown_first(found, detail)
        with ways({"m": partial(_more, rest, found.cautions), "q": _leave}):
            answer = _halfway(typed, found) or _answer()
            if answer == "x":
                ctx.invoke(close, number=number, text=(), yes=False, as_json=False)
                return
            detail = answer == "d"
            try:
                changed = _turn(app, number, answer, found)
            except KbError as error:
                say(f"  {error}")
                changed = False
        before = found.advice if changed else None
        if changed:
            typed.settled()


def _shown_first(found: working.WorkingJob, detail: bool) -> Sequence[str]:
    """Show what must be seen before anything is asked, and as much of the rest as fits.

    Where the steps do not fit with what they would show, that is left for the rest; where they do
    not fit even so, so are the notes and all suspects but the first, and at last the last steps:
    the first question stands under the cautions on one screen.

    Returns
    -------
    sequence of str
        The lines of the page that were not shown, or all of them.

    Raises
    ------
    _Left
        If somebody leaves before the steps.
    """
    room = room_above(BELOW)
    whole = page_lines(render(found, detail=detail))
    first = page_lines(where_it_stands(found, detail=detail))
    if room is None or detail or len(first) <= room:
        first = whole[: max(room or len(whole), len(first))]
        rest = whole[len(first) :]
    else:
        first, rest = _shortened(found, room), whole
    if not print_rest(first, BELOW):
        raise _Left
    return rest


def _shortened(found: working.WorkingJob, room: int) -> list[str]:
    """Return as much of where a job stands as fits, its cautions and first suspect in any case."""
    first = page_lines(where_it_stands(found, outcomes=False))
    if len(first) <= room:
        return first
    brief = page_lines(where_it_stands(found, outcomes=False, brief=True))
    return brief[: max(room, len(page_lines(first_suspect(found))))]


def _more(rest: Sequence[str], cautions: Sequence[str]) -> None:
    """Show what did not fit, and under it once more what stands above every question."""
    print_rest([*rest, *page_lines(layout.page(*layout.cautions(cautions)))], BELOW)


def _leave() -> None:
    raise _Left


def _halfway(typed: TypedAnswers, found: working.WorkingJob) -> str | None:
    """Return the way to the question that was left halfway, if it can still be asked."""
    if TOLD in typed.offered:
        return "t"
    if CIRCUIT in typed.offered:
        return "c"
    step = typed.offered.pop(STEP, None)
    titles = [each.title for each in found.advice.steps]
    return str(titles.index(step) + 1) if step in titles else None


def _answer() -> str:
    """Ask what was done: a key of one letter or number, or words as they were typed."""
    answer = prompt(WAYS)
    if not answer:
        raise _Left
    return answer.casefold() if len(answer) == 1 else answer


def _look(app: App, number: int) -> working.WorkingJob:
    with counting("Reading past jobs", broken_off="what was stored before stays") as progress:
        return working.working_job(
            app.address, number, app.settings, who=app.who, now=_now(), progress=progress
        )


def _turn(app: App, number: int, answer: str, found: working.WorkingJob) -> bool:
    """Do what was answered; whether the job was changed."""
    if answer == "t":
        return _add(app, number, ask(TOLD, as_told))
    if answer == "c":
        text = ask(CIRCUIT, _links)
        if text:
            return keep_asking(app, working.set_circuit(app.address, number, text)) is not None
        return False
    if answer == "d":
        return False
    steps = found.advice.steps
    if (chosen := whole_of(answer)) is not None and 1 <= chosen <= len(steps):
        return _did(app, number, steps[chosen - 1], found.cautions)
    return _said(app, number, answer, found)


def _said(app: App, number: int, answer: str, found: working.WorkingJob) -> bool:
    """Take words in place of a key: what a step showed, else what was found or done besides."""
    if not _WORD.search(answer):
        raise InvalidField("answer", answer, "is none of: 1-3, t, c, x, d, m, q")
    steps = found.advice.steps
    told = step_told(steps, answer, number, found.job.vehicle, trade_wording())
    if not told.steps:
        say("  Taken as something else found or done:")
        return _add(app, number, as_told(answer))
    step = told.steps[0] if len(told.steps) == 1 else _which(steps, told.steps)
    return step is not None and _did(app, number, step, found.cautions, as_told(told.saw))


def _add(app: App, number: int, text: str | None) -> bool:
    """Add what else was found or done; whether anything was."""
    if not text:
        return False
    typed_now().note(TOLD, text)
    draft = _told_more(add_line(app.address, number, text, today=date.today()))
    stored = keep_shown(app, draft, done="Added to job {number}.", yes=False, as_json=False)
    return stored is not None


def _which(steps: Sequence[Step], told: Sequence[Step]) -> Step | None:
    """Ask which of several steps showed what was told."""
    places = {str(steps.index(each) + 1): each for each in told}
    for place, each in places.items():
        say(f"  {place} {to_be_done(each.title)}")

    def chosen(text: str) -> Step:
        if text.strip() not in places:
            raise InvalidField("step", text, f"is none of: {', '.join(places)}")
        return places[text.strip()]

    return ask(WHICH, chosen)


def _told_more(draft: Draft) -> Draft:
    """Ask of every new test that does not say so what it speaks for and against."""
    known = draft.base.tests if draft.base else ()
    tests = tuple(
        test if test in known or test.points_to or test.clears else _asked_of(test)
        for test in draft.job.tests
    )
    return replace(draft, job=replace(draft.job, tests=tests))


def _asked_of(test: DiagnosticTest) -> DiagnosticTest:
    def named(label: str) -> tuple[str, ...]:
        words = ask(f"“{test.name}” {label} (parted by commas; empty: nothing)", as_told) or ""
        return tuple(part.strip() for part in words.split(",") if part.strip())

    return replace(test, points_to=named("points to"), clears=named("clears"))


def _did(
    app: App, number: int, step: Step, cautions: Sequence[str], saw: str | None = None
) -> bool:
    """Ask what a step showed, unless told; first what locks it.

    Its cautions stand above either question.
    """
    typed_now().note(STEP, step.title)
    above = layout.page(*layout.cautions((*cautions, *step.cautions)))
    if step.locks:
        print_page(above)
        say(f"Before “{to_be_done(step.title)}”: {lock_line(step)}.")
        if not confirm("Is that so, now, on this car?", default=False):
            say("Then it stays locked.")
            return False
        draft = working.confirm(
            app.address, number, step.title, app.settings, by=app.who, now=_now()
        )
        keep_asking(app, draft)
        say(f"Confirmed by {app.who}.")
    print_page(above)
    if saw is not None:
        say(f"Taken for what this showed: {to_be_done(step.title)}")
    elif step.how:
        say(step.how)
    letters = [chr(ord("a") + place) for place in range(len(step.branches))]
    for letter, branch in zip(letters, step.branches, strict=True):
        say(f"  {letter} {branch.seen}")
    if saw is None:
        saw = ask(SEEN, partial(_seen, letters))
    else:
        typed_now().note(SEEN, saw)
    if saw is None:
        return False
    told = working.Done(
        step=step.title,
        saw=saw,
        words=ask("In your own words (may stay empty)", as_told) if saw in letters else None,
    )
    draft = _result(app, number, told, letters)
    if draft.understood:
        say(f"  {draft.understood}")
    return keep_asking(app, _with_minutes(app, number, told, draft, letters)) is not None


def _with_minutes(
    app: App, number: int, told: working.Done, draft: working.StepDraft, letters: list[str]
) -> working.StepDraft:
    """Ask how long it took; in its place may stand the outcome that own words meant instead."""
    if draft.understood is None:
        return working.lasted(draft, ask(MINUTES, whole_number))
    took = ask(MINUTES_OR_OTHER, partial(_minutes_or_letter, letters))
    if isinstance(took, str):
        draft = _drafted(app, number, replace(told, saw=took, words=told.saw))
        took = ask(MINUTES, whole_number)
    return working.lasted(draft, took)


def _result(app: App, number: int, told: working.Done, letters: list[str]) -> working.StepDraft:
    """Draft the result of a step; of a test whose words mean no outcome, ask which is nearest."""
    try:
        return _drafted(app, number, told)
    except InvalidField as unclear:
        if unclear.field != "saw":
            raise
    nearest = ask(NEAREST, partial(_letter, letters))
    if nearest is None:
        return _drafted(app, number, told, keeps_words=True)
    return _drafted(app, number, replace(told, saw=nearest, words=told.saw))


def _drafted(
    app: App, number: int, told: working.Done, *, keeps_words: bool = False
) -> working.StepDraft:
    return working.done(
        app.address,
        number,
        told,
        app.settings,
        who=app.who,
        now=_now(),
        keeps_words=keeps_words,
    )


def _initials(text: str) -> str:
    return signature(as_told(text))


def _now() -> datetime:
    return local_now()


def _seen(letters: list[str], text: str) -> str:
    """Return the letter of an outcome, or own words as typed."""
    letter = text.strip().casefold()
    if letter in letters:
        return letter
    if not _WORD.search(text):
        raise InvalidField(
            "outcome", text, f"must be one of: {', '.join(letters)}; or say it in words"
        )
    if _NOT_DONE.fullmatch(text):
        raise InvalidField("outcome", text, "is no outcome; leave it empty if it was not done")
    return as_told(text)


def _minutes_or_letter(letters: list[str], text: str) -> int | str:
    """Return minutes, or the letter of an outcome."""
    return text.strip().casefold() if text.strip().casefold() in letters else whole_number(text)


def _letter(letters: list[str], text: str) -> str:
    """Return the letter of an outcome."""
    letter = text.strip().casefold()
    if letter not in letters:
        raise InvalidField("outcome", text, f"must be one of: {', '.join(letters)}; or empty")
    return letter


def _links(text: str) -> str:
    """Return a circuit as typed, if it is one."""
    parse_circuit(text, trade_wording())
    return text


@click.command()
@job_and_words("[CIRCUIT]...")
@recording_options
@click.pass_obj
def circuit(app: App, number: int | None, text: tuple[str, ...], yes: bool, as_json: bool) -> None:
    """Tell the circuit of a job: its links from the control unit on, parted by commas.

    A star behind a connector says that it has shorting bars: continuity through it when it is
    open then proves nothing. A colon and a kind say what a link is where its name does not:
    control unit, harness, clock spring, connector or component.

    \b
    Examples:
      kb job circuit 12 "airbag ECU, harness, seat connector*, pretensioner"
      kb job circuit 12 "door module, loom, motor plug, lock: component"
    """
    with typing(app, "circuit", number, bare=not text) as typed:
        number = job_meant(app, number, asks=not text)
        told = need(" ".join(text), LINKS, _links)
        typed.note(LINKS, told)
        draft = working.set_circuit(app.address, number, told)
        keep_shown(app, draft, done="Circuit of job {number} is known.", yes=yes, as_json=as_json)
