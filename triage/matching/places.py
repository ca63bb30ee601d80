"""Find the sites within reach of sightings, with their distances.

The search for pairs runs in three dimensions (geocentric coordinates on WGS84), where neither a
pole nor the 180th meridian is special. A chord there gives the geodesic up to 20 km to within
0.1 mm (tests/matching/test_places.py); longer ones are computed by Karney's algorithm.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from triage.analysis import geodesy
from triage.exuviae import Site, point_of_footprint, read_footprint
from triage.matching.settings import MatchingSettings

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

MEAN_RADIUS = 6_371_008.8  # metres, WGS84: bends a chord into an arc
LONGEST_BY_CHORD = 20_000.0  # metres; beyond, the radius of the arc matters by more than 0.1 mm
SHORE_STEP = 25.0  # metres between the points that stand for a shore; the narrowest kernel is wider
MOST_SHORE_POINTS = 128
WIDENING = 1_000.0  # metres; sightings are searched in classes of uncertainty, each twice the last


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """Indices of sightings and sites within reach of each other, with geodesic metres between."""

    sighting: NDArray[np.intp]
    site: NDArray[np.intp]
    distance: NDArray[np.float64]


class SitePlaces:
    """The sites of a survey, ready to be searched by place."""

    def __init__(self, sites: Sequence[Site], settings: MatchingSettings) -> None:
        self.sites = tuple(sites)
        self.shapes: dict[int, BaseGeometry] = {}
        self._planes: dict[int, tuple[Any, BaseGeometry]] = {}
        self._shores: dict[int, tuple[NDArray[np.float64], float]] = {}
        count = len(self.sites)
        self.latitude = np.zeros(count)
        self.longitude = np.zeros(count)
        self.extent = np.zeros(count)  # metres from the point to the farthest part of the shape
        self.uncertainty = np.zeros(count)
        for index, site in enumerate(self.sites):
            self.latitude[index] = site.decimal_latitude
            self.longitude[index] = site.decimal_longitude
            self.uncertainty[index] = site.coordinate_uncertainty_in_meters
            if site.footprint_wkt:
                shape = read_footprint(site.footprint_wkt)
                latitude, longitude, radius = point_of_footprint(shape)
                self.shapes[index] = shape
                self.latitude[index], self.longitude[index] = latitude, longitude
                self.extent[index] = radius
                self.uncertainty[index] = settings.footprint_uncertainty_in_meters

    def __len__(self) -> int:
        return len(self.sites)

    def pairs_within(
        self,
        latitude: NDArray[np.float64],
        longitude: NDArray[np.float64],
        uncertainty: NDArray[np.float64],
        reach: float,
    ) -> Pairs:
        """All pairs whose least distance, over both uncertainties, is at most ``reach`` metres."""
        found: list[Pairs] = []
        if len(self) and len(latitude):
            classes = np.ceil(np.log2(np.maximum(uncertainty / WIDENING, 1.0))).astype(int)
            for wideness in np.unique(classes):
                chosen = np.flatnonzero(classes == wideness)
                found.append(
                    self._pairs(latitude, longitude, uncertainty, reach, chosen, 2.0**wideness)
                )
        if not found:
            nothing = np.zeros(0, dtype=np.intp)
            return Pairs(sighting=nothing, site=nothing, distance=np.zeros(0))
        return Pairs(
            sighting=np.concatenate([pairs.sighting for pairs in found]),
            site=np.concatenate([pairs.site for pairs in found]),
            distance=np.concatenate([pairs.distance for pairs in found]),
        )

    def nearest(self, latitude: float, longitude: float) -> tuple[int, float] | None:
        """Index of the site whose point is nearest, and the distance; None without sites."""
        if not len(self):
            return None
        _, index = self._tree.query(geodesy.geocentric(latitude, longitude))
        here = np.array([latitude]), np.array([longitude])
        one = np.array([index], dtype=np.intp)
        return int(index), float(self.distances(*here, one)[0])

    def distances(
        self,
        latitude: NDArray[np.float64],
        longitude: NDArray[np.float64],
        site: NDArray[np.intp],
    ) -> NDArray[np.float64]:
        """Geodesic metres from each place to the nearest part of the site with the same position.

        0 within a polygon.
        """
        to_latitude, to_longitude = self.latitude[site].copy(), self.longitude[site].copy()
        inside = np.zeros(len(site), dtype=bool)
        shaped = np.isin(site, np.fromiter(self.shapes, dtype=np.intp, count=len(self.shapes)))
        rows = np.flatnonzero(shaped)
        if len(rows):
            order = rows[np.argsort(site[rows], kind="stable")]
            starts = np.flatnonzero(np.r_[True, np.diff(site[order]) != 0])
            for group in np.split(order, starts[1:]):
                near = self._nearest_part(int(site[group[0]]), latitude[group], longitude[group])
                to_latitude[group], to_longitude[group], inside[group] = near
        ends = (
            geodesy.geocentric(latitude, longitude),
            geodesy.geocentric(to_latitude, to_longitude),
        )
        metres = _arc(np.linalg.norm(ends[0] - ends[1], axis=-1))
        long = np.flatnonzero(metres > LONGEST_BY_CHORD)
        metres[long] = geodesy.distances(
            latitude[long], longitude[long], to_latitude[long], to_longitude[long]
        )
        metres[inside] = 0.0
        return metres

    def shore(self, index: int) -> tuple[NDArray[np.float64], float]:
        """Points along the shore of a site with a shape, and what each of them stands for.

        Geocentric metres, shape (n, 3): of a polygon its edge, islands included; of a line the
        line; of points these. The second is the radius in metres of the ring that has the variance
        of the stretch between two points and of the outline's own uncertainty.
        """
        if index not in self._shores:
            import shapely

            plane, flat = self._flat(index)
            line = flat.boundary if flat.area else flat
            if line.length:
                count = min(max(math.ceil(line.length / SHORE_STEP), 8), MOST_SHORE_POINTS)
                step = line.length / count
                parts = shapely.get_parts(line)
                ends = np.cumsum(shapely.length(parts))
                along = (np.arange(count) + 0.5) * step
                part = np.minimum(np.searchsorted(ends, along), len(parts) - 1)
                begin = ends[part] - shapely.length(parts)[part]
                points = shapely.get_coordinates(
                    shapely.line_interpolate_point(parts[part], along - begin)
                )
            else:
                step, points = 0.0, shapely.get_coordinates(flat)
            longitude, latitude = plane(points[:, 0], points[:, 1], inverse=True)
            blur = math.sqrt(step**2 / 12.0 + float(self.uncertainty[index]) ** 2 / 2.0)
            self._shores[index] = geodesy.geocentric(latitude, longitude), blur
        return self._shores[index]

    def _pairs(
        self,
        latitude: NDArray[np.float64],
        longitude: NDArray[np.float64],
        uncertainty: NDArray[np.float64],
        reach: float,
        chosen: NDArray[np.intp],
        wideness: float,
    ) -> Pairs:
        from scipy.spatial import cKDTree

        # A chord is never longer than its geodesic, so nothing within reach is passed over.
        widest = reach + WIDENING * wideness + float((self.extent + self.uncertainty).max())
        around = cKDTree(geodesy.geocentric(latitude[chosen], longitude[chosen]))
        near = around.sparse_distance_matrix(self._tree, widest, output_type="ndarray")
        sighting, site = chosen[near["i"]], near["j"].astype(np.intp)
        allowed = reach + uncertainty[sighting] + self.uncertainty[site]
        keep = near["v"] <= allowed + self.extent[site]
        sighting, site, allowed = sighting[keep], site[keep], allowed[keep]
        metres = _arc(near["v"][keep])
        exact = np.flatnonzero((metres > LONGEST_BY_CHORD) | (self.extent[site] > 0))
        metres[exact] = self.distances(
            latitude[sighting[exact]], longitude[sighting[exact]], site[exact]
        )
        keep = metres <= allowed
        return Pairs(sighting=sighting[keep], site=site[keep], distance=metres[keep])

    @functools.cached_property
    def _tree(self) -> Any:
        from scipy.spatial import cKDTree

        return cKDTree(geodesy.geocentric(self.latitude, self.longitude))

    def _nearest_part(
        self, index: int, latitude: NDArray[np.float64], longitude: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
        import shapely

        plane, flat = self._flat(index)
        east, north = plane(longitude, latitude)
        places = shapely.points(east, north)
        ends = shapely.get_point(shapely.shortest_line(places, flat), 1)
        near_longitude, near_latitude = plane(
            shapely.get_x(ends), shapely.get_y(ends), inverse=True
        )
        inside = shapely.distance(places, flat) == 0.0
        return np.asarray(near_latitude), np.asarray(near_longitude), np.asarray(inside)

    def _flat(self, index: int) -> tuple[Any, BaseGeometry]:
        """A map plane around the site (azimuthal equidistant) and the site's shape on it."""
        if index in self._planes:
            return self._planes[index]
        import shapely
        from pyproj import Proj

        plane = Proj(
            proj="aeqd", lat_0=self.latitude[index], lon_0=self.longitude[index], ellps="WGS84"
        )
        flat = shapely.transform(
            self.shapes[index], lambda xy: np.column_stack(plane(xy[:, 0], xy[:, 1]))
        )
        shapely.prepare(flat)
        self._planes[index] = plane, flat
        return plane, flat


def _arc(chord: NDArray[np.float64]) -> NDArray[np.float64]:
    """Length along the surface that belongs to a straight line through the earth."""
    return np.asarray(2.0 * MEAN_RADIUS * np.arcsin(np.minimum(chord / (2.0 * MEAN_RADIUS), 1.0)))
