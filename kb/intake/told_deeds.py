"""What was done to which part, where the one is told behind the other."""

import re
from collections.abc import Mapping

from kb.case import Action
from kb.intake.deed_words import ACTIONS, CHARGED, DONE, DONE_FORMS, LASTED
from kb.intake.heard_words import BEHIND
from kb.intake.outcome_words import TROUBLE, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.part_names import CODE, FARED, NEXT, is_nameless, is_work_word, split_behind
from kb.intake.part_words import FROM_WHERE, NAME_OF_PART, PART_NOUN, may_be_part
from kb.intake.values import VALUE
from kb.intake.word_forms import leading
from kb.patterns import compiled

_SHORT_FOR_CHANGED = compiled(r"chg['’]?d", re.IGNORECASE)
_ENDS_CHARGED = compiled(rf"(?:^| ){CHARGED}$", re.IGNORECASE)
_BEHIND_PART = compiled(
    rf"(?P<what>[^,;:!?]{{1,60}}?) +(?:(?:is|was|were|are|been|has|have|now|all|both|also) +)*"
    rf"(?:(?P<verb>{'|'.join(DONE_FORMS.values())})(?![\w/-])"
    r"|(?<!\bwater )(?<!\bair )(?<!\boil )(?<!\bcoolant )in(?=\s*$))",
    re.IGNORECASE,
)
_IS_OF_WHAT_FOLLOWS = compiled(
    rf"(?:^|{NEXT}\s)(?:{CODE}\S*(?: \w+)?|{FARED})\s+{NEXT}"
    r"|^[0-9]+\s*(?:[+&]|(?:and|then)\b)(?!\s*[0-9])"
    r"|(?:\b(?:and|then|but|plus|next|und|dann|aber|et|puis|mais|i|potem|ale)|[+&])$",
    re.IGNORECASE,
)
"""Words before a verb that are no part of what it was done to: ``P0335 and`` adjusted starter."""
_AND_NEXT = compiled(r"\s*(?:\b(?:and|but|then|plus|und|et|i)\b|[+&])", re.IGNORECASE)
_SERVICE_DONE = compiled(
    r"(?P<what>(?:[^\W\d_][\w/-]* ){0,2}(?:regen\w*|re-?learn\w*|coding"
    r"|adapt(?:at)?ions?|calibration|flush|alignment|tracking|update))"
    r" (?:(?<=regen )ok|complete[d]?|successful|performed|carried out|finished|ran)(?![\w-])"
    r"|(?P<done>(?:[ée]quilibrage|g[ée]om[ée]trie|parall[ée]lisme|vidange|purge|r[ée]glage"
    r"|nettoyage|calibrage|r[ée]initialisation|mise à jour|achsvermessung|spureinstellung"
    r"|ölwechsel|kalibrierung|geometria|zbieżność|wyważenie|wyważanie|kalibracja|adaptacja"
    r"|czyszczenie)(?: [^\W\d_][\w/-]*){0,3}?)"
    r" (?:fait[es]*|effectu[ée]e?s?|gemacht|durchgeführt|zrobion[aeyo]|wykonan[aeyo])(?![\w-])",
    re.IGNORECASE,
)
"""What was done that ends by itself, told with its end."""
_NOUNS: Mapping[Action, str] = {
    Action.REPLACED: "change|renewal|replacement",
    Action.REPAIRED: "repair|re-?weld|overhaul|refurb",
    Action.CLEANED: "clean|flush|decoke",
    Action.ADJUSTED: "alignment|re-?alignment|balance|adjustment",
    Action.REFILLED: "bleed|refill|top[- ]?up|re-?gas|recharge",
    Action.REPROGRAMMED: "update|re-?flash|remap|coding|programming|calibration|re-?learn",
    Action.CLEARED: "reset",
}
_BY_NOUN = {
    action: compiled(
        r"(?!(?:at|during|for|since|after|before|until|with|from|bei|beim|seit|lors|przy|podczas) )"
        rf"(?P<what>(?:[^\W\d_][\w/-]* ){{1,3}}?)(?:{nouns})"
        r"(?= done\b|\s*(?:[,;.]|$| [£€$]| [0-9]))",
        re.IGNORECASE,
    )
    for action, nouns in _NOUNS.items()
}
"""What was done, told by a noun: "software update, shifts fine"."""
_DONE_NOUN = compiled(r" done\b", re.IGNORECASE)
_SEEN_CLEAN = compiled(
    r"(?![^,;.]*(?:\b(?:egr|throttle|tb|dpf|carbon|induction|intake|inlet|injector|icv|iacv|idle"
    r"|port|walnut|ultrasonic|chemical|steam|nozzle|body)\b|clean (?:did|made|done|and)\b"
    r"|clean[,;:]? (?:no|same|still)\b))"
    r"[^,;.]*\bclean(?=\s*(?:[,;.]|$))",
    re.IGNORECASE,
)
"""A part that was found clean, where that is no work with a name: "pins clean"."""
_WHOLE_WORK = compiled(
    r"(?:(?:did|done)(?: an?| the)? )?(?P<what>(?P<gas>re-?gas(?:sed)?)"
    r"|(?:(?:forced|static|parked|service|dpf) ){0,2}regen(?:eration)?)(?: done)?"
    r"(?=\s*(?:$|[,;.]|[0-9]))",
    re.IGNORECASE,
)
"""What is done to the one part that can be meant."""
_SERVICE = compiled(
    r"\b(?:campaign|recall|service|regen\w*|alignment|tracking|update|relearn|balanc\w*"
    r"|adapt\w*|flush"
    r"|diag\w*|inspection|mot)\b",
    re.IGNORECASE,
)
"""What is done, and not fitted."""
_THEN_PART = compiled(
    rf"(?:then|next|second(?:ly)?|finally|followed by)\s+(?:(?:the|a) )?"
    r"(?!(?:try|check|look|see|do|fit|change|replace|swap|order|need|suspect|would|will|want|step"
    r"|job|time|visit|service|is|was)(?:s|ing)?\b)"
    rf"(?P<what>{NAME_OF_PART})\s*"
    rf"(?:$|{BEHIND.pattern})",
    re.IGNORECASE,
)
_TO_IT = compiled(
    r"(?:(?:and|but|so|then|finally|instead|just|also) +){0,3}(?P<verb>(?!fixed )[\w-]+)"
    r" (?:it|them|that|these)"
    r"(?![\w'’-])",
    re.IGNORECASE,
)
_PULLED = (
    r"pulled|took|taken|undid|lifted|opened|loosened|slackened|stripped|dropped|removed"
    r"|unplugged|unbolted"
    r"|unscrewed|unclipped|released|drained|split|dismantled|drew|cracked|got"
)
"""What is done to a part before what mends it."""
_AND_DID_IT = compiled(
    rf"(?:then +)?(?P<first>(?:{_PULLED})(?: (?:out|off|up|apart|down|back))?"
    rf" (?:the |an? |its )?(?P<what>{NAME_OF_PART})(?: (?:out|off|up|apart|down|back))?)"
    r"(?: (?:at|in|on|under|from|behind) (?:\w+ ){0,2}?\w+)?"
    rf",? (?:and|&|then) (?:then )?(?P<verb>{'|'.join(DONE_FORMS.values())})"
    r" (?:it|them)(?! (?:for|back)\b)(?![\w'’-])",
    re.IGNORECASE,
)
"""A part that was got at, and what was then done to it."""
_OBJECT = compiled(r" +(?:an?|the|my|his|her|their|its)\b", re.IGNORECASE)
"""Behind this the words before are of who did it: "mate fitted a battery"."""
_THEN_DONE = compiled(
    rf" (?:and|&|\+) (?P<verb>{'|'.join(DONE_FORMS.values())})(?![\w/-])", re.IGNORECASE
)
_LONGEST_NAME = 7
_STATE_BEFORE = compiled(
    r"\b(?:was|is|were|are|not|never|no|to|be|still|when|if|in|mm|sets?)$", re.I
)


