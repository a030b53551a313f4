"""A second value of an igniter that is told behind a live one, and was taken by no allowed way.

*Live value 2.3, then by hand at both pins the same* names no meter: that it is *the same* tells a
second reading, and where or by what it was had tells that no scan tool read it. Words stand in
``igniter_told.toml``, all of it is common practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import is_told_of_others
from kb.safety.igniter_told import tells
from kb.safety.igniter_words import Aside, Role, words_in


def by_hand_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what tells that a live value was had a second time, by hand or at the contacts."""
    live = False
    for place, clause in enumerate(sentence):
        if live and not is_told_of_others(sentence, place) and _is_second(clause):
            yield Piece(Role.MEASURE, clause.words), Reason.METER
        live |= clause.by_scan_tool


def _is_second(clause: Clause) -> bool:
    if clause.roles & _ELSEWHERE or words_in(Aside.DENIAL) & clause.vocabulary:
        return False
    if not tells("reached", clause) or tells("looked_at", clause):
        return False
    return Role.VALUE in clause.roles or tells("second", clause)


_ELSEWHERE = frozenset([Role.SCAN, Role.SUBSTITUTE, Role.NEIGHBOUR, Role.CLOCK_SPRING])
"""What a value is of, or by, where no igniter was measured, or where others judge it."""
