"""Tells whether a sentence says something about the use of photos or name, however it is put.

Whatever speaks of that and is no plain grant and no plain refusal is kept for a person to read;
until then nothing is published. So the words may match too much, not too little. What people tell
of their cameras, of the picture's quality or of what they saw on the web is neutral. Softer words
are told by their likeness to refusals (triage.mail.likeness). English, German, Polish and French;
no source: chosen from how people write, and what they must and must not match stands in the tests
of consent (tests/data/mails).
"""

from __future__ import annotations

import re

from triage.mail.consent_words import WORDS as CONSENT
from triage.mail.consent_words import patterns_of

_WORDS = patterns_of("use_words.toml")

# What a firm's mail program writes below every mail: no words of the sender's.
_DISCLAIMER = re.compile(
    r"(?i)\b(?:(?:intended|meant) (?:solely |only |exclusively )?for|addressee|recipient|empfänger"
    r"|adress?at\w*|odbiorc\w+|destinataires?)\b"
    # "If you have received it by mistake", "Falls Sie diese Nachricht irrtümlich erhalten haben"
    r"|\b(?:if|should|in case|wenn|falls|sollten|jeśli|jeżeli|si)\b"
    r"(?=[^.!?]{0,100}\b(?:received|erhalten|otrzyma\w+|reçu\w*)\b)"
    r"(?=[^.!?]{0,100}\b(?:mistake|error|irrtüm\w+|versehentlich|fälschlich\w*|omyłk\w+"
    r"|pomyłk\w+|błęd\w+|erreur)\b)"
)
_OF_MAIL = re.compile(
    r"(?i)\b(?:this|the|any|it|diese[rsn]?|die|ta|tę|tej|niniejsz\w+|ce|cette|le|la) "
    r"(?:message|e-?mails?|communication|attachments?|nachricht|mail|anhänge?|wiadomoś\w+"
    r"|załącznik\w*|korespondencj\w+|courriel|pièces? jointes?)\b"
)


def speaks_of_use(sentence: str) -> bool:
    """Whether a sentence says something about what may be done with photos or a name.

    Examples
    --------
    >>> speaks_of_use("Could we keep this one between ourselves?")
    True
    >>> speaks_of_use("I saw on your website that you want skins as well.")
    False
    """
    photo = (
        CONSENT["photo"].search(sentence)
        or _WORDS["name"].search(sentence)
        or _WORDS["mine"].search(sentence)
    )
    reserve = _WORDS["reserve"].search(sentence)
    if _WORDS["kept"].search(sentence):
        return True
    if reserve and _WORDS["outlet"].search(sentence) and not _WORDS["told"].search(sentence):
        return True
    if CONSENT["in_the_open"].search(sentence) or _WORDS["leave"].search(sentence):
        told = _WORDS["told"].search(sentence) and not _WORDS["mine"].search(sentence)
        asks = sentence.rstrip().endswith("?") and not reserve
        return bool((photo or reserve) and not told and not asks)
    if not reserve:
        return False
    if _WORDS["quality"].search(sentence):
        return False
    used = _WORDS["use"].search(sentence) and (photo or CONSENT["pronoun"].search(sentence))
    return bool(used or (_WORDS["feels"].search(sentence) and photo))


def without_disclaimers(text: str) -> str:
    r"""Leave out what a firm adds to every mail, about whom the mail is meant for.

    That is the rest of a paragraph from the first sentence on that speaks so of "this message".

    >>> without_disclaimers("Hello.\n--\nThis message is meant for the addressee. Delete it.")
    'Hello.'
    """
    kept = []
    for one in re.split(r"\n\s*\n|\n[-_=*]{2,}\s*\n", text):
        spoken = _DISCLAIMER.search(one), _OF_MAIL.search(one)
        if spoken[0] and spoken[1] and not CONSENT["photo"].search(one):
            first = min(found.start() for found in spoken if found)
            starts = [found.end() for found in re.finditer(r"[.!?]\s+|\n", one[:first])]
            one = one[: max(starts, default=0)]
        kept.append(one.strip("\n"))
    return "\n\n".join(one for one in kept if one)
