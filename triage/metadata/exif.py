"""Read the Exif, XMP and IPTC facts that the survey uses, oddities included.

Exif: CIPA DC-008 / JEITA CP-3451 (2.3, 2.31, 2.32, 3.0). Where a fact is missing there, XMP
(ISO 16684-1) and then IPTC IIM 4.2 are asked, in the order of the Metadata Working Group's
guidelines 2.0 (2010); docs/metadata.md states the rule for each field.
"""

from __future__ import annotations

import contextlib
import logging
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from triage.metadata import exif_values
from triage.metadata.containers import BoundedFile, exif_block
from triage.metadata.xmp_iptc import EmbeddedFacts, embedded_facts

# exifread logs what it meets in a file, which may be a person's name; nothing of it is needed.
logging.getLogger("exifread").setLevel(logging.CRITICAL + 1)

T = TypeVar("T")
Tags = Mapping[tuple[str, int], object]  # (directory, tag number) -> raw value


@dataclass(frozen=True, slots=True, kw_only=True)
class ExifRecord:
    """The fields used, as the file states them; empty text or None where absent or unreadable.

    Dates are local ``YYYY-MM-DDTHH:MM:SS``; ``offset_time`` is OffsetTimeOriginal (``+HH:MM``);
    ``gps_instant`` is GPSDateStamp and GPSTimeStamp (UTC, aware). Latitude and longitude are
    signed decimal degrees. ``not_understood`` lists tags that were there and could not be read.
    ``offset_time_file`` is OffsetTime, which belongs to ``date_time``; ``gps_time_of_day`` is
    GPSTimeStamp (UTC) also where the file has no GPSDateStamp; ``oddities`` are one-clause
    remarks on what was read but is not as Exif has it (a missing reference, minutes past 60);
    ``other_sources`` names each field that came from elsewhere (``date_time_original: XMP``);
    ``gps_coordinate_precision`` is the smallest step in degrees that the fractions of the
    coordinates express: 1/3600 for whole seconds.
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
    offset_time_file: str = ""
    gps_time_of_day: str = ""
    oddities: tuple[str, ...] = ()
    other_sources: tuple[str, ...] = ()
    gps_coordinate_precision: float | None = None


# The tags read: (directory, number) -> Exif's name. A camera's DateTimeOriginal sits in the Exif
# directory; TIFF/EP (ISO 12234-2) files keep it and the serial number's kin in the first one.
_TAG_NAMES = {
    ("0th", 0x010F): "Make",
    ("0th", 0x0110): "Model",
    ("0th", 0x0112): "Orientation",
    ("0th", 0x0131): "Software",
    ("0th", 0x0132): "DateTime",
    ("Exif", 0x9003): "DateTimeOriginal",
    ("Exif", 0x9004): "DateTimeDigitized",
    ("Exif", 0x9010): "OffsetTime",
    ("Exif", 0x9011): "OffsetTimeOriginal",
    ("Exif", 0x9291): "SubSecTimeOriginal",
    ("Exif", 0xA431): "BodySerialNumber",
    ("GPS", 0x01): "GPSLatitudeRef",
    ("GPS", 0x02): "GPSLatitude",
    ("GPS", 0x03): "GPSLongitudeRef",
    ("GPS", 0x04): "GPSLongitude",
    ("GPS", 0x05): "GPSAltitudeRef",
    ("GPS", 0x06): "GPSAltitude",
    ("GPS", 0x07): "GPSTimeStamp",
    ("GPS", 0x09): "GPSStatus",
    ("GPS", 0x0B): "GPSDOP",
    ("GPS", 0x12): "GPSMapDatum",
    ("GPS", 0x1B): "GPSProcessingMethod",
    ("GPS", 0x1D): "GPSDateStamp",
    ("GPS", 0x1F): "GPSHPositioningError",
}


def read_exif(content: bytes) -> ExifRecord:
    """Read the facts of one photo file; whatever the bytes are, no exception leaves.

    A tag that cannot be read is named in ``not_understood`` and costs only itself. A file
    without metadata gives an empty record.
    """
    remarks: list[str] = []
    tags: Tags = {}
    try:
        block = exif_block(content)
        tags = _tags_of(block, remarks) if block else {}
    except Exception as error:  # hostile bytes: any reader may fail in any way
        remarks.append(f"Exif block: {type(error).__name__}")
    record = _record(tags, remarks)
    if record.date_time_original and record.gps_latitude is not None and record.make:
        return record
    try:
        facts = embedded_facts(content)
    except Exception as error:  # as above
        note = f"XMP or IPTC: {type(error).__name__}"
        return replace(record, not_understood=(*record.not_understood, note))
    return _completed(record, facts)


def _tags_of(block: bytes, remarks: list[str]) -> Tags:
    if block[2:4] in (b"+\0", b"\0+"):
        return _by_pillow(block)  # BigTIFF, which exifread does not know
    # exifread reads more of what cameras write than Pillow, but one bad tag can end it with the
    # rest unread; Pillow's directory reader keeps what it has. So the second where the first fails.
    try:
        return _by_exifread(block)
    except Exception as error:
        remarks.append(f"Exif block: first reader failed ({type(error).__name__}), second used")
        return _by_pillow(block)


_EXIFREAD_DIRECTORY = {"Image": "0th", "EXIF": "Exif", "GPS": "GPS"}


def _by_exifread(block: bytes) -> Tags:
    import exifread

    found = exifread.process_file(BoundedFile(block), details=False, extract_thumbnail=False)
    tags: dict[tuple[str, int], object] = {}
    for key, tag in found.items():
        directory = _EXIFREAD_DIRECTORY.get(key.split(" ", 1)[0])
        if directory and hasattr(tag, "values"):
            tags[directory, tag.tag] = tag.values
    if not tags and len(block) > 8:
        raise ValueError("no tag found")
    return tags


def _by_pillow(block: bytes) -> Tags:
    from PIL.TiffImagePlugin import ImageFileDirectory_v2

    tags: dict[tuple[str, int], object] = {}
    big = block[2:4] in (b"+\0", b"\0+")
    header = block[: 16 if big else 8]

    def take(directory: str, offset: int) -> None:
        entries = ImageFileDirectory_v2(header)
        stream = BoundedFile(block)
        stream.seek(offset)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with contextlib.suppress(Exception):  # what was read until then stays
                entries.load(stream)
            for number in list(entries):
                try:
                    tags[directory, number] = entries[number]
                except Exception:  # this tag only
                    tags[directory, number] = _UNREADABLE

    order = "little" if block[:2] == b"II" else "big"
    take("0th", int.from_bytes(header[8:] if big else header[4:], order))  # type: ignore[arg-type]
    for pointer, directory in ((0x8769, "Exif"), (0x8825, "GPS")):
        offset = tags.get(("0th", pointer))
        if isinstance(offset, int):
            try:
                take(directory, offset)
            except Exception:  # this directory only
                tags[directory, 0x10000] = _UNREADABLE
    return tags


_UNREADABLE = object()


class _Reader:
    """The tags of one file with what could not be made of them."""

    def __init__(self, tags: Tags, remarks: list[str]) -> None:
        self.not_understood = remarks
        self.oddities: list[str] = []
        self._raw = {name: tags[key] for key, name in _TAG_NAMES.items() if key in tags}
        for (directory, number), name in _TAG_NAMES.items():
            if directory == "Exif" and name not in self._raw and ("0th", number) in tags:
                self._raw[name] = tags["0th", number]

    def read(self, name: str, parse: Callable[[object], T | None]) -> T | None:
        if name not in self._raw:
            return None
        try:
            value = parse(self._raw[name])
        except Exception:
            value = None
            self.not_understood.append(f"{name}: {_shown(self._raw[name])}")
        return value

    def silent(self, name: str, parse: Callable[[object], T | None]) -> T | None:
        """Read a tag that another reading already reports on."""
        try:
            return parse(self._raw[name])
        except Exception:
            return None

    def text(self, name: str) -> str:
        return self.read(name, exif_values.text_of) or ""

    def number(self, name: str) -> float | None:
        return self.read(name, exif_values.number_of)


def _record(tags: Tags, remarks: list[str]) -> ExifRecord:
    reader = _Reader(tags, remarks)
    original = reader.read("DateTimeOriginal", exif_values.date_and_offset) or ("", "")
    digitized = reader.read("DateTimeDigitized", exif_values.date_and_offset) or ("", "")
    changed = reader.read("DateTime", exif_values.date_and_offset) or ("", "")
    instant, time_of_day = _gps_time(reader)
    orientation = reader.read("Orientation", exif_values.integer)
    if orientation is not None and not 1 <= orientation <= 8:
        reader.oddities.append(f"Orientation is {orientation}, Exif knows 1 to 8")
    return ExifRecord(
        date_time_original=original[0],
        sub_sec_time_original=reader.read("SubSecTimeOriginal", exif_values.sub_sec) or "",
        date_time_digitized=digitized[0],
        date_time=changed[0],
        offset_time=reader.read("OffsetTimeOriginal", exif_values.offset) or original[1],
        offset_time_file=reader.read("OffsetTime", exif_values.offset) or changed[1],
        gps_latitude=_coordinate(reader, "GPSLatitude", positive="N", negative="S"),
        gps_longitude=_coordinate(reader, "GPSLongitude", positive="E", negative="W"),
        gps_coordinate_precision=_coordinate_precision(reader),
        gps_altitude=_altitude(reader),
        gps_instant=instant,
        gps_time_of_day=time_of_day,
        gps_h_positioning_error=reader.number("GPSHPositioningError"),
        gps_dop=reader.number("GPSDOP"),
        gps_status=reader.text("GPSStatus").upper(),
        gps_processing_method=reader.read("GPSProcessingMethod", exif_values.prefixed_text) or "",
        gps_map_datum=reader.text("GPSMapDatum"),
        orientation=orientation,
        make=reader.text("Make"),
        model=reader.text("Model"),
        body_serial_number=reader.text("BodySerialNumber"),
        software=reader.text("Software"),
        not_understood=tuple(reader.not_understood),
        oddities=tuple(reader.oddities),
    )


def _coordinate(reader: _Reader, name: str, *, positive: str, negative: str) -> float | None:
    parts = reader.read(name, exif_values.sexagesimal)
    if parts is None:
        return None
    degrees, minutes, seconds = parts
    if minutes >= 60 or seconds > 60:  # who rounds 59.99 up to 60 means the next minute
        reader.oddities.append(f"{name} has {minutes:g} minutes and {seconds:g} seconds")
    value = abs(degrees) + minutes / 60 + seconds / 3600
    reference = reader.text(f"{name}Ref").upper()[:1]
    if reference not in (positive, negative):
        reader.oddities.append(f"{name}Ref is missing: the sign is unknown")
    if degrees < 0 or reference == negative:
        value = -value
    if abs(value) > 360:
        reader.not_understood.append(f"{name}: {value:g}")
        return None
    return value


def _coordinate_precision(reader: _Reader) -> float | None:
    steps = [reader.silent(name, exif_values.step) for name in ("GPSLatitude", "GPSLongitude")]
    known = [step for step in steps if step is not None]
    # Fractions come reduced, 3000/100 as 30/1: the finer of the two is the step written.
    return min(known) if known else None


def _altitude(reader: _Reader) -> float | None:
    altitude = reader.number("GPSAltitude")
    reference = reader.read("GPSAltitudeRef", exif_values.altitude_reference)
    # 1 is below the sea, 3 (Exif 3.0) below the ellipsoid; a missing reference means above.
    return -abs(altitude) if altitude and reference in (1, 3) else altitude


def _gps_time(reader: _Reader) -> tuple[datetime | None, str]:
    of_day = reader.read("GPSTimeStamp", exif_values.time_of_day)
    if of_day is None:
        return None, ""
    shown = (datetime(2000, 1, 1) + of_day).time().isoformat() if of_day.days == 0 else ""
    date = reader.read("GPSDateStamp", exif_values.day)
    return (date + of_day if date else None), shown


def _shown(value: object) -> str:
    text = repr(exif_values.text_of(value)) if isinstance(value, str | bytes) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _completed(record: ExifRecord, facts: EmbeddedFacts) -> ExifRecord:
    """Fill what Exif left empty from XMP or IPTC; what Exif states is never replaced."""
    taken = {
        field: (value, source)
        for field, (value, source) in facts.items()
        if getattr(record, field) in ("", None)
    }
    if "date_time_original" not in taken:  # parts of a date belong to the date they stand with
        for field in ("offset_time", "sub_sec_time_original"):
            taken.pop(field, None)
    values = {field: value for field, (value, _) in taken.items()}
    sources = tuple(f"{field}: {source}" for field, (_, source) in taken.items())
    return replace(record, **values, other_sources=sources)  # type: ignore[arg-type]


def exif_only(record: ExifRecord) -> ExifRecord:
    """Return the record without what came from XMP or IPTC."""
    blank = {
        entry.partition(":")[0]: None if entry.startswith("gps_") else ""
        for entry in record.other_sources
    }
    return replace(record, **blank, other_sources=())  # type: ignore[arg-type]
