"""Tables of the trouble-code structure, in our own words; no standard's text is copied.

References
----------
SAE J2012 / ISO 15031-6: letter, who controls a range, areas of the standard ranges.
ISO 14229-1 / SAE J2012-DA: failure type byte. 1C and 1D differ between public lists, so they
are described by their category alone.
"""

from dataclasses import dataclass
from enum import StrEnum

from kb.case import System


class Origin(StrEnum):
    """Who says what a code means."""

    STANDARD = "standard"
    MAKER = "maker-defined"
    RESERVED = "reserved"


SYSTEMS = {"P": "powertrain", "C": "chassis", "B": "body", "U": "network"}


def origin_of(code: str) -> Origin:
    """Tell who defines a code from its first three characters.

    Standard: second digit 0, P2, P34 to P3F and U30. Maker-defined: second digit 1, P30 to P33, B2,
    C2 and U2. Reserved: B3, C3 and the rest of U3.

    References
    ----------
    SAE J2012, general code specifications.

    Examples
    --------
    >>> [origin_of(code).value for code in ("P3400", "P3399", "B1234")]
    ['standard', 'maker-defined', 'maker-defined']
    """
    letter, second, third = code[0], code[1], code[2]
    if second == "0":
        return Origin.STANDARD
    if letter == "P":
        is_standard = second == "2" or (second == "3" and third >= "4")
        return Origin.STANDARD if is_standard else Origin.MAKER
    if letter == "U" and second == "3" and third == "0":
        return Origin.STANDARD
    return Origin.RESERVED if second == "3" else Origin.MAKER