def behind_part(text: str) -> tuple[Action, str, int] | None:
    """Read what was done behind the part it was done to: the action, the part, and its end.

    Examples
    --------
    >>> behind_part("pads and discs changed, ok")
    (<Action.REPLACED: 'replaced'>, 'pads and discs', 22)
    """
    by_noun = _by_noun(text)
    if whole := _whole_work(text) or _noun_done(text, by_noun):
        return whole
    match = _BEHIND_PART.match(text)
    if match is None:
        return by_noun
    what = FROM_WHERE.sub("", match["what"]).strip()
    if _OBJECT.match(text, match.end()) or leading(text, DONE):
        return None
    of_other = _IS_OF_WHAT_FOLLOWS.search(what) or _COUNT_FIRST.fullmatch(f"{what} ")
    if of_other or _tells_a_value_before(what) or _LEFT_THERE.search(text[: match.end()]):
        return None
    is_state = not match["verb"] and _STATE_BEFORE.search(what)
    if is_state or not may_be_part(what) or len(what.split()) > _LONGEST_NAME:
        return None
    action, end = _action(match["verb"], what), match.end()
    more = _THEN_DONE.match(text, end) if action is Action.REMOVED else None
    if more:
        action, end = _action(more["verb"], what), more.end()
    return action, what, end


_LEFT_THERE = compiled(r"\bleft (?:in|on|out|off)$", re.IGNORECASE)
"""What was left as it was is no work: ``gas shock left in``."""


