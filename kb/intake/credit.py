"""What a success that is told need not be the success of: the fix, the whole fault, or this shop.

A success is not told of a fix where the words give it to another part, leave open which part it
was, tell only that the fault is rarer, or that somebody else has worked on the car since. The lists
are common practice of the trade, no source.
"""

from kb.intake.part_words import PART_NOUN
from kb.patterns import compiled

_BEHIND_WORK = compiled(
    r"\b(?:after|once|by|when|with|following|thanks to|since|as soon as)\b(?P<what>[^,.;:()]{0,80})"
)
_PART = compiled(rf"(?<![\w-])(?:{PART_NOUN})(?![\w-])")
_IES = compiled(r"ies$")
_ES = compiled(r"(ch|sh|x|ss)es$|(?<!s)s$")
_UNNAMED = "part"
"""What the fix was done to, where that is not told: it may be the part that is named behind."""
_CURE_BY = compiled(
    rf"(?<![\w-])(?P<part>{PART_NOUN}) (?:had |have |has |really |actually |finally )?"
    r"(?:did (?:it|the (?:job|trick))|cured|fixed|sorted|solved"
    r"|(?:was|were) (?:it|the (?:cause|fault|culprit|cure|answer|problem)))\b"
    r"|\b(?:turned out|really|actually|in fact|after all|down to|culprit|it was|it were)"
    rf"(?: \w+){{0,4}} (?P<other>{PART_NOUN})(?![\w-])"
)
"""Another part named as what cured, or what it was."""
_OPEN_PART = compiled(
    r"(?:^|[,.;:(–-])\s*(?:and |but )?or\b(?! (?:any|no|not|noise|so)\b)"
    r"|\b(?:could|might|may|can)\b(?: \w+){0,2} (?:have )?been?\b"
    r"|\b(?:either|one of|which (?:of|one)|not sure which|one or the other)\b"
)
_RARER = compiled(
    r"\b(?:no longer|no more|not|never|cannot|\w+n['’]?t)\b"
    r"(?:(?!\b(?:and|but|now|so)\b)[^,.;:]){0,80}"
    r"\b(?:every|each|constantly|always|whenever|as (?:much|often|bad|badly|many|long)"
    r"|(?:in|on|under) (?:all|both)|at all (?=[a-z]+s\b)|all the time)\b"
)
_PRAISED = compiled(r"\b(?:a|missed|skipped|put|fault) (?:beat|foot|it)\b|['’]?t fault\b")
_RENAMED = compiled(r"\bnot (?P<one>[pcbu][0-9][0-9a-f]{3}),? but [pcbu][0-9][0-9a-f]{3}\b")
_CORRECTED = compiled(
    r"(?:^|[.,;:!(–-])\s*(?:(?:and|but|oh|well|no) )*(?:actually|sorry|correction|oops|whoops|wait"
    r"|(?:scratch|strike|ignore|forget) (?:that|it)|my (?:mistake|error|bad)|mistake|spoke too soon"
    r"|wrong|apologies|i lied?|on second thoughts?|not so|not true|no such luck"
    r"|(?:i|we) (?:was|were) wrong)\b"
)
_OTHERS = (
    r"(?:(?:garage|shop|dealer|dealership|main dealer|workshop|specialist|mechanic|fitter|mate"
    r"|friend|brother|dad|father|son|uncle|neighbou?r|cust(?:omer)?|owner|driver|husband|wife|someone"
    r"|somebody|others?|another|he|she|they|elsewhere|patrol|recovery|breakdown)(?:['’]?s|['’]ve"
    r"|['’]?d)?)"
)
_WORKED = (
    r"(?:replaced|renewed|changed|swapped|fitted|installed|repaired|fixed|mended|rebuilt|cleaned"
    r"|soldered|rewired|sorted|cured|bodged|bypassed|reset|cleared|programmed|updated|adjusted"
    r"|did (?:the|a|an|it|his|her|their|new|both|all)"
    r"|(?:has|had|have) (?:it |them )?done|done|put (?:in|on|a|an|another|new|different))"
)
_BY_OTHERS = compiled(
    rf"\b{_OTHERS}(?: (?!we\b|i\b|you\b|us\b|our\b|not\b|no\b)[\w'’]+){{0,4}}? {_WORKED}\b"
    rf"|\b{_WORKED}\b[^,.;]{{0,80}}\b(?:by|at) (?:the |an? |his |her |their )?(?:\w+ )?{_OTHERS}\b"
    rf"|\b{_WORKED}\b[^,.;]{{0,80}}\b(?:elsewhere|himself|herself|themselves)\b"
    rf"|\b(?:had|got) [^,.;]{{0,80}}\b{_WORKED}\b"
)
_GONE_FROM_SIGHT = compiled(
    r"\b(?:until|till?|til|then|before)\b(?: \w+){0,4} (?:sold|scrapped|stolen|exported|crashed"
    r"|traded|written off|wrote it off|moved away|died)\b"
    r"|\b(?:sold|scrapped|verkauft|abgegeben|verschrottet|vendue?|sprzedan\w*)\b[^.;]{0,40}"
    r"\b(?:(?:up to|until|till?) then|bis (?:dahin|dann|zuletzt)|jusque[- ]là|do tego czasu)\b"
)
"""Why nothing was heard of a car any more."""
_SECOND_HAND = (
    r"(?:dealer|dealership|garage|shop|mechanic|forum|mate|friend|neighbou?r|internet|someone"
    r"|somebody|insurer|insurance)"
)
_DEED = (
    r"(?:fitted|put in|put on|installed|replaced|renewed|repaired|fixed|mended|cleaned|changed"
    r"|swapped|sorted|done|made|tightened|sealed|soldered|adjusted)"
)
_NO_REPAIR = (
    r"(?:gear|owner|hand|opinion|car|van|floor|day|week|month|year|winter|summer|call|text|message"
    r"|time (?:i|we|he|she) (?:ask|call|rang|rung|phon|check)|fault|problem|complaint|issue|matter"
    r"|reason|code)"
)
_DONE_OVER = compiled(
    r"\b(?:second|2nd|third|3rd|fourth|another)\b(?! " + _NO_REPAIR + r")"
    r"|\b(?:since|after|with|from)\b(?: \w+){0,2} (?:other|next|later|further)"
    r" (?:repair|fix|visit|job|attempt|time|go|try)\b"
    r"|\bre-?(?:did|done|do|worked|fitted|fixed|repaired|sealed|soldered|tightened|adjusted|cleaned"
    r"|placed again)\b"
    rf"|(?<!\bnever )(?<!\bnot )(?<!n['’]t )\b{_DEED} (?:it |that |them )?"
    r"(?:again|anew|once more|a second time|twice)\b"
    rf"|(?:^|[,;.:] *)(?:(?:we|they|i|he|she|you|and|but|then|had|has|have|was|got) )*{_DEED}"
    r" (?:it )?(?:a |an |another )?(?:new|different|better|genuine|other) \w+"
    r"|\bunder (?:warranty|guarantee)\b|\b(?:on|als|auf) garantie\b|\bsous garantie\b"
    r"|\bna gwarancji\b|\bnachgebessert\b|\bnachbesserung\b|\brefaite?s?\b|\bpoprawi\w+"
    r"|\b(?:nochmals?|noch ?einmal|erneut|wieder) (?:\w+ )?(?:repariert|ersetzt|getauscht"
    r"|gewechselt|erneuert|gemacht|nachgezogen|abgedichtet|gereinigt)\b"
    r"|\b(?:zweite[nrsm]?|dritte[nrsm]?) (?!auto|wagen|fahrzeug|gang|hand|tag|woche|monat)\w+"
    r"|\b(?:deuxième|seconde|troisième) (?!voiture|main|jour|semaine)\w+"
    r"|\b(?:à nouveau|de nouveau|encore) (?:réparé|remplacé|changé|refait|nettoyé)e?s?\b"
    r"|\b(?:ponownie|jeszcze raz|znowu) (?:napraw|wymien|zrob|czyszcz|uszczeln)\w+"
    r"|\b(?:drug|trzeci)\w{1,3} (?:napraw|raz|cz[eę][sś][cć]|wymian)\w*"
)
"""Work that was done over: a success is that of the later repair, and not of the first."""
_MONTH = r"(?:jan|feb|mar|apr|may|june?|july?|aug|sept?|oct|nov|dec)[a-z]*"
_LATER_WORK = compiled(
    r"\bsince\b[^,.;]{0,40}\b(?:done|fixed|repaired|mended|sorted|had it|did it)\b[^,.;]{0,20}"
    rf"(?:\b(?:properly|right|correctly|better)\b|\b(?:in|last) {_MONTH}\b)"
    r"|\bsince\b[^,.;]{0,20}\b(?:dealer|garage|shop|specialist|mate|brother|he|they) had it\b"
    r"|\b(?:leak ?stop|stop ?leak|leak sealer|additive|additives)\b"
    r"|\b(?:added|poured|put in|tipped in)\b[^,.;]{0,20}\b(?:sealer|sealant|conditioner"
    r"|dichtmittel)\b"
    r"|\b(?:sealer|sealant)\b[^,.;]{0,10}\b(?:added|poured|put in|tipped in|went in)\b"
)
"""What was done after the fix, or beside it."""
_BROUGHT_BACK = compiled(
    r"\b(?:brought|brings?|bringing|took|taken|towed|sent|dropped)\b(?: \w+){0,3}"
    r" (?:back|in again)\b(?! for (?!the same|same))"
    r"|\b(?:came|come|comes|was|is|been) (?:in|here|back) again\b(?! for (?!the same|same))"
    r"|\b(?:nothing|no fault|no trouble) (?:was |could be )?found\b|\bfound (?:nothing|no fault)\b"
    r"|\b(?:could|can)(?: ?not|n['’]?t) (?:find|reproduce|replicate)\b"
    r"|\bnot reproducible\b|\bnff\b|\bnichts gefunden\b|\bkein(?:en)? fehler gefunden\b"
    r"|\bnicht reproduzierbar\b|\brien trouvé\b|\bnic nie znalezion\w+"
)
"""Who brings a car back complains: that nothing was found then is no hold."""
_ANOTHER_NOW = compiled(
    r"\b(?:bought|got|has|have|drives?|leased) (?:himself |herself )?(?:a|an|his|her|their)?"
    r" ?(?:new|different|other|another) (?:car|van|one|vehicle)\b"
    r"|\b(?:his|her|their) new (?:car|van)\b"
)
_PAID = compiled(
    r"\b(?:invoice|paid|bill|price|discount|refund|rechnung|bezahlt|facture|payé|rachunek|zapłac\w+)"
    r"(?!\w)"
)
_FROM_SECOND_HAND = compiled(
    rf"\b(?:according to|heard from|told by|from)(?: \w+){{0,2}} {_SECOND_HAND}\b"
    rf"|\b{_SECOND_HAND} (?:says?|said|reckons?|reckoned|claims?|claimed|told|thinks?|swears)\b"
)


