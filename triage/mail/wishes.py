"""Find the sentence of a mail that asks to delete something or to take it back.

English, German, Polish and French; no source: chosen from how people write. One asked in vain costs
a look; one overlooked costs trust.
"""

from __future__ import annotations

import re

from triage.mail.use_words import without_disclaimers

# Or what stands alone on a line; the dot of "s1.jpg" ends nothing.
SENTENCE = re.compile(r"(?:[^.!?\n]|(?<=\w)\.(?=\w))+[.!?]*")
_THING = r"""(?:photo\w*|picture\w*|image\w*|pics?|mails?|e-mails?|emails?|messages?|data|name
    |address|records?|sightings?|me|everything|it|them|this|these|those|mine|one
    |foto\w*|bild\w*|daten|nachricht\w*|adresse|alles|mich|sie|es|meine
    |zdj\w+|dane|danych|wiadomo\w+|adres\w*|wszystko|mnie|je|go|maila?
    |donn\wes|photos?|images?|nom|adresse|message\w*|tout|la|le|les|moi)(?!\w)"""
_THINGS = re.compile(rf"(?<!\w){_THING}", re.IGNORECASE | re.VERBOSE)
# What somebody has done is told: "I removed my shoes". What is to be done is asked.
_DELETE = re.compile(
    rf"""(?<!\w)(?:delet(?:e|ing|ion)|remov(?:e|al)|eras(?:e|ure)|withdraw\w*|unpublish\w*
    |(?:wants?|like|wish|need|please|could|can|should|must|get|be)\s(?:\S+\s){{0,8}}?
    (?:deleted|removed|erased|taken\s(?:down|off|back|out))
    |take\s(?:\w+\s){{0,3}}?{_THING}\s(?:\w+\s){{0,3}}?(?:down|off|back|out)
    |take\s(?:down|off|back|out)
    |get\srid\sof|forget\s(?:me|about\sme|my)
    |do\snot\s(?:keep|store)|don[\u2019']?t\s(?:keep|store)|no\slonger\s(?:want|wish)
    |lösch\w*|gelöscht|entferne?n?|entfernt\s(?:\w+\s)?(?:werden|wird|haben)
    |zurückzieh\w*|ziehe?\s(?:\w+\s){{0,6}}zurück|widerruf\w*
    |aus\sdem\snetz|vergessen\ssie\smich|runternehm\w*|herunternehm\w*
    |usun(?!ął|ęł)\w+|usuń\w*|skasowa(?!ł)\w+|skasuj\w*|wycof\w+(?!\ssię)|zapomni\w+\so\smnie
    |ne\s(?:veux|souhaite)\splus|(?<!j[\u2019']ai\s)(?:supprim\w+|effac\w+|retir(?!ement)\w+|enlev\w+)
    |oubli\w+-moi)(?!\w)""",
    re.IGNORECASE | re.VERBOSE,
)


def asks_to_delete(text: str) -> str:
    """The first sentence that asks to delete, remove or take something back; empty for none.

    Examples
    --------
    >>> asks_to_delete("Hello. Please delete my photos. Ida")
    'Please delete my photos.'
    >>> asks_to_delete("It flew off at once.")
    ''
    """
    for found in SENTENCE.finditer(without_disclaimers(text[:20_000])):
        sentence = found[0].strip()
        if _DELETE.search(sentence) and _THINGS.search(sentence):
            return " ".join(sentence.split())
    return ""
