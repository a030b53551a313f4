"""One line of shop talk becomes a complaint: codes, readings and conditions lifted out of it.

What is told beside the line (codes, readings, vehicle, conditions, system) wins over what the
line seems to say of the same thing.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from kb.case import (
    Complaint,
    Reading,
    System,
    TroubleCode,
    Vehicle,
    VehicleModel,
    same_text,
    tag_key,
)
from kb.intake.absences import trouble_kinds
from kb.intake.account import NOTHING_TYPED, Account, Lift, account
from kb.intake.codes import find_codes
from kb.intake.company import Company
from kb.intake.distances import Distance, find_odometers, shown_at_once
from kb.intake.faults_apart import asked_apart
from kb.intake.items import item_key, trade_wording
from kb.intake.known_words import is_known, is_trade_word
from kb.intake.lifting import Doubt, Place, blanked, is_within, merged
from kb.intake.outcomes import judge_attempt
from kb.intake.privacy import personal_data
from kb.intake.reading_search import find_readings
from kb.intake.said_fine import fine_parts, system_at_fault
from kb.intake.systems import guess_system
from kb.intake.values import prepare
from kb.intake.vehicle import parse_vehicle
from kb.intake.wording import Wording
from kb.patterns import WORD_BEGINS, compiled

# When trouble shows: the words of the trade for it (common practice, no source).
_WEATHER = (
    r"rain(?:ing|s)?|wet(?: weather)?|damp(?: weather)?|fog|snow|slush|frost|salt"
    r"|(?:cold|hot|warm|dry) (?:weather|days?|mornings?|nights?)|(?:jet |pressure )?wash(?:ing)?"
    r"|car wash|puddles?|thunderstorm"
)
_STATE = r"cold|hot|warm|wet|damp|dry|warmed up|loaded|towing|stationary|parked|driving|moving"
_DOING = (
    r"brak(?:ing|ed)|turning(?: (?:left|right|the wheel))?|accelerating|reversing|idling"
    r"|steering(?! (?:wheel|column|rack|pump|box|arm|lock))"
    r"|cruising|coasting|starting|cranking|cornering|pulling away|moving off|setting off"
    r"|slowing(?: down)?|changing gear|shifting|refuelling|filling up|moving the seat"
    r"|(?:the )?seat (?:is |was )?moved|(?:the )?engine (?:is )?(?:cold|hot|warm|off|running)"
    r"|standing still|it (?:rains|is (?:cold|hot|warm|wet|damp)|gets (?:cold|hot|warm))"
)
_WHERE = (
    r"motorway|hills?|bumps?|(?:rough|bad|bumpy|uneven) roads?|(?:(?:left|right)(?:-hand)? )?bends?"
    r"|full lock|overrun|start-?up|(?:cold|hot|first|warm|engine) starts?|idle|tickover|potholes?"
    r"|speed ?(?:bumps|humps)|cobbles|ramps?|(?:motorway|high|low) speeds?|high revs|low revs"
    r"|standstill|(?:full |heavy |part |light )?load|accel(?:eration)?|braking"
    r"|(?:full |light )?throttle"
)
_NUMBER = r"[0-9][0-9.,]*(?: ?(?:-|–|to|and) ?[0-9][0-9.,]*)? ?(?:mph|km/h|kph|rpm|° ?[CF])"
_ADVERB = r"(?:(?:only|mostly|always|just|about|around|heavy|hard|the|a|an|steady|long) )*"
_OF_OTHER_LANGUAGES = (
    r"(?:nach|bei|im) (?:dem )?(?:regen|nässe|kälte)|(?:après|apres|sous) la pluie"
    r"|(?:après|apres|par) (?:temps )?(?:de )?(?:la )?(?:pluie|humide|froid)"
    r"|(?:à )?(?:froid|chaud) seulement|(?:seulement )?à (?:froid|chaud)"
    r"|(?:nur|erst) (?:wenn |bei )?(?:kalt|warm|hei(?:ß|ss)|nass)"
    r"|(?:tylko )?na (?:zimno|ciepło|gorąco)|(?:po|w) deszczu|na zimn(?:o|ym)|kalt|zimno"
    r"|morgens|am morgen|(?:tous )?(?:le|les) matins?|(?:z )?rano"
    r"|(?:beim|bei) (?:bremsen|starten|fahren|beschleunigen|lenken)|au freinage|przy hamowaniu"
)
# Behind these a bare state tells when they show; "runs hot" and "blows warm" are the trouble.
_SHOWS = "".join(
    rf"(?<={word} )|"
    for word in (
        *("crank", "cranks", "cranking", "start", "starts", "starting", "restart", "stall"),
        *("stalls", "stalling", "misfire", "misfires", "misfiring", "cuts out", "cutting out"),
        *("dies", "rough", "lumpy", "noise", "noisy", "rattle", "rattles", "rattling", "knock"),
        *("knocks", "knocking", "squeal", "squeals", "squealing", "squeak", "squeaks", "whine"),
        *("whines", "whining", "slips", "slipping", "judder", "judders", "juddering", "tick"),
        *("hesitates", "hesitation", "hunts", "hunting", "surges", "surging", "smokes", "ticks"),
        *("ticking", "vibration", "vibrates", "grinds", "grinding", "clunks", "stiff", "shudder"),
    )
).rstrip("|")
_BARE = r"(?:hot|cold|warm|wet|damp)"
_BARE_STATE = (
    rf"(?:{_SHOWS})(?:when )?{_BARE}(?:(?: and | or |/){_BARE})?(?: only)?"
    r"(?=\s*(?:$|[,;.\n]|and\b|but\b|or\b))"
)
# Behind these a temperature tells when something switches, and not when the trouble shows.
_SWITCHES = "".join(
    rf"(?<!{word} )"
    for word in (
        *("comes on", "come on", "came on", "cuts in", "cut in", "cuts out", "kicks in", "opens"),
        *("opened", "switches on", "switches off", "goes off", "turns on", "starts to open"),
    )
)
_CONDITION = compiled(
    rf"{WORD_BEGINS}(?:{_BARE_STATE}|{_SWITCHES}at [0-9]{{1,3}} ?° ?[CF]"
    rf"|(?:at(?! [0-9.,]+ ?°)|above|over|below|under|between|from|past) {_ADVERB}{_NUMBER}"
    rf"|(?:(?<!restarts )(?<!recovers )after|in|during|following|with|from) {_ADVERB}"
    rf"(?:{_WEATHER}|{_DOING}|cold"
    r"|(?:standing|sitting)(?: overnight)?|(?:run|drive)s?"
    r"|[0-9]+ ?(?:min(?:utes?|s)?|hours?|miles|km))"
    rf"|(?:when|while|whilst|if|once) {_ADVERB}(?:{_STATE}|{_DOING})"
    rf"|(?:on|over|under|at|in|during|up) {_ADVERB}(?:{_WHERE}|{_DOING})"
    rf"|(?:cold|hot|warm) (?:re)?starts?|(?:frosty|cold|damp|wet) mornings?|(?:cold|hot|warm) idle"
    rf"|{_OF_OTHER_LANGUAGES}"
    rf"|first thing(?! (?:the|my|is|it|its|that|you|i|we)\b)(?: in the mornings?)?"
    r"|in the mornings?|overnight|uphill|downhill"
    rf")\b",
    re.IGNORECASE,
)
# Words that tell a condition, long enough that one slip leaves them plain.
_LONG_WORDS = frozenset(re.findall(r"\b[a-z]{5,}", f"{_WEATHER} {_DOING} {_WHERE}"))
_BEHIND_A_LINK = compiled(
    rf"{WORD_BEGINS}(?:on|over|under|at|in|up|when|while|after|during)"
    r"\s+((?:[a-z]+\s+){0,2}[a-z]+)",
    re.IGNORECASE,
)
_UNLESS = compiled(
    r"\b(?:not|never|except|unless|ok|okay|fine|good|normal|clears?|goes|off)[ ,]+$|n['’]?t +$",
    re.I,
)
_LONGEST_UNLESS = 8
_ABSENT = compiled(
    r"\b(?:no|without|zero|kein\w*|ohne|pas de|sans|bez|brak) (?P<what>[^\W\d_]+)[ ,]*$", re.I
)
"""What is not there when the words behind it hold: ``no misfire`` at idle."""
_LONGEST_ABSENT = 32
_STEM = len("shak")
"""Letters that two forms of a word share: ``shakes`` at 80, no ``shake`` at 120."""
_SOUND = compiled(
    r"\b(?:none|smooth|silent|steady|quiet|idles? ok|runs? (?:ok|fine|well|good|smooth))[ ,]+$",
    re.I,
)
"""Beside these nothing is wrong."""
_ENDED = compiled(
    r"\b(?:gone|away|disappear(?:s|ed)?|vanish(?:es|ed)?|quiet(?:er)?|there|better|eases?)[ ,]+$",
    re.IGNORECASE,
)
_LONGEST_ENDED = 16
_EASED = compiled(r"(?<!no )(?<!not )(?<!never )\b(?:better|quieter|eases?)$", re.IGNORECASE)
_LETTERS = compiled(r"[^\W\d_]+")
_SHORTEST_MENDED = 5
_SPAN = compiled(r"in [0-9]", re.IGNORECASE)
_NOT_ONCE = compiled(r"\b(?:not|never|no|without|cannot)\b|n['’]t\b|\bnicht\b", re.IGNORECASE)
_LONGEST_CLAUSE = 120
_ENDS_CLAUSE = compiled(r"[,;.\n]|\bbut\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Understood:
    """What a line was understood as, what was doubtful in it, and what became of its words.

    `odometer` is what it showed when the car came in: the least where several are told of one day.
    `clash` is what was told of the car and does not fit the one of that key tag or VIN.
    """

    complaint: Complaint
    notices: tuple[str, ...] = ()
    account: Account = NOTHING_TYPED
    odometer: Distance | None = None
    clash: str | None = None


def understand(
    text: str,
    *,
    codes: Sequence[TroubleCode] = (),
    readings: Sequence[Reading] = (),
    vehicle: str | None = None,
    vehicles: Sequence[Vehicle] = (),
    models: Sequence[VehicleModel] = (),
    conditions: str | None = None,
    system: System | None = None,
    wording: Wording | None = None,
) -> Understood:
    """Read one line of shop talk, codes and readings among the words.

    Codes and readings told beside the line come first; what the line says of the same code, or of
    the same item and position, is left out. The vehicle is roughly typed (see
    `kb.intake.vehicle.parse_vehicle`); without it, a key tag of one of the `vehicles` that stands
    in the line says which car it is. Without conditions they are gathered from the line, and
    without a system it is guessed from its words and codes, or left open. Without a wording there
    are the trade's words alone.

    The complaint's text is the line without its codes and readings, no other word lost. Notices
    tell what looked like a code or a reading and was left in the text, how the vehicle was read,
    faults that may be two, and personal data.

    Raises
    ------
    InvalidField
        If the vehicle holds a VIN that can be none.

    Examples
    --------
    >>> said = understand("LR door lock dead after rain, B1234-13, motor feed 4.1 V").complaint
    >>> said.text, said.conditions, [str(code) for code in said.codes]
    ('LR door lock dead after rain', 'after rain', ['B1234-13'])
    >>> [(reading.place, reading.typed) for reading in said.readings]
    [('motor feed', '4.1 V')]
    """
    lifted_codes = find_codes(text)
    lifted_readings = find_readings(text, wording, lifted_codes.lifted)
    words, known = lifted_readings.rest, wording or Wording.default()
    tag = _tag_in(words, vehicles)
    match = parse_vehicle(vehicle or tag, vehicles, models)
    all_codes = (*codes, *(code for code in lifted_codes.codes if not _is_told(code, codes)))
    all_readings = (
        *readings,
        *(
            found
            for found in lifted_readings.readings
            if not any(same_text(found.place, told.place) for told in readings)
        ),
    )
    guessed = system_at_fault(words, known, all_codes)
    guessed = guessed or _system_measured(all_readings, known)
    apart = None if system else asked_apart(words, known, guessed)
    when = tuple(_of_the_job(words, lifted_readings.doubtful))
    complaint = Complaint(
        text=words,
        codes=all_codes,
        readings=all_readings,
        vehicle=match.vehicle,
        conditions=conditions or ", ".join(when) or None,
        system=system or guessed,
    )
    taken = merged([*lifted_codes.lifted, *lifted_readings.places])
    odometers = shown_at_once(find_odometers(blanked(text, taken), bare=True, typed=text))
    at = [place for _, place in odometers]
    asked = tuple(
        doubt
        for doubt in (*lifted_codes.doubtful, *lifted_readings.doubtful)
        if doubt.place is None or not any(is_within(doubt.place, place) for place in at)
    )
    lifted = (
        *map(Lift, lifted_codes.codes, lifted_codes.places),
        *map(Lift, lifted_readings.readings, lifted_readings.places),
        *(Lift(distance, place) for distance, place in odometers),
        *(Lift(*fine) for fine in fine_parts(blanked(text, [*taken, *at]), known)),
        *(_said(words, text) for words in (*when, tag)),
    )
    told = account(text, lifted, asked, lifted_codes.lifted)
    notices = (
        *map(str, (*asked, *match.doubts)),
        *filter(None, (apart,)),
        *personal_data(text),
    )
    odometer = min((distance for distance, _ in odometers), default=None)
    return Understood(complaint, notices, told, odometer, match.clash)


def _of_the_job(words: str, doubts: Sequence[Doubt]) -> Iterator[str]:
    """Yield the conditions of a line but for those of values that stay in its words."""
    asked = [doubt.text for doubt in doubts if doubt.text in words]
    starts = [(words.index(text), len(text)) for text in asked]
    company = Company(prepare(words)) if starts else None
    places = list[Place]()
    for start, length in starts:
        behind = company.after(start + length, len(words)) if company else []
        places.append(Place(start, max([start + length, *(each.end for each in behind)])))
    yield from conditions_in(blanked(words, places))


def _system_measured(readings: Sequence[Reading], wording: Wording) -> System | None:
    """Guess the part of the car from what was measured, where no other word tells it.

    The battery is measured whatever is wrong: of it only its condition counts.
    """
    told = (
        (None if item_key(reading.item, wording) == "battery" else reading.item, reading.condition)
        for reading in readings
    )
    words = dict.fromkeys(word for each in told for word in each if word)
    return guess_system(" , ".join(" ".join(wording.tokens(word)) for word in words))


def conditions_in(text: str) -> Iterator[str]:
    """Yield the phrases that say when the trouble shows, as typed, each once.

    Examples
    --------
    >>> list(conditions_in("ABS lamp over bumps and when cold, fine when warm"))
    ['over bumps', 'when cold']
    >>> list(conditions_in("rattles on bumby roads"))
    ['on bumby roads']
    """
    seen = set()
    spelt, places = _spelt(text)
    for match in _CONDITION.finditer(spelt):
        start = places[match.start()]
        phrase = text[start : places[match.end()]]
        if phrase.casefold() not in seen and not _is_denied(text, start):
            seen.add(phrase.casefold())
            yield phrase


def _spelt(text: str) -> tuple[str, Sequence[int]]:
    """Mend slips in words that tell conditions; with the place in the text of each letter."""
    spelt, places, done = "", list[int](), 0
    for link in _BEHIND_A_LINK.finditer(text):
        for word in _LETTERS.finditer(text, *link.span(1)):
            meant = _meant(word[0].casefold())
            if meant:
                spelt += text[done : word.start()] + meant
                inside = (min(place, len(word[0]) - 1) for place in range(len(meant)))
                places += [*range(done, word.start()), *(word.start() + each for each in inside)]
                done = word.end()
    return spelt + text[done:], [*places, *range(done, len(text) + 1)]


@lru_cache(maxsize=4096)
def _meant(word: str) -> str | None:
    """Return the one word of the conditions that a word nobody knows was meant to be."""
    if len(word) < _SHORTEST_MENDED or word in _LONG_WORDS or is_trade_word(word, trade_wording()):
        return None
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - only a strange word needs it

    near = [each for each in _LONG_WORDS if each[0] == word[0] and OSA.distance(word, each) == 1]
    return near[0] if len(near) == 1 and not is_known(word, trade_wording()) else None


def _said(words: str, text: str) -> Lift:
    start = max(0, text.casefold().find(words.casefold()))
    return Lift(words, Place(start, start + len(words)))


def _is_denied(text: str, start: int) -> bool:
    """Whether the words before a condition say when the trouble does not show."""
    said = start
    while said and text[said - 1] in " ,":
        said -= 1
    before = text[max(0, start - _LONGEST_CLAUSE) : start]
    if _SPAN.match(text, start) and _NOT_ONCE.search(_ENDS_CLAUSE.split(before)[-1]):
        return True  # "could not get it to stall in 40 km"
    if _UNLESS.search(text, max(0, said - _LONGEST_UNLESS), start):
        return True
    if _SOUND.search(text, max(0, said - _LONGEST_ENDED), start) or _is_absent(text, start):
        return True
    if not _ENDED.search(text, max(0, said - _LONGEST_ENDED), start):
        return False
    told = _ENDS_CLAUSE.split(before.rstrip(" ,"))[-1]
    return judge_attempt(told) is True or _EASED.search(told) is not None


def _is_absent(text: str, start: int) -> bool:
    """Whether trouble is told to be absent under a condition: "misfire cold, no misfire when hot".

    What is missing may be the trouble itself ("no heat at idle"): so it is only what was told of
    before, or what is trouble wherever it is there.
    """
    absent = _ABSENT.search(text, max(0, start - _LONGEST_ABSENT), start)
    if absent is None:
        return False
    what = absent["what"].casefold()
    before = re.findall(r"[^\W\d_]+", text[: absent.start()].casefold())
    told = any(word[:_STEM] == what[:_STEM] for word in before)
    return told or bool(trouble_kinds(what, named=True))


def _is_told(found: TroubleCode, told: Sequence[TroubleCode]) -> bool:
    """Whether a code of the line is told beside it, perhaps with its failure type."""
    return any(
        found.code == code.code and found.failure_type in (None, code.failure_type) for code in told
    )


def _tag_in(words: str, vehicles: Sequence[Vehicle]) -> str:
    tags = {tag_key(car.ref): car.ref for car in vehicles if car.ref}
    found = map(tag_key, re.findall(r"[\w.-]*\w", words) if tags else ())
    return next((tags[word] for word in found if word in tags), "")
