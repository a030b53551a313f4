"""`kb job close`."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import click

from kb.bounds import whole_of
from kb.case import Attempt, Cause, FailureMode, Job, Proof
from kb.cli.job.asking import (
    ask,
    ask_outcome,
    ask_whether,
    choice_option,
    job_and_words,
    keep_shown,
    recording_options,
)
from kb.cli.job.in_hand import job_meant
from kb.cli.job.look import print_open_jobs
from kb.cli.job.typed import TypedAnswers, desk_of, typed_now, typing
from kb.cli.learning import learn_if_due
from kb.cli.main import App
from kb.cli.options import COST, MINUTES, day_option
from kb.cli.output import at_terminal, confirm, counting, print_page, say
from kb.errors import Dangerous, InvalidField
from kb.intake.bare import seen_as_told
from kb.intake.causes import mode_meant
from kb.intake.single_facts import parse_attempt
from kb.local_time import local_now
from kb.reports import layout
from kb.reports.job import render_sheet
from kb.reports.mending import render_choices
from kb.safety.job_dangers import danger_line, may_be_in
from kb.safety.job_words import FIT
from kb.services.absent_cures import fix_told
from kb.services.adding import dangerous_words
from kb.services.closing import (
    CauseChoice,
    CauseChoices,
    Closing,
    ClosingDraft,
    as_shop_names,
    choices,
    close_job,
    proofs_wanted,
)
from kb.services.lookup import JobSheet, show_job
from kb.settings import Settings

SUSPECTS = "Suspects, by the shop's names for them"
OTHERWISE = "{} cured it, a part that no suspect has by that name; is it one of these?"
CAUSE, FIX, CURED, PROVED = "Cause", "Last fix", "Did it cure it?", "What proved the cause"
STAND_IN_OUT = "Is what was put in an igniter's place out again?"
NO_CAUSE = "Close without a cause?"
MORE = "+"
"""What is typed behind the number of a suspect by who wants to be asked for all there is."""
NEW = "n"
"""What is typed where a cause is none of the shop's: Enter alone makes none."""


@click.command()
@job_and_words("[CAUSE]...")
@click.option("--component", help="What failed, instead of CAUSE.")
@choice_option("--mode", FailureMode, "How it failed")
@click.option("--location", help="Where such components sit: under seat.")
@click.option("--position", help="Which one it was: left front.")
@click.option("--no-cause", "without_cause", is_flag=True, help="The cause was not found.")
@click.option("--proved-by", "-p", help="What proved the cause.")
@click.option("--fix", "-f", help='What was done last: "cleaned seat connector".')
@click.option("--cured/--not-cured", default=None, help="Whether it was gone at handover.")
@click.option("--verified", help="How that was made sure.")
@click.option(
    "--proof",
    "proofs",
    multiple=True,
    type=click.Choice([proof.value for proof in Proof], case_sensitive=False),
    callback=lambda _ctx, _param, told: tuple(map(Proof, told)),
    metavar="WORDS",
    help=f"What shows that it worked; repeatable: {', '.join(Proof)}.",
)
@click.option(
    "--never-reproduced",
    "reproduced",
    flag_value=False,
    default=None,
    help="The fault was never seen to occur here.",
)
@click.option("--part-maker", help="Who made the part that was fitted.")
@click.option("--cost", "parts_cost", type=COST, help="Parts.")
@click.option("--minutes", type=MINUTES, help="Work on the fix.")
@day_option("--closed", "Day of closing, as 2026-03-02; else today.")
@click.option(
    "--learn/--no-learn",
    default=None,
    help="Learn the weights again where the shop has grown; asked at a terminal.",
)
@recording_options
@click.pass_obj
def close(
    app: App,
    /,
    number: int | None,
    text: tuple[str, ...],
    learn: bool | None,
    yes: bool,
    as_json: bool,
    **told: Any,
) -> None:
    """Close a job with its cause: what failed, where such parts sit, how it failed.

    Called bare at a terminal it shows the suspects of the job, by the shop's own names: a number
    and Enter tell the cause. Where the last fix is known to have cured, nothing more is asked
    than whether to store it; 1+ asks for the rest, as for what proved it. A cause told anew that is
    near one of the shop is asked about. Whether the fix cured counts as not known unless it is
    told. Ctrl-C loses nothing: a bare kb job close goes on with what was typed.

    Closed jobs with a cause are what later questions are answered from. Once the shop has grown
    by a fifth, closing a job is when the weights are learnt again (see kb weights).

    \b
    Examples:
      kb job close 12 "seat connector under LF seat, high resistance" \\
         --proved-by "steady with a load" --fix "cleaned seat connector, cured"
      kb job close 12 --component "clock spring" --mode open --location column
      kb job close 12 --no-cause
    """
    closing = _told(" ".join(text), **told)
    bare = closing.cause is None and not closing.without_cause
    asks = not yes and not as_json and not closing.without_cause
    with typing(app, "close", number, bare=bare, goes_on=asks) as typed:
        _note(typed, closing)
        if number is None and at_terminal() and desk_of(app).in_hand() is None:
            print_open_jobs(app)
        number = job_meant(app, number, asks=False)
        if at_terminal() and asks:
            sheet = show_job(app.address, number, hours=app.hours)
            told_more = _asked(app, closing, sheet, bare=bare)
            if told_more is None:
                say("Nothing was stored.")
                return
            closing = _with_stand_in(told_more, sheet.job)
        draft = _closed(app, number, closing)
        kept = keep_shown(app, draft, done="Job {number} is closed.", yes=yes, as_json=as_json)
    if kept is not None:
        learn_if_due(app, draft.weights, wanted=learn, ask=not yes, quiet=as_json)


