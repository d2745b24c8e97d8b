"""Words of the trade in English and German, as headings, elements and members are called; from memory, common practice.

A word stands for one or more *notions*. Names are compared without capitals, and with umlauts written out. German
compounds are taken apart: ``Liefertermin`` is ``liefer`` and ``termin``.
"""

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from ticketbridge.model.spelling import Unit


def words_of(text: str) -> frozenset[str]:
    """The words of a text, to write lists of words as texts."""
    return frozenset(text.split())


_WORDS: Final[Mapping[str, str]] = {
    "order": "order orders job jobs auftrag auftraege bestell bestellung ord ticket docket vorgang kommission workorder",
    "number": "cd number numbers no nr num nummer id ident identifier ref code key kennung nbr sku guid",
    "name": "nm bez name title titel bezeichnung description desc descr beschreibung caption label text betreff subject benennung",
    "customer": "customer cust kd your ihr ihre ihrer client buyer kunde kunden account debitor debtor besteller auftraggeber purchaser company "
    "firma organisation organization",
    "account": "account debitor debtor",
    "due": "lief dlv deliv req reqd due wanted deadline required termin liefer lieferung deliver delivery delivered faellig ship shipping dispatch "
    "versand needed fertig bis promised until ready wunsch",
    "date": "date datum day tag dt",
    "created": "created erstellt angelegt entered erfasst placed ordered bestellt eingang received modified changed updated "
    "exported exportiert generated timestamp",
    "priority": "priority prio prioritaet dringlichkeit urgency",
    "rush": "rush express eilt eil eilig urgent dringend hurry sofort expedite",
    "item": "prod art item items line lines product produkt artikel article posten zeile sorte motiv piece teil part parts",
    "position": "ln pn pos position positionsnummer lineno seq sequence laufende lfd",
    "quantity": "amt cnt ea nos qnty stckzahl quantity qty pieces pcs amount copies count stueck stk menge anzahl auflage exemplare stueckzahl run units "
    "zahl quant copy howmany",
    "width": "wd wdt wid width w breite b x wide br breit",
    "height": "ht hgt hoe ho height h hoehe length laenge l y high hoch hg",
    "size": "fin size format dimension dimensions dim masse mass groesse endformat trim abmessung abmessungen abm measure "
    "measurements netto fertig finished final",
    "bleed": "bleed beschnitt anschnitt beschnittzugabe zugabe",
    "material": "matl mtl subst material materials mat substrate substrat stock media medium bedruckstoff traeger bedruckmaterial "
    "werkstoff stoff fabric paper papier",
    "quality": "qual qlty quality qualitaet grade guete quali resolution aufloesung",
    "speed": "speed geschwindigkeit tempo",
    "mode": "mode modus druckmodus printmode",
    "white": "white weiss weissdruck underbase unterdruck",
    "layers": "layers layer ebenen ebene stack schichten schicht lagen",
    "rotate": "rotate rotation turn drehen drehbar rotatable gedreht turnable",
    "upright": "upright grain laufrichtung fixed aufrecht",
    "panels": "panels panel bahnen bahn join joining joined tile tiles tiling stossen geteilt teilung teilen splitting seams",
    "overlap": "overlap ueberlappung ueberlapp weld",
    "hem": "hem hems saum saeume saeumen hemming hemmed umsaeumt",
    "pocket": "pole hohls pocket pockets hohlsaum hohlsaeume tunnel sleeve tasche polepocket tunnelsaum stangenkanal",
    "eyelet": "eyelet eyelets oese oesen grommet grommets",
    "spacing": "spc spacing every distance alle abstand pitch interval gap je",
    "repeat": "repeat repeats rapport rapporthoehe",
    "match": "match matching ansatz versatz drop versetzt",
    "edges": "edges edge kanten kante seiten sides side where",
    "file": "img image file files datei dateien artwork art pdf url uri href path pfad druckdaten druckdatei filename dateiname "
    "druckvorlage link daten vorlage motivdatei asset",
    "page": "pg page pages seite seitennummer",
    "mime": "mime mimetype contenttype filetype dateityp",
    "sides": "sides seitigkeit duplex simplex",
    "mirror": "mirror mirrored spiegeln gespiegelt spiegelverkehrt",
    "laminate": "lam laminate lamination laminat laminierung kaschierung laminieren",
    "contour": "contour kontur konturschnitt contourcut kisscut diecut",
    "cut": "cut schnitt cutting schneiden",
    "thickness": "thk thickness dicke staerke caliper",
    "weight": "weight gewicht grammatur gsm grammage flaechengewicht",
    "roll": "roll rolle rollen web",
    "price": "price preis cost kosten total net gross betrag eur vat mwst tax currency waehrung discount rabatt",
    "address": "address adresse street strasse city ort plz zip postcode country land phone telefon email mail contact "
    "ansprechpartner kontakt",
    "note": "bem note notes comment comments bemerkung bemerkungen hinweis remark remarks instructions notiz",
    "status": "status state zustand stand",
    "unit": "unit units einheit uom masseinheit me",
    "version": "version revision",
    "ink": "colour color colours colors farbe farben inks ink separations separation farbigkeit channels",
    "reference": "reference referenz",
    "purchase": "po purchase fremdnummer kundenreferenz zeichen",
    "area": "area flaeche qm sqm",
    "operator": "operator user benutzer bearbeiter author creator sales verkaeufer sachbearbeiter",
}  # fmt: skip
UNIT_WORDS: Final[Mapping[str, Unit]] = {
    "mm": Unit.MM, "millimeter": Unit.MM, "millimetre": Unit.MM, "millimetres": Unit.MM, "millimeters": Unit.MM,
    "cm": Unit.CM, "centimeter": Unit.CM, "centimetre": Unit.CM, "zentimeter": Unit.CM, "centimetres": Unit.CM,
    "m": Unit.M, "meter": Unit.M, "metre": Unit.M, "metres": Unit.M, "meters": Unit.M,
    "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH, "zoll": Unit.INCH, '"': Unit.INCH,
    "ft": Unit.FOOT, "feet": Unit.FOOT, "foot": Unit.FOOT, "fuss": Unit.FOOT,
    "pt": Unit.POINT, "points": Unit.POINT, "punkt": Unit.POINT,
    "um": Unit.UM, "mu": Unit.UM, "micron": Unit.UM, "microns": Unit.UM, "mil": Unit.MIL, "mils": Unit.MIL,
    "g": Unit.G_M2, "gsm": Unit.G_M2, "gm2": Unit.G_M2,
}  # fmt: skip
"""Units as names and fields for units write them."""
RECORD_WORDS: Final = words_of(
    "order job item line position part product article auftrag artikel posten teil entry record row zeile sorte "
    "bestellung pos ticket lineitem orderline jobitem auftragsposition piece version element"
)
"""What one of several is often called: an element of such a name may come more than once where a sample has it once."""
KEY_WORDS: Final = words_of("name key kind type typ art code label field feld attribute property id option")
"""What the attribute is called that says which of several details an element is."""

