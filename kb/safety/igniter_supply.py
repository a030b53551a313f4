"""Whether what is told of the supply, and of the wait, is enough where a plug is opened or closed.

Turned over: the battery off and minutes waited, or the maker's wait, are enough; a key or a fuse
alone, a shorter time, a supply that is on is not. A deed of which nothing is told stays, its
caution says the rest. All of it is common practice, no source: the minutes are the maker's.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from kb.patterns import compiled
from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import Doing, WordList, deeds_of, is_told_of_others, list_of
from kb.safety.igniter_handling import is_ruled_out
from kb.safety.igniter_words import Aside, Role, aside, role_of, words_in

SHORTEST_WAIT = 3
"""So many minutes at least are waited; makers say more or less, and what they say goes first."""


def supply_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what is told of supply or time, and is not enough for a plug that is touched."""
    timed = any(True for each in sentence for _ in _minutes(each))
    for place, clause in enumerate(sentence):
        if is_told_of_others(sentence, place) or _is_sensors(sentence, clause):
            continue
        if _talks_down(clause, timed=timed, by_the_maker=_says_the_maker(sentence)):
            yield Piece(Role.LIVE, clause.words), Reason.WAIT
    yield from _plugged_last(sentence)
    yield from _on_before_the_plug(sentence)
    if _goes_straight_in(sentence):
        yield Piece(Role.LIVE, sentence[0].words), Reason.WAIT
    touched = any(touches(sentence, place) for place in range(len(sentence)))
    if not touched and not any(_works(sentence, place) for place in range(len(sentence))):
        return
    timed = touched or any(map(is_enough, sentence))
    for place, clause in enumerate(sentence):
        if is_told_of_others(sentence, place):
            continue
        if _is_on(sentence, place):
            yield Piece(Role.LIVE, clause.words), Reason.LIVE
        elif timed and _is_short(sentence, place):
            yield Piece(Role.LIVE, clause.words), Reason.WAIT
    if touched and any(map(_waits_not, sentence)) and any(map(_opens, sentence)):
        yield Piece(Role.LIVE, ("wait",)), Reason.WAIT
    if touched and _key_alone(sentence):
        yield Piece(Role.LIVE, sentence[0].words), Reason.WAIT
    yield from _in_whole_phrases(sentence, _IN_USE if touched else _IN_USE[:-1])


def on_again_in(
    sentences: Sequence[Sequence[Clause]],
) -> Iterator[tuple[int, Piece, Reason]]:
    """Yield plugs that are moved after the supply came on again, over the sentences of a text.

    Once it was off, *battery back on* in any later sentence holds until it is off and waited for
    once more; what is plugged or unplugged between is done under power. Each comes with the place
    of its sentence.
    """
    told = _Supply()
    for at, sentence in enumerate(sentences):
        for place, clause in enumerate(sentence):
            if is_told_of_others(sentence, place):
                continue
            moved = _is_moved(sentence, place) or (
                told.missing is Reason.LIVE and clause.words in _MOVED_ALONE
            )
            if moved and told.missing is not None:
                yield at, Piece(Role.LIVE, clause.words), told.missing
            told.hear(sentence, place, moved=moved)


_MOVED_ALONE = frozenset(
    [
        ("unplugged",),
        ("unplugged", "it"),
        ("plugged", "in"),
        ("plugged", "it", "in"),
        ("parted", "it"),
    ]
)
"""What names no plug, and is of one where the supply has just come on: it was not the battery."""


@dataclass(slots=True)
class _Supply:
    """What a text told of the supply so far.

    `missing` is why a plug may not be moved, None if nothing speaks against it.
    """

    was_off: bool = False
    moved: bool = False
    missing: Reason | None = None

    def hear(self, sentence: Sequence[Clause], place: int, *, moved: bool) -> None:
        """Note what a clause tells."""
        clause = sentence[place]
        waited = not _WAITED.isdisjoint(clause.words) or any(
            minutes >= SHORTEST_WAIT for minutes in _minutes(clause)
        )
        if _is_off_now(clause):
            self.was_off, self.moved = True, False
            self.missing = Reason.WAIT if self.missing else None
        elif self.was_off and not _is_held_off(sentence, place) and self._returns(sentence, place):
            self.missing = Reason.LIVE
        if waited and self.missing is not Reason.LIVE:
            self.was_off, self.missing = True, None
        self.moved |= moved

    def _returns(self, sentence: Sequence[Clause], place: int) -> bool:
        """Whether the supply is on again; where nothing is named it may be the plug that is."""
        words = (sentence[place].joiner, *sentence[place].words)
        if words_in(Aside.DENIAL) & sentence[place].vocabulary:
            return False
        bare = [word for word in words[1:] if word not in _SMALL]
        if _SUPPLIES.isdisjoint(bare):
            begins = place == 0 and not self.moved
            return begins and bool(bare) and _BARELY_ON.issuperset(bare)
        on = _ON | _ON_AGAIN | _CONNECTED
        told = not (on | _AGAIN_WORDS).isdisjoint(words)
        return (told and (_SUPPLIES | on | _BEING).issuperset(bare)) or any(
            _tells_on(words, at) for at, word in enumerate(words) if word in _SUPPLIES
        )