def _closed(app: App, number: int, told: Closing) -> ClosingDraft:
    """Draft the end of a job; what cannot be read is refused with the danger it tells of."""
    try:
        return close_job(app.address, number, told, app.settings, today=date.today())
    except InvalidField as error:
        cause = told.cause.label if isinstance(told.cause, Cause) else told.cause
        for line in filter(None, (told.fix, cause, told.proved_by, told.verified)):
            if danger := dangerous_words(app.address, number, line):
                raise Dangerous(f"{danger_line(danger)}\n{error}") from error
        raise


def _note(typed: TypedAnswers, told: Closing) -> None:
    """Take what was told with the command as answers."""
    if isinstance(told.cause, Cause):
        typed.note(CAUSE, told.cause.label)
        typed.options |= {"component", "mode", "location"}
    else:
        typed.note(CAUSE, told.cause)
    typed.note(FIX, told.fix, "fix")
    typed.note(CURED, {True: "yes", False: "no", None: None}[told.cured], "cured")
    typed.note(PROVED, told.proved_by, "proved_by")


def _told(
    text: str,
    component: str | None,
    mode: FailureMode | None,
    location: str | None,
    position: str | None,
    **told: Any,
) -> Closing:
    """Put together what the options told of the cause."""
    if component is None and mode is None and location is None and position is None:
        if text.isdecimal() and not at_terminal():
            raise InvalidField("cause", text, "is a number; suspects have one at a terminal only")
        return Closing(cause=text or None, **told)
    if text:
        raise click.UsageError(
            'Tell all of the cause as text ("LR wheel bearing: worn"), or all of it by '
            "--component, --mode, --location and --position."
        )
    if component is None or mode is None:
        raise click.UsageError("Give the cause as text, or with --component and --mode.")
    cause = Cause(
        component=component,
        failure_mode=mode,
        location=location,
        position=position,
    )
    return Closing(cause=cause, **told)


def _asked(app: App, told: Closing, sheet: JobSheet, *, bare: bool) -> Closing | None:
    """Ask for the cause, by number where it can be, for the fix and whether it cured.

    The fix is not asked for where the cause was told and one is on record; called bare, everything
    of the end is. None if there is no cause, and nobody says that the job is to be closed without.
    """
    if sheet.job.closed is not None:
        return told  # refused by the service, which says why
    found = _choices(app, sheet)
    if bare or sheet.cautions:
        print_page(render_sheet(sheet) if bare else layout.page(*layout.cautions(sheet.cautions)))
    is_brief = False
    if isinstance(told.cause, Cause):
        told = replace(told, cause=_as_the_shop_says(found, told.cause))
    else:
        told, is_brief = _with_cause(told, found, sheet.job.cause)
    cause = told.cause if isinstance(told.cause, Cause) else None
    if cause is None and not ask_whether(NO_CAUSE, default=False):
        return None
    last = sheet.job.attempts[-1] if sheet.job.attempts else None
    if is_brief and last and last.cured:
        return told
    fix = told.fix
    if fix is None and (bare or last is None or FIX in typed_now().offered):
        empty = last.label if last else "none"
        fix = ask(FIX, _fix, hint=f"(as: cleaned seat plug; empty: {empty})")
    cured = told.cured
    attempt = fix_told(sheet.job, fix) if fix else last
    if cured is None and attempt is not None:
        cured = attempt.cured if attempt.cured is not None else ask_outcome(CURED)
    if not bare:
        return replace(told, without_cause=cause is None, fix=fix, cured=cured)
    proved_by = told.proved_by or (ask(PROVED, seen_as_told) if cause else None)
    return replace(
        told,
        without_cause=cause is None,
        proved_by=proved_by,
        fix=fix,
        cured=cured,
        proofs=told.proofs
        or (_proofs(_with_fix(sheet.job, attempt), cause, app.settings) if cured and cause else ()),
        reproduced=_reproduced(told, sheet),
    )


