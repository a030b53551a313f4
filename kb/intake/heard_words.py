"""How a contact begins, and what stands behind the name of a part: common practice, no source."""

import re

from kb.patterns import compiled

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
    r"(?:bulbs?|lamps?|lights?|led|(?:multi|ohm|volt)?meters?|probes?|leads?|wires?|torch|tester"
    r"|(?:spark |ht |earth )?(?:plugs?|coils?|leads?|caps?)|fingers?|hands?|pedal|brake|clutch"
    r"|throttle|button|switch|hose|pipe|rag|card|pressure|vacuum|charge)\b"
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
