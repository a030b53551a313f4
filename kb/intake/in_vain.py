"""Parts that a complaint says were replaced without effect, or are new: they are hardly the cause.

"Coil swapped, no change" names the coil to leave it out, as "coil ok" does, and "misfires, plugs
new" the plugs. Where the trouble moved with a part, or came with it, the part is what is wrong.
"""

import re
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from itertools import dropwhile

from kb.intake.wording import Wording
from kb.patterns import WORD_BEGINS, compiled

_DONE_WORDS = """
replaced renewed changed swapped fitted installed exchanged substituted new replacing swapping
getauscht erneuert gewechselt ersetzt neu neue neuer neues wymieniony wymieniona wymieniono nowy
nowa nowe nowych remplacé remplacée remplacés remplacées changé changée changés changées neuf neuve
neufs neuves
"""
_DONE = frozenset(_DONE_WORDS.split())
_CLEANED_WORDS = """
cleaned cleaning flushed decoked descaled unblocked gereinigt gespült nettoyé nettoyée nettoyés
nettoyées wyczyszczony wyczyszczona wyczyszczono wyczyszczone oczyszczony oczyszczona
"""
_CLEANED = frozenset(_CLEANED_WORDS.split())
_BREAK_WORDS = """
with for by from in on to at last ago yesterday already twice since because after before when
and mit von vom bei letzte letzten vor schon bereits wegen czy z but then has have had is was
were been got are elsewhere under monday tuesday wednesday thursday friday saturday sunday
"""
_BREAK = frozenset(_BREAK_WORDS.split())
_BESIDE_WORDS = """
a an the his her my our their other another second known good complete whole side both all tried
we i he she they it der die das den ein eine einen wurde wurden ist also just owner driver customer
keeper model
"""
_BESIDE = frozenset(_BESIDE_WORDS.split())
_VAIN = (
    r"no (?:change|diff\w*|better|improvements?|effects?|luck|joy|help|odds|cure|good|use)"
    r"|not (?:any )?(?:better|cured|fixed|it|that|solved|sorted|helped)|made no|no odds|unchanged"
    r"|(?:the |just the |exactly the )?same(?: again| as before| fault| problem| thing| trouble)?"
    r"|still(?! (?:fine|ok|okay|good|well)\b)"
    r"|did(?:n'?t| not) (?:help|cure|fix|change|solve|cut it)"
    r"|to no avail|in vain|(?:without|w/o) (?:any )?(?:effect|success|change|luck)|for nowt"
    r"|nothing changed|bleibt|bleiben|immer noch|nach wie vor|unver[aä]ndert|umsonst|vergeblich"
    r"|ohne (?:erfolg|wirkung|besserung|[aä]nderung)|keine? (?:[aä]nderung|besserung|unterschied)"
    r"|nichts? (?:besser|geholfen|gebracht)|trotzdem|bez zmian|nadal|sans effet|toujours"
)
_SIGN = (
    r"(?:(?:the|this|that|same|eml|mil|cel|abs|srs|airbag|engine|warning|battery|charge|charging|oil"
    r"|management|brake) )*(?:lamps?|lights?|mil|eml|cel|noise|knock(?:ing)?|misfire|fault|problem"
    r"|trouble|codes?|vibration|leak|smoke|smell|symptoms?|it|lampe|leuchte|kontrolle?uchte|fehler"
    r"|ger[äa]usch|voyant|d[ée]faut|bruit|kontrolka|b[łl][ąa]d|usterka|ha[łl]as)"
)
"""What a complaint is seen or heard by: where that is there yet, the part was not the cause."""
_THERE_YET = (
    r"(?:(?:is|are|has|was|stays?|stayed|came|comes|keeps|kept|gets|on|back) )*"
    r"(?:still(?! (?:fine|ok|okay|good|off|out|gone)\b)|remain(?:s|ed)?|persists?|unchanged"
    r"|(?:stays?|stayed|kept|back|straight back|came back|comes back|coming) ?(?:on|again)"
    r"|(?:came|comes|is|was) back|returned|as before|no (?:better|different)|(?:the )?same"
    r"|(?:brennt|leuchtet) (?:immer )?noch|bleibt|immer noch|noch da|toujours|reste|nadal|dalej)"
)
_IN_VAIN = compiled(
    r"\W*(?:(?:but|and|yet|aber|und|mais|ale)\W+)?"
    rf"(?:(?:it |there )?(?:{_VAIN})|{_SIGN} {_THERE_YET})\b",
    re.IGNORECASE,
)
_INSIDE = compiled(rf"{WORD_BEGINS}(?:{_SIGN} {_THERE_YET}|{_VAIN})\b", re.I)
_MOVED = compiled(
    rf"{WORD_BEGINS}(?:moved|moves|moving|follow(?:s|ed)?|went|goes|travels|travelled|wander\w*|gewandert"
    r"|(?:mit)?gezogen|zieht)\b",
    re.IGNORECASE,
)
_NOT_YET_WORDS = """
no not never need needs needed needing want wants wanted quote quoted advise advised recommend
recommended sell buy order ordered try will would should could may might if maybe perhaps or
since because after when once until with now today yesterday again same like looks sounds swap
swapped swapping swopped
braucht brauchen soll sollte seit nach nachdem jetzt depuis faut od po teraz trzeba
"""
_NOT_YET = frozenset(_NOT_YET_WORDS.split())
"""Words by which a part is not new yet, was only changed with its like, or the trouble came with it
(common practice)."""
_MAY_BE_NEW = compiled(
    r"new|neu|now[aey]|re?pl|ch(?:an)?g|swap|fitted|instal|exchang|substit|getauscht|erneuert"
    r"|gewechselt|ersetzt|wymien",
    re.IGNORECASE,
)
"""Letters of the words for what was done, however they are spelt; most clauses have none."""
_WORKED_WORDS = "done refitted rebuilt overhauled removed repaired job work"
_WORKED = _DONE | frozenset(_WORKED_WORDS.split())
_AFTER = compiled(
    rf"{WORD_BEGINS}(?:ever since|since|after|following|nachdem|nach|seitdem|seit|apr[èe]s|depuis"
    r"|po|od)\b(?P<work>[^,;:.?]*)$",
    re.IGNORECASE,
)
_YOUNG = compiled(
    r"(?:(?:is|are|was|be|only|just|barely|hardly|not even|but|about|less than) )*"
    r"(?<!\d)(?:an?|one|two|three|four|five|six|a few|a couple of|[1-9]|1[0-2](?= [dw]))"
    r" (?:days?|weeks?|months?(?<![7-9] month)(?<![7-9] months)) old\b",
    re.IGNORECASE,
)
"""Behind a part, that it is as good as new."""
_WEARING_WORDS = """
battery batteries tyre tyres bulb bulbs pad pads disc discs blade blades filter plugs
"""
_WEARING = frozenset(_WEARING_WORDS.split())
"""Last words of parts that are changed as they wear: a new one is hardly worn (common practice, no
source)."""
_CAME_WITH = frozenset(["now", "since", "then", "afterwards"])
"""Words that begin what came with a new part."""
MOST_WORDS = 4
"""Words of a part: a longer piece tells of more than that a part was replaced."""


