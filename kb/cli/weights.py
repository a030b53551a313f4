"""`kb weights`: what each signal weighs here, and learning it from the shop's own jobs."""

import click

from kb.cli import learning
from kb.cli.main import App
from kb.cli.output import json_option, say, show
from kb.services.weights import weights as weights_in_force


@click.command()
@click.option("--learn", is_flag=True, help="Learn them again from the closed jobs now.")
@json_option
@click.pass_obj
def weights(app: App, *, learn: bool, as_json: bool) -> None:
    """Show what each signal weighs when past jobs are recalled and causes are ranked.

    The defaults hold until the shop has learnt better ones from its own closed jobs. Learning
    tries them on the newest quarter of the jobs, asked in time order: if they are not better
    there, the defaults stay. Closing a job learns them, too, once the shop has grown by a fifth. Of
    more than 10,000 jobs the newest 10,000 are looked at. Ctrl-C ends it; once the weights were
    tried on some, what was learnt by then is kept.

    \b
    Examples:
      kb weights
      kb weights --learn
      kb weights --json
    """
    from kb.reports.weights import render  # noqa: PLC0415

    learnt = None
    if learn:
        try:
            learnt = learning.learn(app)
        except KeyboardInterrupt:
            say("Broken off: nothing was learnt, and what is in force stays.", err=True)
    show(learnt or weights_in_force(app.address, app.settings), render, as_json=as_json)
