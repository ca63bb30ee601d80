"""Time and place from XMP and IPTC where Exif has none, in the documented order."""

import hashlib
import io
import struct

import pytest
from exif_files import block, gps_place, jpeg, text
from PIL import Image, PngImagePlugin

from triage.metadata.exif import exif_only, read_exif

XMP_HEAD = b"http://ns.adobe.com/xap/1.0/\0"


def packet(*attributes: str) -> bytes:
    spaces = (
        "xmlns:exif='http://ns.adobe.com/exif/1.0/' xmlns:tiff='http://ns.adobe.com/tiff/1.0/' "
        "xmlns:photoshop='http://ns.adobe.com/photoshop/1.0/'"
    )
    return (
        "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF "
        "xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>"
        f"<rdf:Description {spaces} {' '.join(attributes)}/></rdf:RDF></x:xmpmeta>"
    ).encode()


def segment(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def xmp(*attributes: str) -> bytes:
    return segment(0xE1, XMP_HEAD + packet(*attributes))


def resource(number: int, data: bytes) -> bytes:
    return b"8BIM" + struct.pack(">HHI", number, 0, len(data)) + data + b"\0" * (len(data) % 2)


def dataset(number: int, data: bytes) -> bytes:
    return b"\x1c\x02" + struct.pack(">BH", number, len(data)) + data


IPTC = dataset(55, b"20260614") + dataset(60, b"100512+0200")


def app13(iptc: bytes, digest: bytes = b"") -> bytes:
    body = resource(0x0404, iptc) + (resource(0x0425, digest) if digest else b"")
    return segment(0xED, b"Photoshop 3.0\0" + body)


NO_EXIF = block(first=[text(0x0131, "Editor")])


def test_xmp_fills_what_exif_left_out():
    found = read_exif(
        jpeg(
            NO_EXIF,
            extra=xmp(
                "exif:DateTimeOriginal='2026-06-14T10:05:12.25+02:00'",
                "exif:GPSLatitude='53,54.508333N' exif:GPSLongitude='21,42,10W'",
                "tiff:Make='Acme' tiff:Model='Pond Cam'",
            ),
        )
    )
    assert found.date_time_original == "2026-06-14T10:05:12"
    assert (found.offset_time, found.sub_sec_time_original) == ("+02:00", "25")
    assert found.gps_latitude == pytest.approx(53.9084722, abs=1e-6)
    assert found.gps_longitude == pytest.approx(-21.7027778, abs=1e-6)
    assert (found.make, found.model) == ("Acme", "Pond Cam")
    assert "date_time_original: XMP" in found.other_sources


def test_exif_is_never_replaced():
    exif = block(exif=[text(0x9003, "2026:06:14 10:05:12")], gps=gps_place())
    stated = xmp(
        "exif:DateTimeOriginal='2020-01-02T00:00:00+05:00'", "exif:GPSLatitude='1,2.0N'",
        "exif:GPSLongitude='1,2.0E'",
    )  # fmt: skip
    found = read_exif(jpeg(exif, extra=stated))
    assert found.date_time_original == "2026-06-14T10:05:12"
    assert found.offset_time == ""  # the offset of another date is none of this one's
    assert found.gps_latitude == pytest.approx(53.9084583)
    assert found.other_sources == ()


def test_iptc_is_asked_last():
    found = read_exif(jpeg(NO_EXIF, extra=app13(IPTC)))
    assert found.date_time_original == "2026-06-14T10:05:12"
    assert found.offset_time == "+02:00"
    assert found.other_sources == ("date_time_original: IPTC", "offset_time: IPTC")


@pytest.mark.parametrize(("changed", "day"), [(False, "2026-06-10"), (True, "2026-06-14")])
def test_xmp_comes_before_iptc_unless_the_digest_shows_a_later_hand(changed, day):
    # Metadata Working Group guidelines 2.0: the digest of the IPTC block as XMP's writer left it.
    digest = hashlib.md5(IPTC + b"changed" * changed, usedforsecurity=False).digest()
    stated = xmp("photoshop:DateCreated='2026-06-10T09:00:00'")
    found = read_exif(jpeg(NO_EXIF, extra=stated + app13(IPTC, digest)))
    assert found.date_time_original[:10] == day


def test_xmp_of_png_webp_and_tiff_is_read():
    stated = packet("exif:DateTimeOriginal='2026-06-14T10:05:12'")
    image = Image.new("RGB", (16, 8))
    info = PngImagePlugin.PngInfo()
    info.add_itxt("XML:com.adobe.xmp", stated.decode())
    for name, options in (
        ("PNG", {"pnginfo": info}),
        ("WEBP", {"xmp": stated}),
        ("TIFF", {"tiffinfo": {700: stated}}),
    ):
        held = io.BytesIO()
        image.save(held, name, **options)
        assert read_exif(held.getvalue()).date_time_original == "2026-06-14T10:05:12", name


def test_exif_alone_can_be_asked_for():
    found = exif_only(read_exif(jpeg(NO_EXIF, extra=app13(IPTC))))
    assert (found.date_time_original, found.offset_time, found.other_sources) == ("", "", ())
    assert found.software == "Editor"


@pytest.mark.parametrize(
    "stated",
    [
        "exif:DateTimeOriginal='June 2026'",
        "exif:DateTimeOriginal='2026-13-45T10:05:12'",
        "exif:GPSLatitude='53.9' exif:GPSLongitude='21.7'",
        "exif:GPSLatitude='21,42.0E' exif:GPSLongitude='53,54.0N'",
        "exif:GPSLatitude='53,54.0N'",
    ],
)
def test_what_xmp_does_not_have_as_it_should_is_left(stated):
    found = read_exif(jpeg(NO_EXIF, extra=xmp(stated)))
    assert (found.date_time_original, found.gps_latitude) == ("", None)


@pytest.mark.parametrize(
    "body",
    [b"<x:xmpmeta", b"", b"\xff\xfe\0", b"<!DOCTYPE x [<!ENTITY a 'b'>]><x>&a;</x>", b"<a>" * 5000],
)
def test_a_damaged_or_hostile_packet_costs_only_itself(body):
    found = read_exif(jpeg(NO_EXIF, extra=segment(0xE1, XMP_HEAD + body)))
    assert found.software == "Editor"
    assert found.date_time_original == ""