_WAITED = frozenset(
    ["waited", "isolated", "isolation", "gewartet", "attendu", "odczekano", "czekalem", "aspettato"]
)
_SMALL = frozenset(
    ["then", "and", "again", "back", "now", "it", "the", "dann", "wieder", "puis", "next", "after",
     "position", "2", "ii", "potem", "le", "la", "die", "das", "of", "car"]
)  # fmt: skip
_AGAIN_WORDS = frozenset(["then", "again", "back", "dann", "wieder", "puis", "znowu", "potem"])
_CONNECTED = frozenset(
    ["angeklemmt", "angeschlossen", "rebranchee", "rebranche", "remise", "remis", "mis", "turned",
     "switched", "put", "fitted", "returned", "podlaczona", "podpieta", "ricollegata",
     "reconectada", "eingeschaltet", "refitted"]
)  # fmt: skip
_BARELY_ON = frozenset(
    [
        "on",
        "reconnected",
        "live",
        "angeklemmt",
        "rebranchee",
        "eingeschaltet",
        "under",
        "an",
        "connected",
        "switched",
        "hooked",
        "up",
        "turned",
        "powered",
        "mis",
        "remis",
        "dran",
    ]
)


def _is_off_now(clause: Clause) -> bool:
    """Whether a clause tells that supply or key goes off, however long is waited then."""
    off = {"off", "ab", "aus", "away", "disconnected", "isolated", "debranchee"}
    bare = [word for word in clause.words if word not in _SMALL]
    if bare and off.issuperset(bare):
        return not clause.roles & {*TARGETS, Role.CONTACT}
    told = [word for word in clause.words if word != "waited"]
    enough = list_of(WordList.SUPPLY_OFF).any_in(told) and is_enough(clause)
    return enough or list_of(WordList.KEY_ALONE).any_in(told)