def replaced_in_vain(clause: str, behind: str, wording: Wording) -> list[str]:
    """Return the words of the part that a clause says was replaced in vain; none if it does not.

    Parameters
    ----------
    clause : str
        Which says what was done, and perhaps what came of it.
    behind : str
        The clause behind it, which may say so.

    Examples
    --------
    >>> trade = Wording.default()
    >>> replaced_in_vain("coil swapped no change", "", trade)
    ['coil']
    >>> replaced_in_vain("new battery fitted", "still flat by morning", trade)
    ['battery']
    >>> replaced_in_vain("fitted new alternator", "lamp still on", trade)
    ['alternator']
    >>> replaced_in_vain("coil swapped to cyl 3", "misfire moved to 3", trade)
    []
    """
    return _part(_tokens_in_vain(clause, behind, wording), _DONE)


def cleaned_in_vain(clause: str, behind: str, wording: Wording) -> list[str]:
    """Return the words of the part that a clause says was cleaned in vain; none if it does not.

    Examples
    --------
    >>> cleaned_in_vain("MAF cleaned", "no change", Wording.default())
    ['air', 'mass']
    >>> cleaned_in_vain("MAF cleaned", "pulls well", Wording.default())
    []
    """
    return _part(_tokens_in_vain(clause, behind, wording), _CLEANED)


