"""How good the ranking is, as tables for the terminal and a page with plots."""

from collections.abc import Iterable

from rich.console import RenderableType
from rich.text import Text

from kb.evaluation.compare import Comparison, LossComparison, Standing
from kb.evaluation.figures import Figures
from kb.evaluation.metrics import FLOOR, Bin, share_interval
from kb.evaluation.replay import TOOL
from kb.reports import layout
from kb.reports.labels import day, percent, plural
from kb.services.evaluate import Evaluation, QuestionKind, StageFigures

Cells = tuple[str, ...]
Figured = tuple[Cells, list[Cells]]
"""A table: its header and its rows."""
KEY = (
    "Asked is with all that is recorded as found: complaint, conditions, codes, readings, car, "
    "system. First, top 3, top 5: how often the true cause stood so far in front; MRR: mean of "
    "one over its place. Log loss and Brier: lower is better. Calib.: mean distance between the "
    "chance said of the first cause and how often it was right, over 15 bins. A true cause that "
    f"got less than {FLOOR:.2%} counts as given that much in the log loss. A new cause counts as "
    "not found; its chance is that of 'not seen before', for which plain ways leave the share of "
    "causes seen once."
)
WITHIN = 0.03
"""Chances that are off by no more than this beyond luck are as good as honest (by judgement)."""
STAGES = (
    "At the counter: words, car and conditions. At the bench: codes and readings as found, too. "
    "Tests made: all that was found before the fix, and the system on record. Luck: what the error "
    "of honest chances stays below."
)
LUCK = "Of so many parts one in twenty stands out by luck alone."


def render(evaluation: Evaluation) -> RenderableType:
    """Lay out an evaluation: what was asked, the ways, what can be told, chances, parts."""
    whole = evaluation.whole
    if whole is None:
        return layout.page(Text(heading(evaluation), "bold"), *layout.notices(evaluation.notices))
    against = f"; they: {evaluation.rival}" if evaluation.rival else ""
    return layout.page(
        Text(heading(evaluation), "bold"),
        *([Text(evaluation.in_short), Text()] if evaluation.in_short else []),
        *(Text(line) for line in asked_lines(whole)),
        *layout.notices(evaluation.notices),
        Text(),
        layout.figures(*ways_table(whole)),
        Text(),
        *(Text(line) for line in verdict_lines(whole, evaluation.confidence)),
        Text(),
        Text("Chance said of the first cause, and how often it was right", "bold"),
        layout.figures(*bins_table(whole.way(TOOL).figures.calibration)),
        *(Text(line) for line in calibration_lines(whole.way(TOOL).figures)),
        Text(),
        Text("By how much is told", "bold"),
        layout.figures(*stages_table(evaluation)),
        *(Text(line) for line in stage_lines(evaluation)),
        Text(),
        Text(f"First cause right, by kind of question{against}", "bold"),
        layout.figures(*strata_table(evaluation)),
        Text(LUCK, "dim"),
        Text(KEY, "dim"),
    )


def heading(evaluation: Evaluation) -> str:
    """Return what was replayed."""
    if evaluation.first_asked is None or evaluation.last_asked is None:
        return f"How good the ranking is: {plural(evaluation.cases, 'case')}, none asked"
    asked = evaluation.whole.questions if evaluation.whole else 0
    return (
        f"How good the ranking is: {plural(asked, 'case')} of {day(evaluation.first_asked)} to "
        f"{day(evaluation.last_asked)} asked again"
    )


def asked_lines(whole: QuestionKind) -> list[str]:
    """Return how questions were put, and what share of them can be answered at all."""
    lines = [
        "Each was asked of nothing but cases closed before the day it came in, by every way of "
        "ranking of the same ones; the newest twentieth at most was left out."
    ]
    if whole.new:
        found = (whole.questions - whole.new) / whole.questions
        lines.append(
            f"{plural(whole.new, 'cause')} had never been seen by then: "
            f"no ranking can have more than {percent(found)} right."
        )
    return lines


def ways_table(whole: QuestionKind) -> Figured:
    """Return the figures of every way; the last is the expected calibration error."""
    header = ("", "first", "top 3", "top 5", "MRR", "log loss", "Brier", "calib.")
    rows = []
    for way in whole.ways:
        told = way.figures
        shares = map(percent, (told.first, told.first_three, told.first_five))
        numbers = (told.reciprocal_rank, told.log_loss, told.brier, told.calibration_error)
        rows.append((way.name, *shares, *("" if n is None else f"{n:.2f}" for n in numbers)))
    return header, rows


def bins_table(bins: Iterable[Bin]) -> Figured:
    """Return what came true of chances that lie close together."""
    return ("said", "came true", "of", "share"), [
        (percent(each.chance), f"{each.came_true:,}", f"{each.count:,}", percent(each.share))
        for each in bins
    ]


