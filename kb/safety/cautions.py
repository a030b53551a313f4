"""Cautions by system, shown before any advice.

The cautions are the usual ones of the trade (common practice, no source). They replace neither
the manufacturer's procedure nor local rules, and name no waiting times or limits of their own:
those are the manufacturer's.
"""

from collections.abc import Iterable

from kb.case import System, TroubleCode

DEFERENCE = "Manufacturer's procedure, local rules and licensed practice go first."

_ENGINE_RUNNING = "Running engine: clear of belts, fans, hot parts; exhaust led outside."
_LIFTING = "Lift at the maker's points and set on stands before going under."

CAUTIONS: dict[System, tuple[str, ...]] = {
    System.RESTRAINTS: (
        "Airbags and pretensioners can fire: ignition off, battery disconnected, and wait as "
        "long as the manufacturer says before touching a plug.",
        "Never an ohmmeter or test lamp on an igniter: live values by scan tool, or a known "
        "load in its place.",
    ),
    System.HIGH_VOLTAGE: (
        "High voltage can kill: only a licensed person isolates it, locks it off and proves it "
        "dead, by the manufacturer's procedure.",
    ),
    System.FUEL_MIXTURE: (
        "Fuel burns: relieve pressure, ventilate, no sparks, extinguisher near.",
        _ENGINE_RUNNING,
    ),
    System.IGNITION: (
        "Ignition voltage injures: hands off leads and coils when it runs.",
        _ENGINE_RUNNING,
    ),
    System.CHARGING_STARTING: (
        "Batteries gas, shorts burn: no sparks, goggles on, negative off first.",
        _ENGINE_RUNNING,
    ),
    System.COOLING: ("Hot coolant scalds: open it cold only. Fans may start by themselves.",),
    System.BRAKES_WHEEL_SPEED: (
        _LIFTING,
        "No air line on brake dust. Test the pedal before the car moves.",
    ),
    System.STEERING_SUSPENSION: (
        _LIFTING,
        "Compressed springs can kill: use a proper compressor.",
    ),
    System.CLIMATE: ("Refrigerant freezes skin, is regulated: only certified persons open it.",),
    System.BODY_ELECTRICS: (
        "Doors, seats, pillars may carry airbag wiring: leave unknown plugs be.",
    ),
    System.EXHAUST: ("Exhausts burn and their gas kills: let it cool, lead the gas outside.",),
    System.TRANSMISSION: (_LIFTING, "Wheels may turn: stand clear of them."),
    System.ENGINE_MECHANICAL: (_ENGINE_RUNNING,),
}


def systems_of(codes: Iterable[TroubleCode], systems: Iterable[System | None]) -> list[System]:
    """Return the systems whose cautions apply, each once, in the order met."""
    found = [system for system in systems if system is not None]
    found += [System.RESTRAINTS for code in codes if code.code.startswith("B00")]
    return list(dict.fromkeys(found))


def cautions_for(systems: Iterable[System]) -> tuple[str, ...]:
    """Return the cautions for these systems, the gravest systems first, each caution once.

    Returns
    -------
    tuple of str
        Empty only if no system has a caution; the deference to the manufacturer is `DEFERENCE`.
    """
    wanted = set(systems)
    lines = [line for system in CAUTIONS if system in wanted for line in CAUTIONS[system]]
    return tuple(dict.fromkeys(lines))
