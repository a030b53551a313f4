"""Whether what stood in for an igniter stayed in, told in any sentence of a job.

A load that is put in an igniter's place is a test; that it stays, or that the car went so, is often
told in another field than the load: *known load in: code gone* and, a day later, *collected like
that*. All of it is common practice, no source.
"""

import re
from collections.abc import Iterable, Iterator, Sequence

from kb.patterns import compiled
from kb.safety.igniter import about_igniter

_STANDING = (
    r"dumm(?:y|ies)(?! (?:cover|cap|button|switch))|simulators?|emulators?|substitutes?|stand-ins?"
    r"|(?:known|test|dummy|substitute|bag) (?:loads?|resist\w+)|load resistors?"
    r"|ersatzwiderst\w+|ersatzlast\w*|prüfwiderst\w+|blindwiderst\w+|lastwiderst\w+"
    r"|airbagsimulator\w*|charges? (?:fictive|connue|de subst\w*)|résistances? de (?:subst|rempl)\w*"
    r"|emulator\w*|symulator\w*|(?:opornik|rezystor)\w* zast\w*|ersättningsmotst\w+"
    r"|resistenza di prova|resistencia de prueba|vervangingsweerst\w+"
)
_MAY_STAND = (
    r"(?<!seat )(?<!under )(?<!no )loads?(?! (?:sensor|cell|test|on the))"
    r"|(?<!heater )(?<!blower )(?<!fan )(?<!motor )resistors?|widerst(?:and|ände)\w*"
    r"|résistances?|oporniki?\w*|rezystor\w*|motstånd\w*|resistenz\w+|resistencias?|weerstand\w*"
    r"|atrapa|atrapę"
)
_PUT = (
    r"in|into|fitted|put|plugged|place|instead|across|installed|soldered"
    r"|eingesetzt|eingebaut|gesteckt|eingesteckt|reingesteckt|drin|rein|statt|anstelle"
    r"|mise?|posée?|branchée?|place|włożon\w+|wpięt\w+|wstawion\w+|zamiast|w miejsc\w+"
    r"|isatt|monterad|insatt|istället|posto|montat\w|inserit\w|messa?o?|puest\w|lugar|geplaatst"
)
_STAND_IN = compiled(
    rf"\b(?:{_STANDING}"
    rf"|(?:{_MAY_STAND})\b(?=[^.;!?]{{0,60}}\b(?:{_PUT})\b)"
    rf"|(?:{_PUT})\b[^.;!?]{{0,30}}\b(?:{_MAY_STAND}))\b",
    re.IGNORECASE,
)
_IT = rf"(?:it|they|them|that|this|both|these|one|(?:the |a |its )?(?:{_STANDING}|{_MAY_STAND}))"
_STAYS = compiled(
    rf"\b{_IT} (?:all |just |now |both )?(?:stays?|stayed|remains?|remained)"
    r"(?= *(?:in\b|there\b|put\b|so\b|like\b|fitted\b|where\b|as\b|for\b|until\b|$|[.,;!]))"
    r"|\bstill (?:is |are |all |both )?(?:in\b(?! (?:the )?(?:boot|memory|list))|fitted\b"
    rf"|plugged\b|there\b(?= at)|there\b(?=[^.;]*$)|drives? with|has {_IT}"
    rf"|(?:a|an|the|one|some) (?:{_STANDING}|{_MAY_STAND}))"
    r"|\bleft (?:it |them |that |both |all )?(?:in\b|there\b|as (?:it )?is\b|as (?:it|they) (?:was|are)"
    r"|like (?:this|that|so)|so\b|fitted\b|plugged\b|connected\b|where)"
    r"|\b(?:both|it|them|load|resistor|dummy) left(?= *(?:$|[.,;!]))"
    r"|\bleft (?:the |a )?(?:load|resistor|dummy|simulator|substitute)"
    r"|\bas is\b|\blike (?:that|this)(?= *(?:$|[.,;!]))"
    r"|\b(?:not|never|nobody) (?:yet |been |yet been )?(?:removed|taken out|took|pulled out)"
    rf"|\b(?:goes|went|gone|go|drives?|drove|driving|left|leaves|back|home|on|away|out) (?:\w+ )?"
    rf"with {_IT}\b|\bwith {_IT} (?:still )?(?:in|fitted|plugged)\b(?=.{{0,20}}(?:so|stay|hand|home))"
    r"|\bbleib(?:t|en) (?:so|drin\w*|stecken|eingesetzt|eingebaut|drauf|vorerst|da)\b"
    r"|\b(?:drin|so|eingebaut|stecken) ?(?:ge|be)lassen|\bso (?:weiter|ausgeliefert|übergeben"
    r"|abgeholt|rausgegeben|zurück|gefahren|heim)|\bfährt (?:jetzt |nun |noch )?so\b|\bfährt damit"
    r"|\b(?:noch|immer noch) (?:drin|eingesetzt|eingebaut|gesteckt)"
    r"|\bnicht (?:wieder |mehr )?(?:entfernt|ausgebaut|raus\w*|herausgenommen|rückgebaut)"
    r"|\bcomme [çc]a\b|\btel(?:le)?s? quel(?:le)?s?\b|\ben l.[ée]tat\b"
    r"|\blaissée?s? (?:en place|comme|dedans|dessus|branch\w+|l[àa])"
    r"|\breste(?:nt)? (?:en place|dedans|branch\w+|l[àa])\b|\b(?:toujours|encore) (?:en place"
    r"|dedans|branch\w+|mont[ée]+)|\bpas (?:encore )?(?:retir|enlev|d[ée]pos|[ôo]t)\w+"
    r"|\b(?:zosta(?:je|ł|ła|ło|ły|wion\w+|wił\w*)|tak (?:oddan\w+|wydan\w+|jeździ|jezdzi|odjechał\w*)"
    r"|jeździ tak|nadal (?:w|jest|siedzi)|nie (?:wyjęt|wyjet|usunięt|zdjęt)\w+)"
    r"|\bsitter kvar|\blämnad\w* (?:så|kvar)|\bkör(?:s|de)? så\b|\binte (?:bort|ur)tag\w+"
    r"|\b(?:rimane|resta) (?:l[iì]|dentro|cos[iì]|montat\w)|\blasciat\w (?:cos[iì]|dentro|l[iì])"
    r"|\bcos[iì] com.[eè]|\bancora (?:dentro|montat\w)|\bnon (?:tolt|rimoss|levat)\w"
    r"|\b(?:consegnat\w|restituit\w|ritirat\w|va via) cos[iì]"
    r"|\bse queda\b|\bdejad\w (?:as[ií]|puest\w)|\bsigue (?:as[ií]|puest\w)|\btal cual\b"
    r"|\bno (?:quitad|retirad|sacad)\w|\bentregad\w as[ií]"
    r"|\bblijft (?:zitten|zo|erin)|\bzit er nog|\bzo (?:meegegeven|gelaten|terug)|\bniet verwijderd",
    re.IGNORECASE,
)
_LEAVES = compiled(
    r"\b(?:handed (?:over|back)|hand(?:ing)?over|(?:went|gone|sent|taken|drove|goes) (?:home|back)"
    r"|(?:car|customer|owner|she|he) (?:was )?(?:went|collected|picked|left|gone|took|drove)"
    r"|collected|(?:returned|given back|back) to (?:the )?(?:customer|owner|client)"
    r"|g[ai]ve[ns]? (?:the car |it )?back"
    r"|abgeholt|ausgeliefert|übergeben|kunde (?:holt|fährt|hat)|rendue?|restituée?|client parti"
    r"|oddan\w+|wydan\w+|klient odebrał|hämtad|kunden (?:hämtade|kör)|consegnat\w|ritirat\w"
    r"|entregad\w|opgehaald)\b",
    re.IGNORECASE,
)
"""That the car went: it tells of a stand-in only where it follows it in the same text."""
_OUT = compiled(
    r"(?<!not )(?<!never )(?<!yet )(?<!been )(?<!nobody )\b(?:taken|took|pulled|pull|got|unplugged|came|comes)"
    r"\b(?:(?! (?:lamp|light|code))(?: \w+)){0,4} out\b"
    rf"|(?<!nobody took )(?<!not take )(?<!never took )\b{_IT} (?:is |are |was |were |back |now |then |again )*(?:out|removed|gone again)\b"
    r"|(?<!not )(?<!never )(?<!yet )(?<!been )\b(?:removed|unplugged|disconnected)"
    rf" (?:again|afterwards?|after|{_IT})\b"
    r"|(?:^|[.,;:]\s*|\b(?:and|then) )(?:then |and |all |now )*(?:removed|out again|swapped back)"
    r"(?= *(?:$|[.,;!]|again|and\b|before))"
    r"|\b(?:bag|airbag|pretensioner|tensioner|original|inflator|part|unit|curtain)s?"
    r" (?:is |was |then |now )*(?:back (?:in|on)|refitted|reconnected|plugged back|connected again)"
    r"|\b(?:refitted|reconnected|plugged back) (?:the )?(?:\w+ )?(?:bag|airbag|pretensioner|original)"
    r"|(?<!nicht )(?<!wieder )(?<!mehr )\b(?:wieder |danach |dann )*(?:raus\b|herausgenommen"
    r"|rausgenommen|entfernt|ausgebaut|abgezogen|rückgebaut)"
    r"|(?<!pas )(?<!non )(?<!encore )(?<!jamais )(?<!à )\b(?:retir|enlev|ôt)ée?s?\b"
    r"|(?<!nie )\b(?:wyjęt|usunięt|zdjęt)\w+|(?<!inte )\b(?:borttag|urtag)\w+|\bur igen\b"
    r"|(?<!non )(?<!ancora )\b(?:tolt|rimoss|levat)[oaie]\b"
    r"|(?<!no )\b(?:quitad|retirad|sacad)[oa]s?\b|(?<!niet )\b(?:verwijderd|eruit gehaald)\b",
    re.IGNORECASE,
)
_RENEWED = compiled(
    r"\b(?:replaced|renewed|new|neue[rns]?|ersetzt|erneuert|remplacée?|neu[fv]e?|wymienion\w+"
    r"|now[yae]|byt(?:t|te)|sostituit\w|nuov\w|nuev\w|sustituid\w)\b",
    re.IGNORECASE,
)
_TO_COME = compiled(
    r"\b(?:order\w*|back order|quote\w*|needed|needs|wanted|bestell\w*|command\w+|zamówi\w+"
    r"|beställ\w*|ordinat\w|pedid\w|missing|too (?:dear|expensive)|no new|awaiting|waiting)\b",
    re.IGNORECASE,
)
_NOW = compiled(
    r"\b(?:still|stays?|remains?|now|drives? with|noch|bleib\w+|fährt|toujours|encore|reste|nadal"
    r"|zostaje|kvar|ancora|resta|rimane|sigue|queda|nog|not (?:been )?(?:removed|taken out))\b",
    re.IGNORECASE,
)
"""What others tell of it counts where it tells how the car is, not what somebody once did."""
_CLAUSE_ENDS = compiled(r"[.;,!?:]+(?:\s|$)")


