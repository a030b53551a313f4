"""Learning the shop's weights from a command, and doing so when a job closes."""

import click

from kb.cli.main import App
from kb.cli.output import at_terminal, confirm, counting, say
from kb.services.weights import Weights

QUESTION = "The shop has grown to {cases} cases. Learn the weights from them now (a minute or so)?"


def learn(app: App) -> Weights:
    """Learn the weights, with a progress bar at a terminal."""
    from kb.services.learn import learn_weights  # noqa: PLC0415  slow to import

    with counting("Asking past jobs again") as progress:
        return learn_weights(app.address, app.settings, progress)


def learn_if_due(app: App, known: Weights, *, wanted: bool | None, ask: bool, quiet: bool) -> None:
    """Learn where the store has grown enough since; whoever is at a terminal is asked first.

    Nothing else depends on it, so it may be broken off.

    What was said beforehand is `wanted`: None to ask, or where nobody may be asked, to say only
    that it is time. With `quiet` nothing is asked or said.
    """
    if wanted is False or (quiet and not wanted) or not known.due:
        return
    if wanted is None and not (ask and at_terminal()):
        say("The shop has grown: kb weights --learn learns from it.", err=True)
        return
    try:
        if wanted or confirm(QUESTION.format(cases=known.cases), default=False, err=True):
            learnt = learn(app)
            if not quiet:
                from kb.reports.weights import told  # noqa: PLC0415

                say(told(learnt), err=True)
    except (KeyboardInterrupt, click.Abort):
        say("Left as it was; kb weights --learn does it later.", err=True)
