"""Causes that the engine told of cannot have: a diesel has no spark.

What lights the charge of a petrol engine, and which words and codes tell of a diesel, is common
practice, no source.
"""

import re
from collections.abc import Iterable
from dataclasses import replace

from kb.case import Complaint, Placed
from kb.diagnosis.causes import Ranking
from kb.patterns import compiled

_DIESEL = compiled(
    r"\b(?:diesel|dsl|derv|glow ?-?plugs?|glow (?:relay|module|control|lamp|light)"
    r"|gl[üu]h(?:kerzen?|stiften?|relais|anlage)|vorgl[üu]h\w*"
    r"|bougies? de pr[ée]chauffage|pr[ée]chauffage|[śs]wiec[aey] [żz]arow[aey])\b",
    re.IGNORECASE,
)
_PETROL = compiled(
    r"\b(?:petrol|gasoline|benzin\w*|essence|benzyn\w*|lpg|spark ?-?plugs?|ignition coils?"
    r"|coil packs?"
    r"|z[üu]nd(?:kerzen?|spulen?)|bougies? d['’]allumage|bobines?|[śs]wiec[aey] zap[łl]onow[aey]"
    r"|cew\w+ zap[łl]on\w*)\b"
    r"|\b(?:no|not an?|isn['’]?t an?|put|filled(?: up)? with|wrong fuel,?)"
    r" (?:some )?(?:diesel|derv)\b",
    re.IGNORECASE,
)
"""What tells of a petrol engine, or of diesel put into one."""
_GLOW_CODE = compiled(r"P(?:038[0-4]|067[0-9]|068[0-4])")
_SPARKS = compiled(
    r"\b(?:ignition coils?|coil packs?|coil (?:connectors?|harness|loom|wiring)|spark plugs?"
    r"|(?<!glow )plug (?:leads?|wires?|caps?)|ht leads?"
    r"|distributor(?: caps?)?|rotor arms?|ignition (?:modules?|amplifiers?|leads?))\b"
    r"|^(?:coils?|leads?)$",
    re.IGNORECASE,
)


def is_diesel(complaint: Complaint) -> bool:
    """Whether a complaint is told of a diesel; False where a petrol engine is told as well.

    Examples
    --------
    >>> [is_diesel(Complaint(text=said)) for said in ("diesel, hard start", "glow plug 2 OL")]
    [True, True]
    >>> [is_diesel(Complaint(text=said)) for said in ("put diesel in petrol car", "misfire")]
    [False, False]
    """
    told = f"{complaint.text}\n{complaint.vehicle.engine or ''}"
    glows = any(_GLOW_CODE.match(str(each)) for each in complaint.codes)
    return (glows or _DIESEL.search(told) is not None) and not _PETROL.search(told)


def of_this_engine(ranking: Ranking, complaint: Complaint, cases: Iterable[Placed]) -> Ranking:
    """Leave out what lights petrol where a complaint is of a diesel; all else shares its chance.

    Parameters
    ----------
    cases : iterable of Placed
        The examples of the causes; a cause whose example is not among them stays.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> from kb.diagnosis.causes import CauseChance
    >>> cases = [Placed(1, None, "ignition coil", FailureMode.OPEN),
    ...          Placed(2, None, "glow plug", FailureMode.OPEN)]
    >>> coil, plug = (CauseChance(cause=n, chance=0.4, jobs=(n,), example=n, by_jobs=0.4)
    ...               for n in (1, 2))
    >>> asked = Ranking(causes=(coil, plug), not_seen_before=0.2)
    >>> found = of_this_engine(asked, Complaint(text="diesel, hard start"), cases)
    >>> [(each.cause, round(each.chance, 2)) for each in found.causes]
    [(2, 0.67)]
    """
    if not is_diesel(complaint):
        return ranking
    sparks = {each.number for each in cases if _SPARKS.search(each.component)}
    kept = [each for each in ranking.causes if each.example not in sparks]
    left = ranking.not_seen_before + sum(each.chance for each in kept)
    if len(kept) == len(ranking.causes) or left <= 0:
        return ranking
    causes = tuple(replace(each, chance=each.chance / left) for each in kept)
    return replace(ranking, causes=causes, not_seen_before=ranking.not_seen_before / left)