def stands_told(text: str) -> bool:
    """Whether a text tells that something was put where an igniter belongs.

    Examples
    --------
    >>> stands_told("known load in: code gone"), stands_told("seat load sensor renewed")
    (True, False)
    """
    return _STAND_IN.search(text) is not None


def is_out_told(told: Iterable[str]) -> bool:
    """Whether the words of a job, in order, tell that a stand-in came out again.

    A new igniter where it stood tells it as well.

    Examples
    --------
    >>> is_out_told(["known load in: code gone", "replaced pretensioner"])
    True
    >>> is_out_told(["known load in, lamp out", "new bag ordered"])
    False
    """
    return _comes_out(_joined(told))


def left_in(told: Sequence[str], heard: Sequence[str] = ()) -> str | None:
    """Return the words that a stand-in stayed in, or the car left so; None if it came out again.

    Parameters
    ----------
    told : sequence of str
        What the shop tells of a job that concerns an igniter, in order.
    heard : sequence of str
        What others tell, as a complaint or a contact: it counts where it tells how it is now.

    Examples
    --------
    >>> left_in(["known load in: code gone", "customer collected the car like that"])
    'customer collected the car like that'
    >>> left_in(["known load in: code gone", "taken out again, left it in the drawer"])
    """
    now = [text for text in heard if _NOW.search(text)]
    texts = [*told, *now]
    if not stands_told(_joined(texts)) or _comes_out(_joined(told)):
        return None
    stay = (text for text in texts if _STAYS.search(text) or _leaves_with_it(text))
    return next(stay, None)


def _joined(told: Iterable[str]) -> str:
    return ". ".join(dict.fromkeys(text.strip().rstrip(".") for text in told))


def _leaves_with_it(text: str) -> bool:
    put = _STAND_IN.search(text)
    return put is not None and _LEAVES.search(text, put.end()) is not None


def _comes_out(whole: str) -> bool:
    put = _STAND_IN.search(whole)
    behind = whole[put.start() :] if put else whole
    return any(map(_tells_out, _clauses(behind)))


def _clauses(text: str) -> Iterator[str]:
    yield from filter(None, map(str.strip, _CLAUSE_ENDS.split(text)))


def _tells_out(clause: str) -> bool:
    """Whether a clause tells a stand-in out, or a new igniter in; an old one out is neither."""
    named = about_igniter([clause])
    stands = stands_told(clause)
    if _RENEWED.search(clause) and named and not stands:
        return _TO_COME.search(clause) is None
    out = _OUT.search(clause)
    if out is None:
        return False
    return not named or stands or "back" in clause or "connected" in clause or "refit" in clause
