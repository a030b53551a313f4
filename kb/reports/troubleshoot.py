"""The job in progress as a page: what was seen, where it stands, what to do next."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

from rich.console import RenderableType
from rich.text import Text

from kb.case import Complaint, Stage, System
from kb.diagnosis.reading_evidence import Side
from kb.reports import layout
from kb.reports.causes import evidence_line, start_line
from kb.reports.fixes import counts, rate, unrated_first
from kb.reports.job import item_line, marks_of_confirmations, state, typed_lines
from kb.reports.labels import (
    came_back_line,
    chance_of,
    complaint,
    doubt_lines,
    job_list,
    percent,
    plural,
    seen_once_row,
    shortened,
    without_chance,
)
from kb.safety.job_words import FIT, JobWords
from kb.services.troubleshoot import IN_FULL, WorkingJob
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.remedies import to_be_done
from kb.troubleshooting.steps import Advice, Branch, Step, StepReason, Suspect

SHOWN_SUSPECTS, SHOWN_BRANCHES, SHOWN_LEFT = 4, 3, 3
"""Suspects, outcomes of a step and components an outcome leaves that are told without --detail: as
many as leave room for the cautions on a screen of 24 lines."""
LEAST_LEFT = 0.08
"""Components an outcome leaves less likely than this are not named: about one in twelve (by
judgement)."""
LEAST_MOVED = 0.02
"""A chance that moved by less is not told to have moved (by judgement)."""
LEAST_SHOWN = 0.005
"""What would be printed as 0% is not told."""
CLEARED, BLAMED = 0.05, 0.5
"""A link is called cleared below one chance in twenty, blamed where it is likelier than not (by
judgement)."""
LIKELY, SURE = 0.8, 0.1
"""A part so likely would be acted on; less than one chance in ten of that is not told (by
judgement)."""
LONGEST_PROOF = 110
"""Characters of how a past job was proved: two lines."""
LONGER = "it takes longer than a step behind it, and settles and tells more"
AFRESH = "think afresh"
HOW_AFRESH = (
    "see it happen yourself; ask since when, and what was done before; read the codes of all "
    "control units; what works still, and what does all that fails have in common: supply, earth, "
    "fuse, plug, place? Tell what you find: kb job add."
)


def render(
    working: WorkingJob, *, detail: bool = False, short_first: bool = False
) -> RenderableType:
    """Lay out an open job: cautions, suspects, the best next steps, and what was seen.

    With `short_first` the steps come once more before that, each in its line with its lock.
    """
    whole = layout.page(where_it_stands(working, detail=detail), until_now(working))
    return layout.page(where_it_stands(working, outcomes=False), whole) if short_first else whole


def where_it_stands(
    working: WorkingJob, *, detail: bool = False, outcomes: bool = True, brief: bool = False
) -> RenderableType:
    """Lay out what must be seen before a step is chosen: cautions, suspects, the next steps.

    With `outcomes` False of each step no more than its line is told; `brief` tells besides of no
    suspect but the first, with how likely it is none of them, and leaves out the notes and how to
    think it through from the start.
    """
    return layout.page(
        *_headed(working, _briefly(working) if brief else list(_suspects(working, detail))),
        *(() if brief else _noted(working)),
        *_next(working, detail, outcomes, brief=brief),
    )


def first_suspect(working: WorkingJob) -> RenderableType:
    """Lay out the least that must be seen: the cautions, the first suspect, and how likely none."""
    return layout.page(*_headed(working, _briefly(working)))


def _briefly(working: WorkingJob) -> list[layout.Row]:
    """Return the first suspect and, under it, how likely it is none of them."""
    first, *others = _suspects(working, detail=False)
    return [first, *([] if working.other_names else others[-1:])]


def _headed(working: WorkingJob, suspects: Sequence[layout.Row]) -> Iterator[RenderableType]:
    job = working.job
    yield from layout.cautions(working.cautions)
    yield Text(
        f"Job {job.number}, {state(job)}: {FIT.shown_vehicle(job.vehicle).label}", style="bold"
    )
    yield Text(_heading(working), "bold")
    yield layout.labelled(suspects)


def _noted(working: WorkingJob) -> Iterator[RenderableType]:
    yield from layout.notices(working.notices)
    yield from layout.notices([came_back_line(working.came_back)] if working.came_back else [])
    yield from layout.notices([start_line(working.start)] if working.start else [])


def until_now(working: WorkingJob) -> RenderableType:
    """Lay out everything that was seen, for whoever takes the job up."""
    return layout.page(
        Text("Until now", "bold"),
        layout.labelled([*_seen(working), *_circuit(working)], width=9),
    )


def proved(before: Advice, after: Advice) -> str:
    """Return in one line what a result has shown: whose chances moved, and from what to what."""
    was = {each.cause.key: each.chance for each in before.suspects}
    moved = [
        each
        for each in after.suspects
        if each.cause.key in was and abs(each.chance - was[each.cause.key]) >= LEAST_MOVED
    ]
    if not moved:
        return "That changed next to nothing."
    ranked = sorted(moved, key=lambda each: -abs(each.chance - was[each.cause.key]))[:3]
    return f"That shows: {'; '.join(_moved(each, was[each.cause.key]) for each in ranked)}."


def _moved(suspect: Suspect, before: float) -> str:
    """Return how the chance of a suspect moved; of one case only whither."""
    if suspect.cases == 1:
        whither = "likelier" if suspect.chance > before else "less likely"
        return f"{suspect.cause.label} (one case) {whither}"
    return f"{suspect.cause.label} {percent(before)} → {percent(suspect.chance)}"


def lock_line(step: Step) -> str:
    """Return what has to be confirmed before a step."""
    return "; ".join(IN_FULL[lock] for lock in step.locks)


def _seen(working: WorkingJob) -> Iterator[layout.Row]:
    """What was asked, measured, tested and tried."""
    job = _words(working).shown_job(working.job)
    who = f" ({job.technician})" if job.technician else ""
    asked = replace(Complaint.of(job), text=job.complaint_as_typed)
    yield "Asked", Text(complaint(asked) + who)
    off = [each for each in working.readings if each.side is not Side.WITHIN]
    yield from (("", Text(line)) for line in dict.fromkeys(map(evidence_line, off)))
    parts = {
        "Measured": [each for each in job.readings if each.stage is not Stage.AS_FOUND],
        "Tests": job.tests,
        "Fixes": job.attempts,
    }
    for label, items in parts.items():
        yield from layout.listed(label, map(item_line, items))
    marks = marks_of_confirmations(working.ended, working.imported)
    told = (
        item_line(each) + (f" ({marks[place]})" if place in marks else "")
        for place, each in enumerate(job.confirmations)
    )
    yield from layout.listed("Confirmed", told)
    if job.notes:
        yield "Notes", Text(job.notes)
    yield from layout.listed("Typed", typed_lines(job, working.undone))


def _words(working: WorkingJob) -> JobWords:
    """Return what makes the shop's words fit to be printed here."""
    words = JobWords.of(working.job)
    suspected = System.RESTRAINTS in working.advice.systems
    return replace(words, igniter_job=words.igniter_job or suspected)


