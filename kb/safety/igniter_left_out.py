"""What befell a part that the sentence leaves out: *knocked off the bench, fitted all the same*.

On a job about an igniter what is left out, or only called *it*, is the job's own part, until
another one is named. It may not go back after a fall, water or heat. All of it is common practice,
no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import WordList, is_told_of_others, list_of
from kb.safety.igniter_handling import is_asked, is_other, is_renewal, is_ruled_out, is_sent_away
from kb.safety.igniter_words import Aside, Role, aside, role_of, words_in


def befallen_in(
    sentence: Sequence[Clause], after: Sequence[Clause] = ()
) -> Iterator[tuple[Piece, Reason]]:
    """Yield falls, water and heat that befell a part left out, unless it is told not to be used.

    What the next sentence tells of it, `after`, counts.
    """
    if not sentence or _is_not_used([*sentence, *after]) or is_asked(sentence):
        return
    back = any(aside(Aside.REFITTED).any_in(each.words) for each in sentence)
    of_another = out = False
    for place, clause in enumerate(sentence):
        renewed = any(is_renewal(each) for each in (*sentence, *after) if each is not clause)
        told = () if renewed or is_told_of_others(sentence, place) else _befallen(clause, back=back)
        for at, size in told:
            if out and _is_fused(clause, at):
                continue
            named = _named(clause, at)
            if named is not False and (named or not of_another):
                yield Piece(Role.FORCE, clause.words[at : at + size]), Reason.HANDLING
        of_another = _is_of_another(clause, of_another)
        out |= bool(clause.roles & TARGETS) and aside(Aside.TAKEN_OUT).any_in(clause.words)


def _is_not_used(sentence: Sequence[Clause]) -> bool:
    """Whether the part goes, or is told not to be fitted."""
    return is_sent_away(sentence) or any(map(_is_refused, sentence))


def _is_refused(clause: Clause) -> bool:
    """Whether it is told not to be fitted; *no rattle, no codes* praise it."""
    fits = (at for at in range(1, len(clause.words)) if _fits(clause.words, at))
    return any(words_in(Aside.DENIAL) & set(clause.words[:at]) for at in fits)


def _fits(words: Sequence[str], at: int) -> bool:
    return aside(Aside.REFITTED).longest(words, at) is not None


def _befallen(clause: Clause, *, back: bool) -> Iterator[tuple[int, int]]:
    """Yield the places and lengths of words that tell a fall, water or heat, and are not denied."""
    told = clause.roles & {Role.VALUE, Role.QUANTITY, Role.SCAN}
    if told and not list_of(WordList.WARMED).any_in(clause.words):
        return
    places = range(len(clause.words))
    renewed = [at for at in places if aside(Aside.RENEWED).longest(clause.words, at)]
    for at in places:
        size = _size(clause, at, back=back)
        gone = bool(renewed) and renewed[-1] >= at + size and not _is_fused(clause, at)
        if size and not (gone or is_ruled_out(clause, at)):
            yield at, size


def _size(clause: Clause, at: int, *, back: bool) -> int:
    """Return how many words from a place on tell that something befell a part; 0 if none do."""
    words = clause.words
    kinds = [WordList.FALLS, WordList.THROWN, WordList.WARMED, *([WordList.WETTED] * back)]
    if words[at + 1 : at + 3] == ("out", "with") or words[at + 1 : at + 2] in _NO_DEEDS:
        return 0
    found = (list_of(kind).longest(words, at) for kind in kinds)
    if sizes := [match[0] for match in found if match]:
        return max(sizes)
    if _is_fused(clause, at):
        return 0 if _is_of_wires(clause) else 1
    goes = list_of(WordList.GOES).longest(words, at)
    if not goes:
        return 0
    told_before = at + goes[0] == len(words) and _ends_on_ground(("", *words[:at]))
    return goes[0] if told_before or _ends_on_ground(words[at : at + goes[0] + _FAR]) else 0


_FAR = 5
_NO_DEEDS = (("iron",), ("station",), ("asleep",), ("flat",), ("ill",), ("behind",), ("short",))
"""What follows in *soldering iron*, *fell asleep*."""


_LANDS = frozenset(["dropped", "landed", "bounced", "struck", "crashed"])


def _is_fused(clause: Clause, at: int) -> bool:
    return list_of(WordList.FUSED).longest(clause.words, at) is not None


def _ends_on_ground(words: Sequence[str]) -> bool:
    """Whether a height or the ground follows: *off the bench*, *onto the concrete*."""
    for at in range(1, len(words)):
        led = list_of(WordList.ONTO_GROUND).longest(words, at)
        if led is None and words[at] == "on" and words[0] in _LANDS:
            led = 1, WordList.ONTO_GROUND
        if led:
            behind = words[at + led[0] : at + led[0] + 3]
            return list_of(WordList.GROUND).any_in(behind)
    return False


def _is_of_wires(clause: Clause) -> bool:
    """Whether wires, a plug or the maker's kit are named, and heat is judged by other rules."""
    kit = list_of(WordList.KIT).any_in([w for w in clause.words if w != "pigtail"])
    wired = clause.roles & _WIRED or {role_of(word) for word in clause.words} & _WIRED
    return bool(wired) or kit or _is_other_in(clause)


