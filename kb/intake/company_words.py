"""The words that tell a value from its neighbours: what each says, in the forms people write.

Closed lists of the trade (common practice, no source), of English and a little of German, French
and Polish. `kb.intake.company` finds them beside a value.
"""

from enum import IntEnum, auto

from kb.case import Stage

_NUMBER = r"[0-9]{1,6}(?:[.,][0-9]{1,6})?"
_AT = r"(?:at |@ ?|bei |à |przy )"
_WORK = (
    r"clean(?:ing|ed)?|fix(?:ing)?|repairs?|regen\w*|replac\w+|new|lathe|skim\w*|bleed\w*|adjust\w*"
    r"|reset\w*|hose|swap\w*|work|change|flush\w*|top(?:ping)?[- ]?up|service|weld\w*|solder\w*"
    r"|tighten\w*|refit\w*|rebuil\w+|re-?cal\w*|relearn|re-?gas\w*|polish\w*|reparatur|reinigung"
    r"|tausch|wechsel|naprawie|wymianie|czyszczeniu|réparation|nettoyage"
)
_DONE = (
    r"cleaned|replaced|fitted|refitted|adjusted|bled|fixed|repaired|tightened|renewed|swapped|welded"
    r"|soldered|charged|flushed"
)
_BEFORE = r"before|b4|prior to|vor|avant|przed"
_AFTER = r"after|aft|post|since|nach|après|po"
_SWITCHED = (
    r"on|off|out|in|open|closed|shut|running|(?:un)?plugged|(?:dis)?connected|removed|pulled|fitted"
    r"|blocked|clamped|pinched|engaged|locked|pressed|held|loose|an|aus|ein|(?:ein|aus)geschaltet"
    r"|allumée?s?|éteinte?s?|en marche|w[łl]ączon[aeymi]+|wy[łl]ączon[aeymi]+"
)
_THING = "[a-zäöüéèàçłąęóśżźćń/'-]+"
_POINT = (
    r"(?:engine|eng|block|body|chassis|frame|shell|batt(?:ery)?|earth|ground|gnd|alt(?:ernator)?|starter"
    r"|gearbox|motor|b\+|b-)(?: (?:neg(?:ative)?|pos(?:itive)?|[-+]ve|[-+]|post|terminal|case"
    r"|stud))?"
)
REVOLUTIONS = r"(?:rpm|revs|(?:rev|u|umdr|tr|tours|obr)?/min)"
_ENGINE_SPEED = (
    rf"(?:[1-9][0-9]?(?:[.,][0-9])?k\s?{REVOLUTIONS}"
    rf"|[1-9](?:[0-9]|[.,](?=[0-9]{{3}}))[0-9]{{1,3}}\s?{REVOLUTIONS})"
)
_HEADS_A_VALUE = (
    r"(?=\s?[:=]?\s?[+-]?[0-9]{1,5}(?:[.,][0-9]{1,3})?"
    r"\s?(?:v|volts?|a|amps?|bar|mbar|psi|kpa|hpa|mpa|g/s|kg/h|in ?hg|mmhg|°|deg|ms|%)(?![\w/]))"
)
_START = (
    r"(?:(?:cranking|crank|starting|start)(?:[- ]?up| it| over)?(?: (?:the )?(?:engine|motor))?"
    r"|(?:engine|motor) start|anlassen|starten|motorstart|lancement|rozruchem|rozruchu"
    r"|uruchomieni(?:em|u)|odpaleni(?:em|u)|démarrage|démarrer)"
)
_NO_PART = r"(?! (?:sens|pos|pull|ca|shaft|\w*ensor))"
_ARTICLE = r"(?:(?:the|a|any|first|dem|der|le|la|de|du) |l['’])*"
_ENDS = r"(?=\s*(?:$|[,;.)]|[+-]?\.?[0-9]))"
_MOVED = (
    r"(?:door|bonnet|boot|horn|buckle|seat ?belt|button|switch"
    r"|tailgate|lid|hatch|window|sunroof|roof|hood|throttle|flap|tap|valve|clutch|brake"
    r"|pedal|handbrake|seat|steering|wheels?|belt)"
)
_SWITCHABLE = (
    r"(?:key|ignition|ign|lights?|headl(?:amps?|ights?)|main beam|dipped beam|wipers?"
    r"|blower|heated (?:screen|rear window|seats?)|radio|horn|fog ?lights?|indicators"
    r"|compressor|glow plugs?|engine|engin|eng)"
)


