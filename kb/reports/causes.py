"""Likely causes as a page: a first screen of 80 by 24, and the detail behind it."""

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.fixes import fix_line
from kb.reports.wording import complaint, day, job_list, percent, plural
from kb.services.ask import CausesAnswer, LikelyCause, Proof

LONGEST_PROOF = 110
"""Characters of a proof on the first screen."""


def render(answer: CausesAnswer, *, detail: bool = False) -> RenderableType:
    """Lay out causes: cautions, what was understood, causes with their fixes, what is left.

    Parameters
    ----------
    answer : CausesAnswer
    detail : bool
        Every fix and every job number, instead of the best fix alone.
    """
    rows = [row for likely in answer.causes for row in _rows(likely, answer, detail)]
    if rows:
        rows.append((percent(answer.not_seen_before), Text("not seen before in this shop")))
    return layout.page(
        *layout.cautions(answer.cautions),
        layout.labelled([("Asked", Text(complaint(answer.complaint)))]),
        *layout.notices(answer.notices),
        *(
            [Text(f"Likely causes, from {plural(answer.cases, 'past job')}", "bold")]
            if rows
            else []
        ),
        layout.labelled(rows),
        *([] if detail else _more(answer)),
    )


def _rows(likely: LikelyCause, answer: CausesAnswer, detail: bool) -> list[tuple[str, Text]]:
    support = f"{plural(len(likely.jobs), 'like job')} of {likely.all_jobs}"
    rows = [(percent(likely.chance), Text(f"{likely.cause.label}  ", "bold") + Text(support))]
    fixes = likely.fixes if detail else likely.fixes[:1]
    rows += [("", Text(f"fix: {fix_line(fix, answer.horizon_days)}")) for fix in fixes]
    if likely.proved:
        rows.append(("", Text(_proof(likely.proved, detail))))
    if detail:
        rows.append(("", Text(f"jobs: {job_list(likely.jobs)}", "dim")))
    return rows


def _proof(proof: Proof, detail: bool) -> str:
    text = " ".join(proof.text.split())
    if not detail and len(text) > LONGEST_PROOF:
        text = text[: LONGEST_PROOF - 1].rstrip() + "…"
    when = f", {day(proof.closed)}" if detail else ""
    return f"proved last time by: {text} (#{proof.job}{when})"


def _more(answer: CausesAnswer) -> list[Text]:
    """Say what the first screen leaves out, or what to do where it has nothing."""
    if not answer.causes:
        return [Text(layout.NOTHING_FOUND)]
    left = 1 - answer.not_seen_before - sum(likely.chance for likely in answer.causes)
    others = f"{percent(left)} for other causes seen here. " if left >= 0.005 else ""
    return [Text(f"{others}All causes, fixes and jobs: --detail", "dim")]
