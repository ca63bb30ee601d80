"""Read the offset from a site that the words before its name state.

"200 m north of Heron Mere", "300 m nördlich vom Erlenteich", "1,5 km na północ od ...": the
place is not the site, and its uncertainty follows from the words (Chapman & Wieczorek 2020, offset
at a heading, https://doi.org/10.15468/doc-gg7h-s853).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from triage.analysis.geodesy import destination
from triage.metadata.point_radius import (
    direction_uncertainty,
    distance_precision,
    heading_half_angle,
)

_COMPASS = {
    heading: number * 22.5
    for number, heading in enumerate(
        (
            "n", "nne", "ne", "ene", "e", "ese", "se", "sse",
            "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw",
        )
    )
}  # fmt: skip
# Words folded as texts are; longer ones first, so that "north east" is not read as "north".
_HEADING_WORDS = {
    "north east": "ne", "northeast": "ne", "nordostlich": "ne", "nordost": "ne",
    "polnocny wschod": "ne",
    "north west": "nw", "northwest": "nw", "nordwestlich": "nw", "nordwest": "nw",
    "polnocny zachod": "nw",
    "south east": "se", "southeast": "se", "sudostlich": "se", "sudost": "se",
    "poludniowy wschod": "se",
    "south west": "sw", "southwest": "sw", "sudwestlich": "sw", "sudwest": "sw",
    "poludniowy zachod": "sw",
    "north": "n", "nordlich": "n", "norden": "n", "polnoc": "n",
    "south": "s", "sudlich": "s", "suden": "s", "poludnie": "s",
    "east": "e", "ostlich": "e", "osten": "e", "wschod": "e",
    "west": "w", "westlich": "w", "westen": "w", "zachod": "w",
}  # fmt: skip
_UNITS = {
    "m": 1.0, "metres": 1.0, "meters": 1.0, "metre": 1.0, "meter": 1.0, "metern": 1.0,
    "metrow": 1.0, "km": 1000.0, "kilometres": 1000.0, "kilometers": 1000.0, "kilometer": 1000.0,
    "mile": 1609.344, "miles": 1609.344, "yards": 0.9144,
}  # fmt: skip
_OFFSET = re.compile(
    r"(?<![\d.,])(?P<n>\d{1,5}(?:[.,]\d{1,3})?)\s?(?P<u>"
    + "|".join(sorted(_UNITS, key=len, reverse=True))
    + r")\.?\s+(?:(?:to the|due|im|in|na|auf)\s+)?(?:(?P<h>"
    + "|".join(
        [
            *(w.replace(" ", "[ -]") for w in _HEADING_WORDS),
            *sorted(_COMPASS, key=len, reverse=True),
        ]
    )
    + r")\b\.?\s*)?(?:away\s+)?(?:of|from|von|vom|der|des|od)\s+(?:the\s+|der\s+|dem\s+)?$"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset:
    """So far from a point in a direction (None if none is said), with what both leave open.

    ``words`` is how the text says it.
    """

    metres: float
    azimuth_degrees: float | None
    uncertainty_metres: float
    words: str


def offset_before(folded: str, text: str) -> Offset | None:
    """Return the offset that ends a text (``folded`` and as it stands, of equal length), or None.

    >>> offset_before("about 200 m north of ", "About 200 m north of ").uncertainty_metres
    158.07
    """
    start = max(0, len(folded) - 60)
    found = _OFFSET.search(folded, start)
    if not found:
        return None
    unit = _UNITS[found["u"]]
    written = found["n"].replace(",", ".")
    if float(written) == 0:
        return None
    metres = float(written) * unit
    precision = distance_precision(written) * unit
    words = " ".join(text[found.start() : found.end()].split())
    if not found["h"]:
        # Anywhere on a circle: the point is the site's, the radius reaches the far side of it.
        return Offset(
            metres=0.0,
            azimuth_degrees=None,
            uncertainty_metres=round(metres + precision, 2),
            words=words,
        )
    heading = _HEADING_WORDS.get(found["h"].replace("-", " "), found["h"])
    across = direction_uncertainty(metres, heading_half_angle(heading))
    return Offset(
        metres=metres,
        azimuth_degrees=_COMPASS[heading],
        uncertainty_metres=round(across + precision, 2),
        words=words,
    )


def displaced(latitude: float, longitude: float, offset: Offset) -> tuple[float, float]:
    """Return the point that lies at an offset from another."""
    if offset.azimuth_degrees is None:
        return latitude, longitude
    return destination(
        latitude, longitude, azimuth_degrees=offset.azimuth_degrees, metres=offset.metres
    )
