"""`kb job`: recording jobs and looking them up."""

import click

from kb.cli.job.add import add
from kb.cli.job.close import close
from kb.cli.job.edit import edit, remove
from kb.cli.job.follow_up import follow_up
from kb.cli.job.look import history, list_, show
from kb.cli.job.open import open_
from kb.cli.job.void import reopen, use, void
from kb.cli.job.work import circuit, work


@click.group()
def job() -> None:
    """Record jobs: open, add what is found, work through, close with a cause; show, list, edit.

    What was understood is shown before it is stored. At a terminal, a command called bare asks
    for what it needs.

    \b
    Examples:
      kb job open "LR door lock dead after rain, B1234-13, motor feed 4.1 V"
      kb job add 12 "earth side 0.02 V; cleaned door plug, no change"
      kb job close 12 "broken wire in door loom" --fix "repaired door loom"
    """


for command in (open_, use, add, circuit, work, close, reopen, show, list_, edit, remove):
    job.add_command(command)
for command in (void, follow_up, history):
    job.add_command(command)
