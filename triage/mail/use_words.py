"""Tells whether a sentence says something about the use of photos or name, however it is put.

Whatever speaks of that and is no plain grant and no plain refusal is kept for a person to read;
until then nothing is published. So the words may match too much, not too little. What people tell
of their cameras, of the picture's quality or of what they saw on the web is neutral. Beside a
grant the rule is turned round: any sentence with a word of reserve that tells of nothing that was
seen is kept. English, German, Polish and French; no source: chosen from how people write, and what
they must and must not match stands in the tests of consent (tests/data/mails).
"""

from __future__ import annotations

import re

from triage.mail import consent_words as words
from triage.mail.consent_words import pattern
from triage.standards.data_files import toml_of

_WORDS = {
    kind: pattern(**{language: "|".join(said) for language, said in own.items()})
    for kind, own in toml_of("triage.mail", "use_words.toml").items()
}

# What a firm's mail program writes below every mail: no words of the sender's.
_DISCLAIMER = re.compile(
    r"(?i)\b(?:intended (?:solely |only |exclusively )?for|addressee|recipient|empfänger"
    r"|adress?at\w*|odbiorc\w+|destinataires?)\b"
)
_OF_MAIL = re.compile(
    r"(?i)\b(?:message|e-?mails?|attachments?|nachricht|anhänge?|wiadomoś\w+|załącznik\w*"
    r"|courriel|pièces? jointes?)\b"
)
_A_SENTENCE = 3  # words


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
        words.PHOTO.search(sentence)
        or _WORDS["name"].search(sentence)
        or _WORDS["mine"].search(sentence)
    )
    reserve = _WORDS["reserve"].search(sentence)
    if _WORDS["kept"].search(sentence):
        return True
    if reserve and _WORDS["outlet"].search(sentence) and not _WORDS["told"].search(sentence):
        return True
    if words.IN_THE_OPEN.search(sentence) or _WORDS["leave"].search(sentence):
        told = _WORDS["told"].search(sentence) and not _WORDS["mine"].search(sentence)
        asks = sentence.rstrip().endswith("?") and not reserve
        return bool((photo or reserve) and not told and not asks)
    if not reserve:
        return False
    if _WORDS["quality"].search(sentence):
        return False
    used = _WORDS["use"].search(sentence) and (photo or words.PRONOUN.search(sentence))
    return bool(used or (_WORDS["feels"].search(sentence) and photo))


def may_speak_of_use(sentence: str) -> bool:
    """Whether a sentence, beside a grant, may be a soft refusal: it is of no kind known to be none.

    Known are sentences that tell of what was seen, of the picture's quality or of the sender's
    search, greetings, questions, captions, and what the animal itself did. A clause of the sender's
    with a word of reserve needs such a word of its own. Beside no grant this costs nothing.

    Examples
    --------
    >>> may_speak_of_use("I would be mortified to come across them anywhere.")
    True
    >>> may_speak_of_use("Lovely weather at the pond, though I'd sooner you kept them.")
    True
    >>> may_speak_of_use("It was not the blue one.")
    False
    """
    if len(sentence.split()) < _A_SENTENCE:
        return False
    clauses = [one for one in _CLAUSE.split(sentence) if one]
    own = [one for one in clauses if _PERSONAL.search(one)]
    if any(_is_reserved(one) and not _is_told(one) for one in own):
        return True
    if not own or _is_told(sentence):
        return False
    return _is_reserved(sentence) or not _is_harmless(sentence)


_CLAUSE = re.compile(
    r"(?i)[,;:()]\s|\s[\u2013\u2014-]+\s"
    r"|\s(?:and|but|so|because|und|aber|denn|weil|i|oraz|ale|bo|więc|et|mais|car)\s"
)
# Whoever speaks, who is spoken to, and the photos.
_PERSONAL = _WORDS["personal"]


def _is_reserved(text: str) -> bool:
    return bool(_WORDS["reserve"].search(text) or _WORDS["mine"].search(text))


def _is_told(text: str) -> bool:
    return any(_WORDS[kind].search(text) for kind in ("seen", "quality", "told"))


def _is_harmless(sentence: str) -> bool:
    """Whether a sentence without reserve asks, greets, or tells what somebody did."""
    return (
        sentence.endswith("?")
        or not _WORDS["speaker"].search(sentence)
        or any(_WORDS[kind].search(sentence) for kind in ("greeting", "sent"))
        or bool(_WORDS["animal"].match(sentence))
    )


def without_disclaimers(text: str) -> str:
    """Leave out paragraphs that a firm adds to every mail, about whom the mail is meant for."""
    return "\n\n".join(
        one
        for one in re.split(r"\n\s*\n", text)
        if words.PHOTO.search(one) or not (_DISCLAIMER.search(one) and _OF_MAIL.search(one))
    )
