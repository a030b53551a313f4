"""A shop's own words fit to be shown: a line or a mark where they are not."""

import re
from collections.abc import Collection

from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.igniter import Asked, Shown, Withheld, judged, judged_by_sentence
from kb.safety.igniter_beside import goes_on, is_of_it, is_pause, is_told_of_it
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_concern import bears_on_igniter
from kb.safety.igniter_lines import NOT_SHOWN, where_to_read, withheld_line
from kb.safety.never import AT_IGNITER, Never


def line_for(
    text: str,
    *,
    igniter_job: bool,
    job: int | None = None,
    wording: Wording | None = None,
    live: Collection[float] = (),
    of_drive: bool = False,
    words: str | None = None,
) -> str:
    """Return the line that stands for words that are not to be shown, with their own reason.

    Where no igniter is concerned nothing is hidden: the words stand behind a mark.

    Parameters
    ----------
    text, igniter_job, wording, live, of_drive
        As for `judged`.
    job : int, optional
        As for `withheld_line`.
    words : str, optional
        What stands behind the mark, by default the text.
    """
    verdict = judged(text, igniter_job=igniter_job, wording=wording, live=live, of_drive=of_drive)
    never = verdict.never if isinstance(verdict, Withheld) else None
    if not bears_on_igniter(text, igniter_job=igniter_job, wording=wording, of_drive=of_drive):
        return _marked(text if words is None else words, never)
    return _line(verdict, job) if isinstance(verdict, Withheld) else withheld_line(job)


def _marked(text: str, never: Never | None) -> str:
    """Return words behind a mark that says what they tell, or are a part of; once is enough."""
    if text.lstrip().startswith(_MUST_NEVER):
        return text
    begin = text[: len(text) - len(text.lstrip())]
    told = f": it may {never.may}" if never else ""
    return f"{begin}{_MUST_NEVER}{told}] {text.lstrip()}"


def is_marked(shown: str | None) -> bool:
    """Whether shown words stand behind a mark of what must never be done, see `line_for`."""
    return shown is not None and _MUST_NEVER in shown


_MUST_NEVER = "[must never be done"


def _line(withheld: Withheld, job: int | None) -> str:
    """Return the line that stands in the place of a sentence with this verdict."""
    if withheld.never is None:
        return withheld_line(job, withheld.told_as)
    return f"{NOT_SHOWN}: it may {withheld.never.may}{where_to_read(job)}]"


def screen(
    text: str,
    *,
    restraint: bool = False,
    job: int | None = None,
    wording: Wording | None = None,
    live: Collection[float] = (),
    of_drive: bool = False,
) -> str:
    """Return a shop's own words fit to be shown, a line in place of each sentence that is not.

    Where no igniter is concerned, a sentence that tells what must never be done is marked as that.

    Parameters
    ----------
    text : str
        Test, proof or fix in the shop's words.
    restraint : bool
        The words come from a job that concerns an igniter.
    job : int, optional
        Number of that job, for `withheld_line`.
    wording, live, of_drive
        As for `judged`.

    Examples
    --------
    >>> screen("substitute load at the connector")
    'substitute load at the connector'
    >>> screen("checked resistance of LH pretensioner with multimeter").startswith("[not shown")
    True
    >>> screen("Plug green. Ohmed the squib. New plug fitted.", job=7).split("[")[0]
    'Plug green. '
    >>> screen("opened the radiator cap hot")
    '[must never be done: it may open a cooling system that is hot] opened the radiator cap hot'
    """
    shown: list[str] = []
    asked = Asked(restraint, frozenset(live), of_drive=of_drive)
    at_igniter = bears_on_igniter(text, igniter_job=restraint, wording=wording, of_drive=of_drive)
    before: Shown | Withheld = Shown()
    for sentence, own in judged_by_sentence(text, asked, wording):
        behind = isinstance(own, Shown) and at_igniter and isinstance(before, Withheld)
        of_it = behind and (is_of_it(sentence, wording) or is_told_of_it(sentence, wording))
        verdict = before if of_it else own
        before = before if behind and is_pause(sentence, wording) else verdict
        if isinstance(verdict, Shown):
            shown.append(sentence)
            continue
        if not at_igniter:
            shown.append(_marked(sentence, verdict.never))
            continue
        line = _line(verdict, job)
        igniter_job = restraint or verdict.never is None
        whole_step = verdict.never is not None and verdict.never.hazard == AT_IGNITER
        cut = None if whole_step else _cut(sentence, line, wording, live, igniter_job=igniter_job)
        if cut:
            shown.append(cut)
        elif not shown or not shown[-1].startswith(line):
            ends = sentence[len(sentence.rstrip()) :]
            shown.append(line + (ends or " "))
    whole = "".join(shown)
    return whole.rstrip() if NOT_SHOWN in whole else whole


def proof_left(screened: str) -> str:
    """Return a screened proof, or the line alone where a deed of it is not shown.

    What came of a deed that must not be done proves no repair.

    Parameters
    ----------
    screened : str
        A proof as `screen` left it.

    Examples
    --------
    >>> proof_left("lamp off for a week")
    'lamp off for a week'
    >>> proof_left(screen("ohmed the squib, lamp off", restraint=True)).endswith("off")
    False
    """
    line = _LINE.search(screened)
    return line.group() if line else screened


_LINE = compiled(r"\[not shown[^\]]*\]")


def _cut(
    sentence: str,
    line: str,
    wording: Wording | None,
    live: Collection[float],
    *,
    igniter_job: bool,
) -> str | None:
    """Return a sentence with its dangerous parts alone replaced; None if the rest may not stay."""
    parts = _PART.findall(sentence)
    shown = [
        isinstance(judged(part, igniter_job=igniter_job, wording=wording, live=live), Shown)
        for part in parts
    ]
    if all(shown):
        return None
    shown = [
        stays and not is_of_it(part, wording) for part, stays in zip(parts, shown, strict=True)
    ]
    apart = shown.copy()
    for at, part in enumerate(parts[1:], 1):
        apart[at] = apart[at] and (apart[at - 1] or not is_told_of_it(part, wording))
    for each in (shown, apart):
        rest = "".join(part for part, stays in zip(parts, each, strict=True) if stays)
        if not any(map(str.isalnum, rest)):
            return None
        if isinstance(judged(rest, igniter_job=igniter_job, wording=wording, live=live), Withheld):
            return None
        if any(map(goes_on, clauses_of(rest, wording or trade_wording()))):
            return None
    cut: list[str] = []
    for part, stays in zip(parts, apart, strict=True):
        if stays:
            cut.append(part)
        elif not cut or not cut[-1].startswith(line):
            cut.append(line + part[len(part.rstrip(_MARKS)) :])
    return "".join(cut)


_PART = re.compile(r".+?(?:(?<!\d)[,;]\s*|[,;](?!\d)\s*|\s[-–—]+\s+|$)", re.DOTALL)
"""A part of a sentence, with the mark behind it."""


_MARKS = " \t\n,;:.-–—!?"
