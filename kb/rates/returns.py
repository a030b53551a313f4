"""Later visits of a car: which may be for the complaint of an earlier job, and who has judged it.

A fix mostly fails by a wrong diagnosis, and then the car comes back with the same words and leaves
with another cause. Until somebody says whether it was the same fault, such a return is neither a
comeback nor proof that the fix held. No less is one that was told of an earlier job, though another
fix for something alike was on the car by then (`kb.case.LaterVisit.told_of`).
"""

import re
from collections.abc import Iterator
from datetime import date
from functools import cache, lru_cache

from kb.bands.conditions import conditions
from kb.case import Heard, LaterVisit, Outcome, RepairRecord, System, same_text, tells_of_fix
from kb.intake.said_fine import system_at_fault
from kb.intake.wording import Wording
from kb.patterns import compiled

LIKE_WORDS = 0.6
"""Share of their words that two complaints of one car have in common (Dice's coefficient) from
which they are alike: by judgement, so that two lamps or two noises are not yet the same."""
SAID_AGAIN, LEAST_SAID_AGAIN = 0.5, 2
"""Of a complaint that says it is there again, share of the shorter one's words, and how many at
least, from which the two are alike (by judgement): *gauge reads empty*, *gauge empty again*."""
_LIKE_ENDS = ("ions", "ion", "ings", "ing", "ed", "es", "s", "y", "e")
_SHORTEST_STEM = 3
_SOUND, _LAMP = "sound", "lamp"
_KIND_STEMS = {
    _SOUND: (
        "nois sound knock rattl squeal squeak whin whistl hum dron clunk clonk rumbl creak"
        " groan buz his howl grind click tick clatter bang thud roar scrap grumbl"
    ),
    _LAMP: "lamp light lit warn eml mil messag symbol",
}
_KINDS = {stem: kind for kind, stems in _KIND_STEMS.items() for stem in stems.split()}
"""Words of one kind of trouble (common practice, no source)."""
_GENERAL = frozenset(
    {
        *("front", "rear", "left", "right", "side", "cold", "hot", "warm", "wet", "rain", "morn"),
        *("speed", "idl", "start", "eng", "engin", "driv", "road", "wheel", "get", "gets", "com"),
        *("go", "stay", "under", "over", "turn", "from", "dash", "cluster"),
    }
)
"""Stems that tell where or when, and not of which fault (common practice, no source)."""
SAME_SYSTEM_DAYS = 365
"""So long after the handover a visit for the same system alone is asked about: later, most are for
another fault of it (by judgement). The same cause proved again is asked about then, too."""
_SAYS_AGAIN = compiled(
    r"\b(?:again|still|same|return(?:s|ed|ing)?|(?:came|come|comes|is|lamp|light|on|was) back"
    r"|back (?:on|again|with|in|after|as)|(?:second|third) time|no better"
    r"|not (?:fixed|cured|mended|right)|(?:as|like) (?:before|last|ever|always)"
    r"|wieder|immer noch|encore|znowu)\b",
    re.IGNORECASE,
)
"""What makes of a visit on the day of the handover a return, and what a customer says of one
(common practice, no source)."""
_FUEL = "fuel"
_WORD = compiled(r"[^\W\d_]{3,}")
_FILLERS = (
    "after again all and any are but can car comes customer does for from had has have her his its"
    " just not now off one only our out said says seems she sometimes still that the them then"
    " there they this very was were when while will with you your"
)
"""Words that tell nothing of a fault when they stand alone."""
_TELLS_NOTHING = frozenset(_FILLERS.split())
_RETURN_WORDS = (
    "back before better came car come complaint cured always day days ever fault faults fix fixed"
    " here immer issue job last like mended month months noch please problem problems repair"
    " repaired return returned returning returns right same since thing time times trouble vehicle"
    " visit week weeks wieder year years yet encore znowu fehler old défaut panne usterka"
)
_OF_RETURNS = frozenset(_RETURN_WORDS.split())
"""Words that tell of a return, and not of which fault (common practice, no source)."""


def is_told_the_same(visit: LaterVisit) -> bool:
    """Whether the customer is known to have said that it is the same fault as before."""
    return visit.told_of is not None or bool(_SAYS_AGAIN.search(visit.complaint))


