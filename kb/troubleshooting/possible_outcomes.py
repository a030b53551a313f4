"""What may be seen when a test is made, and which suspects each outcome leaves standing.

A recorded test speaks for the suspects it points to, against those it clears, and leaves those
spoken for, else those not spoken against. That it is none of the suspects is one place more,
behind theirs: it is left by a test that points to none, or to a part that is none of theirs.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from kb.case import Cause, DiagnosticTest, LinkKind
from kb.intake.wording import Wording
from kb.troubleshooting.circuit import Chain, names
from kb.troubleshooting.fitting import has_word, speaks_of
from kb.troubleshooting.general_tests import GeneralTest, Leaves, general_tests

Left = frozenset[int]
ANOTHER_PART = "another part"
"""What a test points to that found its fault at none of the suspects."""
NONE_OF_THAT = "none of that"
FAULT_ELSEWHERE = "it shows a fault at another part"
NO_FAULT = "it shows no fault"
_SIDES = frozenset(
    ["left", "right", "nearside", "offside", "driver", "passenger", "cylinder", "bank"]
)


@dataclass(frozen=True, slots=True)
class PastTest:
    """One test of a closed job: the job's number and cause, and what was done and seen."""

    job: int | None
    cause: Cause
    test: DiagnosticTest


@dataclass(frozen=True, slots=True, kw_only=True)
class PossibleOutcome:
    """One thing that may be seen, the suspects it leaves, and past tests that saw it.

    `of` are the suspects at the part that it tells of where it leaves more than these.
    """

    seen: str
    left: Left
    of: Left | None = None
    points_to: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    past: tuple[PastTest, ...] = ()


def left_by(
    points_to: Sequence[str], clears: Sequence[str], causes: Sequence[Cause], wording: Wording
) -> Left:
    """Return which suspects a recorded test leaves standing, and whether any other thing is left.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> plug = Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE)
    >>> unit = Cause(component="airbag control unit", failure_mode=FailureMode.INTERNAL_FAULT)
    >>> sorted(left_by((), ("control unit",), (plug, unit), Wording.default()))
    [0, 2]
    >>> sorted(left_by(("battery",), (), (plug, unit), Wording.default()))
    [2]
    """
    if points_to:
        return _named(points_to, causes, wording) or frozenset([len(causes)])
    return everything_of(causes) - _named(clears, causes, wording)


def general_outcomes(
    general: GeneralTest,
    causes: Sequence[Cause],
    chain: Chain,
    wording: Wording,
    signs: frozenset[str] = frozenset(),
) -> list[tuple[str | None, tuple[PossibleOutcome, ...]]]:
    """Return the outcomes of a test of the table, at each place or at all of them together."""
    everything = everything_of(causes)
    blind = frozenset(
        n for n, cause in enumerate(causes) if not speaks_of(general, cause, wording, signs)
    )
    feeding, whole, chain = _feeding(chain, wording), chain, chain.without(blind)
    places = _places(general, chain, wording)
    twins = frozenset(n for n, cause in enumerate(causes) if has_twin(cause))
    if general.paired and general.together and not twins:
        return []
    if general.paired and not general.together:
        places = [place for place in places if chain.suspects[place] & twins]
    if not general.together:
        return [
            (chain.links[place].name, _at(general, chain, place, everything)) for place in places
        ]
    if not places:
        return []
    here, *others = general.outcome
    fed = here.leaves is Leaves.HERE_OR_ITS_FEED
    or_fed = feeding | {len(causes)} if fed else frozenset[int]()
    found = [
        _or_fed(here.seen, chain, place, whole, or_fed)
        if fed
        else _outcome(here.seen, chain, place, chain.suspects[place])
        for place in places
    ]
    held = frozenset[int]().union(*(chain.suspects[place] for place in places))
    if fed:
        held |= _feeds_of(held, feeding, causes, wording)
    looked_at = tuple(chain.links[place].name for place in places)
    left = everything - held
    for each in others:
        if each.leaves is Leaves.ANOTHER_PART:
            found.append(_at_another_part(each.seen, causes, looked_at))
            continue
        cleared = [
            link.name
            for link, there in zip(whole.links, whole.suspects, strict=True)
            if there - left
        ]
        found.append(PossibleOutcome(seen=each.seen, left=left, clears=tuple(cleared)))
    return [(None, tuple(found))]


def _places(general: GeneralTest, chain: Chain, wording: Wording) -> list[int]:
    """Return the links that a test is made at: of a part that is fed its own plug first."""
    at = set(chain.at(general.at))
    at |= {
        place
        for place, link in enumerate(chain.links)
        if chain.suspects[place] and has_word(link.name, general.also_at, wording)
    }
    if any(each.leaves is Leaves.FED_HERE for each in general.outcome):
        fed = {place for place in at if chain.links[place].kind is LinkKind.COMPONENT}
        at = fed or at
    return sorted(at)


def _feeding(chain: Chain, wording: Wording) -> Left:
    """Return the suspects by which a part may be fed or switched, whatever it is called."""
    return frozenset[int]().union(
        *(
            chain.suspects[place]
            for place, link in enumerate(chain.links)
            if link.kind is not LinkKind.COMPONENT
            or has_word(link.name, general_tests().feeds, wording)
        )
    )


def _feeds_of(held: Left, feeding: Left, causes: Sequence[Cause], wording: Wording) -> Left:
    """Return the suspects that by their names feed one of some parts: the fan's own plug."""
    own = {word for place in held for word in wording.tokens(causes[place].component)[:-1]}
    return frozenset(n for n in feeding if own.intersection(wording.tokens(causes[n].component)))


