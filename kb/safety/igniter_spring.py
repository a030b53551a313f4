"""Whether a clock spring was kept that may part as the wheel turns, and its bag with it.

One that was taped, glued or soldered, that is of unknown past or was not centred is no cure, though
the lamp goes out. Tape that keeps it from turning while it is off is none of that. All of it is
common practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import WordList, list_of
from kb.safety.igniter_handling import is_renewal, is_reported, is_ruled_out, is_sent_away
from kb.safety.igniter_words import Aside, Role, aside

_MOST_APART = 1
"""So many clauses behind its name what is done may still be done to it."""
_OTHERS = frozenset([*TARGETS, Role.NEIGHBOUR, Role.CONTACT, Role.HARNESS, Role.UNIT])


def spring_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what keeps a clock spring in the car that is no longer sound, or not centred."""
    named = [at for at, each in enumerate(sentence) if _names_it(each)]
    if not named or _is_undone(sentence):
        return
    for at in range(named[0], len(sentence)):
        clause = sentence[at]
        apart = at - max(place for place in named if place <= at)
        if is_reported(sentence, at) or apart > _MOST_APART or (apart and clause.roles & _OTHERS):
            continue
        if found := _found(clause, sentence):
            yield Piece(Role.DEFEAT, found), Reason.SPRING


def _names_it(clause: Clause) -> bool:
    return Role.CLOCK_SPRING in clause.roles


def _is_undone(sentence: Sequence[Clause]) -> bool:
    """Whether it is told as found, asked for, refused or sent away, or a new one came in."""
    words = [word for each in sentence for word in each.words]
    told = (Aside.FOUND, Aside.REFUSAL, Aside.ASKED)
    if is_sent_away(sentence) or any(aside(each).any_in(words) for each in told):
        return True
    return any(is_renewal(each) and not _tells_past(each) for each in sentence) and not (
        list_of(WordList.UNCENTRED).any_in(words)
    )


_BROKE = frozenset(["broke", "broken", "snapped", "tore", "torn", "failed", "gerissen", "casse"])
"""What came of it, told of one that was not centred."""


def _tells_past(clause: Clause) -> bool:
    return any(list_of(each).any_in(clause.words) for each in (WordList.FOREIGN, _USED))


def _found(clause: Clause, sentence: Sequence[Clause]) -> tuple[str, ...]:
    """Return the words by which a clause tells it, none if it does not."""
    words = clause.words
    uncentred = _first(clause, WordList.UNCENTRED)
    if uncentred and not any(_BROKE & each.vocabulary for each in sentence):
        return uncentred
    centred = any("centr" in word or "zentr" in word for each in sentence for word in each.words)
    sound = centred or not _NEW.isdisjoint(words)
    past = () if sound else _first(clause, WordList.FOREIGN) or _first(clause, _USED)
    if past and not list_of(WordList.SEEN_SO).any_in(words):
        return past
    if clause.roles & {Role.CONTACT, Role.HARNESS, Role.NEIGHBOUR}:
        return ()
    botched = _first(clause, WordList.BOTCHES)
    return () if _only_holds(botched, sentence) else botched


_USED = WordList.USED_SPRING
_NEW = frozenset(["stock", "shelf"])
"""Where a new one comes from: of it *used one out of stock* says that it was taken."""


def _only_holds(botched: Sequence[str], sentence: Sequence[Clause]) -> bool:
    """Whether it is tape, and the sentence tells that it keeps the spring from turning."""
    return list_of(WordList.TAPES).any_in(botched) and any(
        list_of(WordList.HELD_SO).any_in(each.words) for each in sentence
    )


def is_held_centred(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence tells no more than that tape keeps a clock spring from turning."""
    named = any(map(_names_it, sentence)) and all(each.roles.isdisjoint(_ACTS) for each in sentence)
    taped = (word for each in sentence for word in each.words)
    return named and _only_holds(tuple(taped), sentence)


_ACTS = frozenset(
    [*TARGETS, *(Role.CONTACT, Role.HARNESS, Role.UNIT, Role.LIVE, Role.INSTRUMENT, Role.MEASURE),
     *(Role.POWER, Role.BRIDGE, Role.PATH, Role.FORCE, Role.VALUE, Role.QUANTITY, Role.DEPLOY)]
)  # fmt: skip


def _first(clause: Clause, name: WordList) -> tuple[str, ...]:
    """Return the first words of a list that a clause has and that are not denied."""
    for at in range(len(clause.words)):
        found = list_of(name).longest(clause.words, at)
        if found and (name is WordList.UNCENTRED or not is_ruled_out(clause, at)):
            return clause.words[at : at + found[0]]
    return ()
