"""What the scan tool reads, from clause to clause of one sentence.

*Values read with the scan tool, driver bag 2.1, passenger 2.0*: who reads is told once, and holds
for the values behind it until another means, a plug or a deed is told. All of it is common
practice, no source.
"""

from collections.abc import Sequence

from kb.safety.igniter_acts import TARGETS
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import Doing, deeds_of
from kb.safety.igniter_words import Aside, Role, words_in


def tells_source(clause: Clause) -> bool:
    """Whether the scan tool is told to be what reads: *values read with the scan tool*."""
    others = (p for p in clause.pieces if not p.words[0].startswith(_READS_OUT))
    plain = all(piece.role in _BESIDE_SOURCE or is_loop(piece) for piece in others)
    reads = any(word.startswith(_READS_OUT) for word in clause.words)
    loosened = words_in(Aside.LOOSEN) - {"only"}  # *on the scan tool only*
    spoilt = words_in(Aside.DENIAL) | loosened | words_in(Aside.MEANS) - _BY
    return clause.by_scan_tool and plain and reads and not spoilt & clause.vocabulary


_NAMES_AND_VALUES = frozenset([*TARGETS, Role.PLACE, Role.VALUE, Role.QUANTITY, Role.NUMBER])
_BESIDE_SOURCE = _NAMES_AND_VALUES | {Role.SCAN, Role.FUNCTION, Role.ONTO, Role.KNOWN, Role.UNIT}
_READS_OUT = (
    *("read", "live", "data", "value", "list", "shown", "shows", "valeur", "lu", "lecture"),
    *("wert", "istwert", "messwert", "gelesen", "ausgelesen", "odczyt", "wartosc", "valor"),
    *("lettur", "session", "report", "printout", "protokoll"),
    *("leid", "leitura", "uitgelezen", "avlast", "logg"),
)
_BY = frozenset(["with", "by", "mit", "avec", "w", "using", "actual"])


def keeps_source(clause: Clause) -> bool:
    """Whether nothing is told that ends what the scan tool reads: another means, or a deed."""
    may = all(doing is Doing.MAY for _, _, doing in deeds_of(clause))
    says = clause.roles <= _SAYS_OF_VALUE or _only_names(clause)
    return is_value_named(clause) or (may and says)


def _only_names(clause: Clause) -> bool:
    """Whether an igniter is named, and no more said than how its value is: *side bag is low*."""
    plain = clause.roles <= _NAMES_AND_VALUES | {Role.KNOWN, Role.FUNCTION}
    return plain and all(p.text in _SAID_OF_VALUE for p in clause.pieces if p.role in _SAYING)


_SAYS_OF_VALUE = frozenset([Role.KNOWN, Role.FUNCTION, Role.ONTO, Role.HARMLESS, Role.SCAN])


def is_value_named(clause: Clause) -> bool:
    """Whether a value is told of an igniter by name, and nothing of how or where it was taken.

    *Driver squib 1 shows 2.2 ohm* is, *2.2 at the squib* and *squib itself 2.2* are not.
    """
    said = {piece.role for piece in clause.pieces if not is_loop(piece)}
    if Role.VALUE not in said or not said <= _NAMES_AND_VALUES | _AROUND_VALUE:
        return False
    if words_in(Aside.MEANS) & clause.vocabulary or clause.joiner in _OTHERWISE:
        return False
    words = (p.text for p in clause.pieces if p.role in _SAYING)
    led = any(
        piece.role is Role.ONTO and not _leads_to_value(clause.pieces[at + 1 :])
        for at, piece in enumerate(clause.pieces)
    )
    return not led and all(word in _SAID_OF_VALUE for word in words)


def is_loop(piece: Piece) -> bool:
    """Whether a circuit is named as the control unit counts them: *loop 2 2.4 ohm*."""
    return piece.role is Role.HARNESS and _LOOPS.issuperset(piece.words)


_LOOPS = frozenset(["loop", "loops", "circuit", "circuits", "petla", "petli"])
_SAYING = frozenset([Role.KNOWN, Role.FUNCTION, Role.UNKNOWN])
_AROUND_VALUE = _SAYING | {Role.ONTO, Role.HARMLESS}
_OTHERWISE = frozenset(["but", "then", "so", "aber", "mais", "ale", "dann", "puis"])
"""What follows these may have been found in another way."""
_SAID_OF_VALUE = frozenset(
    [
        *words_in(Aside.READS),
        *("only", "out", "the", "all", "low", "high", "ok", "good", "fine", "bad", "steady", "now"),
        *("one", "two", "circuit", "loop", "stage", "flat", "still", "gut", "links", "rechts"),
        *(
            "avant",
            "arriere",
            "lateral",
            "gauche",
            "droit",
            "droite",
            "conducteur",
            "passager",
            "seul",
            "nur",
            "a",
            "le",
            "la",
        ),
        *("fahrer", "beifahrer", "fahrerseite", "beifahrerseite", "vorn", "vorne", "hinten"),
        *("kierowca", "kierowcy", "pasazer", "pasazera", "lewy", "lewa", "prawy", "prawa"),
        *("flagged", "marked", "l", "r", "open", "wysoka", "niska", "hoch", "haute", "elevee"),
    ]
) - {"measured", "got", "had", "gave"}


def _leads_to_value(following: Sequence[Piece]) -> bool:
    """Whether *at*, *to* ... leads to a number: *out at 5.8*."""
    return bool(following) and following[0].role is Role.VALUE
