"""No deed, number, code or outcome of an entry vanishes: lifted, kept as words, or asked about."""

import re
from datetime import date
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import Attempt, Contact, DiagnosticTest, TroubleCode
from kb.intake.account import FixVerdict, Lift
from kb.intake.costs import PartsCost
from kb.intake.findings import Findings, find_findings
from kb.intake.lifting import Place

DAY = date(2026, 3, 2)
PARTS = [
    *(
        "starter",
        "fuel pump",
        "coil 2",
        "crank sensor",
        "door harness",
        "lambda sensor",
        "egr valve",
    ),
    *("front pads", "battery", "water pump", "wheel bearing", "alternator belt", "earth strap"),
]
VERBS = [
    "replaced",
    "renewed",
    "cleaned",
    "fitted new",
    "swapped",
    "repaired",
    "removed",
    "adjusted",
]
BEHIND = ["replaced", "renewed", "cleaned", "swapped", "repaired", "done"]
READINGS = [
    "battery 12.1 V",
    "rail pressure 250 bar",
    "2k1 coil",
    "earth drop 0.4 V",
    "draw 0,52 A",
]
CODES = ["P0335", "p0171", "B1234-13", "U0100 stored", "C1234 and P0420"]
OUTCOMES = [
    *("no better", "no change", "fixed", "all good", "still the same", "works now", "cured"),
    *("did not help", "came back", "not fixed", "ok now"),
]
FILLER = [
    *("customer waiting", "car towed in", "see photo", "parts on order", "rain all day"),
    *("looked at it", "lamp on", "noise at idle", "45 min", "parts 40.50", "91k", "3 of 4"),
]
JOINTS = [", ", "; ", ". ", " - ", " then ", " and ", ", then ", "\n", " + ", " but "]


class Said(NamedTuple):
    """A phrase of an entry: its kind, and what of it may not vanish."""

    kind: str
    words: str


deeds = st.one_of(
    st.tuples(st.sampled_from(VERBS), st.sampled_from(PARTS))
    .filter(lambda deed: deed != ("removed", "battery"))  # to be safe: no fix
    .map(" ".join),
    st.tuples(st.sampled_from(PARTS), st.sampled_from(BEHIND)).map(" ".join),
)
phrases = st.one_of(
    deeds.map(lambda words: Said("deed", words)),
    deeds.map(lambda words: Said("deed", words)),
    st.sampled_from(READINGS).map(lambda words: Said("number", words)),
    st.sampled_from(CODES).map(lambda words: Said("code", words)),
    st.sampled_from(OUTCOMES).map(lambda words: Said("outcome", words)),
    st.sampled_from(FILLER).map(lambda words: Said("filler", words)),
)
entries = st.lists(st.tuples(phrases, st.sampled_from(JOINTS)), min_size=1, max_size=6)


def _beside(found: Findings) -> list[Place]:
    """Where something is kept as words only, or asked about."""
    asked = [doubt.place for doubt in found.account.asked if doubt.place]
    return [*(lift.place for lift in found.account.kept), *asked]


def _overlaps(one: Place, other: Place) -> bool:
    return one.start < other.end and other.start < one.end


def _lifts_within(found: Findings, place: Place) -> list[Lift]:
    return [each for each in found.account.lifted if _overlaps(each.place, place)]


def _is_told(found: Findings, said: Said, place: Place, text: str) -> bool:
    """Whether what may not vanish of a phrase is a fact, kept as words, or asked about."""
    if any(_overlaps(place, each) for each in _beside(found)):
        return True
    lifts = _lifts_within(found, place)
    if said.kind == "deed":
        part = max(PARTS, key=lambda each: (each in said.words, len(each)))
        names = [
            f"{fact.component} {fact.part_maker or ''}" if isinstance(fact, Attempt) else fact.name
            for fact in (each.fact for each in lifts)
            if isinstance(fact, Attempt | DiagnosticTest)
        ]
        last = part.split()[-1]
        return any(last in name.casefold() or "coil" in name.casefold() for name in names)
    if said.kind == "code":
        return any(isinstance(each.fact, TroubleCode) for each in lifts) or _is_code_again(
            found, text, place
        )
    if said.kind == "outcome":
        return any(
            isinstance(fact, FixVerdict | Contact | DiagnosticTest)
            or (isinstance(fact, Attempt) and fact.cured is not None)
            for fact in (each.fact for each in lifts)
        )
    return True


def _numbers_told(found: Findings, text: str) -> bool:
    """Whether each number of an entry is a fact of its own, of another, kept or asked about."""
    beside = _beside(found)
    for number in re.finditer(r"[0-9]+(?:[.,][0-9]+)*", text):
        place = Place(*number.span())
        if any(_overlaps(place, each) for each in beside):
            continue
        lifts = _lifts_within(found, place)
        again = _is_code_again(found, text, place) or _is_cost_again(found, text, place)
        if not (again or any(_holds(each, number[0]) for each in lifts)):
            return False
    return True


def _is_code_again(found: Findings, text: str, place: Place) -> bool:
    """Whether a number is part of a code that is told twice."""
    words = (match for match in re.finditer(r"[\w-]+", text) if match.end() > place.start)
    return next(words)[0].upper() in {str(code) for code in found.codes}


def _is_cost_again(found: Findings, text: str, place: Place) -> bool:
    """Whether a number is that of a cost which is told once more, word for word, as *parts 40*."""
    told = f"parts {text[place.start : place.end]}"
    told_so = text[: place.end].endswith(told)
    return told_so and any(
        text[each.place.start : each.place.end].endswith(told)
        for each in found.account.lifted
        if isinstance(each.fact, PartsCost)
    )


def _holds(lift: Lift, number: str) -> bool:
    """Whether a fact has a number: a whole piece of a line only where one of its fields does."""
    fact = lift.fact
    if not isinstance(fact, Attempt | Contact | DiagnosticTest | FixVerdict):
        return True
    return re.search(rf"(?<![0-9]){re.escape(number)}(?![0-9])", _told_in(fact)) is not None


def _told_in(fact: Attempt | Contact | DiagnosticTest | FixVerdict) -> str:
    """Return what the fields of a fact hold, but for its words."""
    names = ("component", "minutes", "parts_cost", "name", "seen", "odometer_km", "on", "job")
    return " ".join(f"{getattr(fact, name, '')}" for name in names)


@settings(max_examples=150, deadline=None)
@given(entries)
def test_nothing_told_of_the_job_vanishes(drawn: list[tuple[Said, str]]) -> None:
    text, places = "", []
    for said, joint in drawn:
        places.append((said, Place(len(text), len(text) + len(said.words))))
        text += said.words + joint
    text = text.rstrip()
    found = find_findings(text, DAY)
    lost = [said.words for said, place in places if not _is_told(found, said, place, text)]
    assert not lost, (text, lost)
    assert _numbers_told(found, text), text
