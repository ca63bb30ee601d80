"""Two words of people's names in, how they meet out; of many words, which may meet which.

A word is in small letters without accents. Which short forms go with which first name, and which
endings a family name takes, is common practice, no source.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import combinations

from rapidfuzz.distance import DamerauLevenshtein

from triage.standards.data_files import toml_of

LEAST_LETTERS_OF_A_SLIP = 3  # "Jan" and "Jon" are asked about, "Al" and "Ed" are not
LEAST_LETTERS_OF_A_PART = {"begins": 3, "holds": 4}  # "Tim" begins Timothy, "Basti" is in Sebastian
LEAST_LETTERS_BY_HAND = 5  # of words that are compared by their strokes
TWO_SLIPS_FROM = 9  # letters; a long family name may hold two

_WORDS = toml_of("triage.standards", "person_names.toml")
_SHORT_FORMS = [set(group.split()) for group in _WORDS["short_forms"]]
# What a pet form adds to the part of a name that it keeps: Bernie, Tadek, Gabi; "nn" in Penny.
_PET_ENDING = re.compile(r"(.)\1?(?:ie|ey|y|i|ek|ik|ka|us|o)$")
_INITIAL = re.compile(r"[^\W\d]|[^\W\daeiou]{2}")  # "Ch. Weidling", not "Li"
_MINIMS = {"i": 1, "r": 1, "n": 2, "u": 2, "m": 3}  # strokes of a letter by hand
# Letters that are not heard or heard alike: Leigh, Stephan, Shaun, Clark and Klark, Smythe.
_HEARD = (
    (r"gh(?![aeiou])", ""),
    ("(?<=[aeiou])w(?=[aeiou])", "u"),
    ("ourn", "urn"),
    ("ph", "f"),
    ("sh", "s"),
    ("c(?![hei])k?", "k"),
    ("y", "i"),
)
_FAMILY_ENDING = re.compile(
    rf"(?<=.{{4}})(?:{'|'.join(sorted(_WORDS['family_endings'].split(), key=len, reverse=True))})$"
    r"|(?<=.{3})s?s[eo]n$"
)

KINDS = {
    "equal": "the same words written in another way",
    "short form": "a short form of the first name",
    "part": "a short form of the first name",
    "initial": "one has only the initial",
    "form": "another form of the family name",
    "hand": "letters that look alike by hand",
    "slip": "a letter differs",
    "sound": "it sounds the same",
}


@lru_cache(maxsize=65_536)
def meeting(word: str, other: str) -> str:
    """How two words of names meet, empty if they do not."""
    if word == other:
        return "equal" if len(word) > 1 else "initial"
    short, long = sorted((word, other), key=len)
    if _INITIAL.fullmatch(short) and long.startswith(short):
        return "initial"
    if len(short) == 1:
        return ""
    if any(word in group and other in group for group in _SHORT_FORMS):
        return "short form"
    long_enough = len(short) >= LEAST_LETTERS_OF_A_SLIP and (word + other).isalpha()
    most = 2 if len(short) >= TWO_SLIPS_FROM else 1
    slip = long_enough and DamerauLevenshtein.distance(word, other) <= most
    if long_enough and _sound(word) == _sound(other):
        return "slip" if slip else "sound"
    begun = word[0] == other[0] or _strokes(word)[0].isalpha()  # Clausen and Dausen
    by_hand = long_enough and len(short) >= LEAST_LETTERS_BY_HAND and begun
    if by_hand and not slip and _strokes(word) == _strokes(other):
        return "hand"
    if _stem(word) == _stem(other):
        return "form"
    if slip and word[0] == other[0]:  # an account's "akolk" is no slip of "kolk"
        return "slip"
    if len(word) != len(other) and _is_part(short, long):
        return "part"
    return "slip" if slip else ""


@lru_cache(maxsize=65_536)
def _sound(word: str) -> str:
    """A word as it is heard: Reed and Reade, Sean and Shaun; two vowels are any two.

    The first vowel is kept where hardly anything else is: Lee and Leigh, not Lea and Lou.
    """
    heard = re.sub(r"(?<=[^aeiou])e$", "", word)
    for letters, sound in _HEARD:
        heard = re.sub(letters, sound, heard)
    code = re.sub("[aeiou]{2,}", "*", heard)
    code = re.sub(r"(.)\1+", r"\1", code)
    return code if len(code) > 2 else code + (re.findall("[aeiou]", heard) or [""])[0]


@lru_cache(maxsize=65_536)
def _strokes(word: str) -> str:
    """A word as its strokes by hand: "nn" and "rm" are four, "cl" is a d, "vv" a w.

    Palaeographers call the short strokes of i, n, m, u minims, which readers part wrongly.
    """
    joined = word.replace("cl", "d").replace("vv", "w")
    return re.sub("[imnru]+", lambda run: f"{sum(map(_MINIMS.__getitem__, run[0]))}", joined)


def _stem(word: str) -> str:
    """A family name without the ending of its form: "kalin" of Kalinowa and of Kalinowska."""
    return _FAMILY_ENDING.sub("", word)


def _is_part(short: str, long: str) -> bool:
    """Whether a first name is cut short or is a pet form: "tim", "bernie", "tadek", "basti"."""
    for kept in _kept_forms(short):
        if len(kept) >= LEAST_LETTERS_OF_A_PART["begins"] and long.startswith(kept):
            return True
        if len(kept) >= LEAST_LETTERS_OF_A_PART["holds"] and kept in long:
            return True
    return False


def _kept_forms(short: str) -> Iterator[str]:
    """A first name as it is, and without what a pet form adds to the part that it keeps."""
    yield from dict.fromkeys((short, _PET_ENDING.sub(r"\1", short)))


def like_words(words: Iterable[str]) -> dict[str, set[str]]:
    """By word: those that it may meet, as ``meeting`` has it, itself included; some more."""
    offered = defaultdict[str, list[str]](list)
    listed = list(words)
    for word in listed:
        for key in {*_keys(word), *_parts(word)}:
            offered[key].append(word)
    found = {word: {word} for word in listed}
    for word in listed:
        for key in {*_keys(word), *(f"part {part}" for part in _kept_forms(word))}:
            for other in offered.get(key, ()):
                found[word].add(other)
                found[other].add(word)
    return found


def _keys(word: str) -> Iterator[str]:
    """What two words that meet have in common, unless one is part of the other."""
    yield from _without(word)
    yield f"stem {_stem(word)}"
    yield f"sound {_sound(word)}"
    yield f"hand {_strokes(word)}"
    yield from (f"form {n}" for n, group in enumerate(_SHORT_FORMS) if word in group)


def _parts(word: str) -> Iterator[str]:
    """What a word offers to an initial and to shorter words that may be its part."""
    begins, holds = LEAST_LETTERS_OF_A_PART["begins"], LEAST_LETTERS_OF_A_PART["holds"]
    yield from (f"part {word[0]}", f"part {word[:2]}")
    yield f"part {word[:begins]}"
    yield from (
        f"part {word[start:end]}"
        for start in range(len(word))
        for end in range(start + holds, len(word) + 1)
    )


def _without(word: str) -> Iterator[str]:
    """The word without as many of its letters as may be slips, none included."""
    most = 0 if len(word) < LEAST_LETTERS_OF_A_SLIP else 1 + (len(word) >= TWO_SLIPS_FROM)
    for count in range(most + 1):
        for lost in combinations(range(len(word)), count):
            yield "".join(sign for place, sign in enumerate(word) if place not in lost)
