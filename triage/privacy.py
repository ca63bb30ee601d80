"""What is held and how sensitive it is in, what may be released, and any leak found, out.

Places are generalised on a grid, never moved at random; the categories are those of Chapman.
docs/privacy.md states the rules and what they do not protect against.

References
----------
Chapman, A. D. (2020). Current Best Practices for Generalizing Sensitive Species Occurrence Data.
GBIF Secretariat. https://doi.org/10.15468/doc-5jp4-5g10 (table 7 and chapters 4 and 5)
"""

from __future__ import annotations

import functools
import html
import io
import re
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from triage.analysis import geodesy, images
from triage.standards.darwin_core import BasisOfRecord, OccurrenceStatusWords

CATEGORY_PRECISION: Mapping[str, float | None] = MappingProxyType(
    {"1": None, "2": 0.1, "3": 0.01, "4": 0.001}
)
"""Degrees of the grid for each category of Chapman 2020, table 7; None: no coordinates at all."""

HIDING_CATEGORIES = frozenset({"1", "2", "3"})
"""Categories whose place names, exact times and observers would give the place away; category 4
(0.001 degree) is as fine as an ordinary release."""

_E_MAIL = re.compile(r"[\w.+'-]+@[\w-]+(?:\.[\w-]+)+")
_LINK = re.compile(r"\b(?:https?://|www\.)\S+", re.IGNORECASE)
_PHONE = re.compile(r"(?<![\w.:-])(?:\+|00|0)\d(?:[\s()/.-]?\d){6,14}(?![\w.:-])")
_FINE_NUMBER = re.compile(r"(?<![\d.,])[-+\u2212]?\d{1,3}[.,]\d{4,}")
_SEXAGESIMAL = re.compile(
    r"""\d{1,3}\s*[\u00b0\u00ba]\s*\d{1,2}(?:[.,]\d+)?\s*['\u2019\u2032]"""
    r"""(?:\s*\d{1,2}(?:[.,]\d+)?\s*(?:"|''|\u2033|\u201d))?"""
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasePolicy:
    """What an export may say.

    ``release_precision`` and ``private_home_precision`` are widths of the grid in degrees.
    ``sensitive_taxa`` maps names to a category ``1`` to ``4``, on top of the checklist's own.
    ``occurrence_status`` chooses detected/notDetected (Darwin Core since 2026-05-26) or
    present/absent (what the published quality test accepts). ``basis_of_record`` is for photo
    sightings: Darwin Core's class examples put a photograph under MachineObservation, common
    practice for what a person saw and photographed is HumanObservation, the default.
    ``media_base_uri`` is put before ``media/...`` in the archive, where the photos will stand.
    """

    release_precision: float = 0.001
    internal: bool = False
    occurrence_status: OccurrenceStatusWords = "detected"
    basis_of_record: BasisOfRecord = "HumanObservation"
    private_home_precision: float = 0.01
    category_precision: Mapping[str, float | None] = field(
        default_factory=lambda: CATEGORY_PRECISION
    )
    sensitive_taxa: Mapping[str, str] = field(default_factory=dict)
    media_base_uri: str = ""

    def __post_init__(self) -> None:
        for width in (self.release_precision, self.private_home_precision):
            if not 0 < width <= 1:
                raise ValueError("a release precision must be more than 0 and at most 1 degree")
        for category in (*self.category_precision, *self.sensitive_taxa.values()):
            if category not in CATEGORY_PRECISION:
                raise ValueError(f"{category!r} is no category of sensitivity: take 1, 2, 3 or 4")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """How coarse a record must be. ``precision`` in degrees, None: no coordinates.

    ``hidden``: names of places, exact times, observers, remarks and media would give the place
    away and are withheld too. ``reasons`` in words, empty for an ordinary record.
    """

    precision: float | None
    hidden: bool = False
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasedPoint:
    """Coordinates as released, with the sentences for the two Darwin Core terms."""

    decimal_latitude: float | None = None
    decimal_longitude: float | None = None
    coordinate_uncertainty_in_meters: float | None = None
    coordinate_precision: float | None = None
    data_generalizations: str = ""
    information_withheld: str = ""


def sensitivity(
    policy: ReleasePolicy,
    *,
    site_categories: Iterable[str] = (),
    taxon_categories: Iterable[str] = (),
    private_home: bool = False,
) -> Sensitivity:
    """The strictest of what the sites, the taxa and the policy ask for.

    >>> sensitivity(ReleasePolicy(), taxon_categories=["3"]).precision
    0.01
    >>> sensitivity(ReleasePolicy(), site_categories=["1", "4"]).precision is None
    True
    """
    widths: list[float | None] = [policy.release_precision]
    reasons: list[str] = []
    hidden = private_home
    for kind, categories in (("site", site_categories), ("taxon", taxon_categories)):
        for category in sorted(set(categories) - {""}):
            # A category that nobody defined is treated as the strictest one.
            widths.append(policy.category_precision.get(category))
            reasons.append(f"sensitive {kind}, category {category}")
            hidden = hidden or category in HIDING_CATEGORIES or category not in CATEGORY_PRECISION
    if private_home:
        widths.append(policy.private_home_precision)
        reasons.append("private home")
    known = [width for width in widths if width is not None]
    return Sensitivity(
        precision=max(known) if len(known) == len(widths) else None,
        hidden=hidden,
        reasons=tuple(reasons),
    )


def release_point(
    latitude: float | None,
    longitude: float | None,
    uncertainty_metres: float | None,
    wanted: Sensitivity,
) -> ReleasedPoint:
    """The point as it may be released: the centroid of its grid cell, or nothing.

    Parameters
    ----------
    latitude, longitude : float or None
        Decimal degrees (EPSG:4326). None: there is no place to release.
    uncertainty_metres : float or None
        coordinateUncertaintyInMeters as held; None: not known, and then not known afterwards.
    wanted : Sensitivity
        How coarse the place must be.

    Returns
    -------
    ReleasedPoint
        The uncertainty is enlarged by half the diagonal of the cell, so it holds the true place.

    Raises
    ------
    ValueError
        If the latitude is out of range.

    References
    ----------
    Chapman, A. D. (2020). https://doi.org/10.15468/doc-5jp4-5g10

    Examples
    --------
    >>> point = release_point(53.91234, 21.71876, 10.0, Sensitivity(precision=0.01))
    >>> point.decimal_latitude, point.decimal_longitude
    (53.91, 21.72)
    """
    because = f" ({'; '.join(wanted.reasons)})" if wanted.reasons else ""
    if latitude is None or longitude is None:
        return ReleasedPoint()
    if wanted.precision is None:
        return ReleasedPoint(information_withheld=f"coordinates withheld{because}")
    known = uncertainty_metres is not None and uncertainty_metres > 0
    cell = geodesy.generalise(
        latitude,
        longitude,
        uncertainty_metres=uncertainty_metres if known and uncertainty_metres else 0.0,
        precision_degrees=wanted.precision,
    )
    enlarged = (
        "the uncertainty is enlarged by half the diagonal of the cell"
        if known
        else "the uncertainty is not known"
    )
    return ReleasedPoint(
        decimal_latitude=cell.decimal_latitude,
        decimal_longitude=cell.decimal_longitude,
        coordinate_uncertainty_in_meters=cell.coordinate_uncertainty_in_meters if known else None,
        coordinate_precision=wanted.precision,
        data_generalizations=(
            f"coordinates moved to the centroid of a grid cell of {wanted.precision:g} degree "
            f"(cells centred on multiples of it, EPSG:4326){because}; {enlarged}"
        ),
        information_withheld=f"more exact coordinates are held{because}",
    )


def day_only(event_date: str) -> str:
    """The date without its time of day.

    >>> day_only("2026-06-13T14:07:05+02:00")
    '2026-06-13'
    >>> day_only("2026-06-13T09:00/2026-06-13T11:30")
    '2026-06-13'
    """
    return "/".join(dict.fromkeys(part[:10] for part in event_date.split("/")))


def month_only(event_date: str) -> str:
    """The date without its day.

    >>> month_only("2026-06-30/2026-07-02")
    '2026-06/2026-07'
    """
    return "/".join(dict.fromkeys(part[:7] for part in event_date.split("/")))


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
        known = sorted((p for p in phrases if len(p) > 1), key=lambda p: (-len(p), p))
        if known:
            spaced = "|".join(r"\s+".join(map(re.escape, phrase.split())) for phrase in known)
            patterns.append(re.compile(rf"(?<!\w)(?:{spaced})(?!\w)", flags))
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Secrets:
    """What must not be found in an export.

    ``words``: names, addresses, places, file names, exact times. ``points``: latitude, longitude
    and how many decimals of them may be shown (3 for a release at 0.001 degree).
    """

    words: tuple[str, ...] = ()
    points: tuple[tuple[float, float, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Leak:
    """One secret found: the file (``archive.zip/member`` inside a zip) and what it gives away."""

    file: str
    found: str


def find_leaks(folder: Path, secrets: Secrets) -> tuple[Leak, ...]:
    """Every secret found in the files of a folder, zip files opened, pictures checked for metadata.

    Words are looked for whole, letter case, accents' spelling and XML escapes apart; numbers are
    compared as numbers, so that neither rounding nor truncation hides a held coordinate.
    """
    words = {word: _comparable(word) for word in secrets.words if word.strip()}
    leaks: list[Leak] = []
    for name, content in _all_files(folder):
        if name.lower().endswith((".jpg", ".jpeg", ".png")):
            if has_metadata(content):
                leaks.append(Leak(file=name, found="metadata inside the picture"))
            text = _comparable(name)
        else:
            text = _comparable(f"{name} {html.unescape(content.decode('utf-8', 'replace'))}")
        for word, wanted in words.items():
            if re.search(rf"(?<!\w){re.escape(wanted)}(?!\w)", text):
                leaks.append(Leak(file=name, found=word))
        numbers = set(re.findall(r"(?<![\w.])\d{1,3}\.\d+", text))
        for latitude, longitude, decimals in secrets.points:
            for held in (latitude, longitude):
                shown = [number for number in numbers if _gives_away(number, held, decimals)]
                leaks += [Leak(file=name, found=f"{held} as {number}") for number in sorted(shown)]
    return tuple(leaks)


def _gives_away(number: str, held: float, decimals: int) -> bool:
    shown = len(number.partition(".")[2])
    near = max(1.01 * 10.0**-shown, 10.0 ** -(decimals + 2))
    return shown > decimals and abs(float(number) - abs(held)) < near


def _comparable(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def _all_files(folder: Path) -> Iterator[tuple[str, bytes]]:
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            name = path.relative_to(folder).as_posix()
            if zipfile.is_zipfile(path):
                with zipfile.ZipFile(path) as archive:
                    for member in archive.namelist():
                        yield f"{name}/{member}", archive.read(member)
            else:
                yield name, path.read_bytes()
