"""A circuit as a chain of links from the control unit to the component.

Every test clears or blames a stretch of the chain. Where nobody has told the circuit of a job, it
is the chain of what is suspected, in the usual order of its kinds; two links of one kind then lie
in no known order.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Self

from kb.case import Cause, Link, LinkKind, even
from kb.errors import InvalidField
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.loops import ANY, LoopsTold, are_apart, is_off

_ORDER = list(LinkKind)
_MOST_CACHED = 5_000
"""Names whose kind is kept in mind: more than the parts and places of any shop."""
_THROUGH = compiled(
    r"\bcontinuity\b|\bbuzz\w*|\bbell(?:ed)?\b|\bring(?:s|ed)? (?:out|through)\b|\brang\b"
    r"|\bohm\w*|\bresistances?\b|Ω",
    re.IGNORECASE,
)
_PARTING = compiled(r"\s*(?:[,;\n]|[-=]*>|→)\s*")
_BARRED = compiled(r"\*|\(?\b(?:with )?shorting bars?\b\)?", re.IGNORECASE)
_OPEN_PLUG = compiled(r"\bopen\b|\bunplug\w*|\bdisconnect\w*|\bthrough\b|\bacross\b", re.I)
_LIVE = compiled(r"\blive\b|\bscan tool\b|\bsubstitut|\bdummy\b|\bknown load\b", re.I)


@dataclass(frozen=True, slots=True)
class Chain:
    """Links, and for each the places of the suspected causes that lie in it.

    `apart` are for each link the others that plainly are on another circuit: what is seen at one
    tells nothing of them. `ends` are the links to which the loops lead that a job is about.
    """

    links: tuple[Link, ...]
    suspects: tuple[frozenset[int], ...]
    ordered: bool
    apart: tuple[frozenset[int], ...] = ()
    ends: frozenset[int] = frozenset()

    def at(self, kinds: Sequence[LinkKind]) -> list[int]:
        """Places of the links of these kinds that hold a suspect."""
        return [
            place
            for place, link in enumerate(self.links)
            if link.kind in kinds and self.suspects[place]
        ]

    def before(self, place: int) -> frozenset[int]:
        """Suspects between the control unit and a link, the link itself left out."""
        return self._joined(other for other in range(len(self.links)) if self._lies(other, place))

    def beyond(self, place: int) -> frozenset[int]:
        """Suspects behind a link, seen from the control unit."""
        return self._joined(other for other in range(len(self.links)) if self._lies(place, other))

    def beside(self, place: int) -> frozenset[int]:
        """Suspects that plainly are on another circuit than a link."""
        return self._joined(self.apart[place]) if self.apart else frozenset()

    def leads_to_end(self, place: int) -> bool:
        """Whether what its loop leads to hangs behind a link, and is suspected."""
        return any(self.suspects[end] and self._lies(place, end) for end in self.ends)

    @property
    def on_it(self) -> frozenset[int]:
        """All suspects that lie in the circuit."""
        return self._joined(range(len(self.links)))

    def without(self, causes: frozenset[int]) -> Self:
        """Return the chain with some suspects taken off it."""
        return replace(self, suspects=tuple(each - causes for each in self.suspects))

    def _lies(self, one: int, other: int) -> bool:
        """Whether one link is known to lie nearer to the control unit than the other."""
        if self.ordered:
            return one < other
        if self.apart and other in self.apart[one]:
            return False
        kinds = self.links[one].kind, self.links[other].kind
        return _ORDER.index(kinds[0]) < _ORDER.index(kinds[1])

    def _joined(self, places: Iterable[int]) -> frozenset[int]:
        return frozenset().union(*(self.suspects[place] for place in places))


def chain_of(
    causes: Sequence[Cause],
    circuit: Sequence[Link],
    wording: Wording,
    about: LoopsTold = ANY,
) -> Chain:
    """Lay suspected causes along a circuit, as told of the job from the control unit on.

    Where nobody told it (it is empty), the suspects make the chain, but for those that plainly are
    on none of the loops it is `about`; a cause that fits no link of a told circuit lies outside of
    it.
    """
    if circuit:
        placed = [_link_of(cause, circuit, wording) for cause in causes]
        return Chain(tuple(circuit), _held(len(circuit), placed), ordered=True)
    on_it = [cause for cause in causes if not is_off(cause, about, wording)]
    named = {(cause.key[0], cause.key[1]): cause for cause in on_it}
    components = Counter(component for component, _ in named)
    links = {
        key: Link(
            name=cause.component if components[key[0]] == 1 else _full_name(cause),
            kind=kind_of(cause.component, wording),
        )
        for key, cause in named.items()
    }
    keys = sorted(named, key=lambda key: _ORDER.index(links[key].kind))
    at = {key: place for place, key in enumerate(keys)}
    return Chain(
        tuple(links[key] for key in keys),
        _held(len(keys), [at.get((cause.key[0], cause.key[1])) for cause in causes]),
        ordered=False,
        apart=tuple(
            frozenset(at[other] for other in keys if are_apart(named[key], named[other], wording))
            for key in keys
        ),
        ends=frozenset(
            at[key]
            for key, cause in named.items()
            if any(names(end, cause, wording) for end in about.ends)
        ),
    )


def _full_name(cause: Cause) -> str:
    return f"{cause.component}, {cause.location}" if cause.location else cause.component


def _held(count: int, placed: Sequence[int | None]) -> tuple[frozenset[int], ...]:
    return tuple(
        frozenset(cause for cause, place in enumerate(placed) if place == link)
        for link in range(count)
    )


def _link_of(cause: Cause, circuit: Sequence[Link], wording: Wording) -> int | None:
    """The link whose name says most of the cause."""
    fits = [
        (len(wording.tokens(link.name)), -place)
        for place, link in enumerate(circuit)
        if names(link.name, cause, wording)
    ]
    return -max(fits)[1] if fits else None


def parse_circuit(text: str, wording: Wording) -> tuple[Link, ...]:
    """Read a circuit: its links from the control unit on, parted by commas or arrows.

    A star, or the words "shorting bars", behind a link says that it has them; a colon and a kind
    that it is of another kind than its name tells.

    Raises
    ------
    InvalidField
        If there are not at least two links, two have one name, or a kind is unknown.

    Examples
    --------
    >>> links = parse_circuit("airbag ECU > harness > seat plug* > belt: component",
    ...                       Wording.default())
    >>> [(link.kind.value, link.shorting_bars) for link in links]
    [('control unit', False), ('harness', False), ('connector', True), ('component', False)]
    """
    pieces = [piece.strip() for piece in _PARTING.split(text) if piece.strip(" *")]
    links = tuple(_parse_link(piece, wording) for piece in pieces)
    named = Counter(even(link.name) for link in links)
    if len(links) < 2:
        raise InvalidField("circuit", text, "needs two links or more: control unit, harness, ...")
    if twice := [name for name, times in named.items() if times > 1]:
        raise InvalidField("circuit", twice[0], "stands there twice; give each link its own name")
    return links


def _parse_link(piece: str, wording: Wording) -> Link:
    barred = bool(_BARRED.search(piece))
    name, colon, told = (part.strip() for part in _BARRED.sub(" ", piece).partition(":"))
    if not name:
        raise InvalidField("circuit", piece, "names no link; write what it is: seat connector*")
    if colon and told.casefold() not in _ORDER:
        raise InvalidField("circuit", told, f"must be one of: {', '.join(LinkKind)}")
    kind = LinkKind(told.casefold()) if colon else kind_of(name, wording)
    return Link(name=" ".join(name.split()), kind=kind, shorting_bars=barred)


def kind_of(name: str, wording: Wording) -> LinkKind:
    """What a thing is, by the last words of its name.

    Examples
    --------
    >>> wording = Wording.default()
    >>> [kind_of(name, wording).value for name in ("airbag ECU", "seat connector", "spark plug")]
    ['control unit', 'connector', 'component']
    """
    return _kind(tuple(wording.tokens(name)))


def names(suspect: str, cause: Cause, wording: Wording) -> bool:
    """Whether a shop's word for a suspect speaks of a cause.

    It does if it ends as the component does and either says nothing else than component and
    location or says all of the component, or if it is nothing but the kind of the component. All
    names of one kind are one: a seat plug is the seat connector. What stands behind a comma may
    be where it sits: *battery, boot*.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> cable = Cause(component="battery cable", failure_mode=FailureMode.LOOSE)
    >>> wording = Wording.default()
    >>> [names(word, cable, wording) for word in ("cable", "battery", "harness")]
    [True, False, True]
    >>> plug = Cause(component="seat connector", failure_mode=FailureMode.LOOSE)
    >>> [names(word, plug, wording) for word in ("seat plug", "door plug")]
    [True, False]
    >>> boot = Cause(component="battery", failure_mode=FailureMode.WORN, location="boot")
    >>> [names(word, boot, wording) for word in ("battery, boot", "battery, engine bay")]
    [True, False]
    """
    part, _, place = suspect.partition(", ")
    if place and cause.location and wording.tokens(place) == wording.tokens(cause.location):
        return names(part, cause, wording)
    told = tuple(wording.tokens(suspect))
    component = tuple(wording.tokens(cause.component))
    if not told or not component:
        return False
    kind, told = _kind(told), _by_kind(told)
    if kind is not LinkKind.COMPONENT and told == tuple(kind.value.split()):
        return kind is _kind(component)
    component = _by_kind(component)
    known = {*component, *wording.tokens(cause.location or "")}
    alike = set(told) <= known or set(component) <= set(told)
    return alike and told[-1] == component[-1]


_INNER = frozenset(
    [
        *("terminal", "terminals", "pin", "pins", "contact", "contacts"),
        *("seal", "seals", "clip", "clips", "housing"),
    ]
)
"""What a new part brings with it (common practice, no source)."""
_OPPOSITES = (("left", "right"), ("front", "rear"), ("upper", "lower"), ("inner", "outer"))


def is_within(part: str, whole: str, wording: Wording) -> bool:
    """Whether whoever renews the whole renews the part, be it by another name of its kind.

    Examples
    --------
    >>> wording = Wording.default()
    >>> [is_within(part, "seat plug", wording)
    ...  for part in ("seat connector", "seat connector terminals", "seat harness")]
    [True, True, False]
    >>> is_within("wheel speed sensor connector", "wheel speed sensor", wording)
    False
    """
    inner, outer = tuple(wording.tokens(part)), tuple(wording.tokens(whole))
    while len(inner) > 1 and inner[-1] in _INNER and inner[-1] not in outer:
        inner = inner[:-1]
    return bool(inner) and _by_kind(inner) == _by_kind(outer)


def is_done_to(component: str, cause: Cause, wording: Wording) -> bool:
    """Whether work on a component is work on what a cause lies in, its whole, or part of it.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> lock = Cause(component="door lock", location="front door",
    ...              failure_mode=FailureMode.INTERNAL_FAULT)
    >>> wording = Wording.default()
    >>> [is_done_to(part, lock, wording) for part in ("door lock", "rear door lock", "door")]
    [True, False, False]
    """
    told = set(wording.tokens(component))
    there = set(wording.tokens(cause.location or ""))
    for pair in _OPPOSITES:
        if len(told & set(pair)) == len(there & set(pair)) == 1 and not told & there & set(pair):
            return False
    return (
        names(component, cause, wording)
        or is_within(cause.component, component, wording)
        or is_within(component, cause.component, wording)
    )


def shorted(text: str, circuit: Sequence[Link], wording: Wording, *, restraint: bool) -> str | None:
    """Name the connector whose shorting bars make a reading worthless; None if there is none.

    `text` is what was measured, `circuit` as told of the job; `restraint` says that the job is on
    the restraints, whose connectors usually have such bars.

    Examples
    --------
    >>> shorted("continuity through open seat plug: beeps", (), Wording.default(), restraint=True)
    'the open connector'
    """
    if not _THROUGH.search(text) or _LIVE.search(text):
        return None
    words = set(wording.tokens(text))
    for link in circuit:
        if link.shorting_bars and words & set(wording.tokens(link.name)):
            return link.name
    connector = words & set(general_tests().kinds[LinkKind.CONNECTOR])
    barred = [link for link in circuit if link.shorting_bars]
    if connector and barred:
        return barred[0].name
    if restraint and not _APART.search(text) and (connector or _OPEN_PLUG.search(text)):
        return "the open connector"
    return None


_APART = compiled(
    r"\b(?:buckle (?:switch|sensor|contact)|mats?|occup\w+|heater|crash sensor|fuse|battery|supply"
    r"|earth)\b",
    re.IGNORECASE,
)
"""Parts of the restraints whose own plugs have no shorting bars (common practice, no source)."""


@lru_cache(maxsize=_MOST_CACHED)
def _by_kind(tokens: tuple[str, ...]) -> tuple[str, ...]:
    """Return a name with its last words put as the kind they tell, where they tell no more.

    A battery cable and an earth strap are no other names of a harness, but parts of it.
    """
    for start in range(len(tokens)):
        last = " ".join(tokens[start:])
        kind = _kind_words().get(last, LinkKind.COMPONENT)
        if kind is LinkKind.HARNESS and " " in last:
            return tokens
        if kind is not LinkKind.COMPONENT:
            return (*tokens[:start], *kind.value.split())
        if last in _kind_words():
            return tokens
    return tokens


@lru_cache(maxsize=_MOST_CACHED)
def _kind(tokens: tuple[str, ...]) -> LinkKind:
    for start in range(len(tokens)):
        kind = _kind_words().get(" ".join(tokens[start:]))
        if kind is not None:
            return kind
    return LinkKind.COMPONENT


@lru_cache(maxsize=1)
def _kind_words() -> dict[str, LinkKind]:
    wording = Wording.default()  # an earth strap is a ground strap to it
    return {
        " ".join(wording.tokens(word)): kind
        for kind, words in general_tests().kinds.items()
        for word in words
    }
