"""Measure whole entries: what of them is lifted, kept as words, asked about, lost, or bent.

The facts of ``front_door/entries.jsonl`` were written by people without sight of the parsers, so
they are compared by their words: a fact is where its words stand in the entry.

- **Lifted**: something of its kind was lifted from its words, with the right content: the code; the
  number of the reading; how the attempt fared, or the contact; the minutes, the cost.
- **Listed**: its words are on the summary as words only, within the words of a test or an attempt
  there, or, of a complaint, among those it is recalled by (all but its numbers, codes, outcomes).
- **Asked**: they are in a doubt.
- **Offered**: a doubt over its words proposes the right reading, with its item and its unit, as
  where the unit is not told: one keystroke takes it.
- **Lost**: nothing of these. Notes, conditions, positions, causes and vehicles are words, which
  the entry keeps.
- **Wrong**: lifted, but no fact of that kind stands there, or with other content.

A later hand wrote *cost* for what an entry charges, be it for parts or for work; it counts as
lifted where it was lifted as what parts cost, and is none of parts where it is of work
(``_OF_WORK``).

An entry is wholly right if nothing in it is lost or wrong, and all its codes, readings, attempts,
outcomes, contacts, tests, minutes, costs and odometers are lifted; merely listing one will not do.
A second figure takes as right too what has no place in a job by design, and stays words: what a
complaint tells of fixes, tests and contacts before this job, an outcome that is not told, and a
contact with somebody of whom nothing was heard of the car. A
third one takes as right, besides, readings that are offered: what has no unit is not assumed.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from kb.case import Attempt, Contact, DiagnosticTest, Outcome, Reading, TroubleCode
from kb.intake.account import Account, Fine, FixVerdict, Lift, as_words, likely_facts
from kb.intake.costs import PartsCost
from kb.intake.distances import Distance
from kb.intake.durations import Labour
from kb.intake.findings import find_findings
from kb.intake.items import item_key, trade_wording
from kb.intake.lifting import Doubt, Place
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import understand
from kb.intake.units import find_unit

TODAY = date(2026, 11, 26)
AS_WORDS = {"note", "condition", "position", "cause", "vehicle"}
SUPPORT: Mapping[type, set[str]] = {
    TroubleCode: {"code"},
    Reading: {"reading", "test"},
    DiagnosticTest: {"test", "reading", "outcome", "cause"},
    Attempt: {"attempt", "outcome", "cause", "test"},
    Contact: {"contact", "outcome"},
    Distance: {"odometer"},
    Labour: {"minutes"},
    PartsCost: {"parts_cost", "cost"},
    FixVerdict: {"outcome", "contact"},
    str: {"condition", "note", "position", "outcome", "contact"},
}
"""Kinds of facts that may stand where something was lifted; a person may part them otherwise."""


_HELD = re.compile(r"\bheld\b|cured|fixed|gone|happy|not done it|no .* since")
_TELLS_OUTCOME = re.compile(
    r"\bheld\b|hold|cured|fixed|gone|happy|comeback|came back|return|again|remain|fail|since|fault"
)
"""A contact whose value has none of these tells only that there was one."""

_OF_WORK = re.compile(r"labour|diag|work", re.IGNORECASE)


_CHARGED = 13
"""From so many volts a battery's voltage tells its charging (common practice, no source)."""
_OF_NO_ITEM = {"now", "was", "before", "after", "still", "is"}


@dataclass(frozen=True)
class Fact:
    """A fact as a person saw it: its kind, its words and their place, and what it means."""

    kind: str
    words: str
    place: Place
    value: str


def facts_of(line: Mapping[str, Any]) -> list[Fact]:
    """Facts of a line, each with the place of its words."""
    text = line["text"].casefold()
    found = []
    for told in line["facts"]:
        words = told["words"].casefold()
        whole = re.search(rf"(?<!\w){re.escape(words)}(?!\w)", text)
        start = whole.start() if whole else text.find(words)
        place = Place(start, start + len(told["words"])) if start >= 0 else Place(0, len(text))
        found.append(Fact(told["type"], told["words"], place, told["value"].casefold()))
    return found


def numbers(text: str) -> set[float]:
    """Every number of a text, with thousands joined and without."""
    joined = re.sub(r"(?<=[0-9])[ ,.](?=[0-9]{3}(?![0-9]))", "", text)
    found = re.findall(r"[0-9]+(?:[.,][0-9]+)?", f"{text} | {joined}")
    return {float(each.replace(",", ".")) for each in found}


