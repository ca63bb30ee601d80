"""Draw sites and sightings on a map in metres around its centre, as web maps project the Earth.

The projection is Web Mercator (EPSG:3857), scaled to metres at the centre's latitude: so tiles of
a picture map lie straight under it, and lengths are right near the centre. Nothing is measured on
this drawing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from triage.exuviae import Site, read_footprint
from triage.store.ground import Spot

RADIUS = 6_378_137.0  # metres, of the sphere of EPSG:3857
HIGHEST = 85.0  # degrees of latitude; the projection ends at 85.06
LEAST_HALF = 300.0  # metres shown to each side at least
ROOM = 1.12  # the farthest that is shown, and a rim
MOST_SPOTS = 1500  # circles drawn; the more sightings, the wider the ground that one stands for
SPOT = 20.0  # metres within which sightings share a circle at least


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """Where the drawing's origin is, and metres for each radian of longitude."""

    latitude: float
    longitude: float

    @property
    def metres_per_radian(self) -> float:
        """The scale of the projection at the centre."""
        return RADIUS * math.cos(math.radians(self.latitude))

    def point(self, longitude: float, latitude: float) -> tuple[float, float]:
        """Metres east and south of the centre.

        Examples
        --------
        >>> x, y = Ground(latitude=0.0, longitude=0.0).point(1.0, 0.0)
        >>> round(x, -2), round(y)
        (111300.0, 0)
        """
        scale = self.metres_per_radian
        east = math.radians(longitude - self.longitude)
        south = mercator(self.latitude) - mercator(latitude)
        return round(scale * east, 1), round(scale * south, 1)


def mercator(latitude: float) -> float:
    """The northing of a latitude in radians of the unit sphere (Snyder 1987, equation 7-2).

    Examples
    --------
    >>> mercator(0.0), round(mercator(85.0511287798), 6) == round(math.pi, 6)
    (0.0, True)
    """
    bounded = math.radians(max(-HIGHEST - 0.06, min(HIGHEST + 0.06, latitude)))
    return math.asinh(math.tan(bounded))


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnSite:
    """A site: its middle, the radius of its uncertainty, its shore as paths."""

    identifier: str
    name: str
    x: float
    y: float
    radius: float
    areas: tuple[str, ...]
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnSpot:
    """Sightings that share a circle, and where it stands."""

    x: float
    y: float
    spot: Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundMap:
    """What the map shows; ``half`` is how many metres it shows to each side of its centre."""

    ground: Ground
    half: float
    sites: tuple[DrawnSite, ...]
    spots: tuple[DrawnSpot, ...]

    @property
    def northing(self) -> float:
        """The centre's northing in radians, for laying tiles."""
        return mercator(self.ground.latitude)


def draw(sites: Sequence[Site], spots: Sequence[Spot]) -> GroundMap | None:
    """The map of all sites and sightings; None where there is neither."""
    places = [(s.decimal_latitude, s.decimal_longitude) for s in sites]
    places = places or [(s.decimal_latitude, s.decimal_longitude) for s in spots]
    if not places:
        return None
    ground = _middle(places)
    drawn = [_site(one, ground) for one in sites]
    seen = [_spot(one, ground) for one in spots]
    shown = [(s.x, s.y) for s in drawn] or [(s.x, s.y) for s in seen]
    half = max(LEAST_HALF, ROOM * max(max(abs(x), abs(y)) for x, y in shown))
    return GroundMap(ground=ground, half=half, sites=tuple(drawn), spots=tuple(seen))


def _middle(places: Iterable[tuple[float, float]]) -> Ground:
    latitudes, longitudes = zip(*places, strict=True)
    return Ground(
        latitude=(min(latitudes) + max(latitudes)) / 2,
        longitude=(min(longitudes) + max(longitudes)) / 2,
    )


def _site(site: Site, ground: Ground) -> DrawnSite:
    x, y = ground.point(site.decimal_longitude, site.decimal_latitude)
    areas, lines = _shore(site.footprint_wkt, ground)
    return DrawnSite(
        identifier=site.location_id,
        name=site.locality,
        x=x,
        y=y,
        radius=site.coordinate_uncertainty_in_meters,
        areas=tuple(areas),
        lines=tuple(lines),
    )


def _spot(spot: Spot, ground: Ground) -> DrawnSpot:
    x, y = ground.point(spot.decimal_longitude, spot.decimal_latitude)
    return DrawnSpot(x=x, y=y, spot=spot)


def _shore(footprint: str, ground: Ground) -> tuple[list[str], list[str]]:
    """The paths of areas and of lines of a footprint; its points are drawn by the site's own."""
    areas: list[str] = []
    lines: list[str] = []
    try:
        shape = read_footprint(footprint) if footprint else None
    except ValueError:
        return areas, lines
    for part in getattr(shape, "geoms", [shape] if shape is not None else []):
        if part.geom_type == "Polygon":
            rings = (part.exterior, *part.interiors)
            areas.append("".join(_path(ring.coords, ground) + "Z" for ring in rings))
        elif part.geom_type == "LineString":
            lines.append(_path(part.coords, ground))
    return areas, lines


def _path(places: Iterable[Sequence[float]], ground: Ground) -> str:
    points = [ground.point(place[0], place[1]) for place in places]
    return "M" + "L".join(f"{x} {y}" for x, y in points)
