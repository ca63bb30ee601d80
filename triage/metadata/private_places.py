"""Find the sentence of a mail by which its place may be a private home, or is to be kept.

A sentence is asked about where it speaks of making a place known and of reluctance, however softly;
of hiding a place; of its owner's wishes; of whoever should not come; or where it names a place and
is like refusals. English, German, Polish and French; no source: chosen from how people write. One
asked in vain costs a key; one overlooked shows where somebody lives.
"""

from __future__ import annotations

from triage.mail.likeness import likeness
from triage.mail.wishes import SENTENCE
from triage.metadata.place_forms import AT_HOME
from triage.metadata.text_spans import blanked, whole_words

MAY_BE_PRIVATE = "its place may be a private home or a secret"  # the doubt, until it is decided
# Least likeness to refusals of a sentence with a place: it hears 11 of 23 that no form heard, and
# one of 58 plain sentences on places that were made to look like them.
LIKE_KEEPING = 0.2
_PLACE = r"""(?:places?|locations?|locality|sites?|spot|address(?:es)?|whereabouts|coordinates?
    |where
    |ponds?|nature\sreserve|(?:fund|stand)?ort(?:e|es)?|stellen?|adressen?|koordinaten|teich(?:e|es)?|wo
    |gewässer|miejsc\w*|lokaliz\w*|adres\w*|stanowisk\w*|współrzędn\w*|gdzie|staw\w*
    |lieux?|endroits?|emplacements?|adresses?|coordonnées|localisation|mare|étang|où)"""
_MAKE_KNOWN = r"""(?:publish\w*|publication|publici[sz]\w*|shar(?:e|ed|ing)|show(?:n|ing)?|reveal\w*
    |disclos\w*|post(?:ed|ing)?|mention(?:ed|ing)?|tell(?:ing)?|giv(?:e|en|ing)|nam(?:e|ing)(?!\s(?:of|is|for)\b)|online
    |internet|web|public(?!\s(?:\w*paths?|roads?|house|transport|holidays?|car|access|right))
    |publik\w*|veröffentlich\w*|(?:ge)?zeig\w*|verrat\w*|preis\w*geb\w*|preisgegeben
    |an(?:zu)?geben|angegeben|nenn\w*|genannt|öffentlich\w*|netz
    |pokaz\w*|poda[wjć]\w*|zdradz\w*|ujawni\w*|udostępni\w*|internec\w*|internetu
    |montr\w*|publi\w*|divulgu?\w*|révél\w*|diffus\w*|dire|dites|indiqu\w*|partag\w*|donn\w+|ligne)"""