def _named(clause: Clause, at: int) -> bool | None:
    """Whether what befell it is told of an igniter; None where that is left out."""
    before = clause.pieces[: clause.piece_at[at]]
    if list_of(WordList.OTHER).any_in(clause.words[:at]):
        return False
    if any(piece.role in {*TARGETS, Role.UNIT} for piece in before):
        return not any(piece.role in _WIRED for piece in before)
    if list_of(WordList.THROWN).longest(clause.words, at):
        return False if _names_another(before) else None
    weighty = [piece for piece in before if piece.role not in _LIGHT and not _is_height(piece)]
    thing = any(_ANY_PART.isdisjoint(piece.words) for piece in weighty[-1:])
    thing |= _names_another(weighty) or any(piece.role in _WIRED for piece in weighty)
    return False if thing or _names_another(_object(clause, at)) else None


_WIRED = frozenset([Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING])
_LIGHT = frozenset([Role.FUNCTION, Role.ONTO, Role.FORCE])
_ANY_PART = frozenset(
    ["actuator", "module", "part", "assembly", "thing", "unit", "one", "new", "spare",
     "dried", "baked", "warmed",
     "getrocknet", "seche", "puis", "got", "lying", "sitting", "standing", "left", "stood", "sat",
     "elle", "il", "ella", "ona", "ono", "es", "er", "sie", "mir", "uns", "quedo", "blev", "war",
     "wurde", "ist", "zostala", "byla", "both", "lot", "slid", "slipped", "came", "went"]
)  # fmt: skip


def _is_height(piece: Piece) -> bool:
    """Whether it is told before the verb where it fell from: *ist aus der Hand gefallen*."""
    lists = (WordList.GROUND, WordList.ONTO_GROUND)
    return any(list_of(each).any_in(piece.words) for each in lists)


def _object(clause: Clause, at: int) -> Sequence[Piece]:
    """Return the part that directly follows: *fallen trim*."""
    return clause.pieces[clause.piece_at[at] + 1 :][:1]


def _names_another(pieces: Sequence[Piece]) -> bool:
    """Whether a part is named that is no igniter's; a stud or a can may be one's."""
    return any(is_other(piece) and piece.text not in _ITS_OWN for piece in pieces)


_ITS_OWN = frozenset(["stud", "on the can", "on can"])


def _is_of_another(clause: Clause, before: bool) -> bool:
    """Whether what is left out from here on is another part than the igniter."""
    for piece in clause.pieces:
        if piece.role in {*TARGETS, Role.UNIT}:
            return False
        if piece.role in _WIRED or _names_another([piece]):
            return True
    return list_of(WordList.OTHER).any_in(clause.words) or before


def _is_other_in(clause: Clause) -> bool:
    return _names_another(clause.pieces) or list_of(WordList.OTHER).any_in(clause.words)
