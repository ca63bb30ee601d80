"""Compute distances, destinations and generalised points from coordinates in decimal degrees.

All on the WGS84 ellipsoid by the geodesics of Karney, C. F. F. (2013). Algorithms for geodesics.
Journal of Geodesy 87: 43-55. https://doi.org/10.1007/s00190-012-0578-z (through PROJ).
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

SEMI_MAJOR_AXIS = 6_378_137.0  # metres, WGS84
FLATTENING = 1 / 298.257223563  # WGS84

_NO_LATITUDE = "a latitude is outside -90 to 90 degrees"

Area = tuple[float, float, float, float]  # south, west, north, east in decimal degrees


@functools.cache
def _geod() -> Any:
    from pyproj import Geod

    return Geod(ellps="WGS84")


def distance(latitude: float, longitude: float, to_latitude: float, to_longitude: float) -> float:
    """Geodesic distance between two points on the WGS84 ellipsoid.

    Parameters
    ----------
    latitude, to_latitude : float
        Decimal degrees in [-90, 90].
    longitude, to_longitude : float
        Decimal degrees, any turn: 190 and -170 are the same meridian.

    Returns
    -------
    float
        Metres, 0 for equal points, at most about 20,003,931.5. NaN if any input is NaN.

    Raises
    ------
    ValueError
        If a latitude is outside [-90, 90].

    References
    ----------
    Karney, C. F. F. (2013). https://doi.org/10.1007/s00190-012-0578-z

    Examples
    --------
    >>> round(distance(0.0, 0.0, 1.0, 0.0), 3)
    110574.389
    """
    if abs(latitude) > 90 or abs(to_latitude) > 90:
        raise ValueError(_NO_LATITUDE)
    place = longitude, latitude, to_longitude, to_latitude
    return float(_geod().inv(*place)[2]) if all(map(math.isfinite, place)) else math.nan


def is_inside(latitude: float, longitude: float, area: Area) -> bool:
    """Whether a point lies in an area or on its edge; it may reach over the 180th meridian.

    >>> is_inside(0.0, 179.0, (-1.0, 170.0, 1.0, -170.0)), is_inside(2.0, 0.0, (-1, -1, 1, 1))
    (True, False)
    """
    south, west, north, east = area
    across = west <= longitude <= east if west <= east else longitude >= west or longitude <= east
    return south <= latitude <= north and across


class Located(Protocol):
    """Whatever has a place in decimal degrees, or none."""

    @property
    def decimal_latitude(self) -> float | None:
        """North of the equator."""

    @property
    def decimal_longitude(self) -> float | None:
        """East of Greenwich."""


def metres_between(one: Located, other: Located) -> float | None:
    """Geodesic distance between two records in metres; None where either has no place."""
    if one.decimal_latitude is None or one.decimal_longitude is None:
        return None
    if other.decimal_latitude is None or other.decimal_longitude is None:
        return None
    return distance(
        one.decimal_latitude,
        one.decimal_longitude,
        other.decimal_latitude,
        other.decimal_longitude,
    )


def metres_of_pairs(pairs: Sequence[tuple[Located, Located]]) -> list[float | None]:
    """:func:`metres_between` of each pair, in one call: many times as fast."""
    places = np.array(
        [
            (one.decimal_latitude, one.decimal_longitude, to.decimal_latitude, to.decimal_longitude)
            for one, to in pairs
        ],
        dtype=np.float64,  # None becomes NaN
    ).reshape(-1, 4)
    return [None if math.isnan(metres) else metres for metres in distances(*places.T).tolist()]


def geocentric(latitude: ArrayLike, longitude: ArrayLike) -> NDArray[np.float64]:
    """Geocentric coordinates of points on the ellipsoid of WGS84.

    Parameters
    ----------
    latitude, longitude : array_like of float
        Decimal degrees; shapes that broadcast together.

    Returns
    -------
    ndarray of float64
        Metres, in the broadcast shape and a last axis x, y, z. NaN where an input is NaN.

    Raises
    ------
    ValueError
        If the shapes do not broadcast.

    References
    ----------
    EPSG Guidance Note 7-2, 4.1.1 (geographic to geocentric, height zero); from memory.
    """
    phi, lam = np.radians(latitude), np.radians(longitude)
    squared = FLATTENING * (2.0 - FLATTENING)
    normal = SEMI_MAJOR_AXIS / np.sqrt(1.0 - squared * np.square(np.sin(phi)))
    return np.stack(
        [
            normal * np.cos(phi) * np.cos(lam),
            normal * np.cos(phi) * np.sin(lam),
            normal * (1.0 - squared) * np.sin(phi),
        ],
        axis=-1,
    )


def distances(
    latitudes: ArrayLike, longitudes: ArrayLike, to_latitudes: ArrayLike, to_longitudes: ArrayLike
) -> NDArray[np.float64]:
    """Geodesic distances between points, element by element, with numpy's broadcasting.

    Parameters
    ----------
    latitudes, longitudes, to_latitudes, to_longitudes : array_like of float
        Decimal degrees; shapes that broadcast together. For all pairs pass
        ``a[:, None]`` and ``b[None, :]``.

    Returns
    -------
    ndarray of float64
        Metres, in the broadcast shape; NaN where any input is NaN. Empty in, empty out.

    Raises
    ------
    ValueError
        If a latitude is outside [-90, 90], or the shapes do not broadcast.

    Notes
    -----
    About one microsecond a pair; nothing is approximated.

    References
    ----------
    Karney, C. F. F. (2013). https://doi.org/10.1007/s00190-012-0578-z

    Examples
    --------
    >>> distances([45.0, 60.0], 0.0, [45.0, 60.0], 1.0).round(3).tolist()
    [78846.335, 55799.47]
    """
    lat1, lon1, lat2, lon2 = np.broadcast_arrays(
        *(
            np.asarray(a, dtype=np.float64)
            for a in (latitudes, longitudes, to_latitudes, to_longitudes)
        )
    )
    _check_latitudes(lat1)
    _check_latitudes(lat2)
    if lat1.size == 0:
        return np.zeros(lat1.shape)
    _, _, metres = _geod().inv(lon1.ravel(), lat1.ravel(), lon2.ravel(), lat2.ravel())
    known = np.isfinite(lat1) & np.isfinite(lon1) & np.isfinite(lat2) & np.isfinite(lon2)
    return np.where(known, np.asarray(metres).reshape(lat1.shape), np.nan)


def _check_latitudes(latitudes: NDArray[np.float64]) -> None:
    if np.any(np.abs(latitudes) > 90):
        raise ValueError(_NO_LATITUDE)


def destination(
    latitude: float, longitude: float, *, azimuth_degrees: float, metres: float
) -> tuple[float, float]:
    """Point reached from a start along a geodesic.

    Parameters
    ----------
    latitude, longitude : float
        Decimal degrees.
    azimuth_degrees : float
        Clockwise from true north.
    metres : float
        Distance; negative goes backwards.

    Returns
    -------
    tuple of float
        Latitude and longitude in decimal degrees, longitude in [-180, 180].

    Raises
    ------
    ValueError
        If the latitude is outside [-90, 90].

    Examples
    --------
    >>> [round(x, 6) for x in destination(0.0, 0.0, azimuth_degrees=90, metres=111319.490793)]
    [0.0, 1.0]
    """
    _check_latitudes(np.asarray([latitude]))
    to_longitude, to_latitude, _ = _geod().fwd(longitude, latitude, azimuth_degrees, metres)
    return float(to_latitude), float(to_longitude)


def distance_bounds(metres: float, radius: float, to_radius: float) -> tuple[float, float]:
    """Least and most distance between two places known to within a circle each.

    Parameters
    ----------
    metres : float
        Distance between the two centres, at least 0.
    radius, to_radius : float
        coordinateUncertaintyInMeters of each, at least 0.

    Returns
    -------
    tuple of float
        Least (0 where the circles overlap) and most, in metres.

    Raises
    ------
    ValueError
        If any argument is negative or NaN.

    Notes
    -----
    The radii add in full: a point-radius uncertainty is a maximum, not a standard deviation.

    References
    ----------
    Wieczorek, J., Guo, Q. & Hijmans, R. (2004). The point-radius method for georeferencing
    locality descriptions and calculating associated uncertainty. International Journal of
    Geographical Information Science 18: 745-767. https://doi.org/10.1080/13658810412331280211

    Examples
    --------
    >>> distance_bounds(100.0, 30.0, 50.0)
    (20.0, 180.0)
    """
    if not (metres >= 0 and radius >= 0 and to_radius >= 0):
        raise ValueError("a distance or radius is negative or not a number")
    return max(0.0, metres - radius - to_radius), metres + radius + to_radius


def metres_per_degree(latitude: float) -> tuple[float, float]:
    """Length of one degree of latitude and of longitude at a latitude, on WGS84.

    Returns
    -------
    tuple of float
        Metres along the meridian and along the parallel (0 at a pole).

    Raises
    ------
    ValueError
        If the latitude is outside [-90, 90] or NaN.

    References
    ----------
    Chapman, A. D. & Wieczorek, J. R. (2020). Georeferencing Best Practices. GBIF Secretariat.
    https://doi.org/10.15468/doc-gg7h-s853 (radii of curvature M and N)

    Examples
    --------
    >>> [round(x, 1) for x in metres_per_degree(10.27)]
    [110609.6, 109547.6]
    """
    if not -90 <= latitude <= 90:
        raise ValueError("the latitude is outside -90 to 90 degrees")
    squared = FLATTENING * (2 - FLATTENING)
    root = 1 - squared * math.sin(math.radians(latitude)) ** 2
    meridian = SEMI_MAJOR_AXIS * (1 - squared) / root**1.5
    normal = SEMI_MAJOR_AXIS / math.sqrt(root)
    return (
        meridian * math.pi / 180,
        abs(normal * math.cos(math.radians(latitude))) * math.pi / 180,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralisedPoint:
    """A point moved to the centre of its grid cell, with the uncertainty that now covers both."""

    decimal_latitude: float
    decimal_longitude: float
    coordinate_uncertainty_in_meters: float
    coordinate_precision: float


def generalise(
    latitude: float, longitude: float, *, uncertainty_metres: float, precision_degrees: float
) -> GeneralisedPoint:
    """Move a point to the nearest node of a geographic grid and state the uncertainty that follows.

    Parameters
    ----------
    latitude, longitude : float
        Decimal degrees.
    uncertainty_metres : float
        Radius that the point had, at least 0.
    precision_degrees : float
        Grid width, more than 0, for example 0.001.

    Returns
    -------
    GeneralisedPoint
        Every point of a cell gives the same coordinates; the uncertainty is the old one plus the
        distance from the node to the farthest corner of its cell, rounded up to a whole metre,
        so it holds the true place and says nothing of where in the cell it is.

    Raises
    ------
    ValueError
        If the precision is not positive, the uncertainty negative, or the latitude out of range.

    References
    ----------
    Chapman, A. D. (2020). Current Best Practices for Generalizing Sensitive Species Occurrence
    Data. GBIF Secretariat. https://doi.org/10.15468/doc-5jp4-5g10

    Examples
    --------
    >>> point = generalise(53.91234, 21.71876, uncertainty_metres=10, precision_degrees=0.01)
    >>> point.decimal_latitude, point.decimal_longitude, point.coordinate_uncertainty_in_meters
    (53.91, 21.72, 657.0)
    """
    if not precision_degrees > 0:
        raise ValueError("the grid's width must be more than 0 degrees")
    if not uncertainty_metres >= 0:
        raise ValueError("the uncertainty is negative or not a number")
    if not -90 <= latitude <= 90 or not math.isfinite(longitude):
        raise ValueError("the point is not on the earth")
    digits = max(0, math.ceil(-math.log10(precision_degrees) - 1e-9) + 2)
    node_latitude = round(round(latitude / precision_degrees) * precision_degrees, digits)
    node_latitude = min(90.0, max(-90.0, node_latitude))
    node_longitude = round(round(longitude / precision_degrees) * precision_degrees, digits)
    if node_longitude == -180.0:
        node_longitude = 180.0  # one meridian, so one cell
    reach = _reach(node_latitude, precision_degrees)
    return GeneralisedPoint(
        decimal_latitude=node_latitude,
        decimal_longitude=(node_longitude + 180) % 360 - 180
        if abs(node_longitude) > 180
        else node_longitude,
        coordinate_uncertainty_in_meters=float(math.ceil(uncertainty_metres + reach)),
        coordinate_precision=precision_degrees,
    )


@functools.cache
def _reach(latitude: float, precision: float) -> float:
    """Metres from a node of the grid to the farthest corner of its cell, on any meridian."""
    corners = [min(90.0, max(-90.0, latitude + sign * precision / 2)) for sign in (-1, 1)]
    return max(distance(latitude, 0.0, corner, precision / 2) for corner in corners)
