"""`kb vehicle`: the shop's own list of vehicles, and what is known of one."""

from typing import Any

import click

from kb.case import Handedness, VehicleModel
from kb.cli.main import App
from kb.cli.output import json_option
from kb.cli.output import show as show_result

SIDES = {"left": Handedness.LEFT, "right": Handedness.RIGHT}


@click.group()
def vehicle() -> None:
    """Show and change the shop's list of models, generations and engines; look a vehicle up."""


@vehicle.command("list")
@json_option
@click.pass_obj
def list_(app: App, as_json: bool) -> None:
    """List the models, generations and engines that the shop tells apart.

    \b
    Example:
      kb vehicle list
    """
    from kb.reports.vehicle import render_models  # noqa: PLC0415
    from kb.services.vehicles import list_models  # noqa: PLC0415

    show_result(list_models(app.address), render_models, as_json=as_json)


@vehicle.command()
@click.argument("make")
@click.argument("model")
@click.option("--generation", "-g", help="The shop's name for it, as second or mk2.")
@click.option("--years", "-y", help="Model years: 2011-2016, 2017- or 2014.")
@click.option("--platform", "-p", help="What it is built on.")
@click.option("--engine", "-e", "engines", multiple=True, help='As "1.4 petrol"; may be repeated.')
@click.option("--drive", type=click.Choice(list(SIDES)), help="Where the driver sits.")
@json_option
@click.pass_obj
def add(
    app: App,
    /,
    make: str,
    model: str,
    years: str | None,
    drive: str | None,
    as_json: bool,
    **told: Any,
) -> None:
    """Put a model, or one generation of it, on the list; the same one is replaced.

    \b
    Examples:
      kb vehicle add Corvane Lido --years 2011-2021
      kb vehicle add Corvane Lido -g second -y 2017- -e "1.2 petrol" -e "1.4 petrol" --drive right
    """
    from kb.intake.vehicle_list import parse_years  # noqa: PLC0415
    from kb.reports.vehicle import render_models  # noqa: PLC0415
    from kb.services.vehicles import add_model  # noqa: PLC0415

    first, last = parse_years(years) if years else (None, None)
    line = VehicleModel(
        make=make.strip(),
        model=model.strip(),
        first_year=first,
        last_year=last,
        handedness=SIDES[drive] if drive else None,
        **told,
    )
    show_result([add_model(app.address, line, who=app.who)], render_models, as_json=as_json)


@vehicle.command()
@click.argument("make")
@click.argument("model")
@click.option("--generation", "-g", help="Only this generation, as the list names it.")
@click.pass_obj
def remove(app: App, make: str, model: str, generation: str | None) -> None:
    """Take a line off the list; jobs of such cars stay as they are.

    \b
    Example:
      kb vehicle remove Corvane Lido --generation second
    """
    from kb.services.vehicles import remove_model  # noqa: PLC0415

    remove_model(app.address, make, model, generation, who=app.who)


@vehicle.command()
@click.argument("text", nargs=-1, required=True, metavar="TAG|VIN|WORDS...")
@json_option
@click.pass_obj
def show(app: App, text: tuple[str, ...], as_json: bool) -> None:
    """Show what is known of a vehicle: VIN, line of the list, past jobs.

    \b
    Examples:
      kb vehicle show K031
      kb vehicle show 1M8GDM9AXKP042788
      kb vehicle show corvne lido 14
    """
    from kb.reports.vehicle import render_vehicle  # noqa: PLC0415
    from kb.services.vehicles import show_vehicle  # noqa: PLC0415

    sheet = show_vehicle(app.address, " ".join(text))
    show_result(sheet, render_vehicle, as_json=as_json)