def _tells_a_value_before(words: str) -> bool:
    """Whether a value is told before the part: ``rail pressure 250 bar and coil`` cleaned."""
    return any(_AND_NEXT.match(words, value.end()) for value in VALUE.finditer(words))


def _whole_work(text: str) -> tuple[Action, str, int] | None:
    """Read a job that is called by one name, or what was done to a part that was told before."""
    if (match := _SERVICE_DONE.match(text)) and may_be_part(match["what"] or match["done"]):
        if match["done"]:
            return Action.OTHER, match["done"], match.end()
        return Action.OTHER, match["what"], match.end("what")
    if match := _WHOLE_WORK.match(text):
        action = Action.REFILLED if match["gas"] else Action.OTHER
        return action, match["what"], match.end()
    if (match := _AND_DID_IT.match(text)) and may_be_part(match["what"]):
        return _action(match["verb"], match["what"]), match["what"], match.end()
    return None


def _by_noun(text: str) -> tuple[Action, str, int] | None:
    for action, pattern in _BY_NOUN.items():
        match = pattern.match(text)
        if match is None or _SEEN_CLEAN.match(text):
            continue
        if may_be_part(match["what"]) and not is_work_word(match["what"]):
            return action, match["what"].strip(), match.end()
    return None


def _noun_done(text: str, named: tuple[Action, str, int] | None) -> tuple[Action, str, int] | None:
    """Read a noun that is told to be done: "brake bleed done"."""
    done = _DONE_NOUN.match(text, named[2]) if named else None
    return (named[0], named[1], done.end()) if named and done else None


def of_same_part(clause: str) -> tuple[Action, int] | None:
    """Read what else was done to a part named before: "then replaced it", and its end."""
    match = _TO_IT.match(clause)
    if match and LASTED.match(clause, match.end()):
        return None  # "fixed it for 2 days"
    begun = leading(match["verb"], ACTIONS) if match else None
    return (begun[0], match.end()) if match and begun else None


def next_part(clause: str) -> tuple[str, int] | None:
    """Read a part named alone behind "then", to which the same was done, and its end.

    Examples
    --------
    >>> next_part("then coil"), next_part("then dead")
    (('coil', 9), None)
    """
    match = _THEN_PART.match(clause)
    if match is None or is_work_word(match["what"]) or not may_be_part(match["what"]):
        return None
    return match["what"], match.end("what")


_SUBJECT_FIRST = compiled(
    r"[\s,;]*(?:(?:[cç]a|cela|ceci|ce|on|il|elle|ils|elles|je|nous|vous|rien|tout|qui|que|ne"
    r"|das|es|er|sie|ich|wir|ihr|alles|nichts|was|wer"
    r"|ja|ona|oni|nic|wszystko|co|kto"
    r"|him|her(?=\s*$)|me|us|them|you|himself|herself)(?![\w-])|[cjn]['’]|qu['’])",
    re.IGNORECASE,
)
"""Who does something, or to whom it is done: no part begins so."""
_DEED_FIRST = compiled(
    rf"(?:{_PULLED})(?: (?:out|off|up|apart|down|back))? (?:the |an? |its )?"
    r"(?P<what>[^\W\d_][^,;:]*)$",
    re.IGNORECASE,
)
"""Work told before a further deed: "pulled the pump and cleaned it"."""
_HEAD_OF_NAME = compiled(
    r"[\s,;]*(?:(?:an?|the|this|that|my|his|her|their|our|your|its|all|same|other|old|der|die"
    r"|das|den|dem"
    r"|ein\w*|sein\w*|ihr\w*|le|la|les|l['’]|un|une|son|sa|ses|ten|ta|jego|jej) +|l['’])*"
    r"(?P<name>.*?)(?: +(?:from|of|in|on|at|under|with|when|von|vom|bei|im|am|de|du|des|au"
    r"|aux|[àa]|z|ze"
    r"|w|we|od|przy|na)(?: .*)?)?\s*$",
    re.IGNORECASE,
)
_CHANGES_ITSELF = compiled(
    r"(?:(?:minds?|pitch|tone|voice|note|sound|colou?r|shape|behaviou?r|direction|lanes?"
    r"|gears?|speed|revs"
    r"|idle|story|plan|subject|intensity|frequency|level|temp(?:erature)?|mood|weather"
    r"|owner(?:ship)?|(?:live )?values?|readings?|(?:live )?data|pressure|voltage|resistance|signal"
    r"|hands?|meinung|farbe|klang|verhalten|spur|gang|drehzahl|avis|couleur|comportement|vitesse"
    r"|r[ée]gime|zdanie|kolor|bieg\w*)\b ?)+",
    re.IGNORECASE,
)
"""What changes, and is not changed for another."""
_PERSONS = frozenset({WordRole.PERSON, WordRole.HEARSAY})


