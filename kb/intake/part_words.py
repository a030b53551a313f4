"""Words that names of parts are made of, and those that no name has: common practice, no source."""

import re

from kb.patterns import compiled

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
_PRONOUN = r"(?:it|them|him|her|that|those)"
_IT = rf"(?:{_PRONOUN}|the|this|these|my|his|our|an?|as|some|old)"
"""Behind *left* what was left as it was; without it a side: *left lamp in*."""
NO_PART = compiled(
    rf"(?:(?:left|leave|keep|kept) {_IT}|put {_PRONOUN}|none|neither|keine[rs]?|aucune?|[zż]ad\w+"
    r"|(?:uv )?dye|rien|nic|nichts|old|made|runs?|drives?|starts?|idles?|goes|feels?|looks"
    r"|sounds|no|not|never|it|he|she|they|we|i|you|there|that|this|and|but|so|then|fault|misfire"
    r"|lamp|light"
    r"|car|vehicle|customer|cust|water(?! (?:pump|valve|outlet|rail|hose|pipe))|back|booked"
    r"|(?:does|did|do|was|is|has|have|had|wo|ca|could|would|are|were)n['’]?t|ran"
    r"|(?:re-?)?routed|clipped|secured|threaded|came|towed|plugged|tow|checked|brought|dropped|drove"
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
NAME_OF_PART = (
    rf"(?:[^\W\d_][\w/-]*(?: of)? ){{0,3}}(?:{PART_NOUN})(?: ?x ?[0-9]"
    rf"| (?:no\.? ?)?[0-9](?! ?[a-z]))?(?![\w/-])"
)
PART_NAME = compiled(NAME_OF_PART, re.IGNORECASE)
FROM_WHERE = compiled(
    r" from (?:an? |the |our |local )?(?:scrap\w*|breakers?|stock|donor|dealers?|parts shop"
    r"|makers?|manufacturers?|importers?|factors?|internet)"
    r"(?: \w+)?$",
    re.IGNORECASE,
)


def may_be_part(what: str) -> bool:
    """Whether some words may name a part: they tell no state, and begin with no little word.

    Examples
    --------
    >>> may_be_part("seat plug"), may_be_part("no leak"), may_be_part("0.41")
    (True, False, False)
    """
    return bool(re.search(r"[^\W\d_]/?[^\W\d_]", what)) and not (
        NO_PART.match(what) or _NO_NAME.search(what) or _BY_WHAT.match(what)
    )


_BY_WHAT = compiled(r"(?:mit|with|w/|avec|z|per|via)(?= \S)", re.IGNORECASE)
"""What something was done with is no part it was done to."""
