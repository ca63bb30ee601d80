"""Tells whether two names that people typed may be one person's, and in which way.

A near name is a question for whoever typed it, never an answer: two people may be called R. Fenner.
Parts of names, their order and titles as in RFC 6350 (vCard), section 6.2.2; which short forms go
with which first name is common practice, no source.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import combinations
from typing import Literal

from rapidfuzz.distance import DamerauLevenshtein

from triage.standards.data_files import toml_of
from triage.standards.letters import bare

Likeness = Literal["same", "near", "different"]
MOST_WORDS = 8  # of one name that are compared; beyond that it is no name of a person
MOST_LETTERS = 40  # of one word that are compared
LEAST_LETTERS_OF_A_SLIP = 3  # "Jan" and "Jon" are asked about, "Al" and "Ed" are not
LEAST_LETTERS_OF_A_PART = {"begins": 3, "holds": 4}  # "Tim" begins Timothy, "Basti" is in Sebastian
LEAST_LETTERS_BY_HAND = 5  # of words that are compared by their strokes
TWO_SLIPS_FROM = 9  # letters; a long family name may hold two

_WORDS = toml_of("triage.standards", "person_names.toml")
_TITLES = frozenset(_WORDS["titles"].split())
_SHORT_FORMS = [set(group.split()) for group in _WORDS["short_forms"]]
# What a pet form adds to the part of a name that it keeps: Bernie, Tadek, Gabi; "nn" in Penny.
_PET_ENDING = re.compile(r"(.)\1?(?:ie|ey|y|i|ek|ik|ka|us|o)$")
_RUN_TOGETHER = re.compile(r"\b([^\W\d_a-zà-ÿ])([^\W\d_a-zà-ÿ])\b(?=\s|$)")  # JL Rivet
_CYRILLIC = str.maketrans(dict(pair.split("=") for pair in _WORDS["cyrillic"].split()))
_JOINED = re.compile(r"[;&+/|\n]|\s(?:and|und|u\.|et|i|oraz)\s")
_PARTICLES = re.compile(r"\b(?:[^\W\d_A-Z]{1,3}\.?\s)+(?=[A-Z])")  # van der Wiel
_INITIAL = re.compile(r".|[^aeiou]{2}")  # "Ch. Weidling", not "Li"
_DIGIT = re.compile(r"(?<=[^\W\d])[01](?!\d)|[01](?=[^\W\d])")  # for the letter
_MINIMS = {"i": 1, "r": 1, "n": 2, "u": 2, "m": 3}  # strokes of a letter by hand
_BORN = {"jun", "junior", "jr", "sen", "senior", "sr"}
_SPELT_OUT = {"ä": "ae", "ö": "oe", "ü": "ue", "ø": "oe", "å": "aa", "æ": "ae"}
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

_KINDS = {
    "equal": "the same words written in another way",
    "short form": "a short form of the first name",
    "part": "a short form of the first name",
    "initial": "one has only the initial",
    "form": "another form of the family name",
    "hand": "letters that look alike by hand",
    "slip": "a letter differs",
    "sound": "it sounds the same",
}


def likeness(first: str, second: str) -> Likeness:
    """Whether two names are the same but for capitals and spaces, near, or different.

    Examples
    --------
    >>> likeness("Ruth Fenner", "ruth  fenner")
    'same'
    >>> likeness("Ruth Fenner", "Dr R. Fenner"), likeness("Ruth Fenner", "Karl Fenner")
    ('near', 'different')
    """
    if " ".join(first.split()).lower() == " ".join(second.split()).lower():
        return "same"
    return "near" if _reason(first, second) else "different"


def near_names(name: str, known: Iterable[str]) -> list[tuple[str, str]]:
    """The known names that may be this person's, each with the reason in words.

    A known name that is the same but for capitals and spaces is not listed: nothing is to be asked.
    """
    return [(other, _reason(name, other)) for other in known if likeness(name, other) == "near"]


def of_one_family(name: str, known: Iterable[str]) -> list[str]:
    """The known names that hold this family name, or one that is near it, whatever comes first.

    The family name of either is its last word, or the one before a comma.

    >>> of_one_family("Mads Fenner", ["Fenner, Ruth", "Ruth Kvist", "Fener Ruth"])
    ['Fenner, Ruth', 'Fener Ruth']
    """
    return [other for other in known if _meet(name, other) or _meet(other, name)]


def _meet(name: str, other: str) -> bool:
    """Whether a word of the other name is the family name of the first, or nearly so."""
    in_order = " ".join(reversed(name.split(",", 1)))
    borne = ([word for word in words if word not in _BORN] for words in _spellings(in_order))
    families = {words[-1] for words in borne if len(words) > 1}
    words = {word for words in _spellings(other) if len(words) > 1 for word in words}
    kinds = {_kind(family, word) for family in families for word in words}
    return bool(kinds & {"equal", "form", "hand", "slip", "sound"})


def names_several(name: str) -> bool:
    """Whether these are the names of several people.

    >>> [names_several(one) for one in ("Ruth Fenner, Ida Kvist", "A. & J. Fenner", "Kvist, Ida;")]
    [True, True, False]
    """
    parts = [part for part in _JOINED.split(name) if re.search(r"\w", part)]
    bare_parts = (_PARTICLES.sub("", part) for part in name.split(","))
    full = [words for part in bare_parts if (words := _spellings(part)[0])]
    return len(parts) > 1 or (len(full) > 1 and min(map(len, full)) > 1)


def near_pairs(names: Iterable[str]) -> list[tuple[str, str, str]]:
    """Every two of these names that may be one person's, with the reason in words.

    Only names that share a key are compared: the cost grows with the names, not with their pairs.
    """
    return list(_near_pairs(tuple(sorted(dict.fromkeys(names)))))


@lru_cache(maxsize=2)  # a page that lists them is asked for again and again
def _near_pairs(listed: tuple[str, ...]) -> tuple[tuple[str, str, str], ...]:
    spelt = [_spellings(name) for name in listed]
    bearers, by_key = defaultdict[str, set[int]](set), defaultdict[str, set[int]](set)
    for number, ways in enumerate(spelt):
        for words in filter(None, ways):
            for word in words:
                bearers[word].add(number)
            for key in _offered(words):
                by_key[key].add(number)
    reached = {
        word: set().union(*(bearers[other] for other in others))
        for word, others in _like_words(bearers).items()
    }
    pairs = set[tuple[int, int]]()
    for number, ways in enumerate(spelt):
        for words in filter(None, ways):
            found = set.intersection(*(reached[word] for word in words))
            found = found.union(*(by_key[key] for key in _asked(words) if key in by_key))
            pairs.update((min(number, n), max(number, n)) for n in found - {number})
    two = ((listed[one], listed[other]) for one, other in sorted(pairs))
    return tuple((a, b, _reason(a, b)) for a, b in two if likeness(a, b) == "near")


def _offered(words: tuple[str, ...]) -> Iterator[str]:
    """What stands for a whole name: its letters, the form of addresses, its initials."""
    yield f"letters {''.join(words)}"
    if len(words) > 1:
        yield f"letters {''.join(reversed(words))}"
        yield f"letters {_as_in_addresses(words)}"
        yield from (f"letters {code}" for code in _codes(words))
        yield f"initials {''.join(sorted(word[0] for word in words))}"


def _asked(words: tuple[str, ...]) -> Iterator[str]:
    """What a name may be of what others offer, whichever of its words are met."""
    yield f"letters {''.join(words)}"
    if len(words) == 1 or max(map(len, words)) == 1:
        letters = "".join(words)
        if len(letters) <= MOST_WORDS:
            yield f"initials {''.join(sorted(letters))}"


def _like_words(words: Iterable[str]) -> dict[str, set[str]]:
    """By word: those that it may meet, as ``_kind`` has it, itself included; some more."""
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


@lru_cache(maxsize=65_536)  # of a new name only its own pairs are looked at
def _reason(first: str, second: str) -> str:
    """Why two names are near; empty if they are not."""
    for one, other in ((a, b) for a in _spellings(first) for b in _spellings(second)):
        if not one or not other:
            continue
        if {"".join(one), "".join(reversed(one))} & {"".join(other), "".join(reversed(other))}:
            return _KINDS["equal"]
        either = ((one, other), (other, one))
        if any(a == (_as_in_addresses(b),) for a, b in either):
            return _KINDS["initial"]
        if any(_are_initials(a, b) for a, b in either):
            return "one has only the initials"
        if any(len(a) == 1 and a[0] in _codes(b) for a, b in either):
            return "one has only the first letters"
        shorter, longer = sorted((one, other), key=len)
        kinds = _matched(shorter, longer)
        if kinds:
            worst = max(kinds, key=list(_KINDS).index)
            fewer = "one has fewer words" if len(shorter) < len(longer) else ""
            return fewer if fewer and worst == "equal" else _KINDS[worst]
    return ""


@lru_cache(maxsize=65_536)
def _spellings(name: str) -> tuple[tuple[str, ...], ...]:
    every = (tuple(word[:MOST_LETTERS] for word in words) for words in _spelt(name))
    return tuple(dict.fromkeys(every))


def _spelt(name: str) -> Iterator[tuple[str, ...]]:
    """The words of a name in small letters without accents and titles; umlauts in both ways."""
    written = name.split("@")[0] if re.fullmatch(r"\S+@\S+", name.strip()) else name
    composed = unicodedata.normalize("NFC", written)
    small = _DIGIT.sub(lambda found: "oi"[int(found[0])], composed.casefold())
    parted = "" if composed.isupper() else _RUN_TOGETHER.sub(r"\1 \2 ", composed).casefold()
    spelt_out = re.sub("[äöüøåæ]", lambda found: _SPELT_OUT[found[0]], small)
    for form in dict.fromkeys((small, spelt_out, parted or small)):
        plain = bare(form.translate(_CYRILLIC))
        words = re.findall(r"[^\W_]+", re.sub(r"['\u2019]", "", plain))[:MOST_WORDS]
        plain_words = tuple(word for word in words if word not in _TITLES)
        yield plain_words
        # Stephan and Stefan, Sophie and Sofie; Yuri, Jurij and what Cyrillic letters make of it
        if any(re.search("ph|[yj]|ii", word) for word in plain_words):
            heard = (re.sub("[yj]", "i", word.replace("ph", "f")) for word in plain_words)
            yield tuple(re.sub("i+", "i", word) for word in heard)
        yield from _joined(plain_words)
        if "-" in plain:  # Anna-Maria and Annemarie
            joined = re.findall(r"[^\W_]+", re.sub(r"(?<=\w)-(?=\w)", "", plain))[:MOST_WORDS]
            yield tuple(word for word in joined if word not in _TITLES)


def _joined(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Three words and more as two run together: Jo Ann and Joanne, van der Wiel and Vanderwiel."""
    if len(words) < 3 or _BORN & set(words):
        return
    if min(map(len, words[:2])) > 1:
        yield ("".join(words[:2]), *words[2:])
    if min(map(len, words[1:])) > 1:
        yield (words[0], "".join(words[1:]))