def may_be_done_to(action: Action, what: str) -> bool:
    """Whether something can be done to what some words name: a part, and no person or trouble.

    Examples
    --------
    >>> may_be_done_to(Action.REPLACED, "noise from rear"), may_be_done_to(Action.CLEARED, "codes")
    (False, True)
    >>> may_be_done_to(Action.REPLACED, "ça ne"), may_be_done_to(Action.REPLACED, "customer")
    (False, False)
    """
    if _SUBJECT_FIRST.match(what) or _DEED_FIRST.match(what) or _WHILE.search(what):
        return False
    if action is Action.REPAIRED and _MADE_SAFE.fullmatch(what):
        return False
    head = _HEAD_OF_NAME.match(what)
    name = head["name"] if head else what
    roles = {word for each in outcome_clauses(name) for word in each.words}
    if action is not Action.REPLACED:
        return not (roles and roles <= _PERSONS)
    return not (_CHANGES_ITSELF.fullmatch(name) or (roles and roles <= _PERSONS | TROUBLE))


_WHILE = compiled(r"\b(?:while|whilst|during|während|pendant)\b", re.IGNORECASE)
"""What holds a state is no part's name: *unbuckled while belt is in*."""
_MADE_SAFE = compiled(
    r"\s*(?:the )?(?:12 ?v(?:olt)? )?(?:battery|supply)(?: (?:negative|neg|off))*\s*", re.IGNORECASE
)
"""What is taped or insulated to be safe, and mended by nobody."""
_COUNT_FIRST = compiled(
    r"(?:(?:an?|the|new) )*(?:pair|both|set|lot|all(?: (?:two|three|four|[2-8]))?)"
    r" (?:(?:was|were) )?",
    re.IGNORECASE,
)
"""How many were done of a part that is named before: "springs snapped. pair fitted"."""


def done_alone(text: str) -> tuple[Action, int] | None:
    """Read what was done where the part is not named: "cleaned", "freed + greased", "put new"."""
    counted = _COUNT_FIRST.match(text)
    begun = leading(text[counted.end() :] if counted else text, DONE)
    if begun is None:
        return None
    nameless = is_nameless(split_behind(begun[1]))
    return (begun[0], len(text) - len(begun[1])) if nameless else None


def _action(verb: str | None, what: str) -> Action:
    if verb and verb.casefold() == "done" and _SERVICE.search(what):
        return Action.OTHER
    if verb and _SHORT_FOR_CHANGED.fullmatch(verb) and _ENDS_CHARGED.search(what):
        return Action.CHARGED
    begun = leading(verb, DONE) if verb else None
    return begun[0] if begun else Action.REPLACED


_NO_DEED = (
    r"with|after|when|while|since|and|but|now|then|all|on|in|at|of|for|from|over|under|near|behind"
    r"|between|before|until|because|as|if|is|was|were|are|has|had|have|saw|found|heard|felt|showed"
    r"|told|gave|asked|drove|left|returned|washed|only|not|no|by|to|into|onto|off|out|up|down|it"
    r"|this|that|these|those|there|here|what|which|who|where|checked|looked|tested|measured|both|the"
    r"|replaced|fitted|ordered|quoted|said|says|know|think|see|need|needs|needed|wants|wanted"
    r"|mit|nach|seit|bei|auf|an|aus|von|zu|und|aber|ist|war|hat|der|die|das"
)
_BENT = r"bent|blew|put|took|cut|ground|drilled|slid|spun|dug|drove|drew|wound|stuck|shook|beat|hit"
_STRANGE_DEED = compiled(
    r"\W*(?:(?:and|then|so|just|also|i|we|i['’]ve|finally) +)*"
    rf"(?!(?:{_NO_DEED})\b)"
    rf"(?:[^\W\d_]{{3,}} +(?:(?:the|both|all|its|an?|some|each|every) +)+"
    rf"|(?:[^\W\d_]{{2,}}ed|{_BENT}) +)(?:[^\W\d_]+ +){{0,3}}?(?:{PART_NOUN}|pins?|terminals?"
    r"|contacts?|wires?|looms?|harness(?:es)?|connectors?|brackets?|rubbers?|lines?|tabs?|edges?"
    r"|grounds?|shields?|covers?|flaps?|doors?)(?![\w-])",
    re.IGNORECASE,
)


def tells_strange_deed(words: str) -> bool:
    """Whether words that are on no list begin as a deed to a part does: "bent the pins back".

    Examples
    --------
    >>> [tells_strange_deed(said) for said in ("bent the pins back", "after the pump", "it is ok")]
    [True, False, False]
    """
    return _STRANGE_DEED.match(words) is not None
