"""`kb weights`: what each signal weighs here, and learning it from the shop's own jobs."""

import click

from kb.cli.main import App
from kb.cli.output import counting, json_option, show
from kb.services.weights import weights as weights_in_force
from kb.settings import Settings


@click.command()
@click.option("--learn", is_flag=True, help="Learn them again from the closed jobs now.")
@json_option
@click.pass_obj
def weights(app: App, *, learn: bool, as_json: bool) -> None:
    """Show what each signal weighs when past jobs are recalled and causes are ranked.

    The defaults hold until the shop has learnt better ones from its own closed jobs. Learning
    tries them on the newest quarter of the jobs, asked in time order: if they are not better
    there, the defaults stay.

    \b
    Examples:
      kb weights
      kb weights --learn
      kb weights --json
    """
    from kb.reports.weights import render  # noqa: PLC0415

    if learn:
        from kb.services.learn import learn_weights  # noqa: PLC0415

        with counting("Asking past jobs again") as progress:
            result = learn_weights(app.address, Settings(), progress)
    else:
        result = weights_in_force(app.address, Settings())
    show(result, render, as_json=as_json)