def _as_in_addresses(words: tuple[str, ...]) -> str:
    """The first letter and the last word in one, as in "rfenner"; empty for a single word."""
    return words[0][0] + words[-1] if len(words) > 1 else ""


def _codes(words: tuple[str, ...]) -> tuple[str, ...]:
    """The first two letters of both words run together, as in "EvSt" on a label."""
    if len(words) != 2 or min(map(len, words)) < 2:
        return ()
    one, other = (word[:2] for word in words)
    return one + other, other + one


def _are_initials(short: tuple[str, ...], full: tuple[str, ...]) -> bool:
    """Whether the first stands for all words of the second, each by one letter."""
    letters = "".join(short)
    spelt_out = len(full) > 1 and max(map(len, full)) > 1
    known = spelt_out and letters.isalpha() and len(short) in (1, len(full))
    return known and Counter(letters) == Counter(word[0] for word in full)


def _matched(shorter: tuple[str, ...], longer: tuple[str, ...]) -> list[str]:
    """How each word of the shorter name meets its own word of the longer one; empty if one fails.

    One word at least must be met by more than its initial or a part of it.
    """
    best = _assign(list(shorter), list(longer))
    return best if best and any(kind not in ("initial", "part") for kind in best) else []


def _assign(words: list[str], others: list[str]) -> list[str]:
    if not words:
        return []
    found = sorted(
        (list(_KINDS).index(kind), position)
        for position, other in enumerate(others)
        if (kind := _kind(words[0], other))
    )
    for kind_number, position in found:
        rest = _assign(words[1:], others[:position] + others[position + 1 :])
        if rest or len(words) == 1:
            return [list(_KINDS)[kind_number], *rest]
    return []


@lru_cache(maxsize=65_536)
def _kind(word: str, other: str) -> str:
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