def fared(value: str) -> bool | None:
    """How a person says that a fix fared; None if not told, or only for a time or in part."""
    if re.search(
        r"not (?:cure|fix)|no cure|failed|not gone|remains|no (?:change|difference|effect)"
        r"|not help|not the cause|not at fault|not hold",
        value,
    ):
        return False
    if re.search(r"not (?:told|fully)|part(?:ly|ial)|unsure|for a|temporar|so far", value):
        return None
    if re.search(r"not (?:reproduced|found)|customer (?:happy|accepts)", value):
        return None
    return True


def is_only_words(fact: Fact, *, complaint: bool) -> bool:
    """Whether a fact is to stay words: no job has a place for it."""
    before = complaint and fact.kind in {"attempt", "outcome", "contact", "test"}
    silent = fact.kind == "contact" and not _TELLS_OUTCOME.search(fact.value)
    return before or silent or (fact.kind == "outcome" and fared(fact.value) is None)


def overlap(one: Place, other: Place) -> bool:
    """Whether two places share a character."""
    return one.start < other.end and other.start < one.end


def right(fact: Fact, lift: Lift) -> bool:
    """Whether something lifted from the words of a fact has its content."""
    told = lift.fact
    said = numbers(f"{fact.words} {fact.value}")
    match told, fact.kind:
        case TroubleCode(), "code":
            plain = f"{fact.value} {fact.words}".upper().replace(" ", "")
            return told.code in plain
        case Reading(value=None), "reading" | "test":
            return told.typed.casefold() in fact.words.casefold()
        case Reading(), "reading" | "test":
            return bool(numbers(told.typed) & said)
        case str(), "condition":
            return True
        case Attempt(), "attempt" | "cause" | "test":
            return True
        case Attempt(), "outcome":
            return told.cured is fared(fact.value)
        case Attempt() | DiagnosticTest() | Contact(), "minutes":
            return getattr(told, "minutes", None) in numbers(fact.value)
        case Attempt(), "parts_cost":
            return told.parts_cost in numbers(fact.value)
        case Contact(), "contact" if not _TELLS_OUTCOME.search(fact.value):
            return True
        case Contact(), "contact" | "outcome":
            held = _HELD.search(fact.value) and fared(fact.value)
            good = told.outcome in (Outcome.HELD, Outcome.OTHER_REASON)
            return good if held else told.outcome is not Outcome.HELD
        case Distance(), "odometer":
            return not {told.km, told.miles}.isdisjoint(numbers(fact.value))
        case Labour(), "minutes":
            return told.minutes in numbers(fact.value)
        case PartsCost(), "parts_cost" | "cost":
            return told.each in said and not _OF_WORK.search(f"{fact.words} {fact.value}")
        case FixVerdict(), "outcome" if fact.value in ("comeback", "held"):
            return told.cured is (fact.value == "held")
        case FixVerdict(), "outcome":
            return told.cured is fared(fact.value)
        case FixVerdict(), "contact":
            return told.cured is not ("comeback" in fact.value or "returned" in fact.value)
        case Contact(), "odometer":
            return told.odometer_km in numbers(fact.value)
        case DiagnosticTest(), _:
            return fact.kind in SUPPORT[DiagnosticTest]
    return False


def wrong(lift: Lift, facts: Iterable[Fact], must_not: Iterable[str]) -> bool:
    """Whether what was lifted is no fact, or has other content than it."""
    here = [each for each in facts if overlap(lift.place, each.place)]
    kinds = SUPPORT[type(lift.fact)]
    near = [each for each in here if each.kind in kinds]
    if not near:
        return True
    if isinstance(lift.fact, TroubleCode | Reading | Distance | Labour | PartsCost | FixVerdict):
        return not any(right(each, lift) for each in near)
    if isinstance(lift.fact, Attempt):
        told = [fared(each.value) for each in facts if each.kind in ("outcome", "contact")]
        bent = lift.fact.cured is True and (True not in told or "cured" in must_not)
        bent |= lift.fact.cured is False and told != [] and False not in told and None not in told
        return bent
    if isinstance(lift.fact, Contact):
        held = lift.fact.outcome is Outcome.HELD
        return held and not any(_HELD.search(each.value) and fared(each.value) for each in near)
    return False


