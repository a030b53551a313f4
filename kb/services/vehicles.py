"""The shop's list of vehicles, and what is known of one of them."""

from dataclasses import dataclass

from kb.case import Job, Vehicle, VehicleModel, same_text
from kb.errors import InvalidField
from kb.intake.vehicle import parse_vehicle
from kb.intake.vin import VinFacts, check_vin
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.job_dangers import refuse_dangerous
from kb.safety.job_words import is_igniter_job
from kb.services.indexing import shop_wording
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

LAST_JOBS = 10
"""So many of the last jobs are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleSheet:
    """What is known of a vehicle.

    `vin` is what its VIN tells by itself, `lines` are those of the shop's list that it may belong
    to; with one, its generation is known. `jobs` are the last ones, the latest first, of
    `all_jobs`, either of this very car (`is_one_car`) or of all such cars; `igniter_jobs` of them
    concern an igniter, also by the shop's own words.
    """

    cautions: tuple[str, ...]
    vehicle: Vehicle
    notices: tuple[str, ...]
    vin: VinFacts | None
    lines: tuple[VehicleModel, ...]
    is_one_car: bool
    jobs: tuple[Job, ...]
    all_jobs: int
    igniter_jobs: tuple[int, ...] = ()


def list_models(address: str) -> list[VehicleModel]:
    """List the shop's makes, models and generations."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        return work.models.all()


def add_model(address: str, model: VehicleModel, *, who: str | None = None) -> VehicleModel:
    """Put a line on the list; one of the same make, model and generation is replaced.

    Raises
    ------
    Dangerous
        If a name in it tells a dangerous step.
    """
    names = (model.make, model.model, model.generation, model.platform, *model.engines)
    refuse_dangerous("vehicle", *filter(None, names))
    with UnitOfWork(open_store(address), who=who) as work:
        work.models.add(model)
        work.commit()
    return model


def remove_model(
    address: str, make: str, model: str, generation: str | None = None, *, who: str | None = None
) -> None:
    """Take a line off the list; jobs of such cars stay as they are."""
    with UnitOfWork(open_store(address), who=who) as work:
        work.models.remove(VehicleModel(make=make, model=model, generation=generation))
        work.commit()


def show_vehicle(address: str, text: str) -> VehicleSheet:
    """Tell what is known of a vehicle, told by key tag, VIN, or roughly by make, model and year."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        known = work.jobs.vehicles()
        match = parse_vehicle(text, known, work.models.all())
        vehicle = match.vehicle
        if vehicle == Vehicle():
            raise InvalidField("vehicle", text, "tells no vehicle; write K031, a VIN or lido 2014")
        own = work.jobs.numbers_of_vehicle(vehicle)
        jobs, count = work.jobs.get_many(own[: -LAST_JOBS - 1 : -1]), len(own)
        if not own and vehicle.model is not None:
            words = " ".join(filter(None, (vehicle.make, vehicle.model)))
            spelt = {car.model for car in known if same_text(car.model, vehicle.model)}
            jobs, count = work.jobs.of_model(words, filter(None, spelt), match.lines, LAST_JOBS)
        wording = shop_wording(work)
    vin = check_vin(vehicle.vin) if vehicle.vin else None
    doubts = (*match.doubts, *(vin.doubts if vin else ()))
    situation = Situation(vehicles=(vehicle,)) | Situation.of_jobs(jobs)
    return VehicleSheet(
        cautions=cautions_of_list(situation, wording),
        vehicle=vehicle,
        notices=tuple(dict.fromkeys(map(str, doubts))),
        vin=vin,
        lines=match.lines,
        is_one_car=bool(own),
        jobs=tuple(jobs),
        all_jobs=count,
        igniter_jobs=tuple(job.number or 0 for job in jobs if is_igniter_job(job, wording)),
    )
