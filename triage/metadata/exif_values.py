"""Read one raw value of an Exif tag; ValueError where it states nothing.

Raw values come from two readers: text or bytes, whole numbers, fractions with numerator and
denominator, or sequences of these. None means that the camera said "unknown" as Exif has it.
"""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta

FIRST_YEAR = 1826  # of the oldest photograph that is known
FIRST_GPS_YEAR = 1980  # GPS time starts on 1980-01-06 (IS-GPS-200)
LAST_YEAR = 2199  # leaves room to count from any date read


def text_of(value: object) -> str:
    """Return text cut at its first NUL and trimmed, whatever type the writer gave it."""
    if isinstance(value, tuple | list) and value and all(isinstance(n, int) for n in value):
        value = bytes(n & 0xFF for n in value)
    if isinstance(value, tuple | list):
        value = value[0] if value else ""
    if isinstance(value, bytes):
        value = _decoded(value)
    if not isinstance(value, str):
        raise ValueError("not text")
    return value.split("\0", 1)[0].strip()


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def prefixed_text(value: object) -> str:
    """Read UNDEFINED text with its 8-byte character code (Exif 2.3, 4.6.6)."""
    if isinstance(value, str):
        value = value.encode("latin-1", errors="replace")
    raw = value if isinstance(value, bytes) else bytes(n & 0xFF for n in value)  # type: ignore[attr-defined]
    code, body = raw[:8], raw[8:]
    if code.startswith(b"UNICODE"):
        return body.decode("utf-16-be" if body[:1] == b"\0" else "utf-16-le", "replace").strip(
            "\0 "
        )
    if not code.startswith((b"ASCII", b"JIS", b"\0\0\0\0")):
        body = raw  # a writer that forgot the code
    return _decoded(body).strip("\0 ").split("\0", 1)[0].strip()


def number_of(value: object) -> float | None:
    """Give a finite number, or None for an unknown 0/0; a zero denominator is not understood."""
    if isinstance(value, tuple | list):
        if len(value) != 1:
            raise ValueError("one number expected")
        value = value[0]
    numerator, denominator = getattr(value, "numerator", value), getattr(value, "denominator", 1)
    if denominator == 0 and numerator == 0:
        return None
    number = float(value) if isinstance(value, str) else float(numerator) / float(denominator)  # type: ignore[arg-type]
    if not math.isfinite(number):
        raise ValueError("not finite")
    return number


def integer(value: object) -> int:
    """Return a whole number."""
    number = number_of(value)
    if number is None or number != int(number):
        raise ValueError("not a whole number")
    return int(number)


def altitude_reference(value: object) -> int:
    """Return GPSAltitudeRef, a BYTE that some write as a digit."""
    if isinstance(value, bytes):
        value = value[0] if len(value) == 1 and value[0] < 0x30 else value.decode("ascii")
    return integer(value)


def sexagesimal(value: object) -> tuple[float, float, float] | None:
    """Return degrees, minutes and seconds; parts left out are zero."""
    parts = list(value) if isinstance(value, tuple | list) else [value]
    numbers = [number_of(part) for part in parts[:3]]
    if all(number is None for number in numbers):
        return None  # 0/0 throughout: the camera had no fix
    # One unknown part leaves the place open by up to a degree or a minute: exiftool refuses it too.
    degrees, minutes, seconds = (*numbers, 0.0, 0.0)[:3]
    if degrees is None or minutes is None or seconds is None:
        raise ValueError("a part is unknown")
    return degrees, minutes, seconds


def time_of_day(value: object) -> timedelta | None:
    """Return GPSTimeStamp as the time since midnight UTC."""
    parts = [number_of(part) for part in value]  # type: ignore[attr-defined]
    if not parts or all(part is None for part in parts):
        return None
    hours, minutes, seconds = (*(part or 0.0 for part in parts), 0.0, 0.0)[:3]
    if not (0 <= hours <= 24 and 0 <= minutes < 60 and 0 <= seconds < 61):
        raise ValueError("not a time of day")
    return timedelta(hours=hours, minutes=minutes, seconds=seconds)


_DATE_TIME = re.compile(
    r"(\d{4})\D(\d\d?)\D(\d\d?)[ T]+(\d\d?):(\d\d?)(?::(\d\d?)(?:\.\d+)?)?\s*"
    r"(Z|[+-]\d\d?:?\d\d)?"
)


def date_and_offset(value: object) -> tuple[str, str] | None:
    """Return a local date and time, ISO 8601, and the offset that some write behind it."""
    text = text_of(value)
    if not text.replace(":", "").strip():
        return None  # blanks with colons: Exif's way to say unknown
    found = _DATE_TIME.match(text)
    if not found:
        raise ValueError("not a date")
    numbers = [int(part or 0) for part in found.groups()[:6]]
    if not FIRST_YEAR <= numbers[0] <= LAST_YEAR:
        raise ValueError("not the year of a photograph")
    moment = datetime(*numbers)  # type: ignore[arg-type]  # year ... second
    return moment.isoformat(), (offset(found[7]) or "") if found[7] else ""


def day(value: object) -> datetime | None:
    """Return the midnight (UTC) that begins GPSDateStamp."""
    text = text_of(value)
    if not text.replace(":", "").strip():
        return None
    found = re.match(r"(\d{4})\D(\d\d?)\D(\d\d?)", text)
    if not found:
        raise ValueError("not a date")
    if not FIRST_GPS_YEAR <= int(found[1]) <= LAST_YEAR:
        raise ValueError("not the year of a fix")
    return datetime(int(found[1]), int(found[2]), int(found[3]), tzinfo=UTC)


def offset(value: object) -> str | None:
    """Return an offset from UTC as ``+HH:MM``."""
    text = text_of(value)
    if not text.replace(":", "").strip():
        return None
    if text in ("Z", "z"):
        return "+00:00"
    found = re.fullmatch(r"([+-])(\d\d?):?(\d\d)", text.replace("\N{MINUS SIGN}", "-"))
    if not found or int(found[2]) > 14 or int(found[3]) > 59:
        raise ValueError("not an offset")
    return f"{found[1]}{int(found[2]):02d}:{found[3]}"


def sub_sec(value: object) -> str | None:
    """Return the digits of a fraction of a second."""
    text = text_of(value) if not isinstance(value, int) else str(value)
    if not text:
        return None
    if not re.fullmatch(r"[0-9]{1,12}", text):
        raise ValueError("not digits")
    return text


def step(value: object) -> float | None:
    """Return the smallest step, in degrees, that the fractions of a coordinate can express."""
    parts = list(value) if isinstance(value, tuple | list) else [value]
    steps: list[float] = []
    for part, unit in zip(parts, (1.0, 60.0, 3600.0), strict=False):
        denominator = getattr(part, "denominator", 0)
        if denominator and part != 0:  # 0 seconds may be a writer's way to say none
            steps.append(1 / (unit * denominator))
    return min(steps, default=None)
