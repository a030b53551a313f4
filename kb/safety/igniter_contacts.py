"""Whether contact spray went into a plug of an igniter's circuit, which is named as it is typed.

Many do it with the supply off, and records of it stay readable; it may swell the seals and leave
films that shift the ohms, and makers allow their own ways alone. All of it is common practice, no
source.
"""

from collections.abc import Iterable, Iterator, Sequence

from kb.intake.items import trade_wording
from kb.safety.igniter_acts import TARGETS
from kb.safety.igniter_clauses import Clause, clauses_of, sentences_of
from kb.safety.igniter_deeds import WordList, list_of
from kb.safety.igniter_handling import is_reported, is_ruled_out
from kb.safety.igniter_words import Aside, Role, aside

SPRAYED = (
    "contact spray may harm a plug of an igniter's circuit unseen; it is renewed, or cleaned by "
    "the manufacturer's procedure alone."
)


def sprayed_in(texts: Iterable[str]) -> Iterator[str]:
    """Yield the sentences that tell of contact spray in such a plug.

    Parameters
    ----------
    texts : Iterable of str
        Words of a job that concerns an igniter.

    Examples
    --------
    >>> list(sprayed_in(["lamp on. Seat plug cleaned with contact spray"]))
    ['Seat plug cleaned with contact spray']
    >>> list(sprayed_in(["cleaned seat connector", "window switch plug: contact spray"]))
    []
    """
    for text in texts:
        for sentence in sentences_of(text):
            if _is_sprayed(clauses_of(sentence, trade_wording())):
                yield sentence.strip()


def _is_sprayed(sentence: Sequence[Clause]) -> bool:
    """Whether a plug is named, no part beside it, and contact spray not denied or found."""
    roles = frozenset[Role]().union(*(clause.roles for clause in sentence))
    words = [word for clause in sentence for word in clause.words]
    plugged = roles & {*TARGETS, Role.CONTACT} or not _PLUGS.isdisjoint(words)
    if not plugged or Role.NEIGHBOUR in roles:
        return False
    if aside(Aside.FOUND).any_in(words) or aside(Aside.REFUSAL).any_in(words):
        return False
    return any(
        _tells_spray(clause) and not is_reported(sentence, place)
        for place, clause in enumerate(sentence)
    )


def _tells_spray(clause: Clause) -> bool:
    sprays = list_of(WordList.CONTACT_SPRAYS)
    places = (at for at in range(len(clause.words)) if sprays.longest(clause.words, at))
    return any(
        not is_ruled_out(clause, at) and not _NOT_USED & {*clause.words[at:]} for at in places
    )


_PLUGS = frozenset(["plug", "plugs", "connector", "connectors"])
_NOT_USED = frozenset(["not", "never", "nicht", "pas", "nie", "banned", "forbidden", "verboten"])
