"""Words of other languages in the trade's tables."""

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from simplemma import is_known as is_ordinary

from kb.intake.items import trade_wording
from kb.intake.subjects import subjects_of
from kb.intake.wording import LANGUAGES, Wording, entry, trade_shorthand, words_of_languages

WORDING = trade_wording()
ALSO_ENGLISH = {
    "lima", "blinker", "kaputt", "fusible", "ampoule", "roue", "roues", "bruit", "bruits", "gauche",
    "siege", "sieges", "portière", "portières",
}  # fmt: skip
"""What an English dictionary has, too, but no workshop says, or says for the same thing."""
SAID = """
Batterie leer, Anlasser dreht nicht = flat battery starter does not crank
Lichtmaschine lädt nicht = alternator does not charge
Tuerschloss hinten links funktioniert nicht = door lock left rear does not work
Raddrehzahlsensor: Übergangswiderstand = wheel speed sensor high resistance
Geräusch bei Kälte, Kühlmittel undicht = noise when cold coolant leaking
Öldruck Kraftstoffpumpe Sicherung = oil pressure fuel pump fuse
Kontrollleuchte sporadisch nach Regen = warning lamp intermittent after rain
Gurtstraffer VR seit Sitz verstellt = pretensioner right front since seat verstellt
Wackelkontakt am Massepunkt = intermittent loose contact am ground point
pas de démarrage = does not start
démarre pas, pas d'huile = does not start no oil
demarreur ne marche pas = starter does not work
l'alternateur ne charge plus = alternator does not charge
fuite d'huile, pression d'huile = oil leak oil pressure
capteur de vitesse de roue avant gauche = wheel speed sensor left front
serrure de porte, faux contact = door lock intermittent loose contact
voyant allumé sous la pluie = warning lamp on in rain
pompe à carburant, fusible, bruit = fuel pump fuse noise
rozrusznik nie kręci, akumulator rozladowany = starter does not crank flat battery
czujnik prędkości koła, zły styk = wheel speed sensor bad contact
zamek drzwi nie działa po deszczu = door lock does not work after rain
cieknie płyn chłodniczy = leaks coolant
ciśnienie oleju, pompa paliwa, bezpiecznik = oil pressure fuel pump fuse
hałas, szyba, hamulec = noise window brake
morgens kalt, beim Bremsen = in the morning cold when braking
cale le matin, après pluie = stalls in the morning after rain
rano nie odpala = in the morning does not start
Zahnriemen gerissen, Zündaussetzer = timing belt cracked misfire
Koppelstange ausgeschlagen, poltert = drop link worn knocks
Glühkerzen defekt, qualmt bei Kälte = glow plugs faulty smokes when cold
Auspuff verrostet, Leistungsverlust = exhaust rusted loss of power
courroie de distribution cassée = timing belt broken
bougies de préchauffage, surchauffe = glow plugs overheats
perte de puissance, vanne egr bouchée = loss of power exhaust recirculation valve blocked
roulement de roue avant gauche, essuie-glace = wheel bearing left front wiper
pasek rozrządu, brak mocy, dymi = timing belt loss of power smokes
łącznik stabilizatora luźny, stuka = drop link loose knocks
świece żarowe, wypadanie zapłonów = glow plugs misfire
napinacz pasów, kontrolka airbag = pretensioner airbag lamp
"""
"""As people there write; from memory."""


def evened(short: str) -> str:
    return entry(short, short)[0]


def _files() -> list[Path]:
    return sorted(LANGUAGES.glob("*.txt"))


@pytest.mark.parametrize("line", SAID.strip().splitlines())
def test_what_is_said_in_another_language_becomes_the_trade_s_words(line: str) -> None:
    said, meant = line.split(" = ")
    assert WORDING.tokens(said) == meant.split()


@pytest.mark.parametrize("file", _files(), ids=lambda file: file.stem)
def test_every_line_is_one_entry(file: Path) -> None:
    lines = [line for line in file.read_text("utf-8").splitlines() if line and line[0] != "#"]
    assert all(line.count(" = ") == 1 and line == line.casefold().strip() for line in lines)
    assert max(Counter(line.split(" = ")[0] for line in lines).values()) == 1


def test_no_single_word_is_english() -> None:
    """Nor is it as it is typed without accents."""
    foreign = WORDING.shorthand.keys() - {evened(short) for short in trade_shorthand()}
    assert {word for word in foreign if is_ordinary(word, lang="en")} <= ALSO_ENGLISH


def test_what_is_meant_is_english_of_the_trade() -> None:
    """Of every word of the tables, each is read as what it means, and that as it stands there."""
    wrong = []
    for written, meant in words_of_languages().items():
        told = [word for word in meant.split() if word != "|"]
        read = WORDING.tokens(" ".join(told)), WORDING.tokens(written)
        if read != (told, told):
            wrong.append(f"{written} = {meant}: {read}")
    assert not wrong, "\n".join(wrong)