def is_credited_elsewhere(text: str, part: str) -> bool:
    """Whether a success is given to another part, or may be that of another one.

    Parameters
    ----------
    text : str
        What is said behind the fix.
    part : str
        What the fix was done to.

    Examples
    --------
    >>> is_credited_elsewhere("cured once hose was done", "coil")
    True
    >>> is_credited_elsewhere("cured with the new coil", "ignition coil")
    False
    >>> is_credited_elsewhere("or was it the plugs, cured", "coil")
    True
    """
    said = text.casefold()
    if _OPEN_PART.search(said) or " or " in part.casefold():
        return True
    own = _singular(part.casefold())
    named = [
        *(name[0] for work in _BEHIND_WORK.finditer(said) for name in _PART.finditer(work["what"])),
        *(cure["part"] or cure["other"] for cure in _CURE_BY.finditer(said)),
    ]
    return own != _UNNAMED and any(_singular(name) not in own for name in named)


def is_only_rarer(text: str) -> bool:
    """Whether a fault is denied for some of the times or places only, by one way to read it.

    Examples
    --------
    >>> is_only_rarer("no longer misfires every time"), is_only_rarer("no longer misfires at all")
    (True, False)
    """
    said = text.casefold()
    return _RARER.search(said) is not None and _PRAISED.search(said) is None


