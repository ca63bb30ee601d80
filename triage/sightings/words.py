"""Whether the words of a mail speak of several animals, in English, German, Polish or French.

The sender was there: "two different ones" outweighs every likeness of pictures. Words that only
tell of several views ("the first from the back, the second from the side") do not count.
"""

from __future__ import annotations

import re

from triage.mail.consent import sentences_of
from triage.mail.likeness import alike
from triage.mail.wishes import SENTENCE
from triage.standards.data_files import patterns_by_name, toml_of

_WORDS = {
    name: re.compile(said, re.IGNORECASE)
    for name, said in patterns_by_name(toml_of("triage.sightings", "words.toml")).items()
}


def tells_of_several(text: str) -> bool:
    """Whether the author says that the photos show more than one animal.

    A question ("or are these two different ones?") counts as well: who asks is not sure of one.

    >>> tells_of_several("Two different ones, I think."), tells_of_several("From two angles.")
    (True, False)
    """
    return bool(words_of_several(text))


def words_of_several(text: str, *, without: int | None = None) -> str:
    """The words that tell of several animals, with the sentence around them; empty for none.

    Beside the known forms a sentence counts by its likeness (``triage.mail.likeness``, there also
    ``without``).

    >>> words_of_several("Hello. Two different ones, I think. Ida")
    'Two different ones, I think.'
    """
    plain = _without_pictures(text)
    if not (found := _known_form(plain)):
        contrasting = (one for one in _not_of_one(plain) if _contrasts(one))
        return next(contrasting, "") or _like_several(text, without)
    around = [
        s[0] for s in SENTENCE.finditer(text) if s.start() < found.end() and s.end() > found.start()
    ]
    return " ".join(" ".join(around).split())


def several_in_a_known_form(words: str) -> bool:
    """Whether such words tell of several animals even of a mail with a single photo.

    >>> several_in_a_known_form("Two different ones."), several_in_a_known_form("Quite a crowd.")
    (True, False)
    """
    plain = _without_pictures(words)
    return _known_form(plain) is not None or any(map(_contrasts, _not_of_one(plain)))


def _without_pictures(text: str) -> str:
    """A text with blanks where it tells of several views, photos or days."""
    return _WORDS["of_pictures"].sub(lambda found: " " * len(found[0]), text)


def _known_form(plain: str) -> re.Match[str] | None:
    forms = (_WORDS[name] for name in ("several", "in_turn", "counted", "placed_sexes"))
    return next((one for form in forms if (one := form.search(plain))), None)


def _like_several(text: str, without: int | None) -> str:
    bare = {one: _without_pictures(one) for one in _not_of_one(text)}
    several = alike(bare.values(), "several", without=without)
    return next((one for one in bare if bare[one] in several), "")


def _not_of_one(text: str) -> list[str]:
    """The sentences that do not call the animal the same, nor tell of sides of one."""
    return [one for one in sentences_of(text) if not _WORDS["one"].search(one)]


def _contrasts(sentence: str) -> bool:
    """Whether two pictures are told apart by something else than how they were taken."""
    return bool(_WORDS["contrast"].search(sentence)) and not _WORDS["view"].search(sentence)