class Aspect(IntEnum):
    """What a qualifier tells; a value has at most one of each kind."""

    POWER = auto()
    LOAD = auto()
    WARMTH = auto()
    WETNESS = auto()
    OPENING = auto()
    GEAR = auto()
    BETWEEN = auto()
    METHOD = auto()
    UNREST = auto()
    SPEED = auto()
    TIME = auto()
    WORK = auto()
    STAGE = auto()
    ROLE = auto()
    SIDE = auto()


# Aspect, form, what is understood (None: the words as typed).
FORMS: tuple[tuple[Aspect, str, str | None], ...] = (
    (Aspect.SPEED, rf"(?:{_AT}|(?<=WOT )){_NUMBER}\s?{REVOLUTIONS}", None),
    (Aspect.SPEED, rf"{_AT}[0-9](?:[.,][0-9])?k(?: rpm)?(?!\s?(?:ohm|Ω|m))", None),
    (Aspect.SPEED, rf"{_AT}{_NUMBER}\s?(?:mph|km/?h|kph)", None),
    (
        Aspect.SPEED,
        rf"{_AT}[1-9][0-9]{{3}}(?!\s?(?!(?:max|min|spec|limit|book|soll)\b)[a-zΩ%°])",
        None,
    ),
    (
        Aspect.SPEED,
        r"(?:(?<=[%va] )|(?<=bar )|(?<=psi )|(?<=kpa )|(?<=deg )|(?<=g/s ))"
        rf"(?:[5-9]|[1-9][0-9])[0-9]{{2}}\s?{REVOLUTIONS}",
        None,
    ),
    (
        Aspect.SPEED,
        rf"[1-9][0-9]{{2,3}}\s?{REVOLUTIONS}(?=[ :=]{{1,2}}[+-]?[0-9.,]{{1,5}}\s?%)",
        None,
    ),
    (Aspect.SPEED, rf"(?:(?<=[,;] )|(?<=[,;(])){_ENGINE_SPEED}{_HEADS_A_VALUE}", None),
    (
        Aspect.WARMTH,
        rf"{_AT}-?[0-9]{{1,3}}(?![.,][0-9])\s?(?:deg(?:rees)?|°)?\s?[CF]?(?!\s?[a-zΩ%°])",
        None,
    ),
    (
        Aspect.WARMTH,
        r"(?:(?<=bar )|(?<=psi )|(?<=kpa )|(?<=idle )|(?<=rpm )|(?<=g/s )|(?<=[0-9]c )|(?<= c ))"
        r"-?[0-9]{1,2}\s?(?:deg\s?|°\s?)?C (?:ambient|outside(?: temp)?|outdoors?|außen|extérieur)",
        None,
    ),
    (
        Aspect.TIME,
        rf"(?:after|in|for|nach|après|po) {_NUMBER}\s?(?:s|secs?|seconds?|min(?:ute)?s?|h|hrs?"
        rf"|hours?"
        r"|miles|km)(?: (?:dc|charge|charging|idling|driving|running|off|standing|rest))?",
        None,
    ),
    (
        Aspect.TIME,
        r"(?:after|in|for|nach|après|po) [0-9]{1,2}:[0-5][0-9](?:\s?(?:min|hrs?|h)s?)?",
        None,
    ),
    (Aspect.TIME, rf"{_NUMBER}\s?(?:mins?|minutes|hrs|hours|days) later", None),
    (Aspect.TIME, rf"(?:(?<=bar )|(?<=psi )|(?<=kpa )){_NUMBER}\s?(?:mins?|minutes)", None),
    (
        Aspect.TIME,
        r"overnight|(?:after|nach|po) (?:(?:a|the|one|der|einer) )?(?:night|nacht|nocy|weekend)"
        r"|next (?:day|morning)(?! [0-9])",
        None,
    ),
    (Aspect.POWER, r"(?:at |au |in )?(?:rest|repos|resting|standing|static)", "at rest"),
    (
        Aspect.POWER,
        r"(?:on |at |while |whilst |when |during |przy |podczas |beim )?"
        rf"(?:crank(?:ing|ed|s)?(?: at)?{_NO_PART}|rozruchu|starten|anlassen)",
        "cranking",
    ),
    (Aspect.POWER, rf"(?:{_BEFORE}|ahead of|pre)[ -]{_ARTICLE}{_START}{_NO_PART}", None),
    (Aspect.POWER, rf"(?:{_AFTER}|following)[ -]{_ARTICLE}{_START}{_NO_PART}", None),
    (Aspect.POWER, r"w spoczynku|(?:in )?ruhe", "at rest"),
    (Aspect.POWER, r"(?:au|en) démarrage", "cranking"),
    (Aspect.POWER, r"(?:cold |hot |warm |at |on )?start(?:s|ing|[- ]?up)?|run", None),
    (Aspect.POWER, r"(?:(?:when|while|engine|eng) )?running", None),
    (
        Aspect.POWER,
        r"(?:(?<=[0-9]v )|(?<=[0-9] v )|(?<= volts )|(?<=[0-9] ))charging"
        r"(?! (?:at batt|rate|volt|system|port|cable|current|circuit|side|lead|fault|light|lamp))",
        None,
    ),
    (Aspect.POWER, r"asleep|sleeping", "sleeping"),
    (
        Aspect.POWER,
        r"awake|spinning|spun|(?:un)?occupied|empty(?! (?:tank|box|reservoir))"
        r"|(?:un)?(?:locked|latched|buckled|fastened)|(?:(?:all"
        r"|everything) )?(?:un)?plug(?:ge)?d(?: (?:in|up))?"
        r"|(?:dis)?connected|foot (?:off|down)|moteur tournant|zündung (?:an|ein|aus)|na zapłonie",
        None,
    ),
    (Aspect.POWER, rf"contact(?: mis{_ENDS}|(?=\s*(?:$|[,;.)])))", None),
    (
        Aspect.SPEED,
        r"(?:im |bei |au |na )?(?:leerlauf|ralenti|wolnych(?: obrotach)?|biegu jałowym)",
        "idle",
    ),
    (
        Aspect.SPEED,
        r"(?:(?:hot|cold|warm|fast|at) ){0,2}(?:idle|idling|tickover)(?: (?:hot|cold|warm))?",
        None,
    ),
    (
        Aspect.POWER,
        r"KOEO|KOER|WOT|(?:key|ignition|ign|engine|engin|eng|lights?)[ -](?:on|off)"
        r"(?:[, ]+(?:engine|eng) off)?",
        None,
    ),
    (
        Aspect.POWER,
        r"(?:at |on )?(?:snap|stall|prime|cruis(?:e|ing)|floor(?:ed)?|full throttle|wide open"
        r"|overrun"
        r"|parked|straight ahead|hands off|engaged|(?:first|second|third|fourth|fifth) gear)",
        None,
    ),
    (
        Aspect.POWER,
        r"(?:during|while) (?:the |a )?(?:regen(?:eration)?|sleep|charging|braking)",
        None,
    ),
    (
        Aspect.LOAD,
        r"(?:with |under |on )?(?:(?:no|full|part|all|everything) )?"
        r"(?:(?<!substitute )(?<!dummy )(?<!test )loads?|loads? on|all on)"
        r"|(?:with|w/) (?:the )?\w+ (?:on|off)|(?:on|off) load",
        None,
    ),
    (
        Aspect.LOAD,
        rf"(?:with|w/?|mit|avec|z|ze|przy) (?:the |a )?"
        rf"(?:{_THING} (?:[0-9]{{1,2}} )?){{1,2}}"
        rf"(?:(?:and|&|\\+|und|et|i|oraz) (?:the )?(?:{_THING} ){{1,2}})?(?:{_SWITCHED})" + _ENDS,
        None,
    ),
    (
        Aspect.LOAD,
        rf"(?:fuse|relay) [0-9]{{1,3}} (?:{_SWITCHED}){_ENDS}"
        r"|(?:pipe|hose|vac|cap|filter|cat|plug|fan|heater|pump|a/?c|ac)"
        rf" (?:on|off|removed|pulled|(?:dis)?connected|(?:un)?plugged|blocked|clamped){_ENDS}",
        None,
    ),
    (
        Aspect.LOAD,
        rf"(?:sous|unter|pod) (?:charge|last|belastung|obciążeniem){_ENDS}",
        "under load",
    ),
    (Aspect.LOAD, rf"(?:unter voller last|z obciążeniem|à pleine charge){_ENDS}", "under load"),
    (
        Aspect.LOAD,
        rf"(?:bez obciążenia|à vide|ohne (?:last|belastung)|sans charge){_ENDS}",
        "no load",
    ),
    (
        Aspect.LOAD,
        rf"(?:{_AFTER}|with) (?:the )?(?:(?:pull(?:ing|ed)?|remov(?:ing|al of)|unplugging"
        r"|taking out|disconnecting|ziehen(?: von| der)?|abziehen(?: von)?"
        r"|retrait(?: du| de)?|wyjęciu|wyciągnięciu) (?:the )?"
        r"(?:(?:fuse|relay|sicherung|relais|fusible|bezpiecznika?|nr|no\.?)"
        r" ){0,2}[a-z]{0,2}[0-9]{1,3}|(?:fuse |relay )?[a-z]{0,2}[0-9]{1,3}"
        rf" (?:pulled|removed|out|unplugged|disconnected|gezogen)){_ENDS}",
        None,
    ),
    (
        Aspect.LOAD,
        rf"(?:mit|avec) [a-zäöüéèß]{{3,}}{_ENDS}|(?:without|w/o|ohne|sans"
        rf"|bez)(?: [a-zäöüéèß]{{3,}})?" + _ENDS,
        None,
    ),
    (
        Aspect.METHOD,
        r"(?:with |by )?(?:(?:ir|infrared) gun|thermometer|laser)"
        r"|(?:on|by|via) (?:the )?(?:dash|gauge|scan(?: ?tool)?|scanner|tester|screen|meter"
        r"|multimeter"
        r"|phone|app|laptop|live data|rollers)",
        None,
    ),
    (Aspect.LOAD, rf"(?:when|while) (?:[a-z]+ )?[a-z]{{2,}}(?:ed|ing){_ENDS}", None),
    (Aspect.BETWEEN, rf"(?:between )?{_POINT} (?:to|and) {_POINT}", None),
    (
        Aspect.BETWEEN,
        r"(?:pre|post|before|after)[ -](?:cat(?:alyst)?|dpf|filter|turbo|intercooler"
        r"|(?:thermo)?stat)",
        None,
    ),
    (
        Aspect.BETWEEN,
        r"(?:from|off|above|at) (?:the )?(?:floor|rim|arch|(?:top|bottom|outer|inner) edge)",
        None,
    ),
    (Aspect.LOAD, rf"{_AT}[0-9]{{1,3}} ?(?:v|volts?)", None),
    (Aspect.LOAD, r"dot[ -]?(?:3|4|5\.1)", None),
    (
        Aspect.LOAD,
        rf"(?:(?:with|when|w/) )?(?:the )?{_MOVED} (?:open(?:ed)?|closed|shut|up|down|pressed"
        r"|held|released|occupied|empty|(?:un)?(?:fastened|latched|buckled|locked))",
        None,
    ),
    (
        Aspect.POWER,
        rf"(?:(?:with|when|w/) )?(?:the )?{_SWITCHABLE} (?:on|off)"
        r"(?:[, ]+(?:engine|eng) (?:off|on))?",
        None,
    ),
    (
        Aspect.LOAD,
        r"(?:un)?loaded|(?:multi-?)?(?:plug|connector|socket) (?:on|off|in|out|open)",
        None,
    ),
    (Aspect.WETNESS, r"(?:when )?(?:wet|dry)", None),
    (Aspect.WETNESS, r"trocken|na sucho|à sec", "dry"),
    (Aspect.WETNESS, r"na(?:ß|ss)|na mokro|mouillée?", "wet"),
    (Aspect.WARMTH, r"(?:when )?(?:cold|kalt|froid|zimn[yae])|à froid|na zimno", "cold"),
    (Aspect.WARMTH, r"(?:when )?(?:hot|chaud|heiß|heiss|gorąc[yae])|à chaud|na gorąco", "hot"),
    (Aspect.WARMTH, r"(?:when )?warm", "warm"),
    (Aspect.OPENING, r"(?:when )?(?:closed|open)", None),
    (Aspect.OPENING, r"(?:when )?shut", "closed"),
    (Aspect.OPENING, rf"(?:offen|ouverte?|otwart[ya]){_ENDS}", "open"),
    (Aspect.OPENING, rf"(?:zu|geschlossen|fermée?|zamknięt[ya]){_ENDS}", "closed"),
    (Aspect.POWER, r"(?:when |at )?full(?=\s*(?:$|[,;.)]|[0-9]))", None),
    (
        Aspect.STAGE,
        rf"as found|was|war|originally|vorher|(?:{_BEFORE}) (?:the |any |a )?new [a-z/]+"
        rf"|(?:before|b4)(?: (?:the |any )?(?:{_WORK})(?! \w+ \w))?|(?:vor|przed){_ENDS}"
        rf"|(?:vor|avant|przed|pre) (?:{_WORK})",
        Stage.AS_FOUND,
    ),
    (
        Aspect.STAGE,
        rf"now|jetzt|teraz|new(?= \.?[0-9])"
        r"|after(?:wards)?(?! [a-z]| [0-9.,]+ ?(?:s|sec|min|h|hr|hour|day|mile|km)s?\b)"
        rf"|(?:{_AFTER})[ -](?:the |a )?(?:{_WORK})(?! [a-z]{{3}})"
        r"|po(?= [+-]?[0-9][0-9.,]{0,6} ?(?:m?v|m?a|bar|kpa|k?ohm|k?Ω)(?!\w))"
        rf"|(?:aft\.?|nach){_ENDS}|nachher|danach|(?:{_DONE})[ ,]+(?:it'?s )?now"
        r"|(?:topped|pumped|adjusted|reset|set|filled)(?: up)? to",
        Stage.AFTER_FIX,
    ),
    (Aspect.WORK, rf"(?:{_AFTER})[ -](?:the |a )?(?:{_WORK}) [a-z]+", None),
    (Aspect.WORK, rf"(?:{_AFTER})[ -](?:the |a )?[\w/-]+ (?:{_WORK}|neu|done){_ENDS}", None),
    (Aspect.WORK, r"(?:with |w/ ?)(?:the |a )?new [a-z]+", None),
    (Aspect.STAGE, r"(?:during|under|on) (?:the |a )?test", Stage.DURING_TEST),
    (
        Aspect.LOAD,
        r"(?:with|w/|after|during) (?:the |a )?[a-z]+(?: [a-z]+)?(?=\s*(?:$|[,;.]))",
        None,
    ),
    (
        Aspect.ROLE,
        r"set(?:point)?|target|spec'd|wants|asked(?: for)?|req(?:uested)?",
        "set",
    ),
    (Aspect.ROLE, r"desired|des|demanded|commanded|cmd|soll", "set"),
    (Aspect.ROLE, r"actual|act|ist|got|gets", "actual"),
    (Aspect.SIDE, r"(?<=(?:kalt|warm|heiß) )links|(?<!can )(?<!bus )l|left", "left"),
    (Aspect.SIDE, r"(?<=(?:kalt|warm|heiß) )rechts|r|right", "right"),
    (Aspect.SIDE, r"(?:left|right)(?: hand)? bank", None),
    (Aspect.SIDE, r"ns", "nearside"),
    (Aspect.SIDE, r"os", "offside"),
    (Aspect.SIDE, r"both(?: sides| ends| banks)?", "both"),
    (Aspect.SIDE, r"(?:inner|outer)(?: edge)?|inside edge|outside edge", None),
    (Aspect.SIDE, r"(?:left|right|top|bottom|upper|lower) half", None),
    (
        Aspect.SIDE,
        r"(?:all (?:bar|but|except) )?(?:number|no\.?|nr\.?|#) ?[0-9]{1,2}",
        None,
    ),
    (Aspect.SIDE, r"all(?: (?:four|round|cyls|cylinders))?", "all"),
    (
        Aspect.SIDE,
        r"(?:(?:the|all|die|les|alle) )?(?:others?|andere[nr]?|übrige[nr]?|autres|pozostałe)"
        r"(?: (?:side|ones?|two|three|four|five|[2-7](?= [0-9])|cyls?|cylinders?|wheels?"
        r"|corners?))?",
        "others",
    ),
    (Aspect.SIDE, r"(?<!can )(?<!bus )lo(?:w(?: side)?)?", "low side"),
    (Aspect.SIDE, r"(?<!can )(?<!bus )hi(?:gh(?: side)?)?", "high side"),
    (Aspect.SIDE, r"(?:pos(?:itive)?|\+|\+ve)(?: side)?", "positive"),
    (Aspect.SIDE, r"(?:neg(?:ative)?|-ve)(?: side)?", "negative"),
    (Aspect.SIDE, r"in(?:let)?", "in"),
    (Aspect.SIDE, r"out(?:let)?", "out"),
    (Aspect.SIDE, r"b1", "bank 1"),
    (Aspect.SIDE, r"b2", "bank 2"),
    (Aspect.SIDE, r"s1", "sensor 1"),
    (Aspect.SIDE, r"s2", "sensor 2"),
    (Aspect.SIDE, r"lowest", None),
    (Aspect.SIDE, r"highest", None),
    (
        Aspect.SIDE,
        r"(?:earth|ground|gnd|supply|feed|live|loom|sensor|ecu|module|switch|battery|load|pack|motor|pump"
        r"|tank|body|engine|gearbox|hp|lp) side",
        None,
    ),
    (
        Aspect.UNREST,
        r"(?:hunt|fluctuat|puls|wander|flicker|jump|bounc|surg)ing|erratic|unsteady|rising|falling",
        None,
    ),
    (Aspect.GEAR, r"(?:in )?(?:drive|reverse|neutral|[dn](?=\s*(?:$|[,;.])))", None),
)
# A side is told beside a value, not in front of a part: "outlet hose".
BESIDE = (
    r"(?=\s*(?:(?:(?:has|had|was|reads) )?[+-]?\.?[0-9]|[,;/).!?]|$"
    r"|(?:OL|V|volts?|bar|psi|kPa|ohms?|mm|[CF]|[<>~]|stuck|around|about|under"
    r"|over|below|above|after|at|cold|hot|idle|warm|min|max|spec|limit|and"
    r"|cranking|when|static|running|front|rear|[no]s[fr]?|[no]/s(?:/?[fr])?|[lr][fr]|left|right)\b))"
)
