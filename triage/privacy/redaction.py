"""Take what identifies a person or a place out of texts and photos."""

from __future__ import annotations

import functools
import io
import re
from collections.abc import Iterable

from triage.analysis import images
from triage.standards.letters import any_phrase

_E_MAIL = re.compile(r"[\w.+'-]+@[\w-]+(?:\.[\w-]+)+")
_LINK = re.compile(r"\b(?:https?://|www\.)\S+", re.IGNORECASE)
_PHONE = re.compile(r"(?<![\w.:-])(?:\+|00|0)\d(?:[\s()/.-]?\d){6,14}(?![\w.:-])")
_FINE_NUMBER = re.compile(r"(?<![\d.,])[-+\u2212]?\d{1,3}[.,]\d{4,}")
_SEXAGESIMAL = re.compile(
    r"""\d{1,3}\s*[\u00b0\u00ba]\s*\d{1,2}(?:[.,]\d+)?\s*['\u2019\u2032]"""
    r"""(?:\s*\d{1,2}(?:[.,]\d+)?\s*(?:"|''|\u2033|\u201d))?"""
)


def redact(text: str, *, names: Iterable[str] = (), places: Iterable[str] = ()) -> str:
    """Free text without what it must not say, each put as ``[withheld]``.

    Whole names and places, letter case ignored; single parts of a name of four letters and more
    as they are written; mail addresses, links, telephone numbers, and coordinates finer than
    0.001 degree. Cautious rather than clever: it may remove an innocent word.

    >>> redact("With Ada Reed at 53.91234, 21.71876", names=["Ada Reed"])
    'With [withheld] at [withheld], [withheld]'
    """
    if not text.strip():
        return text
    for pattern in (_E_MAIL, _LINK, _SEXAGESIMAL, _FINE_NUMBER, _PHONE):
        text = pattern.sub("[withheld]", text)
    for words in _phrase_patterns(tuple(names), tuple(places)):
        text = words.sub("[withheld]", text)
    return text


@functools.lru_cache(maxsize=8)
def _phrase_patterns(names: tuple[str, ...], places: tuple[str, ...]) -> list[re.Pattern[str]]:
    """One pattern for whole phrases and one for parts of names, the longest tried first."""
    whole = {" ".join(phrase.split()) for phrase in (*names, *places)}
    parts = {part for name in names for part in re.split(r"[\s,]+", name) if len(part) >= 4}
    patterns = []
    for phrases, flags in ((whole, re.IGNORECASE), (parts, re.NOFLAG)):
        if known := [phrase for phrase in phrases if len(phrase) > 1]:
            patterns.append(re.compile(any_phrase(known), flags))
    return patterns


def clean_photo(content: bytes, *, name: str = "photo") -> bytes:
    """The picture alone as a new JPEG: upright pixels, no Exif, XMP, thumbnail or trailing bytes.

    Raises
    ------
    SourceError
        If the pixels cannot be decoded.
    """
    return images.as_jpeg(images.decode(content, name=name).rgb, quality=92)


def has_metadata(jpeg: bytes) -> bool:
    """Whether a picture still carries Exif, XMP, IPTC or a comment."""
    from PIL import Image

    with Image.open(io.BytesIO(jpeg)) as image:
        told = {"exif", "xmp", "photoshop", "comment", "XML:com.adobe.xmp"} & set(image.info)
        return bool(told or len(image.getexif()))