_S = System
AREAS: tuple[tuple[str, str, str, System | None], ...] = (
    # First and last code, what the area is about, and the part of the car where that is sure.
    # The narrowest range that holds a code speaks for it.
    ("P0000", "P00FF", "air and fuel metering, valve timing, heated sensors", None),
    ("P0001", "P0004", "fuel volume regulation", _S.FUEL_MIXTURE),
    ("P0030", "P0064", "oxygen sensor heating", _S.FUEL_MIXTURE),
    ("P0087", "P0094", "fuel rail pressure and leaks", _S.FUEL_MIXTURE),
    ("P0100", "P01FF", "air and fuel metering", _S.FUEL_MIXTURE),
    ("P0115", "P0119", "coolant temperature signal", _S.COOLING),
    ("P0125", "P0126", "coolant too cold for closed-loop running", _S.COOLING),
    ("P0128", "P0128", "coolant held below thermostat temperature", _S.COOLING),
    ("P0195", "P0199", "oil temperature signal", _S.ENGINE_MECHANICAL),
    ("P0200", "P02FF", "injectors, fuel delivery and boost", _S.FUEL_MIXTURE),
    ("P0217", "P0217", "engine too hot", _S.COOLING),
    ("P0218", "P0218", "transmission too hot", _S.TRANSMISSION),
    ("P0300", "P03FF", "ignition, misfire, engine speed and cam signals", _S.IGNITION),
    ("P0380", "P0384", "glow plugs", None),
    ("P0400", "P04FF", "emission controls outside the engine's metering", None),
    ("P0401", "P0409", "exhaust gas recirculation", None),
    ("P0420", "P0439", "catalyst", _S.EXHAUST),
    ("P0440", "P0459", "fuel vapour recovery", None),
    ("P0460", "P0469", "fuel level signal", None),
    ("P0470", "P0479", "exhaust pressure", _S.EXHAUST),
    ("P0480", "P0485", "cooling fan", _S.COOLING),
    ("P0493", "P0495", "cooling fan", _S.COOLING),
    ("P0500", "P05FF", "road speed, idle speed and other inputs", None),
    ("P0505", "P0511", "idle air control", _S.FUEL_MIXTURE),
    ("P0520", "P0524", "oil pressure signal", _S.ENGINE_MECHANICAL),
    ("P0526", "P0529", "cooling fan", _S.COOLING),
    ("P0530", "P0534", "refrigerant pressure signal", _S.CLIMATE),
    ("P0544", "P0546", "exhaust temperature signal", _S.EXHAUST),
    ("P0560", "P0563", "supply voltage", _S.CHARGING_STARTING),
    ("P0600", "P06FF", "control unit and its outputs", None),
    ("P0615", "P0617", "starter relay", _S.CHARGING_STARTING),
    ("P0620", "P0626", "generator control", _S.CHARGING_STARTING),
    ("P0627", "P0629", "fuel pump control", _S.FUEL_MIXTURE),
    ("P0645", "P0647", "air-conditioning clutch relay", _S.CLIMATE),
    ("P0648", "P0648", "immobiliser lamp", _S.BODY_ELECTRICS),
    ("P0670", "P0684", "glow plugs", None),
    ("P0691", "P0695", "cooling fan", _S.COOLING),
    ("P0700", "P09FF", "transmission", _S.TRANSMISSION),
    ("P0A00", "P0EFF", "hybrid and electric drive", _S.HIGH_VOLTAGE),
    ("P2000", "P20FF", "air and fuel metering, exhaust treatment", None),
    ("P2002", "P2003", "particle filter", _S.EXHAUST),
    ("P2031", "P2036", "exhaust temperature signal", _S.EXHAUST),
    ("P203A", "P2062", "urea dosing", _S.EXHAUST),
    ("P2080", "P2087", "exhaust temperature signal", _S.EXHAUST),
    ("P20A0", "P20F7", "urea dosing and NOx catalyst", _S.EXHAUST),
    ("P2100", "P22FF", "throttle, pedal, mixture, exhaust sensors and boost", None),
    ("P2100", "P2140", "throttle and pedal", _S.FUEL_MIXTURE),
    ("P2170", "P2178", "throttle air flow and mixture", _S.FUEL_MIXTURE),
    ("P2177", "P2198", "mixture outside its limits", _S.FUEL_MIXTURE),
    ("P2181", "P2186", "coolant temperature signal", _S.COOLING),
    ("P2200", "P2225", "NOx sensor", _S.EXHAUST),
    ("P2231", "P2256", "oxygen sensor circuits", _S.FUEL_MIXTURE),
    ("P229E", "P22AF", "NOx sensor", _S.EXHAUST),
    ("P2300", "P23FF", "ignition coils and knock", _S.IGNITION),
    ("P2400", "P24FF", "emission controls outside the engine's metering", None),
    ("P242B", "P242F", "exhaust temperature signal and particle filter", _S.EXHAUST),
    ("P244A", "P244B", "particle filter", _S.EXHAUST),
    ("P2452", "P2463", "particle filter", _S.EXHAUST),
    ("P2457", "P2457", "exhaust gas recirculation cooler", _S.EXHAUST),
    ("P2500", "P25FF", "other inputs", None),
    ("P2500", "P2504", "generator lamp and field", _S.CHARGING_STARTING),
    ("P2600", "P26FF", "control unit and its outputs", None),
    ("P2600", "P2603", "electric coolant pump", _S.COOLING),
    ("P2700", "P27FF", "transmission", _S.TRANSMISSION),
    ("P2900", "P2BFF", "air and fuel metering", _S.FUEL_MIXTURE),
    ("P3400", "P34FF", "cylinder cut-off and its valves", None),
    ("U0000", "U00FF", "data bus wiring", None),
    ("U0100", "U02FF", "a control unit is not heard on the bus", None),
    ("U0300", "U03FF", "software of two control units does not fit", None),
    ("U0400", "U05FF", "data received that cannot be right", None),
    ("U3000", "U30FF", "control unit and its supply", None),
    ("U3003", "U3003", "battery voltage at a control unit", _S.CHARGING_STARTING),
    # B00 and C00: from memory of the standard's groups, and the code examples of its public
    # three-byte form (B0039, C0031).
    ("B0000", "B00FF", "occupant restraint", _S.RESTRAINTS),
    ("C0000", "C00FF", "brakes, wheel speed and stability", None),
    ("C0031", "C004F", "wheel speed and brake hydraulics", _S.BRAKES_WHEEL_SPEED),
)


