"""What is allowed in English is allowed in German, French and Polish, and its near misses are not.

The unit's supply and earth, a clock spring by itself, a buckle switch, live values by scan tool, a
known load, and a bag that was renewed. Invented for the tests; common practice, no source.
"""

import pytest

from kb.safety.igniter import Shown, Withheld, judged

ALLOWED = [
    "Airbag Steuergerät Spannungsversorgung 12,3 V",
    "Spannungsversorgung Airbagsteuergerät 12,3 V",
    "Airbagsteuergerät Versorgung 12,4 V ok",
    "Klemme 15 am Airbagsteuergerät 12,3 V",
    "Steuergerät Airbag Plus 12,3 V, Masse ok",
    "Masse Airbagsteuergerät ok",
    "Airbag-Steuergerät Masse 0,1 V Spannungsabfall",
    "Batteriespannung am Airbagsteuergerät 12,5 V",
    "alimentation calculateur airbag 12,3 V",
    "calculateur airbag alimenté en 12,3 V",
    "calculateur airbag alimentation 12,4 V, masse bonne",
    "masse calculateur airbag ok",
    "tension d'alimentation du calculateur airbag 12,2 V",
    "zasilanie sterownika poduszek 12,3 V",
    "sterownik poduszek zasilanie 12,4 V",
    "masa sterownika poduszek ok",
    "sterownik airbag zasilanie 12,3 V, masa ok",
    "napięcie zasilania sterownika poduszek 12,3 V",
    "airbag unit supply 12.3 V",
    "airbag control unit voltage supply 12.3 V",
    "earth of the airbag unit good",
    "Wickelfeder Durchgang bei abgeklemmtem Airbag und Batterie ab ok",
    "Wickelfeder allein gemessen, Airbag abgesteckt, 0,4 Ohm",
    "Wickelfeder ausgebaut und durchgemessen, ok",
    "Durchgang Wickelfeder ausgebaut 0,3 Ohm",
    "Wickelfeder beidseitig abgesteckt, Durchgang ok",
    "contacteur tournant seul mesuré, débranché des deux côtés, 0,4 ohm",
    "contacteur tournant déposé, continuité ok",
    "continuité contacteur tournant, airbag débranché et batterie débranchée, ok",
    "taśma zwijająca wymontowana, przejście ok",
    "taśma zwijająca odłączona z obu stron, 0,4 ohm",
    "ciągłość taśmy zwijającej przy odłączonej poduszce, akumulator odłączony, ok",
    "clock spring continuity with airbag unplugged and battery off ok",
    "clock spring alone, unplugged both ends, 0.4 ohm",
    "clock spring removed, continuity ok",
    "Gurtschlossschalter Durchgang ok",
    "Gurtschloss Schalter 0,4 Ohm gesteckt",
    "Gurtschlossschalter gemessen, öffnet und schließt",
    "contacteur de boucle de ceinture continuité ok",
    "contacteur de boucle mesuré 0,3 ohm",
    "czujnik zapięcia pasa przejście ok",
    "styk zamka pasa 0,4 ohm",
    "buckle switch continuity ok",
    "buckle switch 0.4 ohm latched",
    "Diagnosegerät Airbagwiderstand 2,2 Ohm",
    "Livewert Gurtstraffer 2,1 Ohm",
    "Istwert Fahrerairbag 2,3 Ohm laut Tester",
    "mit Diagnosegerät 2,2 Ohm am Airbag ausgelesen",
    "Ersatzlast statt Airbag gesteckt, Fehler weg",
    "bekannte Last am Airbagstecker, Istwert 2,0 Ohm",
    "valise lit 2,2 ohm sur l'airbag conducteur",
    "résistance airbag 2,2 ohm lue à la valise",
    "valeur lue à la valise prétensionneur 2,1 ohm",
    "charge connue à la place de l'airbag, défaut parti",
    "charge factice à la place de l'airbag, valise lit 2,0 ohm",
    "tester pokazuje 2,2 ohm poduszka kierowcy",
    "rezystancja poduszki 2,2 ohm odczytana testerem",
    "wartość bieżąca napinacza 2,1 ohm z testera",
    "znane obciążenie w miejsce poduszki, błąd zniknął",
    "scan tool reads 2.2 ohm on the driver bag",
    "known load in place of the bag, code gone",
    "clock spring continuity, airbag unplugged, battery off",
    "Wickelfeder Durchgang, Airbag abgeklemmt, Batterie ab",
    "Wickelfeder gemessen mit abgezogenem Airbag, Batterie abgeklemmt, 0,3 Ohm",
    "contacteur tournant mesuré, airbag débranché, batterie débranchée",
    "taśma zwijająca zmierzona, poduszka odłączona, akumulator odłączony",
    "airbag unit power supply 12.4 V",
    "Steuergerät Airbag Masse ok",
    "Airbag ersetzt, Widerstand 2,2 Ohm laut Diagnosegerät",
    "airbag remplacé, résistance 2,2 ohm à la valise",
    "Prüfwiderstand statt Airbag gesteckt, Fehler weg, Airbag erneuert",
    "Airbag erneuert, Gebläsewiderstand ersetzt",
    "heater resistor replaced, airbag lamp out",
    "known load in place of the passenger bag, code gone, load out again, bag renewed",
    "poduszka wymieniona na nową",
]
NEAR_MISSES = [
    "Wickelfeder Durchgang durch den Airbag, Batterie ab",
    "Airbag und Wickelfeder gemessen bei abgeklemmtem Airbag, Batterie ab",
    "clock spring and airbag continuity with airbag unplugged and battery off",
    "airbag continuity, clock spring unplugged, battery off",
    "clock spring continuity to airbag, battery off",
    "clock spring continuity with airbag unplugged and ignition on",
    "Wickelfeder Durchgang, Airbag nicht abgeklemmt, Batterie ab",
    "clock spring continuity, airbag unplugged, battery off, then ohmed the airbag",
    "Airbagsteuergerät Stecker gegen Airbag gemessen",
    "Airbag Steuergerät abgesteckt, Airbag durchgemessen",
    "airbag alimenté en 12 V",
]


def test_what_is_allowed_is_shown_in_each_language() -> None:
    assert [text for text in ALLOWED if judged(text, igniter_job=True) != Shown()] == []


@pytest.mark.parametrize("text", NEAR_MISSES)
def test_a_near_miss_is_not(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True), Withheld)
