"""Find the sentence of a mail by which it may put right what an earlier mail of its sender said.

The words stand in correcting_words.toml. One asked in vain costs a key; one overlooked leaves a
wrong place or day to stand.
"""

from __future__ import annotations

from triage.mail.consent import sentences_of
from triage.mail.likeness import alike
from triage.mail.wishes import SENTENCE
from triage.metadata.text_spans import patterns_of

_WORDS = patterns_of("correcting_words.toml")


def words_of_a_correction(text: str, *, without: int | None = None) -> str:
    """The first sentence that may correct an earlier mail; empty for none.

    Beside the known forms a sentence counts by its likeness (``triage.mail.likeness``, there also
    ``without``).

    Examples
    --------
    >>> words_of_a_correction("Hello. The photos I sent on Monday were from Otter Reach.")
    'The photos I sent on Monday were from Otter Reach.'
    >>> words_of_a_correction("I am not sure that my last mail arrived.")
    ''
    >>> words_of_a_correction("Thank you for naming the photo I sent last week.")
    ''
    """
    text = text[:20_000]
    for found in SENTENCE.finditer(text):
        sentence = " ".join(found[0].split())
        if corrects_in_a_known_form(sentence):
            return sentence
    told = (one for one in sentences_of(text) if not _WORDS["arrival"].search(one))
    return next(iter(alike(told, "correcting", without=without)), "")


def corrects_in_a_known_form(sentence: str) -> bool:
    """Whether a sentence corrects an earlier mail even of a sender of whom none is known."""
    if _WORDS["correction"].search(sentence):
        return True
    return bool(_WORDS["earlier"].search(sentence) and _WORDS["otherwise"].search(sentence))
