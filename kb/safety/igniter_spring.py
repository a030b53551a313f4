"""Whether a clock spring was kept that may part as the wheel turns, and its bag with it.

One that was taped, glued or soldered, that is of unknown past or was not centred is no cure, though
the lamp goes out. Tape that keeps it from turning while it is off is none of that. All of it is
common practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import WordList, list_of
from kb.safety.igniter_handling import is_renewal, is_reported, is_ruled_out
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
    """Whether it is told as found, asked or refused, or a new one came in its place."""
    words = [word for each in sentence for word in each.words]
    told = (Aside.FOUND, Aside.REFUSAL, Aside.ASKED)
    if any(aside(each).any_in(words) for each in told):
        return True
    return any(is_renewal(each) and not _tells_past(each) for each in sentence) and not (
        list_of(WordList.UNCENTRED).any_in(words)
    )


def _tells_past(clause: Clause) -> bool:
    return any(list_of(each).any_in(clause.words) for each in (WordList.FOREIGN, _USED))


def _found(clause: Clause, sentence: Sequence[Clause]) -> tuple[str, ...]:
    """Return the words by which a clause tells it, none if it does not."""
    words = clause.words
    if uncentred := _first(clause, WordList.UNCENTRED):
        return uncentred
    centred = any("centr" in word or "zentr" in word for each in sentence for word in each.words)
    past = () if centred else _first(clause, WordList.FOREIGN) or _first(clause, _USED)
    if past and not list_of(WordList.SEEN_SO).any_in(words):
        return past
    wired = clause.roles & {Role.CONTACT, Role.HARNESS, Role.NEIGHBOUR}
    if wired or any(list_of(WordList.HELD_SO).any_in(each.words) for each in _beside(clause, sentence)):
        return ()
    return _first(clause, WordList.BOTCHES)


_USED = WordList.USED_SPRING


def _beside(clause: Clause, sentence: Sequence[Clause]) -> Iterator[Clause]:
    """Yield a clause, and the ones that go on with it: *taped, so it cannot turn*."""
    at = sentence.index(clause)
    yield clause
    yield from (each for each in sentence[at + 1 : at + 2] if each.joiner not in {",", "."})


def _first(clause: Clause, name: WordList) -> tuple[str, ...]:
    """Return the first words of a list that a clause has and that are not denied."""
    for at in range(len(clause.words)):
        found = list_of(name).longest(clause.words, at)
        if found and (name is WordList.UNCENTRED or not is_ruled_out(clause, at)):
            return clause.words[at : at + found[0]]
    return ()
