"""The words with which the trade names its columns, in several languages, and what each says about a column.

Common practice, no source: collected from the ways in which such logs are headed.
"""

import re
from functools import lru_cache

from server.intake.plain_letters import plain_letters
from server.intake.understand import more_languages

MEASURES: dict[str, str] = {
    "pressure": "pressure press druk pres prs druck pression presion pressao pressione pr",
    "flow": "flow flowrate flows flw flo durchfluss volumenstrom debit caudal vazao portata durchsatz menge debiet q",
    "conductivity": "conductivity cond conduct conductiv ec leitfahigkeit leitf leitwert lf conductivite conductividad "
                    "condutividade conducibilita geleidbaarheid geleiding kond cnd specificconductance",
    "temperature": "temperature temp tmp temperatur temperatura temperatures tempe temperatuur",
    "ph": "ph",
    "orp": "orp redox rx",
    "tds": "tds salinity",
    "chlorine": "chlorine cl2 chlor chlore cloro frc",
    "turbidity": "turbidity turb trubung turbidite turbidez torbidita troebelheid",
    "sdi": "sdi",
    "power": "power leistung puissance potencia potenza",
    "energy": "energy energie energia",
    "hours": "hourmeter runtime runhours hours hrs betriebsstunden stunden horometer horometro horas heures ore "
             "horaire bedrijfsuren uren",
    "volume": "totalizer totaliser totalized counter zahler zahlerstand compteur contador volume cumulative",
    "frequency": "frequency freq frequenz vfd frequence frecuencia frequencia speed drehzahl",
    "current": "current amps amperage strom courant corriente corrente amp",
    "dose": "dose dosing dosage dosierung dosis",
    "level": "level lvl niveau nivel livello fullstand",
    "drop": "dp deltap drop differential diff differenz differenzdruck delta pdiff dpress difference differentiel "
            "diferencial dif perte",
    "recovery": "recovery rec rcvy ausbeute recuperation recuperacion conversion yield recuperacao",
    "rejection": "rejection ruckhalt ruckhaltung retention rejrate",
    "passage": "passage saltpassage",
    "state": "status state mode running betrieb betriebszustand zustand etat estado stato operation operating online "
             "onoff",
    "remark": "remark remarks comment comments note notes observation observations bemerkung bemerkungen kommentar "
              "remarque remarques commentaire commentaires comentario comentarios observaciones observacoes note "
              "anmerkung opmerking opmerkingen obs notas annotazioni",
    "person": "operator initials init name by user bediener operateur operador operatore technician tech sign signed "
              "checked entered recorded author",
    "shift": "shift schicht poste turno quart ploeg dienst equipe tour",
    "index": "no nr id record index seq num row line entry numero",
    "year": "year yr jahr annee ano anio anno jaar",
    "month": "month mth mo monat mois mes mese maand",
    "time": "time hms timestamp datetime zeit zeitstempel uhrzeit heure hora horodatage ora clock zeitpunkt stamp ts "
            "tstamp epoch unix unixtime tijd tijdstip uur",
    "date": "date ymd dmy mdy yyyymmdd datum fecha data jour dia day giorno dag",
    "tag": "tag tagname point pointname parameter variable signal channel messstelle messgrosse punto sensor item "
           "description descriptor measurement attribute kennung parametre parametro",
    "value": "value val reading wert messwert valeur valor valore result measured pv",
    "quality": "quality qual qc flag good",
    "unit": "unit units uom einheit unite unidad unidade eu",
}  # fmt: skip

PLACES: dict[str, str] = {
    "raw": "raw well source supply rohwasser roh brut brute cruda bruta city brunnen pozo forage incoming mains",
    "feed": "feed voeding fd fw feedwater influent zulauf speise speisewasser alimentation alimentacion alimentacao "
            "speisung aliment alim alimentazione alimento",
    "permeate": "permeate perm prm product prod permeat permeado producto produit pure reinwasser permeato produkt "
                "produto treated ropermeate pmt permeaat",
    "concentrate": "concentrate conc concentr brine reject rej retentate konzentrat konz concentrat rejet concentrado "
                   "rechazo rejeito salmuera waste drain concentrato concentraat",
    "recycle": "recycle recirc recirculation recycled rezirkulation ruckfuhrung recirculacion recyclage recirculated",
    "suction": "suction suct saug ansaug aspiration succion",
    "discharge": "discharge disch delivery refoulement descarga impulsion",
    "cartridge": "cartridge cart cartridges micron kerzenfilter feinfilter cartucho cartouche prefilter guard "
                 "vorfilter cf bag cartuchos cartouches polishing",
    "media": "media multimedia mmf sand kiesfilter sandfilter sable arena carbon acf gac mehrschichtfilter multimedia",
    "filter": "filter filters filt filtre filtro",
    "interstage": "interstage zwischen interetage interetapa",
    "booster": "booster boost",
    "antiscalant": "antiscalant antiscale scaleinhibitor antiincrustante antitartre inhibitor antiscaling",
    "bisulfite": "bisulfite bisulphite sbs smbs bisulfit bisulfito sulfite",
    "acid": "acid h2so4 hcl saure acide acido",
    "tank": "tank behalter tanque cuve reservoir",
    "pump": "pump pumpe pompe bomba hp hpp hochdruckpumpe",
    "air": "ambient room air weather raum luft ambiance ambiente outdoor",
    "product_tank": "distribution storage",
}  # fmt: skip

