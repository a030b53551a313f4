"""Work that was not done, or not here, or not yet: common practice of the trade, no source."""

import re

from kb.patterns import compiled

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
