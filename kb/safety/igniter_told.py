"""What short sentences tell by a phrase, each by itself or several together.

*Did it hot*, *told not fitted* and *no battery business for me* name no part, and what they tell is
no less dangerous for that on a job that concerns an igniter. *Terminal 30 back. Then the yellow
one.* tells an order of things: a plug that is moved once the supply is on again, or anywhere on a
job on which it stayed on. The phrases stand in ``igniter_told.toml``, to be read and edited by the
trade. All of it is common practice, no source.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from kb.intake.items import trade_wording
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import Clause, Piece, clauses_of
from kb.safety.igniter_deeds import is_told_of_others
from kb.safety.igniter_words import Role
from kb.tables import read_table

TABLE = Path(__file__).with_name("igniter_told.toml")

Found = tuple[int, Piece, Reason]
"""The place of a sentence, its words, and why they are not shown."""


@dataclass(frozen=True, slots=True)
class _Way:
    """What one sentence tells by itself."""

    reason: Reason
    told: re.Pattern[str]
    unless: re.Pattern[str]
    others: bool
    """What somebody else wanted is read, too."""


@dataclass(frozen=True, slots=True)
class _Table:
    ways: tuple[_Way, ...]
    over: Mapping[str, re.Pattern[str]]
    plain: re.Pattern[str]


_NAME = re.compile(r"\{(?P<name>[a-z_]+)\}")


@cache
def _table() -> _Table:
    read = read_table(TABLE)
    names = {name: f"(?:{'|'.join(each)})" for name, each in read["names"].items()}

    def pattern(told: Iterable[str]) -> re.Pattern[str]:
        whole = "|".join(told)
        while _NAME.search(whole):  # a name may be made of others
            whole = _NAME.sub(lambda found: names[found["name"]], whole)
        return re.compile(rf"(?<!\S)(?:{whole})(?!\S)")

    ways = (
        _Way(
            Reason[each["reason"].upper()],
            pattern(each["told"]),
            pattern(each["unless"]),
            each.get("others", False),
        )
        for each in read["way"]
    )
    over = {kind: pattern(told) for kind, told in read["over"].items()}
    return _Table(tuple(ways), over, pattern(read["plain"]["whole"]))


def told_in(sentences: Sequence[Sequence[Clause]]) -> Iterator[Found]:
    """Yield what the sentences of a text tell by phrases, with the place of each sentence."""
    for at, sentence in enumerate(sentences):
        ours = _text_of([e for p, e in enumerate(sentence) if not is_told_of_others(sentence, p)])
        for way in _table().ways:
            told = _text_of(sentence) if way.others else ours
            found = way.told.search(told)
            if found and not way.unless.search(told):
                role = Role.DEFEAT if way.reason is Reason.DEFEAT else Role.LIVE
                yield at, Piece(role, tuple(found.group().split())), way.reason
    yield from _under_power(sentences)


def is_plain(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence plainly tells no more than how it is, or what has to be done."""
    return _table().plain.fullmatch(_text_of(sentence)) is not None


def tells(kind: str, clause: Clause) -> bool:
    """Whether a clause, with the word it begins with, tells what a kind of the table says."""
    return _tells(kind, _text_of([clause]))


def fully_tells(kind: str, clause: Clause) -> bool:
    """Whether a clause tells that, and no more."""
    return _table().over[kind].fullmatch(_text_of([clause])) is not None


def under_power(told: Iterable[str]) -> bool:
    """Whether the words of a job tell that its supply stayed on, and none that it was off.

    Examples
    --------
    >>> under_power(["unplugged the yellow connector", "Key was in position 2 throughout."])
    True
    >>> under_power(["battery stayed on at first", "battery off, waited"])
    False
    """
    clauses = _clauses_told(told)
    if any(map(_is_off, clauses)):
        return False
    live = next(each for each in _table().ways if each.reason is Reason.LIVE)
    return any(_tells("stays", each) or live.told.search(each) for each in clauses)


def tells_off(told: Iterable[str]) -> bool:
    """Whether any words of a job tell that the supply was off, or a wait."""
    return any(map(_is_off, _clauses_told(told)))


