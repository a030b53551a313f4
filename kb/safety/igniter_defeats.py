"""What hides a fault of the restraints instead of mending it: then they may not work in a crash.

A resistor that stays in a bag's place, a bag coded away, the lamp's bulb taken out, a shorting bar
cut off. Judged by whole sentences, for what makes it one is often said behind a comma. All of it is
common practice, no source.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from kb.patterns import compiled
from kb.safety.igniter_acts import TARGETS
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import WordList, list_of
from kb.safety.igniter_words import Aside, Role, aside, role_of, spelt, words_in

_NEAR = 4
"""So many pieces may stand between a verb and the lamp."""
_FAR = 6
"""So many between what covers it and the lamp."""


def defeats_in(sentence: Sequence[Clause]) -> Iterator[Piece]:
    """Yield what hides a fault."""
    stays = any(_stays(clause) for clause in sentence) or _leaves_with_it(sentence)
    stays |= _is_quiet_by_load(sentence)
    tested = any(_is_test(clause) for clause in sentence) or _has_own_resistor(sentence)
    tested |= any(map(_is_out_again, sentence))
    fitted = not _is_passing(sentence)
    yield from _fuse_for_lamp(sentence)
    for before, clause in zip([None, *sentence], sentence, strict=False):
        if _is_forbidden(clause):
            continue
        hidden = _is_hidden(clause) or _is_lens_covered(clause) or _is_bulb_gone(clause)
        hidden |= _is_changed_for_resistor(clause) and not any(map(_is_out_again, sentence))
        hidden |= _is_unlisted(clause)
        hidden |= _is_bar_gone(clause) and not any(map(_is_renewed, sentence))
        if hidden or _is_coded_out(clause, before) or _are_lamps_linked(clause):
            yield Piece(Role.DEFEAT, clause.words)
        for at, piece in enumerate(clause.pieces):
            if _is_of_another_kind(clause, at):
                yield piece
            elif piece.role is Role.SUBSTITUTE:
                stays |= _stands_for_it(clause, at) and not _is_trial(sentence)
                if stays or ((_is_bare(clause, at) or fitted) and not tested):
                    yield piece
            elif (
                piece.role is Role.DEFEAT
                or _is_lamp_undone(clause, at)
                or _is_bar_undone(clause, at)
            ):
                yield piece


def left_in(sentences: Sequence[Sequence[Clause]]) -> Iterator[tuple[int, Piece]]:
    """Yield loads that stay in, told over the sentences of a text, and what tells that they do.

    *Known load in the bag's place. It stays there* leaves one in; so does a car that goes home
    where nothing tells that the load came out or a new part in. Each comes with the place of its
    sentence.
    """
    loads: dict[int, Piece] = {}
    mended = False
    for at, sentence in enumerate(sentences):
        if _tells_out(sentence):
            loads, mended = {}, False
            continue
        mended |= any(map(_mends, sentence))
        for before, clause in zip([None, *sentence], sentence, strict=False):
            of_value = before and before.roles & {Role.SCAN, Role.VALUE}  # *2.1 and stays there*
            if loads and (
                (_is_left_so(clause) and not of_value) or (not mended and _goes_home(clause))
            ):
                yield from loads.items()
                loads = dict([loads.popitem()])  # the others are told
                yield at, Piece(Role.DEFEAT, clause.words)
            if load := _load_in(clause):
                loads.setdefault(at, load)
                mended = False


def _load_in(clause: Clause) -> Piece | None:
    """Return the load that a clause tells to be in an igniter's place."""
    load = next((p for p in clause.pieces if p.role is Role.SUBSTITUTE), None)
    if load is None or words_in(Aside.DENIAL) & clause.vocabulary or _is_forbidden(clause):
        return None
    others = Role.NEIGHBOUR in clause.roles and not clause.roles & {*TARGETS, Role.IN_PLACE}
    told = clause.roles & {*TARGETS, Role.CONTACT, Role.IN_PLACE, Role.JOINED}
    fitted = told or not _PUT_IN.isdisjoint(clause.words)
    return load if fitted and not others else None


