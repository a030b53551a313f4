"""Which outcome of a step somebody's own words mean, clause by clause and part by part."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from kb.case import FailureMode
from kb.intake.failure_words import failure_mode
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.troubleshooting.general_tests import GeneralOutcome, GeneralTest, Leaves, general_tests
from kb.troubleshooting.named_parts import NamedParts, parts_hinted, parts_named
from kb.troubleshooting.possible_outcomes import NONE_OF_THAT
from kb.troubleshooting.steps import Branch
from kb.troubleshooting.told_outcome import ToldClause, clauses_told

_DENIED = compiled(
    r"\b(?:no|not|nor|none|never|nothing|nowt|without|isn'?t|wasn'?t|don'?t|doesn'?t|didn'?t|except"
    r"|ok|okay|good|fine|sound|normal|clean|tight|solid|dry)\b",
)
"""Words beside which a part that is named may be the one at which nothing was found."""
_TELLS_NO_FAULT = compiled(
    r"\b(?:turned|tried|checked|looked|looking|tested|measured|swapped|new|fitted|replaced|renewed"
    r"|cleaned|changed|reach|finished|yet|later|tomorrow|order|ordered|next|unplugged|removed|to do"
    r"|will|should|must|before|was|were|if|hard|used to|last (?:time|year|week))\b",
)
"""Words of a clause that tells what was done, is wanted or was so before, and shows nothing."""
_VALUE = compiled(
    r"\d[.,]\d|\d\s*(?:[mµk]?(?:v|volts?|ohms?|Ω|a|amps?)|k|bar|psi|kpa|mbar|mm|°|c|%|rpm)\b",
)
"""A value that was read: what it says of a part, words beside it do not tell."""
_ALL = compiled(r"\b(?:all|both|every|each|everything|everywhere|any|anywhere|none|neither|lot)\b")
_FINDS = frozenset([Leaves.HERE, Leaves.HERE_OR_ITS_FEED])


@dataclass(slots=True)
class _Seen:
    """What clauses have told: branches found at fault, and other outcomes with the parts told."""

    found: set[int] = field(default_factory=set)
    anywhere: list[GeneralOutcome] = field(default_factory=list)
    others: list[tuple[GeneralOutcome, NamedParts, bool]] = field(default_factory=list)
    unclear: bool = False


def branches_told(
    branches: Sequence[Branch],
    text: str,
    general: GeneralTest | None,
    wording: Wording,
    places: Mapping[str, str] | None = None,
) -> list[Branch]:
    """Return the branches of a step that a text tells of: one, where it is plain.

    An outcome is told by its phrases in the trade's table. Which of several parts is meant, a
    clause tells by the part's name; a part named beside a fault is meant where the table has no
    phrases for what is found. What is told of one part alone says nothing of all of them.

    Parameters
    ----------
    branches : sequence of Branch
        Of the step.
    text : str
        What was seen; it must hold no word of doubt.
    general : GeneralTest or None
        The table's line of it, None for a test of the shop's own.
    wording : Wording
    places : mapping of str to str, optional
        Where parts sit, which may be told in the stead of their names.
    """
    parts = [_part_of(each, general) for each in branches]
    names = [f"{part}, {where}" if (where := (places or {}).get(part)) else part for part in parts]
    seen, clauses = _Seen(), clauses_told(general.outcome if general else _own_outcomes(), text)
    seen.unclear = any(each.says(general_tests().sayings["unclear"]) for each in clauses)
    for clause in clauses:
        if not _take(seen, clause, names, general, wording):
            return []
    return _meant(seen, branches, names)


def _own_outcomes() -> tuple[GeneralOutcome, ...]:
    """Return what may be told of a test of the shop's own that found nothing."""
    fine = general_tests().sayings["fine"]
    return (GeneralOutcome(seen=NONE_OF_THAT, leaves=Leaves.ELSEWHERE, told=fine),)


def _part_of(branch: Branch, general: GeneralTest | None) -> str:
    """Return the part that a branch finds at fault; empty where it finds none, or several."""
    for outcome in general.outcome if general else ():
        if outcome.leaves in _FINDS and is_of(branch, outcome):
            before, _, behind = outcome.seen.partition("{here}")
            return branch.seen[len(before) : len(branch.seen) - len(behind)]
    return branch.points_to[0] if not general and len(branch.points_to) == 1 else ""


def is_of(branch: Branch, outcome: GeneralOutcome) -> bool:
    """Whether a step's outcome is one of the table's, said of some part."""
    before, _, behind = outcome.seen.partition("{here}")
    return branch.seen.startswith(before) and branch.seen.endswith(behind)


def _take(
    seen: _Seen,
    clause: ToldClause,
    names: Sequence[str],
    general: GeneralTest | None,
    wording: Wording,
) -> bool:
    """Take what a clause tells; False where it tells two things at once, or of a part unknown."""
    if len(clause.outcomes) > 1:
        return False
    named = parts_named(names, clause.text, wording)
    if not clause.outcomes:
        if _names_fault(clause.text, named, general):
            seen.found |= named.parts
        return True
    [outcome] = clause.outcomes
    parts = named.parts
    if not parts and not named.another:
        parts = parts_hinted(names, clause.text, wording)
    if outcome.leaves not in _FINDS:
        named = replace(named, parts=parts)
        seen.others.append((outcome, named, _ALL.search(clause.text.casefold()) is not None))
        return True
    seen.found |= parts
    if not parts:
        seen.anywhere.append(outcome)
    return bool(parts) or not (named.another and general is not None and general.together)


def _names_fault(text: str, named: NamedParts, general: GeneralTest | None) -> bool:
    """Whether a clause without a phrase tells a fault of the parts that it names."""
    plain = text.casefold()
    if not named.parts or _DENIED.search(plain) or _VALUE.search(plain):
        return False
    if _TELLS_NO_FAULT.search(plain):
        return False
    if general and any(each.told for each in general.outcome if each.leaves in _FINDS):
        mode = failure_mode(plain)
        return mode is not None and _shows(general, mode[0])
    return True


def _shows(general: GeneralTest, mode: FailureMode) -> bool:
    """Whether a test can show a way of failing."""
    return mode in general.shows if general.shows else mode not in general.blind


def _meant(seen: _Seen, branches: Sequence[Branch], names: Sequence[str]) -> list[Branch]:
    """Return the branches that all clauses together mean."""
    if seen.found:
        told_off = all(
            named.parts.isdisjoint(seen.found) and (named.parts or named.another)
            for _, named, _ in seen.others
        )
        return [branches[each] for each in sorted(seen.found)] if told_off else []
    outcomes = [*seen.anywhere, *(each for each, _, _ in seen.others)]
    if len({each.seen for each in outcomes}) != 1:
        return []
    suspects = {each for each, name in enumerate(names) if name}
    if seen.others and (seen.unclear or _of_some_alone(seen.others, suspects)):
        return []
    return [each for each in branches if is_of(each, outcomes[0])]


def _of_some_alone(
    told: Iterable[tuple[GeneralOutcome, NamedParts, bool]], suspects: set[int]
) -> bool:
    """Whether what was found well is told of some of several suspects alone."""
    parts = frozenset[int]().union(*(named.parts for _, named, _ in told))
    whole = any(of_all for _, _, of_all in told)
    return not whole and len(suspects) > 1 and bool(parts) and parts < suspects
