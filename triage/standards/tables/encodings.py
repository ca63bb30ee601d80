"""Tells in which encoding the bytes of a table are, by its marks and by the letters of languages.

UTF-8 and UTF-16 tell themselves (The Unicode Standard 16.0, sections 3.10 and 23.8). Windows-1250,
windows-1252 and ISO 8859-2 give every byte a meaning: the reading in which each word keeps to the
letters of one language is taken, and two such readings are a question. Alphabets: Unicode CLDR 45,
main exemplar characters, as remembered.
"""

from __future__ import annotations

import codecs
import re
import unicodedata

SINGLE_BYTE = ("windows-1252", "windows-1250", "iso-8859-2")
_LETTERS = {
    "Polish": "ąćęłńóśźż",
    "German": "äöüß",
    "French": "àâæçéèêëîïôœùûüÿ",
    "Czech and Slovak": "áäčďéěíĺľňóôŕřšťúůýž",
    "Hungarian": "áéíóöőúüű",
    "Nordic": "åäæéöøü",
    "Icelandic": "áæéðíóöþúý",
    "Spanish": "áéíñóúü",
    "Portuguese": "áâãàçéêíóôõú",
    "Italian": "àèéìîòù",
    "Dutch": "áèéêëïóöü",
    "Romanian": "âăîşţ",
    "South Slavic": "čćđšž",
    "Estonian": "äõöšüž",
}
_ALPHABETS = {name: frozenset(letters) for name, letters in _LETTERS.items()}
# What no word of these languages holds: œ but in the French cœur, fœtus, œdème and their like, and
# behind a c, as in cœrulescens (in windows-1250 a ś stands there, and never behind a c); the Slovak
# ĺ before a vowel or l, ř beside r, the Romanian ă before a vowel, a ŕ alone, a ľ before a unit
# (a micro sign stands there); a š or Š where the umlaut of an old Macintosh stands: first vowel of
# a word, or a capital within one (Fšhr, MŠrz).
_IMPOSSIBLE = re.compile(
    r"\bœ(?![udist]|n[oa]|c[uo])|\B(?<!c)œ(?!u|(?<=fœ)t|(?<=hœ)n)|ĺ[aeiouyl]|řr|rř|ă[aeiouy]|\bŕ\b"
    r"|\bľ(?:[sglmwvan]|mol|eq)\b"
    r"|\b(?:[b-df-hj-np-tv-z]*[b-df-hj-np-qstv-z]|r)š[b-df-hj-np-tv-z]"
)
_CAPITAL_WITHIN = re.compile(r"[^\W\d_][ŠŽŸ](?=[a-z])")
_BETWEEN_LETTERS = frozenset("'-\u2019\u2018\u00b4\u2013\u2014\u2010\u00b7\u2026")
_BESIDE_LETTERS = _BETWEEN_LETTERS | frozenset('"\u201c\u201d\u201e\u201a\u00ab\u00bb\u00b0\u2022')
_UNITS = re.compile(r"(?<![^\W\d_])(?:[kcmd]?m[\u00b2\u00b3]|\u00b5[A-Za-z]{1,4})(?![^\W\d_])")


class UndecidedEncodingError(ValueError):
    """No reading of the bytes is the only one that makes sense; the message is the question."""


def decoded(raw: bytes) -> tuple[str, str]:
    """The text of a table and the name of its encoding.

    Raises
    ------
    UndecidedEncodingError
        No encoding, or more than one, gives words of a language; or the text was read in a wrong
        encoding and saved that way before it came here.
    """
    marked = _marked(raw)
    if marked:
        try:
            return _not_garbled(raw.decode(marked)), marked
        except UnicodeDecodeError as error:
            raise UndecidedEncodingError(
                f"the file says that it is {marked} and is damaged at byte {error.start}"
            ) from error
    try:
        return _not_garbled(raw.decode("utf-8")), "utf-8"
    except UnicodeDecodeError:
        _refuse_two_encodings(raw)
        return _by_letters(raw)


def _refuse_two_encodings(raw: bytes) -> None:
    """Lines in UTF-8 beside others that are not: the file was put together from two."""
    sound: list[int] = []
    other: list[int] = []
    for number, line in enumerate(raw.splitlines(), start=1):
        if line.isascii():
            continue
        try:
            line.decode("utf-8")
            sound.append(number)
        except UnicodeDecodeError:
            other.append(number)
    if sound and other:
        raise UndecidedEncodingError(
            f"its lines are in two encodings: line {sound[0]} is UTF-8 and line {other[0]} is not"
        )


