"""Find the sentence of a mail by which its place may be a private home, or is to be kept.

A sentence is asked about where it tells of a home; where it speaks of making a place known and of
reluctance, however softly; of hiding a place; of its owner's wishes; of whoever should not come; or
where it is like sentences that did (triage.mail.likeness). The words stand in private_words.toml.
One asked in vain costs a key; one overlooked shows where somebody lives.
"""

from __future__ import annotations

import re

from triage.mail.consent import sentences_of
from triage.mail.likeness import alike
from triage.mail.wishes import SENTENCE
from triage.metadata.place_forms import AT_HOME
from triage.metadata.text_spans import blanked, whole_words
from triage.standards.data_files import patterns_by_name, toml_of

MAY_BE_PRIVATE = "its place may be a private home or a secret"  # the doubt, until it is decided
_FILE = patterns_by_name(toml_of("triage.metadata", "private_words.toml"))
_WORDS = {kind: whole_words(said) for kind, said in _FILE.items()}
_NOT_THERE = re.compile(rf"(?i)(?<!\w){_FILE['not_there']}\s+$")


def words_of_a_private_place(text: str, *, without: int | None = None) -> str:
    """The first sentence of a home or garden, or that keeps a place secret; empty for none.

    Beside the known forms a sentence counts by its likeness (``triage.mail.likeness``, there also
    ``without``).

    Examples
    --------
    >>> words_of_a_private_place("Two hawkers. They were in my garden, at our own little pond.")
    'They were in my garden, at our own little pond.'
    >>> words_of_a_private_place("I am not sure whether the place should be shown.")
    'I am not sure whether the place should be shown.'
    >>> words_of_a_private_place("At Heron Mere. I don't know the name of the place.")
    ''
    """
    text = text[:20_000]
    for found in SENTENCE.finditer(text):
        sentence = " ".join(found[0].split())
        if _at_home(sentence) or _is_kept(sentence):
            return sentence
    others = (one for one in sentences_of(text) if _at_home(one) is not False)
    return next(iter(alike(others, "private", without=without)), "")


def _at_home(sentence: str) -> bool | None:
    """Whether a sentence tells of a home, or says that it was none; None where it names none."""
    sentence = _WORDS["public_house"].sub(" ", sentence)
    homes = [sentence[: found.start()] for found in AT_HOME.finditer(sentence)]
    return not all(_NOT_THERE.search(ahead) for ahead in homes) if homes else None


def _is_kept(sentence: str) -> bool:
    """Whether a sentence keeps a place, or doubts whether it should be known."""
    said = blanked(sentence, [found.span() for found in _WORDS["cannot_say"].finditer(sentence)])
    if _WORDS["known_place"].search(said) and (
        _WORDS["reluctant"].search(said) or said.endswith("?")
    ):
        return True
    kept = _WORDS["kept"].search(said)
    if kept and not (_WORDS["knows"].search(said) and kept[0].startswith(("only", "just", "nur"))):
        return True
    if _WORDS["owned"].search(said) or _WORDS["who_comes"].search(said):
        return True
    return bool(_WORDS["owner"].search(said) and _WORDS["owners_wish"].search(said))
