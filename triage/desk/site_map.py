"""Draw sites, and a place with its uncertainty, as points of a map in metres around a centre."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from triage.inbox.offers import NearbySite
from triage.metadata.position import PlaceClaim

METRES_PER_DEGREE = 111_320.0  # of latitude, on a sphere: a drawing, nothing is measured on it
LEAST_HALF = 400.0  # metres shown to each side at least
ROOM = 1.25  # the farthest that must be seen, and a rim


@dataclass(frozen=True, slots=True, kw_only=True)
class MapSite:
    """A site on the map: its name, its point in metres east and south, its radius."""

    name: str
    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteMap:
    """What the map shows; ``half`` is how many metres it shows to each side of its centre."""

    half: float
    sites: tuple[MapSite, ...]
    fix_radius: float | None
    scale: float
    latitude: float  # of the centre
    longitude: float

    @property
    def scale_words(self) -> str:
        """The length of the scale bar."""
        return f"{self.scale / 1000:.0f} km" if self.scale >= 1000 else f"{self.scale:.0f} m"


def draw(sites: Sequence[NearbySite], fix: PlaceClaim | None) -> SiteMap | None:
    """The map around the fix, or around all sites; None where there is nothing to show."""
    centre = _centre(sites, fix)
    if centre is None:
        return None
    radius = fix.coordinate_uncertainty_in_meters if fix is not None else None
    points = [_point(one, centre) for one in sites]
    half = _half(points, radius, around_fix=fix is not None)
    return SiteMap(
        half=half,
        sites=tuple(points),
        fix_radius=radius,
        scale=_round_length(half / 2),
        latitude=centre[0],
        longitude=centre[1],
    )


def _centre(sites: Sequence[NearbySite], fix: PlaceClaim | None) -> tuple[float, float] | None:
    if fix is not None and fix.decimal_latitude is not None and fix.decimal_longitude is not None:
        return fix.decimal_latitude, fix.decimal_longitude
    if not sites:
        return None
    latitudes = [one.site.decimal_latitude for one in sites]
    longitudes = [one.site.decimal_longitude for one in sites]
    return (
        (min(latitudes) + max(latitudes)) / 2,
        (min(longitudes) + max(longitudes)) / 2,
    )


def _point(one: NearbySite, centre: tuple[float, float]) -> MapSite:
    latitude, longitude = centre
    east = (one.site.decimal_longitude - longitude) * math.cos(math.radians(latitude))
    return MapSite(
        name=one.site.locality,
        x=round(east * METRES_PER_DEGREE, 1),
        y=round((latitude - one.site.decimal_latitude) * METRES_PER_DEGREE, 1),
        radius=one.site.coordinate_uncertainty_in_meters,
    )


def _half(points: Sequence[MapSite], radius: float | None, *, around_fix: bool) -> float:
    """Far enough for the third nearest site, or for all of them where no fix is known."""
    away = sorted(max(abs(point.x), abs(point.y)) for point in points)
    far = away[: 3 if around_fix else len(away)]
    return max(LEAST_HALF, ROOM * max([*far, radius or 0.0, 0.0]))


def _round_length(metres: float) -> float:
    """The largest of 1, 2 and 5 times a power of ten that is not longer.

    Examples
    --------
    >>> _round_length(740.0), _round_length(200.0), _round_length(199.0)
    (500.0, 200.0, 100.0)
    """
    power = 10.0 ** math.floor(math.log10(metres))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= metres)
