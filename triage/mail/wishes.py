"""Find the sentence of a mail that asks to delete something or to take it back.

English, German, Polish and French; no source: chosen from how people write. One asked in vain costs
a look; one overlooked costs trust.
"""

from __future__ import annotations

import re

# Or what stands alone on a line; the dot of "s1.jpg" ends nothing.
SENTENCE = re.compile(r"(?:[^.!?\n]|(?<=\w)\.(?=\w))+[.!?]*")
_THINGS = re.compile(
    r"""(?<!\w)(?:photo\w*|picture\w*|image\w*|pics?|mails?|e-mails?|emails?|messages?|data|name|address
    |records?|sightings?|me|everything|it|them|this|these|those|mine|one
    |foto\w*|bild\w*|daten|nachricht\w*|adresse|alles|mich|sie|es|meine
    |zdj\w+|dane|danych|wiadomo\w+|adres\w*|wszystko|mnie|je|go|maila?
    |donn\wes|photos?|images?|nom|adresse|message\w*|tout|la|le|les|moi)(?!\w)""",
    re.IGNORECASE | re.VERBOSE,
)
_DELETE = re.compile(
    r"""(?<!\w)(?:delet(?:e|ed|ing|ion)|remov(?:e|ed|al)|eras(?:e|ed|ure)|withdraw\w*|unpublish\w*
    |take\s(?:\w+\s){0,4}(?:down|off|back|out)|get\srid\sof|forget\s(?:me|about\sme|my)
    |do\snot\s(?:keep|store)|don[\u2019']?t\s(?:keep|store)|no\slonger\s(?:want|wish)
    |lösch\w*|gelöscht|entfern\w*|zurückzieh\w*|ziehe?\s(?:\w+\s){0,6}zurück|widerruf\w*
    |aus\sdem\snetz|vergessen\ssie\smich|runternehm\w*|herunternehm\w*
    |usun\w+|usuń\w*|skasowa\w+|skasuj\w*|wycof\w+|zapomni\w+\so\smnie
    |ne\s(?:veux|souhaite)\splus|supprim\w+|effac\w+|retir\w+|enlev\w+|oubli\w+-moi)(?!\w)""",
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
    for found in SENTENCE.finditer(text[:20_000]):
        sentence = found[0].strip()
        if _DELETE.search(sentence) and _THINGS.search(sentence):
            return " ".join(sentence.split())
    return ""