_NOTIONS: Final[Mapping[str, frozenset[str]]] = {
    word: frozenset(notion for notion, words in _WORDS.items() if word in words.split())
    for words in _WORDS.values()
    for word in words.split()
}
_PLAIN: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "µ": "u", "é": "e", "è": "e"})
_GRAMS: Final = re.compile(r"\bg(?:r|ramm)? ?/ ?(?:m2|m\u00b2|qm)")
_SHORTEST_PART: Final = 3
_LATER_PARTS: Final = frozenset({"nr", "no", "id"})
_JOINTS: Final = ("", "s", "n", "en", "es", "e")
_ENDINGS: Final = ("s", "n", "en", "es", "e", "er")
_FILLERS: Final = words_of(
    "of the der die das des in for je per und and a to von print druck is soll flg yn jn on by at allowed allow allows erlaubt may can kann darf ist all fuer from"
)


def plain(text: str) -> str:
    """A text in small letters without umlauts."""
    return text.casefold().translate(_PLAIN)


def tokens(name: str) -> list[str]:
    """The words of a name: ``finishedWidth_cm`` is finished, width and cm; ``Breite (cm)`` breite and cm."""
    apart = re.sub(r"(?<=[a-zäöüß0-9])(?=[A-ZÄÖÜ])|(?<=[A-Z])(?=[A-Z][a-z])", " ", name)
    return [word for word in re.split(r"[^a-z]+", _GRAMS.sub(" gsm ", plain(apart))) if word]


@lru_cache(maxsize=10000)
def parts_of(word: str) -> tuple[frozenset[str], ...]:
    """What a word stands for, part by part where it is a compound; one empty part where it is not known."""
    if word in _NOTIONS:
        return (_NOTIONS[word],)
    for ending in _ENDINGS:
        if (
            word.endswith(ending)
            and len(word) - len(ending) >= _SHORTEST_PART
            and word.removesuffix(ending) in _NOTIONS
        ):
            return (_NOTIONS[word.removesuffix(ending)],)
    for end in range(len(word) - 2, _SHORTEST_PART - 1, -1):
        head, tail = word[:end], word[end:]
        if head not in _NOTIONS:
            continue
        for joint in _JOINTS:
            rest = tail.removeprefix(joint) if tail.startswith(joint) else ""
            if (rest in _LATER_PARTS or len(rest) >= _SHORTEST_PART) and any(later := parts_of(rest)):
                return (_NOTIONS[head], *later)
    for end in range(3, len(word) - 4):  # an unknown first part says little
        if word[end:] in _NOTIONS:
            return (frozenset(), _NOTIONS[word[end:]])
    return (frozenset(),)


def notions_of(word: str) -> frozenset[str]:
    """All that a word stands for."""
    return frozenset().union(*parts_of(word))


def is_filler(word: str) -> bool:
    """Whether a word says nothing by itself."""
    return word in _FILLERS
