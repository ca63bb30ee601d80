"""Find the sentence of a mail by which its place may be a private home, or is to be kept.

English, German, Polish and French; no source: chosen from how people write. One asked in vain costs
a key; one overlooked shows where somebody lives.
"""

from __future__ import annotations

from triage.mail.wishes import SENTENCE
from triage.metadata.place_forms import AT_HOME
from triage.metadata.text_spans import whole_words

MAY_BE_PRIVATE = "its place may be a private home or a secret"  # the doubt, until it is decided
_KEEP_THE_PLACE = whole_words(
    r"""(?:not|\w+n.t|never)\s(?:\w+\s){0,3}?(?:publish|share|show|tell|give|reveal|post|disclose|name)
    \s(?:\w+\s){0,5}?(?:place|location|site|address|spot|whereabouts|coordinates|where)
    |keep\s(?:\w+\s){0,4}?(?:place|location|site|address|spot|whereabouts)\s(?:\w+\s){0,3}?
    (?:secret|private|confidential|yourselves|yourself|us)
    |(?:ort|fundort|stelle|adresse|koordinaten|standort|teich)\s(?:\w+\s){0,6}?
    (?:nicht|geheim|geheimhalten|vertraulich)
    |nie\s(?:\w+\s){0,3}?(?:publik|podaw|podaj|ujawn|udost)\w*\s(?:\w+\s){0,4}?
    (?:miejsc|lokaliz|adres|stanowisk|współrzędn)\w*
    |(?:miejsc|lokaliz|adres)\w*\s(?:\w+\s){0,3}?(?:w\stajemnicy|poufn\w+)
    |(?:ne|pas)\s(?:\w+\s){0,2}?(?:publi|montr|divulg|donn|partag|indiqu|diffus)\w+\s
    (?:\w+\s){0,4}?(?:lieu|endroit|adresse|emplacement|site)
    |(?:lieu|endroit|adresse|emplacement)\s(?:\w+\s){0,4}?(?:secret|secrète|confidentiel\w*)"""
)


def words_of_a_private_place(text: str) -> str:
    """The first sentence of a home or garden, or that keeps a place secret; empty for none.

    Examples
    --------
    >>> words_of_a_private_place("Two hawkers. They were in my garden, at our own little pond.")
    'They were in my garden, at our own little pond.'
    >>> words_of_a_private_place("Please do not publish the place. Ida")
    'Please do not publish the place.'
    >>> words_of_a_private_place("At Heron Mere, near the school.")
    ''
    """
    for found in SENTENCE.finditer(text[:20_000]):
        sentence = " ".join(found[0].split())
        if AT_HOME.search(sentence) or _KEEP_THE_PLACE.search(sentence):
            return sentence
    return ""