def _clauses_told(told: Iterable[str]) -> list[str]:
    return [_text_of([each]) for text in told for each in clauses_of(text, trade_wording())]


def _is_off(told: str) -> bool:
    return _tells("off", told) and not _tells("stays", told)


def is_moved(text: str) -> bool:
    """Whether a text tells that a plug was opened or closed, or worked on.

    Examples
    --------
    >>> is_moved("unplugged the yellow connector: green crust"), is_moved("seat plug: loose")
    (True, False)
    """
    return any(_is_moved(each) for each in _clauses_told([text]) if not _tells("others", each))


def _is_moved(told: str) -> bool:
    if _tells("moved", told):
        return True
    named_alone = _table().over["named_alone"].fullmatch(told)
    return _tells("worked", told) and not (named_alone or _tells("seen", told))


def is_on_again(text: str) -> bool:
    """Whether a text tells that the supply is on again, and no more.

    Examples
    --------
    >>> is_on_again("Supply on again"), is_on_again("battery back on and key on, all quiet")
    (True, False)
    """
    return bool(_table().over["back_alone"].fullmatch(_bare(text))) and _tells("back", _bare(text))


def is_running(conditions: str) -> bool:
    """Whether the conditions of a job tell its engine or its ignition to be on.

    Examples
    --------
    >>> is_running("engine running"), is_running("after a night in the rain")
    (True, False)
    """
    return _tells("running", _bare(conditions))


def goes_on(text: str) -> bool:
    """Whether a text goes on from what was told before it: *then the plug pushed on*."""
    return bool(_table().over["goes_on"].fullmatch(_bare(text)))


def _bare(text: str) -> str:
    """Return the words of a text, without the mark at its end."""
    return _text_of(clauses_of(text, trade_wording()))


def _text_of(sentence: Sequence[Clause]) -> str:
    return " ".join(word for each in sentence for word in (each.joiner, *each.words) if word)


@dataclass(slots=True)
class _Supply:
    """What was told of the supply so far, and of plugs: places and words of the sentences."""

    on: list[tuple[int, Clause]] = field(default_factory=list)
    stays: list[tuple[int, Clause]] = field(default_factory=list)
    worked: list[tuple[int, Clause]] = field(default_factory=list)

    def off(self) -> None:
        """Note that it is off: what was done before is judged, and what follows is free of it."""
        self.on, self.stays, self.worked = [], [], []


def _under_power(sentences: Sequence[Sequence[Clause]]) -> Iterator[Found]:
    """Yield plugs moved with the supply on, and the sentences that say that it was."""
    told = _Supply()
    for at, sentence in enumerate(sentences):
        listed = _tells("ordered", _text_of(sentence))
        for place, clause in enumerate(sentence):
            if is_told_of_others(sentence, place):
                continue
            for where, each in _hear(told, at, clause, listed=listed):
                yield where, Piece(Role.LIVE, each.words), Reason.LIVE


def _hear(told: _Supply, at: int, clause: Clause, *, listed: bool) -> Iterator[tuple[int, Clause]]:
    """Note what a clause tells; yield it and others that are dangerous with it."""
    text = _text_of([clause])
    here = (at, clause)
    if _tells("stays", text):
        told.stays.append(here)
        if told.worked:
            yield from (*told.worked, here)
            told.worked = []
    elif _tells("off", text):
        told.off()
    elif _tells("denied", text):
        return
    elif _is_on(text) or (listed and _tells("back_listed", text)):
        told.on.append(here)
    elif not _tells("others", text):
        moved = _tells("moved", text) or (listed and _tells("moved_listed", text))
        worked = _tells("worked", text) and not _tells("seen", text)
        if (moved or worked) and (told.on or told.stays):
            yield from (*told.on, *told.stays, here)
            told.on, told.stays = told.on[-1:], told.stays[-1:]  # the others are told
        if worked:
            told.worked.append(here)


def _is_on(text: str) -> bool:
    """Whether a clause tells the supply to come on, or little of it that nobody knows."""
    return _tells("back", text) or bool(_table().over["few_words"].fullmatch(text))


def _tells(kind: str, text: str) -> bool:
    return _table().over[kind].search(text) is not None
