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
from itertools import product
from typing import Literal

from triage.standards.data_files import toml_of
from triage.standards.letters import bare
from triage.standards.words_of_names import KINDS, like_words, meeting

Likeness = Literal["same", "near", "different"]
MOST_WORDS = 8  # of one name that are compared; beyond that it is no name of a person
MOST_LETTERS = 40  # of one word that are compared
MOST_INITIALS = 2  # letters that stand for given names beside a family name that is cut short
LEAST_LETTERS_OF_A_CUT = 4  # of the longer part of "jkaeferst" for Jörg Käferstein

_WORDS = toml_of("triage.standards", "person_names.toml")
_TITLES = frozenset(_WORDS["titles"].split())
_NOBODY = frozenset(_WORDS["nobody"].split())
_OF_FAMILIES = frozenset(_WORDS["before_family_names"].split())
_ACCOUNT = re.compile(r"([^\W\d_]+)\d*")  # j.kaeferst, lmoor79
GIVEN_NAMES = frozenset(" ".join([_WORDS["given_names"], *_WORDS["short_forms"]]).split())
_HYPHEN = re.compile(r"(?<=\w)\s?-\s?(?=\w)")
_RUN_TOGETHER = re.compile(r"\b([^\W\d_a-zà-ÿ])([^\W\d_a-zà-ÿ])\b(?=\s|$)")  # JL Rivet
_CYRILLIC = str.maketrans(dict(pair.split("=") for pair in _WORDS["cyrillic"].split()))
_JOINED = re.compile(r"[;&+/|\n]|\s(?:and|und|u\.|et|i|oraz)\s")
_PARTICLES = re.compile(r"\b(?:[^\W\d_A-Z]{1,3}\.?\s)+(?=[A-Z])")  # van der Wiel
_DIGIT = re.compile(r"(?<=[^\W\d])[01](?!\d)|[01](?=[^\W\d])")  # for the letter
_NUMBER = re.compile(r"(?<!\d)(\d{1,9})(?:st|nd|rd|th)?(?![^\W_])")  # "Writer 10", "2nd Troop"
_DAY = re.compile(r"(?<!\d)(?:\d{1,4}[-./]\d{1,2}[-./]\d{1,4}|(?:19|20)\d\d)(?!\d)")  # of a label
_ROMAN = re.compile(r"(?<=\s)(?:I{1,3}|I?V|VI{1,3}|I?X|XI{1,2})$")
_ROMAN_NUMBERS = ["I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII"]
_BORN = {"jun", "junior", "jr", "sen", "senior", "sr"}
_SPELT_OUT = {"ä": "ae", "ö": "oe", "ü": "ue", "ø": "oe", "å": "aa", "æ": "ae"}


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
    if _numbered_apart(name, other):
        return False
    in_order = " ".join(reversed(name.split(",", 1)))
    borne = (
        [w for w in words if w not in _BORN and not w.isdecimal()] for words in _spellings(in_order)
    )
    families = {words[-1] for words in borne if len(words) > 1}
    words = {word for words in _spellings(other) if len(words) > 1 for word in words}
    kinds = {meeting(family, word) for family in families for word in words}
    return bool(kinds & {"equal", "form", "hand", "slip", "sound"})


def names_nobody(name: str) -> bool:
    """Whether these words stand where nobody is named: no letter, or "unknown" and its like.

    >>> [names_nobody(one) for one in ("?", "N.N.", "unbekannt", "Nils", "0000-0002-1825-0097")]
    [True, True, True, False, False]
    """
    letters = "".join(re.findall(r"[^\W\d_]+", name)).casefold()
    if not letters:
        return re.fullmatch(r"(?:\d{4}-){3}\d{3}[\dX]", name.strip()) is None  # ORCID iD
    return letters in _NOBODY


def names_several(name: str) -> bool:
    """Whether these are the names of several people.

    One comma may stand between the names of a family and the given names of one person, if the
    latter are known as such.

    >>> [names_several(one) for one in ("Ruth Fenner, Ida Kvist", "A. & J. Fenner", "Kvist, Ida;")]
    [True, True, False]
    >>> names_several("Ortuño López, María Carmen")
    False
    """
    if sum(bool(re.search(r"\w", part)) for part in _JOINED.split(name)) > 1:
        return True
    parts = [_PARTICLES.sub("", part) for part in name.split(",")]
    full = [words for part in parts if (words := _spellings(part)[0])]
    double_as_one = (_spellings(_HYPHEN.sub("", part))[0] for part in parts)
    if len(full) < 2 or min(len(words) for words in double_as_one if words) < 2:
        return False
    family, given = full[:2]
    return len(full) > 2 or _is_given(family[0]) or not all(map(_is_given, given))


def _is_given(word: str) -> bool:
    return len(word) == 1 or word in GIVEN_NAMES


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
        for word, others in like_words(bearers).items()
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


