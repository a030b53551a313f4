"""The weights of signals and opinions as a page: defaults, what was learnt, what is in force."""

from rich.console import RenderableType
from rich.text import Text

from kb.errors import Notice
from kb.reports import layout
from kb.reports.labels import day, plural
from kb.services.weights import Learnt, Weights

STRANGE = {
    "near": "nearest job",
    "first": "first chance",
    "named": "what is named",
    "alike": "doubt among causes of like words",
    "subject": "what it is about",
}
"""What each measure of strangeness looks at."""


def render(weights: Weights) -> RenderableType:
    """Lay out the weights, what they mean, and why they are in force."""
    return layout.page(
        Text(told(weights)),
        Text(),
        Text("What a full match adds to the log-odds that two jobs share their cause", "bold"),
        _table(
            [
                (name, default.slope * (1 - default.neutral), force.slope * (1 - force.neutral))
                for (name, default), force in zip(
                    weights.defaults.recall.weights.items(),
                    weights.in_force.recall.weights.values(),
                    strict=True,
                )
            ],
        ),
        Text(),
        Text("How the opinions count", "bold"),
        _table(_opinions(weights)),
    )


def _opinions(weights: Weights) -> list[tuple[str, float, float]]:
    default, force = weights.defaults.diagnosis, weights.in_force.diagnosis
    rows = [
        ("recalled jobs' votes", default.pool_jobs, force.pool_jobs),
        ("linear model", default.pool_model, force.pool_model),
        ("words of a cause named", default.named, force.named),
        ("same subject", default.subject, force.subject),
        ("first chance: shift", default.first_shift, force.first_shift),
        ("first chance: slope", default.first_slope, force.first_slope),
        ("first chance on a new model", default.new_model_first, force.new_model_first),
        ("not seen before on a new model", default.new_model_shift, force.new_model_shift),
        ("not seen before", default.unseen_intercept, force.unseen_intercept),
    ]
    return rows + [
        (f"not seen before, {STRANGE[name]}", weight, force.unseen_weights[name])
        for name, weight in default.unseen_weights.items()
    ]


def _table(rows: list[tuple[str, float, float]]) -> RenderableType:
    cells = [(name, f"{default:.2f}", f"{force:.2f}") for name, default, force in rows]
    return layout.figures(("", "default", "in force"), cells, gap=3, width=38)


def told(weights: Weights) -> str:
    """Say which weights are in force, and why."""
    learnt = weights.learnt
    if weights.lost:
        return str(Notice.WEIGHTS_LOST)
    if learnt is None:
        least = weights.defaults.recall.learn_least
        few = weights.cases < least
        cases = plural(weights.cases, "case")
        what = f"; it takes {least}." if few else "; kb weights --learn does."
        return f"The defaults are in force: nothing was learnt yet from {cases}{what}"
    return f"{_measured(learnt)}{' The shop has grown since; learn again.' if weights.due else ''}"


def _measured(learnt: Learnt) -> str:
    measured = learnt.measured
    held = (
        f"on the newest {plural(measured.questions, 'job')}, asked in time order, the log loss was "
        f"{measured.with_learnt:.3f} with them and {measured.with_defaults:.3f} with the defaults"
    )
    cases = plural(learnt.cases, "case")
    whence = cases if learnt.newest is None else f"the newest {learnt.newest:,} of {cases}"
    start = f"Learnt on {day(learnt.on)} from {whence}: {held}."
    if learnt.stopped:
        start += " It was stopped: of the jobs that they are tried on nothing is learnt."
    return start + (
        " They are in force." if measured.better else " That is no better: the defaults stay."
    )