def is_renamed(text: str) -> bool:
    """Whether a code is put right, and not told to be gone: "not P0304 but P0305"."""
    return _RENAMED.search(text.casefold()) is not None


def is_of_others(text: str) -> bool:
    """Whether what is heard later tells of work by others, of a second repair, or is hearsay.

    Examples
    --------
    >>> is_of_others("other garage replaced coil again, now ok"), is_of_others("owner says all ok")
    (True, False)
    >>> is_of_others("held according to dealer"), is_of_others("all ok since we fitted the coil")
    (True, False)
    >>> is_of_others("all good since the second repair"), is_of_others("good since the repair")
    (True, False)
    >>> is_of_others("brought it back, nothing found"), is_of_others("brought cake, all fine")
    (True, False)
    >>> is_of_others("redone in May, fine"), is_of_others("second owner is happy with it")
    (True, False)
    """
    said = text.casefold()
    return any(
        each.search(said)
        for each in (
            *(_BY_OTHERS, _FROM_SECOND_HAND, _DONE_OVER, _LATER_WORK, _BROUGHT_BACK),
            _ANOTHER_NOW,
        )
    )


def is_of_the_bill(text: str) -> bool:
    """Whether words tell of what was paid, with which a customer may be happy."""
    return _PAID.search(text.casefold()) is not None


def is_gone_from_sight(text: str) -> bool:
    """Whether nothing could be heard of a car any more: "held until he sold it"."""
    return _GONE_FROM_SIGHT.search(text.casefold()) is not None


def is_correction(text: str) -> bool:
    """Whether a text takes back what was said before it: "actually not", "sorry, wrong job".

    Examples
    --------
    >>> is_correction("actually not"), is_correction("road test ok")
    (True, False)
    """
    return _CORRECTED.search(text.casefold()) is not None


def _singular(name: str) -> str:
    return " ".join(_ES.sub(r"\1", _IES.sub("y", word)) for word in name.split())