@dataclass(frozen=True, slots=True)
class Area:
    """What a range of standard codes is about, and the part of the car where that is sure."""

    words: str
    system: System | None


def area_of(code: str) -> Area | None:
    """Find the narrowest range of the standard's codes that holds a code.

    None for maker-defined codes and for ranges that the table leaves out.

    Examples
    --------
    >>> area_of("P0217").words
    'engine too hot'
    """
    fitting = [row for row in AREAS if row[0] <= code <= row[1]]
    if not fitting:
        return None
    _, _, words, system = min(fitting, key=lambda row: int(row[1][1:], 16) - int(row[0][1:], 16))
    return Area(words, system)


FAILURE_CATEGORIES = {
    "0": "general",
    "1": "electrical circuit",
    "2": "signal",
    "3": "frequency or pulse width",
    "4": "inside the control unit",
    "5": "programming",
    "6": "algorithm",
    "7": "mechanical",
    "8": "bus message",
    "9": "component",
}
"""Failure type byte: category by the first digit; A to E reserved, F maker-defined."""

FAILURE_TYPES = {
    "00": "no further detail",
    "01": "general electrical fault",
    "02": "general signal fault",
    "03": "frequency or pulse width fault",
    "04": "fault inside the control unit",
    "05": "programming fault",
    "06": "algorithm fault",
    "07": "general mechanical fault",
    "08": "bus message fault",
    "09": "component fault",
    "11": "short to ground",
    "12": "short to battery",
    "13": "open circuit",
    "14": "short to ground or open",
    "15": "short to battery or open",
    "16": "voltage too low",
    "17": "voltage too high",
    "18": "current too low",
    "19": "current too high",
    "1A": "resistance too low",
    "1B": "resistance too high",
    "1E": "resistance out of range",
    "1F": "intermittent",
    "21": "signal too weak",
    "22": "signal too strong",
    "23": "signal stuck low",
    "24": "signal stuck high",
    "25": "wrong shape of signal",
    "26": "signal changes too slowly",
    "27": "signal changes too fast",
    "28": "zero point of the signal off",
    "29": "signal invalid",
    "2A": "signal stuck within its range",
    "2F": "signal erratic",
    "31": "no signal",
    "36": "frequency too low",
    "37": "frequency too high",
    "38": "wrong frequency",
    "46": "calibration memory fault",
    "49": "internal electronic fault",
    "4A": "wrong component fitted",
    "4B": "too hot",
    "51": "not programmed",
    "52": "not activated",
    "54": "calibration missing",
    "55": "not configured",
    "56": "configuration invalid or not matching",
    "61": "signal calculation fault",
    "62": "signals do not agree",
    "64": "signal implausible",
    "67": "signal wrong after an event",
    "71": "actuator stuck",
    "72": "actuator stuck open",
    "73": "actuator stuck closed",
    "74": "actuator slipping",
    "76": "wrong mounting position",
    "77": "commanded position not reached",
    "78": "alignment or adjustment wrong",
    "79": "mechanical linkage fault",
    "7A": "fluid leak or seal fault",
    "7B": "fluid level too low",
    "81": "invalid data received",
    "82": "message counter wrong",
    "83": "message checksum wrong",
    "84": "value received below its range",
    "85": "value received above its range",
    "86": "value received invalid",
    "87": "message missing",
    "88": "bus off",
    "8F": "messages erratic",
    "91": "outside its characteristic",
    "92": "performance or wrong operation",
    "93": "no operation",
    "94": "unexpected operation",
    "95": "wrongly assembled",
    "96": "internal fault of the component",
    "97": "operation obstructed or blocked",
    "98": "component or system too hot",
}
