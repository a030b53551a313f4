"""How a test is told, and what was seen: common practice of the trade, no source."""

import re

from kb.patterns import compiled

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
    r"|(?:battery|supply|(?:air ?)?bag|horn pad)(?= *$| from\b| again\b)"
    r"|seats?)\b",
    re.IGNORECASE,
)
"""What is taken off to get at something else, the supply to be safe."""
CONNECTION = compiled(
    r"\b(?:connectors?|(?:multi-?)?plugs?|sockets?|couplings?|terminals?|pins?|wires?|wiring|leads?"
    r"|looms?|harness(?:es)?|earths?|grounds?|relays?|fuses?|stecker)$",
    re.IGNORECASE,
)
"""What makes a connection when it is seated."""
