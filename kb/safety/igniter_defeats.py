"""What hides a fault of the restraints instead of mending it: then they may not work in a crash.

A resistor that stays in a bag's place, a bag coded away, the lamp's bulb taken out, a shorting bar
cut off. Judged by whole sentences, for what makes it one is often said behind a comma. All of it is
common practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_words import Aside, Role, aside, words_in

_NEAR = 4
"""So many pieces may stand between a verb and the lamp."""
_PARTS = frozenset([Role.IGNITER, Role.SHARED, Role.CONTACT, Role.IN_PLACE])


def defeats_in(sentence: Sequence[Clause]) -> Iterator[Piece]:
    """Yield what hides a fault."""
    stays = any(_stays(clause) for clause in sentence)
    watched = any(Role.SCAN in clause.roles for clause in sentence)
    for clause in sentence:
        if aside(Aside.FORBID).any_in(clause.words):
            continue
        for at, piece in enumerate(clause.pieces):
            if piece.role is Role.DEFEAT or _is_lamp_undone(clause, at) or _is_bar_undone(clause, at):
                yield piece
            elif piece.role is Role.SUBSTITUTE and (stays or _is_bare(clause, piece) > watched):
                yield piece


def is_undone(sentence: Sequence[Clause], told: Sequence[Clause]) -> bool:
    """Whether others did it, and it was put right or refused: *found ..., removed*.

    Parameters
    ----------
    sentence : sequence of Clause
        That tells of it.
    told : sequence of Clause
        With all that follows: it may be put right in another sentence.
    """
    words, rest = ([word for each in some for word in each.words] for some in (sentence, told))
    found, others = (aside(each).any_in(words) for each in (Aside.FOUND, Aside.OTHERS))
    refused, righted = (aside(each).any_in(rest) for each in (Aside.REFUSAL, Aside.RIGHTED))
    return (found and (refused or righted)) or (others and refused)


def _stays(clause: Clause) -> bool:
    """Whether something is left on the car: *left in*, *for good*, *handed back*."""
    for at, piece in enumerate(clause.pieces):
        if piece.text == "left":
            following = clause.pieces[at + 1] if at + 1 < len(clause.pieces) else None
            if following and (
                following.role in {Role.SUBSTITUTE, Role.IN_PLACE} or following.text in _LEFT_WHAT
            ):
                return True
    return aside(Aside.STAYS).any_in(clause.words)


_LEFT_WHAT = frozenset(["a", "the", "my", "our", "it", "in", "like", "them", "there", "as", "that"])


def _is_bare(clause: Clause, piece: Piece) -> bool:
    """Whether a plain resistor, not a load made for testing, stands in the igniter's place."""
    bare = aside(Aside.BARE).any_in(piece.words) and not words_in(Aside.MADE_FOR_IT) & (
        clause.vocabulary
    )
    return bare and bool(_PARTS & clause.roles)


def _is_lamp_undone(clause: Clause, at: int) -> bool:
    """Whether the warning lamp is taken out, cut off, covered, or wired to another."""
    pieces = clause.pieces
    words = set(pieces[at].words)
    if not words & words_in(Aside.LAMPS) or words_in(Aside.MENDED) & clause.vocabulary:
        return False
    before = [p for p in pieces[max(0, at - _NEAR) : at] if p.role is not Role.ONTO]
    verb = aside(Aside.TAKING).any_in([w for p in before for w in p.words])
    passive = [w for p in pieces[at : at + _NEAR] for w in p.words if w not in _COPULA]
    taken = aside(Aside.TAKEN).any_in(passive[:4]) and not verb
    covered = {Role.ONTO} & {p.role for p in pieces[max(0, at - _NEAR) : at]}
    return (verb and not _is_condition(pieces, at)) or taken or bool(
        covered and words_in(Aside.COVERING) & clause.vocabulary
    )


_COPULA = frozenset(["was", "is", "been", "has", "had", "got", "were", "the", "of", "from"])


def _is_condition(pieces: Sequence[Piece], at: int) -> bool:
    """Whether another part stands between the verb and the lamp: *unplugged the bag, lamp on*."""
    return any(p.role in {Role.IGNITER, Role.CONTACT} for p in pieces[max(0, at - 1) : at])


def _is_bar_undone(clause: Clause, at: int) -> bool:
    """Whether a shorting bar is cut or bent away."""
    piece = clause.pieces[at]
    if piece.role is not Role.HARMLESS or not piece.text.startswith(_BARS):
        return False
    words = [word for each in clause.pieces[max(0, at - _NEAR) : at] for word in each.words]
    return aside(Aside.CUTTING).any_in(words)


_BARS = ("shorting", "short bar", "kurzschluss", "barrette", "lamelle")
