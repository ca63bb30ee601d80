"""Compute the height of the sun at a place and moment: was it dark when the clock says?"""

from __future__ import annotations

import math
from datetime import UTC, datetime


def sun_altitude(latitude: float, longitude: float, moment: datetime) -> float:
    """Altitude of the sun's centre above the horizon, without refraction.

    Parameters
    ----------
    latitude, longitude : float
        Decimal degrees, north and east positive.
    moment : datetime
        Aware, 1950 to 2050.

    Returns
    -------
    float
        Degrees in [-90, 90]; negative when the sun is below the horizon.

    Raises
    ------
    ValueError
        If the moment has no offset.

    Notes
    -----
    Good to about 0.02 degree, which is seconds of time.

    References
    ----------
    Low-precision formulas for the sun's coordinates (The Astronomical Almanac, section C).

    Examples
    --------
    >>> round(sun_altitude(53.9, 21.7, datetime(2026, 6, 21, 10, 35, tzinfo=UTC)), 1)
    59.5
    """
    if moment.tzinfo is None:
        raise ValueError("the moment has no offset")
    days = (moment - datetime(2000, 1, 1, 12, tzinfo=UTC)).total_seconds() / 86_400
    mean_longitude = 280.460 + 0.9856474 * days
    anomaly = math.radians(357.528 + 0.9856003 * days)
    ecliptic = math.radians(
        mean_longitude + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2 * anomaly)
    )
    obliquity = math.radians(23.439 - 0.0000004 * days)
    right_ascension = math.degrees(
        math.atan2(math.cos(obliquity) * math.sin(ecliptic), math.cos(ecliptic))
    )
    declination = math.asin(math.sin(obliquity) * math.sin(ecliptic))
    sidereal = 280.46062 + 360.985647366 * days
    hour_angle = math.radians(sidereal + longitude - right_ascension)
    here = math.radians(latitude)
    height = math.sin(here) * math.sin(declination) + math.cos(here) * math.cos(
        declination
    ) * math.cos(hour_angle)
    return math.degrees(math.asin(max(-1.0, min(1.0, height))))
