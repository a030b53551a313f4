"""What stands beside hidden words and belongs to them: done to the same thing, or what came of it.

A part of a sentence that is dangerous is hidden, and the rest stays; but *it fired*, *then baked at
80* and *lit nicely* tell of the part before, and *red on one pin, black on the other* goes on with
it. All of it is common practice, no source.
"""

from itertools import dropwhile

from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.safety.igniter_acts import OBJECTS
from kb.safety.igniter_clauses import Clause, clauses_of
from kb.safety.igniter_deeds import Doing, deeds_of
from kb.safety.igniter_words import Aside, Role, aside, words_in


def is_of_it(part: str, wording: Wording | None) -> bool:
    """Whether what stands beside hidden words may be done to the same thing, or tells how.

    *Wiggled it live*, *tapped that*, *wiggled* and *key on* may; *code back* and *fixed* do not.
    """
    return any(map(_names_it_alone, clauses_of(part, wording or trade_wording())))


def _names_it_alone(clause: Clause) -> bool:
    if clause.roles & {Role.LIVE, Role.POWER}:
        return True
    object_at = next((at for at, word in enumerate(clause.words) if word in _IT), 0)
    told = object_at > 0 and clause.words[object_at - 1] not in _TELLS_THAT
    bare = [word for word in clause.words if word not in _AS_DONE]
    done = len(bare) == 1 and bare[0].endswith(_DONE) and not _is_result(bare[0])
    return told or bool(_TO_IT & clause.vocabulary) or done


def is_told_of_it(part: str, wording: Wording | None) -> bool:
    """Whether a part goes on from hidden words before it and names nothing of its own.

    *It fired*, *then baked at 80* and *lit nicely* do; *lamp off* and *code cleared* do not.
    """
    clauses = clauses_of(part, wording or trade_wording())
    return bool(clauses) and (_tells_of_it(clauses[0]) or any(map(_leans_on_it, clauses)))


def _leans_on_it(clause: Clause) -> bool:
    """Whether it was done once more, or is why the lamp is out: *same on the other side*."""
    words = clause.vocabulary
    again = not (_SAME.isdisjoint(words) or _OTHER_SIDE.isdisjoint(words))
    by_load = Role.SUBSTITUTE in clause.roles and bool(words_in(Aside.LAMPS) & words)
    return (again and Role.NEIGHBOUR not in clause.roles) or by_load


_SAME = frozenset(
    ["same", "likewise", "ditto", "genauso", "ebenso", "gleich", "dasselbe", "idem", "pareil",
     "pareille", "meme", "uguale", "stesso", "stessa", "igual", "mismo", "likadant", "samma",
     "zelfde", "hetzelfde", "samo", "stejne", "mesmo"]
)  # fmt: skip
_OTHER_SIDE = frozenset(
    ["other", "side", "sides", "left", "right", "passenger", "passengers", "drivers", "andere",
     "anderen", "seite", "rechts", "links", "autre", "cote", "altro", "altra", "lato", "otro",
     "otra", "lado", "andra", "sidan", "kant", "druga", "drugi", "drugiej", "strona", "stronie",
     "outro"]
)  # fmt: skip


def is_pause(sentence: str, wording: Wording | None) -> bool:
    """Whether a sentence tells nothing, and what follows may go on from before: *Done*."""
    told = clauses_of(sentence, wording or trade_wording())
    return all(_SAYS_NOTHING.issuperset(clause.words) for clause in told)


_SAYS_NOTHING = frozenset(
    ["done", "ok", "okay", "fine", "good", "right", "so", "then", "gut", "fertig", "erledigt",
     "fait", "bon", "fatto", "bene", "hecho", "klar", "klart", "gotowe", "dobrze"]
)  # fmt: skip


def _tells_of_it(clause: Clause) -> bool:
    words = list(dropwhile(_AS_DONE.__contains__, clause.words))
    if len(words) > 1 and words[0] in _IT_DOES:
        return True
    if not words or clause.roles & {Role.NEIGHBOUR, Role.SCAN, Role.LAMP, *OBJECTS}:
        return False
    if any(aside(Aside.CAME_OF_IT).longest(words, at) for at in range(len(words[:2]))):
        return True
    deed = words[0].endswith(_DONE) and not _is_result(words[0])
    how = (p for p in clause.pieces if not {words[0], *_AS_DONE}.issuperset(p.words))
    return deed and all(piece.role in _HOW for piece in how)


_IT_DOES = frozenset(["it", "es", "er", "ca", "cela", "elle", "il", "to", "ono"])
_HOW = frozenset(
    [Role.FUNCTION, Role.ONTO, Role.PLACE, Role.NUMBER, Role.VALUE, Role.QUANTITY, Role.UNKNOWN]
)


def _is_result(word: str) -> bool:
    mended = aside(Aside.MENDED).any_in([word]) or aside(Aside.RIGHTED).any_in([word])
    return mended or word in _RESULTS


_IT = frozenset(
    [*("it", "that", "this", "them", "those", "these", "both", "ihn", "es", "sie", "beide"),
     *("le", "la", "les", "go", "ja", "je", "to")]
)  # fmt: skip
_TO_IT = frozenset(["daran", "darauf", "damit", "dessus", "dessous", "nim", "niej", "nich"])
_TELLS_THAT = frozenset(
    [*("so", "found", "know", "sure", "said", "after", "before", "since", "like", "with", "at"),
     *("back", "up", "down", "out", "due", "had", "has", "going", "need", "needs", "nach", "bis")]
)  # fmt: skip
"""Behind one of these *that* and *to* begin something else: *found that*, *back to normal*."""
_AS_DONE = frozenset(
    ["then", "and", "again", "hard", "gently", "about", "too", "also", "once", "twice", "dann"]
)
_DONE = ("ed", "ing", "elt", "tet", "ckt", "pft", "shook", "bent", "hit", "é")
_RESULTS = frozenset(
    [*("fixed", "cured", "solved", "sorted", "failed", "passed", "tested", "returned", "closed"),
     *("finished", "needed", "ordered", "invoiced", "charged", "cleared", "nothing", "expected")]
)  # fmt: skip


def goes_on(clause: Clause) -> bool:
    """Whether what stands beside hidden words may be the rest of their order.

    *Red on one pin, black on the other* is, and *just unplug it*; *plug cleaned* is not.
    """
    opens = any(doing is Doing.OFF for _, _, doing in deeds_of(clause))
    placed = Role.ONTO in clause.roles and bool(_LEADS & clause.vocabulary)
    joined = Role.JOINED in clause.roles or ("stays" in clause.words)
    words = clause.vocabulary
    hides = Role.SUBSTITUTE in clause.roles or (words_in(Aside.COVERING) | {"glued"}) & words
    left_out = not _FUSES.isdisjoint(words) and {"left", "out"} <= words
    return opens or placed or joined or left_out or bool(hides)


_FUSES = frozenset(["fuse", "fuses"])

_LEADS = frozenset(
    ["red", "black", "pin", "pins", "one", "other", "plus", "minus", "lead", "leads"]
)
