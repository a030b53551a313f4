"""Names of parts, and lists of them, as they stand in a line."""

import re
from collections.abc import Iterator

from kb.intake.deed_words import ACTIONS, ANY_DONE, DONE
from kb.intake.failure_words import failure_mode
from kb.intake.heard_words import BEHIND
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.part_words import FROM_WHERE, NAME_OF_PART, NAMELESS, NO_PART, PART_NAME, may_be_part
from kb.intake.word_forms import leading
from kb.patterns import compiled

CODE = r"\b[PCBU][0-9][0-9A-F]{3}\b"
NEXT = r"(?:(?:and|then|but|plus|und|dann|et|puis|potem)\b|[+&])"
FARED = (
    r"(?:(?:came|comes|come|went|is|was) (?:back|off|on again)|returned|still|(?:the )?same"
    r"|(?:all |not |now )?(?:good|ok|okay|fine|fixed|cured|sorted|solved|working|works|gone)"
    r"|no (?:better|change|diff\w*|joy|luck|good|help|effect)|(?:did(?:n['’]?t| not)|never) \w+)\b"
)
_DEED = (
    r"(?:replaced|renewed|changed|swapped|fitted|installed|repaired|soldered|cleaned|tightened"
    r"|adjusted|flushed|reseated|refitted|removed) [^\W\d_]"
)
_TOLD_BESIDE = compiled(
    r"\s+(?:(?:and|but|then|plus)\s|[+&])\s*(?:then )?"
    rf"(?={CODE}|{FARED}(?! \w)|{_DEED})",
    re.IGNORECASE,
)
"""What parts a part from a code, a further deed or how it fared: ``door harness + came back``."""
_AND_ALSO = r"(?:\band\b|[&+]|\bplus\b(?! d[e'’])|\bas well as\b|\bincl(?:uding\b|\.|\b))"
_COUNTED_PART = r"(?:(?:the|an?|its|new|both|two|three|four|[1-9][0-9]?(?: ?x)?) +){0,2}"
_ONE_MORE = rf"{_COUNTED_PART}{NAME_OF_PART}"
_WHERE_THEY_ARE = (
    r"(?:\s+(?:front|rear|left|right|[no]/?s/?[fr]?|[lr]h?[fr]?|both sides))*"
    r"(?!\s+(?:works?|working|runs?|ran|goes|starts|spins|moves|lights?)\b)"
)
"""Where the parts of a list sit; a part that is told to work begins a sentence of its own."""
_MORE_PARTS = compiled(
    rf"(?P<more>(?:\s*+,\s*+{_ONE_MORE})*\s*+,?\s*+{_AND_ALSO}\s*+{_ONE_MORE}"
    rf"(?={_WHERE_THEY_ARE}\s*(?:$|{BEHIND.pattern}))"
    rf"|(?:\s*+,\s*+{_ONE_MORE}(?={_WHERE_THEY_ARE}\s*(?:$|[,;.])))+)",
    re.IGNORECASE,
)
_JOINTS_OF_LIST = compiled(rf"\s*(?:,|{_AND_ALSO})\s*", re.IGNORECASE)
_COUNTED_BEFORE = compiled(_COUNTED_PART, re.IGNORECASE)
_DOES = compiled(
    r"\s+(?:springt|startet|l[äa]uft|geht|funktioniert|ist|hat|klingt|zieht|marche|fonctionne"
    r"|d[ée]marre"
    r"|tourne|est|tient|roule|dzia[łl]a|pracuje|odpala|jest|chodzi|jedzie|zapala)(?!\w)",
    re.IGNORECASE,
)
"""What the last of some names does: it begins a sentence, and names no further part."""
_AND_ELSEWHERE = compiled(r"\s+(?:und|et|oraz|i|aber|mais|ale)(?=\s|$)", re.IGNORECASE)


