"""Likely causes as a page: a first screen of 80 by 24, and the detail behind it."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from kb.case import even
from kb.diagnosis.causes import least_unseen
from kb.diagnosis.reading_evidence import ReadingEvidence, Side
from kb.rates.fixes import FixRate
from kb.reports import layout
from kb.reports.fixes import fix_line, unrated_first, usual
from kb.reports.job import kept_lines
from kb.reports.labels import (
    came_back_line,
    chance_of,
    day,
    doubt_lines,
    facts,
    job_list,
    measured,
    percent,
    plural,
    seen_once_row,
    shortened,
)
from kb.reports.past_jobs import work_lines
from kb.safety.job_words import JobWords
from kb.services.ask import CausesAnswer, LastProof, LikelyCause
from kb.services.past_jobs import Match
from kb.services.similar import SimilarAnswer
from kb.services.starting import StartingPoint

WORTH_A_FIX = 0.1
"""On the first screen a further cause less likely than this is named only, to keep its 24 lines."""
MOST_CAUTION_LINES = 4
"""With more lines of cautions than this the first screen tells the fix of the first cause only, and
no proof."""
CAUTION_WIDTH = 71
"""Characters of a caution in one line of 80."""
WORTH_A_PROOF = 0.3
"""On the first screen a further cause less likely than this comes without its last proof, for the
same reason."""
WORTH_A_FINE = 0.8
"""What a cause loses by being said to be fine is told up to this factor."""
WORTH_A_SUBJECT = 1.3
"""What a cause gains by being about the same is told from this factor on."""
LONGEST_PROOF = 64
"""Characters of a proof on the first screen: one line."""
LONGEST_WHY = 74
"""Characters of why a cause is thought likely on the first screen: one line."""
LONGEST_COMPLAINT = 140
"""Characters of what was asked, and of what was understood, on the first screen: two lines."""


def render(answer: CausesAnswer, *, detail: bool = False) -> RenderableType:
    """Lay out causes: cautions, what was understood, causes with their fixes, what is left.

    With `detail` every fix, proof and job number, instead of what fits one screen.
    """
    what = "The nearest," if answer.start else "Likely causes,"
    heading = f"{what} from {_past(answer)}; fix rate: cured and held so long"
    lines = sum(-(-len(caution) // CAUTION_WIDTH) for caution in answer.cautions)
    crowded = lines > MOST_CAUTION_LINES and not detail
    rows = [
        row
        for place, likely in enumerate(answer.causes)
        for row in _rows(answer, likely, detail, first=place == 0, crowded=crowded)
    ]
    return layout.page(
        *layout.cautions(answer.cautions),
        layout.labelled(
            [
                *asked_rows(answer, None if detail else LONGEST_COMPLAINT),
                *(("", Text(evidence_line(each))) for each in _telling(answer, detail)),
            ]
        ),
        *layout.notices((*answer.notices, *_done(answer), *_start(answer))),
        *([Text(heading, "bold")] if rows else []),
        layout.labelled([*rows, *_rest(answer, detail)]),
        *([] if rows or answer.nearest else [Text(layout.NOTHING_FOUND)]),
        *([Text("Nearest jobs without a proved cause", "bold")] if answer.nearest else []),
        layout.labelled([row for each in answer.nearest for row in _nearest(each)]),
    )


def _past(answer: CausesAnswer) -> str:
    """Return what the causes are from: past jobs, and apart from them what is proposed only."""
    if not answer.proposed:
        return plural(answer.cases, "past job")
    return f"{answer.cases:,} confirmed, {answer.proposed:,} proposed"


def _nearest(match: Match) -> Iterator[layout.Row]:
    """Yield what came in on a job without a cause, what was done, and how it ended."""
    yield (
        percent(match.chance),
        Text(f"#{match.number}  {match.vehicle}, {day(match.opened)}", "bold"),
    )
    yield "", Text(shortened(f"“{' '.join(match.complaint.split())}”", LONGEST_COMPLAINT))
    for line in work_lines(match):
        yield "", Text(line)


def asked_rows(answer: CausesAnswer | SimilarAnswer, most: int | None = None) -> list[layout.Row]:
    """Return the words asked with, what was understood of them, and what stays words only.

    At most so many characters each, if told.
    """
    words = JobWords.of_complaint(answer.complaint)
    understood = facts(words.shown_complaint(answer.complaint), answer.account)
    told = [
        understood and f"understood: {understood}",
        *map(words.named, kept_lines(answer.account)),
    ]
    typed = " ".join(words.named(answer.typed).split())
    rows = {"Asked": typed, "": "; ".join(filter(None, told))}
    return [
        (label, Text(shortened(text, most) if most else text))
        for label, text in rows.items()
        if text
    ]


def evidence_line(evidence: ReadingEvidence) -> str:
    """Return in one sentence how a reading compares with good ones, and which causes read so."""
    said = _against_good(evidence)
    if evidence.side is Side.WITHIN or not evidence.causes:
        return f"{said}."
    cause, times = evidence.causes[0]
    return f"{said}; so in {plural(len(evidence.jobs), 'like job')}, {times} × {cause}."


def _against_good(evidence: ReadingEvidence) -> str:
    reading = evidence.reading
    if evidence.side is Side.NOTHING:
        return f"{reading.typed} is no measurement: open, or nothing fitted"
    if evidence.others is not None:
        usual = measured(evidence.others, reading.quantity, reading.typed)
        return f"{reading.typed} is far {evidence.side} the {usual} of the others of this car"
    low, high = (
        None if edge is None else measured(edge, reading.quantity, reading.typed)
        for edge in (evidence.low, evidence.high)
    )
    band = f"{low} to {high}" if low and high else f"{low} and more" if low else f"up to {high}"
    good = f"here ({plural(evidence.good, 'reading')})" if evidence.good else "by the trade's limit"
    return f"{reading.typed} is {evidence.side} the {band} of good ones {good}"


def _done(answer: CausesAnswer) -> Iterator[str]:
    """Say what was tried on the job asked about, and what is left to be done."""
    if answer.came_back:
        yield came_back_line(answer.came_back)
    if answer.cured_by:
        yield f"{answer.cured_by} cured it on this job: prove that, then kb job close."
    elif answer.in_vain:
        yield f"Tried on this job and did not cure, which counts here: {', '.join(answer.in_vain)}."


def _start(answer: CausesAnswer) -> Iterator[str]:
    if answer.start:
        yield start_line(answer.start)


def start_line(start: StartingPoint) -> str:
    """Return that the cause is likelier a new one, and where to start then."""
    none = (
        f"; no past job is about {', '.join(start.about)}" if start.about and not start.had else ""
    )
    where = f" with {', '.join(start.systems)}" if start.systems else ""
    tests = ", ".join(f"{test.name} ({test.minutes} min)" for test in start.tests)
    return f"Likelier a cause not seen here than any seen{none}. Start{where}: {tests}."


def _telling(answer: CausesAnswer, detail: bool) -> list[ReadingEvidence]:
    """Return the readings worth a line: all of them, or the first that good ones never show."""
    off = [each for each in answer.readings if each.side is not Side.WITHIN]
    return list(answer.readings) if detail else off[:1]


def _rows(
    answer: CausesAnswer, likely: LikelyCause, detail: bool, *, first: bool, crowded: bool
) -> list[tuple[str, Text]]:
    least = least_told(answer)
    chance = chance_of(likely.chance, likely.all_jobs + likely.all_proposed, least)
    mark = Text("" if likely.all_jobs else "proposed: ", "yellow")
    rows = [(chance, mark + Text(f"{likely.cause.label}  ", "bold") + Text(_support(likely)))]
    doubts = doubt_lines(likely.wrong, likely.came_back, len(likely.jobs))
    rows.extend(("", Text(line, "yellow")) for line in doubts)
    least_fix, least_proof = (1.0, 1.0) if crowded else (WORTH_A_FIX, WORTH_A_PROOF)
    if detail or first or likely.chance >= least_fix:
        left = [fix for fix in likely.fixes if detail or may_be_next(answer, fix)]
        for fix in left if detail else left[:1]:
            took = usual(fix) if detail else None
            rows.append(("", Text(f"fix: {fix_line(fix)}{f'; {took}' if took else ''}")))
            leads = fix is likely.fixes[0] and (detail or first)
            why = unrated_first(fix, len(likely.fixes)) if leads else None
            rows.extend(("", Text(line, "dim")) for line in filter(None, [why]))
        if not left and likely.proposed_fixes:
            rows.extend(("", Text(line)) for line in _done_on_cards(likely, detail=detail))
    if likely.proved and (detail or (first and not crowded) or likely.chance >= least_proof):
        rows.append(("", Text(_proof(likely.proved, detail))))
    if detail or (first and not crowded):
        because = _because(likely, least)
        rows.append(("", Text(because if detail else shortened(because, LONGEST_WHY), "dim")))
    if detail and likely.jobs:
        rows.append(("", Text(f"jobs: {job_list(likely.jobs)}", "dim")))
    return rows


def _support(likely: LikelyCause) -> str:
    """Return how many jobs are behind a cause, those that nobody confirmed apart."""
    if likely.all_proposed:
        return f"{likely.all_jobs:,} confirmed, {likely.all_proposed:,} proposed"
    like = f"{plural(len(likely.jobs), 'like job')} of {likely.all_jobs}"
    return "one case" if likely.all_jobs == 1 else like


def _done_on_cards(likely: LikelyCause, *, detail: bool) -> Iterator[str]:
    """Yield what was done for a cause on cards that nobody confirmed."""
    done = likely.proposed_fixes if detail else likely.proposed_fixes[:1]
    for each in done:
        yield f"done, not confirmed to help: {each.label} ({plural(each.cards, 'card')})"


def may_be_next(answer: CausesAnswer, fix: FixRate) -> bool:
    """Whether a fix is left to be tried on the job asked about."""
    vain = (*answer.in_vain, *answer.came_back.values(), *answer.needless)
    return not answer.cured_by and even(fix.label) not in map(even, vain)


def least_told(answer: CausesAnswer) -> float:
    """Return the least chance that is told as a number: so few past jobs bear no smaller one."""
    return max(0.01, least_unseen(answer.cases + answer.proposed))


def _because(likely: LikelyCause, least: float) -> str:
    """Return in one line what like jobs say, what is named, the subject, and what all words say.

    No share of these is told of one case: it would be read as its chance. That all like jobs say
    the same is no certainty.
    """
    once = likely.all_jobs == 1
    told = [
        "why: one case"
        if once
        else f"why: like jobs say {percent(min(likely.by_jobs, 1 - least / 2), least)}"
    ]
    if likely.named_by:
        told.append(f"named ({', '.join(likely.named_by)}) × {likely.by_name:.1f}")
    if likely.by_subject >= WORTH_A_SUBJECT:
        told.append(f"about the same × {likely.by_subject:.1f}")
    if likely.by_readings >= WORTH_A_SUBJECT:
        told.append(f"faulty reading × {likely.by_readings:.1f}")
    if likely.by_said_fine <= WORTH_A_FINE:
        told.append(f"fine, new, or replaced in vain × {likely.by_said_fine:.1f}")
    if likely.by_model is not None:
        drivers = f": {', '.join(likely.drivers)}" if likely.drivers else ""
        if drivers or not once:
            share = "" if once else f" {percent(likely.by_model, least)}"
            told.append(f"words and facts{share}{drivers}")
    return "; ".join(told)


def _proof(proof: LastProof, detail: bool) -> str:
    text = " ".join(proof.text.split())
    if detail:
        return f"proved on #{proof.job}, {day(proof.closed)}: {text}"
    return f"proof: {shortened(text, LONGEST_PROOF)}"


def _rest(answer: CausesAnswer, detail: bool) -> list[tuple[str, Text]]:
    """Return what is left when the causes shown are told."""
    if not answer.causes:
        return []
    once = [each.chance for each in answer.causes if each.all_jobs + each.all_proposed == 1]
    *before, (chance, text) = seen_once_row(
        once, answer.not_seen_before, "not seen before in this shop"
    )
    if answer.other_causes >= 0.005:
        text += f"; {percent(answer.other_causes)} other causes"
    if answer.doubt >= 0.005:
        text += f"; {percent(answer.doubt)} that what is proposed is wrong (kb review)"
    if not detail:
        text += "; more: --detail"
    return [(label, Text(told)) for label, told in [*before, (chance, text)]]
