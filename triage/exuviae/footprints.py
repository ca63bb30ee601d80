"""Check a footprint (well-known text or a GeoJSON geometry) and find its point.

Shapes in longitude and latitude, EPSG:4326: Darwin Core ``footprintWKT``; GeoJSON as RFC 7946.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from triage.analysis import geodesy

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

KINDS = ("Point", "LineString", "Polygon", "MultiPoint", "MultiLineString", "MultiPolygon")
MAXIMUM_VERTICES = 200_000
MAXIMUM_SPAN_IN_METERS = 500_000.0  # a footprint wider than this is a slip, not a water
MAXIMUM_CHARACTERS = 8_000_000


def read_footprint(written: str | dict[str, Any]) -> BaseGeometry:
    """The shape of a footprint, two-dimensional and valid.

    Raises
    ------
    ValueError
        The text is no shape, of another kind, empty, invalid, too large, or off the globe; the
        message says which, and what to do.
    """
    import shapely

    try:
        shape = _shape(written)
    except (  # all of these come from text and structures that are no shape
        shapely.errors.ShapelyError,
        AttributeError,
        LookupError,
        RecursionError,
        TypeError,
        ValueError,
    ) as error:
        raise ValueError(
            "The footprint cannot be read as a shape. Write it as "
            "POINT, LINESTRING or POLYGON with longitude before latitude."
        ) from error
    if shape is None or shape.geom_type not in KINDS:
        raise ValueError("The footprint is not a point, line or polygon.")
    _check(shape)
    return shape


def _shape(written: str | dict[str, Any]) -> BaseGeometry:
    import shapely

    if isinstance(written, str) and len(written) > MAXIMUM_CHARACTERS:
        raise ValueError("longer than any shore")
    # Numbers like 9e999 become infinite with a warning of numpy's; the check finds them.
    with np.errstate(all="ignore"):
        if isinstance(written, str):
            shape = shapely.from_wkt(written)
        else:
            shape = shapely.geometry.shape(written)
        return shapely.force_2d(shape)


def _check(shape: BaseGeometry) -> None:
    import shapely

    if shape.is_empty:
        raise ValueError("The footprint is empty. Leave the cell blank or draw the shape.")
    places = shapely.get_coordinates(shape)
    if len(places) > MAXIMUM_VERTICES:
        raise ValueError(f"The footprint has more than {MAXIMUM_VERTICES} points. Simplify it.")
    longitudes, latitudes = places[:, 0], places[:, 1]
    if not np.isfinite(places).all() or (np.abs(longitudes) > 180).any():
        raise ValueError("The footprint leaves the range of longitudes, -180 to 180.")
    if (np.abs(latitudes) > 90).any():
        raise ValueError(
            "The footprint leaves the range of latitudes, -90 to 90. "
            "Longitude stands before latitude."
        )
    if not shape.is_valid:
        reason = shapely.is_valid_reason(shape)
        raise ValueError(f"The footprint is not valid ({reason}). Draw it again.")
    if longitudes.max() - longitudes.min() > 180:
        raise ValueError("The footprint spans the globe. Divide it at the 180th meridian.")
    span = _farthest(shape, float(latitudes[0]), float(longitudes[0]))
    if span > MAXIMUM_SPAN_IN_METERS:
        raise ValueError(f"The footprint spans {span / 1000:.0f} km. Check its coordinates.")


def point_of_footprint(shape: BaseGeometry) -> tuple[float, float, float]:
    """Latitude, longitude and radius in metres of the point that stands for a footprint.

    The corrected centre and geographic radial of the point-radius method: the point of the shape
    nearest to the centre of the smallest enclosing circle, and the distance from there to the
    farthest point of the shape.

    References
    ----------
    Chapman, A. D. & Wieczorek, J. R. (2020). Georeferencing Best Practices.
    https://doi.org/10.15468/doc-gg7h-s853
    """
    import shapely

    # Stretched by the cosine of latitude the shape keeps its angles, as far as a water extends.
    places = shapely.get_coordinates(shape)
    stretch = max(float(np.cos(np.radians(places[:, 1].mean()))), 1e-6)
    flat = shapely.transform(shape, lambda xy: xy * [stretch, 1.0])
    centre = shapely.minimum_bounding_circle(flat).centroid
    if centre.is_empty:
        centre = shapely.centroid(flat)
    nearest = shapely.get_point(shapely.shortest_line(flat, centre), 0)
    longitude, latitude = float(nearest.x) / stretch, float(nearest.y)
    return latitude, longitude, _farthest(shape, latitude, longitude)


def _farthest(shape: BaseGeometry, latitude: float, longitude: float) -> float:
    import shapely

    places = shapely.get_coordinates(shape)
    return float(geodesy.distances(latitude, longitude, places[:, 1], places[:, 0]).max())