@given(st.text())
def test_a_wording_without_sayings_reads_all_other_text_alike(text: str) -> None:
    plain = Wording(WORDING.shorthand)
    if WORDING.sayings.keys().isdisjoint(plain.tokens(text)):
        assert WORDING.tokens(text) == plain.tokens(text)


def test_every_process_reads_the_tables_alike() -> None:
    script = (
        "from kb.intake.wording import Wording\n"
        "made = Wording.default()\n"
        "print(made.shorthand, made.sayings)\n"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", script],
            check=True,
            capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONUTF8": "1"},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1


COMPLAINTS = """
Kupplung rutscht im 5. Gang bergauf
Kupplung trennt nicht
Kupplungspedal bleibt unten
Gang springt raus
Getriebe schaltet ruckartig
Motor ruckelt im Leerlauf
Motor geht an der Ampel aus
Motor überhitzt im Stau
Kühlmittelverlust, keine Leckage sichtbar
Heizung bleibt kalt
Klimaanlage kühlt nicht
Gebläse läuft nur auf Stufe 4
Batterie über Nacht leer
Anlasser klickt nur
Lichtmaschine lädt nicht
Bremse quietscht vorne
Bremspedal weich
Bremsen rubbeln bei 100
Handbremse hält nicht
ABS-Leuchte an
Lenkung schwergängig
Lenkrad vibriert bei 120
Poltern vorne links auf Kopfsteinpflaster
Radlager brummt hinten rechts
Zieht beim Bremsen nach links
Fensterheber hinten links ohne Funktion
Zentralverriegelung öffnet Fahrertür nicht
Scheibenwischer bleiben mittig stehen
Abblendlicht rechts ohne Funktion
Hupe geht nicht
Airbagleuchte brennt
Wasser im Beifahrerfußraum
Auspuff laut, Blech klappert
Schwarzer Rauch beim Gasgeben
Öl unter dem Auto
Leistungsverlust, Notlauf
Turbo pfeift
DPF voll, Leuchte an
Springt kalt schlecht an
Tankanzeige zeigt falsch
embrayage patine en côte
pédale d'embrayage dure
passe mal les vitesses
ratés au ralenti
moteur cale au feu rouge
surchauffe dans les bouchons
perte de liquide de refroidissement
chauffage froid
clim ne refroidit plus
ventilateur d'habitacle marche qu'en 4
batterie à plat le matin
démarreur claque
alternateur ne charge pas
freins grincent à l'avant
pédale de frein molle
volant vibre au freinage
frein à main ne tient pas
voyant ABS allumé
direction dure
claquement train avant sur dos d'âne
roulement arrière bruyant
tire à droite
vitre arrière gauche bloquée
verrouillage centralisé HS
essuie-glaces bloqués
feu de croisement droit HS
klaxon muet
voyant airbag allumé
eau dans le plancher passager
échappement bruyant
fumée noire à l'accélération
fuite d'huile
perte de puissance mode dégradé
sifflement turbo
démarre mal à froid
sprzęgło się ślizga pod górę
pedał sprzęgła twardy
biegi ciężko wchodzą
silnik szarpie na wolnych obrotach
gaśnie na światłach
przegrzewa się w korku
ubywa płynu chłodniczego
ogrzewanie zimne
klima nie chłodzi
dmuchawa działa tylko na 4
akumulator rozładowany rano
rozrusznik klika
alternator nie ładuje
hamulce piszczą z przodu
miękki pedał hamulca
kierownica drży przy hamowaniu
hamulec ręczny nie trzyma
kontrolka ABS świeci
kierownica ciężko chodzi
stuka z przodu na dziurach
szumi łożysko tył
ściąga w lewo
szyba lewy tył nie działa
centralny zamek nie działa
wycieraczki stoją
nie świeci prawe mijania
klakson nie działa
kontrolka airbag świeci
woda w podłodze
wydech głośny
dymi na czarno
wyciek oleju
brak mocy, tryb awaryjny
gwiżdże turbo
ciężko pali na zimno
"""
"""What customers of German, French and Polish shops come with."""


def test_a_common_complaint_of_another_tongue_is_known_by_its_subject() -> None:
    told = COMPLAINTS.strip().splitlines()
    assert [complaint for complaint in told if not subjects_of(complaint, WORDING)] == []


@pytest.mark.parametrize(
    ("complaint", "meant"),
    [
        ("Kupplung rutscht im 5. Gang bergauf", "clutch slips in 5th gear uphill"),
        ("tire à droite", "pulls right"),
        ("klima nie chłodzi", "air conditioning does not cool"),
        ("cranks ok fires and dies", "cranks ok starts then stalls"),
    ],
)
def test_a_complaint_of_another_tongue_is_read_in_the_trade_s_words(
    complaint: str, meant: str
) -> None:
    assert " ".join(WORDING.tokens(complaint)) == meant
