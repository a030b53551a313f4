"""A vehicle entered roughly, matched to the ones the shop knows."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from kb.bounds import FIRST_YEAR
from kb.case import Vehicle, VehicleModel, same_text, tag_key
from kb.intake.grammar import with_article
from kb.intake.lifting import Doubt
from kb.intake.vehicle_list import as_vehicles, lift_generation, lines_of, year_doubt
from kb.intake.vin import check_vin
from kb.patterns import compiled

_LIKE_ENOUGH = 74
_CLEARLY = 6
_MOST_WORDS = 12
_FUELS = {
    "petrol": "petrol pet gas gasoline benzin benziner essence benzyna",
    "diesel": "diesel dsl derv gazole",
    "hybrid": "hybrid hyb hev phev hybride hybryda",
    "electric": "electric ev bev elektro elektrisch électrique electrique elektryczny",
}
FUEL_WORDS = {word: fuel for fuel, words in _FUELS.items() for word in words.split()}
_ENGINE_SIZE = compiled(r"([0-9])[.,]([0-9])(?:l|ltr|litre)?([pd]?)", re.IGNORECASE)
_BETWEEN_WORDS = compiled(r"[\s;]+|,(?![0-9])|(?<![0-9]),")
_FOUR_DIGITS = compiled(r"((?:19|20)[0-9]{2})")
_TWO_DIGITS = compiled(r"['’]?([0-9]{2})(?:plate|reg)?", re.IGNORECASE)
_PLATE_WORDS = {"plate", "reg", "my"}
_VIN_SHAPE = compiled(r"(?=.*[0-9])[A-Za-z0-9]{17}")
_REF_SHAPE = compiled(r"[A-Za-z]{1,3}-?[0-9]{2,6}")
_TAG_LIKE = compiled(r"(?=.*[0-9])(?=.*[A-Za-z])[A-Za-z0-9-]{2,8}")
_LOOK_ALIKE = str.maketrans("OQDILSBZG", "000115826")
"""Letters that are read or typed for digits."""
_LEADING_NOUGHTS = compiled(r"(?<![0-9])0+(?=[0-9])")


_NEW_TAG = "is on no car of the shop's list; taken as a new key tag"


@dataclass(frozen=True, slots=True)
class VehicleMatch:
    """What was understood of a vehicle, and where that was a guess or went beyond the list.

    `lines` are those of the shop's list of models that it may belong to. `clash` is what was told
    beside a tag or VIN and does not fit its car.
    """

    vehicle: Vehicle
    doubts: tuple[Doubt, ...] = ()
    lines: tuple[VehicleModel, ...] = ()
    clash: str | None = None


def parse_vehicle(
    text: str, known: Sequence[Vehicle] = (), models: Sequence[VehicleModel] = ()
) -> VehicleMatch:
    """Read a vehicle that somebody typed, by the cars and the list of models the shop has.

    It may be a key tag (``K031``), a VIN, or make, model, year and engine in any order, roughly
    spelt: ``corvne lido 14``, ``Corvane Lido 2016 1.4 petrol``. A tag or VIN of a known vehicle
    gives that very car; make and model only ever give its kind, never a particular car. The list's
    makes, models and engines are known before any car of them came, and a generation may be typed
    by the name it has there.

    What is not on the list is taken as typed, with a doubt that says so; so is every spelling that
    was read as another. Words that mean nothing here become doubts.

    Raises
    ------
    InvalidField
        If something shaped like a VIN holds a letter that none has.

    Examples
    --------
    >>> shop = [Vehicle(make="Corvane", model="Lido", year=2013, engine="1.4 petrol", ref="K031")]
    >>> match = parse_vehicle("corvne lido 14", shop)
    >>> match.vehicle.label, str(match.doubts[0])
    ('Corvane Lido 2014', '“corvne lido” was read as Corvane Lido')
    >>> models = [VehicleModel(make="Corvane", model="Tessel", generation="mk2", first_year=2017)]
    >>> parse_vehicle("tesel 18", shop, models).lines[0].generation
    'mk2'
    >>> parse_vehicle("k031", shop).vehicle.label
    'Corvane Lido 2013 1.4 petrol'
    >>> parse_vehicle("Zephyra 2.0 diesel", shop).doubts[0].why
    "is not on the shop's list; taken as typed"
    """
    words = [word for word in _BETWEEN_WORDS.split(text) if word]
    if not words:
        return VehicleMatch(Vehicle())
    car = _the_very_car(words, known)
    if car is not None:
        return replace(car, lines=lines_of(car.vehicle, models))
    known = [*known, *as_vehicles(models)]
    doubts: list[Doubt] = []
    vehicle = _lift_marks(words, known, doubts)
    if vehicle == Vehicle() and len(words) == 1 and _may_be_new_tag(words[0], known):
        doubts.append(Doubt(words[0], _NEW_TAG))
        return VehicleMatch(Vehicle(ref=words[0].upper()), tuple(doubts))
    engine = _lift_engine(words)
    year = _lift_year(words, _FOUR_DIGITS)
    vehicle = _lift_names(words, vehicle, known, doubts)
    named = lift_generation(words, vehicle, models)
    year = year or _lift_year(words, _TWO_DIGITS)
    vehicle = replace(vehicle, year=year or _year_of_vin(vehicle, models, doubts))
    doubts.extend(year_doubt(vehicle, models))
    if engine:
        vehicle = replace(vehicle, engine=_known_engine(engine, vehicle, known, doubts))
    if words and vehicle == Vehicle() and _TAG_LIKE.fullmatch(words[0]):
        doubts.append(Doubt(words[0], _no_tag(words[0], known)))
        del words[0]
    if words and words[0][0].isalpha() and vehicle.make is None and vehicle.model is None:
        doubts.append(Doubt(" ".join(words), "is not on the shop's list; taken as typed"))
        vehicle = replace(vehicle, make=words[0], model=" ".join(words[1:]) or None)
    elif len(words) == 1 and words[0][0].isalpha() and vehicle.make and vehicle.model is None:
        doubts.append(Doubt(words[0], "is no model on the shop's list; taken as typed"))
        vehicle = replace(vehicle, model=words[0])
    elif words:
        doubts.append(Doubt(" ".join(words), "was not understood and is left out"))
    return VehicleMatch(vehicle, tuple(doubts), named or lines_of(vehicle, models))


def is_car(text: str, known: Sequence[Vehicle], models: Sequence[VehicleModel] = ()) -> bool:
    """Whether a text names a car of the shop's list, and says nothing else.

    A tag or VIN, or make and model roughly spelt with whatever a vehicle is told with; one of the
    two alone must be spelt as on the list.

    Examples
    --------
    >>> shop = [Vehicle(make="Corvane", model="Lido", year=2013, engine="1.4 petrol", ref="K031")]
    >>> [is_car(text, shop) for text in ("corvne lido 14", "Lido", "k031", "lido dead")]
    [True, True, True, False]
    """
    words = [word for word in _BETWEEN_WORDS.split(text) if word]
    car = _the_very_car(words, known)
    if car is not None:
        return not car.doubts
    doubts: list[Doubt] = []
    _lift_engine(words)
    _lift_year(words, _FOUR_DIGITS)
    vehicle = _lift_names(words, Vehicle(), [*known, *as_vehicles(models)], doubts)
    lift_generation(words, vehicle, models)
    _lift_year(words, _TWO_DIGITS)
    is_sure = vehicle.make is not None and vehicle.model is not None
    return not words and (is_sure if doubts else vehicle != Vehicle())


def is_like_tag(word: str) -> bool:
    """Whether a word has the shape most key tags have.

    Examples
    --------
    >>> [is_like_tag(word) for word in ("K991", "lamp", "8o000")]
    [True, False, False]
    """
    return bool(_REF_SHAPE.fullmatch(word))


def resembles_car(text: str, known: Sequence[Vehicle], models: Sequence[VehicleModel] = ()) -> bool:
    """Whether a text names a car (`is_car`), or several words with a year or an engine.

    Examples
    --------
    >>> [resembles_car(text, ()) for text in ("Zephyra Bolt 2014", "red 7", "2014")]
    [True, False, False]
    """
    words = [word for word in _BETWEEN_WORDS.split(text) if word]
    return is_car(text, known, models) or (
        len(words) > 1 and bool(_lift_engine(words) or _lift_year(words, _FOUR_DIGITS))
    )


def _the_very_car(words: list[str], known: Iterable[Vehicle]) -> VehicleMatch | None:
    """Find the car whose tag or VIN was typed; other words may follow and are looked at."""
    typed = {tag_key(word) for word in words}
    for car in known:
        for mark in (car.ref, car.vin):
            if mark is not None and (key := tag_key(mark)) in typed:
                others = [word for word in words if tag_key(word) != key]
                strange = " ".join(word for word in others if not _fits(word, car))
                if not strange:
                    return VehicleMatch(car)
                doubt = Doubt(strange, f"does not fit {mark}, which is {with_article(car.label)}")
                clash = strange if car.make or car.model else None
                return VehicleMatch(car, (doubt,), clash=clash)
    return None


def _fits(word: str, car: Vehicle) -> bool:
    """Whether a word may be one of what is known of a car, roughly spelt."""
    typed, label = word.casefold(), car.label.casefold()
    year = _TWO_DIGITS.fullmatch(word)
    if typed in label or (year and car.year and car.year % 100 == int(year[1])):
        return True
    return typed.isalpha() and any(_likeness(typed, known) for known in label.split())


def _likeness(one: str, other: str) -> float:
    """Return how alike two spellings are, 0 to 100; 0 where they are not alike enough."""
    from rapidfuzz import fuzz  # noqa: PLC0415 - only a car that was typed needs it

    return fuzz.ratio(one, other, score_cutoff=_LIKE_ENOUGH)


def _lift_marks(words: list[str], known: Sequence[Vehicle], doubts: list[Doubt]) -> Vehicle:
    """Take a VIN or a key tag that no car of the list has out of the words."""
    vehicle = Vehicle()
    tagged = any(car.ref and _REF_SHAPE.fullmatch(car.ref) for car in known)
    for word in list(words):
        if vehicle.vin is None and _VIN_SHAPE.fullmatch(word):
            facts = check_vin(word)
            vehicle = replace(vehicle, vin=facts.vin)
            doubts.append(Doubt(word, "is on no car of the shop's list"))
            doubts.extend(facts.doubts)
            words.remove(word)
        elif vehicle.ref is None and tagged and _REF_SHAPE.fullmatch(word):
            vehicle = replace(vehicle, ref=word.upper())
            tags = " or ".join(like_tags(word, known))
            doubts.append(
                Doubt(word, f"{_NEW_TAG}; if {tags} is meant, give that" if tags else _NEW_TAG)
            )
            words.remove(word)
    return vehicle


def tag_meant(text: str | None, known: Iterable[Vehicle]) -> str | None:
    """Return the shop's tag that is meant by one however it is spelt; None if there is none.

    Examples
    --------
    >>> shop = [Vehicle(ref="K-031"), Vehicle(ref="K 5")]
    >>> tag_meant("k031", shop), tag_meant("k5", shop), tag_meant("K-32", shop)
    ('K-031', 'K 5', None)
    """
    if text is None:
        return None
    key = tag_key(text)
    tags = [car.ref for car in known if car.ref is not None and tag_key(car.ref) == key]
    return next((tag for tag in tags if same_text(tag, text)), next(iter(tags), None))


def like_tags(text: str, known: Iterable[Vehicle]) -> list[str]:
    """Return the tags that a mistyped one may be.

    Signs that look alike, noughts before a number, blanks and hyphens aside, they are the same, or
    the same but for two neighbouring digits that changed places.

    Examples
    --------
    >>> shop = [Vehicle(ref="K031"), Vehicle(ref="K032")]
    >>> like_tags("KO3I", shop), like_tags("k 31", shop)
    (['K031'], ['K031'])
    >>> like_tags("K301", shop)
    ['K031']
    """
    return _tags_looking({_looks(text), *map(_looks, _swapped(text))}, known)


def _tags_looking(looks: set[str], known: Iterable[Vehicle]) -> list[str]:
    tags = {car.ref for car in known if car.ref}
    return sorted(tag for tag in tags if _looks(tag) in looks)


def _swapped(tag: str) -> Iterator[str]:
    """Yield a tag with each two neighbouring digits the other way round."""
    for place, (one, other) in enumerate(pairwise(tag)):
        if one != other and one.isdigit() and other.isdigit():
            yield f"{tag[:place]}{other}{one}{tag[place + 2 :]}"


def _looks(tag: str) -> str:
    signs = _LEADING_NOUGHTS.sub("", re.sub(r"[\s-]", "", tag.upper()))
    return _LEADING_NOUGHTS.sub("", signs.translate(_LOOK_ALIKE))


def _may_be_new_tag(word: str, known: Sequence[Vehicle]) -> bool:
    """Whether a word that stands alone has the shape of a key tag, and is no model or make."""
    names = (name for car in known for name in (car.make, car.model))
    is_name = any(same_text(word, name) for name in names)
    known_one = _tags_looking({_looks(word)}, known)
    return bool(_REF_SHAPE.fullmatch(word)) and not is_name and not known_one


def _no_tag(text: str, known: Iterable[Vehicle]) -> str:
    tags = like_tags(text, known)
    meant = (
        f"write {' or '.join(tags)} if that is meant" if tags else "a new car's tag goes to --ref"
    )
    return f"is no key tag of the shop's, nor a make on its list, and is left out; {meant}"


def _year_of_vin(
    vehicle: Vehicle, models: Sequence[VehicleModel], doubts: list[Doubt]
) -> int | None:
    """Take the model year from the VIN: of its two, the one the list has such cars of."""
    years = check_vin(vehicle.vin).years if vehicle.vin else ()
    if not vehicle.vin or not years:
        return None
    listed = [year for year in years if lines_of(replace(vehicle, year=year), models)]
    year = listed[0] if listed else years[0]
    doubts.append(Doubt(vehicle.vin, f"says model year {year}; check it"))
    return year


def _lift_engine(words: list[str]) -> str:
    """Take size and fuel out of the words, as ``1.4 petrol``."""
    size = fuel = ""
    for word in list(words):
        match = _ENGINE_SIZE.fullmatch(word)
        if match and not size:
            size = f"{match[1]}.{match[2]}"
            fuel = fuel or {"p": "petrol", "d": "diesel"}.get(match[3].lower(), "")
        elif word.casefold() in FUEL_WORDS and not fuel:
            fuel = FUEL_WORDS[word.casefold()]
        else:
            continue
        words.remove(word)
    return f"{size} {fuel}".strip()


def _lift_year(words: list[str], pattern: re.Pattern[str]) -> int | None:
    for place, word in enumerate(words):
        match = pattern.fullmatch(word)
        if match:
            called_plate = _PLATE_WORDS.intersection(
                map(str.casefold, words[place + 1 : place + 2])
            )
            del words[place : place + 1 + len(called_plate)]
            return _whole_year(int(match[1]), word[-1].isalpha() or bool(called_plate))
    return None


def _whole_year(number: int, is_plate: bool) -> int:
    """Complete a year of two digits; on a plate, 51 to 99 stand for autumn of 2001 on.

    Common practice, no source.
    """
    if number >= FIRST_YEAR:
        return number
    if number <= 50:
        return 2000 + number
    return 1950 + number if is_plate and number <= 99 else 1900 + number


def _known_engine(
    typed: str, vehicle: Vehicle, known: Sequence[Vehicle], doubts: list[Doubt]
) -> str:
    """Find the one engine of such cars on the list that has the typed size and fuel."""
    engines = {
        car.engine
        for car in known
        if car.engine and same_text(car.model, vehicle.model) and same_text(car.make, vehicle.make)
    }
    fitting = [engine for engine in engines if set(typed.split()) <= set(engine.casefold().split())]
    if len(fitting) == 1:
        return fitting[0]
    if engines:
        why = f"is not one engine of the {vehicle.make} {vehicle.model} on the shop's list"
        doubts.append(Doubt(typed, f"{why} ({', '.join(sorted(engines))}); taken as typed"))
    return typed


Named = tuple[str | None, str | None]
"""Make and model, as far as a name tells them."""


class _Likeness(NamedTuple):
    score: float
    start: int
    end: int
    name: Named


def _lift_names(
    words: list[str], vehicle: Vehicle, known: Sequence[Vehicle], doubts: list[Doubt]
) -> Vehicle:
    """Match make and model: both together, else the model alone, else the make alone."""
    kinds = {(car.make, car.model) for car in known if car.make or car.model}
    both = {f"{make} {model}": (make, model) for make, model in kinds if make and model}
    ways: tuple[list[tuple[str, Named]], ...] = (
        list(both.items()),
        [(model, (make, model)) for make, model in kinds if model],
        [(make, (make, None)) for make in {make for make, _ in kinds} if make],
    )
    for names in ways:
        alike = _most_alike(words, names)
        if not alike:
            continue
        best, *others = alike
        typed = " ".join(words[best.start : best.end])
        rivals = sorted({_label(other.name) for other in others})
        if rivals:
            meant = " or ".join([_label(best.name), *rivals])
            doubts.append(Doubt(typed, f"may be {meant}; write make and model"))
            return vehicle
        del words[best.start : best.end]
        make, model = best.name
        if best.score < 100:
            doubts.append(Doubt(typed, f"was read as {_label(best.name)}"))
        other_make = _most_alike(words, ways[2])
        if other_make and model:
            stated = other_make[0]
            del words[stated.start : stated.end]
            if not same_text(stated.name[0], make):
                listed = with_article(make or "unknown make")
                doubts.append(Doubt(typed, f"is {listed} on the shop's list; taken as typed"))
                make = stated.name[0]
        return replace(vehicle, make=make, model=model)
    return vehicle


def _label(name: Named) -> str:
    return " ".join(part for part in name if part)


def _parts_alike(run: str, phrase: str, name: Named) -> bool:
    """Whether each part of a name is alike: one that is spelt right makes up for no other."""
    if phrase != _label(name):
        return True
    typed, meant = run.casefold().split(), phrase.casefold().split()
    length = len((name[0] or "").split())
    makes, models = (typed[:length], meant[:length]), (typed[length:], meant[length:])
    return all(_likeness(" ".join(one), " ".join(other)) for one, other in (makes, models))


def _most_alike(words: list[str], names: Iterable[tuple[str, Named]]) -> list[_Likeness]:
    """Find the name most like a run of words, and its rivals, best first; [] if none is."""
    best: dict[Named, _Likeness] = {}
    for phrase, name in names:
        length = len(phrase.split())
        for start in range(min(len(words), _MOST_WORDS) - length + 1):
            run = " ".join(words[start : start + length])
            if not any(char.isalpha() for char in run):
                continue
            score = _likeness(run.casefold(), phrase.casefold())
            if score and length > 1 and not _parts_alike(run, phrase, name):
                continue
            if score and (name not in best or score > best[name].score):
                best[name] = _Likeness(score, start, start + length, name)
    ranked = sorted(best.values(), key=lambda likeness: -likeness.score)
    most = ranked[0].score if ranked else 0
    least = most if most == 100 else most - _CLEARLY
    return [likeness for likeness in ranked if likeness.score >= least]
