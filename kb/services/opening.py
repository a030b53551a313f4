"""Answers to a bare `kb job open`, each judged as soon as it is given."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from kb.case import Vehicle, VehicleModel
from kb.errors import InvalidField
from kb.intake.bare import as_told, what_is_missing
from kb.intake.shoptalk import understand
from kb.intake.vehicle import like_tags, tag_meant
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, cautions_of
from kb.services.doubts import may_be_distance, tag_or_car
from kb.services.indexing import shop_wording
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningAnswers:
    """What the shop knows that answers to an opening are held against."""

    vehicles: Sequence[Vehicle]
    models: Sequence[VehicleModel]
    wording: Wording

    @classmethod
    def of_shop(cls, address: str) -> Self:
        """Read what the shop knows.

        Raises
        ------
        KbError
            If the store cannot be opened.
        """
        with UnitOfWork(open_store(address), read_only=True) as work:
            return cls(
                vehicles=work.jobs.readable_vehicles(),
                models=work.models.all(),
                wording=shop_wording(work),
            )

    def complaint(self, text: str) -> str:
        """Return a complaint as typed.

        Raises
        ------
        InvalidField
            If it is a number or a car and nothing else.
        """
        missing = what_is_missing(text, lambda: self.vehicles, self.models, self.wording)
        if missing:
            raise InvalidField("complaint", text, missing)
        return text

    def tag(self, text: str) -> str:
        """Return a key tag, or a car in its place, as typed.

        Raises
        ------
        InvalidField
            If it is neither.
        """
        if not tag_meant(text, self.vehicles):
            as_told(text)
        tag_or_car(text, None, self.vehicles, self.models)
        return text

    def tells_car(self, tag: str | None) -> bool:
        """Whether what was told as a key tag is that of a car of the shop, or a car itself."""
        if not tag:
            return False
        ref, vehicle, _ = tag_or_car(tag, None, self.vehicles, self.models)
        return vehicle is not None or tag_meant(ref, self.vehicles) is not None

    def may_be_distance(self, tag: str) -> bool:
        """Whether what was told as a key tag may be what the odometer shows."""
        return may_be_distance(tag, self.vehicles)

    def cars_like(self, tag: str) -> list[Vehicle]:
        """Return the cars whose key tag one that the shop does not know may be."""
        if tag_meant(tag, self.vehicles):
            return []
        tags = like_tags(tag, self.vehicles)
        cars = {car.ref: car for car in self.vehicles}
        return [cars[each] for each in tags]

    def cautions(self, text: str) -> tuple[str, ...]:
        """Return the cautions that come before anything more is asked of a complaint."""
        return cautions_of(_situation(text, self.wording), self.wording)


def _situation(text: str, wording: Wording) -> Situation:
    return Situation.of_complaint(understand(text, wording=wording).complaint)
