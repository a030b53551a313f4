"""Which part of the car a job is about: from a typed name, from a code, from trade words."""

import re
from collections import Counter
from collections.abc import Sequence

from rapidfuzz import fuzz

from kb.case import System, TroubleCode
from kb.errors import InvalidField
from kb.intake.code_areas import area_of

_LEAST_LIKENESS = 80

# Trade words that speak for a system, longest phrase first at look-up; common practice, no
# source. A word that speaks for two systems ("fan", "pump") stands in neither.
TRADE_WORDS: dict[System, str] = {
    System.RESTRAINTS: "airbag, air bag, airbags, srs, pretensioner, pretens, seat belt, seatbelt, belt buckle,"
    " clock spring, clockspring, squib, restraint, restraints, curtain bag, occupancy mat, crash sensor",
    System.CHARGING_STARTING: "alternator, battery, charging, starter, starting, cranks, cranking, flat battery,"
    " no crank, won't start, jump start, jump pack, parasitic drain, battery light, charge light,"
    " charge warning, charging and starting",
    System.FUEL_MIXTURE: "fuel, mixture, injector, injectors, lean, rich, fuel pump, fuel trim, fuel pressure,"
    " maf, air flow meter, lambda, o2 sensor, oxygen sensor, throttle body, vacuum leak, rail pressure,"
    " fuelling",
    System.IGNITION: "ignition, misfire, misfires, misfiring, spark, spark plug, plugs, coil, coil pack, coils,"
    " ignition coil, ht lead, crank sensor, cam sensor",
    System.COOLING: "cooling, overheating, overheats, runs hot, coolant, radiator, thermostat, water pump,"
    " cooling fan, temp gauge, head gasket, header tank, boiling over",
    System.BRAKES_WHEEL_SPEED: "brake, brakes, braking, abs, wheel speed, w/s sensor, caliper, calliper, brake pads,"
    " pads, disc, discs, handbrake, parking brake, master cylinder, brake fluid, esp, traction light,"
    " traction control",
    System.BODY_ELECTRICS: "body, door lock, central locking, window, windows, wiper, wipers, washer, headlamp,"
    " headlight, indicator, indicators, horn, tailgate, mirror, mirrors, interior light, radio, key fob,"
    " heated seat, sunroof, tail lamp, brake light, brake lights, number plate light",
    System.STEERING_SUSPENSION: "steering, suspension, power steering, rack, track rod, ball joint, drop link,"
    " shock absorber, damper, wheel bearing, pulls left, pulls right, wishbone, spring, tracking, knocking over bumps",
    System.HIGH_VOLTAGE: "hv, high voltage, hybrid, hybrid battery, traction battery, inverter, charge port,"
    " charging port, isolation fault, contactor, ev, dc/dc, orange cable, plug-in",
    System.ENGINE_MECHANICAL: "engine mechanical, timing chain, timing belt, compression, oil pressure, oil leak, tappet,"
    " tappets, blue smoke, valve clearance, piston, sump",
    System.TRANSMISSION: "transmission, gearbox, clutch, gear, gears, driveshaft, cv joint, differential, torque converter,"
    " slips in gear, drive shaft",
    System.CLIMATE: "climate, air con, aircon, a/c, ac, air conditioning, hvac, blower, heater, refrigerant, evaporator,"
    " condenser, cabin filter",
    System.EXHAUST: "exhaust, emissions, dpf, egr, catalyst, cat, adblue, nox, particle filter, exhaust and emissions,"
    " black smoke, silencer",
    System.OTHER: "other",
}


def _table() -> dict[str, System]:
    return {
        word.strip(): system for system, words in TRADE_WORDS.items() for word in words.split(",")
    }


_BY_WORD = _table()
_LONGEST_PHRASE = max(len(word.split()) for word in _BY_WORD)
_WORD = re.compile(r"[a-z0-9]+(?:['/-][a-z0-9]+)*")


def parse_system(text: str) -> System:
    """Read the name of a system: full, begun, misspelt, or one of its trade words.

    Parameters
    ----------
    text : str
        As ``brakes``, ``srs``, ``hv``, ``restr``, ``colling``.

    Returns
    -------
    System

    Raises
    ------
    InvalidField
        If none fits, or several fit equally; the message lists the choices.

    Examples
    --------
    >>> parse_system("srs").value, parse_system("Brakes").value, parse_system("colling").value
    ('restraints', 'brakes and wheel speed', 'cooling')
    """
    plain = " ".join(text.lower().split())
    if plain in _BY_WORD:
        return _BY_WORD[plain]
    if plain:
        begun = {system for system in System if system.value.startswith(plain)}
        begun = begun or {system for word, system in _BY_WORD.items() if word.startswith(plain)}
        if len(begun) == 1:
            return begun.pop()
        likest = _likest(plain)
        if not begun and likest is not None:
            return likest
    raise InvalidField("system", text, f"must be one of: {', '.join(System)}")


def _likest(plain: str) -> System | None:
    """Find the one system whose name or trade word is clearly the most alike."""
    best: dict[System, float] = {}
    names = [(system.value, system) for system in System]
    for word, system in (*names, *_BY_WORD.items()):
        best[system] = max(best.get(system, 0.0), fuzz.ratio(plain, word))
    (first, score), (_, second) = Counter(best).most_common(2)
    return first if score >= _LEAST_LIKENESS and score > second else None


def system_of_code(code: TroubleCode) -> System | None:
    """Tell the part of the car from a standard code's range, where that is sure.

    Parameters
    ----------
    code : TroubleCode

    Returns
    -------
    System or None
        None for maker-defined codes, bus codes, and ranges that serve several parts.

    References
    ----------
    See `kb.intake.code_areas`.

    Examples
    --------
    >>> system_of_code(TroubleCode(code="P0301")).value
    'ignition'
    >>> system_of_code(TroubleCode(code="B1234")) is None
    True
    """
    area = area_of(code.code)
    return area.system if area else None


def guess_system(text: str, codes: Sequence[TroubleCode] = ()) -> System | None:
    """Guess the part of the car from trade words and codes.

    Parameters
    ----------
    text : str
        The complaint.
    codes : sequence of TroubleCode
        Each counts as much as one word.

    Returns
    -------
    System or None
        None when nothing speaks for a system, or two are spoken for equally.

    Examples
    --------
    >>> guess_system("airbag lamp on after seat moved").value
    'restraints'
    >>> guess_system("makes a funny noise") is None
    True
    """
    votes: Counter[System] = Counter()
    words = _WORD.findall(text.lower().replace("’", "'"))
    place = 0
    while place < len(words):
        for length in range(min(_LONGEST_PHRASE, len(words) - place), 0, -1):
            system = _BY_WORD.get(" ".join(words[place : place + length]))
            if system is not None:
                votes[system] += 1
                place += length
                break
        else:
            place += 1
    for code in codes:
        of_code = system_of_code(code)
        if of_code is not None:
            votes[of_code] += 1
    ranked = votes.most_common(2)
    if not ranked or (len(ranked) == 2 and ranked[0][1] == ranked[1][1]):
        return None
    return ranked[0][0]