def _with_stand_in(told: Closing, job: Job) -> Closing:
    """Ask whether a known load is out again, where nothing tells it, before the fix is a cure."""
    cured = told.cured or (told.fix is None and any(each.cured for each in job.attempts))
    if not cured or not may_be_in(job, told.fix, told.proved_by, told.verified):
        return told
    return replace(told, stand_in_out=ask_outcome(STAND_IN_OUT))


def _choices(app: App, sheet: JobSheet) -> CauseChoices:
    with counting("Reading past jobs") as progress:
        return choices(
            app.address,
            sheet.job.number or 0,
            app.settings,
            now=local_now(),
            progress=progress,
        )


def _with_cause(told: Closing, found: CauseChoices, now: Cause | None) -> tuple[Closing, bool]:
    """Ask for the cause: the number of a suspect, or words; empty for what it is now.

    What was told with the command is the first answer. Returned is as well whether it was a number
    and no more.
    """
    said = told.cause if isinstance(told.cause, str) else None
    if found.suspects and (said is None or said.isdecimal()):
        title = OTHERWISE.format(found.cured_by) if found.cured_by else SUSPECTS
        print_page(render_choices(title, found.suspects))

    def meant(text: str) -> Cause:
        number = text.removesuffix(MORE)
        return _numbered(found.suspects, number) if number.isdecimal() else _read(text, found)

    numbers = f"number, {MORE} for more, or " if found.suspects else ""
    empty = "as it is" if now else "none"
    hint = f"({numbers}as: seat plug under LF seat, open; empty: {empty})"
    cause = ask(CAUSE, meant, hint=hint, told=said)
    if cause is None:
        return replace(told, cause=now), False
    typed = typed_now().given.get(CAUSE, "")
    by_number = typed.removesuffix(MORE).isdecimal()
    if by_number:
        typed_now().answered(CAUSE, cause.label)  # the number may be another's by then
    told = replace(
        told,
        cause=_as_the_shop_says(found, cause),
        cause_as_typed=None if by_number or typed == cause.label else typed or None,
    )
    return told, typed.isdecimal()


def _read(text: str, found: CauseChoices) -> Cause:
    """Read a cause; a failure mode that is nearly told is offered, unless a cause of the shop is.

    The shop's own name for it is asked about next, which asks for both.
    """
    try:
        return found.read(text)
    except InvalidField:
        meant = mode_meant(text)
        if meant is None:
            raise
        cause = found.read(meant)
        if found.like(cause) or confirm(f"Is “{FIT.named(meant)}” meant?", default=True):
            return cause
        raise


def _as_the_shop_says(found: CauseChoices, told: Cause) -> Cause:
    """Ask whether a new cause is one the shop has under another name."""
    near = found.like(told)
    if not near:
        return told
    title = f"No job yet has “{FIT.named(told.label)}”. Is it one of these?"
    print_page(render_choices(title, near))

    def meant(text: str) -> Cause:
        if text.casefold() in {NEW, "new", "none"}:
            return told
        return as_shop_names(told, _numbered(near, text))

    return ask("Its number", meant, need=True, hint=f"({NEW}: none of them, a new one)") or told


def _numbered(offered: Sequence[CauseChoice], text: str) -> Cause:
    number = whole_of(text) or 0
    if not 1 <= number <= len(offered):
        raise InvalidField("number", text, f"is none of 1 to {len(offered)}")
    return offered[number - 1].cause


def _with_fix(job: Job, cure: Attempt | None) -> Job:
    """Return a job with what cured it last, be it told just now."""
    last = job.attempts[-1] if job.attempts else None
    if cure is None:
        return job
    before = job.attempts[:-1] if cure is last else job.attempts
    return replace(job, attempts=(*before, replace(cure, cured=True)))


def _proofs(job: Job, cause: Cause, settings: Settings) -> tuple[Proof, ...]:
    """Ask for each proof that the job asks for and that nothing shows yet."""
    lines = proofs_wanted(job, cause, settings)
    missing = [line.proof for line in lines if not line.shown]
    return tuple(proof for proof in missing if ask_whether(f"{proof}?", default=False))


def _reproduced(told: Closing, sheet: JobSheet) -> bool | None:
    """Ask, where nothing was seen to go wrong on the car, whether the fault ever showed."""
    if told.reproduced is not None or sheet.job.tests or sheet.job.readings:
        return told.reproduced
    return ask_outcome("Was the fault ever seen to occur here?")


def _fix(text: str) -> str:
    parse_attempt(text)
    return text
