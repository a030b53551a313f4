"""What the words beside a fix tell to have been done to make sure of it: "road test ok".

Which words tell of which proof is common practice, no source.
"""

import re
from collections.abc import Mapping

from kb.case import Proof
from kb.intake.outcome_words import WordRole, clauses
from kb.intake.outcomes import judge_attempt
from kb.patterns import compiled

_CLAUSE = compiled(r"(?:[^,;.!?\n]|(?<=[0-9])[.,](?=[0-9]))+[?]?")
_NOT_DONE = (
    r"(?<!\bno )(?<!\bnot )(?<!\bwithout )(?<!\bbefore )(?<!\bneeds )(?<!\bneed )"
    r"(?<!\bfor )(?<!\bto )"
    r"(?<!\bkeine )(?<!\bohne )(?<!\bvor )(?<!\bvor der )(?<!\bpas d['’])(?<!\bsans )"
    r"(?<!\bavant )(?<!\bbez )(?<!\bprzed )"
)
_ON = r"(?:(?<!\w)(?:on|during|after) (?:(?:a|an|the|long|short|[0-9]+ ?(?:km|mi|miles?)) )*)?"
_PROOFS: Mapping[Proof, re.Pattern[str]] = {
    Proof.DRIVEN: compiled(
        rf"{_ON}{_NOT_DONE}(?<!\w)(?:(?:road|load)[- ]?test(?:ed|s)?|test[- ]?(?:driven?|drove)"
        r"|test run|r/t|(?<!cust )(?<!customer )(?<!owner )(?<!he )(?<!she )(?:drove|driven)"
        r"(?= (?:it )?(?:[0-9]|ok\b|fine\b|well\b|good\b|round\b|around\b)| *$)"
        r"|probefahrt|probegefahren|essais? (?:routiers?|sur route)"
        r"|essayée? sur route|jazd[ay] próbn(?:a|ej)|jeździe próbnej)(?!\w)",
        re.IGNORECASE,
    ),
    Proof.SELF_TEST: compiled(
        rf"{_NOT_DONE}(?<!\w)(?:self[- ]?test (?:passed|passes|ok|good|clear)"
        r"|passe[sd] (?:its |the )?self[- ]?test|selbsttest (?:bestanden|ok|i\. ?o))(?!\w)",
        re.IGNORECASE,
    ),
    Proof.CODE_GONE: compiled(
        r"(?<!\w)(?:(?:codes?|dtcs?|faults?|[pbcu][0-3][0-9a-f]{3}(?:-[0-9a-f]{2})?)"
        r" (?:(?:was|were|is|has|have|all) )?(?:cleared|erased|deleted|gone)"
        r"(?: and| but|,)? (?:has |have |did |does |it |they )*(?:not|never|n['’]t|no) "
        r"(?:returned|return|come back|came back|back|again)"
        r"|codes? (?:did|do|does|has|have) ?(?:not|n['’]t|never) (?:returned?|c[ao]me back)"
        r"|no (?:codes?|dtcs?) (?:returned|returning|back|came back|come back|after|since))(?!\w)",
        re.IGNORECASE,
    ),
    Proof.TERMINALS: compiled(
        rf"{_NOT_DONE}(?<!\w)(?:terminals?|pins?) (?:(?:all|were|was|are|and|found) )*"
        r"(?:checked|inspected|drag[- ]?tested|tension(?:ed)? ok|tight|good|ok)(?!\w)",
        re.IGNORECASE,
    ),
}
"""Words that tell of a proof, and are no plan for it."""
_OPEN = (WordRole.DOUBT, WordRole.PLAN, WordRole.UNTIL, WordRole.EXCEPT)
_ORDERED = compiled(
    r"(?<!\w)(?:tomorrow|tonight|later|next|pending|due|booked|needed|required|please|will|should"
    r"|must|by customer|customer to|morgen|noch|demain|à faire|jutro)(?!\w)",
    re.IGNORECASE,
)


def told_proofs(words: str) -> Mapping[Proof, str]:
    """Return what words tell to have been done to make sure of a fix, with the clause that does.

    What is asked, planned or told to have failed is none.

    Examples
    --------
    >>> [*told_proofs("replaced droplink, knock gone, road test 20 km ok").values()]
    ['road test 20 km ok']
    >>> [*told_proofs("knock gone, road test tomorrow"), *told_proofs("road test: still knocks")]
    []
    """
    told = dict[Proof, str]()
    for clause in map(str.strip, _CLAUSE.findall(words)):
        for proof, pattern in _PROOFS.items():
            if pattern.search(clause) and _is_done(clause):
                told.setdefault(proof, clause)
    if (gone := _PROOFS[Proof.CODE_GONE].search(words)) and _is_done(gone[0]):
        told.setdefault(Proof.CODE_GONE, gone[0])
    return told


def _is_done(clause: str) -> bool:
    if _ORDERED.search(clause) or judge_attempt(clause) is False:
        return False
    return not any(each.asked or each.has(*_OPEN) for each in clauses(clause))
