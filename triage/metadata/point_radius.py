"""Add up the sources of a place's uncertainty, in metres: the point-radius method.

Wieczorek, J., Guo, Q. & Hijmans, R. (2004). International Journal of Geographical Information
Science 18: 745-767. https://doi.org/10.1080/13658810412331280211; as revised by Chapman, A. D. &
Wieczorek, J. R. (2020). Georeferencing Best Practices. https://doi.org/10.15468/doc-gg7h-s853.
The sources add in full: the result is a maximum, not a standard deviation.
"""

from __future__ import annotations

import math
from fractions import Fraction

from triage.analysis.geodesy import metres_per_degree

UNKNOWN_DATUM_METRES = 5359.0  # worst shift between datums (Chapman & Wieczorek 2020)
GPS_METRES_SINCE_MAY_2000 = 30.0  # Darwin Core, coordinateUncertaintyInMeters, examples
GPS_METRES_BEFORE = 100.0  # the same, before selective availability ended on 2000-05-01
SELECTIVE_AVAILABILITY_ENDED = "2000-05-01"


def coordinate_precision_uncertainty(latitude: float, precision_degrees: float) -> float:
    """Uncertainty that comes from coordinates written no finer than a step.

    Parameters
    ----------
    latitude : float
        Decimal degrees in [-90, 90].
    precision_degrees : float
        The step in degrees, at least 0: 0.01, 1/60 for minutes, 1/3600 for seconds.

    Returns
    -------
    float
        Metres: the diagonal of one step of latitude and one of longitude there; 0 for a step of 0.

    Raises
    ------
    ValueError
        If the latitude is out of range or the step negative.

    References
    ----------
    Chapman & Wieczorek (2020), uncertainty due to coordinate precision.
    https://doi.org/10.15468/doc-gg7h-s853

    Examples
    --------
    >>> round(coordinate_precision_uncertainty(10.27, 0.01), 2)
    1556.76
    """
    if not precision_degrees >= 0:
        raise ValueError("the step is negative or not a number")
    north, east = metres_per_degree(latitude)
    return math.hypot(north, east) * precision_degrees


STEPS = (0.1, 1 / 60, 0.01, 0.001, 0.0001)  # degrees; finer ones add less than 2 m


def digits_uncertainty(latitude: float, longitude: float) -> float:
    """Metres that the digits of a point leave open: a number has lost the zeros at its end.

    By the coarsest step, minutes too, of which both halves are multiples; 0 for a finer one.

    >>> points = (53.9, 21.7), (53.91667, 21.73333), (53.90123, 21.7)
    >>> [round(digits_uncertainty(*point)) for point in points]
    [12926, 2154, 0]
    """
    for step in STEPS:
        slack = 5e-6 if step == 1 / 60 else 1e-7  # 53.91667 is 55 minutes
        if all(abs(round(x / step) * step - x) < slack for x in (latitude, longitude)):
            return coordinate_precision_uncertainty(latitude, step)
    return 0.0


def distance_precision(distance: str) -> float:
    """Uncertainty of a distance by the way it is written, in its own unit.

    Parameters
    ----------
    distance : str
        The number as written, for example ``"10.25"``.

    Returns
    -------
    float
        Half of the step written: of the simple fraction for 0.5, 0.25, 0.75, of the last decimal
        otherwise; for a whole number of the power of ten it seems rounded to, one lower where it
        is itself a power of ten.

    Raises
    ------
    ValueError
        If the text is no positive number.

    References
    ----------
    Chapman & Wieczorek (2020), table of uncertainty from offset precision.
    https://doi.org/10.15468/doc-gg7h-s853

    Examples
    --------
    >>> [distance_precision(d) for d in ("10.25", "10", "140", "2000")]
    [0.125, 0.5, 5.0, 50.0]
    """
    value = Fraction(distance)
    if value <= 0:
        raise ValueError("a distance must be more than 0")
    if value.denominator in (2, 4):
        return 0.5 / value.denominator
    if value.denominator > 1 or "." in distance:  # 10.0 is written to the tenth
        return 0.5 / 10.0 ** len(distance.partition(".")[2])
    whole = int(value)
    zeros = len(str(whole)) - len(str(whole).rstrip("0"))
    return 0.5 * 10.0 ** max(0, min(zeros, len(str(whole)) - 2))


def heading_half_angle(heading: str) -> float:
    """Half the angle that a compass heading leaves open: N 45, NE 22.5, NNE 11.25 degrees.

    Raises ValueError for what is no heading of one to three letters.

    >>> heading_half_angle("NE")
    22.5
    """
    if not heading or not set(heading.upper()) <= set("NESW") or len(heading) > 3:
        raise ValueError(f"{heading} is not a compass heading")
    return 90.0 / 2.0 ** len(heading)


def direction_uncertainty(distance: float, half_angle_degrees: float) -> float:
    """Uncertainty across the way that comes from a direction given as a heading.

    Parameters
    ----------
    distance : float
        In any unit, at least 0.
    half_angle_degrees : float
        The heading's half angle, 0 to 180.

    Returns
    -------
    float
        The chord between the middle of the heading and its edge, in the unit of the distance.

    Raises
    ------
    ValueError
        If an argument is out of range.

    References
    ----------
    Chapman & Wieczorek (2020). https://doi.org/10.15468/doc-gg7h-s853

    Examples
    --------
    >>> round(direction_uncertainty(10.0, 22.5), 2)
    3.9
    """
    if not distance >= 0 or not 0 <= half_angle_degrees <= 180:
        raise ValueError("distance or angle out of range")
    return distance * math.sqrt(2 - 2 * math.cos(math.radians(half_angle_degrees)))


def gps_uncertainty(event_date: str) -> float:
    """Metres for a GPS place whose accuracy was not recorded, by its date (ISO 8601, may be empty).

    An unknown date counts as before May 2000, the larger value.
    """
    known_since = event_date[:10] >= SELECTIVE_AVAILABILITY_ENDED
    return GPS_METRES_SINCE_MAY_2000 if known_since else GPS_METRES_BEFORE