_PUT_IN = frozenset(
    ["in", "fitted", "put", "plugged", "installed", "connected", "eingesetzt", "gesteckt", "drin",
     "eingebaut", "mis", "mise", "monte", "branche", "wstawiony", "zalozony", "podlaczony"]
)  # fmt: skip


def _tells_out(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence tells that the load is out; the lamp and the car may be, too."""
    return any(
        aside(Aside.OUT_AGAIN).any_in(clause.words)
        and not (words_in(Aside.DENIAL) | _NOT_THE_LOAD | _TO_COME) & clause.vocabulary
        and not (words_in(Aside.LAMPS) | words_in(Aside.CODE_WORDS)) & clause.vocabulary
        for clause in sentence
    )


_NOT_THE_LOAD = frozenset(["car", "van", "trim", "seat", "lamp", "light", "boot", "customer"])


def _mends(clause: Clause) -> bool:
    """Whether a part was renewed or repaired; one that is on order was not."""
    done = aside(Aside.RENEWED).any_in(clause.words) or not _REPAIRED.isdisjoint(clause.words)
    return done and _ON_ORDER.isdisjoint(clause.words)


_REPAIRED = frozenset(
    ["repaired", "mended", "fixed", "cleaned", "reseated", "fitted", "repariert", "repare"]
)
_TO_COME = frozenset(
    ["order", "ordered", "orders", "quoted", "needs", "needed", "need", "comes", "awaited",
     "bestellt", "commande", "commandee", "zamowiony", "zamowiona"]
)  # fmt: skip
_ON_ORDER = _TO_COME | {"returned", "load", "loads"}


def _is_left_so(clause: Clause) -> bool:
    told = aside(Aside.LEFT_SO).any_in(clause.words)
    told &= _WAITS_HERE.isdisjoint(clause.words)  # the car does
    return told and not (_tells_sign(clause) or clause.roles & {Role.SCAN, Role.VALUE})


_WAITS_HERE = frozenset(["here", "workshop", "yard", "bay", "overnight", "hier"])


def _goes_home(clause: Clause) -> bool:
    words = clause.words
    gone = aside(Aside.GOES_HOME).any_in(words) and not aside(Aside.STILL_ASKED).any_in(words)
    gone |= aside(Aside.LEAVES).any_in(words)
    return gone and not (_tells_sign(clause) or words_in(Aside.DENIAL) & clause.vocabulary)


def _tells_sign(clause: Clause) -> bool:
    """Whether a clause tells what a code or the lamp did: *code stays*."""
    signs = words_in(Aside.LAMPS) | words_in(Aside.CODE_WORDS) | _FAULTS | {"codes", "faults"}
    return bool(signs & clause.vocabulary) or any(map(_CODE.fullmatch, clause.words))


_CODE = compiled(r"[bcpu][0-9a-f]{4}")


def _is_unlisted(clause: Clause) -> bool:
    """Whether the unit no longer knows a bag, or takes what is in its plug for one."""
    words = clause.words
    concerned = clause.roles & {*TARGETS, Role.CONTACT, Role.JOINED} or not _SEATS.isdisjoint(words)
    coded = aside(Aside.CODING).any_in(words) or not _CODED.isdisjoint(words)
    told = aside(Aside.UNLISTED).any_in(words)
    told |= coded and aside(Aside.AS_ABSENT).any_in(words)
    return bool(concerned) and told


_SEATS = frozenset(["seat", "sitz", "belt", "buckle"])


def _is_quiet_by_load(sentence: Sequence[Clause]) -> bool:
    """Whether the lamp is told to be out because a load is in: *off since it has a dummy in it*."""
    words = [word for each in sentence for word in (each.joiner, *each.words)]
    since = next((at for at, word in enumerate(words) if word in _BECAUSE), None)
    if since is None or words_in(Aside.LAMPS).isdisjoint(words[:since]):
        return False
    lamp_out = not _GONE.isdisjoint(words[:since])
    behind = {word for each in sentence for p in each.pieces if p.role is Role.SUBSTITUTE
              for word in p.words}  # fmt: skip
    denied = words_in(Aside.DENIAL) | {"out", "removed"}
    return lamp_out and bool(behind & set(words[since:])) and denied.isdisjoint(words[since:])


_BECAUSE = frozenset(["since", "because", "as", "weil", "seit", "depuis", "parce", "bo", "odkad"])


def _is_bar_gone(clause: Clause) -> bool:
    """Whether a shorting bar is told to be cut, bent or taped away: *Kurzschlussbügel entfernt*."""
    words = clause.words
    told = list_of(WordList.SHORTING_BARS).any_in(words) and list_of(WordList.BAR_GONE).any_in(
        words
    )
    return told and not words_in(Aside.DENIAL) & clause.vocabulary


def _is_renewed(clause: Clause) -> bool:
    return aside(Aside.RENEWED).any_in(clause.words) or aside(Aside.FOUND).any_in(clause.words)


def _is_changed_for_resistor(clause: Clause) -> bool:
    """Whether a plain resistor came in an igniter's place: *Airbag mit 3 Ohm Widerstand ersetzt*.

    Told so, its word may also be the value's that a meter shows.
    """
    words = clause.words
    at = next(
        (at for at in range(len(words)) if list_of(WordList.RESISTOR).longest(words, at)), None
    )
    if at is None or not clause.roles & TARGETS or list_of(WordList.KNOWN_SO).any_in(words):
        return False
    led = words[max(0, at - _LED) : at]
    by_it = list_of(WordList.BY_IT).any_in(led) or words[at].endswith(_BY_IT_ENDS)
    changed = by_it and list_of(WordList.CHANGED_FOR).any_in(words)
    return changed or list_of(WordList.INSTEAD_OF_IT).any_in(words)


_LED = 5
"""So many words before a resistor may stand what leads to it: *gegen einen 2,2 Ohm ...*."""
_BY_IT_ENDS = ("rezystorem", "opornikiem")
"""As Polish says *by* in the word itself."""


def _is_forbidden(clause: Clause) -> bool:
    """Whether a clause only says that such a thing is not to be done."""
    if aside(Aside.NO_REPAIR).any_in(clause.words):
        return not aside(Aside.PRAISED).any_in(clause.words)
    words = [word for word in clause.words if word != "no"]
    return aside(Aside.FORBID).any_in(words) and not aside(Aside.LOOSEN).any_in(words)


def _is_hidden(clause: Clause) -> bool:
    """Whether a code, a fault or the lamp is kept from showing."""
    shown = (words_in(Aside.CODE_WORDS) | words_in(Aside.LAMPS)) & clause.vocabulary
    return bool(shown) and aside(Aside.HIDING).any_in(clause.words)


def _is_coded_out(clause: Clause, before: Clause | None) -> bool:
    """Whether the control unit is told that the car has no such bag."""
    concerned = clause.roles & {Role.IGNITER, Role.SHARED, Role.JOINED}
    coded = aside(Aside.CODING).any_in(clause.words) and aside(Aside.OFF).any_in(clause.words)
    where = [*(before.words if before and clause.joiner in _GOES_ON else ()), *clause.words]
    out = aside(Aside.IN_UNIT).any_in(where) and aside(Aside.SWITCHED_OUT).any_in(clause.words)
    out |= _is_told_out(clause)
    return bool(concerned) and (coded or out or _is_coded_without(clause, where))


def _is_told_out(clause: Clause) -> bool:
    """Whether an igniter stands between *coded* and *out*: *coded the LF belt tensioner out*."""
    pieces = clause.pieces
    outs = (
        at for at, p in enumerate(pieces) if p.words == ("out",) and pieces[at - 1].role in TARGETS
    )
    return any(
        not _CODED.isdisjoint(p.text for p in pieces[: at - 1])
        and [p.text for p in pieces[at + 1 : at + 2]] != ["of"]
        for at in outs
    )


_CODED = frozenset(["coded", "code", "coding", "programmed", "configured", "recoded"])


def _is_coded_without(clause: Clause, where: Sequence[str]) -> bool:
    """Whether it is coded to have no such bag: *coded without side bags*."""
    pieces = [piece for piece in clause.pieces if piece.role is not Role.PLACE]
    lacks = any(
        before.text in words_in(Aside.LACKING) and after.role in TARGETS
        for before, after in pairwise(pieces)
    )
    shown = (words_in(Aside.CODE_WORDS) | words_in(Aside.LAMPS)) & clause.vocabulary
    return lacks and not shown and aside(Aside.CODING).any_in(where)


_GOES_ON = frozenset(["so", "and", ":"])


def _leaves_with_it(sentence: Sequence[Clause]) -> bool:
    """Whether the car goes, and nothing tells that what was put in came out again."""
    words = [word for each in sentence if not _tells_fault(each) for word in each.words]
    return aside(Aside.LEAVES).any_in(words) and not aside(Aside.OUT_AGAIN).any_in(words)


def is_undone(sentence: Sequence[Clause], told: Sequence[Clause]) -> bool:
    """Whether others did it, and it was put right or refused: *found ..., removed*.

    Parameters
    ----------
    sentence : sequence of Clause
        That tells of it.
    told : sequence of Clause
        With the sentence that follows: it may be put right there.
    """
    words, rest = ([word for each in some for word in each.words] for some in (sentence, told))
    found, others = (aside(each).any_in(words) for each in (Aside.FOUND, Aside.OTHERS))
    refused, righted = (aside(each).any_in(rest) for each in (Aside.REFUSAL, Aside.RIGHTED))
    righted |= any(each.words == ("out",) for each in sentence)
    begins = sentence[0].words if sentence else ("",)
    at_once = begins[0] in _REFUSING and aside(Aside.REFUSAL).longest(begins, 0)
    return (found and (refused or righted)) or (others and refused) or bool(at_once)


_REFUSING = frozenset(["refused", "declined", "told", "said"])


def _stays(clause: Clause) -> bool:
    """Whether something is left on the car: *left in*, *for good*, *handed back*."""
    for at, piece in enumerate(clause.pieces):
        if piece.text == "left":
            following = clause.pieces[at + 1] if at + 1 < len(clause.pieces) else None
            before = clause.pieces[at - 1].text if at else ""
            if before in _CARS:
                continue  # *before the car left the bay*
            if following and (
                following.role in {Role.SUBSTITUTE, Role.IN_PLACE} or following.text in _LEFT_WHAT
            ):
                return True
    return aside(Aside.STAYS).any_in(clause.words) and not _tells_fault(clause)


def _tells_fault(clause: Clause) -> bool:
    """Whether no more is told than what a fault did: *Fehler bleibt*, *Fehler weg*."""
    return len(clause.words) <= _FEW and not _FAULTS.isdisjoint(clause.words[:2])


_FEW = 4
_FAULTS = frozenset(["fault", "code", "fehler", "fehlercode", "defaut", "blad", "guasto", "averia"])
_CARS = frozenset(["car", "van", "vehicle"])
_LEFT_WHAT = frozenset(["a", "the", "my", "our", "it", "in", "like", "them", "there", "as", "that"])


def _is_of_another_kind(clause: Clause, at: int) -> bool:
    """Whether another part's resistor is put in an igniter's place."""
    piece = clause.pieces[at]
    resists = piece.role is Role.NEIGHBOUR and piece.words[-1].startswith("resistor")
    return resists and Role.IN_PLACE in clause.roles and bool(clause.roles & TARGETS)


def _is_bare(clause: Clause, at: int) -> bool:
    """Whether it is a plain resistor, neither a load made for testing nor of another part."""
    other = Role.NEIGHBOUR in clause.roles and not clause.roles & {
        *TARGETS,
        Role.CONTACT,
        Role.IN_PLACE,
    }
    words = [*map(spelt, clause.pieces[at].words)]
    return not other and _FOR_TESTING.isdisjoint(words) and aside(Aside.BARE).any_in(words)


_FOR_TESTING = frozenset(["test", "dummy", "check"])


def _stands_for_it(clause: Clause, at: int) -> bool:
    """Whether it is told to replace an igniter: *replaced side bag with a dummy plug*."""
    before = [word for piece in clause.pieces[:at] for word in piece.words]
    told = aside(Aside.STANDS_FOR).any_in(before) and bool(clause.roles & TARGETS)
    return told and not _WITH.isdisjoint(before)


_WITH = frozenset(["with", "by", "for", "mit", "durch", "par", "con", "met", "med"])


def _is_trial(sentence: Sequence[Clause]) -> bool:
    """Whether something was found out by it, or it came out again."""
    words = [word for clause in sentence for word in clause.words]
    told = any(clause.roles & {Role.SCAN, Role.VALUE} for clause in sentence)
    return told or aside(Aside.OUT_AGAIN).any_in(words) or not _TRIED.isdisjoint(words)


def _is_test(clause: Clause) -> bool:
    """Whether a resistor is said to be one for testing, or the scan tool reads beside it."""
    return bool(words_in(Aside.MADE_FOR_IT) & clause.vocabulary) or Role.SCAN in clause.roles


def _is_passing(sentence: Sequence[Clause]) -> bool:
    """Whether what stands in is not fitted, or fitted for a test: supply off, tried, out again."""
    words = [word for clause in sentence for word in clause.words]
    fits = any(word in _FITTED for word in words)
    passing = any(Role.ISOLATE in clause.roles for clause in sentence)
    return (
        not fits or passing or aside(Aside.OUT_AGAIN).any_in(words) or not _TRIED.isdisjoint(words)
    )


_FITTED = frozenset(["fitted", "installed", "fit", "wired", "soldered", "eingebaut", "monte"])
_TRIED = frozenset(
    ["test", "prove", "proof", "check", "try", "see", "code", "codes", "fault", "still", "find"]
)


def _is_out_again(clause: Clause) -> bool:
    """Whether what stood in is told to be out: *resistor out again*, and not *out of the radio*."""
    outs = [at for at, word in enumerate(clause.words) if word in {"out", "removed"}]
    return Role.SUBSTITUTE in clause.roles and any(
        clause.words[at + 1 : at + 2] != ("of",) for at in outs
    )


def _has_own_resistor(sentence: Sequence[Clause]) -> bool:
    """Whether the resistor is another part's: *heater fan resistor burnt, new resistor*."""
    if any(clause.roles & TARGETS and Role.IN_PLACE in clause.roles for clause in sentence):
        return False
    pieces = [piece for clause in sentence for piece in clause.pieces]
    named = (p for p in pieces if p.role is Role.NEIGHBOUR)
    if any(p.words[-1].startswith("resistor") for p in named):
        return True
    first = next((p for p in pieces if p.role in _PARTS), None)
    return first is not None and first.words[0].startswith("blower")  # it runs by one


_PARTS = frozenset([*TARGETS, Role.CONTACT, Role.HARNESS, Role.NEIGHBOUR, Role.JOINED])


def _is_lens_covered(clause: Clause) -> bool:
    """Whether something covers the glass that the warning lamp is seen through."""
    words = clause.words
    if words_in(Aside.MENDED) & clause.vocabulary or aside(Aside.RIGHTED).any_in(words):
        return False
    covers = [at for at, word in enumerate(words) if word in words_in(Aside.COVERING)]
    over = [at for at in range(len(words)) if aside(Aside.OVER).longest(words, at)]
    lens = [at for at in range(len(words)) if aside(Aside.LENS).longest(words, at)]
    return any(a < b < c for a in covers for b in over for c in lens)


def _is_bulb_gone(clause: Clause) -> bool:
    """Whether a bulb is taken out of the instruments, where the warning lamp is."""
    bulb = not _BULBS.isdisjoint(clause.words) and not words_in(Aside.MENDED) & clause.vocabulary
    words = clause.words
    gone = aside(Aside.TAKEN).any_in(words) or aside(Aside.TAKING).any_in(words)
    gone |= any(pair in _STILL_GONE for pair in pairwise(words))
    return bulb and gone and aside(Aside.LENS).any_in(words)


_BULBS = frozenset(["bulb", "bulbs", "led"])
_STILL_GONE = frozenset(("still", gone) for gone in ("out", "missing", "gone", "removed"))


def _fuse_for_lamp(sentence: Sequence[Clause]) -> Iterator[Piece]:
    """Yield a fuse that is out so that the lamp is: *airbag fuse pulled so lamp is off*."""
    fuses = [at for at, clause in enumerate(sentence) if _is_fuse_out(clause)]
    for clause in sentence[fuses[0] + 1 :] if fuses else ():
        lamp = words_in(Aside.LAMPS) & clause.vocabulary
        if lamp and not _GONE.isdisjoint(clause.words):
            yield Piece(Role.DEFEAT, sentence[fuses[0]].words)


def _is_fuse_out(clause: Clause) -> bool:
    fuse = not _FUSES.isdisjoint(clause.words)
    of_others = any(p.role is Role.NEIGHBOUR and not _is_of_restraints(p) for p in clause.pieces)
    words = clause.words
    out = aside(Aside.TAKEN).any_in(words) or aside(Aside.TAKING).any_in(words)
    out |= not _OUT.isdisjoint(words)
    tested = clause.roles & {Role.MEASURE, Role.WEAK} or "checked" in words
    return fuse and out and not (tested or of_others)


_OUT = frozenset(["out", "raus", "draussen", "gezogen", "wyjety", "wyjeta", "wyciagniety"])


def _is_of_restraints(piece: Piece) -> bool:
    fused = not _FUSES.isdisjoint(piece.words)
    return fused and (
        len(piece.words) == 1 or any(role_of(word) in TARGETS for word in piece.words)
    )


_FUSES = frozenset(["fuse", "fuses", "sicherung", "fusible", "bezpiecznik"])
_GONE = frozenset(
    ["off", "out", "gone", "dark", "stays", "aus", "weg", "eteint", "zgasla", "gasnie"]
)


def _are_lamps_linked(clause: Clause) -> bool:
    """Whether the warning lamp is made to follow another one."""
    lamps = sum(any(map(_is_lamp, piece.words)) for piece in clause.pieces)
    return lamps > 1 and aside(Aside.LINKING).any_in(clause.words)


def _is_lamp(word: str) -> bool:
    return word in words_in(Aside.LAMPS) or word.endswith(_LAMP_ENDS)


_LAMP_ENDS = ("lampe", "leuchte", "lampje", "lampan", "lampa")
"""As German, Dutch and Swedish make one word of a lamp and what it is for."""


def _is_lamp_undone(clause: Clause, at: int) -> bool:
    """Whether the warning lamp is taken out, cut off, covered, or wired to another."""
    pieces = clause.pieces
    if (
        words_in(Aside.LAMPS).isdisjoint(pieces[at].words)
        or words_in(Aside.MENDED) & clause.vocabulary
        or aside(Aside.OTHER_LAMP).longest(clause.words, 0)
    ):
        return False
    before = pieces[max(0, at - _NEAR) : at]
    words = [word for p in before if p.role is not Role.ONTO for word in p.words]
    behind = [w for p in pieces[at : at + _NEAR] for w in p.words if w not in _COPULA]
    taking = aside(Aside.TAKING).any_in(words)
    if taking and not _is_condition(pieces, at):
        return True
    onto = Role.ONTO in {p.role for p in pieces[max(0, at - _FAR) : at]}
    covered = onto and words_in(Aside.COVERING) & clause.vocabulary
    taken = aside(Aside.TAKEN).any_in(behind[:_NEAR]) and not taking
    return bool(covered or taken)


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
    behind = {each.text for each in clause.pieces[at + 1 : at + 2]}
    if any(word.startswith("replac") for word in words) and _by_no_part(clause, at + 1):
        return True
    gone = {word for each in clause.pieces[at + 1 : at + 1 + _FAR] for word in each.words}
    cut = (
        bool(gone & _CUT) or gone >= {"bent", "away"} or bool(behind & _AWAY and "clipped" in words)
    )
    return cut or aside(Aside.CUTTING).any_in(words)


def _by_no_part(clause: Clause, at: int) -> bool:
    """Whether something else stands in its place: *replaced the shorting bar with tape*."""
    words = [word for each in clause.pieces[at : at + _NEAR] for word in each.words]
    led = next((place for place, word in enumerate(words) if word in {"with", "by"}), None)
    return led is not None and not _SPARES.intersection(words[led:])


_SPARES = frozenset(["new", "maker", "makers", "manufacturer", "oem", "oe", "part", "kit", "plug"])
_AWAY = frozenset(["off", "out", "away"])
_CUT = frozenset(["cut", "snipped", "filed", "ripped", "taken"])


_BARS = ("shorting", "shunt", "short bar", "kurzschluss", "barrette", "lamelle")