def _circuit(working: WorkingJob) -> Iterator[layout.Row]:
    advice, said = working.advice, _words(working).named
    if not advice.circuit:
        return
    line, hidden = Text(), links_of_one_case(advice)
    for place, link in enumerate(advice.circuit):
        style = "green" if link.chance < CLEARED else "red" if link.chance >= BLAMED else ""
        chance = "(one case)" if link.name in hidden else percent(link.chance)
        bars = "*" if link.shorting_bars else ""
        line.append(" → " if place else "")
        line.append(f"{said(link.name)}{bars} {chance}", style)
    yield "Circuit", line
    if any(link.shorting_bars for link in advice.circuit):
        yield "", Text("* shorting bars: continuity through it when it is open proves nothing")


def _heading(working: WorkingJob) -> str:
    advice = working.advice
    alone = advice.by_fixes_alone
    saved = f" ({alone:.0f} by fixes alone)" if round(alone) > round(advice.minutes_left) else ""
    if working.other_names:
        return (
            f"{working.cured_by} cured it, a part that no suspect has by that name. "
            "The nearest of them, if it is one under another name (kb job close asks):"
        )
    if working.cured_by:
        return f"{working.cured_by} cured it. What it most likely was then:"
    if not working.cases:
        return "Suspects: no past job to tell from yet, nor what a repair takes"
    return (
        f"Suspects, from {plural(working.cases, 'past job')}; "
        f"about {advice.minutes_left:.0f} min to a proven repair{saved}"
    )


