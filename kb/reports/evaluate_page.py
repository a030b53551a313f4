"""How good the ranking is, as a page with plots that stands alone."""

from kb.evaluation.metrics import Bin, share_interval
from kb.evaluation.replay import TOOL
from kb.reports import evaluate as words
from kb.reports.labels import percent
from kb.reports.page import Axis, Bar, Chart, bars, document, heading, paragraph, table
from kb.services.evaluate import Evaluation, Way

LARGEST_DOT = 9.0
"""Radius in pixels of the bin with the most chances."""
_TICKS = [(tenth / 10, f"{tenth}0%" if tenth else "0%") for tenth in range(0, 11, 2)]


def to_page(evaluation: Evaluation) -> str:
    """Return an evaluation as an HTML page."""
    whole = evaluation.whole
    notices = [paragraph(f"Note: {notice}") for notice in evaluation.notices]
    if whole is None:
        return document(words.heading(evaluation), *notices)
    told, sure = whole.way(TOOL).figures, evaluation.confidence
    return document(
        words.heading(evaluation),
        *([paragraph(evaluation.in_short)] if evaluation.in_short else []),
        *(paragraph(line) for line in words.asked_lines(whole)),
        *notices,
        heading("First cause right"),
        bars(
            "Share of questions with the true cause first, by way of ranking",
            [_bar(way.name, way, whole.questions, sure) for way in whole.ways],
        ),
        table(*words.ways_table(whole)),
        *(paragraph(line) for line in words.verdict_lines(whole, sure)),
        heading("Do the chances hold?"),
        calibration(told.calibration, sure),
        *(paragraph(line) for line in words.calibration_lines(told)),
        table(*words.bins_table(told.calibration), words=0),
        heading("By how much is told"),
        table(*words.stages_table(evaluation)),
        *(paragraph(line) for line in words.stage_lines(evaluation)),
        heading("By kind of question"),
        bars(
            "Share of questions with the true cause first, by kind of question",
            [
                _bar(f"{each.name} ({each.questions})", each.way(TOOL), each.questions, sure)
                for each in evaluation.strata
            ],
        ),
        table(*words.strata_table(evaluation)),
        paragraph(
            (f"They: {evaluation.rival}. " if evaluation.rival else "") + words.LUCK, soft=True
        ),
        paragraph(words.KEY, soft=True),
    )


def _bar(label: str, way: Way, questions: int, confidence: float) -> Bar:
    share, style = way.figures.first, "main" if way.name == TOOL else "other"
    low, high = share_interval(round(share * questions), questions, confidence)
    return Bar(label, share, percent(share), low, high, style)


def calibration(bins: tuple[Bin, ...], confidence: float) -> str:
    """Draw what came true over what was said: on the dashed line the chances hold."""
    chart = Chart(
        Axis("chance said of the first cause", 0, 1, _TICKS),
        Axis("how often it was right", 0, 1, _TICKS),
    )
    ends = [share_interval(each.came_true, each.count, confidence) for each in bins]
    most = max((each.count for each in bins), default=1)
    dots = [
        (each.chance, each.share, max(2.5, LARGEST_DOT * (each.count / most) ** 0.5))
        for each in bins
    ]
    return chart.draw(
        "What came true over the chance said; on the dashed line the chances hold",
        chart.line([(0, 0), (1, 1)], "other dashed"),
        *(
            chart.line([(each.chance, end) for end in both])
            for each, both in zip(bins, ends, strict=True)
        ),
        chart.dots(dots),
    )
