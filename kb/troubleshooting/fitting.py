"""Where a test of the trade's table fits: the kind of trouble, and the suspects it can speak of."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import lru_cache

from kb.case import Cause, FailureMode, Job, LinkKind, Reading, System, TroubleCode
from kb.intake.said_fine import said_fine
from kb.intake.spelling import mended
from kb.intake.subjects import works_and_yet
from kb.intake.wording import Wording
from kb.safety.igniter_concern import about_igniter
from kb.troubleshooting.circuit import kind_of
from kb.troubleshooting.general_tests import GeneralTest, TroubleSign, WordedAt, general_tests

DANGEROUS = frozenset([System.RESTRAINTS, System.HIGH_VOLTAGE])
"""Systems on which a test is first made safe."""
HIGH_VOLTAGE = "high voltage"
"""The sign of a job whose parts may carry it: its guard says so, whatever its words."""
INSULATION = "insulation"
"""The sign of a fault of the insulation; without high voltage on the job it is none."""
ESCAPING_FUEL = "escaping fuel"
"""The sign of a car where nothing may run, be switched or driven until a leak is excluded."""
LATE_START = "late start"
"""The sign of an engine that is cranked well and starts late."""
_MOST_BETWEEN = 3
"""Words that may stand between a word of a sign and one that must be near it."""
NO_TROUBLE = frozenset(["diesel", "comes and goes"])
"""Signs of an engine, and of when trouble shows: they call for nothing by themselves."""
_NONE: frozenset[str] = frozenset()
_WITHIN = frozenset(
    [
        FailureMode.WORN,
        FailureMode.BLOCKED,
        FailureMode.SEIZED,
        FailureMode.OPEN,
        FailureMode.HIGH_RESISTANCE,
    ]
)
"""Ways of failing that cannot be seen from outside a closed part."""


def signs_of(job: Job, wording: Wording) -> frozenset[str]:
    """Tell what kinds of trouble a job shows, by the names the table gives them.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="loses coolant, no drips")
    >>> signs_of(job, Wording.default())
    frozenset({'loss'})
    """
    texts = (job.complaint, job.conditions or "", job.vehicle.engine or "")
    return signs_told(texts, job.codes, job.readings, wording)


def signs_told(
    texts: Sequence[str],
    codes: Sequence[TroubleCode],
    readings: Iterable[Reading],
    wording: Wording,
) -> frozenset[str]:
    """Tell what kinds of trouble some texts show, with the codes and readings beside them."""
    told = " ".join(["code", *(code.code for code in codes)]) if codes else ""
    known = _sign_words(wording)
    words = [
        list(mended(wording.tokens(text), known, wording))
        for text in (*texts, told, *(each.item for each in readings))
    ]
    text = ", ".join(filter(None, texts))
    working = said_fine(text, wording).working
    also = {LATE_START} if works_and_yet(text, wording) else set[str]()
    return frozenset(
        name
        for name, entries in general_tests().signs.items()
        if name in also
        or any(
            _is_told(each, words, wording)
            and not _stands(each.unless, words, wording)
            and (each.works is None or each.works in working)
            for each in entries
        )
    )


@lru_cache(maxsize=4)
def _sign_words(wording: Wording) -> frozenset[str]:
    """Return every word that signs are told by, or denied."""
    entries = [each for entries in general_tests().signs.values() for each in entries]
    told = (word for each in entries for word in (*each.words, *each.near, *each.unless))
    return frozenset(token for phrase in told for token in wording.tokens(phrase))


def fits(general: GeneralTest, signs: frozenset[str]) -> bool:
    """Whether a test may be offered for this kind of trouble at all."""
    if general.only_for and signs.isdisjoint(general.only_for):
        return False
    if ESCAPING_FUEL in signs and not general.still:
        return False
    return signs.isdisjoint(general.not_for)


def leads(general: GeneralTest, signs: frozenset[str]) -> bool:
    """Whether a test comes first at this kind of trouble, whatever is suspected."""
    return fits(general, signs) and not signs.isdisjoint(general.leads)


def leading_tests(signs: frozenset[str]) -> tuple[GeneralTest, ...]:
    """Return the tests that come first at this kind of trouble, in their order.

    Examples
    --------
    >>> [test.name for test in leading_tests(frozenset(["escaping fuel"]))]
    ['fuel leak search']
    """
    return tuple(test for test in general_tests().test if leads(test, signs))


def lacks(part: str, signs: frozenset[str], wording: Wording) -> bool:
    """Whether a car with these signs has no such part, or what is named is done to none.

    Examples
    --------
    >>> electric = frozenset(["electric compressor"])
    >>> lacks("adjusted compressor clutch", electric, Wording.default())
    True
    """
    table = general_tests().lacks
    missing = (name for sign in sorted(signs & table.keys()) for name in table[sign])
    return _stands(missing, [wording.tokens(part)], wording)


def how_at(general: GeneralTest, parts: Iterable[str], wording: Wording) -> str:
    """Return what to do for a test at some parts: what is written for such parts, if for all.

    Examples
    --------
    >>> look = next(each for each in general_tests().test if each.name == "visual check")
    >>> "coils" in how_at(look, ["coil spring"], Wording.default())
    True
    >>> how_at(look, ["seat connector"], Wording.default()) == look.how
    True
    """
    found = (each.how if each else general.how for each in _worded_at(general, parts, wording))
    return " ".join(dict.fromkeys(found)) or general.how


def cautions_there(general: GeneralTest, parts: Iterable[str], wording: Wording) -> tuple[str, ...]:
    """Return the cautions of a test that are written for some parts only.

    Examples
    --------
    >>> leak = next(each for each in general_tests().test if each.name == "leak test")
    >>> [len(cautions_there(leak, [part], Wording.default())) for part in ("tyre", "condenser")]
    [0, 1]
    """
    told = (each.cautions for each in _worded_at(general, parts, wording) if each)
    return tuple(dict.fromkeys(line for lines in told for line in lines))


def _worded_at(
    general: GeneralTest, parts: Iterable[str], wording: Wording
) -> Iterator[WordedAt | None]:
    """Yield what is written of a test for each part, None where nothing is."""
    for part in parts:
        named = [wording.tokens(part)]
        plain = kind_of(part, wording) is LinkKind.COMPONENT
        fit = (each for each in general.worded if plain and _stands(each.parts, named, wording))
        yield next(fit, None)


def is_of(general: GeneralTest, parts: Iterable[str], wording: Wording) -> bool:
    """Whether a test of the trade is made at one of some parts, or at whatever part.

    Examples
    --------
    >>> cooling = next(each for each in general_tests().test if each.name == "pressure test")
    >>> [is_of(cooling, [part], Wording.default()) for part in ("radiator", "air mass meter")]
    [True, False]
    """
    return not general.parts or names_part(
        general, [wording.tokens(part) for part in parts], wording
    )


def names_part(general: GeneralTest, texts: list[list[str]], wording: Wording) -> bool:
    """Whether texts name a part of a test, and none that it is not made on."""
    named = _stands(general.parts, texts, wording)
    return named and not _stands(general.never, texts, wording)


def speaks_of(
    general: GeneralTest, cause: Cause, wording: Wording, signs: frozenset[str] = _NONE
) -> bool:
    """Whether a test can tell anything of a suspect; how it fails may not be known.

    `signs` are the kinds of trouble that the job shows.

    Examples
    --------
    >>> pump = Cause(component="water pump", failure_mode=FailureMode.LEAKING)
    >>> drop = next(each for each in general_tests().test if each.name == "pressure test")
    >>> speaks_of(drop, pump, Wording.default())
    True
    """
    mode = cause.failure_mode
    if mode in general.blind:
        return False
    if general.shows and mode not in (*general.shows, FailureMode.UNKNOWN):
        return False
    component = wording.tokens(cause.component)
    if _is_within(cause) and _is_closed(general, component, cause, wording):
        return False
    if general.parts and not _stands(general.parts, [component], wording):
        return False
    return may_be_made(general, cause, wording, signs)


def _is_within(cause: Cause) -> bool:
    """Whether what failed cannot be seen from outside: in an igniter it never can."""
    unknown = cause.failure_mode is FailureMode.UNKNOWN
    return cause.failure_mode in _WITHIN or (unknown and about_igniter([cause.component]))


def _is_closed(general: GeneralTest, component: list[str], cause: Cause, wording: Wording) -> bool:
    """Whether the table calls a part closed; a plug or a wire of one is not."""
    of_its_own = kind_of(cause.component, wording) not in (LinkKind.CONNECTOR, LinkKind.HARNESS)
    return of_its_own and _stands(general.closed, [component], wording)


def may_be_made(
    general: GeneralTest, cause: Cause, wording: Wording, signs: frozenset[str] = _NONE
) -> bool:
    """Whether the table lets a test be made on the part of a cause at all, where it sits."""
    if HIGH_VOLTAGE in signs and is_of_plugs(general) and is_driven(cause, wording):
        return False
    if is_never_on(general, cause.component, wording):
        return False
    return not _stands(general.never_at, [wording.tokens(cause.location or "")], wording)


def is_never_on(general: GeneralTest, part: str, wording: Wording) -> bool:
    """Whether the table says that a test is never made on a part.

    Examples
    --------
    >>> clamp = next(each for each in general_tests().test if each.name == "hose clamped")
    >>> is_never_on(clamp, "brake hose", Wording.default())
    True
    """
    return _stands(general.never, [wording.tokens(part)], wording)


def is_driven(cause: Cause, wording: Wording) -> bool:
    """Whether the part of a cause is one that a hybrid or an electric car drives by high voltage.

    Examples
    --------
    >>> compressor = Cause(component="air conditioning compressor", failure_mode=FailureMode.WORN)
    >>> is_driven(compressor, Wording.default())
    True
    """
    driven = general_tests().high_voltage.driven
    return _stands(driven, [wording.tokens(cause.component)], wording)


def is_of_plugs(general: GeneralTest) -> bool:
    """Whether a test is made on plugs and wires, not only looked at, and nothing isolates them."""
    electric = not {LinkKind.HARNESS, LinkKind.CONNECTOR}.isdisjoint(general.at)
    return electric and not (general.first or general.needs)


def _is_told(sign: TroubleSign, texts: Sequence[list[str]], wording: Wording) -> bool:
    """Whether a word of a sign stands in one of the texts, and near it what must be."""
    if not sign.near:
        return _stands(sign.words, texts, wording)
    return any(
        0 < abs(one - other) <= _MOST_BETWEEN + 1
        for words in texts
        for one in _places(sign.words, words)
        for other in _places(sign.near, words)
    )


def _places(single: Collection[str], words: Sequence[str]) -> list[int]:
    return [place for place, word in enumerate(words) if word in single]


def has_word(part: str, words: Iterable[str], wording: Wording) -> bool:
    """Whether one of these words stands in the name of a part.

    Examples
    --------
    >>> has_word("fuse box terminal", ["fuse box"], Wording.default())
    True
    """
    return _stands(words, [wording.tokens(part)], wording)


def longest_word(text: str, words: Iterable[str], wording: Wording) -> str | None:
    """Return the longest of some words of parts that stands in a text, if any does.

    Examples
    --------
    >>> longest_word("wet round the fuel pump flange", ["fuel pump", "pump flange", "fuel"],
    ...              Wording.default())
    'pump flange'
    """
    told = [wording.tokens(text)]
    found = (word for word in words if _stands([word], told, wording))
    return max(found, key=len, default=None)


def _stands(phrases: Iterable[str], texts: Iterable[list[str]], wording: Wording) -> bool:
    """Whether one of these phrases stands word for word in one of the texts."""
    spaced = [f" {' '.join(words)} " for words in texts]
    return any(
        f" {' '.join(wording.tokens(phrase))} " in text for phrase in phrases for text in spaced
    )