def state(fact: Fact, told: Account, text: str, *, complaint: bool) -> str:
    """Lifted, offered, listed, asked or lost."""
    here = [lift for lift in told.lifted if overlap(lift.place, fact.place)]
    if any(right(fact, lift) for lift in here):
        return "lifted"
    doubts = [each for each in told.asked if each.place and overlap(each.place, fact.place)]
    if any(is_offered(fact, each) for doubt in doubts for each in proposed(doubt)):
        return "offered"
    if doubts:
        return "asked"
    listed = any(overlap(each.place, fact.place) for each in told.kept)
    within = any(
        isinstance(lift.fact, Attempt | DiagnosticTest | Contact | FixVerdict | str)
        for lift in here
    )
    as_words = complaint and not likely_facts(text[slice(*fact.place)])
    if listed or within or as_words or fact.kind in AS_WORDS:
        return "listed"
    return "lost"


def is_offered(fact: Fact, told: Reading) -> bool:
    """Whether a reading that a doubt offers has the number, the unit and the item of a fact.

    A person may tell the item by other words; one of them, or of those it is short for, will do.
    """
    if not right(fact, Lift(told, fact.place)):
        return False
    meant = f"{fact.words} {fact.value}"
    unit = re.sub(r"[-+0-9.,/ ]+", "", told.typed).casefold()
    units = re.findall(r"[^\W\d_]+|[%°ω]+", meant)
    same_unit = not any(known_unit(each) for each in units) or any(
        known_unit(each) == known_unit(unit) for each in units
    )
    words = set(re.findall(r"[^\W\d_]+(?:/[^\W\d_]+)?", meant))
    names_none = not words - _OF_NO_ITEM - {each for each in words if known_unit(each)}
    named = {*told.item.split(), *item_key(told.item, trade_wording()).split()}
    if "battery" in named and (told.value or 0) >= _CHARGED:
        named |= {"charging"}
    begun = any(one.startswith(other[:4]) for one in named for other in words if len(other) > 1)
    return same_unit and (begun or names_none)


def known_unit(text: str) -> str | None:
    """Return the symbol of a unit, however it is spelt; None of any other word."""
    unit = find_unit(text.replace("ω", "Ω"))
    return unit.symbol if unit else None


def proposed(doubt: Doubt) -> list[Reading]:
    """Readings that a doubt offers to write."""
    return [parse_reading(text) for text in re.findall("write “(.+?)” if", doubt.why)]


def account_of(line: Mapping[str, Any]) -> Account:
    """What the program makes of an entry; what is said to be well stays words in a job."""
    if line["kind"] == "complaint":
        return as_words(understand(line["text"]).account, (Fine,), line["text"])
    return find_findings(line["text"], TODAY).account


def measure(entries: Iterable[Mapping[str, Any]], *, amiss: bool = False) -> None:
    """Print how many facts are lifted, listed, asked and lost, and how many entries are right.

    With `amiss` also each that is lost or wrong.
    """
    states: Counter[tuple[str, str]] = Counter()
    lifted = bent = whole = fit = told_all = sound = total = 0
    for line in entries:
        told, facts = account_of(line), facts_of(line)
        complaint = line["kind"] == "complaint"
        found = [(fact, state(fact, told, line["text"], complaint=complaint)) for fact in facts]
        mistakes = [lift for lift in told.lifted if wrong(lift, facts, line["must_not"])]
        states.update((fact.kind, how) for fact, how in found)
        lifted, bent, total = lifted + len(told.lifted), bent + len(mistakes), total + 1
        sound += not mistakes and all(how != "lost" for _, how in found)
        whole += not mistakes and all(
            how == "lifted" or (fact.kind in AS_WORDS and how != "lost") for fact, how in found
        )
        open_ones = {
            how
            for fact, how in found
            if how == "lost"
            or not (fact.kind in AS_WORDS or is_only_words(fact, complaint=complaint))
        }
        fit += not mistakes and open_ones <= {"lifted"}
        told_all += not mistakes and open_ones <= {"lifted", "offered"}
        if amiss:
            for lift in mistakes:
                print(f"wrong  {line['text']}\n       {lift.fact}")
            for fact in (fact for fact, how in found if how == "lost"):
                print(f"lost   {line['text']}\n       {fact.kind}: {fact.words}")
    lost = sum(count for (_, how), count in states.items() if how == "lost")
    print(f"entries   {whole} of {total} wholly right, {sound} with nothing lost or wrong")
    print(f"  {fit} right with what is to stay words, {told_all} with readings offered as well")
    print(f"  {lost} of {states.total()} facts lost, {bent} of {lifted} lifted are wrong")
    for kind in sorted({kind for kind, _ in states}):
        ways = (
            f"{states[kind, how]} {how}" for how in ("lifted", "offered", "listed", "asked", "lost")
        )
        print(f"  {kind:<11}{', '.join(ways)}")