def came_after(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a visit followed the handover; of two jobs of that day the later number did."""
    same_day = visit.opened == repair.closed and visit.number > repair.number
    return visit.opened > repair.closed or same_day


def left_between(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a car had left before a visit, so that it may have come back.

    Jobs of one day are mostly booked in together: one opened on the day of the handover is a return
    only where its complaint says so ("lamp on again").
    """
    if visit.opened == repair.closed and not _SAYS_AGAIN.search(visit.complaint):
        return False
    return came_after(repair, visit)


def came_early(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a car was here anew with the same complaint before it was handed over, on paper.

    Either the day of the handover is wrong or the car never left cured, unless two jobs were opened
    for one visit: only somebody who knows can tell. Jobs for the same system alone do not count, as
    a car that stands here often has two.
    """
    while_open = repair.opened < visit.opened < repair.closed
    return while_open and _is_same_complaint(repair, visit)


def may_be_back(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a visit may be a return with the same fault, for all that is known of it."""
    if came_early(repair, visit):
        return True
    return left_between(repair, visit) and alike(repair, visit)


def came_again(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a later visit is a comeback though nobody said so, as it proved the same cause.

    That it is within `SAME_SYSTEM_DAYS` of the handover and at an equal place; later, or where only
    one of the two names a place, it is to be judged. An answer that names it says what it was.
    """
    if not (_proved_the_same(repair, visit) and left_between(repair, visit)):
        return False
    named = _said_of(repair, visit)
    return Outcome.COMEBACK in named or (_is_surely_there(repair, visit) and not named)


def again_unsaid(repair: RepairRecord) -> Iterator[LaterVisit]:
    """Yield the visits that count as comebacks though nobody said so: see `came_again`."""
    for visit in repair.visits:
        if came_again(repair, visit) and not _said_of(repair, visit):
            yield visit


def came_back_on(repair: RepairRecord) -> date | None:
    """Return the day of the first comeback that counts, None where there is none.

    That it held when asked after later counts no more: the first failure is what a rate knows.
    """
    days = [each.on for each in answers(repair) if each.outcome is Outcome.COMEBACK]
    if not mended_again(repair):
        days += [each.opened for each in repair.visits if came_again(repair, each)]
    return min(days, default=None)


def is_undated(repair: RepairRecord, back: date) -> bool:
    """Whether the day of a comeback is only the last on which the fix was known to be good.

    That is the handover, or a day on which it was told to hold; of no visit that it was for.
    """
    told = answers(repair)
    good = {repair.closed, *(each.on for each in told if each.outcome is Outcome.HELD)}
    seen = {each.opened for each in repair.visits if came_again(repair, each)}
    named = {each.on for each in told if each.job and each.outcome is Outcome.COMEBACK}
    return back in good and back not in seen | named


def denied_again(repair: RepairRecord) -> Iterator[LaterVisit]:
    """Yield the visits that were surely for the same cause, though somebody said they were not.

    The answer counts, for who gave it may know more; but one of the two is likely wrong.
    """
    for visit in repair.visits:
        if _proved_the_same(repair, visit) and left_between(repair, visit):
            named = _said_of(repair, visit)
            if named and Outcome.COMEBACK not in named and _is_surely_there(repair, visit):
                yield visit


def mended_again(repair: RepairRecord) -> bool:
    """Whether the same fault was mended once more before the car left, under a later number.

    Whatever came afterwards is then told of that job, and not twice of one car.
    """
    return any(
        came_after(repair, visit)
        and not left_between(repair, visit)
        and _proved_the_same(repair, visit)
        for visit in repair.visits
    )


def _said_of(repair: RepairRecord, visit: LaterVisit) -> set[Outcome]:
    """Return what those said a visit was who named it."""
    return {each.outcome for each in answers(repair) if each.job == visit.number}


def _is_surely_there(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a cause proved again is surely the same: soon, and neither place is left open."""
    return _is_soon(repair, visit) and bool(repair.position) == bool(visit.position)


def _is_soon(repair: RepairRecord, visit: LaterVisit) -> bool:
    return (visit.opened - repair.closed).days <= SAME_SYSTEM_DAYS


def _proved_the_same(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether it proved the same cause, at no other place as far as both are known."""
    here, there = repair.position, visit.position
    same_place = not (here and there) or same_text(here, there)
    return visit.cause is not None and visit.cause == repair.cause and same_place


def alike(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a visit may be for the same complaint.

    It has a code of the same family (`kb.case.TroubleCode.family`), or its words are like (see
    `LIKE_WORDS`), or name no fault but say that it is the same again, or it proved the same cause,
    or it is about the same system (`system_of`) within `SAME_SYSTEM_DAYS` of the handover, or, so
    soon, names the part at fault or tells a part of the first complaint (`_may_be_told_of`).
    """
    told_of_earlier = visit.told_of is not None
    here = system_of(repair.system, repair.complaint)
    here = here if told_of_earlier else here or _system_of_part(repair)
    there = system_of(visit.system, visit.complaint)
    if _is_soon(repair, visit) and here is there and here not in (None, System.OTHER):
        return True
    if _is_same_complaint(repair, visit):
        return True
    return not told_of_earlier and _may_be_told_of(repair, visit)


def _system_of_part(repair: RepairRecord) -> System | None:
    """Return which system the part at fault is of, for a complaint that names none."""
    return _told_system(f"{repair.component}, {repair.location or ''}")


def system_of(recorded: System | None, complaint: str) -> System | None:
    """Return which system a job is taken to be about: the recorded one, else what its words tell.

    A job that was opened here had its words asked then; one that was imported may name none.

    Examples
    --------
    >>> system_of(None, "blower only works on top speed").value
    'climate'
    """
    return recorded or _told_system(complaint)


@lru_cache(maxsize=20_000)
def _told_system(complaint: str) -> System | None:
    return system_at_fault(complaint, _usual_wording())


@cache
def _usual_wording() -> Wording:
    return Wording.default()


def answers(repair: RepairRecord) -> list[Heard]:
    """Return what was heard of the fix since the handover, without what does not tell.

    A comeback that names its job was at the latest on the day that job was opened.
    """
    opened: dict[int | None, date] = {visit.number: visit.opened for visit in repair.visits}
    told = [each for each in repair.contacts if tells_of_fix(each, repair.closed)]
    return [
        each._replace(on=min(each.on, opened.get(each.job, each.on)))
        if each.outcome is Outcome.COMEBACK
        else each
        for each in told
    ]


def unjudged(repair: RepairRecord) -> Iterator[LaterVisit]:
    """Yield the returns for something alike of which nobody has said what they were.

    A return is judged by a contact that names it or is of that very day, and by the word that the
    fix held at it or later, unless its cause was not found, or it was for the same complaint, a
    part of it, or told to be so again: who says so later may speak of what was mended then. One
    before the handover is judged by a contact that names it alone. Where the fix is known to have
    come back there is nothing to judge. A contact that does not tell judges nothing.
    """
    if not repair.visits:
        return
    told = answers(repair)
    if any(each.outcome is Outcome.COMEBACK for each in told):
        return
    if any(came_again(repair, each) for each in repair.visits):
        return
    named = {each.job for each in told}
    days = {each.on for each in told}
    held = max((each.on for each in told if each.outcome is Outcome.HELD), default=date.min)
    for visit in repair.visits:
        judged = visit.number in named
        if not came_early(repair, visit):
            judged = judged or visit.opened in days
            judged = judged or (visit.opened <= held and not _asks_by_itself(repair, visit))
        if not judged and may_be_back(repair, visit):
            yield visit


def returned_as(repair: RepairRecord) -> Iterator[LaterVisit]:
    """Yield the visits for which comebacks may be taken that name none.

    A comeback is often told before its own job is opened, and nobody links the two. It is taken for
    a visit of that very day at which a cause was found, else for the last one until then, or the
    next one, that was for the same complaint; not for one of which somebody said what it was.
    """
    named = {each.job for each in repair.contacts}
    visits = [
        each
        for each in repair.visits
        if each.cause is not None and each.number not in named and left_between(repair, each)
    ]
    same = [each for each in visits if mended_alike(repair, each)]
    for told in answers(repair):
        if told.outcome is Outcome.COMEBACK and told.job is None:
            before = [each for each in same if each.opened <= told.on]
            after = [each for each in same if each.opened > told.on]
            of_day = [each for each in visits if each.opened == told.on]
            yield from (of_day or before[-1:] or after)[:1]


def mended_alike(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a visit was for the same complaint, and what it was for was found."""
    return visit.cause is not None and _is_same_complaint(repair, visit)


def _asks_by_itself(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether no word that the fix held says what a visit was: a job for the same complaint."""
    if visit.told_of is None:
        said = bool(_SAYS_AGAIN.search(visit.complaint)) or _may_be_told_of(repair, visit)
        return visit.cause is None or said or _is_same_complaint(repair, visit)
    return mended_alike(repair, visit)


def _is_same_complaint(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a visit was for the same complaint, by its cause, codes or words."""
    return _proved_the_same(repair, visit) or visit.kin or _is_worded_alike(repair, visit)


def _is_worded_alike(repair: RepairRecord, visit: LaterVisit) -> bool:
    here, there = _words(repair.complaint), _words(visit.complaint)
    if there <= _OF_RETURNS and _SAYS_AGAIN.search(visit.complaint):
        about = {system_of(each.system, each.complaint) for each in (repair, visit)}
        return None in about or len(about) == 1
    both = len(here & there)
    most_of_one = both >= max(LEAST_SAID_AGAIN, SAID_AGAIN * min(len(here), len(there)))
    if most_of_one and _SAYS_AGAIN.search(visit.complaint):
        return True
    return 2 * both >= LIKE_WORDS * (len(here) + len(there)) > 0


def _may_be_told_of(repair: RepairRecord, visit: LaterVisit) -> bool:
    """Whether a short complaint may be of a fault that was told, or found, in more words.

    It names the part; of two complaints one has no word of a fault that the other lacks; or it says
    *again* and has a word of the fault, or of its kind (*noise came back* of a hum), in common, or
    tells of no system at all (*still doing it*).
    """
    if not _is_soon(repair, visit):
        return False
    here, there = _stems(repair.complaint), _stems(visit.complaint)
    part = _stems(repair.component)
    if (part and part <= there) or (here and there and (here <= there or there <= here)):
        return True
    if not _SAYS_AGAIN.search(visit.complaint):
        return False
    untold = system_of(visit.system, visit.complaint) is None and not _are_of_two_kinds(here, there)
    return untold or _is_of_one_kind(here, there)


def _are_of_two_kinds(here: frozenset[str], there: frozenset[str]) -> bool:
    kinds = [{_KINDS[stem] for stem in stems if stem in _KINDS} for stems in (here, there)]
    return all(kinds) and kinds[0].isdisjoint(kinds[1])


def _is_of_one_kind(here: frozenset[str], there: frozenset[str]) -> bool:
    """Whether two complaints have a word of a fault, or its kind, in common.

    A lamp is one kind where nothing else is told of it: two lamps are two faults.
    """
    if (here & there) - _GENERAL - _KINDS.keys():
        return True
    kinds = {_KINDS[stem] for stem in here if stem in _KINDS}
    kinds &= {_KINDS[stem] for stem in there if stem in _KINDS}
    return _SOUND in kinds or (_LAMP in kinds and there <= _GENERAL | _KINDS.keys())


@lru_cache(maxsize=20_000)
def _stems(complaint: str) -> frozenset[str]:
    """Return the words of a complaint that tell of a fault, without their endings."""
    return frozenset(map(_stem, _words(complaint) - _OF_RETURNS))


def _stem(word: str) -> str:
    ends = (end for end in _LIKE_ENDS if len(word) - len(end) >= _SHORTEST_STEM)
    stem = word.removesuffix(next((end for end in ends if word.endswith(end)), ""))
    return stem[:-1] if len(stem) > _SHORTEST_STEM and stem[-1] == stem[-2] else stem


@lru_cache(maxsize=20_000)
def _words(complaint: str) -> frozenset[str]:
    told = frozenset(_WORD.findall(complaint.casefold())) - _TELLS_NOTHING
    return frozenset(_FUEL if word in _fuels() else word for word in told)


@cache
def _fuels() -> frozenset[str]:
    """Return what fuels are called: one car has one, which its owner calls now so, now *fuel*."""
    fuels = (each for each in conditions().values() if each.kind == _FUEL)
    return frozenset(word for each in fuels for word in (each.name, *each.words))
