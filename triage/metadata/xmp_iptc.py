"""Read the time, place and camera that a photo's XMP and IPTC state.

XMP: ISO 16684-1 with CIPA DC-010 (Exif in XMP); IPTC: IIM 4.2, datasets 2:55 and 2:60. Order after
the Metadata Working Group's guidelines 2.0 (2010): XMP before IPTC, unless the digest that the
last writer left shows that a program which knows only IPTC changed it since.
"""

from __future__ import annotations

import hashlib
import re
import warnings
from collections.abc import Iterator
from datetime import datetime

from triage.analysis.media_types import riff_chunks
from triage.metadata.containers import BoundedFile, jpeg_segments

MAX_XMP = 1024 * 1024  # bytes of one packet; cameras write under 64 KiB
_IPTC_RESOURCE = 0x0404  # in the Photoshop block of APP13
_IPTC_DIGEST = 0x0425  # MD5 of that resource when it was written

EmbeddedFacts = dict[str, tuple[object, str]]  # field of ExifRecord -> (value, "XMP" or "IPTC")


def embedded_facts(content: bytes) -> EmbeddedFacts:
    """Return what XMP and IPTC state, by field of the record, with the source of each."""
    packet, photoshop = _packets(content)
    xmp = _xmp_facts(packet)
    iptc = _iptc_facts(photoshop)
    digest = photoshop.get(_IPTC_DIGEST)
    changed = digest is not None and digest != _md5(photoshop.get(_IPTC_RESOURCE, b""))
    first, second = (iptc, xmp) if changed else (xmp, iptc)
    facts = {**second, **first}
    if "date_time_original" in first and "offset_time" not in first:
        facts.pop("offset_time", None)  # an offset belongs to the date it stands with
    return facts


def _md5(data: bytes) -> bytes:
    return hashlib.md5(data, usedforsecurity=False).digest()


def _packets(content: bytes) -> tuple[bytes, dict[int, bytes]]:
    if content[:4] == b"RIFF":
        for name, data in riff_chunks(content):
            if name == b"XMP ":
                return data[:MAX_XMP], {}
        return b"", {}
    if content[4:8] == b"ftyp":
        import pillow_heif

        heif = pillow_heif.open_heif(content, convert_hdr_to_8bit=False)
        return bytes(heif.info.get("xmp") or b"")[:MAX_XMP], {}
    if content[:4] in (b"II*\0", b"MM\0*"):
        return _tiff_packet(content), {}
    segments = jpeg_segments(content) if content[:2] == b"\xff\xd8" else []
    head = content[: segments[-1][2]] if segments else content  # none stands behind the scan
    if b"xap/1.0/" not in head and b"8BIM" not in head and b"XML:com.adobe" not in head:
        return b"", {}
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            with Image.open(BoundedFile(content), formats=("JPEG", "PNG")) as image:
                info = dict(image.info)
        except (OSError, Image.DecompressionBombError):
            return b"", {}  # not an image that can be opened: nothing to ask
    photoshop = info.get("photoshop")
    resources = {k: v for k, v in (photoshop or {}).items() if isinstance(v, bytes)}
    packet = info.get("xmp") or info.get("XML:com.adobe.xmp") or b""
    packet = packet.encode() if isinstance(packet, str) else packet
    return packet[:MAX_XMP], resources