SIDES: dict[str, str] = {
    "in": "in ingresso inlet into before pre upstream vor entree entrada ein eingang eintritt inl primary",
    "out": "out uscita outlet after post downstream nach sortie salida aus ausgang austritt saida outl final exit "
    "leaving",
}
KINDS: dict[str, str] = {
    "normalized": "normalized normalised norm normalisiert normalise corrected npf nsp ndp normalizado",
    "setpoint": "setpoint setpoints setpt stpt sp set target targets soll sollwert sollw alarm alarms limit limits hi "
    "lo hh ll hihi lolo design consigne consigna objetivo objectif cible vise meta guarantee guaranteed nominal rated "
    "expected projected projection predicted baseline spec specification threshold trip grenzwert grenze seuil limite "
    "umbral soglia vorgabe budget previous prev vorher alarma allarme warnung",
    "statistic": "min max minimum maximum mini maxi lowest highest stdev mindest hochst minimo maximo massimo minimale "
    "maximale",
    "mean": "average avg mean mittel mittelwert moyenne moyen promedio durchschnitt schnitt",
    "worked_out": "calculated calc computed berechnet errechnet calcule calculee calculado calculada estimated "
    "theoretical",
    "controller": "op cv",
    "free": "free frei libre",
    "total_word": "total combined overall gesamt gesamter totale",
    "back": "back",
    "membrane": "membrane membranes membran membranen membrana membranas membrany мембрана мембраны 膜",
    "stage_word": "stage stg st stufe etage etapa estagio stadio bank array stages",
    "pass_word": "pass passe",
    "train_word": "ro uo skid train unit line rack osmosis osmose linie strasse anlage system",
    "rate": "rate",
    "other_step": "uf ultrafiltration ultrafiltracion ultrafiltracao ultrafiltrazione softener softeners softened "
    "enthartung entharter adoucisseur suavizador ablandador edi deionizer deionisation degasser degasifier "
    "decarbonator",
}
NUMERALS = {"first": 1, "second": 2, "third": 3, "i": 1, "ii": 2, "iii": 3, "erste": 1, "zweite": 2, "premier": 1,
            "primera": 1, "segunda": 2, "deuxieme": 2}  # fmt: skip

_FACETS: dict[str, tuple[str, str]] = {
    plain_letters(word): (kind, name)
    for kind, table, more in (
        ("kind", KINDS, more_languages.KINDS),
        ("side", SIDES, more_languages.SIDES),
        ("place", PLACES, more_languages.PLACES),
        ("measure", MEASURES, more_languages.MEASURES),
    )
    for words_by_name in (more, table)
    for name, words in words_by_name.items()
    for word in words.split()
}
_SPLITTABLE = {word for word in _FACETS if len(word) >= 4} | {"raw", "dp", "tds", "perm", "conc", "feed", "cond"}
_GLUE = "swesn"
"""Letters that German compounds put between their parts."""


def words_of(text: str) -> tuple[str, ...]:
    """A header as plain words: small letters, no accents, joined words taken apart, numbers by themselves.

    Examples
    --------
    >>> words_of("PermCond_Stage2"), words_of("Konzentratdruck"), words_of("pH Feed")
    (('perm', 'cond', 'stage', '2'), ('konzentrat', 'druck'), ('ph', 'feed'))
    """
    plain = re.sub(r"[Δ∆](?![α-ω])", " delta ", text)
    plain = re.sub(r"pH", " ph ", plain)
    plain = re.sub(r"(?<![A-Za-z])[dD][ .]?P(?![a-z])", " dp ", plain)
    plain = re.sub(r"(?i)\bcl2\b", " chlorine ", plain)
    plain = re.sub(r"(?i)\binter[ -]stage", " interstage", plain)
    plain = re.sub(r"(?i)\bpre[ -]?filt(?:er|ers|re|ro)?\b", " prefilter ", plain)
    plain = plain_letters(re.sub(r"(?<=[a-z])(?=[A-Z])", " ", plain))
    found: list[str] = []
    for word in re.findall(r"[^\W\d_]+|\d+", plain):
        found.extend(_apart(word))
    return tuple(found)


@lru_cache(maxsize=4096)
def _apart(word: str) -> tuple[str, ...]:
    """Take a compound apart where all its parts are known words."""
    if word in _FACETS or word.isdigit():
        return (word,)
    if "\u4e00" <= word[0] <= "\u9fff" or "\uac00" <= word[0] <= "\ud7a3":
        return _characters(word)
    if len(word) < 6:
        return (word,)
    for cut in range(len(word) - 2, 2, -1):
        head, tail = word[:cut], word[cut:]
        if head in _SPLITTABLE or (head[-1] in _GLUE and head[:-1] in _SPLITTABLE):
            rest = _apart(tail)
            if all(part in _FACETS for part in rest):
                return (head if head in _SPLITTABLE else head[:-1], *rest)
    return (word,)


def _characters(word: str) -> tuple[str, ...]:
    """Take text that is written without spaces apart: the longest known words first, the rest as it is."""
    for length in range(len(word), 0, -1):
        for start in range(len(word) - length + 1):
            if word[start : start + length] in _FACETS:
                before, after = word[:start], word[start + length :]
                found = word[start : start + length]
                return (*(_apart(before) if before else ()), found, *(_apart(after) if after else ()))
    return (word,)


def facet_of(word: str) -> tuple[str, str] | None:
    """What a word says: its kind (measure, place, side, kind) and name."""
    return _FACETS.get(word)


def only_known_words(text: str) -> bool:
    """Whether a text holds nothing but words with which columns are named."""
    return all(word in _FACETS for word in words_of(text))


def knows_words(text: str) -> bool:
    """Whether a text holds any word with which columns are named."""
    return any(word in _FACETS for word in words_of(text))
