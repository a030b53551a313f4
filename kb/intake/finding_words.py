"""Verbs and phrases for causes, fixes and contacts: common practice of the trade, no source."""

import re
from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import TypeVar

from kb.case import Action, FailureMode
from kb.intake.outcome_words import TROUBLE, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.values import VALUE
from kb.patterns import compiled

Word = TypeVar("Word", bound=StrEnum)

_MODES: Mapping[FailureMode, str] = {
    FailureMode.OPEN: (
        r"open[ -]circuit(?:ed)?|o/c|no continuity|broken(?= wire)|(?<=wire )broken|gone open"
    ),
    FailureMode.HIGH_RESISTANCE: "high resistance|high res|high ohms|poor contact|bad contact",
    FailureMode.SHORT_TO_GROUND: "short(?:ed)? to (?:ground|earth|gnd|chassis|0 ?v)",
    FailureMode.SHORT_TO_SUPPLY: (
        r"short(?:ed)? to (?:supply|battery|batt|b\+|positive|plus|power|12 ?v)"
    ),
    FailureMode.SHORT_BETWEEN_WIRES: "short(?:ed)? (?:between wires|together|wires?)",
    FailureMode.INTERMITTENT: "intermittent(?:ly)?|comes and goes",
    FailureMode.INTERNAL_FAULT: (
        "internal fault|failed internally|internally failed|internal failure|inoperative"
        "|unserviceable|u/s|failed|faulty|defective|dead|burnt out|burned out|blown"
    ),
    FailureMode.WORN: (
        "worn out|worn|wear|past its limit|collapsed|perished|ausgeschlagen|verschlissen|us[ée]"
    ),
    FailureMode.LEAKING: "leaking|leaks?|leaky|weeping",
    FailureMode.SEIZED: (
        "seized|(?:stuck|sticks|sticking)(?: open| shut| closed)?|jammed|sticky|binding|gripp[ée]"
    ),
    FailureMode.BLOCKED: "blocked|clogged|restricted|plugged up",
    FailureMode.CONTAMINATED: (
        "contaminated|corroded|corrosion|dirty|water ingress|water in|wet|green|sooted|rusted|rusty"
    ),
    FailureMode.LOOSE: "loose|unplugged|not seated|backed out|came off|undone",
    FailureMode.OUT_OF_ADJUSTMENT: (
        "out of adjustment|maladjusted|misadjusted|out of alignment|misaligned|uncalibrated"
    ),
    FailureMode.SOFTWARE: "software|not coded|wrong coding|coding",
    FailureMode.MECHANICAL_DAMAGE: (
        "mechanical damage|damaged|broken|cracked|bent|chaff?ed|rubbed|torn|snapped|crushed|pinched"
        "|split"
    ),
    FailureMode.WRONG_PART: "wrong part|incorrect part|wrong type",
    FailureMode.UNKNOWN: "unknown|not known|never found(?: out(?: (?:why|how))?)?",
}
PART_NOUN = (
    "gaskets?|seals?|filters?|belts?|bearings?|discs?|pads?|sensors?|hoses?|plugs?|coils?|valves?|pumps?"
    "|radiators?|rads?|thermostats?|stats?|motors?|modules?|rings?|actuators?|caps?|kits?|mounts?|relays?"
    "|switch(?:es)?|bulbs?|fuses?|clips?|bolts?|earths?|links?|joints?|arms?|struts?|springs?|tyres?"
    "|leads?|fans?|bush(?:es)?|calipers?|callipers?|tensioners?|pulleys?|idlers?|injectors?|dampers?"
    "|shocks?|absorbers?|batter(?:y|ies)|alternators?|starters?|body|bodies|pipes?|housings?|bearings?"
    "|boots?|wishbones?|racks?|columns?|clutch(?:es)?|flywheels?|cylinders?|chains?|guides?|turbos?"
    "|lambdas?|maf|egr|ecu|latch(?:es)?|locks?|regulators?|condensers?|compressors?|driers?|matrix"
    "|harness(?:es)?|looms?|connectors?|straps?|blades?|wipers?|lamps?|mats?|drums?|shoes?|cables?"
    "|brackets?|units?|wires?|terminals?|exhausts?|silencers?|downpipes?|mirrors?|handles?|carriers?|knuckles?"
    "|hubs?|stacks?|rotors?|probes?|resistors?|tanks?|cats?|rods?|ends?|manifolds?|solenoids?"
    "|taps?|dmfs?|smf|coolers?|shafts?|droplinks?|gaiters?|strips?|crossmembers?|subframes?|forks?"
    "|synchros?|liners?|rockers?|pistons?|lifters?|sprockets?|pushrods?|intercoolers?|heaters?"
    "|clamps?|o-?rings?|circlips?|screws?|nuts?|studs?|linkages?|grommets?|trays?|breathers?|indicators?"
    "|covers?|lids?|flaps?|vents?|ducts?|elbows?|unions?|fittings?|couplings?|adaptors?|adapters?|spacers?"
    "|shims?|splitters?|dowels?|retainers?|spindles?|camshafts?|crankshafts?|rails?|membranes?|diaphragms?"
    "|bellows|floats?|senders?|clusters?|displays?|buzzers?|brush(?:es)?|diodes?|capacitors?|boards?|sockets?"
    "|holders?|buffers?|lines?|gauges?|thermistors?|transponders?|vanes?|impellers?|collars?|sleeves?|pins?"
    "|slaves?|packs?|pairs?|regs?|keys?|fobs?|speakers?|aerials?|cameras?|screens?|windscreens?|washers?|jets?|reservoirs?"
)
"""Nouns that end the name of a part."""
_CHARGED = (
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
_LASTED = compiled(_FOR_A_TIME, re.IGNORECASE)
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
_ACTIONS: Mapping[Action, str] = {
    Action.REPLACED: (
        "replaced?|renew(?:ed)?|swapped|swap|fit(?:ted)?(?: an?)?(?: new)?|changed|installed"
        rf"|new{_OF_A_PART}"
        "|put (?:in )?(?:an? )?new|press(?:ed)? in new|exchanged|re-?made|swop(?:ped)?"
        "|(?:ran|run|spliced|wired|dropped|bolted|plugged|screwed|slotted|popped|stuck|clipped|slung)"
        "(?: in| on| up)? (?:an? )?new"
        r"|(?:re-?built|overhauled|refurb(?:ished|bed|ed)?)"
        r"(?= [^,;.]{1,40} (?:fitted|installed|put (?:on|in)|on)\b)"
        rf"|re?pla?c?['’]?e?d|inst['’]?l?['’]?d|{_CHANGED}(?! {_CHARGED})"
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
        f"(?:re-?)?charged|(?:re-?)?charge(?= {_CHARGED})|chrg['’]?d|{_CHANGED}(?= {_CHARGED})"
    ),
    Action.REROUTED: "re-?rout(?:ed)?|re-?clipped|secured|re-?tied|moved",
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
_IN_MONTH = "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_ON_DAY = (
    rf"(?:on )?(?:[0-3]?[0-9](?:st|nd|rd|th)?[. ](?:(?:1[0-2]|0?[1-9])(?=\.|$)|{_IN_MONTH})"
    rf"|yesterday|in {_IN_MONTH}|(?:last|this) (?:week|month|morning|night))"
)
_RANG_WIRES = (
    r" (?:(?!cust|owner|driver|him\b|her\b|back\b)[\w-]+ ){0,4}?(?:out|through)\b"  # *the loom*
)
_HELD_IN_HAND = (
    r" (?:(?:an?|the|my|our|his|one|[0-9]+ ?w|test|side|small|old|spare|led|festoon|headlamp) )*"
    r"(?:bulbs?|lamps?|lights?|led|(?:multi|ohm|volt)?meters?|probes?|leads?|wires?|torch|tester)\b"
)
HEARD = compiled(
    rf"(?:(?:(?:i |we )?(?:rang(?!{_RANG_WIRES})|(?:tele)?phoned|spoke to"
    r"|called (?=(?:the )?(?:cust|owner|driver|him|her))"
    r"|asked (?=him|her|the (?:cust|owner|driver)))"
    r"|(?:front )?desk(?=:)|sms|e-?mail(?=:)"
    r"|(?:mr|mrs|ms)\.? (?:[\w-]+ ){0,4}?(?:rang|phoned|called)"
    r"|(?:the )?(?:cust(?:omer)?|owner|driver) (?:has )?(?:tele)?phoned"
    r"|(?:the )?(?:cust(?:omer)?|owner|driver) (?:came|is|was) back|(?:(?:[23]|[4-9])(?:nd|rd|th)"
    r"|second|third) time (?:back|in)|back in(?=\s*[.,;:])"
    r"|(?:der )?(?:kunde|kundin) (?:rief|kam|meldet|ruft|sagt|war)|(?:le |la )?cliente? (?:a"
    r" (?:appelé|rappelé)|appelle|revient|est revenue?)|klient(?:ka)? (?:dzwoni|wróci"
    r"|by[lł]|mówi)\w*"
    r"|follow(?:ed)?[- ]?up|no comeback|comeback"
    r"|(?:not |never |no |still |hasn['’]?t |has not |did(?:n['’]?t| not) )*"
    rf"(?:(?:held|hold|holding)(?!{_HELD_IN_HAND})|came back|returned|been back)"
    r"|(?:not |never |hasn['’]?t |has not |did(?:n['’]?t| not) )come back"
    rf"|back (?:again|with|for|in for|in today|{_ON_DAY})"
    r"|(?:(?:has|have|it['’]?s|s?he['’]?s) )?been (?:fine|ok|okay|good|perfect|great)"
    r"(?= (?:(?:ever )?since|so far)\b)|(?:in|here|came|came in) for|other reason"
    r"|(?:mot|tyres)(?=,? (?:today|yesterday|visit|this|last|next)\b)"
    r"|called(?! (?:out|for|in|off))|vmail"
    r"|voice ?mail"
    r"|(?:txt|text|e-?mail|messag)(?:ed)?(?= (?:cust|owner))"
    r"|(?:te?xt|e-?mail|call|msg|message|vmail) from|cust(?:omer)? (?:brought|is back|to (?:try"
    r"|monitor|report|call)|rang|phoned|called|te?xte?d|e-?mailed"
    r"|messaged"
    r"|(?:reports|says) (?:no|still|same|back|it(?:['’]?s)? (?:still|back|ok))))\b)",
    re.IGNORECASE,
)
"""How a contact begins."""
_HOW_IT_FARED = (
    r"(?:(?:only|just|about|maybe|nearly|almost|mostly|partly|partially|half|slightly|hardly|barely"
    r"|an? (?:bit|lot|little|touch)|much|far|way|somewhat|[0-9]{1,3} ?%) )+"
    r"(?:better|worse|gone|sorted|cured|fixed|there|quieter|smoother|improved|right|good|ok|okay"
    r"|works?|working|less|besser|weg|mieux|lepiej)"
    r"|only|(?:better|quieter|smoother|worse|improved)(?! (?:ones?|quality|type)\b)"
    r"|(?:most|some|half|part|all|[0-9]{1,3} ?%) of (?:the|it|them)|[0-9]{1,3} ?%"
    r"|(?:noise|fault|problem|knock|rattle|misfire|vibration|squeak|whine|judder|smell)s?"
    r" (?:is |are |has |now |all )*(?:gone|remains?|returned|persists?|stopped|cured|fixed|better)"
    r"|seems?|seemed|appears|feels|felt|looks|looked|sounds|sounded|managed|survived|behaved"
    r"|quiet(?! running)|lovely|brilliant|great|good as|[0-9]{1,3} (?:percent|pct)"
    r"|all (?:working|works|gone|sorted|cured|fixed|quiet)"
    r"|works|ran|went|lasts|lasted|stayed|(?<![0-9] )(?:starts|goes|runs)"
    r"|(?:ok|okay|fine|good|alright) (?:only|with|when|if|while|as long|so long|provided|up to|in"
    r"|on|at|except|unless|under|over|above|below|cold|hot|so far|apart from)"
    r"|hielt|h[äa]lt|ging|geht|lief|l[äa]uft|funktioniert\w*|behoben|besser|wieder|nur|immer noch"
    r"|war|kein\w*|zun[äa]chst|(?:fehler|ger[äa]usch|problem) (?:weg|behoben|beseitigt|bleibt"
    r"|wieder|weiter\w*|immer noch|noch)|ohne (?:erfolg|[äa]nderung|besserung|wirkung)"
    r"|startet|springt|sans (?:effet|changement|succ[èe]s|am[ée]lioration)"
    r"|bez (?:zmian|poprawy|efektu|skutku)"
    r"|a (?:tenu|march[ée]|fonctionn[ée])|[cç]a (?:a|tient|marche)|[àa] moiti[ée]|marche(?! arri)"
    r"|fonctionne|toujours|mieux|plus d[e'’]|aucune?|bon pendant|tenait|ne \w+ (?:pas|plus|que)"
    r"|(?:d[ée]faut|probl[èe]me|bruit) (?:r[ée]solu|disparu)"
    r"|dzia[lł]a\w*|pochodzi[lł]\w*|by[lł]o|dalej|nadal|znowu|zn[óo]w|nie|lepiej|gorzej|tylko"
    r"|troch[ęe]|brak|ciszej|na (?:\w+ )?(?:dni|dzie[nń]|tydzie[nń]|tygodnie)"
    r"|przesta[lł]\w*|(?:usterka|b[lł][ąa]d|problem) (?:usuni[ęe]t[ay]|znikn\w+|ust[ąa]pi\w+)"
)
"""What tells at once behind the name of a part how its fix fared, without a stop."""
_I_DID = (
    r"(?:(?:just|then|also|only|now|have|['’]ve|had|think|thought|was|am|did|do|would|could"
    r"|can|will|used|put"
    r"|found|reckon|believe|guess|suspect|saw|heard|felt|drove|got|took|left|went|made|cut"
    r"|told|rang|set|ran"
    r"|re-?\w+|\w+ed)(?!\w))"
)
"""What I did: behind the Polish *i*, which is *and*, stands another part."""
BEHIND = compiled(
    r"[,;:(?!]|(?<!\bno)(?<!\bincl)\.(?=\s)|\s(?=(?:-|–|with|and|but|using|still|never|now"
    r"|again|then|until|not"
    r"|code cleared|codes cleared|as|because|since|which|where|after|before|due|needed|thru|through"
    r"|p/?n|pt\.? ?no|part ?n(?:o|umber|r)|part(?= \S*[0-9])|oem|ref|@|to(?= [0-9.])"
    r"|[0-9]*[.,][0-9]+|[+±][0-9]+|w/"
    r"|holds|held|reads|drove|all (?:good|ok|okay|fine|clear)|turns out|rechecked|retested"
    r"|(?:plugged|bolted|screwed|clipped|slotted|dropped|pressed|pushed|wired|put) (?:back )?"
    r"(?:in|on|up)"
    r"|without|tried|fitted|installed|to no|for no|made|makes|did|does|blew|died|helped|worked"
    r"|(?:ok|okay|fine|good|alright|better|well|right) (?:for|until|till|now|again|at first|since)"
    r"|same(?=\s*$)|useless"
    rf"|ineffective|it(?= \w)|i(?= {_I_DID})|we(?= \w)"
    r"|unsuccessful"
    r"|no(?!\.? ?[0-9])|(?:did|has|does|was|is|wo|ca)n['’]?t|fixed|cured|sorted"
    rf"|{_HOW_IT_FARED})(?!\w))",
    re.IGNORECASE,
)
"""Where, behind the name of the part to which something was done, something else begins."""


_DONE: Mapping[Action, str] = {
    Action.REPLACED: (
        "done|(?:put|made)(?: up)?(?: a)? new(?: ones?)?(?: in)?|replaced|renewed|swapped|swopped"
        "|changed"
        "|exchanged|fitted|installed|new|re-?made|redone"
        rf"|re?pla?c?['’]?e?d|repl\.?|repl?['’]?d|inst['’]?l?['’]?d|{_CHANGED}|ersetzt"
        rf"|getauscht|erneuert|gewechselt|eingebaut|neu(?! (?:auf|ein|an)?gesteckt)|remplac[ée]e?s?"
        r"|chang[ée]e?s?"
        "|neu(?:f|fs|ve|ves)|wymienion[yaeio]|nowy|nowa"
    ),
    Action.REPAIRED: (
        "repaired|rpr['’]?d|mended|soldered|re-?soldered|spliced|rejoined|joined|re-?crimped|crimped|re-?wired"
        "|re-?terminated|re-?tensioned|re-?pinned|welded|patched|(?:re-?)?sealed|taped(?: up)?"
        "|skimmed|machined|honed|re-?bushed|made up"
        "|re-?built|overhauled|refurb(?:ished|bed|ed)?|reconditioned"
        "|sleeved|wrapped(?: up)?|insulated|heat ?shrunk|glued|bonded|shimmed|plugged(?! in)"
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
        "|plugged(?: back)? in"
        "|pushed (?:home|back)|(?:clipped|hooked|snapped|slipped|popped) back(?: on| in)?"
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
_WEEKDAY = (
    r"(?:mon|tues?|wed(?:nes)?|thu(?:rs?)?|fri|sat(?:ur)?|sun)(?:day)?"
    r"|(?:mon|diens|donners|frei|sams|sonn)tag|mittwoch|sonnabend"
    r"|lundi|mardi|mercredi|jeudi|vendredi|samedi"
    r"|poniedzia[łl]ek|wtorek|[śs]rod[ęea]|czwartek|pi[ąa]tek|sobot[ęea]"
)
_TO_COME = (
    r"(?:coming|comes|arriv(?:es?|ing)|expected|due|delivered by|kommt|kommen|erst|arriv(?:e|era)"
    r"|livr[ée]e?s?|przyjdzie|przyjad[ąa]|b[ęe]dzie)"
    r" (?:(?:on|in|by|this|next|am|im|in|n[äa]chste[nr]?|le|w|we|na) )*"
    rf"(?:{_WEEKDAY}|tomorrow|weeks?|[0-9]+ (?:days?|weeks?|tagen?|wochen?|jours?|dni)|morgen"
    r"|woche|demain|jutro)"
)
"""What is not there yet."""
_ELSEWHERE = (
    r"(?:over)?due(?! to)|on order|ordered|to order|awaiting|ago|elsewhere"
    r"|by (?:the |an? |his |her |their )?(?:cust(?:omer)?|owner|dealer|garage|mate|friend|brother"
    r"|dad|father|neighbou?r|someone|mechanic|breakdown|recovery|patrol)|himself"
    r"|myself|herself|(?:other|another|last|different|previous) (?:garage|shop|dealer)|main dealer"
    r"|declined?|refused|quoted?|recommend(?:ed)?|advised|tomorrow|next (?:week|time|visit)|booked"
    rf"|{_TO_COME}"
)
_HEARSAY = (
    r"reckon(?:s|ed)?|thought|believe[sd]?|swears?|swore|claim(?:s|ed)?|insist(?:s|ed)?"
    r"|suppose[sd]?"
    r"|guess(?:es|ed)?|assume[sd]?"
    r"|meint(?:e|en)?|sagt(?:e|en)?|glaubt(?:e|en)?|denkt|dachte|behauptet(?:e|en)?"
    r"|vermutet(?:e|en)?"
    r"|dit|disait|pense(?:nt)?|pensait|croit|croyait|affirme|pr[ée]tend"
    r"|m[óo]wi(?:[łl]\w*)?|twierdzi(?:[łl]\w*)?|my[śs]li(?:[łl]\w*)?|uwa[żz]a\w*"
    r"|s[ąa]dzi(?:[łl]\w*)?"
    r"|powiedzia[łl]\w*"
)
"""What somebody says or thinks was done."""
NO_WORK = compiled(
    rf"\b(?:{_ELSEWHERE}"
    r"|needs?|needed|required?s?|wants?|wanted|to (?:be|do|replace|renew|fit|change|check|clean)"
    r"|will"
    r"|would|should|could|shall|must|if|advis(?:ory|ing|e)|recommend\w*|suggest\w*|quote|estimate"
    r"|waiting|please|pls|suspect\w*|previously|not|never|nobody|no one|yesterday"
    r"|last (?:month|year|yr|time|visit)|says?|said|told|asks?|asked|thinks?|wondering|maybe"
    rf"|{_HEARSAY}"
    r"|other reason"
    r"|perhaps|possibly|might|may|yet to|outstanding"
    r"|nicht|muss|m[üu]ss(?:en|te)|soll(?:te)?|wird|werden|bestellt|morgen"
    r"|pas|jamais|doit|faut|sera|command[ée]e?s?|demain|[àa] (?=changer|remplacer|faire|r[ée]parer)"
    r"|nie|trzeba|b[ęe]dzie|zam[óo]wion[yaeo]|jutro"
    r")\b|n['’]t\b|\?",
    re.IGNORECASE,
)
"""Plans, advice, quotes, hearsay and what was done elsewhere: no attempt of this job."""
ELSEWHERE = compiled(
    rf"\b(?:{_ELSEWHERE}|tried|borrowed|another|last (?:week|wk|month|year|yr)"
    r"|(?:mate|friend|neighbou?r|dealer|owner|cust(?:omer)?|he|she|they) (?:had )?(?:fitted|changed"
    r"|replaced|did|done|tried|put))\b",
    re.IGNORECASE,
)
_NOT_DONE = (
    r"(?:(?:but|and|aber|mais) )?(?:(?:(?:is|was|are) )?not|still to be|noch nicht|pas|jeszcze nie)"
    r"(?: (?:been|yet|encore))* (?:fitted|done|replaced|renewed|changed|installed|arrived|here"
    r"|eingebaut|getauscht|gewechselt|mont[ée]e?s?|remplac[ée]e?s?|wymienion[yae])"
    r"|bestellt|command[ée]e?s?|zam[óo]wion[yaeo]"
)
NO_WORK_BEHIND = compiled(rf" *(?:\S+ )?(?:{_ELSEWHERE}|{_NOT_DONE})\b", re.IGNORECASE)
"""The same, told behind the part."""
NEW = compiled(r"(?:an? |the )?(?:new|neue[rsmn]?|nouve(?:au|lle)s?|now[aey])\b", re.IGNORECASE)
ARRIVED = compiled(
    r"\b(?:here|bought|arrived|delivered|collected|in stock|on (?:the )?shelf|came|come|da)$",
    re.IGNORECASE,
)
"""What ends the name of a new part that is there, and perhaps not fitted."""
_ON_THE_CAR = r"(?:fitted|installed|mounted|on|in|put (?:in|on)|eingebaut|mont[ée]e?s?)"
THEN_ON = compiled(
    rf"(?<!not )(?<!not been )(?<!never )(?<!to be )(?<!be )\b{_ON_THE_CAR}(?![\w/-]| order)",
    re.IGNORECASE,
)
NOT_YET = compiled(
    r"[\s,;:.–-]*(?:(?:but|still|just|only|it['’]?s|is|was|are|they['’]?re|aber|mais) +)*"
    r"(?:(?:not|never|n['’]t|noch nicht|pas) (?:been |yet |actually |encore )*"
    rf"(?:{_ON_THE_CAR} yet|fitted|installed|mounted|on (?:it|the (?:car|van))|eingebaut"
    r"|mont[ée]e?s?)(?! (?:right|properly|correctly|straight|tight))"
    r"|(?:not yet|noch nicht|pas encore|jeszcze nie)(?=\s*(?:$|[,;.]))"
    rf"|yet to be {_ON_THE_CAR}|(?:still )?to be {_ON_THE_CAR}|waiting to be {_ON_THE_CAR}"
    r"|in (?:its|the) box(?: still)?(?=\s*(?:$|[,;.])))(?!\w)",
    re.IGNORECASE,
)
"""Behind a part: it is not on the car."""
PLANNED_NEXT = compiled(
    r"[\s,;:.–-]*(?:(?:but|and|i|we|he) +)*(?:will|['’]ll|shall|going to|gonna|to|must) "
    r"(?:be )?(?:fit|fitted|go (?:in|on)|install|installed|do it|put it)\b",
    re.IGNORECASE,
)
"""Behind a new part: it will be fitted."""
SWAPPED = compiled(
    r"\bsw[ao]p(?:ped|s)?\b.*(?:\bto (?:[0-9#nr]|cyl|the other|opposite)"
    r"|(?:\bwith|\bw/) (?!a?n? ?(?:new|recon|genuine))|\bacross\b"
    r"|\bsides?\b|&|\bfront (?:to|and) (?:back|rear)|\bleft (?:to|and) right"
    r"|\bround\b|\bover\b|\band\b|\b(?:n/?s|l/?h?|ft?)[/-](?:o/?s|r/?h?|rr)\b"
    r"|[0-9] ?(?:<?[-=–]{1,2}>?|/|→|↔|⇄|<>|x) ?[0-9])"
    r"|.*\b(?:[1-9] (?:mit|und|gegen|auf|nach|zu) (?:zyl\w*\.? )?[1-9]"
    r"|(?:links|vorne?) (?:mit|und|gegen|nach) (?:rechts|hinten)|untereinander|quer)\b"
    r".*\b(?:(?:ge|ver)tauscht|gewechselt|umgesteckt)\b",
    re.IGNORECASE,
)
"""Two parts changed places, or one lent: a test."""
SWAP_SHOWED = compiled(
    r"\b(?:no (?:change|diff\w*|better|joy)|same|still"
    r"|(?:(?:the )?(?:fault|misfire|code|noise|problem) )?(?:now )?(?:follow(?:s|ed)|move[sd]"
    r"|stay(?:s|ed)|(?:went|goes|gone) (?:with|to)))\b"
    r"|\b(?:(?:der )?fehler |aussetzer |zündaussetzer )?(?:wandert\w*|gewandert|bleibt"
    r"|zieht mit|immer noch|keine änderung)\b",
    re.IGNORECASE,
)
_LENT = (
    r"(?:tried|swapped|swap|substituted)(?: in| on)?"
    r" (?:(?:an?|the|our|my|another) )?known[- ](?:good|working|ok|fine)"
)
"""A part known to be good, put in to see whether it changes anything: a test, not a fix."""
TEST = compiled(
    r"(?:(?:[0-9]+ ?(?:km|mi|miles|min|m) )?(?:[^\W\d_][\w/-]*[ -]){0,2}"
    r"(?:test|tests|check(?! (?:valve|strap|ball|engine)))(?![\w-])"
    r"|(?:(?:road|load|pressure|smoke|leak|water|hose|volt|spark|bench)[- ]?|re-?)?(?:tested"
    r"|checked|inspected|measured|scanned|scoped|load[- ]tested|wiggled|smoked"
    r"|verified"
    r"|viewed|(?:back-?)?probed|gepr[üu]ft|gemessen|contr[ôo]l[ée]|v[ée]rifi[ée]"
    r"|sprawdzon[oy])(?!\w)"
    rf"|(?:check|test|scan|looked|{_LENT}"
    r"|tried (?:an? |the )?(?:spare|another|good|different)(?: (?:one|known|good|used))*"
    r"|r/?t|probefahrt|jazda pr[óo]bna|essai(?: routier)?|put on scan"
    r"|no dtc['’]?s?|drove|ran)(?!\w))",
    re.IGNORECASE,
)
"""How a test begins."""
TRIED = compiled(
    r"(?:unplugged|sprayed|tapped(?! (?:out|off|m?[0-9]))"
    r"|bridged|jumped(?: out)?|clamped|pinched|wiggled|heated|cooled|listened"
    r"|revved"
    r"|noid(?: light| lamp)?|test (?:light|lamp)|spark tester|(?:took|taken) (?:it|her|him|car"
    r"|cust(?:omer)?|owner) (?:out|for)|big lead|blocked off"
    r"|(?:left|parked) (?:it )?(?:overnight|outside|running|idling)"
    r"|started (?:it )?from cold)(?!\w)",
    re.IGNORECASE,
)
"""How a test begins that must say what was seen in it."""
SHOWN = compiled(
    r"(?P<what>(?:[^\s,;.:]+ ){1,4}?)(?P<seen>(?:dead|low|high|weak|good|ok|gone|missing|flat|noisy"
    r"|nothing|no (?:signal|pulse|output|spark)|drop(?:s|ping)|dim)\b[^,;.]{0,30}? on (?:the )?"
    r"(?:scope|scan(?: tool)?|meter|bench|gauge|tester|noid|live data)(?!\w))",
    re.IGNORECASE,
)
"""What an instrument showed of a part."""
TESTED = compiled(
    r"(?P<what>(?:[^\s,;.]+ ){1,5}?)(?:(?:was|were|is|been|all|both) )*"
    r"(?P<verb>tested|checked|inspected|measured|scoped|gepr[üu]ft|pulled|unplugged|wiggled"
    r"|gemessen"
    r"|angesehen|test)(?![\w-])",
    re.IGNORECASE,
)
"""A test told behind what was tested."""
SEEN = compiled(
    r"(?<!\w)(?:ok(?:ay)?|good|bad|fine|unchanged|same(?=\s*(?:$|[,;.!]|(?:fault|thing|problem|code"
    r"|noise|result|again|as before)\b))"
    r"|fail(?:s|ed)?|pass(?:es|ed)?|no|not|none|nothing|shows?|showed"
    r"|dry|tight|steady|holds?|held|leaks?|leaking|found|clear|normal|open|dead|weak|within|in spec"
    r"|out of spec|all|i\.?o\.?|confirmed|without|and it|it (?:cut|died|did|ran|started)|faulted"
    r"|restarted|dim|flash(?:es|ed)?|positive|negative|=|(?:ca|wo|could|would|did)n['’]?t"
    r"|(?:could|would|did|can) ?not"
    r"|[+-]?[0-9][0-9.,]*(?! ?(?:km|mi|miles|min|m|mins|wires?)\b)"
    r")(?!\w)",
    re.IGNORECASE,
)
"""What was seen in a test begins with this."""
ACCESS = compiled(
    r"\b(?:covers?|door ?cards?|trims?|panels?|under ?tray|shields?|carpets?|arch liners?"
    r"|splash guards?|bumpers?"
    r"|wheels?(?! (?:(?:hub )?bearings?|hubs?|cylinders?)\b)|glove ?box|dash"
    r"|seats?)\b",
    re.IGNORECASE,
)
"""What is taken off to get at something else."""
CONNECTION = compiled(
    r"\b(?:connectors?|(?:multi-?)?plugs?|sockets?|couplings?|terminals?|pins?|wires?|wiring|leads?"
    r"|looms?|harness(?:es)?|earths?|grounds?|relays?|fuses?|stecker)$",
    re.IGNORECASE,
)
"""What makes a connection when it is seated."""
NAMELESS = frozenset(
    [
        "for",
        "down",
        "up",
        "out",
        "in",
        "off",
        "on",
        "it",
        "them",
        "this",
        "that",
        "all",
        "both",
        "pair",
        "set",
        "lot",
        "two",
        "three",
        "four",
        "of",
        "same",
        "again",
        "back",
        "everything",
        "one",
        "ones",
        "home",
        "thru",
        "x",
        "and",
        "done",
        "too",
        "complaint",
        "concern",
        "problem",
        "issue",
        "fault",
        "the",
        "a",
        "an",
        "old",
        "along",
        "together",
        "complete",
        "orig",
        "original",
        "originals",
        "successful",
        "ineffective",
        "unsuccessful",
        "useless",
        "no",
    ]
)


def _table(words: Mapping[Word, str]) -> Mapping[Word, re.Pattern[str]]:
    return {
        word: compiled(rf"(?<![\w/-])(?:{forms}|{word})(?![\w/-]|['’][^\W\d_])", re.IGNORECASE)
        for word, forms in words.items()
    }


MODES, ACTIONS, DONE = _table(_MODES), _table(_ACTIONS), _table(_DONE)
DOING = _table(_DOING)
_WORDS_OF_WORK = "|".join(
    (*(forms for forms in _ACTIONS.values() if forms != "other"), *_DONE.values())
)
_WORK = compiled(
    rf"(?<![\w/-])(?:{_WORDS_OF_WORK}|part|kit|fits|(?:tank|box|gearbox|engine|subframe|sump|axle"
    r"|head|dash) (?:drop|out|off|strip)|strip(?:down)?|overhaul|rebuild|r&r)(?![\w/-])",
    re.IGNORECASE,
)
_SHORT_FOR_CHANGED = compiled(r"chg['’]?d", re.IGNORECASE)
_ENDS_CHARGED = compiled(rf"(?:^| ){_CHARGED}$", re.IGNORECASE)
_ANY_DONE = compiled(rf"(?<![\w/-])(?:{'|'.join(_DONE.values())})(?![\w/-])", re.IGNORECASE)
_BEHIND_PART = compiled(
    rf"(?P<what>[^,;:!?]{{1,60}}?) +(?:(?:is|was|were|are|been|has|have|now|all|both|also) +)*"
    rf"(?:(?P<verb>{'|'.join(_DONE.values())})(?![\w/-])"
    r"|(?<!\bwater )(?<!\bair )(?<!\boil )(?<!\bcoolant )in(?=\s*$))",
    re.IGNORECASE,
)
_CODE = r"\b[PCBU][0-9][0-9A-F]{3}\b"
_NEXT = r"(?:(?:and|then|but|plus|und|dann|et|puis|potem)\b|[+&])"
_FARED = (
    r"(?:(?:came|comes|come|went|is|was) (?:back|off|on again)|returned|still|(?:the )?same"
    r"|(?:all |not |now )?(?:good|ok|okay|fine|fixed|cured|sorted|solved|working|works|gone)"
    r"|no (?:better|change|diff\w*|joy|luck|good|help|effect)|(?:did(?:n['’]?t| not)|never) \w+)\b"
)
_IS_OF_WHAT_FOLLOWS = compiled(
    rf"(?:^|{_NEXT}\s)(?:{_CODE}\S*(?: \w+)?|{_FARED})\s+{_NEXT}"
    r"|^[0-9]+\s*(?:[+&]|(?:and|then)\b)(?!\s*[0-9])"
    r"|(?:\b(?:and|then|but|plus|next|und|dann|aber|et|puis|mais|i|potem|ale)|[+&])$",
    re.IGNORECASE,
)
"""Words before a verb that are no part of what it was done to: ``P0335 and`` adjusted starter."""
_AND_NEXT = compiled(r"\s*(?:\b(?:and|but|then|plus|und|et|i)\b|[+&])", re.IGNORECASE)
_DEED = (
    r"(?:replaced|renewed|changed|swapped|fitted|installed|repaired|soldered|cleaned|tightened"
    r"|adjusted|flushed|reseated|refitted|removed) [^\W\d_]"
)
_TOLD_BESIDE = compiled(
    r"\s+(?:(?:and|but|then|plus)\s|[+&])\s*(?:then )?"
    rf"(?={_CODE}|{_FARED}(?! \w)|{_DEED})",
    re.IGNORECASE,
)
"""What parts a part from a code, a further deed or how it fared: ``door harness + came back``."""
_NO_PART = compiled(
    r"(?:(?:uv )?dye|rien|nic|nichts|old|made|runs?|drives?|starts?|idles?|goes|feels?|looks"
    r"|sounds|no|not|never|it|he|she|they|we|i|you|there|that|this|and|but|so|then|fault|misfire"
    r"|lamp|light"
    r"|car|vehicle|customer|cust|water(?! (?:pump|valve|outlet|rail|hose|pipe))|back|booked"
    r"|(?:does|did|do|was|is|has|have|had|wo|ca|could|would|are|were)n['’]?t|ran"
    r"|came|towed|plugged|tow|checked|brought|dropped|drove"
    r"|toe|camber|job|work|all|found|when|while|after|before|once|still|only|was|is|as|had"
    r"|has|to|for"
    r"|mate|dealer|garage|friend|brother|neighbou?r|dad|owner|mechanic|fitter|previous|someone|who"
    r"|repair|noise|problem|issue|light|code|nothing|needs?|which|who|what|why|how|monitor|test"
    r"|road|drag|ok|okay|good|fine|now|just|well)(?![\w-])|[0-9.,]+(?: |$)",
    re.IGNORECASE,
)
_NO_NAME = compiled(
    r"\b(?:after|once|when|with|like|gone|faults?|again|still|works?|no(?!\.? ?[0-9])|not|until"
    r"|since"
    r"|was|were|so i|so we|same|stopped|than|from|problem|if|but|cured|fixed|sorted|ok|seen"
    r"|found)\b"
    r"|(?<![a-z])[.,][0-9]|(?<=\s)[+-][0-9]",
    re.IGNORECASE,
)
"""What is in no name of a part."""
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
_NAME_OF_PART = (
    rf"(?:[^\W\d_][\w/-]*(?: of)? ){{0,3}}(?:{PART_NOUN})(?: ?x ?[0-9]"
    rf"| (?:no\.? ?)?[0-9](?! ?[a-z]))?(?![\w/-])"
)
_NAME = compiled(_NAME_OF_PART, re.IGNORECASE)
_AND_ALSO = r"(?:\band\b|[&+]|\bplus\b(?! d[e'’])|\bas well as\b|\bincl(?:uding\b|\.|\b))"
_COUNTED_PART = r"(?:(?:the|an?|its|new|both|two|three|four|[1-9][0-9]?(?: ?x)?) +){0,2}"
_ONE_MORE = rf"{_COUNTED_PART}{_NAME_OF_PART}"
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
_THEN_PART = compiled(
    rf"(?:then|next|second(?:ly)?|finally|followed by)\s+(?:(?:the|a) )?"
    r"(?!(?:try|check|look|see|do|fit|change|replace|swap|order|need|suspect|would|will|want|step"
    r"|job|time|visit|service|is|was)(?:s|ing)?\b)"
    rf"(?P<what>{_NAME_OF_PART})\s*"
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
    rf" (?:the |an? |its )?(?P<what>{_NAME_OF_PART})(?: (?:out|off|up|apart|down|back))?)"
    r"(?: (?:at|in|on|under|from|behind) (?:\w+ ){0,2}?\w+)?"
    rf",? (?:and|&|then) (?:then )?(?P<verb>{'|'.join(_DONE.values())})"
    r" (?:it|them)(?! (?:for|back)\b)(?![\w'’-])",
    re.IGNORECASE,
)
"""A part that was got at, and what was then done to it."""
_OBJECT = compiled(r" +(?:an?|the|my|his|her|their|its)\b", re.IGNORECASE)
"""Behind this the words before are of who did it: "mate fitted a battery"."""
_THEN_DONE = compiled(
    rf" (?:and|&|\+) (?P<verb>{'|'.join(_DONE.values())})(?![\w/-])", re.IGNORECASE
)
_LONGEST_NAME = 7
FROM_WHERE = compiled(
    r" from (?:an? |the |our |local )?(?:scrap\w*|breakers?|stock|donor|dealers?|parts shop"
    r"|makers?|manufacturers?|importers?|factors?|internet)"
    r"(?: \w+)?$",
    re.IGNORECASE,
)
_STATE_BEFORE = compiled(
    r"\b(?:was|is|were|are|not|never|no|to|be|still|when|if|in|mm|sets?)$", re.I
)


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
    return names and bool(words.strip()) and not _NO_PART.match(words.strip())


def behind_part(text: str) -> tuple[Action, str, int] | None:
    """Read what was done behind the part it was done to: the action, the part, and its end.

    Examples
    --------
    >>> behind_part("pads and discs changed, ok")
    (<Action.REPLACED: 'replaced'>, 'pads and discs', 22)
    """
    if whole := _whole_work(text) or _noun_done(text):
        return whole
    match = _BEHIND_PART.match(text)
    if match is None:
        return _by_noun(text)
    what = FROM_WHERE.sub("", match["what"]).strip()
    if _OBJECT.match(text, match.end()) or leading(text, DONE):
        return None
    of_other = _IS_OF_WHAT_FOLLOWS.search(what) or _COUNT_FIRST.fullmatch(f"{what} ")
    if of_other or _tells_a_value_before(what):
        return None
    is_state = not match["verb"] and _STATE_BEFORE.search(what)
    if is_state or not may_be_part(what) or len(what.split()) > _LONGEST_NAME:
        return None
    action, end = _action(match["verb"], what), match.end()
    more = _THEN_DONE.match(text, end) if action is Action.REMOVED else None
    if more:
        action, end = _action(more["verb"], what), more.end()
    return action, what, end


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
        if may_be_part(match["what"]) and not _is_work_word(match["what"]):
            return action, match["what"].strip(), match.end()
    return None


def _noun_done(text: str) -> tuple[Action, str, int] | None:
    """Read a noun that is told to be done: "brake bleed done"."""
    named = _by_noun(text)
    done = _DONE_NOUN.match(text, named[2]) if named else None
    return (named[0], named[1], done.end()) if named and done else None


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
        may_be_part(name) and not _is_work_word(name) and not failure_mode(name) for name in told
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
    first = _NAME.match(text)
    return (
        first is not None
        and may_be_part(text)
        and not _is_work_word(text)
        and not failure_mode(text)
        and first.end() + len(text[first.end() :].rstrip()) == more_parts(text, first.end())
    )


def _is_work_word(name: str) -> bool:
    return bool(leading(name, ACTIONS) or leading(name, DONE))


def of_same_part(clause: str) -> tuple[Action, int] | None:
    """Read what else was done to a part named before: "then replaced it", and its end."""
    match = _TO_IT.match(clause)
    if match and _LASTED.match(clause, match.end()):
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
    if match is None or _is_work_word(match["what"]) or not may_be_part(match["what"]):
        return None
    return match["what"], match.end("what")


def may_be_part(what: str) -> bool:
    """Whether some words may name a part: they tell no state, and begin with no little word.

    Examples
    --------
    >>> may_be_part("seat plug"), may_be_part("no leak"), may_be_part("0.41")
    (True, False, False)
    """
    return bool(re.search(r"[^\W\d_]/?[^\W\d_]", what)) and not (
        _NO_PART.match(what) or _NO_NAME.search(what) or _BY_WHAT.match(what)
    )


_BY_WHAT = compiled(r"(?:mit|with|w/|avec|z|per|via)(?= \S)", re.IGNORECASE)
"""What something was done with is no part it was done to."""


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
    r"|owner(?:ship)?"
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
    if _SUBJECT_FIRST.match(what) or _DEED_FIRST.match(what):
        return False
    head = _HEAD_OF_NAME.match(what)
    name = head["name"] if head else what
    roles = {word for each in outcome_clauses(name) for word in each.words}
    if action is not Action.REPLACED:
        return not (roles and roles <= _PERSONS)
    return not (_CHANGES_ITSELF.fullmatch(name) or (roles and roles <= _PERSONS | TROUBLE))


def is_nameless(what: str) -> bool:
    """Whether words behind what was done name no part: "up", "it", "from the maker"."""
    bare = FROM_WHERE.sub("", f" {what.casefold()}")
    words = re.findall(r"[^\W\d_]+", _ANY_DONE.sub(" ", bare))
    return NAMELESS.issuperset(words)


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


def name_at_start(text: str) -> str | None:
    """Return the part that a clause begins with: "latch came", "loom found chafed"."""
    match = _NAME.match(text)
    return match[0] if match and may_be_part(match[0]) and not _is_work_word(match[0]) else None


def _action(verb: str | None, what: str) -> Action:
    if verb and verb.casefold() == "done" and _SERVICE.search(what):
        return Action.OTHER
    if verb and _SHORT_FOR_CHANGED.fullmatch(verb) and _ENDS_CHARGED.search(what):
        return Action.CHARGED
    begun = leading(verb, DONE) if verb else None
    return begun[0] if begun else Action.REPLACED


def is_work(text: str) -> bool:
    """Whether a text has a word for what was done, or for a part."""
    return _WORK.search(text) is not None


def leading(text: str, patterns: Mapping[Word, re.Pattern[str]]) -> tuple[Word, str] | None:
    """Return the word whose longest form a text begins with, and what follows."""
    found = [(match.end(), word) for word, form in patterns.items() if (match := form.match(text))]
    if not found:
        return None
    end, word = max(found, key=lambda each: each[0])
    return word, text[end:]


def failure_mode(line: str) -> tuple[FailureMode, int, int] | None:
    """Find the failure mode and where it stands: behind the colon if there is one, else last."""
    behind = line.rfind(":") + 1
    found = [
        (match.start() >= behind > 0, match.end(), match.end() - match.start(), -place)
        for place, pattern in enumerate(MODES.values())
        for match in pattern.finditer(line)
    ]
    if not found:
        return None
    _, end, length, place = max(found)
    return list(MODES)[-place], end - length, end


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
