"""A photo file in, the Exif, XMP and IPTC facts that the survey uses out, oddities included."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ExifRecord:
    """The fields used, as the file states them; empty text or None where absent or unreadable.

    Dates are local ``YYYY-MM-DDTHH:MM:SS``; ``offset_time`` is OffsetTimeOriginal (``+HH:MM``);
    ``gps_instant`` is GPSDateStamp and GPSTimeStamp (UTC, aware). Latitude and longitude are
    signed decimal degrees. ``not_understood`` lists tags that were there and could not be read.
    """

    date_time_original: str = ""
    sub_sec_time_original: str = ""
    date_time_digitized: str = ""
    date_time: str = ""
    offset_time: str = ""
    gps_latitude: float | None = None
    gps_longitude: float | None = None
    gps_altitude: float | None = None
    gps_instant: datetime | None = None
    gps_h_positioning_error: float | None = None
    gps_dop: float | None = None
    gps_status: str = ""
    gps_processing_method: str = ""
    gps_map_datum: str = ""
    orientation: int | None = None
    make: str = ""
    model: str = ""
    body_serial_number: str = ""
    software: str = ""
    not_understood: tuple[str, ...] = ()
