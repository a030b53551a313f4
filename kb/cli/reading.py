"""`kb reading`: what a measured value means."""

from functools import partial
from pathlib import Path

import click

from kb.cli.main import App
from kb.cli.options import JOB, FilePath
from kb.cli.output import json_option, show


@click.command()
@click.argument("text", nargs=-1, required=True, metavar="READING...")
@click.option("--vehicle", "-v", help='Roughly, as "corvane lido 2016", or its key tag.')
@click.option("--job", "-j", type=JOB, help="Of this job's car, beside its other readings.")
@click.option(
    "--limits",
    type=FilePath(exists=True, dir_okay=False),
    envvar="KB_LIMITS",
    help="Textbook figures of your own, a TOML file as the trade's.  [env: KB_LIMITS]",
)
@click.option("--detail", "-d", is_flag=True, help="All job numbers.")
@json_option
@click.pass_obj
def reading(
    app: App,
    text: tuple[str, ...],
    vehicle: str | None,
    job: int | None,
    limits: Path | None,
    detail: bool,
    as_json: bool,
) -> None:
    """Judge a measured value by the shop's own good readings.

    It is compared with this car's twin (the other side, if that was measured on the job or the
    car's last visit), this model, this make and all makes; which of these have readings enough is
    said. Then what the same value turned out to be, and the trade's limit, apart.

    \b
    Examples:
      kb reading "LF wheel speed sensor 2k1" --vehicle "corvane lido 2016"
      kb reading "RF pretensioner 6.1 ohm" --job 1022
    """
    from kb.reports.reading import render  # noqa: PLC0415
    from kb.services.judge import judge_reading  # noqa: PLC0415

    answer = judge_reading(
        app.address, " ".join(text), app.settings, vehicle=vehicle, job=job, limits=limits
    )
    show(answer, partial(render, detail=detail), as_json=as_json)
