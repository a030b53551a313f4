"""What is done to a part, in verbs, before it and behind it: common practice, no source."""

import re
from collections.abc import Mapping
from functools import lru_cache

from kb.case import Action
from kb.intake.part_words import PART_NOUN
from kb.intake.word_forms import forms_table
from kb.patterns import compiled

CHARGED = (
    "(?:(?:the|her|his|their|main|spare|12 ?v|traction|hv|aux(?:iliary)?|starter) )*"
    "(?:batt?(?:ery|eries|s)?|it|a/?c|pack|cells?|accu|akku|refrigerant|r-?(?:134a|1234yf))\\b"
)
"""What is charged; behind others "charge" is a name: "charge lamp", "charge pipe"."""
_CHANGED = r"ch(?:n|an)?g['’]?(?:e['’]?)?d"
"""Changed, cut short; of a battery it is rather charged: "chgd"."""
_FOR_A_TIME = (
    r" (?:only |just )?for (?:about |only |just |around |maybe |nearly |almost |over )*"
    r"(?:[0-9]+|an?|one|two|three|four|five|six|seven|eight|nine|ten|few|several|half)"
    r"(?: (?:an?|few|couple|short|good|little|of))* ?"
    r"(?:secs?|seconds?|min(?:ute)?s?|hrs?|hours?|days?|nights?|weeks?|wks?|fortnight|months?"
    r"|years?|while"
    r"|time|bit|spell|trips?|journeys?|drives?|km|miles?|mi)\b"
)
"""How long a success lasted, told of the fix before: "fixed for 2 days"."""
LASTED = compiled(_FOR_A_TIME, re.IGNORECASE)
_FAULT = "(?:it|this|that|them|the (?:fault|problem|noise|leak|issue|trouble|squeak|rattle))"
_SOAKED = ("carpet", "carpets", "mat", "mats", "underlay", "interior", "footwell", "floor", "boot")
_OF_NO_FLOOD = "".join(f"(?<!{each} )" for each in _SOAKED)
_NOT_OF_A_FLOOD = rf"(?! (?:the |out )*(?:{'|'.join(_SOAKED)})\b)"
"""What is dried after a leak was found is no fix of it (common practice)."""
_OF_A_PART = (
    r"(?! (?:owners?|keepers?|cust(?:omer)?s?|tenants?|users?|mechanic|fitter|apprentice|mot"
    r"|orders?|quotes?|estimates?|appointments?|bookings?|address|(?:phone |mobile )?numbers?"
    r"(?! plate)"
    r"|faults?|problems?|symptoms?|issues?|trouble|complaints?|noises?(?! (?:filt|supp))|sounds?"
    r"|smells?|leaks?(?![ -]off)|year|besitzer\w*|halter|kund\w+|termine?|fehler|ger[aä]usche?"
    r"|propri[ée]taires?|clients?|bruits?|d[ée]fauts?|rendez-vous"
    r"|w[lł]a[sś]ciciel\w*|klient\w*|kierowc\w+|b[lł][aą]d\w*|ha[lł]as\w*)\b"
    r"| (?:driver|car|vehicle|van|job|test|code|fahrer|auftrag|conducteur)s?"
    r"(?:\s*(?:$|[,;.])| (?:unknown|now|is|was|has|says|said|since|and|opened|bought)\b))"
)
"""What is new without being fitted: people, trouble, papers, cars."""
_AS_SOMETHING_IS_DONE = r"(?:when(?:ever)?|as|with|if|while|whilst|under|by itself|between|from)\b"
"""What is told before it changes by itself: a value does *when pushed*."""
_TO_TRY = (
    r"(?:(?:the |its |his |her )?(?:(?:front|rear|driver'?s?|pass(?:enger)?|l[fhr]|r[fhr]) )?"
    r"(?:seat|steering|wheel|steering wheel|column|car|van|vehicle|lever|gear lever|pedal|window"
    r"|door|tailgate|mirror|headrest)s?\b|(?:[\w'-]+ ){1,4}?(?:to and fro|back and forth"
    r"|back and forwards?|forwards? and back\w*|up and down|side to side|left (?:to|and) right"
    r"|in and out|about|around|through (?:its |the )?(?:full |whole )?(?:travel|range))\b)"
)
"""What is moved to see what comes of it, or out of the way: no part was laid anew."""
_ACTIONS: Mapping[Action, str] = {
    Action.REPLACED: (
        "replaced?|renew(?:ed)?|swapped|swap|fit(?:ted)?(?: an?)?(?: new)?|changed|installed"
        rf"|new{_OF_A_PART}"
        "|put (?:in )?(?:an? )?new|press(?:ed)? in new|exchanged|re-?made|swop(?:ped)?"
        "|(?:ran|run|spliced|wired|dropped|bolted|plugged|screwed|slotted|popped|stuck|clipped|slung)"
        "(?: in| on| up)? (?:an? )?new"
        r"|(?:re-?built|overhauled|refurb(?:ished|bed|ed)?)"
        r"(?= [^,;.]{1,40} (?:fitted|installed|put (?:on|in)|on)\b)"
        rf"|re?pla?c?['’]?e?d|inst['’]?l?['’]?d|{_CHANGED}(?! {CHARGED})"
        r"|repl\.?|repl?['’]?d|wymienion[oaye]|ersetzt|getauscht|remplac[ée]|chang[ée]"
        rf"|exchange(?= (?:[^\W\d_]+ )?(?:{PART_NOUN}))"
        rf"|(?:neue[rsmn]?|nouve(?:au|lle)s?|now[aey]){_OF_A_PART}"
        r"|(?:have |had )?(?:did|done)(?: all?)?(?: [0-9])?(?: the)?"
        rf"(?= (?:[^\W\d_][\w/-]* ){{0,2}}(?:{PART_NOUN})"
        r"(?: ?[+&/,;.]| (?:and|n|both|front|rear|left|right|all)\b|\s*$))"
    ),
    Action.REPAIRED: (
        rf"repair(?:ed)?|rpr['’]?d|mended|fixed(?!(?: {_FAULT})?{_FOR_A_TIME})|soldered"
        "|re-?soldered|spliced|rejoined|re-?crimped|crimped"
        "|re-?wired|re-?terminated|re-?tensioned|re-?pinned|welded|patched|(?:re-?)?sealed|skimmed"
        "|machined|honed|re-?bushed|taped(?: up)?|glued|bonded|sleeved|insulated"
        "|plugged(?= (?:the )?(?:hole|puncture|leak|tyre))|shimmed|naprawion[oaye]"
        "|r[ée]par[ée]|soud[ée]"
        r"|(?:re-?built|overhauled|refurb(?:ished|bed|ed)?)"
        r"(?! [^,;.]{1,40} (?:fitted|installed|put (?:on|in)|on)\b)"
    ),
    Action.CLEANED: (
        "clean(?:ed)?(?: out| up)?|cl(?:ea)?n['’]?d(?: out| up)?|(?:wy|o)czyszczon[oaye]"
        f"|nettoy[ée]|blew (?:out|thr(?:u|ough)|clear|free|dry)|dried(?: out)?{_NOT_OF_A_FLOOD}"
        "|polished|flushed|rodded(?: out| through| clear)?|descaled|de-?coked|wire-?brushed"
    ),
    Action.RESEATED: (
        "re-?install(?:ed)?|re-?mounted|"
        "plugged(?= [^,;.]{1,40} back in)|re-?seat(?:ed)?|re-?connected|re-?fitted|re-?plugged"
        "|plugged in|pushed home"
    ),
    Action.TIGHTENED: "(?:re-?)?tighten(?:ed)?|(?:re-?)?torqued",
    Action.ADJUSTED: "(?:re-?)?adj(?:ust)?(?:['’]?d|ed)?|(?:re-?)?aligned|(?:re-?)?calibrated"
    r"|balanced|tracked"
    r"|set(?! of\b)(?! (?:(?:it|them|(?:the )?old(?: [a-z]+){0,2}) )?off\b)(?: up)?"
    "|straightened|bent(?= (?:it|back|clear|straight))",
    Action.LUBRICATED: "lubricated?|lubed|greased|oiled|freed(?: off| up)?",
    Action.REFILLED: "re-?fill(?:ed)?|topped up|top(?:ped)? up|filled(?: up)?|bled|(?:re-?)?gassed",
    Action.CHARGED: (
        f"(?:re-?)?charged|(?:re-?)?charge(?= {CHARGED})|chrg['’]?d|{_CHANGED}(?= {CHARGED})"
    ),
    Action.REROUTED: f"re-?rout(?:ed)?|re-?clipped|secured|re-?tied|moved(?! {_TO_TRY})",
    Action.CLEARED: "clear(?:ed)?|erased?|reset|unblocked",
    Action.REPROGRAMMED: (
        "re-?program(?:med)?|programmed|updated?|flashed|re-?flashed|(?:re-?)?coded|initialised"
    ),
    Action.REMOVED: "removed?|took out|disconnected|isolated",
    Action.OTHER: "other",
}
_OF_WHAT = " (?:von|vom|der|des|du|de la|de)"
_NO_PART_BEHIND = (
    r"(?! (?:ok|okay|dobrze|lepiej|gorzej|cisza|spok[óo]j|bez|nadal|dalej|wci[ąa][żz]"
    r"|znowu|znów|nie|nic|jest|by[łl]\w*|dzia[łl]a\w*|wszystko|jazda|test\w*)\b)"
)
_DOING: Mapping[Action, str] = {
    Action.REPLACED: (
        "replacing|renewing|swapping|changing|fitting|installing"
        rf"|(?:(?:aus)?tausch|wechsel|erneuerung|einbau|remplacement|changement){_OF_WHAT}"
        rf"|(?:wy|z)mianie{_NO_PART_BEHIND}"
    ),
    Action.REPAIRED: (
        "repairing|mending|soldering|re-?soldering|splicing|welding|sealing"
        rf"|(?:reparatur|l[öo]ten|r[ée]paration){_OF_WHAT}|(?:naprawie|lutowaniu){_NO_PART_BEHIND}"
    ),
    Action.CLEANED: (
        "cleaning(?: out| up)?|drying(?: out)?|flushing"
        rf"|(?:reinigung|reinigen|nettoyage){_OF_WHAT}"
        rf"|(?:wy|o)czyszczeniu{_NO_PART_BEHIND}"
    ),
    Action.RESEATED: "re-?seating|re-?connecting|re-?fitting|plugging in",
    Action.TIGHTENED: "(?:re-?)?tightening|(?:re-?)?torquing",
    Action.ADJUSTED: "(?:re-?)?adjusting|(?:re-?)?aligning|(?:re-?)?calibrating|setting",
    Action.LUBRICATED: "lubricating|greasing|oiling|freeing(?: off| up)?",
    Action.REFILLED: "re-?filling|topping up|bleeding",
    Action.CHARGED: "(?:re-?)?charging",
    Action.REROUTED: "re-?routing|re-?clipping|securing|moving",
    Action.REPROGRAMMED: "re-?programming|updating|(?:re-?)?flashing|(?:re-?)?coding",
    Action.REMOVED: "removing|disconnecting",
}
"""What was done, told as what cured: "fixed by cleaning"."""
WORK_VERBS = """
replaced replacing renewed swapped fitted refitted changed installed exchanged remade
rebuilt overhauled refurbished repaired mended soldered resoldered spliced rejoined crimped
rewired welded patched sealed skimmed
machined honed taped sleeved plugged shimmed cleaned dried polished flushed blown reseated
reinstalled reconnected pushed tightened torqued adjusted aligned calibrated balanced
straightened lubricated greased oiled freed refilled filled topped regassed recharged charged bled
rerouted secured
cleared erased reset programmed updated flashed coded adapted registered removed disconnected
tested checked inspected measured scanned unplugged pinched clamped bridged tapped sprayed ordered
quoted
"""
"""What was done, as a verb in the past: words that slips of spelling are mended to."""
CURED_BY = compiled(
    r"(?:(?:and|but|then|only|finally|eventually|later) )*(?:cured|fixed|sorted|solved|resolved)"
    r"(?: it)? by ",
    re.IGNORECASE,
)
AFTER_DOING = compiled(
    r"(?:(?:and|but|then|even|also|straight|just) )*"
    r"(?:after|since|despite|(?:nach|seit)(?: de[mr])?|apr[èe]s(?: l[ea])?|po) "
    r"(?!(?:chang|swapp)ing (?:down|up|to|gears?|lanes?|direction|sides?)\b"
    r"|wechsel (?:auf|zu[mr]?|in|de[rs] (?:spur|gang\w*|richtung|seite))\b"
    r"|changement de (?:vitesses?|rapport|voie|direction|position)\b"
    r"|zmianie (?:bieg\w*|pas[ua]?|kierunku|pozycji|strony)\b)",
    re.IGNORECASE,
)
DONE_FORMS: Mapping[Action, str] = {
    Action.REPLACED: (
        "done|(?:put|made)(?: up)?(?: a)? new(?: ones?)?(?: in)?|replaced|renewed|swapped|swopped"
        "|changed"
        "|exchanged|fitted|installed|new|re-?made|redone"
        rf"|re?pla?c?['’]?e?d|repl\.?|repl?['’]?d|inst['’]?l?['’]?d|{_CHANGED}|ersetzt"
        rf"|getauscht|erneuert|gewechselt|eingebaut|neu(?! (?:auf|ein|an)?gesteckt)|remplac[ée]e?s?"
        rf"|chang[ée]e?s?(?! {_AS_SOMETHING_IS_DONE})"
        "|neu(?:f|fs|ve|ves)|wymienion[yaeio]|nowy|nowa"
    ),
    Action.REPAIRED: (
        "repaired|rpr['’]?d|mended|soldered|re-?soldered|spliced|rejoined|joined|re-?crimped|crimped|re-?wired"
        "|re-?terminated|re-?tensioned|re-?pinned|welded|patched|(?:re-?)?sealed|taped(?: up)?"
        "|skimmed|machined|honed|re-?bushed|made up"
        "|re-?built|overhauled|refurb(?:ished|bed|ed)?|reconditioned"
        "|sleeved|wrapped(?: up)?|insulated|heat ?shrunk|glued|bonded|shimmed"
        r"|plugged(?! (?:back|in|on)\b)"
        "|repariert"
        "|gel[öo]tet|r[ée]par[ée]e?s?|naprawion[yaeo]|geschwei(?:ß|ss)t|abgedichtet|instandgesetzt"
        "|soud[ée]e?s?|[ée]tanch[ée]ifi[ée]e?s?|zespawan[yaeo]|[zp]o?lutowan[yaeo]|uszczelnion[yaeo]"
    ),
    Action.CLEANED: (
        f"cl(?:ea)?n(?:e?d|['’]d)(?: out| up| down)?|{_OF_NO_FLOOD}dried(?: out)?|polished|flushed"
        "|blown (?:out|thr(?:u|ough)|clear|free)|rodded(?: out| through| clear)?|descaled"
        "|de-?coked|wire-?brushed|gereinigt|nettoy[ée]e?s?|(?:wy|o)czyszczon[yaeo]"
    ),
    Action.RESEATED: (
        "re-?seated|re-?connected|re-?fitted|refit|re-?plugged|re-?install(?:ed)?|re-?mounted"
        "|plugged(?: back)? (?:in|on)|plugged back"
        r"|(?:put |went )?back in(?=\s*(?:[,.;:]|and\b|$))"
        "|pushed (?:home|back)|(?:clipped|hooked|snapped|slipped|popped) back(?: on| in)?"
        "|(?:clicked|snapped|pushed|clipped|pressed|latched|slotted) in"
        "|(?:wieder |neu )?(?:eingehängt|(?:ein|auf|an)geclipst)"
        "|(?:neu|wieder|fest) (?:auf|ein|an)?gesteckt|rebranch[ée]e?s?|wpi[ęe]t[yaeo] ponownie"
    ),
    Action.TIGHTENED: "(?:re-?)?tightened|(?:re-?)?torqued|nachgezogen|festgezogen"
    "|res+err[ée]e?s?|dokr[ęe]con[yaeo]",
    Action.ADJUSTED: "(?:re-?)?adj(?:usted|['’]?d)?|(?:re-?)?aligned|(?:re-?)?calibrated"
    "|balanced|(?:nach|neu )?eingestellt|straightened|bent (?:it|back|clear)"
    "|(?:aus)?gewuchtet|justiert|kalibriert"
    "|(?<!c['’]est )(?<!est )(?<!problème )(?<!panne )(?<!défaut )r[ée]gl[ée]e?s?"
    "|[ée]quilibr[ée]e?s?|ustawion[yaeo]|wyregulowan[yaeo]|wywa[żz]on[yaeo]|skalibrowan[yaeo]",
    Action.LUBRICATED: "lubricated|lubed|greased|oiled|freed(?: off| up)?|gefettet|geschmiert"
    "|graiss[ée]e?s?|(?:na|prze)smarowan[yaeo]",
    Action.REFILLED: (
        "re-?filled|topped up|filled(?: up)?|bled|re-?charged|(?:re-?)?gassed|entl[üu]ftet"
        "|(?:auf|nach|be)gef[üu]llt|bef[üu]llt|recharg[ée]e?s?|nape[lł]nion[yaeo]|nabit[yaeo]"
        "|uzupe[lł]nion[yaeo]|purg[ée]e?s?|odpowietrzon[yaeo]|dolan[yaeo]"
    ),
    Action.CHARGED: "charged(?: up| overnight)?|chrg['’]?d|geladen|aufgeladen",
    Action.REROUTED: "re-?routed|re-?clipped|secured|re-?tied",
    Action.CLEARED: "cleared|erased|reset|unblocked|gel[öo]scht|effac[ée]e?s?|skasowan[yaeo]",
    Action.REPROGRAMMED: (
        "re-?programmed|programmed|updated|flashed|re-?flashed|re-?coded|coded|initialised|adapted"
        r"|(?<=[^\W\d_] )reg['’]?d|registered|paired|matched(?: up)?|re-?learn(?:ed|t)|re-?taught"
        r"|(?:um)?programmiert|codiert|angelernt|reprogramm[ée]e?s?|codée?s?|zaprogramowan[yaeo]"
        r"|zakodowan[yaeo]"
    ),
    Action.REMOVED: "removed",
}
"""What was done, told behind the part it was done to, or alone."""
ACTIONS, DONE = forms_table(_ACTIONS), forms_table(DONE_FORMS)
DOING = forms_table(_DOING)
_WORDS_OF_WORK = "|".join(
    (*(forms for forms in _ACTIONS.values() if forms != "other"), *DONE_FORMS.values())
)
_WORK = compiled(
    rf"(?<![\w/-])(?:{_WORDS_OF_WORK}|part|kit|fits|(?:tank|box|gearbox|engine|subframe|sump|axle"
    r"|head|dash) (?:drop|out|off|strip)|strip(?:down)?|overhaul|rebuild|r&r)(?![\w/-])",
    re.IGNORECASE,
)
ANY_DONE = compiled(rf"(?<![\w/-])(?:{'|'.join(DONE_FORMS.values())})(?![\w/-])", re.IGNORECASE)


@lru_cache(maxsize=8)
def is_work(text: str) -> bool:
    """Whether a text has a word for what was done, or for a part."""
    return _WORK.search(text) is not None
