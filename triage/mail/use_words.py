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
    """Whether a sentence, beside a grant, may be a soft refusal, however it is put.

    It is one where the reader is asked for something else than a name, an answer or to look; where
    the sender wishes for something else than to know or to help; where it is said what the photos
    are meant for; or where a clause with a word of reserve tells of nothing that was seen. What
    people tell is no such sentence. Beside no grant this costs nothing.

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
    asks = sentence.endswith("?") and not _TAG.search(sentence)
    clauses = [one for one in _CLAUSE.split(sentence) if one]
    return any(_may_refuse(one, asks=asks) for one in clauses) or (
        not asks and _is_reserved(sentence) and not _is_told(sentence) and _is_own(sentence)
    )


_CLAUSE = re.compile(
    r"(?i)[,;:()]\s|\s[\u2013\u2014-]+\s"
    r"|\s(?:and|but|so|because|und|aber|denn|weil|(?-i:i)|oraz|ale|bo|więc|et|mais|car)\s"
)
# "..., ok?" asks nothing.
_TAG = re.compile(
    r"(?i),\s?(?:ok|okay|yes|right|please|will you|ja|gell|oder|dobrze|tak|hein|oui|d.accord)\s?\?$"
)
# "untick it", "treat the pictures": a verb without anybody who does it.
_COMMAND = re.compile(
    r"(?i)^\W*(?:(?:just|so|then|now|always|better)\s)?(?P<verb>[a-z]{3,})\s"
    r"(?:(?:it|them|these|those|me|us)(?=\W*$|\s(?:to|on|in|at|from|off|out|with|for|as|please|back|up"
    r"|down|under|between|away|alone|private\w*)\b)"
    r"|(?:my|the|any|all|this|that)\s(?:photos?|pictures?|images?|ones?|names?|privacy)\b)"
)
# What photos are or are for, as if it were said of whom they belong to.
_OF_PHOTOS = re.compile(
    r"(?i)(?<!\w)(?:photos?|pictures?|images?|shots|these|those|fotos?|bild(?:er)?|aufnahmen"
    r"|zdjęci[ea]|clichés?)\s(?:[^\W\d_]+\s){0,2}?"
    r"(?:belongs?|stays?|remains?|goes|go|must|should|shall|may|can|(?:is|are|was|were)\s(?:for|meant"
    r"|mine|ours|a\spresent)|bleib\w+|soll\w*|darf|dürfen|gehör\w+|(?:ist|sind)\s(?:für|mein\w*)"
    r"|zosta\w+|powinn\w+|(?:jest|są)\s(?:dla|moj\w+)|rest\w+|doi\w+|(?:est|sont)\s(?:pour|à))(?!\w)"
)


def _may_refuse(clause: str, *, asks: bool) -> bool:
    if _WORDS["deal"].search(clause) and not asks:
        return True
    if _is_own(clause) and _is_reserved(clause) and not _is_told(clause):
        return True
    command = _COMMAND.search(clause)
    if command and not (_TELLS.search(command["verb"]) or _is_told(command["verb"])):
        return not _WORDS["asked"].search(clause)
    if _WORDS["request"].search(clause) and not asks:
        return not _WORDS["asked"].search(clause)
    if _WORDS["wish"].search(clause) and not asks:
        return not (_WORDS["wished"].search(clause) or _WORDS["asked"].search(clause))
    return bool(_OF_PHOTOS.search(clause)) and not _is_told(clause)


# Verbs of telling and small words, which begin a clause and command nothing.
_TELLS = re.compile(
    r"(?i)^(?:\w+ed|got|had|has|have|gave|made|met|sent|kept|let|left|put|held|heard|caught|thought|think"
    r"|hope|guess|believe|was|were|is|are|like|love|with|from|for|and|but|not|into|onto|over|under|near"
    r"|here|one|all|both|are|see|did|does|can|could|will|would|about|around|behind|beside|after|before"
    r"|between|\w+ing|\w+ly|there|maybe|perhaps|that|this|then|what|when|where|how|why|who|because|since|whether"
    r"|attach|enclose)$"
)


def _is_own(text: str) -> bool:
    """Whether a stretch names who speaks, who is spoken to, or the photos."""
    return _WORDS["personal"].search(text) is not None


def _is_reserved(text: str) -> bool:
    return bool(_WORDS["reserve"].search(text) or _WORDS["mine"].search(text))


def _is_told(text: str) -> bool:
    return any(_WORDS[kind].search(text) for kind in ("seen", "quality", "told"))


def without_disclaimers(text: str) -> str:
    """Leave out paragraphs that a firm adds to every mail, about whom the mail is meant for."""
    return "\n\n".join(
        one
        for one in re.split(r"\n\s*\n", text)
        if words.PHOTO.search(one) or not (_DISCLAIMER.search(one) and _OF_MAIL.search(one))
    )
