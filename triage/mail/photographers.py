"""The words of a mail in, the sentence that says somebody else took its photos, and the name, out.

The words stand in photographers.toml. A sentence read in vain costs a look.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from triage.mail.consent import sentences_of
from triage.mail.likeness import alike, likenesses_of
from triage.standards.data_files import patterns_by_name, toml_of, with_parts

READ = 20_000  # characters
# A person beside a photo is none who took it where the sentence is less like those who did. Chosen
# on batches that the weights had not seen (docs/mail.md).
UNLIKE = -0.1
_FILE = toml_of("triage.mail", "photographers.toml")
_PARTS = patterns_by_name(_FILE["parts"])
_FORMS = tuple(re.compile(with_parts(form, _PARTS)) for form in _FILE["forms"])
KIN = _PARTS["kin"]
_PERSON, _WITH_THEM, _SOMEBODY, _WOULD, _TAKING, _MYSELF, _OWN = (
    re.compile(_PARTS[name])
    for name in ("person", "with_them", "somebody", "would", "taking", "myself", "own")
)
_NOBODYS_NAME = frozenset(
    ("He", "She", "Who", "Somebody", "Someone", "Another", "Grandad", "Granny")
)


def another_took_it(
    text: str, *, places: Collection[str] = (), without: int | None = None
) -> tuple[str, str]:
    """The first sentence that says somebody else took the photos, and whom it names; else empty.

    ``places`` are names of sites, which are nobody's: "Photo: Heron Mere". Beside the known forms a
    sentence counts by its likeness (``triage.mail.likeness``, there also ``without``).

    Examples
    --------
    >>> another_took_it("Hello. My friend Ida Reed took it at the pond.")
    ('My friend Ida Reed took it at the pond.', 'Ida Reed')
    >>> another_took_it("I took it at the pond.")
    ('', '')
    """
    sentences = sentences_of(text[:READ])
    likenesses = likenesses_of(sentences, "another", without=without)
    for sentence, like in zip(sentences, likenesses, strict=True):
        for form in _FORMS:
            found = form.search(sentence)
            name = (found.groupdict().get("name") or "").strip() if found else ""
            if found and not any(place.casefold() in name.casefold() for place in places):
                return sentence, "" if name in _NOBODYS_NAME else name
        plain = _WITH_THEM.sub(" ", _WOULD.sub(" ", sentence))
        told = _PERSON.search(plain) and _TAKING.search(plain) and not _MYSELF.search(sentence)
        if told and like > UNLIKE:
            return sentence, ""
    for sentence in alike(sentences, "another", without=without):
        plain = sentence
        for place in places:
            plain = plain.replace(place, " ")
        if _SOMEBODY.search(plain) and not _MYSELF.search(sentence):
            return sentence, ""
    return "", ""


def says_they_are_own(text: str) -> bool:
    """Whether a mail that forwards another calls its photos its sender's own."""
    return bool(_OWN.search(text[:READ])) and not another_took_it(text)[0]