def _or_fed(seen: str, chain: Chain, place: int, whole: Chain, or_fed: Left) -> PossibleOutcome:
    """Return what is found at one place of a chain, where that may as well be `or_fed`."""
    there = chain.suspects[place]
    left = there | (or_fed - whole.beside(place))
    cleared = [
        link.name
        for link, here in zip(whole.links, whole.suspects, strict=True)
        if here and not here & left
    ]
    name = chain.links[place].name
    return PossibleOutcome(
        seen=seen.replace("{here}", name), left=left, of=there, clears=tuple(cleared)
    )


def has_twin(cause: Cause) -> bool:
    """Whether there is another of its kind on the car, by where this one sat.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> sensor = Cause(component="sensor", failure_mode=FailureMode.OPEN, position="left front")
    >>> has_twin(sensor)
    True
    """
    return not _SIDES.isdisjoint((cause.position or "").split())


def _at(
    general: GeneralTest, chain: Chain, place: int, everything: Left
) -> tuple[PossibleOutcome, ...]:
    return tuple(
        _outcome(each.seen, chain, place, _leaves(each.leaves, chain, place, everything))
        for each in general.outcome
    )


def _leaves(leaves: Leaves, chain: Chain, place: int, everything: Left) -> Left:
    match leaves:
        case Leaves.HERE:
            return chain.suspects[place]
        case Leaves.ELSEWHERE:
            return everything - chain.suspects[place]
        case Leaves.FROM_HERE:
            return _from(chain, place, everything)
        case Leaves.BEFORE_HERE:
            return everything - chain.suspects[place] - chain.beyond(place) - chain.beside(place)
        case Leaves.ANOTHER_PART:
            return frozenset([max(everything)])
        case Leaves.FED_HERE:
            alone = chain.links[place].kind is LinkKind.COMPONENT
            return chain.suspects[place] if alone else everything - chain.before(place)
        case Leaves.HERE_OR_ITS_FEED:
            raise ValueError(f"{leaves}: only of a test that looks at all places together")


def _from(chain: Chain, place: int, everything: Left) -> Left:
    """Return what all good up to a link leaves: where its loop ends is known, that and no more."""
    if chain.leads_to_end(place):
        return chain.suspects[place] | chain.beyond(place) | chain.beside(place)
    return everything - chain.before(place)


def _outcome(seen: str, chain: Chain, place: int, left: Left) -> PossibleOutcome:
    """An outcome in words, with the links it blames, else those it clears."""
    named = {each: link.name for each, link in enumerate(chain.links) if chain.suspects[each]}
    blamed = tuple(name for each, name in named.items() if chain.suspects[each] <= left)
    cleared = tuple(name for each, name in named.items() if not chain.suspects[each] & left)
    alone = left == chain.suspects[place]
    return PossibleOutcome(
        seen=seen.replace("{here}", chain.links[place].name),
        left=left,
        points_to=blamed if alone else (),
        clears=() if alone else cleared,
    )


def own_outcomes(
    past: Sequence[PastTest], causes: Sequence[Cause], wording: Wording
) -> tuple[PossibleOutcome, ...]:
    """Return outcomes of a shop's own test: what it left on past jobs, and the opposite."""
    groups: dict[Left, list[PastTest]] = defaultdict(list)
    for each in past:
        left = left_by(each.test.points_to, each.test.clears, causes, wording)
        if left and left != everything_of(causes):
            groups[left].append(each)
    ranked = sorted(groups, key=lambda left: (-len(groups[left]), sorted(left)))
    found = [
        PossibleOutcome(
            seen=f"it points to {' or '.join(test.points_to)}"
            if test.points_to
            else f"it clears {' and '.join(test.clears)}",
            left=left,
            points_to=test.points_to,
            clears=test.clears,
            past=tuple(groups[left]),
        )
        for left, test in ((left, groups[left][0].test) for left in ranked)
    ]
    none_of_them = frozenset([len(causes)])
    blaming = [each for each in found if each.points_to and each.left != none_of_them]
    blamed = frozenset().union(*(each.left for each in blaming))
    suspects = tuple(dict.fromkeys(name for each in blaming for name in each.points_to))
    rest = everything_of(causes) - blamed
    if suspects and rest not in groups:
        found.append(PossibleOutcome(seen=NONE_OF_THAT, left=rest, clears=suspects))
    return tuple(found)


def starting_outcomes(general: GeneralTest, causes: Sequence[Cause]) -> tuple[PossibleOutcome, ...]:
    """Return the outcomes of a test that fits the trouble, but speaks of none of the suspects."""
    others = tuple(dict.fromkeys(cause.component for cause in causes))
    told = (each.seen for each in general.outcome if each.leaves is Leaves.ANOTHER_PART)
    nothing = general.outcome[-1].seen if general.together else NO_FAULT
    return (
        _at_another_part(next(told, FAULT_ELSEWHERE), causes, others),
        PossibleOutcome(seen=nothing, left=everything_of(causes)),
    )


def _at_another_part(
    seen: str, causes: Sequence[Cause], looked_at: tuple[str, ...]
) -> PossibleOutcome:
    """A fault was found, but at none of the suspects: that is not to have found nothing."""
    return PossibleOutcome(
        seen=seen, left=frozenset([len(causes)]), points_to=(ANOTHER_PART,), clears=looked_at
    )


def everything_of(causes: Sequence[Cause]) -> Left:
    """Return every suspect, and behind them that it is none of these."""
    return frozenset(range(len(causes) + 1))


def _named(suspects: Sequence[str], causes: Sequence[Cause], wording: Wording) -> Left:
    return frozenset(
        place
        for place, cause in enumerate(causes)
        if any(names(suspect, cause, wording) for suspect in suspects)
    )