def _is_moved(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a plug of an igniter, or of nothing that is named, is opened or closed."""
    clause = sentence[place]
    if clause.roles & (_NO_WORK | {Role.SUBSTITUTE}) or tells_lamp(clause):
        return False
    if words_in(Aside.DENIAL) & clause.vocabulary or aside(Aside.BATTERY).any_in(clause.words):
        return False
    if not (place or Role.CONTACT in clause.roles) and aside(Aside.RENEWED).any_in(clause.words):
        return False  # a whole repair, *replaced bag*, of which nothing more is told
    return touches(sentence, place) or _moves_plug(clause)


def _in_whole_phrases(
    sentence: Sequence[Clause], ways: Sequence[tuple[re.Pattern[str], Reason]]
) -> Iterator[tuple[Piece, Reason]]:
    """Yield what only a phrase across clauses tells of the supply: *left as it was*."""
    told = " ".join(word for each in sentence for word in (each.joiner, *each.words) if word)
    off = any(map(is_enough, sentence))
    for way, reason in ways:
        found = None if off and reason is Reason.LIVE else way.search(told)
        if found and words_in(Aside.DENIAL).isdisjoint(told[: found.start()].split()):
            yield Piece(Role.LIVE, tuple(found.group().split())), reason


def _waits_not(clause: Clause) -> bool:
    """Whether a clause says to wait not at all: *never wait*, *ever wait*, *waited no time*."""
    words = clause.words
    return any(
        (words[at] in _NOT_AT_ALL and words[at + 1] in _WAITING and not _is_forbidden(words, at))
        or (words[at] in _WAITING and _is_none(words[at + 1 : at + 3]))
        or (words[at : at + 2] in _NO_POINT and not _IDLING.isdisjoint(words[at + 2 : at + 5]))
        for at in range(len(words) - 1)
    )


def _is_none(words: Sequence[str]) -> bool:
    """Whether no time is told: *none*, *no time*, and not *no less*."""
    return words[0] in {"no", "none"} and not _NOT_LESS.issuperset(words[1:2] or ("time",))


_NOT_LESS = frozenset(["less", "shorter", "under"])


def _is_forbidden(words: Sequence[str], at: int) -> bool:
    """Whether not to wait is forbidden, or is about something else: *don't wait for the bus*."""
    return words[at + 2 : at + 3] == ("for",) or bool(words_in(Aside.DENIAL) & set(words[:at]))


_NOT_AT_ALL = frozenset(["never", "ever", "dont", "without"])
_WAITING = frozenset(["wait", "waited", "waiting"])
_NO_POINT = (("no", "point"), ("no", "need"), ("no", "sense"), ("not", "worth"))
_IDLING = frozenset([*_WAITING, "hanging", "hang", "standing", "sitting", "idling"])


def _opens(clause: Clause) -> bool:
    return any(deed is Doing.OFF for _, _, deed in deeds_of(clause)) and not (
        words_in(Aside.DENIAL) & clause.vocabulary
    )


def _plugged_last(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield the supply that is on again before an igniter is: *reconnect battery, then the bag*."""
    again = [
        place
        for place, each in enumerate(sentence)
        if aside(Aside.BATTERY).any_in(each.words) and not _ON_AGAIN.isdisjoint(each.words)
    ]
    for place in again:
        if words_in(Aside.DENIAL) & sentence[place].vocabulary or _is_held_off(sentence, place):
            continue
        for clause in sentence[place + 1 :]:
            named = any(role_of(word) in TARGETS for word in clause.words)
            if clause.joiner in _THEN and named and not _PLUGGED.isdisjoint(clause.words):
                yield Piece(Role.LIVE, clause.words), Reason.LIVE


def _on_before_the_plug(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield a plug that is moved after the supply came on: *supply on, plug closed*."""
    battery = any(aside(Aside.BATTERY).any_in(each.words) for each in sentence)
    on = False
    for place, clause in enumerate(sentence):
        denied = bool(words_in(Aside.DENIAL) & clause.vocabulary)
        again_off = any(e.joiner == "after" and is_enough(e) for e in sentence[place + 1 :])
        if on and not (denied or again_off) and clause.joiner in _THEN and _moves_plug(clause):
            yield Piece(Role.LIVE, clause.words), Reason.LIVE
        moved = bool(clause.roles & {*TARGETS, Role.CONTACT})
        if denied or moved or _is_held_off(sentence, place):
            continue
        if is_enough(clause) or clause.words[-1] == "off":
            on = False
        elif _comes_on(clause.words) or (battery and clause.words in _AGAIN):
            on = True


def _moves_plug(clause: Clause) -> bool:
    """Whether a clause opens or closes a plug, of an igniter or of nothing that is named."""
    others = {Role.NEIGHBOUR, Role.SCAN, Role.UNIT, Role.LAMP}
    plug = bool(clause.roles & {*TARGETS, Role.CONTACT}) and not clause.roles & others
    return plug and not (_MOVED.isdisjoint(clause.words) or _OF_THE_TESTER & clause.vocabulary)


def _comes_on(words: Sequence[str]) -> bool:
    """Whether words tell no more than that a supply comes on: *supply on*, *battery back on*."""
    plain = _SUPPLIES | _ON | _ON_AGAIN | _BEING | {"back", "again"}
    told = not (_SUPPLIES.isdisjoint(words) or (_ON | _ON_AGAIN).isdisjoint(words))
    return told and plain.issuperset(words)


_AGAIN = (("reconnected",), ("connected", "again"), ("on", "again"), ("back", "on"))
_MOVED = frozenset(
    [*("closed", "close", "opened", "open", "plugged", "unplugged", "connected", "disconnected"),
     *("reconnected", "mated", "latched", "seated", "reseated", "pushed", "pulled", "joined"),
     *("parted", "clipped", "unclipped", "replaced", "swapped", "refitted", "fitted", "removed"),
     *("home", "together", "apart", "off", "in", "out", "back"),
     *("geoffnet", "geschlossen", "gesteckt", "abgezogen", "zusammengesteckt", "getrennt"),
     *("ab", "abgesteckt", "angesteckt", "aufgesteckt", "entfernt", "odpieta", "odpieto"),
     *("odlaczona", "debranchee", "rebranche", "deconnecte", "retire", "staccato", "scollegato"),
     *("desconectado", "losgekoppeld", "lossad", "kopplad"),
     *("ouvert", "ferme", "branche", "debranche", "rozpieta", "spieta", "wpieta", "wypieta")]
)  # fmt: skip
_OF_THE_TESTER = frozenset(["diagnostic", "obd", "dlc", "scan", "tester", "diagnosestecker"])
_MACHINES = (
    r"(?:radio|stereo|engine|motor|heater|heating|blower|fan|wipers?|lights?|headlights?|"
    r"headlamps?|"
    r"dash|dashboard|hazards?|indicators?|horn|windows?|sat ?nav|screen|clock|instruments?|"
    r"aircon|music|starter|pump|seat heater|interior lamp|klimaanlage|geblase|moteur|autoradio|"
    r"musik|musique|silnik|muzyka|licht|phares|swiatla)"
)
_RUNS = (
    r"(?:play(?:s|ed|ing)?|on|runs?|running|ran|going|lit|ticking|idling|idled|working|worked|"
    r"humming|singing|blaring|blowing|turning|turned|flash(?:ed|ing)|burning|glowing|lief|lauft|"
    r"laufend|"
    r"spielte|an|tournait|tournant|allumee?s?|jouait|gral[oa]?|chodzil|wlaczon\w+)"
)
_IN_USE = (
    (
        compiled(
            r"(?<!\S)(?:ignition|ign|key|battery|batt|supply|power|electrics|"
            r"pole clamps?|earth lead|battery clamps?|minus(?: lead| clamp| terminal)?|zundung|"
            r"batterie|"
            r"strom|"
            r"contact|zaplon|akumulator)(?: (?:was|is|all|simply|just|he|it|we))* (?:left|kept|"
            r"stayed|"
            r"leave|remained|belassen|gelassen|blieb|laissee?|restee?|zostawion\w*|zostal)(?: "
            r"(?:just|exactly|all))* (?:(?:as|where|how|like) (?:it|he|they|i|we) (?:was|is|were|"
            r"stood|sat|found|had)|(?:as|like) (?:found|is|was|before)|(?:well )?alone|be(?=$| ,)|"
            r"untouched|undisturbed|unberuhrt|in peace|wie (?:sie|es|er) war|"
            r"tel(?:le)? quel(?:le)?|"
            r"intacte?|jak by\w+|tak jak by\w+|nietkniet\w+)(?!\S)"
            r"|(?<!\S)(?:ignition|key|battery|supply|power)(?: (?:was|were))? not (?:altered|"
            r"touched|"
            r"changed|disturbed|interfered)(?!\S)"
            r"|(?<!\S)left (?:the )?(?:ignition|key|battery|supply|power) (?:alone|be|as it was|"
            r"as found|where it was|untouched|undisturbed|in peace|well alone)(?!\S)"
        ),
        Reason.LIVE,
    ),
    (
        compiled(
            r"(?<!\S)(?:supply|feed)(?: (?:was|being|still|left))* (?:up|alive)(?!\S)"
            r"|(?<!\S)(?:while|whilst|with|as) (?:the )?(?:supply|feed)(?: (?:was|is|being|still))*"
            r" (?:on|there|connected)(?!\S)"
            r"|(?<!\S)(?:supply|power|battery|ignition|current)(?: (?:up|on|alive))? (?:all along|"
            r"all the while|the whole time|all the time|throughout|from start to finish)(?!\S)"
        ),
        Reason.LIVE,
    ),
    (
        compiled(
            rf"(?<!\S)(?:while|whilst|with|as|during|wahrend|mit|bei|pendant que|avec|podczas gdy|"
            rf"przy)(?: (?:the|a|car|der|die|das|dem|le|la|l|and|all|was|still))*"
            rf" {_MACHINES}(?: (?:was|were|is|still|kept|left|noch|quietly|merrily|happily))*"
            rf" {_RUNS}(?!\S)"
            r"|(?<!\S)(?:heater|blower|fan|radio|stereo|engine|wipers|music|moteur|autoradio|musik|"
            r"motor) (?:still|noch|toujours) (?:playing|on|running|going|idling|humming|blowing|"
            r"turning|an|tournant)(?= ,| and|$)"
        ),
        Reason.LIVE,
    ),
    (
        compiled(
            r"(?<!\S)(?:supply|battery|power|ignition|isolat(?:ing|ion)|disconnect(?:ing|ion)|wait|"
            r"waiting|minus|batterie|coupure)(?: (?:off|out|away|disconnected|lead|ab|the|battery|"
            r"supply|for|it|debranchee?))*"
            r" (?:(?:was|is|were) )?(?:not (?:needed|necessary|required|called for|worth\w*|wanted|"
            r"bothered)|wasnt (?:needed|necessary|required)|isnt (?:needed|necessary|required)|"
            r"(?:un|not )necessary|unneeded|needless|skipped|spared|omitted|left out|dispensed|"
            r"superfluous|pointless|nicht (?:notig|notwendig|gebraucht)|unnotig|pas (?:necessaire|"
            r"utile|besoin)|inutile|niepotrzebn\w*|zbedn\w*)"
            r"|(?<!\S)(?:didnt|dont|doesnt|did not|do not|never) (?:need|want|require|bother with)"
            r"(?:ed)? (?:the |any |a |its )?(?:supply|battery|power) (?:\S+ )?(?:off|out|away|cut|"
            r"disconnected|isolated)(?!\S)"
            r"|(?<!\S)(?:no need (?:for|of)|without|skipped|no|saved|spared) (?:the |any |"
            r"a )?(?:supply"
            r" off|battery off|power off|power down|isolation|isolating|disconnecting the battery|"
            r"taking the battery off)(?= ,| and|$)"
            r"|(?<!\S)without (?:the |its |their )(?:usual |full |required |prescribed )?(?:wait|"
            r"waiting time|(?:\d+|three|five|ten|fifteen|twenty|thirty) min(?:ute)?s?)(?!\S)"
        ),
        Reason.WAIT,
    ),
    (
        compiled(
            r"(?<!\S)(?:in|within|under|inside|less than|only|just)? ?(?:a|one|two|three|four|"
            r"five|[1-5]"
            r"|couple of|a couple of|few|a few) (?:minutes?|mins?) (?:start to finish|flat|all in|"
            r"in all|in total|total|from start to (?:end|finish)|door to door|altogether|"
            r"including everything|end to end|top to bottom|beginning to end)(?!\S)"
        ),
        Reason.WAIT,
    ),
)
"""What says that the supply was on, that its being off is needless, or that nobody waited."""


def _is_held_off(sentence: Sequence[Clause], place: int) -> bool:
    """Whether the supply is on again only after what follows: *before the battery is on again*."""
    return sentence[place].joiner in {"before", "after", "until", "till"}


_ON_AGAIN = frozenset(
    ["reconnect", "reconnected", "reconnecting", "reconnects", "restored", "returned"]
)
_PLUGGED = frozenset(["plug", "plugged", "plugging", "connect", "connected"])


def touches(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause opens, closes or changes a part of the igniter's circuit."""
    clause = sentence[place]
    if is_told_of_others(sentence, place):
        return False
    named = clause.roles & {*TARGETS, Role.CONTACT, Role.CLOCK_SPRING, Role.JOINED}
    if not (named or _HOLDERS & clause.vocabulary) or (
        clause.roles & {Role.NEIGHBOUR, Role.UNIT} and not clause.roles & TARGETS
    ):
        return False
    if list_of(WordList.OTHER).any_in(clause.words) and not clause.roles & TARGETS:
        return False
    deeds = (
        at
        for at, _, deed in deeds_of(clause)
        if deed is Doing.OFF or list_of(WordList.CHANGES).longest(clause.words, at)
    )
    live = clause.words[-1] in _LIVE_PLUG and not clause.roles & _NO_WORK
    done = live or list_of(WordList.CHANGES).any_in(clause.words) or _is_in(clause)
    return done or any(not is_ruled_out(clause, at) for at in deeds)


def _is_in(clause: Clause) -> bool:
    """Whether a clause says in fewest words that a part was fitted: *new bag in*."""
    told = any(role_of(word) in TARGETS for word in clause.words[:-1])
    return told and clause.words[-1] in _IN and not (clause.roles & _NO_WORK or tells_lamp(clause))


_IN = frozenset(["in", "fitted", "rein", "drin", "eingebaut", "monte", "montee", "zamontowana"])


def _works(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause about a part of the restraints tells more than what was read or seen.

    Turned over: beside a supply that is on, only reading, looking and coding may be told.
    """
    clause = sentence[place]
    if is_told_of_others(sentence, place) or tells_lamp(clause):
        return False
    parts = clause.roles & _OF_RESTRAINTS or not _HELD.isdisjoint(clause.words)
    own = clause.roles & TARGETS or _bolts_crash_sensor(clause)
    others = clause.roles & {Role.NEIGHBOUR} or list_of(WordList.OTHER).any_in(clause.words)
    if not parts or (others and not own):
        return False
    return not (clause.roles & _MERELY_READ or _MERELY_TOLD & clause.vocabulary)


def _bolts_crash_sensor(clause: Clause) -> bool:
    """Whether what feels a crash is bolted or unbolted: *crash sensor bolt torqued*."""
    bolted = any("bolt" in word or word.startswith(_SCREWED) for word in clause.words)
    sensor = not _SENSORS.isdisjoint(clause.words)
    return bolted and sensor and aside(Aside.CRASH_SENSOR).any_in(clause.words)


_SCREWED = ("screw", "torqu", "nut")
_SENSORS = frozenset(["sensor", "sensors"])


_MERELY_READ = frozenset(
    [
        *(Role.SCAN, Role.RAIL, Role.VALUE, Role.LAMP, Role.SUBSTITUTE),
        *(Role.MEASURE, Role.INSTRUMENT, Role.POWER, Role.BRIDGE),
    ]
)
"""What is read or told; what is measured or bridged is judged with a graver reason."""
_MERELY_TOLD = frozenset(
    [
        *words_in(Aside.LOOKING),
        *words_in(Aside.CODE_WORDS),
        *("look", "looked", "looking", "looks", "inspected", "inspect", "photographed", "photo"),
        *("saw", "seen", "noted", "found", "watched", "observed", "listened", "heard", "asked"),
        *("told", "shown", "showed", "visible", "read", "reads", "reading"),
        *("stored", "volt", "low", "coding", "coded", "programmed", "programming", "update"),
        *("updated", "updating"),
    ]
)
_OF_RESTRAINTS = frozenset([*TARGETS, Role.CONTACT, Role.CLOCK_SPRING, Role.HARNESS, Role.UNIT])
_HELD = frozenset(["seat", "seats", "wheel", "belt", "belts", "sensor", "sensors", "buckle"])
_HOLDERS = frozenset(["seat", "seats", "lenkrad", "volant", "kierownica"])
_LIVE_PLUG = frozenset(["live", "hot"])


def _is_on(sentence: Sequence[Clause], place: int) -> bool:
    """Whether the supply is told to be on while it is done; on again after it is none."""
    clause, before, words = sentence[place], sentence[:place], sentence[place].words
    kept = list_of(WordList.KEEPERS).any_in(words)
    if kept:
        return "off" not in words and not words_in(Aside.DENIAL) & clause.vocabulary
    if any(map(is_enough, before)) or clause.roles & _NO_WORK or tells_lamp(clause):
        return False
    if clause.joiner == "after" and before and tells_lamp(before[-1]) and _comes_on(words):
        return False  # *lamp out after battery on*
    if any(map(is_enough, sentence[place:])) and not touches(sentence, place):
        return False  # on at first only
    live = (i for i in range(len(words)) if clause.pieces[clause.piece_at[i]].role is Role.LIVE)
    spring = {i for i, at in enumerate(clause.piece_at) if _is_spring(clause.pieces[at])}
    told_on = (at for at in range(len(words)) if at not in spring and _tells_on(words, at))
    at = next(told_on, next(live, None))
    still = clause.joiner != "then" and not _STILL.isdisjoint(words)
    still &= not any(_CLOSED & each.vocabulary for each in before)
    still |= at is not None and _is_not_taken_off(words, at)
    afterwards = at == 0 and before and clause.joiner in _THEN and not still
    worked = range(place + 1, len(sentence))
    afterwards = afterwards and not any(touches(sentence, later) for later in worked)
    for_that = sentence[place + 1 : place + 2]  # *key on, to see does it follow*
    afterwards = afterwards and not any(each.words[:2] in _TO_FIND for each in for_that)
    return at is not None and not afterwards and not words_in(Aside.DENIAL) & set(words[:at])


def _is_spring(piece: Piece) -> bool:
    """Whether a part is named of which a word is a supply's elsewhere: *contact tournant*."""
    return piece.role is Role.CLOCK_SPRING or piece.words[1:] == ("contact",)


def _tells_on(words: Sequence[str], at: int) -> bool:
    """Whether the supply is told to be on; *power on the plug* puts it somewhere."""
    found = list_of(WordList.SUPPLY_ON).longest(words, at)
    size = found[0] if found is not None else _length_of_on(words, at)
    if words[at] == "hot" and at + 1 < len(words):
        return False  # *hot air*
    if size == 0 and _is_not_taken_off(words, at):
        return True
    return size > 0 and words[at + size : at + size + 1] not in _ONTO


def _length_of_on(words: Sequence[str], at: int) -> int:
    """Return how many words tell that a supply is on, *the battery was left on*; 0 if none do."""
    if words[at] not in _SUPPLIES:
        return 0
    for end in range(at + 1, min(at + 2 + _MOST_BETWEEN, len(words))):
        if words[end] in _ON:
            return end + 1 - at
        if words[end] not in _BEING:
            return 0
    return 0


def _is_not_taken_off(words: Sequence[str], at: int) -> bool:
    return _leaves_alone(words, at) or _is_left_alone(words, at)


def _leaves_alone(words: Sequence[str], at: int) -> bool:
    """Whether a supply is told not to be taken off: *didn't bother with the battery*."""
    denied = next((place for place in range(at, len(words)) if words[place] in _DENIED), None)
    if denied is None or denied > at:
        return False
    behind = words[denied + 1 : denied + 2 + _MOST_BETWEEN]
    supply = next((place for place, word in enumerate(behind) if word in _SUPPLIES), None)
    switched_on = not _SWITCHED_ON.isdisjoint(behind)  # *nobody switch the key on*
    return supply is not None and not switched_on and not _TAKEN_OFF.isdisjoint(behind[:supply])


def _is_left_alone(words: Sequence[str], at: int) -> bool:
    """Whether a supply is told not to have been taken off: *key was never switched off*."""
    behind = words[at + 1 : at + 3 + _MOST_BETWEEN] if words[at] in _SUPPLIES else ()
    denied = next((place for place, word in enumerate(behind) if word in _DENIED), None)
    if denied is None or not _BEING.issuperset(behind[:denied]):
        return False
    off = [word for word in behind[denied + 1 :] if word not in _BEING]
    return off[:1] == ["off"] or not _TAKEN_OFF.isdisjoint(off[:1])


_DENIED = frozenset(
    ["didnt", "never", "not", "without", "nobody", "couldnt", "wouldnt", "cant", "wasnt", "isnt",
     "hadnt", "havent"]
)  # fmt: skip
_TAKEN_OFF = frozenset(
    [
        *("bother", "bothered", "bothering", "touch", "touched", "touching", "take", "took"),
        *("taking", "pull", "pulled", "pulling", "lift", "lifting", "drop", "dropping", "cut"),
        *(
            "cutting",
            "kill",
            "killing",
            "switch",
            "switched",
            "switching",
            "turn",
            "turned",
            "turning",
            "undo",
            "undoing",
        ),
        *("disconnect", "disconnected", "disconnecting", "isolate", "isolated", "isolating"),
        *("disturb", "disturbed", "disturbing", "unhook", "unhooking", "remove", "removing"),
    ]
)
_SWITCHED_ON = frozenset(["on", "ein", "an"])
_MOST_BETWEEN = 3
_SUPPLIES = frozenset(
    [
        *("battery", "batt", "bat", "ignition", "ign", "key", "power", "supply", "charger"),
        *("electrics", "engine", "negative", "neg", "minus", "current", "juice", "mains"),
        *("zundung", "batterie", "strom", "contact", "akumulator", "zaplon", "batteria", "bateria"),
        *("quadro", "contacto", "motor", "moteur", "silnik", "motore"),
    ]
)
_ON = frozenset(
    [
        *("on", "in", "connected", "live", "running", "hot", "idling", "alive", "up"),
        *("an", "dran", "ein", "eingeschaltet", "angeschlossen", "mis", "branchee", "tournant"),
        *("wlaczony", "wlaczonym", "podlaczony", "collegata", "acceso", "conectada", "puesto"),
    ]
)
_BEING = frozenset(
    [
        *("was", "is", "were", "still", "left", "kept", "being", "been", "had", "stayed", "stays"),
        *("to", "lead", "leads", "clamp", "remained", "switched", "turned", "always", "all", "the"),
        *("forgotten", "forgot", "accidentally"),
        *("war", "noch", "blieb", "ist", "etait", "est", "encore", "restee", "byl", "ciagle"),
    ]
)
"""What may stand between a supply and that it is on."""


_ONTO = (("any",), ("the",), ("a",), ("its",), ("it",), ("charge",), ("test",))


_NO_WORK = frozenset([Role.SCAN, Role.RAIL, Role.VALUE])
_TO_FIND = (("to", "see"), ("to", "find"), ("to", "check"), ("to", "prove"), ("to", "watch"))
_THEN = frozenset([",", "and", "then", "danach", "dann", "puis", "potem"])
_CLOSED = frozenset(["latched", "refitted", "fitted", "clipped", "reassembled", "home"])
_STILL = frozenset(
    [
        *("still", "left", "connected", "live", "hot", "kept", "stayed", "forgotten"),
        *("noch", "immer", "blieb", "dran", "encore", "toujours", "reste", "restee"),
        *("ciagle", "nadal", "ancora", "aun", "todavia"),
    ]
)


def tells_lamp(clause: Clause) -> bool:
    """Whether a clause tells what the lamp or a code did; a radio's code is none of these."""
    radio = _RADIO & clause.vocabulary
    return not _LAMP.isdisjoint(word for word in clause.words if not (radio and word == "code"))


_RADIO = frozenset(["radio", "stereo", "navi", "navigation", "autoradio"])
_LAMP = frozenset(["lamp", "light", "code", "codes", "fault", "comes", "came"])


def is_enough(clause: Clause) -> bool:
    """Whether a clause tells that the supply is off, by more than key or fuse."""
    words = clause.words
    off = list_of(WordList.SUPPLY_OFF).any_in(words)
    return off and not any(_is_not_taken_off(words, at) for at in range(len(words)))


def _is_short(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a time of waiting is told that is none of the maker's."""
    here = [] if _tells_pace(sentence, place) else list(_minutes(sentence[place]))
    lamps = [at for at in range(place) if tells_lamp(sentence[at])]
    worked = [at for at in range(place + 1) if aside(Aside.BATTERY).any_in(sentence[at].words)]
    if not here or max(lamps, default=-1) > max(worked, default=-1):
        return False  # the lamp's time
    return max(n for each in sentence for n in _minutes(each)) < SHORTEST_WAIT and _is_a_wait(
        sentence
    )


def _tells_pace(sentence: Sequence[Clause], place: int) -> bool:
    """Whether it is told how fast a plug came off behind a wait: *plug off in two seconds*."""
    words, before = sentence[place].words, sentence[:place]
    at = next((at for at, word in enumerate(words) if word in _WITHIN), 0)
    times = [n for each in before for n in _minutes(each)]
    waited = any("waited" in each.words for each in before)
    return at > 1 and waited and min(times, default=SHORTEST_WAIT) >= SHORTEST_WAIT


_WITHIN = frozenset(["in", "within"])


def _is_a_wait(sentence: Sequence[Clause]) -> bool:
    """Whether battery, key or a wait is spoken of, so that the time is one of waiting."""
    words = [word for each in sentence for word in (each.joiner, *each.words)]
    return aside(Aside.BATTERY).any_in(words) or not _WAIT.isdisjoint(words)


_WAIT = frozenset(
    ["wait", "waited", "key", "ignition", "power", "supply", "before", "after", "then"]
)


def _minutes(clause: Clause) -> Iterator[float]:
    """Yield every time of a clause, in minutes."""
    for count, unit in () if tells_lamp(clause) else pairwise(clause.words):
        number = float(count) if count.isdecimal() else _COUNTS.get(count)
        if number is None:
            continue
        if aside(Aside.MINUTES).any_in([unit]) and unit != "waited":
            yield number * (60 if unit.startswith("hour") else 1)
        elif list_of(WordList.SECONDS).any_in([unit]):
            yield number / 60
    counted = zip(clause.words, clause.words[1:], clause.words[2:], strict=False)
    for verb, to, count in counted:
        if verb in _COUNTING and to == "to" and (count.isdecimal() or count in _COUNTS):
            yield (float(count) if count.isdecimal() else _COUNTS[count]) / 60


_COUNTING = frozenset(["count", "counted", "counting"])
_COUNTS = {
    "a": 1, "one": 1, "the": 1, "half": 0.5, "two": 2, "couple": 2, "of": 2, "three": 3, "four": 4,
    "few": 3, "five": 5, "six": 6, "ten": 10, "fifteen": 15, "twenty": 20, "thirty": 30,
    "forty": 40, "sixty": 60, "ninety": 90, "another": 1, "single": 1, "half a": 0.5,
    "zwei": 2, "deux": 2, "dwie": 2, "due": 2, "dos": 2, "twee": 2, "tva": 2, "drei": 3, "trois": 3,
    "trzy": 3, "tre": 3, "tres": 3, "drie": 3, "funf": 5, "cinq": 5, "piec": 5, "cinque": 5,
    "cinco": 5, "vijf": 5, "fem": 5, "zehn": 10, "dix": 10, "dziesiec": 10, "dieci": 10, "diez": 10,
    "tien": 10, "tio": 10, "quinze": 15, "zwanzig": 20, "vingt": 20,
}  # fmt: skip


def _is_sensors(sentence: Sequence[Clause], clause: Clause) -> bool:
    """Whether it is a sensor that holds no charge: *it's a sensor, no charge in it*."""
    others = [each for each in sentence if each is not clause]
    sensor = any({"sensor", "sensors"} & each.vocabulary for each in others)
    held = any(each.roles & {*TARGETS, Role.UNIT} for each in others)
    return sensor and not held and clause.words[:2] == ("no", "charge")


def _talks_down(clause: Clause, *, timed: bool, by_the_maker: bool) -> bool:
    """Whether a clause says that less than the maker's wait will do."""
    words = clause.words
    suffices = list_of(WordList.SUFFICES).any_in(words[1:]) and not by_the_maker
    timed |= list_of(WordList.KEY_ALONE).any_in(words)
    no_charge = list_of(WordList.NO_CHARGE).any_in(words) or _is_needless(clause)
    no_charge |= _is_belittled(clause) or _keeps_no_charge(clause)
    denied = bool(words_in(Aside.DENIAL) & clause.vocabulary) and suffices
    return (suffices and timed and not denied) or no_charge


def _is_needless(clause: Clause) -> bool:
    """Whether a time is said to be needless: *ten minutes you don't need*."""
    words = clause.words
    needless = ("dont", "need") in pairwise(words) or not _NEEDLESS.isdisjoint(words)
    time = list_of(WordList.SECONDS).any_in(words) or aside(Aside.MINUTES).any_in(words)
    return needless and time and not aside(Aside.BATTERY).any_in(words)


def _is_belittled(clause: Clause) -> bool:
    """Whether a wait is said to be for others: *the three minutes are for the lawyers*."""
    words = clause.words
    time = aside(Aside.MINUTES).any_in(words) or not _WAITING.isdisjoint(words)
    return time and list_of(WordList.FOR_OTHERS).any_in(words)


def _keeps_no_charge(clause: Clause) -> bool:
    """Whether a unit or a bag is said to hold no charge: *these don't hold charge*."""
    words = clause.words
    subject = bool(clause.roles & {*TARGETS, Role.UNIT}) or not _SUBJECTS.isdisjoint(words[:2])
    denied = [at for at, word in enumerate(words) if word in words_in(Aside.DENIAL)]
    behind = words[denied[0] + 1 : denied[0] + _NEAR] if denied else ()
    charge = "charge" in behind and not _HOLDS.isdisjoint(words)
    return subject and charge and not aside(Aside.BATTERY).any_in(words)


_SUBJECTS = frozenset(["they", "these", "those", "capacitors", "capacitor", "caps"])
_HOLDS = frozenset(["hold", "holds", "keep", "keeps", "store", "stores", "carry", "carries"])
_NEAR = 5
"""So many words from a denial on is what it denies."""


def _goes_straight_in(sentence: Sequence[Clause]) -> bool:
    """Whether work begins as a supply is off: *battery off and straight in*, *fuse out, got in*."""
    waited = any(n >= SHORTEST_WAIT for each in sentence for n in _minutes(each))
    if waited or "waited" in {word for each in sentence for word in each.words}:
        return False
    return any(
        _is_supply_off(before) and (_is_straight_in(after) or _begins_at_once(after))
        for before, after in pairwise(sentence)
        if len(after.words) > 1
    )


def _is_supply_off(clause: Clause) -> bool:
    return is_enough(clause) or list_of(WordList.KEY_ALONE).any_in(clause.words) or _pulls(clause)


def _pulls(clause: Clause) -> bool:
    """Whether a fuse is pulled, by its number or not: *pulled fuse 14*."""
    return not _FUSES.isdisjoint(clause.words) and not _OUT.isdisjoint(clause.words)


def _is_straight_in(clause: Clause) -> bool:
    return clause.words[0] in _STRAIGHT and _INTO.issuperset(clause.words[1:])


def _begins_at_once(clause: Clause) -> bool:
    """Whether a clause says that somebody set to work without waiting: *stuck in straight away*."""
    told = f" {' '.join(clause.words)} "
    return any(f" {each} " in told for each in _AT_ONCE) and any(
        f" {each} " in told for each in _BEGINS
    )


_FUSES = frozenset(["fuse", "fuses", "sicherung", "fusible", "bezpiecznik"])
_OUT = frozenset(["pulled", "pull", "out", "removed", "off", "raus", "gezogen", "retire", "wyjety"])
_AT_ONCE = (
    *("straight away", "right away", "at once", "immediately", "straight off", "straightaway"),
    *("sofort", "gleich", "tout de suite", "aussitot", "od razu", "natychmiast", "same minute"),
)
_BEGINS = (
    *("stuck in", "got in", "went in", "got to work", "to work", "went at it", "got at it"),
    *("dived in", "dug in", "dug into", "got going", "got started", "cracked on", "cracked into"),
    *("set to", "started", "began", "got on with it", "went for", "at the", "on the", "into the"),
    *("an die arbeit", "ran an", "angefangen", "losgelegt", "au travail", "attaque", "commence"),
    *("do roboty", "zaczal", "zabralem"),
)


_STRAIGHT = frozenset(["straight", "right", "directly"])
_INTO = frozenset(["in", "into", "at", "to", "it", "on", "work", "the", "job"])
_NEEDLESS = frozenset(["neednt", "needless", "pointless", "unneeded"])


def _says_the_maker(sentence: Sequence[Clause]) -> bool:
    return any(list_of(WordList.BY_THE_MAKER).any_in(each.words) for each in sentence)


def _key_alone(sentence: Sequence[Clause]) -> bool:
    """Whether key or fuse are all that is told to be off."""
    words = [word for each in sentence for word in each.words]
    alone = list_of(WordList.KEY_ALONE).any_in(words)
    enough = any(map(is_enough, sentence)) or _says_the_maker(sentence)
    waited = any(n >= SHORTEST_WAIT for each in sentence for n in _minutes(each))
    return alone and not enough and not waited and "waited" not in words