def _suspects(working: WorkingJob, detail: bool) -> Iterator[layout.Row]:
    advice, said = working.advice, _words(working).named
    if working.other_names:
        yield from (("", Text(said(each.label))) for each in working.other_names[:SHOWN_SUSPECTS])
        return
    likely = [each for each in advice.suspects if each.chance >= LEAST_LEFT]
    every = likely if working.cured_by else advice.suspects
    shown = every if detail else every[:SHOWN_SUSPECTS]
    for each in shown:
        moved = abs(each.chance - each.before) >= LEAST_SHOWN and each.cases != 1
        before = f" (first {percent(each.before)})" if moved else ""
        like = "one case" if each.cases == 1 else each.jobs and plural(len(each.jobs), "like job")
        jobs = f"  {like}" if like else ""
        numbers = f": {job_list(each.jobs)}" if detail and each.jobs else ""
        chance = chance_of(each.chance, each.cases)
        yield chance, Text(f"{said(each.cause.label)}{before}{jobs}{numbers}")
        wrong = dict(working.wrong).get(each.cause.key)
        back = working.in_doubt & {*each.jobs} - {*(wrong.jobs if wrong else ())}
        for line in doubt_lines(wrong, len(back), len(each.jobs)):
            yield "", Text(line, "yellow")
    left = sum(each.chance for each in advice.suspects[len(shown) :])
    others = f"; {percent(left)} others, more: --detail" if left >= LEAST_SHOWN else ""
    once = [each.chance for each in shown if each.cases == 1]
    *together, (chance, none) = seen_once_row(once, advice.none_of_them, "none of these")
    yield from ((label, Text(told)) for label, told in together)
    yield chance, Text(f"{none}{others}")


def _next(
    working: WorkingJob, detail: bool, outcomes: bool, *, brief: bool
) -> Iterator[RenderableType]:
    steps = working.advice.steps
    if working.cured_by:
        yield Text("Next", "bold")
        yield layout.labelled(_to_the_handover(working))
        return
    if not steps:
        yield Text(f"Next: {AFRESH}. {layout.NOTHING_FOUND}")
        return
    if working.advice.afresh:
        yield Text(f"Thinking it through from the start is worth more{'.' if brief else ':'}")
        yield from () if brief else [Text(HOW_AFRESH)]
    yield Text("Next, the best first", "bold")
    yield layout.labelled(
        [
            row
            for place, step in enumerate(steps, 1)
            for row in (
                _titled(working, place, step, brief=not outcomes),
                *(_step(working, step, detail, first=place == 1) if outcomes else ()),
            )
        ]
    )


def _to_the_handover(working: WorkingJob) -> Iterator[layout.Row]:
    """Yield what is left of a cured job: its proof, and the handover."""
    again = () if System.RESTRAINTS in working.advice.systems else working.again
    missing = [*map(FIT.named, again), *(each.proof for each in working.proofs if not each.shown)]
    shown = [f"{line.proof} ({line.shown})" for line in working.proofs if line.shown]
    yield "1", Text(f"prove that it is cured: {', '.join(missing) or 'nothing is missing'}")
    if System.RESTRAINTS in working.advice.systems:
        yield "", Text(general_tests().restraints.touched, "yellow")
    if shown:
        yield "", Text(f"shown: {', '.join(shown)}")
    if working.proved:
        told = shortened(" ".join(working.proved.text.split()), LONGEST_PROOF)
        yield "", Text(f"as #{working.proved.job} was proved: {told}")
    yield "2", Text(f"hand it over: kb job close {working.job.number}")
    yield "", Text(f'is the fault back: kb job add {working.job.number} "fault back"')


def _titled(working: WorkingJob, place: int, step: Step, *, brief: bool) -> layout.Row:
    """Return a step's first row: in brief that it is locked, too, so that no page cuts it off."""
    known = bool(working.cases)
    title = Text(to_be_done(step.title), "bold")
    here = f" (here, {step.minutes_known}×)" if step.minutes_known else ""
    left = f", then {step.minutes_left - step.minutes:.0f} more expected" if known else ""
    title.append(f"  {step.minutes:.0f} min{here}{left}", "not bold")
    if brief and step.locks:
        title.append("  LOCKED until confirmed safe", "yellow")
    return str(place), title