def _marked(raw: bytes) -> str:
    """The encoding that a byte order mark, or zeros in every second byte, tell; else nothing."""
    if raw.startswith(codecs.BOM_UTF8):
        return "utf-8-sig"
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    # UTF-16 without its mark: in mostly Latin text every second byte is zero.
    sample = raw[:4096]
    if len(sample) >= 4 and sample[1::2].count(0) > 0.4 * len(sample) / 2:
        return "utf-16-le"
    if len(sample) >= 4 and sample[0::2].count(0) > 0.4 * len(sample) / 2:
        return "utf-16-be"
    return ""


def _by_letters(raw: bytes) -> tuple[str, str]:
    """The reading that needs the fewest languages, if no other text needs as few."""
    fitting: dict[str, tuple[int, str]] = {}
    for encoding in SINGLE_BYTE:
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        languages = _languages_needed(_foreign_words(text))
        if languages is not None and text not in fitting:
            fitting[text] = (languages, encoding)
    if not fitting:
        raise UndecidedEncodingError(
            "the characters are in no encoding known here (UTF-8, UTF-16, windows-1252,"
            " windows-1250, ISO 8859-2)"
        )
    fewest = min(count for count, _ in fitting.values())
    best = [(text, encoding) for text, (count, encoding) in fitting.items() if count == fewest]
    if len(best) > 1:
        raise UndecidedEncodingError(_question(best))
    return best[0]


def _question(readings: list[tuple[str, str]]) -> str:
    words = [_foreign_words(text) for text, _ in readings]
    differ = next((pair for pair in zip(*words, strict=False) if len(set(pair)) > 1), ())
    offers = " or ".join(
        f"'{word}' ({encoding})" for word, (_, encoding) in zip(differ, readings, strict=False)
    )
    return f"its accents can be read in more than one way: {offers}"


_APART = re.compile(r"[ \t\r\n\v\f,;\"]+")  # a blank beyond ASCII is one of those asked about


def _foreign_words(text: str) -> list[str]:
    """The words with a character beyond ASCII, each once, in order."""
    return list(dict.fromkeys(word for word in _APART.split(text) if not word.isascii()))


def _languages_needed(words: list[str]) -> int | None:
    """How many languages the words need at least; None if one is no word of any."""
    needed: list[frozenset[str]] = []
    for word in words:
        if not _is_sound(word):
            return None
        plain = _UNITS.sub("", word).lower()  # the micro sign is a letter, of no language
        letters = frozenset(one for one in plain if one > "\x7f" and one.isalpha())
        if not letters:
            continue
        if not any(letters <= alphabet for alphabet in _ALPHABETS.values()):
            return None
        needed.append(letters)
    return _fewest_covering(needed)


def _fewest_covering(needed: list[frozenset[str]]) -> int:
    """Languages taken one after the other, each the one that covers most words that are left."""
    left, count = needed, 0
    while left:
        best = max(_ALPHABETS.values(), key=lambda letters: sum(one <= letters for one in left))
        left = [one for one in left if not one <= best]
        count += 1
    return count


def _is_sound(word: str) -> bool:
    """Whether no control character and no sign stands where a letter of a word would."""
    if any(unicodedata.category(sign) == "Cc" for sign in word):
        return False
    if _IMPOSSIBLE.search(word.casefold()) or _CAPITAL_WITHIN.search(word):
        return False
    plain = _UNITS.sub(" ", word)
    for position, sign in enumerate(plain):
        if sign <= "\x7f" or sign.isalpha():
            continue
        before = plain[position - 1 : position].isalpha() if position else False
        after = plain[position + 1 : position + 2].isalpha()
        if before and after and sign not in _BETWEEN_LETTERS:
            return False
        if (before or after) and sign not in _BESIDE_LETTERS:
            return False
    return True


def _not_garbled(text: str) -> str:
    """The text, unless it shows that it was read in a wrong encoding and saved so before."""
    if "\ufffd" in text:
        raise UndecidedEncodingError(
            f"'{next(word for word in _foreign_words(text) if chr(0xFFFD) in word)}' has lost "
            "letters: it was saved in a wrong encoding before it came here"
        )
    for word in _foreign_words(text):
        right = _repaired(word)
        if right:
            raise UndecidedEncodingError(
                f"'{word}' seems to be '{right}', saved in a wrong encoding before it came here"
            )
    return text


def _repaired(word: str) -> str:
    """What a word was before it was read wrongly; empty for a sound word."""
    for encoding in ("windows-1252", "windows-1250"):
        try:
            once = word.encode(encoding).decode("utf-8")
        except (UnicodeEncodeError, UnicodeDecodeError):
            continue
        if once != word and _languages_needed([once]) is not None:
            return once
    if _is_sound(word) or not re.search(r"[^\W\d_]{2}", word):
        return ""
    try:
        once = word.encode("windows-1252").decode("windows-1250")
    except (UnicodeEncodeError, UnicodeDecodeError):
        return ""
    letters = any(sign > "\x7f" and sign.isalpha() for sign in once)
    return once if letters and _languages_needed([once]) is not None else ""
