"""`kb schema`: what a job looks like in a file."""

import json

import click


@click.command()
def schema() -> None:
    """Print the JSON Schema (draft 2020-12) of a job, as `kb import` reads one a line.

    \b
    Example:
      kb schema > job.schema.json
    """
    from kb.intake.schema import case_schema  # noqa: PLC0415

    click.echo(json.dumps(case_schema(), ensure_ascii=False, indent=2))