def split_behind(text: str) -> str:
    """Return the words for a part that stand at the beginning of a text.

    Examples
    --------
    >>> split_behind("door lock, no change")
    'door lock'
    >>> split_behind(" Pumpe und läuft wieder"), split_behind(" pompa i uszczelka, działa")
    ('Pumpe', 'pompa i uszczelka')
    """
    told = text.rstrip()
    what = BEHIND.split(told, maxsplit=1)[0]
    what = _TOLD_BESIDE.split(what, maxsplit=1)[0]
    is_subject = _DOES.match(told, len(what))
    what = what.strip()
    for joint in _AND_ELSEWHERE.finditer(what):
        behind = what[joint.end() :]
        if is_subject or _DOES.search(behind) or not _is_further_part(behind):
            return what[: joint.start()]
    return what


def _is_further_part(words: str) -> bool:
    """Whether words behind the *and* of another language may go on with a list of parts."""
    told = outcome_clauses(words)
    names = all(not each.words or each.strange for each in told)
    return names and bool(words.strip()) and not NO_PART.match(words.strip())


def more_parts(text: str, end: int) -> int:
    """Return where a list of parts ends whose first part ends at a place: one set, one fix.

    Examples
    --------
    >>> more_parts("thermostat, fan and cap, ok", 10), more_parts("plugs and ran well", 5)
    (23, 5)
    >>> more_parts("hose, clamp, ok", 4), more_parts("relay and pump works", 5)
    (11, 5)
    """
    match = _MORE_PARTS.match(text, end)
    if match is None:
        return end
    names = _JOINTS_OF_LIST.split(match["more"])
    told = [_COUNTED_BEFORE.sub("", name) for name in names if name]
    is_list = all(
        may_be_part(name) and not is_work_word(name) and not failure_mode(name) for name in told
    )
    return match.end("more") if is_list else end


_UNREAD = compiled(
    r"\s*(?:\(\s*)?(?:,\s*)?(?:"
    rf"(?:{_AND_ALSO}|\b(?:with|und|et|i|oraz|mit|avec|z|ze)\b|\bw/)"
    r"\s+(?P<joined>(?!(?:which|who|that|so|then|now)\b)[^,;.:()?!\n]{2,60})"
    r"|(?<=,)\s*(?P<next>[^\W\d_][\w'’/-]*(?: [^\W\d_][\w'’/-]*){0,2})\s*(?=[,;.)]|$))",
    re.IGNORECASE,
)


def unread_parts(text: str, end: int) -> Iterator[tuple[int, int]]:
    """Yield where a list goes on, behind the last part read of it, with what may be a part.

    What tells how a fix fared, or begins with work of its own, is none.

    Examples
    --------
    >>> line = "replaced hose and gubbins, fixed"
    >>> [line[start:stop] for start, stop in unread_parts(line, 13)]
    ['gubbins']
    >>> [*unread_parts("replaced hose and ran well", 13)]
    []
    """
    while match := _UNREAD.match(text, end):
        name = "joined" if match["joined"] else "next"
        told = outcome_clauses(match[name])
        alone = all(isinstance(word, str) for each in told for word in each.words)
        if not any(each.strange for each in told) or (name == "next" and not alone):
            return
        yield match.span(name)
        end = match.end(name)


def is_name(text: str) -> bool:
    """Whether a text is the name of a part, or of a set of them, and no more.

    Examples
    --------
    >>> is_name("water pump & belt kit"), is_name("pump dead"), is_name("new link")
    (True, False, False)
    """
    first = PART_NAME.match(text)
    return (
        first is not None
        and may_be_part(text)
        and not is_work_word(text)
        and not failure_mode(text)
        and first.end() + len(text[first.end() :].rstrip()) == more_parts(text, first.end())
    )


def is_work_word(name: str) -> bool:
    """Whether words begin with what was done, and so are no name."""
    return bool(leading(name, ACTIONS) or leading(name, DONE))


def is_nameless(what: str) -> bool:
    """Whether words behind what was done name no part: "up", "it", "from the maker"."""
    bare = FROM_WHERE.sub("", f" {what.casefold()}")
    words = re.findall(r"[^\W\d_]+", ANY_DONE.sub(" ", bare))
    return NAMELESS.issuperset(words)


def name_at_start(text: str) -> str | None:
    """Return the part that a clause begins with: "latch came", "loom found chafed"."""
    match = PART_NAME.match(text)
    return match[0] if match and may_be_part(match[0]) and not is_work_word(match[0]) else None