def _why(step: Step) -> str:
    """Say in one line why a step comes before the next."""
    settled = f"; it settled {step.settled} of {plural(step.like, 'tested job')} like this one"
    sure = _leaves_one(step) if step.why is StepReason.TELLS else 0.0
    then = f": {percent(sure)} to leave one part at {LIKELY:.0%} or more" if sure >= SURE else ""
    longer = f"; {LONGER}" if step.longer else ""
    return f"why: {step.why}{then}{longer}{settled if step.settled else ''}"


def _leaves_one(step: Step) -> float:
    """Return the chance of the outcomes that leave one part likely, those of one case aside."""
    counted = (branch for branch in step.branches if branch.leaves and not branch.by_one_case)
    return sum(branch.chance for branch in counted if _parts_left(branch)[0][1] >= LIKELY)


def _step(
    working: WorkingJob, step: Step, detail: bool, *, first: bool = False
) -> Iterator[layout.Row]:
    if step.locks:
        yield "", Text(f"LOCKED until confirmed: {lock_line(step)}.", "yellow")
    for caution in step.cautions:
        yield "", Text(f"Caution: {caution}", "yellow")
    if step.how and not step.locks:
        yield "", Text(step.how)
    yield "", Text(_why(step))
    for each in working.records:
        if each.step == step.title:
            yield "", Text(f"here, for {each.cause.label}: {counts(each.rate)}; {rate(each.rate)}")
            if first and (why := unrated_first(each.rate, len(working.advice.steps))):
                yield "", Text(why, "dim")
    ranked = sorted(enumerate(step.branches), key=lambda each: -each[1].chance)
    shown = ranked if detail else ranked[:SHOWN_BRANCHES]
    hidden = without_chance([each.by_one_case for each in step.branches])
    alone = of_one_case(working)
    in_full = {place for place, _ in shown}
    for place, branch in enumerate(step.branches):  # every letter: it may be what is seen
        counted = place not in hidden and bool(working.advice.suspects)
        told = (
            branch_line(branch, counted=counted, alone=alone)
            if place in in_full
            else _seen_line(branch, counted=counted)
        )
        yield "", Text(f"{chr(ord('a') + place)} {told}")
    if step.heard and detail:
        yield "", Text(_record(step), "dim")


def branch_line(
    branch: Branch,
    said: Callable[[str], str] = FIT.named,
    *,
    counted: bool = True,
    alone: AbstractSet[str] = frozenset(),
) -> str:
    """Return one outcome in one line: how likely, what it would leave, and what then.

    Without `counted` no chance of it is told, nor ever of the components `alone`: one case alone
    gives none to be acted on.
    """
    seen = _seen_line(branch, counted=counted)
    if not branch.leaves:
        return f"{seen}: then {branch.then or AFRESH}"
    left = [
        f"{said(name)} {'(one case)' if name in alone else percent(chance)}"
        for name, chance in _parts_left(branch)[:SHOWN_LEFT]
        if chance >= LEAST_LEFT
    ]
    meaning = f"leaves {', '.join(left) or 'none of the suspects'}"
    then = said(to_be_done(branch.then)) if branch.then else AFRESH
    return f"{seen}: {meaning}; then {then}"


def _parts_left(branch: Branch) -> list[tuple[str, float]]:
    """Return the parts that an outcome leaves, however they fail, the likeliest first."""
    parts: dict[str, float] = defaultdict(float)
    for cause, chance in branch.leaves:
        parts[cause.component] += chance
    return sorted(parts.items(), key=lambda each: -each[1])


def _seen_line(branch: Branch, *, counted: bool) -> str:
    return f"{percent(branch.chance)} {branch.seen}" if counted else branch.seen


def links_of_one_case(advice: Advice) -> AbstractSet[str]:
    """Return the links of which no chance is told: a suspect by one case lies in them."""
    return {each.link for each in advice.suspects if each.cases == 1 and each.link is not None}


def of_one_case(working: WorkingJob) -> frozenset[str]:
    """Return the components that are suspects by one case alone."""
    suspects = working.advice.suspects
    more = {each.cause.component for each in suspects if each.cases != 1}
    return frozenset(each.cause.component for each in suspects) - more


def _record(step: Step) -> str:
    kind = "such a test" if step.kind is Kind.TEST else "it"
    if step.heard == 1:
        spoke = "spoke" if step.spoke_for else "did not speak"
        return f"here {kind} {spoke} for the true cause, once"
    return f"here {kind} spoke for the true cause {step.spoke_for} of {step.heard} times"
