"""What was done on a card, read from its words, and which of it was the repair."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from kb.case import Action, FailureMode, Job, even
from kb.intake.failure_words import failure_mode
from kb.intake.findings import find_findings, find_work
from kb.intake.outcome_words import OutcomeClause, WordRole, clauses
from kb.intake.outcomes import judge_attempt
from kb.intake.part_names import is_name as reads_as_name
from kb.patterns import compiled

Fix = tuple[Action, str]
"""What was done, and the component in small letters."""
SAID_ELSEWHERE = 2
"""A name on so many cards is a name, and no slip in reading one of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRead:
    """Something done, as it was read, and the words it rests on.

    `withheld` tells that these are not to be shown, so that nobody is to repeat it.
    """

    action: Action
    component: str
    words: str
    withheld: bool = False

    @property
    def fix(self) -> Fix:
        """What was done, and to what."""
        return self.action, even(self.component)


@dataclass(frozen=True, slots=True, kw_only=True)
class CardRead:
    """A card without a cause: what was done on it as it was read, in order, and how it had failed.

    `mode` is the first way of failing that its words tell, None if they tell none.
    """

    number: int
    works: tuple[WorkRead, ...]
    mode: FailureMode | None


def read_card(job: Job) -> CardRead:
    """Read what was done from a job's attempts, or else from its notes, or else its complaint."""
    texts = [text for text in (job.notes, job.complaint) if text]
    works = tuple(
        WorkRead(action=each.action, component=each.component, words=each.words or each.label)
        for each in job.attempts
    )
    for text in texts:
        works = works or _works_in(text)
    modes = [found[0] for text in texts if (found := failure_mode(text))]
    return CardRead(number=job.number or 0, works=works, mode=modes[0] if modes else None)


def _works_in(text: str) -> tuple[WorkRead, ...]:
    return tuple(
        WorkRead(action=action, component=name, words=text[slice(*place)])
        for action, listed, place in find_work(text)
        for name in _parts_listed(listed)
    )


def _parts_listed(components: str) -> tuple[str, ...]:
    """Return the parts of a list that something was done to at once.

    Examples
    --------
    >>> _parts_listed("brake disc, pair and pads"), _parts_listed("bush outside the gaiter")
    (('brake disc', 'pads'), ('bush outside the gaiter',))
    """
    named = [each for each in map(str.strip, _JOINT.split(components)) if each]
    first, *others = named or [components]
    return first, *(each for each in others if each not in _HOW_MANY and is_name(each))


@lru_cache(maxsize=1 << 16)
def is_name(component: str) -> bool:
    """Whether a component is named as parts are; kept, for each answer asks it of every card."""
    return reads_as_name(component)


def names_said(cards: Iterable[CardRead]) -> Mapping[str, int]:
    """Count on how many cards each component was read."""
    return Counter(name for card in cards for name in {each.fix[1] for each in card.works})


def tried_before(card: CardRead, repair: WorkRead) -> tuple[WorkRead, ...]:
    """Return what was done to parts before the repair, each once: tried in vain, most likely."""
    before = card.works[: card.works.index(repair)] if repair in card.works else ()
    apart = (each for each in before if each.words != repair.words)
    found = {each.fix: each for each in apart if is_name(each.component)}
    return tuple(each for fix, each in found.items() if fix != repair.fix)


def cure_told(job: Job, repair: WorkRead, today: date) -> str | None:
    """Return the words by which a card tells that the repair cured; None where it tells nothing."""
    for text in (job.notes, job.complaint):
        found = find_findings(text, today) if text else None
        for each, place in (
            zip(found.attempts, found.places["attempts"], strict=True) if found else ()
        ):
            if text and each.cured and each.fix == repair.fix:
                return text[slice(*place)]
    return None


def failure_told(job: Job, card: CardRead, repair: WorkRead) -> str | None:
    """Return the words by which a card tells that the repair did not cure, None without such.

    They stand right behind it, or begin the next sentence, before anything else that was done, and
    compare with before, of nothing but the fault: *no change*, *lamp still on*, *back again*. Words
    of trouble alone are of what was found, and *the old one kept* is of a part.

    Examples
    --------
    >>> from kb.case import Vehicle
    >>> def told(notes: str) -> str | None:
    ...     job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="lamp on", notes=notes)
    ...     card = read_card(job)
    ...     return failure_told(job, card, card.works[-1])
    >>> told("cleaned seat connector, no change. customer waits")
    'no change'
    >>> told("cleaned seat connector. pins green, lamp on")
    """
    others = [work.words for work in card.works if work.fix != repair.fix]
    for text in filter(None, (job.notes, job.complaint)):
        at = text.find(repair.words)
        if at < 0:
            continue
        start = at + len(_done_in(repair))
        ends = (text.find(words, start) for words in others)
        behind = text[start : min((end for end in ends if end >= 0), default=len(text))]
        for sentence in _SENTENCE.split(behind)[:_SENTENCES]:
            told = next((part for part in sentence.split(",") if part.strip()), "")
            if judge_attempt(told) is False and _as_before(clauses(told)):
                return told.strip(" ;:-")
    return None


def _as_before(told: Sequence[OutcomeClause]) -> bool:
    """Whether words tell that all is as it was, and speak of nothing else."""
    return any(each.has(*_AS_BEFORE) for each in told) and not any(each.strange for each in told)


def _done_in(repair: WorkRead) -> str:
    """Return a work's words up to its component, where they tell it behind what was done."""
    end = repair.words.casefold().find(repair.component.casefold())
    return repair.words[: end + len(repair.component)] if end >= 0 else repair.words


_HOW_MANY = frozenset({"pair", "pairs", "set", "sets", "both", "all"})
"""What is told behind a part, and is none."""
_JOINT = compiled(r"[,;]|(?<!\S)(?:and|[&+])(?!\S)")
_SENTENCE = compiled(r"[.;!?\n]+\s*")
_SENTENCES = 2
"""The rest of the repair's own sentence, and one more."""
_AS_BEFORE = (
    WordRole.BAD,
    WordRole.CHANGE,
    WordRole.STILL,
    WordRole.AGAIN,
    WordRole.RETURNED,
    WordRole.BACK,
)
