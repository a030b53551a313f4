"""Who tells how a car fares, and of which car it is told."""

from rapidfuzz.distance import OSA
from rapidfuzz.process import extractOne

from kb.patterns import compiled

_SHORT = 5
"""Letters up to which one slip makes another word."""
_OWN = frozenset(
    {
        *("customer", "cust", "customers", "client", "owner", "driver", "keeper", "fleet", "depot"),
        *("manager", "mgr", "office", "he", "she", "they", "i", "we", "you", "it", "who", "wife"),
        *("husband", "partner", "missus", "son", "daughter", "couple", "him", "them", "message"),
        *("kunde", "kundin", "halter", "halterin", "fahrer", "fahrerin", "besitzer", "er", "sie"),
        *("ich", "wir", "frau", "mann", "sohn", "tochter", "cliente", "conducteur", "propriétaire"),
        *("il", "elle", "on", "ils", "elles", "je", "nous", "femme", "mari", "fils", "fille"),
        *("klient", "klientka", "kierowca", "właściciel", "właścicielka", "ona", "oni", "żona"),
        *("spouse", "hubby", "wifey", "ehefrau", "ehemann", "gattin", "gatte", "partnerin"),
        *("lebensgefährtin", "lebensgefährte", "épouse", "époux", "conjoint", "conjointe"),
        *("compagne", "compagnon", "partenaire", "małżonka", "małżonek", "partnerka"),
        *("mąż", "syn", "córka", "patron", "text", "email", "mail", "note", "and", "but", "then"),
        *("und", "aber", "et", "mais", "i", "ale", "rang", "called", "phoned", "texted", "all"),
    }
)
"""The customer, the driver, and those of the same house, who drive the car themselves.

These are the spouse, or who is called so, and their children; parents, brothers and sisters,
friends and neighbours live and drive elsewhere (common practice, no source).
"""
_TITLES = r"(?:mr|mrs|ms|miss|dr|herr|frau|m|mme|pan|pani)\.? \w+"
_SAY = (
    r"(?:says?|said|sais|sez|reckons?|reckoned|thinks?|thought|tells?|told|claims?|claimed|swears?"
    r"|swore|sagte?|meinte?|erzählte?|glaubt|behauptet|dit|pense|prétend|raconte|mówi|mowi"
    r"|powiedzia\w+|twierdzi|uważa)"
)
_WHOSE = (
    r"(?:the|his|her|their|my|our|a|an|der|die|das|sein\w*|ihr\w*|mein\w*|le|la|les|un|une|son|sa"
    r"|mon|ma|leur|jego|jej|ich|mój|moja)"
)
_ADVERB = r"(?:also|now|just|still|only|always|has|had|hat|auch|jetzt|aussi|a|też|teraz)"
_TELLER = compiled(
    rf"(?:(?:^|[,;.:!?] *|\b(?:and|but|und|aber|et|mais|ale) )(?!{_TITLES} )"
    rf"|\b{_WHOSE}\s+(?:[^\W\d_][\w'’-]*\s+){{0,2}})"
    rf"(?P<who>[^\W\d_][\w'’-]*)\s+(?:{_ADVERB}\s+)*{_SAY}\b"
)
_HEARD_FROM = compiled(
    r"\b(?:according to|via|laut|selon|d['’]après|według)\s+(?:(?:the|his|her|their|a|dem|der|le|la"
    r"|sein\w*|ihr\w*|son|sa)\s+)?(?P<who>[^\W\d_][\w'’-]*)"
)
_SAY_OTHERS = compiled(
    rf"\b{_SAY},? {_WHOSE}\s+"
    r"(?P<who>[^\W\d_][\w'’-]*)\s*[.!]?$"
)
_CAR = r"(?:car|van|motor|vehicle|truck|auto|wagen|fahrzeug|voiture|camionnette|samochód|samochod)"
_ANOTHER_CAR = compiled(
    rf"\b(?:other|another|second|2nd|ander\w+|zweite[nrs]?|autre|deuxième|drug\w+|inn\w+) {_CAR}\b"
    rf"|\b[^\W\d_]+['’]s (?:other )?{_CAR}\b"
)
_ANY_CAR = compiled(rf"\b{_CAR}\b")
_THIS_CAR = compiled(
    rf"\b(?:this|diese[rs]?|cette|ten|ta|to) (?:one|{_CAR})\b"
    r"|\b(?:dieses|dieser|celle-ci|celui-ci)\b|(?:^|[,;] *)ten\b"
)
_CLAUSE_ENDS = compiled(r"[,;.]\s*|\s+(?:but|while|whereas|aber|mais|ale)\s+")


def is_told_by_others(words: str) -> bool:
    """Whether somebody is named as telling it who may never have driven the car.

    A customer, a driver and those of the same house have; so has whoever is not named.

    Examples
    --------
    >>> is_told_by_others("his grandad says it is fine"), is_told_by_others("postman said all ok")
    (True, True)
    >>> is_told_by_others("customer says fine"), is_told_by_others("rang, said all good")
    (False, False)
    """
    text = " ".join(words.casefold().split())
    for found in (*_TELLER.finditer(text), *_HEARD_FROM.finditer(text)):
        if not _is_own(found["who"]):
            return True
    last = _SAY_OTHERS.search(text)
    return last is not None and not _is_own(last["who"])


def _is_own(who: str) -> bool:
    """Whether a word names one of them, be it misspelt by a letter."""
    misspelt = len(who) > _SHORT and extractOne(who, _OWN, scorer=OSA.distance, score_cutoff=1)
    return who in _OWN or bool(misspelt)


def of_this_car(words: str) -> str:
    """Return what words tell without what they tell of another car; all, if they name none.

    Examples
    --------
    >>> of_this_car("other car has lamp on, this one holds fine"), of_this_car("came back, leaks")
    ('this one holds fine', 'came back, leaks')
    >>> of_this_car("his wife's car is back")
    ''
    """
    parts = [part for part in _CLAUSE_ENDS.split(words) if part.strip()]
    text = [part.casefold() for part in parts]
    this = [_THIS_CAR.search(part) is not None for part in text]
    named = _ANY_CAR if any(this) else _ANOTHER_CAR
    others = [
        not own and (_ANOTHER_CAR.search(part) or named.search(part)) is not None
        for own, part in zip(this, text, strict=True)
    ]
    if not any(others):
        return words
    return ", ".join(part for part, other in zip(parts, others, strict=True) if not other)
