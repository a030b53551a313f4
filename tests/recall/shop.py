"""A shop of six cases, small enough to know by heart."""

from datetime import date

from kb.case import Cause, FailureMode, Job, Quantity, Reading, System, TroubleCode, Vehicle

LIDO = Vehicle(make="Corvane", model="Lido", year=2016)
KIRI = Vehicle(make="Sunato", model="Kiri", year=2018)
DRAY = Vehicle(make="Bramwick", model="Dray", year=2014)

SEAT_CONNECTOR = Cause(
    component="seat connector", location="under seat", failure_mode=FailureMode.HIGH_RESISTANCE
)
CLOCK_SPRING = Cause(component="clock spring", failure_mode=FailureMode.OPEN)
BATTERY = Cause(component="battery", failure_mode=FailureMode.WORN)
EARTH_STRAP = Cause(component="earth strap", failure_mode=FailureMode.HIGH_RESISTANCE)
LATCH = Cause(component="door latch", failure_mode=FailureMode.SEIZED)


def case(
    number: int, vehicle: Vehicle, complaint: str, system: System, cause: Cause, *codes: str
) -> Job:
    """One closed job, opened in the month of its number in 2024."""
    return Job(
        number=number,
        vehicle=vehicle,
        opened=date(2024, number, 1),
        closed=date(2024, number, 2),
        complaint=complaint,
        system=system,
        cause=cause,
        codes=tuple(TroubleCode(code=code) for code in codes),
    )


CASES = [
    case(1, LIDO, "airbag lamp on after seat moved", System.RESTRAINTS, SEAT_CONNECTOR, "B1234"),
    case(2, KIRI, "SRS light on, seat slid back", System.RESTRAINTS, SEAT_CONNECTOR, "B1234"),
    case(3, LIDO, "airbag lamp on, horn dead", System.RESTRAINTS, CLOCK_SPRING, "B1310"),
    case(4, DRAY, "no crank, clicks once", System.CHARGING_STARTING, BATTERY),
    case(5, DRAY, "slow crank when hot", System.CHARGING_STARTING, EARTH_STRAP),
    case(6, KIRI, "door lock dead after rain", System.BODY_ELECTRICS, LATCH),
]


def pretensioner(value: float) -> Reading:
    """One live value of a pretensioner circuit."""
    return Reading(
        item="pretensioner", quantity=Quantity.RESISTANCE, typed=f"{value} ohm", value=value
    )