def _tokens_in_vain(clause: str, behind: str, wording: Wording) -> list[str]:
    """Return the words of a clause that tells work in vain; none if it does not."""
    if not any(map(str.isalpha, clause)):
        return []
    if "?" in clause + behind or _MOVED.search(clause) or _MOVED.search(behind):
        return []
    inside = _INSIDE.search(clause)
    if inside is None and not _IN_VAIN.match(behind):
        return []
    return wording.tokens(clause[: inside.start()] if inside else clause)


def said_new(clause: str, wording: Wording) -> list[str]:
    """Return the words of the part that a clause says is new and nothing else; none if it does not.

    Whether there was trouble before it is for whoever knows what stands in front.

    Examples
    --------
    >>> trade = Wording.default()
    >>> said_new("coil 4 already changed by owner", trade), said_new("needs new coil", trade)
    (['coil'], [])
    """
    if "?" in clause:
        return []
    young = _YOUNG.search(clause)
    if young:
        return _named(wording.tokens(clause[: young.start()]))[:MOST_WORDS]
    if not _MAY_BE_NEW.search(clause):
        return []
    words = wording.tokens(clause)
    if _NOT_YET.intersection(words) or _MOVED.search(clause):
        return []
    return _part(words, _DONE)


def wears(part: Sequence[str]) -> bool:
    """Whether a part is one that is changed as it wears, so that a new one hardly is worn.

    Examples
    --------
    >>> wears(["battery"]), wears(["battery", "cable"]), wears(["brake", "pads"])
    (True, False, True)
    """
    return bool(part) and part[-1] in _WEARING


def is_new_in_front(part: Sequence[str], behind: str) -> bool:
    """Whether a new part was fitted for the trouble that is told behind it, as a battery is.

    Examples
    --------
    >>> battery = ["battery"]
    >>> is_new_in_front(battery, "flat overnight"), is_new_in_front(battery, "now no start")
    (True, False)
    """
    told = behind.split()
    return bool(told) and told[0].casefold() not in _CAME_WITH and [*part][-1:] == ["battery"]


def without_work_before(clause: str, wording: Wording) -> str:
    """Return a clause without the work that it says the trouble came after.

    What was worked at is told as the time of it: the trouble may be beside that as well as in it.

    Examples
    --------
    >>> trade = Wording.default()
    >>> without_work_before("abs lamp on since new wheel bearing fitted last week", trade)
    'abs lamp on'
    >>> without_work_before("after clutch done", trade), without_work_before("after rain", trade)
    ('', 'after rain')
    """
    found = _AFTER.search(clause)
    if not found:
        return clause
    words = wording.tokens(found["work"])
    last = max((at for at, word in enumerate(words) if word in _WORKED), default=None)
    if last is None or not _BREAK.union(_BESIDE).issuperset(words[last + 1 : last + 2]):
        return clause
    return clause[: found.start()].rstrip() if _part(words, _WORKED) else clause


def _part(words: Sequence[str], deeds: AbstractSet[str]) -> list[str]:
    """Return the part something was done to: behind the words for that, or before them."""
    done = [at for at, word in enumerate(words) if word in deeds]
    if not done or any(word in {"no", "not", "never", "nicht"} for word in words):
        return []
    behind, before = _named(words[done[-1] + 1 :]), _named(words[: done[0]])
    between = _named([word for word in words[done[0] : done[-1]] if word not in deeds])
    part = behind or between or before
    return part if len(part) <= MOST_WORDS else []


def _named(words: Sequence[str]) -> list[str]:
    """Return words of a part up to what tells when, where or by whom."""
    kept = [word for word in words if word not in _BESIDE]
    kept = list(dropwhile(_is_number, kept))  # "12 V battery"
    end = next((at for at, word in enumerate(kept) if word in _BREAK or word.isdigit()), len(kept))
    return kept[:end]


def _is_number(word: str) -> bool:
    return word.isdigit() or word == "v"
