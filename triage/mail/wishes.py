"""Find the sentence of a mail that asks to delete something or to take it back.

The words stand in wish_words.toml. One asked in vain costs a look; one overlooked costs trust.
"""

from __future__ import annotations

import re

from triage.mail.consent import sentences_of
from triage.mail.likeness import alike
from triage.mail.use_words import without_disclaimers
from triage.standards.data_files import patterns_by_name, toml_of

# Or what stands alone on a line; the dot of "s1.jpg" ends nothing.
SENTENCE = re.compile(r"(?:[^.!?\n]|(?<=\w)\.(?=\w))+[.!?]*")
_THING, _DELETE, _SPARED = (
    re.compile(
        rf"(?<!\w){patterns_by_name(toml_of('triage.mail', 'wish_words.toml'))[kind]}(?!\w)", re.I
    )
    for kind in ("thing", "delete", "spared")
)


def asks_to_delete(text: str, *, without: int | None = None) -> str:
    """The first sentence that asks to delete, remove or take something back; empty for none.

    Beside the known forms a sentence counts by its likeness (``triage.mail.likeness``, there also
    ``without``).

    Examples
    --------
    >>> asks_to_delete("Hello. Please delete my photos. Ida")
    'Please delete my photos.'
    >>> asks_to_delete("I cropped it to remove the finger.")
    ''
    """
    text = without_disclaimers(text[:20_000])
    for found in SENTENCE.finditer(text):
        sentence = " ".join(found[0].split())
        if _DELETE.search(sentence) and _THING.search(sentence):
            return sentence
    others = (one for one in sentences_of(text) if not _SPARED.search(one))
    return next(iter(alike(others, "delete", without=without)), "")
