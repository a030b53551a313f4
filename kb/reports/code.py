"""Trouble codes as a page: cautions, structure, what they turned out to be."""

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.diagnosis.code_history import CodeHistory
from kb.intake.code_areas import FAILURE_TYPES, Origin
from kb.reports import layout
from kb.reports.labels import job_list, percent, plural
from kb.safety.igniter_screen import screen
from kb.services.code_lookup import CodesAnswer, CodeSheet

MOST_CAUSES, MOST_MODELS, MOST_COMPANIONS, MOST_JOBS = 4, 4, 5, 6
"""On the page without detail."""


def render(answer: CodesAnswer, *, detail: bool = False) -> RenderableType:
    """Lay out codes: cautions first, then each code, then all of them together.

    With `detail` everything, with all job numbers, instead of what matters most.
    """
    rows = [row for sheet in answer.codes for row in _sheet(sheet, detail)]
    return layout.page(
        *layout.cautions(answer.cautions),
        *layout.notices(answer.notices),
        layout.labelled([*rows, *_together(answer, detail)]),
    )


def _sheet(sheet: CodeSheet, detail: bool) -> Iterator[layout.Row]:
    history = sheet.history
    yield str(sheet.code), Text(sheet.facts.words, "bold")
    if not history.jobs:
        if sheet.other_types:
            yield "", Text(f"No job had it so; read with {_types(sheet.other_types)}")
            return
        maker = sheet.facts.origin is Origin.MAKER
        meaning = "; its maker says what it means." if maker else "."
        yield "", Text(f"No job of this shop has it among its codes{meaning}")
        yield "", Text(f"In the words of old cards: kb search --code {sheet.code.code}")
        if sheet.relatives:
            near = sheet.relatives if detail else sheet.relatives[:MOST_COMPANIONS]
            listed = ", ".join(f"{code} ({count})" for code, count in near)
            yield "", Text(f"Of its family {sheet.code.family} it had {listed}")
        return
    yield "", Text(_had(history, detail))
    if sheet.code.failure_type is None and history.failure_types:
        yield "", Text(f"read with {_types(history.failure_types)}")
    yield from _rest(history, detail)


def _together(answer: CodesAnswer, detail: bool) -> Iterator[layout.Row]:
    if len(answer.codes) < 2:
        return
    codes = " ".join(str(sheet.code) for sheet in answer.codes)
    yield "Together", Text(codes, "bold")
    if answer.together is None or not answer.together.jobs:
        yield "", Text("No job had all of them.")
        return
    yield "", Text(_had(answer.together, detail))
    yield from _rest(answer.together, detail)


def _had(history: CodeHistory, detail: bool) -> str:
    told = ", ".join(f"{count} {status}" for status, count in history.statuses)
    numbers = job_list(history.jobs, len(history.jobs) if detail else MOST_JOBS)
    return f"{plural(len(history.jobs), 'job')}{f' ({told})' if told else ''}: {numbers}"


def _types(types: Sequence[tuple[str, int]]) -> str:
    return ", ".join(
        " ".join(filter(None, (f"-{kind}", FAILURE_TYPES.get(kind), f"({count})")))
        for kind, count in types
    )


def _rest(history: CodeHistory, detail: bool) -> Iterator[layout.Row]:
    models = history.models if detail else history.models[:MOST_MODELS]
    left = len(history.models) - len(models)
    listed = [
        f"{screen(each.label)} {each.jobs}"
        + ("" if each.cars == each.jobs else f" ({plural(each.cars, 'car')})")
        for each in models
    ]
    yield "", Text("on " + ", ".join([*listed, *([f"{left} more"] if left else [])]))
    companions = history.companions if detail else history.companions[:MOST_COMPANIONS]
    if companions:
        others = ", ".join(f"{code} ({count})" for code, count in companions)
        yield "", Text(f"often with {others}")
    causes = history.causes if detail else history.causes[:MOST_CAUSES]
    for each in causes:
        share = percent(len(each.jobs) / history.cases)
        numbers = job_list(each.jobs, len(each.jobs) if detail else MOST_JOBS)
        count = f"{len(each.jobs)} of {history.cases}"
        yield share, Text(screen(each.cause.label), "bold") + Text(f"  {count}: {numbers}")
    rest = sum(len(each.jobs) for each in history.causes[len(causes) :])
    if rest:
        yield percent(rest / history.cases), Text(f"other causes, {plural(rest, 'case')}: --detail")