def _tiff_packet(content: bytes) -> bytes:
    """Return tag 700 of a TIFF file without opening its picture."""
    from PIL.TiffImagePlugin import ImageFileDirectory_v2

    entries = ImageFileDirectory_v2(content[:8])
    stream = BoundedFile(content)
    stream.seek(int.from_bytes(content[4:8], "little" if content[:2] == b"II" else "big"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        entries.load(stream)
        packet = entries.get(700, b"")
    return bytes(packet)[:MAX_XMP] if isinstance(packet, bytes | tuple) else b""


def _xmp_facts(packet: bytes) -> EmbeddedFacts:
    if not packet:
        return {}
    from PIL import Image

    holder = Image.new("1", (1, 1))
    holder.info["xmp"] = packet
    stated: dict[str, str] = {}
    for name, text in _leaves(holder.getxmp(), depth=0):
        stated.setdefault(name, text)
    facts: EmbeddedFacts = {}
    when = next((stated[n] for n in ("DateTimeOriginal", "DateCreated") if n in stated), "")
    _take_date(facts, when, "XMP")
    for field, name in (("make", "Make"), ("model", "Model")):
        if stated.get(name, "").strip():
            facts[field] = (stated[name].strip(), "XMP")
    latitude = _xmp_coordinate(stated.get("GPSLatitude", ""), "NS")
    longitude = _xmp_coordinate(stated.get("GPSLongitude", ""), "EW")
    if latitude is not None and longitude is not None:
        facts["gps_latitude"] = (latitude, "XMP")
        facts["gps_longitude"] = (longitude, "XMP")
    return facts


def _leaves(node: object, *, depth: int) -> Iterator[tuple[str, str]]:
    if depth > 20:
        return
    if isinstance(node, dict):
        for name, value in node.items():
            if isinstance(value, str):
                yield name, value
            else:
                yield from _leaves(value, depth=depth + 1)
    elif isinstance(node, list):
        for value in node:
            yield from _leaves(value, depth=depth + 1)


def _take_date(facts: EmbeddedFacts, text: str, source: str) -> None:
    found = re.match(
        r"(\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?)(\.\d+)?(Z|[+-]\d\d:\d\d)?\s*$", text.strip()
    )
    if not found:
        return
    try:
        moment = datetime.fromisoformat(found[1])
    except ValueError:
        return
    facts["date_time_original"] = (moment.isoformat(), source)
    if found[2] and len(found[2]) <= 13:
        facts["sub_sec_time_original"] = (found[2][1:], source)
    if found[3]:
        facts["offset_time"] = ("+00:00" if found[3] == "Z" else found[3], source)


def _xmp_coordinate(text: str, references: str) -> float | None:
    """Read ``DDD,MM,SSk`` or ``DDD,MM.mmk`` (XMP Specification part 2, GPSCoordinate)."""
    found = re.fullmatch(
        r"(\d{1,3}),(\d{1,2}(?:\.\d+)?)(?:,(\d{1,2}(?:\.\d+)?))?([NSEW])", text.strip()
    )
    if not found or found[4] not in references:
        return None
    value = int(found[1]) + float(found[2]) / 60 + float(found[3] or 0) / 3600
    return -value if found[4] in "SW" else value


def _iptc_facts(photoshop: dict[int, bytes]) -> EmbeddedFacts:
    datasets = _iptc_datasets(photoshop.get(_IPTC_RESOURCE, b""))
    date, time = datasets.get((2, 55), b""), datasets.get((2, 60), b"")
    day = re.fullmatch(rb"(\d{4})(\d\d)(\d\d)", date)
    clock = re.fullmatch(rb"(\d\d)(\d\d)(\d\d)([+-]\d\d)?(\d\d)?", time)
    facts: EmbeddedFacts = {}
    if day and clock:
        text = b"-".join(day.groups()) + b"T" + b":".join(clock.groups()[:3])
        offset = clock[4] + b":" + clock[5] if clock[4] and clock[5] else b""
        _take_date(facts, (text + offset).decode("ascii"), "IPTC")
    return facts


def _iptc_datasets(data: bytes) -> dict[tuple[int, int], bytes]:
    datasets: dict[tuple[int, int], bytes] = {}
    at = 0
    while at + 5 <= len(data) and data[at] == 0x1C:
        length = int.from_bytes(data[at + 3 : at + 5], "big")
        if length > 0x7FFF:
            break  # extended datasets hold pictures, never a date
        datasets.setdefault((data[at + 1], data[at + 2]), data[at + 5 : at + 5 + length])
        at += 5 + length
    return datasets
