"""Say what was measured on a photo in Audiovisual Core: term URIs and values.

References
----------
Audiovisual Core Maintenance Group. Audiovisual Core Term List (edition of 2026-02).
Biodiversity Information Standards (TDWG). http://rs.tdwg.org/ac/doc/termlist/
Controlled Vocabulary for Audiovisual Core subjectOrientation (2023-04-26).
http://rs.tdwg.org/acorient/
"""

from __future__ import annotations

import re
from decimal import Decimal

from triage.standards.data_files import toml_of

AC = "http://rs.tdwg.org/ac/terms/"
ROW_TYPE = AC + "Multimedia"
ORIENTATION_VALUES = "http://rs.tdwg.org/acorient/values/"
FRACTION_DIGITS = 6  # a pixel of a 100,000 pixel side is 0.00001: fractions round back to pixels

_VOCABULARIES = toml_of("triage.standards", "vocabularies.toml")
TERMS: dict[str, str] = _VOCABULARIES["audiovisual_core"]
STILL_IMAGE = "http://purl.org/dc/dcmitype/StillImage"
REGION = AC + "RegionOfInterest"  # the class of region rows in the term list

_ORIENTATIONS = {
    "dorsal": ("r0006", "dorsal"),
    "lateral": ("r0003", "lateral"),
    "anterior": ("r0001", "anterior"),
}
_UNSPECIFIED = ("r0000", "unspecifiedOrientation")

_CREATIVE_COMMONS = re.compile(
    r"https?://creativecommons\.org/licenses/(?P<elements>by(?:-nc)?(?:-sa|-nd)?)/(?P<version>\d\.\d)"
)
_PUBLIC_DOMAIN = re.compile(r"https?://creativecommons\.org/publicdomain/zero/1\.0")
_ELEMENTS = {"by": "Attribution", "nc": "NonCommercial", "sa": "ShareAlike", "nd": "NoDerivatives"}


def subject_orientation(view: str) -> tuple[str, str]:
    """The IRI and the literal of ac:subjectOrientation for one of our views.

    The vocabulary has no oblique value, and a three-quarter view shows neither back nor side as
    a determiner needs it: oblique and other become unspecifiedOrientation, and the view's own
    word stands in ac:comments (:func:`view_comment`).

    >>> subject_orientation("dorsal")
    ('http://rs.tdwg.org/acorient/values/r0006', 'dorsal')
    >>> subject_orientation("oblique")[1]
    'unspecifiedOrientation'
    """
    local_name, literal = _ORIENTATIONS.get(view, _UNSPECIFIED)
    return ORIENTATION_VALUES + local_name, literal


def view_comment(view: str) -> str:
    """What ac:comments says of a view that the vocabulary cannot express; empty otherwise."""
    return f"view: {view}" if view and view not in _ORIENTATIONS else ""


def usage_terms(licence: str) -> str:
    """What a licence lets people do, in words, from its URI; empty without a licence.

    >>> usage_terms("https://creativecommons.org/licenses/by-nc/4.0/")
    'Creative Commons Attribution-NonCommercial 4.0 International (CC BY-NC 4.0)'
    >>> usage_terms("https://example.org/terms")
    'The terms stated at https://example.org/terms'
    """
    if not licence:
        return ""
    if _PUBLIC_DOMAIN.match(licence):
        return "No rights reserved: dedicated to the public domain (CC0 1.0)"
    match = _CREATIVE_COMMONS.match(licence)
    if match is None:
        return f"The terms stated at {licence}"
    names = [_ELEMENTS.get(part, part) for part in match["elements"].split("-")]
    short = f"CC {match['elements'].upper()} {match['version']}"
    scope = " International" if match["version"] == "4.0" else ""
    return f"Creative Commons {'-'.join(names)} {match['version']}{scope} ({short})"


def region_fractions(box: tuple[float, float, float, float] | None) -> dict[str, str]:
    """Where the insect is: xFrac, yFrac, widthFrac, heightFrac of the upright image.

    In Audiovisual Core these belong to a region of interest, which is a row of its own tied to
    its photo by ac:isROIOf, not to the photo.

    Parameters
    ----------
    box : tuple of float or None
        x0, y0, x1, y1 as fractions in [0, 1] of the upright image. None, or a box without area
        after clipping to the image, gives no fractions.

    Returns
    -------
    dict of str to str
        Decimal texts with six digits; xFrac + widthFrac and yFrac + heightFrac are at most 1.

    Examples
    --------
    >>> region_fractions((0.25, 0.1, 0.75, 1.0))["heightFrac"]
    '0.900000'
    """
    if box is None:
        return {}
    x0, y0, x1, y1 = (Decimal(f"{min(max(value, 0.0), 1.0):.{FRACTION_DIGITS}f}") for value in box)
    if x1 <= x0 or y1 <= y0:
        return {}
    return {
        "xFrac": str(x0),
        "yFrac": str(y0),
        "widthFrac": str(x1 - x0),
        "heightFrac": str(y1 - y0),
    }


def media_type(image_format: str) -> str:
    """The media type of one of our photo formats; ``application/octet-stream`` if unknown."""
    known: dict[str, str] = _VOCABULARIES["media_types"]
    return known.get(image_format.upper(), "application/octet-stream")
