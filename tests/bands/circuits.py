"""Readings of a small invented shop, for the tests of the judgement."""

from collections.abc import Iterable
from typing import Any

from kb.bands.measured import Taken
from kb.case import Quantity, Reading, Relation, Vehicle
from kb.intake.wording import Wording
from kb.settings import Settings

WORDS = Wording.default()
READINGS = Settings().readings
LIDO = Vehicle(make="Corvane", model="Lido", ref="K001")
KIRI = Vehicle(make="Sunato", model="Kiri", ref="K002")
GOOD_VALUES = (2.2, 2.1, 2.3, 2.2, 2.4, 2.3, 2.2, 2.1)


def reading(value: float | None, position: str | None = None, **more: Any) -> Reading:
    """A live value of a pretensioner circuit; None is beyond the instrument."""
    given: dict[str, Any] = {
        "item": "pretensioner circuit",
        "quantity": Quantity.RESISTANCE,
        "typed": "OL" if value is None else f"{value} ohm",
        "relation": Relation.OVER_RANGE if value is None else Relation.EXACT,
    }
    return Reading(value=value, position=position, **(given | more))


def good(
    values: Iterable[float] = GOOD_VALUES, vehicle: Vehicle = LIDO, **more: Any
) -> list[Taken]:
    """Readings of good items, each of a job and car of its own."""
    return [
        Taken(
            reading=reading(value, proved_good=True, **more),
            vehicle=Vehicle(make=vehicle.make, model=vehicle.model, ref=f"K{number}"),
            job=number,
        )
        for number, value in enumerate(values, start=100)
    ]