def verdict_lines(whole: QuestionKind, confidence: float) -> list[str]:
    """Return in words what the questions tell of the program beside each plain way."""
    told = whole.way(TOOL).figures
    low, high = share_interval(round(told.first * whole.questions), whole.questions, confidence)
    return [
        f"{TOOL.capitalize()} had {percent(told.first)} right at the first place; with so many "
        f"questions that means {percent(low)} to {percent(high)}.",
        *(
            f"{comparison_line(way.name, way.program_first)} {loss_line(way.program_loss)}"
            for way in whole.ways
            if way.program_first and way.program_loss
        ),
    ]


def comparison_line(name: str, compared: Comparison) -> str:
    """Return in a sentence whether the program has more first causes right than a plain way."""
    apart = (
        f"only it had {compared.ours_only} right, only they {compared.theirs_only}: "
        f"{_points(compared.low)} to {_points(compared.high)} points"
    )
    match compared.verdict:
        case Standing.AHEAD:
            return f"Ahead of {name}: {apart}."
        case Standing.BEHIND:
            return f"Behind {name}: {apart}."
    if not compared.ours_only + compared.theirs_only:
        return f"Beside {name} nobody can tell: both had the same ones right."
    return f"Beside {name} the store is too small to tell: {apart}."


def loss_line(compared: LossComparison) -> str:
    """Return in a sentence whether the program's chances are better."""
    says = {
        Standing.AHEAD: "Its chances are better",
        Standing.BEHIND: "Its chances are worse",
        Standing.CANNOT_TELL: "Whose chances are better cannot be told",
    }
    return f"{says[compared.verdict]}: log loss {compared.low:+.2f} to {compared.high:+.2f}."


def calibration_lines(told: Figures) -> list[str]:
    """Return in words how well the chances hold, and what 'not seen before' is worth."""
    lines = []
    if told.calibration_error is not None and told.calibration_luck is not None:
        error, luck = told.calibration_error, told.calibration_luck
        says = "nothing speaks against the chances"
        if told.is_off:
            says = "the chances are off"
        elif told.tells_little:
            says = "whether the chances hold cannot be told"
        lines.append(
            f"Calibration error {error:.3f}; perfectly honest chances stay below {luck:.3f} with "
            f"so few: {says}."
        )
    unseen = told.not_seen_before
    if unseen.when_new is None or unseen.when_known is None or unseen.area is None:
        return [*lines, "'Not seen before' cannot be judged: no case of both kinds was asked."]
    return [
        *lines,
        f"'Not seen before' was given {percent(unseen.when_new)} on average where the cause was "
        f"new, {percent(unseen.when_known)} where it was not (area under the curve "
        f"{unseen.area:.2f}; 0.50 tells nothing).",
    ]


def stages_table(evaluation: Evaluation) -> Figured:
    """Return how good the ranking is by how much of a case is told."""
    header = ("told", "first", "top 3", "log loss", "calib.", "luck")
    rows = []
    for stage in evaluation.stages:
        told = stage.figures
        errors = (told.calibration_error, told.calibration_luck)
        rows.append(
            (
                stage.name,
                *map(percent, (told.first, told.first_three)),
                f"{told.log_loss:.2f}",
                *("" if each is None else f"{each:.3f}" for each in errors),
            )
        )
    return header, rows


def stage_lines(evaluation: Evaluation) -> list[str]:
    """Return in words what the stages are, and at which of them the chances do not hold."""
    if not evaluation.stages:
        return []
    off = [each for each in evaluation.stages if _is_off(each.figures)]
    untold = [each for each in evaluation.stages if each not in off and each.figures.tells_little]
    hold = [each for each in evaluation.stages if each not in off and each not in untold]
    lines = [STAGES]
    if off:
        lines.append(f"The chances are off by more than luck explains: {_names(off)}.")
    if untold:
        luck = max(each.figures.calibration_luck or 0 for each in untold)
        where = f": {_names(untold)}" if off or hold else " at any stage"
        lines.append(
            f"Whether the chances hold cannot be told from so few{where}; honest ones, too, may be "
            f"off by {luck:.2f}."
        )
    if hold and not off:
        told = f"hold within {WITHIN:.2f} beyond luck"
        every = f"At every stage the chances {told}."
        lines.append(f"They {told}: {_names(hold)}." if untold else every)
    return lines


def _names(stages: Iterable[StageFigures]) -> str:
    return ", ".join(each.name for each in stages)


def _is_off(told: Figures) -> bool:
    error, luck = told.calibration_error, told.calibration_luck
    return error is not None and luck is not None and error > luck + WITHIN


def strata_table(evaluation: Evaluation) -> Figured:
    """Return how often the first causes are right, by kind of question, beside the rival's."""
    header: Cells = ("", "asked", "new", "first", "top 3")
    rows: list[Cells] = []
    for stratum in evaluation.strata:
        told = stratum.way(TOOL).figures
        shares = percent(told.first), percent(told.first_three)
        rows.append((stratum.name, f"{stratum.questions:,}", f"{stratum.new:,}", *shares))
        if evaluation.rival:
            rival = stratum.way(evaluation.rival)
            verdict = rival.program_first.verdict.value if rival.program_first else ""
            rows[-1] += (percent(rival.figures.first), verdict)
    return (*header, "they", "program is") if evaluation.rival else header, rows


def _points(difference: float) -> str:
    return f"{difference * 100:+.1f}"
