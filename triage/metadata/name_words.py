"""Tells words of sites' names apart: case endings and quarters of the sky.

English, German, Polish and French; no source: chosen from how people write.
"""

from __future__ import annotations

import re

from triage.metadata.text_spans import word_set

# Case endings of Polish nouns and adjectives, folded; "ze" is what is left of "rze" for r.
_ENDINGS = word_set(
    "a ach ami ch e ego ej em emi emu ich iego iej iem im imi imu i ie o om owi u y ych ym ymi ze"
)


def is_declined(ours: str, theirs: str) -> bool:
    """Whether a word is the other one in another case: "stawem" of "staw", "jeziorze" of "jezioro".

    >>> is_declined("jeziorem", "jezioro"), is_declined("stawy", "stawek")
    (True, False)
    """
    pairs = enumerate(zip(ours, theirs, strict=False))
    stem = next((at for at, (one, two) in pairs if one != two), min(len(ours), len(theirs)))
    if stem < 4:  # letters that both begin with
        return False
    return all(not rest or rest in _ENDINGS for rest in (ours[stem:], theirs[stem:]))


_QUARTER = re.compile(
    r"(?<!\w)(?<!côté )(?<!rive )(?<!bord )(?:"
    r"(?P<north>north(?:ern)?|nördlich\w*|nord|północ\w*|septentrional\w*)"
    r"|(?P<south>south(?:ern)?|südlich\w*|süd|sud|południow\w*)"
    r"|(?P<east>east(?:ern)?|östlich\w*|ost|(?<=l[\u2019'])est|wsch[oó]d\w*|oriental\w*)"
    r"|(?P<west>west(?:ern)?|westlich\w*|ouest|zach[oó]d\w*|occidental\w*))"
    r"(?!\w|\s(?:bank|side|shore|end|edge|corner|wind|ufer|seite|rand|brzeg|stron|skraj)\w*)",
    re.IGNORECASE,
)


def quarters_of(text: str) -> set[str]:
    """The quarters that words of a text name, but for those of a shore or a wind.

    >>> quarters_of("der östliche"), quarters_of("on the west bank")
    ({'east'}, set())
    """
    return {found.lastgroup or "" for found in _QUARTER.finditer(text)}
