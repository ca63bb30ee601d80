"""Writes photo files with their Exif as cameras and phones do.

Tags as CIPA DC-008 (Exif 2.32) has them: phones state their offset and the place with its error
(GPSHPositioningError), cameras state neither. Portrait photos are stored as the sensor saw them,
with the Orientation tag saying how to turn them.
"""

from __future__ import annotations

import io
import zlib
from datetime import UTC, datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from triage.demo.scenario import WATERS, ZONE, Device, Picture

_DEGREE_PER_METRE = 1 / 111_320  # of latitude; close enough to scatter points around a water


def camera_clock(device: Device, taken: datetime) -> datetime:
    """Return what the camera's own clock showed at the true local time `taken`."""
    if device.unset_since is None:
        return taken + device.clock_error
    minutes = zlib.crc32(taken.isoformat().encode()) % 50
    return device.unset_since.replace(minute=minutes + 2, second=taken.second)


def fix(picture: Picture) -> tuple[float, float, float] | None:
    """Return latitude, longitude and error (m) as the device's receiver stated them, or None."""
    if not picture.spot or picture.taken is None:
        return None
    water = WATERS[picture.spot]
    draw = np.random.default_rng(zlib.crc32(picture.file_name.encode()))
    north, east = draw.uniform(-0.3, 0.3, 2) * water.radius
    error = float(round(draw.uniform(3.5, 12.0), 1))
    scale = _DEGREE_PER_METRE / float(np.cos(np.radians(water.latitude)))
    return (
        round(water.latitude + north * _DEGREE_PER_METRE, 6),
        round(water.longitude + east * scale, 6),
        error,
    )


def exif_for(picture: Picture, device: Device, width: int, height: int) -> Image.Exif:
    """Write the tags this device writes for this picture; the size is that of the stored pixels."""
    exif = Image.Exif()
    if picture.taken is None:
        return exif
    clock = camera_clock(device, picture.taken)
    stamp = clock.strftime("%Y:%m:%d %H:%M:%S")
    exif[0x010F], exif[0x0110] = device.make, device.model
    exif[0x0112] = picture.orientation
    exif[0x011A], exif[0x011B], exif[0x0128] = IFDRational(72), IFDRational(72), 2
    exif[0x0213] = 1
    exif[0x0132] = stamp
    if device.software:
        exif[0x0131] = device.software
    inner = exif.get_ifd(0x8769)
    inner[0x9000], inner[0x9101], inner[0xA000] = b"0232", b"\x01\x02\x03\x00", b"0100"
    inner[0xA002], inner[0xA003] = width, height
    inner[0x9003] = inner[0x9004] = stamp
    digits = f"{zlib.crc32(picture.file_name.encode()) % 100:02d}"
    inner[0x9291] = inner[0x9292] = digits if not device.phone else digits + "7"
    inner[0x829A] = IFDRational(1, 640)
    inner[0x829D] = IFDRational(28, 10) if device.phone else IFDRational(8)
    inner[0x8827] = 200
    inner[0x920A] = IFDRational(57, 10) if device.phone else IFDRational(100)
    inner[0xA001] = 1
    if device.serial:
        inner[0xA431] = device.serial
    if device.phone:
        local = picture.taken.replace(tzinfo=ZoneInfo(ZONE))
        text = local.strftime("%z")
        inner[0x9010] = inner[0x9011] = inner[0x9012] = f"{text[:3]}:{text[3:]}"
    if device.gps:
        _write_gps(exif, picture)
    return exif


def _write_gps(exif: Image.Exif, picture: Picture) -> None:
    place = fix(picture)
    if place is None or picture.taken is None:
        return
    latitude, longitude, error = place
    moment = picture.taken.replace(tzinfo=ZoneInfo(ZONE)).astimezone(UTC)
    gps = exif.get_ifd(0x8825)
    gps[0] = b"\x02\x03\x00\x00"
    gps[1], gps[2] = ("N" if latitude >= 0 else "S"), _sexagesimal(latitude)
    gps[3], gps[4] = ("E" if longitude >= 0 else "W"), _sexagesimal(longitude)
    gps[5], gps[6] = b"\x00", IFDRational(1174, 10)
    gps[7] = tuple(IFDRational(v) for v in (moment.hour, moment.minute, moment.second))
    gps[18] = "WGS-84"
    gps[27] = b"ASCII\x00\x00\x00GPS"
    gps[29] = moment.strftime("%Y:%m:%d")
    ratio = Fraction(error).limit_denominator(1000)
    gps[31] = IFDRational(ratio.numerator, ratio.denominator)


def _exif_bytes(exif: Image.Exif) -> bytes:
    """Return the Exif block, ComponentsConfiguration typed UNDEFINED where Pillow says BYTE."""
    content = exif.tobytes()
    as_byte = b"\x91\x01\x00\x01\x00\x00\x00\x04"
    as_undefined = b"\x91\x01\x00\x07\x00\x00\x00\x04"
    return content.replace(as_byte, as_undefined, 1)


def _sexagesimal(value: float) -> tuple[IFDRational, IFDRational, IFDRational]:
    hundredths = round(abs(value) * 3600 * 100)
    degrees, rest = divmod(hundredths, 360_000)
    minutes, seconds = divmod(rest, 6_000)
    return IFDRational(degrees), IFDRational(minutes), IFDRational(seconds, 100)


def encode(pixels: NDArray[np.uint8], picture: Picture, device: Device) -> bytes:
    """Write the file of an upright picture, shape (height, width, 3), as the device would."""
    turns = {1: 0, 3: 2, 6: 1, 8: 3}[picture.orientation]
    stored = Image.fromarray(np.ascontiguousarray(np.rot90(pixels, turns)))
    target = io.BytesIO()
    exif = b"" if picture.bare else _exif_bytes(exif_for(picture, device, *stored.size))
    if picture.kind == "PNG":
        stored.quantize(96, dither=Image.Dither.NONE).save(target, "PNG", optimize=True)
    elif picture.kind == "HEIF":
        import pillow_heif

        pillow_heif.from_pillow(stored).save(target, quality=55, exif=exif or None)
    elif picture.bare:
        stored.save(target, "JPEG", quality=picture.quality, optimize=True)
    else:
        stored.save(target, "JPEG", quality=picture.quality, optimize=True, exif=exif)
    return target.getvalue()


def shrink(content: bytes, longer: int, quality: int) -> bytes:
    """Do what a mail program does to a photo: fewer pixels, encoded anew, no Exif."""
    with Image.open(io.BytesIO(content)) as opened:
        small = opened.convert("RGB")
    small.thumbnail((longer, longer), Image.Resampling.BICUBIC)
    target = io.BytesIO()
    small.save(target, "JPEG", quality=quality)
    return target.getvalue()