_RELUCTANT = whole_words(
    r"""not|\w+n.t|never|no|rather|prefer\w*|unsure|whether|maybe|perhaps|might|hesitat\w*|better|happier
    |good\sidea|afraid|worr\w*|careful\w*|reluctan\w*|wonder\w*|off
    |nicht|keine?[nr]?|ob|lieber|vielleicht|besser|ungern|vorsicht\w*
    |nie|czy|wol(?:ał|ę)\w*|może|lepiej|raczej|ostrożn\w*
    |ne|n|pas|s.il|préf\w*|peut-être|mieux|plutôt|évit\w*"""
)
_KNOWN_PLACE = whole_words(
    rf"{_MAKE_KNOWN}(?:\s\w+){{0,5}}?,?\s{_PLACE}|{_PLACE}(?:\s\w+){{0,6}}?\s{_MAKE_KNOWN}"
    r"|(?:pin|dot|put|exact\w*|genau\w*|dokładn\w*|koordinaten|précis\w*)\s(?:\w+\s){0,4}?"
    r"(?:maps?|karten?|mapie|mapę|carte)"
)
_SOME_PLACE = whole_words(
    rf"{_PLACE}|maps?|grid\sref\w*|way\sthere|t?here|position|village|reserve|ditch|karten?|do?rt(?:hin)?"
    r"|hier|hin|mapie|map[aęy]|tam|tu|carte|ici|là|y"
)
# Whoever cannot tell where it was keeps nothing back; the other two are of names, not of places.
_CANNOT_SAY = whole_words(
    r"""(?:can(?:no|\sno|.)t|could\sno?t|couldn.t|unable\sto)\s(?:\w+\s){0,2}?(?:tell|say|see|show|give|name)
    |(?:kann|konnte)\s(?:\w+\s){0,5}?(?:angeben|nennen|zeigen)|where\sto\sput
    |(?:peux|sais|saurais|pourrais)\s(?:pas\s)?(?:vous\s)?(?:dire|donner|indiquer)
    |(?:publish|show|share|use|mention|print|name)\w*\s(?:\w+\s){0,2}?(?:names?|photos?|pictures?|images?)
    |(?:tell|give|show)\s(?:me|us)"""
)
_KEPT = whole_words(
    rf"""(?:blur|obscure|withhold|veil|(?<!the\s)hide)\s(?:\w+\s){{0,3}}?{_PLACE}
    |{_PLACE}\s(?:\w+\s){{0,4}}?(?:blurred|obscured|withheld|vague\w*|secret|confidential|to\syourse\w+)
    |(?:keep|kept|stay\w*|remain\w*)\s(?:\w+\s){{0,6}}?(?:to\s(?:your|my|our)sel(?:f|ves)|between\sus|secret
    |private|confidential|vague|quiet\sabout\s\w+)|discreet\w*|discretion|(?:sensitive|secret)\s{_PLACE}
    |(?:only|just)\s(?:very\s)?(?:roughly|approximately)|(?:nur|bloß)\s(?:ganz\s)?(?:ungefähr|grob)\w*
    |tylko\s(?:w\sprzybliżeniu|orientacyjnie)|verschleier\w*|unkenntlich|diskret|diskretion
    |{_PLACE}\s(?:\w+\s){{0,5}}?(?:geheim\w*|vertraulich|unter\suns)|unter\suns\s(?:bleib\w*|behalt\w*)
    |{_PLACE}\s(?:\w+\s){{0,5}}?(?:w\stajemnicy|tajemnic\w*|poufn\w+|między\snami)|(?:ukry|zataj)\w+\s(?:\w+\s){{0,2}}?{_PLACE}
    |dyskre\w+|flout\w+\s(?:\w+\s){{0,3}}?{_PLACE}|{_PLACE}\s(?:\w+\s){{0,4}}?(?:secret\w*|secrète|confidentiel\w*|entre\snous)
    |(?:cach|masqu)\w+\s(?:\w+\s){{0,2}}?{_PLACE}|discr(?:et|ets|ète|étion)"""
)
_KNOWS = whole_words(r"know\w*|knew|kenne|weiß|wusste|znam|wiem|connais|sais|remember")
_OWNED = whole_words(
    r"""private(?:ly)?\s(?:\w+\s)?(?:land|property|ground|grounds|estate|pond|lake|water|place|site)
    |privat(?:es?|en|em|er)?\s?(?:grund\w*|gelände|grundstück\w*|teich\w*|besitz\w*)
    |(?:gelände|grundstück|teich|grund)\s(?:\w+\s){0,2}?privat\w*
    |(?:teren\w*|grunt\w*|staw\w*|działk\w*|łąk\w*)\sprywatn\w*|prywatn\w+\s(?:teren\w*|grun\w*|staw\w*|dział\w*)
    |(?:terrain|terres?|propriété|étang|mare)\sprivée?s?"""
)
_OWNER = whole_words(
    r"""(?:land)?owners?|farmers?|landlord|(?:grund)?besitzer\w*|eigentümer\w*|bauern?|właściciel\w*|rolnik\w*
    |gospodar\w+|propriétaires?|fermier|agriculteur"""
)
_OWNERS_WISH = whole_words(
    r"""not|\w+n.t|no|condition|promis\w*|quiet|nicht|kein\w*|bedingung|versprochen|nie|warun\w+|obieca\w+
    |ne|n|pas|condition|promis"""
)
_WHO_COMES = whole_words(
    r"""(?:not|\w+n.t|no|never|avoid\w*|too\smany|afraid)\s(?:\w+\s){0,4}?(?:people|everybody|everyone|anybody|anyone|crowds?
    |visitors|strangers|others)\s(?:\w+\s){0,2}?(?:know|find|come|turn|visit|go)\w*
    |nie\s(?:chcia\w+|chc\w+|życz\w+)(?:\ssobie)?,?\s(?:żeby|aby|by)\s(?:\w+\s){0,2}?(?:ktoś|ktokolwiek|ludzie|wszyscy|inni|tłumy)
    |collectors|sammler(?:n)?|zbieracz\w*|kolekcjoner\w*|collectionneurs
    |trampl\w+|trampel\w+|zadep\w+|piétin\w+|(?:keine?|nicht\snoch\smehr)\s(?:besucher|leute)"""
)


def words_of_a_private_place(text: str) -> str:
    """The first sentence of a home or garden, or that keeps a place secret; empty for none.

    Examples
    --------
    >>> words_of_a_private_place("Two hawkers. They were in my garden, at our own little pond.")
    'They were in my garden, at our own little pond.'
    >>> words_of_a_private_place("I am not sure whether the place should be shown.")
    'I am not sure whether the place should be shown.'
    >>> words_of_a_private_place("At Heron Mere. I don't know the name of the place.")
    ''
    """
    for found in SENTENCE.finditer(text[:20_000]):
        sentence = " ".join(found[0].split())
        if AT_HOME.search(sentence) or _is_kept(sentence):
            return sentence
    return ""


def _is_kept(sentence: str) -> bool:
    """Whether a sentence keeps a place, or doubts whether it should be known."""
    said = blanked(sentence, [found.span() for found in _CANNOT_SAY.finditer(sentence)])
    if _KNOWN_PLACE.search(said) and (_RELUCTANT.search(said) or said.endswith("?")):
        return True
    kept = _KEPT.search(said)
    if kept and not (_KNOWS.search(said) and kept[0].startswith(("only", "just", "nur"))):
        return True
    if _OWNED.search(said) or _WHO_COMES.search(said):
        return True
    if _OWNER.search(said) and _OWNERS_WISH.search(said):
        return True
    return _SOME_PLACE.search(said) is not None and likeness(said, "refusal") > LIKE_KEEPING
