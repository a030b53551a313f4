"""Why a past job was recalled or a cause is thought likely, in facts a person can check."""

from dataclasses import dataclass, replace
from functools import partial

from kb.bands.measured import kind_of
from kb.case import Cause, Complaint, DiagnosticTest, Job, same_text
from kb.intake.known_words import is_meant
from kb.intake.said_fine import said_fine
from kb.intake.wording import Wording
from kb.recall.cards import written_on
from kb.recall.features import Query, blocks
from kb.recall.index import Index, spoken
from kb.recall.naming import words_of
from kb.recall.tests_signal import name_of, outcome
from kb.recall.text_signal import TextModel, split_by_word

LEAST_SHARE = 0.03
"""A word with less than this of the likeness of two texts is not named: six are at most, and one in
thirty parts is not what made a job come first."""
LEAST_NAMING = 0.15
"""A word with less than this of the likeness to a cause's own words does not name it: a cause has
two to six words, and what is less than the part of one of them is a few letters in common."""
LEAST_PULL = 0.1
"""A word or fact that adds less than this to a cause's score is not named: it makes the cause less
than a tenth likelier."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedWord:
    """A word of the complaint and its share, 0 to 1, of the likeness of the two texts."""

    word: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """What a complaint and a past job share.

    Attributes
    ----------
    words : tuple of SharedWord
        Words of the complaint that the other text has, or nearly, the most telling first.
    codes : tuple of str
        Codes in both, then families in both as ``P03..``.
    readings : tuple of tuple of str
        Item measured on both sides, as typed now, as typed then.
    tests : tuple of tuple of str
        Test made on both sides that showed the same, at least half of the words: its name, what it
        showed now, what it showed then.
    vehicle : tuple of str
        Facts of the vehicle that are the same.
    """

    words: tuple[SharedWord, ...]
    codes: tuple[str, ...]
    readings: tuple[tuple[str, str, str], ...]
    tests: tuple[tuple[str, str, str], ...]
    vehicle: tuple[str, ...]


def why(
    complaint: Complaint, job: Job, model: TextModel, wording: Wording, *, most_words: int = 6
) -> Why:
    """Name what a complaint and a past job have in common."""
    return Why(
        words=_words(
            _tokens(complaint, model, wording),
            wording.tokens(written_on(job)),
            model,
        )[:most_words],
        codes=_codes(complaint, job),
        readings=_readings(complaint, job, wording),
        tests=_tests(complaint, job, wording),
        vehicle=_vehicle(complaint, job),
    )


def drivers(
    asked: Query, index: Index, wording: Wording, cause: int, *, most: int = 4
) -> tuple[str, ...]:
    """Name the words and facts that speak most for a cause in the linear model, strongest first."""
    tokens = _tokens(asked.complaint, index.model, wording)
    query = index.model.weigh(tokens)
    facts = index.linear.weigh(blocks(asked, wording, index.widths))
    of_words, of_facts = index.linear.pulls(query, facts, index.base.complaint, cause)
    worth = dict(zip(query[0].tolist(), of_words.tolist(), strict=True))
    pulls = split_by_word(tokens, worth)
    for name, pull in zip(facts.names, of_facts.tolist(), strict=True):
        if not name.startswith("time"):
            pulls[_fact(name)] = pulls.get(_fact(name), 0.0) + pull
    strong = sorted((name for name in pulls if pulls[name] >= LEAST_PULL), key=lambda n: -pulls[n])
    return tuple(strong[:most])


def naming_words(
    complaint: Complaint, cause: Cause, model: TextModel, wording: Wording, *, most: int = 3
) -> tuple[str, ...]:
    """Name the words of a complaint that name a cause, or nearly, the most telling first.

    What it says is fine is left out.
    """
    amiss = replace(complaint, text=said_fine(complaint.text, wording).rest)
    words = _words(_tokens(amiss, model, wording), words_of(cause, wording), model)
    return tuple(each.word for each in words[:most] if each.share >= LEAST_NAMING)


def _fact(name: str) -> str:
    """Drop the kind of a fact, its value says it: ``model lido`` is ``lido``."""
    return name.partition(" ")[2]


def _tokens(complaint: Complaint, model: TextModel, wording: Wording) -> list[str]:
    tokens = wording.tokens(spoken(complaint))
    return [*tokens, *model.read_as(tokens, partial(is_meant, wording=wording)).values()]


def _words(tokens: list[str], others: list[str], model: TextModel) -> tuple[SharedWord, ...]:
    """Return the words that carry the likeness of two texts, the most telling first."""
    asked, theirs = _weights(tokens, model), _weights(others, model)
    worth = {term: weight * theirs[term] for term, weight in asked.items() if term in theirs}
    total = sum(worth.values())
    if not total:
        return ()
    shares = {word: part / total for word, part in split_by_word(tokens, worth).items()}
    return tuple(
        SharedWord(word=word, share=share)
        for word, share in sorted(shares.items(), key=lambda each: -each[1])
        if share >= LEAST_SHARE
    )


def _weights(tokens: list[str], model: TextModel) -> dict[int, float]:
    terms, weights = model.weigh(tokens)
    return dict(zip(terms.tolist(), weights.tolist(), strict=True))


def _codes(complaint: Complaint, job: Job) -> tuple[str, ...]:
    asked = {code.code for code in complaint.codes}
    theirs = {code.code for code in job.codes}
    same = asked & theirs
    families = {code[:3] for code in asked - same} & {code[:3] for code in theirs - same}
    return (*sorted(same), *(f"{family}.." for family in sorted(families)))


def _readings(complaint: Complaint, job: Job, wording: Wording) -> tuple[tuple[str, str, str], ...]:
    pairs = (
        (now, then)
        for now in complaint.readings
        for then in Complaint.of(job).readings
        if kind_of(now, wording) == kind_of(then, wording)
    )
    return tuple((now.item, now.typed, then.typed) for now, then in pairs)


def _tests(complaint: Complaint, job: Job, wording: Wording) -> tuple[tuple[str, str, str], ...]:
    def alike(now: DiagnosticTest, then: DiagnosticTest) -> bool:
        one, other = set(outcome(now, wording)), set(outcome(then, wording))
        return name_of(now, wording) == name_of(then, wording) and (
            2 * len(one & other) >= len(one | other)
        )

    return tuple(
        (now.name, now.seen, then.seen)
        for now in complaint.tests
        for then in job.tests
        if alike(now, then)
    )


def _vehicle(complaint: Complaint, job: Job) -> tuple[str, ...]:
    one, other = complaint.vehicle, job.vehicle
    same = [
        name
        for name in ("make", "model", "engine")
        if same_text(getattr(one, name), getattr(other, name))
    ]
    if one.year is not None and one.year == other.year:
        same.append("year")
    return tuple(same)