@lru_cache(maxsize=65_536)  # of a new name only its own pairs are looked at
def _reason(first: str, second: str) -> str:
    """Why two names are near; empty if they are not."""
    if _numbered_apart(first, second):
        return ""
    for one, other in ((a, b) for a in _spellings(first) for b in _spellings(second)):
        if not one or not other:
            continue
        if {"".join(one), "".join(reversed(one))} & {"".join(other), "".join(reversed(other))}:
            return KINDS["equal"]
        either = ((one, other), (other, one))
        if any(a == (_as_in_addresses(b),) for a, b in either):
            return KINDS["initial"]
        if any(_are_initials(a, b) for a, b in either):
            return "one has only the initials"
        shorter, longer = sorted((one, other), key=len)
        kinds = _matched(shorter, longer)
        if kinds:
            worst = max(kinds, key=list(KINDS).index)
            fewer = "one has fewer words" if len(shorter) < len(longer) else ""
            return fewer if fewer and worst == "equal" else KINDS[worst]
        if any(_is_cut(a) and "".join(a) in _codes(b) for a, b in either):
            return "one has only the first letters"
    return ""


def _numbered_apart(first: str, second: str) -> bool:
    """Whether both names have numbers, and not the same: "Class 4" and "Class 5".

    A number in one name alone may be what somebody added to tell it from its like.
    """
    one, other = ({*map(int, _NUMBER.findall(_in_figures(name)))} for name in (first, second))
    return bool(one and other and one != other)


@lru_cache(maxsize=65_536)
def _in_figures(name: str) -> str:
    """A name without days, and its numbers in one way: "Writer 01" and "Writer I" as "Writer 1"."""
    plain = re.sub(r"(?<!\d)0+(?=\d)", "", _DAY.sub(" ", name).rstrip())
    return _ROMAN.sub(lambda found: str(_ROMAN_NUMBERS.index(found[0]) + 1), plain)


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
    figures = _in_figures(composed).casefold()
    for form in dict.fromkeys((small, spelt_out, parted or small, figures)):
        plain = bare(form.translate(_CYRILLIC))
        words = re.findall(r"[^\W_]+", re.sub(r"['\u2019]", "", plain))[:MOST_WORDS]
        plain_words = tuple(word for word in words if word not in _TITLES)
        yield plain_words
        # Stephan and Stefan, Sophie and Sofie; Yuri, Jurij and what Cyrillic letters make of it
        if any(re.search("ph|[yj]|ii", word) for word in plain_words):
            heard = (re.sub("[yj]", "i", word.replace("ph", "f")) for word in plain_words)
            yield tuple(re.sub("i+", "i", word) for word in heard)
        yield from _joined(plain_words)
        if found := _ACCOUNT.fullmatch("".join(words) if " " not in written else ""):
            yield (found[1],)
        if "-" in plain:  # Anna-Maria and Annemarie
            joined = re.findall(r"[^\W_]+", re.sub(r"(?<=\w)-(?=\w)", "", plain))[:MOST_WORDS]
            yield tuple(word for word in joined if word not in _TITLES)


def _joined(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Three words and more as two run together: Jo Ann and Joanne, van der Wiel and Vanderwiel."""
    if len(words) < 3 or _BORN & set(words):
        return
    if {*words[1:-1]} & _OF_FAMILIES:  # Anne Sophie de la Vigne
        given = [word for word in words if word not in _OF_FAMILIES]
        yield tuple(given)
        between = "".join(word for word in words[:-1] if word in _OF_FAMILIES)
        yield (*given[:-1], between + words[-1])
    if min(map(len, words[:2])) > 1:
        yield ("".join(words[:2]), *words[2:])
    if min(map(len, words[1:])) > 1:
        yield (words[0], "".join(words[1:]))


def _as_in_addresses(words: tuple[str, ...]) -> str:
    """The first letter and the last word in one, as in "rfenner"; empty for a single word."""
    return words[0][0] + words[-1] if len(words) > 1 else ""


@lru_cache(maxsize=65_536)
def _codes(words: tuple[str, ...]) -> frozenset[str]:
    """A name as labels and accounts cut it: "EvSt", "jkaeferst", "maralind", "lindequellm"."""
    if len(words) < 2:
        return frozenset()
    first, *others = words
    initials = "".join(word[0] for word in words[:-1])
    codes = {f"{initials}{words[-1]}", *_run_together((initials,), _beginnings(words[-1]))}
    for other in others:
        for one, two in ((first, other), (other, first)):
            codes.update(_run_together({one[:1], one[:2], one}, _beginnings(two)))
            codes.update(_run_together(_beginnings(one), {two[:1], two[:2], two}))
    if len(words) == 2 and min(map(len, words)) > 1:
        codes |= {first[:2] + others[0][:2], others[0][:2] + first[:2]}
    return frozenset(codes)


def _is_cut(words: tuple[str, ...]) -> bool:
    """Whether a name may be cut short: "jkaeferst", "J Kaeferst", "Kaefer JA"; not "Bo Li"."""
    if len(words) == 2:
        few, many = sorted(map(len, words))
        return few <= MOST_INITIALS and many >= LEAST_LETTERS_OF_A_CUT
    return len(words) == 1


def _beginnings(word: str) -> Iterator[str]:
    """A word and what is left when it is cut, of as many letters as a cut leaves."""
    return (word[:letters] for letters in range(LEAST_LETTERS_OF_A_CUT, len(word) + 1))


def _run_together(some: Iterable[str], others: Iterable[str]) -> Iterator[str]:
    return (f"{one}{other}" for one, other in product(some, others))


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
        (list(KINDS).index(kind), position)
        for position, other in enumerate(others)
        if (kind := meeting(words[0], other))
    )
    for kind_number, position in found:
        rest = _assign(words[1:], others[:position] + others[position + 1 :])
        if rest or len(words) == 1:
            return [list(KINDS)[kind_number], *rest]
    return []
