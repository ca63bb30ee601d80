"""Read the coordinates in a text, each with the uncertainty of how it is written.

Decimal degrees, degrees with minutes and seconds in the typography that mail brings, links and
geo: addresses (RFC 5870), UTM and MGRS through PROJ and GEOTRANS.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from triage.analysis.geodesy import Area
from triage.metadata.point_radius import (
    GPS_METRES_SINCE_MAY_2000,
    coordinate_precision_uncertainty,
)
from triage.metadata.position import GEOREFERENCE, PlaceClaim, few_digits, position_doubts_of
from triage.metadata.text_spans import Span, blanked


@dataclass(frozen=True, slots=True, kw_only=True)
class _Written:
    """One pair as written; ``step`` is in degrees, ``step_metres`` for grid references."""

    latitude: float
    longitude: float
    step: float = 0.0
    step_metres: float = 0.0
    kind: str = "decimal degrees"
    doubt: str = ""
    weak: bool = False  # could as well be two other numbers: believed inside the area only


def find_coordinates(text: str, *, area: Area | None = None) -> tuple[list[PlaceClaim], list[Span]]:
    """Return the coordinates of a text as claims, and where in the text they stand."""
    plain = _plain(text)
    claims: dict[tuple[float, float], PlaceClaim] = {}
    spans: list[Span] = []
    for pattern, read in _KINDS:
        for found, span in _links(plain) if pattern is _LINK else _plainly(pattern, plain):
            written = read(found)
            if written is None or (written.weak and not _within(written, area)):
                continue
            spans.append(span)
            claim = _claim(written, text[slice(*span)].strip(), area)
            claims.setdefault((round(written.latitude, 6), round(written.longitude, 6)), claim)
        plain = blanked(plain, spans)
    return list(claims.values()), spans


def _plainly(pattern: re.Pattern[str], text: str) -> Iterator[tuple[re.Match[str], Span]]:
    return ((found, found.span()) for found in pattern.finditer(text))


def _links(text: str) -> Iterator[tuple[re.Match[str], Span]]:
    """The last pair in each link, which is the place and not the view of the map, with the link."""
    for link in re.finditer(r"\S+", text):
        pairs = list(_LINK.finditer(link[0]))
        if pairs:
            yield pairs[-1], link.span()


def _within(written: _Written, area: Area | None) -> bool:
    point = written.latitude, written.longitude
    return area is not None and not position_doubts_of(*point, area)[0]


# One character for one, so that positions in the text stay the same.
_TYPOGRAPHY = str.maketrans(
    {
        **dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\u2002\u2003\u2008\t", " "),
        **dict.fromkeys("\u2032\u2018\u2019\u02b9\u00b4\u0060\u02bc\uff07", "'"),
        **dict.fromkeys("\u2033\u201c\u201d\u201e\u02ba\u3003\uff02", '"'),
        **dict.fromkeys("\u00ba\u02da\u2070\u00b0\u1d52", "°"),
        **dict.fromkeys("\u2212\u2010\u2011\ufe63\uff0d", "-"),
    }
)


def _plain(text: str) -> str:
    text = text.translate(_TYPOGRAPHY)
    # "53 deg", "53 Grad", "53 st.": as long as before, for the positions.
    return re.sub(
        r"(?<=\d)(\s*)(degrees?|deg\.?|grad|stopni)(?=[\s\d,NSEWO;]|$)",
        lambda m: m[1] + "°" + " " * (len(m[2]) - 1),
        text,
        flags=re.IGNORECASE,
    )


def _claim(written: _Written, verbatim: str, area: Area | None) -> PlaceClaim:
    doubts, offered = position_doubts_of(written.latitude, written.longitude, area)
    if written.doubt:
        doubts = (written.doubt, *doubts)
    precision = written.step_metres * 2**0.5 or coordinate_precision_uncertainty(
        written.latitude, written.step
    )
    return PlaceClaim(
        source="message coordinates",
        decimal_latitude=round(written.latitude, 7),
        decimal_longitude=round(written.longitude, 7),
        # How the sender got them is unknown: a GPS place of unrecorded accuracy is assumed.
        coordinate_uncertainty_in_meters=round(GPS_METRES_SINCE_MAY_2000 + precision, 1),
        verbatim=verbatim,
        georeference_protocol=f"{GEOREFERENCE}; {written.kind} in the message",
        doubts=(*doubts, *few_digits(precision)),
        offered=offered,
    )


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _decimals(text: str) -> int:
    return len(re.split(r"[.,]", text)[1]) if re.search(r"[.,]", text) else 0


def _pair(latitude: str, longitude: str, kind: str = "decimal degrees") -> _Written | None:
    north, east = _number(latitude), _number(longitude)
    step = 10.0 ** -min(_decimals(latitude), _decimals(longitude), 7)
    if abs(north) <= 90 and abs(east) <= 180:
        return _Written(latitude=north, longitude=east, step=step, kind=kind)
    if abs(north) <= 180 and abs(east) <= 90:
        doubt = "latitude and longitude were swapped in the text"
        return _Written(latitude=east, longitude=north, step=step, kind=kind, doubt=doubt)
    return None


_D = r"(-?\d{1,3}\.\d{2,})"
_LINK = re.compile(
    r"(?:"
    rf"@{_D},{_D}"
    rf"|[?&](?:q|ll|query|center|daddr|destination|sll|cp|loc)=(?:loc:)?{_D}(?:,|%2C|~|\+){_D}"
    rf"|geo:{_D},{_D}"
    rf"|mlat={_D}&(?:amp;)?mlon={_D}"
    rf"|!3d{_D}!4d{_D}"
    rf"|\#map=\d+/{_D}/{_D}"
    r")",
    re.IGNORECASE,
)


def _from_link(found: re.Match[str]) -> _Written | None:
    latitude, longitude = (group for group in found.groups() if group is not None)
    return _pair(latitude, longitude, "coordinates of a link")


_HEMISPHERE = {"N": (0, 1), "S": (0, -1), "E": (1, 1), "O": (1, 1), "W": (1, -1)}

_PART = (
    r"(?:(?P<b{n}>[NSEWO])\s?)?(?P<d{n}>-?\d{{1,3}}(?:[.,]\d+)?)\s?(?P<s{n}>°)?\s{{0,6}}"
    r"(?:(?P<m{n}>\d{{1,2}}(?:[.,]\d+)?)\s?(?P<q{n}>')?\s?"
    r"(?:(?P<c{n}>\d{{1,2}}(?:[.,]\d+)?)\s?(?:\"|'')?\s?)?)?"
    r"(?(b{n})|(?P<a{n}>[NSEWO](?![a-zA-Z]))?)"
)
_LETTERED = re.compile(
    r"(?<![\w.,])" + _PART.format(n=1) + r"\s?[,;/]?\s{0,3}" + _PART.format(n=2) + r"(?![\w])"
)


def _from_letters(found: re.Match[str]) -> _Written | None:
    first, second = _lettered_part(found, 1), _lettered_part(found, 2)
    if first is None or second is None:
        return None
    parts = {axis: (value, step) for axis, value, step in (first, second)}
    if set(parts) != {0, 1}:
        return None
    (latitude, north_step), (longitude, east_step) = parts[0], parts[1]
    if abs(latitude) > 90 or abs(longitude) > 180:
        return None
    return _Written(
        latitude=latitude,
        longitude=longitude,
        step=max(north_step, east_step),
        kind="degrees, minutes and seconds" if found["m1"] else "decimal degrees",
    )


def _lettered_part(found: re.Match[str], n: int) -> tuple[int, float, float] | None:
    """Return axis (0 latitude), signed degrees and step of one half, or None if it is no such."""
    before, after = found[f"b{n}"], found[f"a{n}"]
    letter = before or after
    if bool(before) == bool(after) or (n == 2 and bool(found["b1"]) != bool(before)):
        return None
    degrees, minutes, seconds = (found[f"{part}{n}"] for part in "dmc")
    if not (found[f"s{n}"] or _decimals(degrees) >= 2 or (minutes and _decimals(minutes) >= 2)):
        return None  # "7 S 3 E": letters and small numbers alone are no coordinates
    if (minutes and (_decimals(degrees) or _number(minutes) >= 60)) or (
        seconds and (_decimals(minutes) or _number(seconds) >= 60)
    ):
        return None
    value = abs(_number(degrees)) + _number(minutes or "0") / 60 + _number(seconds or "0") / 3600
    last, unit = (seconds, 3600) if seconds else (minutes, 60) if minutes else (degrees, 1)
    axis, sign = _HEMISPHERE[letter]
    if degrees.startswith("-"):
        return None if sign < 0 else (axis, -value, 10.0 ** -_decimals(last) / unit)
    return axis, sign * value, 10.0 ** -_decimals(last) / unit


_LABELLED = re.compile(
    r"\b(?:lat(?:itude)?|breite|szer\w*)\W{0,4}(-?\d{1,2}[.,]\d+)\s?°?\W{0,4}"
    r"(?:lon(?:gitude)?|lng|long|l(?:ä|ae)nge|d(?:ł|l)ug\w*)\W{0,4}?(-?\d{1,3}[.,]\d+)(?![\d.,]\d)",
    re.IGNORECASE,
)
_POINTS = re.compile(
    r"(?<![\w.,/+-])(-?\d{1,3}\.\d{3,12})\s?°?\s?(?:[,;/]|\s)\s?(-?\d{1,3}\.\d{3,12})\s?°?"
    r"(?![\w/]|[.,-]\d)"
)
_COMMAS = re.compile(
    r"(?<![\w.,/+-])(-?\d{1,3},\d{3,12})\s?°?(?:\s?[;/]\s?|,\s|\s)(-?\d{1,3},\d{3,12})\s?°?"
    r"(?![\w/]|[.,-]\d)"
)


def _from_labels(found: re.Match[str]) -> _Written | None:
    return _pair(found[1], found[2])


def _from_bare(found: re.Match[str]) -> _Written | None:
    before = found.string[max(0, found.start() - 20) : found.start()]
    after = found.string[found.end() : found.end() + 20]
    if re.search(r"(?<![\d.])\d+[.,]\d+\W{1,3}$", before) or re.match(
        r"\W{1,3}(?:and\s)?-?\d+[.,]\d", after
    ):
        return None  # one of a row of measurements
    written = _pair(found[1], found[2])
    digits = min(_decimals(found[1]), _decimals(found[2]))
    if written is None or (digits < 4 and "," in found[1]):
        return None  # "12,500 13,000" are thousands
    return replace(written, weak=digits < 4)


_UTM = re.compile(
    r"(?:\bUTM\b\W{0,3}(?:zone\s)?)?\b(\d{1,2})\s?([C-HJ-NP-X])\W{1,3}"
    r"(?:E\s?)?(\d{6}(?:\.\d+)?)\s?m?\s?E?\W{1,3}(?:N\s?)?(\d{7}(?:\.\d+)?)\s?m?\s?N?\b"
)


def _from_utm(found: re.Match[str]) -> _Written | None:
    zone, band = int(found[1]), found[2]
    east, north = float(found[3]), float(found[4])
    if not 1 <= zone <= 60 or not 100_000 <= east <= 900_000 or north > 10_000_000:
        return None
    from pyproj import Transformer

    # "N" and "S" are bands too, but people write them for the hemisphere.
    southern = band < "N" or (band == "S" and not 3_500_000 <= north <= 4_500_000)
    system = (32_700 if southern else 32_600) + zone
    change = Transformer.from_crs(system, 4326, always_xy=True)
    longitude, latitude = change.transform(east, north)
    if not abs(latitude) <= 84:
        return None
    step = 10.0 ** -min(_decimals(found[3]), _decimals(found[4]))
    return _Written(latitude=latitude, longitude=longitude, step_metres=step, kind="UTM")


_MGRS = re.compile(r"\b(\d{1,2}[C-HJ-NP-X])\s?([A-HJ-NP-Z]{2})\s?(\d{3,5}\s\d{3,5}|\d{6,10})\b")


def _from_mgrs(found: re.Match[str]) -> _Written | None:
    digits = found[3]
    halves = (
        digits.split()
        if " " in digits
        else [digits[: len(digits) // 2], digits[len(digits) // 2 :]]
    )
    if len(halves[0]) != len(halves[1]):
        return None
    import mgrs

    cell = 10.0 ** (5 - len(halves[0]))
    # A reference names a square by its south-western corner; the place is its middle.
    middle = "".join(h.ljust(5, "0") if cell == 1 else f"{h}5".ljust(5, "0") for h in halves)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the middle of a square may lie beyond the band
            latitude, longitude = mgrs.MGRS().toLatLon(f"{found[1]}{found[2]}{middle}")
    except Exception:  # the library raises its own kinds for letters that name no square
        return None
    return _Written(latitude=latitude, longitude=longitude, step_metres=cell / 2, kind="MGRS")


_KINDS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], _Written | None]], ...] = (
    (_LINK, _from_link),
    (_LABELLED, _from_labels),
    (_LETTERED, _from_letters),
    (_UTM, _from_utm),
    (_MGRS, _from_mgrs),
    (_POINTS, _from_bare),
    (_COMMAS, _from_bare),
)
