"""Whether the webbing of a belt was treated with what spoils it.

A belt that has a pretensioner holds no more than its webbing does, and solvent weakens that unseen.
Water and soap may be told. All of it is common practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import WordList, list_of
from kb.safety.igniter_handling import is_renewal, is_reported, is_ruled_out
from kb.safety.igniter_words import Aside, Role, aside


def webbing_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what spoils the webbing of a belt that is kept: *washed the belt with petrol*."""
    words = [word for each in sentence for word in each.words]
    if aside(Aside.FOUND).any_in(words) or any(map(is_renewal, sentence)):
        return
    for place, clause in enumerate(sentence):
        if not list_of(WordList.WEBBING).any_in(clause.words) or is_reported(sentence, place):
            continue
        for at in range(len(clause.words)):
            found = list_of(WordList.SOLVENTS).longest(clause.words, at)
            if found and not is_ruled_out(clause, at):
                yield Piece(Role.FORCE, clause.words[at : at + found[0]]), Reason.CLEANED
