"""Cautions by system, shown before any advice, and the guard on what may be printed.

The cautions are the usual ones of the trade (common practice, no source). They replace neither
the manufacturer's procedure nor local rules, and name no waiting times or limits of their own:
those are the manufacturer's.
"""

import re
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

_IGNITER = re.compile(
    r"air ?-?bags?\b|curtain|pre-?tens\w*|\bpret\w*nsoner|igniters?\b|initiators?\b|squibs?\b"
    r"|inflators?\b|\bsrs\b|seat ?-?belt tensioner",
    re.IGNORECASE,
)
_METER = re.compile(
    r"\bohm-?\s?meter\w*|\bohm(?:m?ed|ming)\b|(?<![\d.,\s])\s*\bohm\s+(?:out|the|it|across)\b"
    r"|\bmulti-?\s?meter\b|\bdmm\b|\bdvm\b|\bmeter(?:ed)?\b|\btest ?-?lamp\b|\bcontinuity\b"
    r"|\bbuzz(?:ed|er|ing)?\b"
    r"|\b(?:measur|check|test|took|tak)\w*\s+(?:\S+\s+){0,8}?(?:resistances?|ohms?)\b"
    r"|\bresistances?\s+(?:\S+\s+){0,8}?(?:measur|check|test|tak)\w*",
    re.IGNORECASE,
)
_SAFE = re.compile(
    r"substitut|dummy|known load|load at the connector|load resistor|scan tool|live (?:value|data|"
    r"reading)|\bnever\b|do not|don't|proves nothing|proved nothing",
    re.IGNORECASE,
)
WITHHELD = (
    "[withheld: no meter on an igniter circuit; read its live value with a scan tool or put a "
    "known load in its place]"
)


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


def screen(text: str, *, restraint: bool = False) -> str:
    """Return a shop's own words fit to be printed as advice.

    Words that would have somebody measure an airbag or pretensioner igniter with a meter are
    replaced by `WITHHELD`, wherever they came from.

    Parameters
    ----------
    text : str
        Test, proof or fix in the shop's words.
    restraint : bool
        The words come from a job on the restraints, where every circuit may be an igniter's.

    Examples
    --------
    >>> screen("substitute load at the connector")
    'substitute load at the connector'
    >>> screen("checked resistance of LH pretensioner with multimeter").startswith("[withheld")
    True
    """
    about_igniter = restraint or _IGNITER.search(text)
    if about_igniter and _METER.search(text) and not _SAFE.search(text):
        return WITHHELD
    return text


_MEASURING = re.compile(
    r"\bohm|Ω|\bresist|\bmulti-?\s?meter|\bmeter|\bmeasur|\bcontinuity|\bbuzz|\bprob(?:e|ing)\b"
    r"|\btest ?-?(?:lamp|light)|\bdmm\b|\bdvm\b|\bbell(?:ed|ing)?\b|\bmegger"
    r"|\bring(?:ing)? (?:out|through)",
    re.IGNORECASE,
)


def about_igniter(texts: Iterable[str]) -> bool:
    """Whether any of these words speaks of something that an igniter fires.

    Examples
    --------
    >>> about_igniter(["lamp on", "LF pretensioner 6.1 ohm"]), about_igniter(["wheel bearing"])
    (True, False)
    """
    return any(_IGNITER.search(text) for text in texts)


def may_be_proposed(text: str, *, restraint: bool) -> bool:
    """Whether a shop's own words may stand in a proposal of what to do next.

    Stricter than `screen`: on the restraints no word of measuring passes at all, whatever stands
    beside it; the trade's own tests are worded in `kb/troubleshooting/general_tests.toml`.

    Examples
    --------
    >>> may_be_proposed("cleaned seat connector", restraint=True)
    True
    >>> may_be_proposed("resistance at seat plug, never live", restraint=True)
    False
    """
    if restraint or _IGNITER.search(text):
        return not _MEASURING.search(text)
    return True
