"""Photos that carry their own facts: pixels untouched, old metadata gone, the new read back."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from triage.analysis.images import upright
from triage.errors import SourceError
from triage.standards.jpeg_segments import segments, with_metadata
from triage.standards.photo_metadata import (
    PhotoFacts,
    exif_block,
    iptc_block,
    stored_box,
    xmp_packet,
)

SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

FACTS = PhotoFacts(
    identifier="urn:uuid:1",
    occurrence_id="urn:uuid:2",
    caption="Libellula depressa, back view",
    creator="Żaneta Wren",
    credit="Żaneta Wren, Linnet Water Survey",
    licence_uri="https://creativecommons.org/licenses/by/4.0/",
    usage_terms="Creative Commons Attribution 4.0 International (CC BY 4.0)",
    scientific_name="Libellula depressa",
    event_date="2026-06-13T14:07:05+02:00",
    locality="Alder Pool",
    decimal_latitude=53.912,
    decimal_longitude=-21.719,
    uncertainty_metres=77.4,
    box=(0.25, 0.1, 0.75, 0.5),
    width=80,
    height=60,
    orientation=6,
)


def jpeg(*, progressive: bool = False) -> bytes:
    """A file as a phone writes it: Exif with a thumbnail and maker note, XMP, comment, trailer."""
    pixels = np.random.default_rng(1).integers(0, 255, (60, 80, 3), dtype=np.uint8)
    exif = Image.Exif()
    exif[0x010F] = "Quince Cottage camera"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8769)[0x927C] = b"maker note of una@example.org"
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(
        buffer,
        "JPEG",
        exif=exif,
        comment=b"secret comment",
        xmp=b"<x>secret packet</x>",
        progressive=progressive,
        icc_profile=SRGB,
    )
    return buffer.getvalue() + b"trailing secret"


def described(facts: PhotoFacts = FACTS, content: bytes | None = None) -> bytes:
    return with_metadata(
        content or jpeg(), exif=exif_block(facts), xmp=xmp_packet(facts), iptc=iptc_block(facts)
    )


@pytest.mark.parametrize("progressive", [False, True])
def test_pixels_and_colours_stay_byte_for_byte_and_nothing_else_does(progressive):
    before = jpeg(progressive=progressive)
    after = described(content=before)
    scans = [one.scan for one in segments(before) if one.scan]
    assert [one.scan for one in segments(after) if one.scan] == scans
    with Image.open(io.BytesIO(before)) as old, Image.open(io.BytesIO(after)) as new:
        assert np.array_equal(np.asarray(old), np.asarray(new))
        assert new.info["icc_profile"] == SRGB
    for secret in (b"secret", b"Quince", b"una@", b"maker note"):
        assert secret in before
        assert secret not in after


@pytest.mark.system("exiftool")
def test_exiftool_reads_every_fact_back(tmp_path: Path):
    """ExifTool (Phil Harvey) as the independent reader."""
    program = shutil.which("exiftool")
    if program is None:
        pytest.skip("exiftool is not installed")
    path = tmp_path / "photo.jpg"
    path.write_bytes(described())
    done = subprocess.run(
        [program, "-json", "-n", "-G1", "-struct", str(path)],
        capture_output=True,
        text=True,
        check=True,
    )
    (read,) = json.loads(done.stdout)
    assert read["IFD0:Orientation"] == 6
    assert read["ExifIFD:DateTimeOriginal"] == "2026:06:13 14:07:05"
    assert read["ExifIFD:OffsetTimeOriginal"] == "+02:00"
    assert read["Composite:GPSLatitude"] == pytest.approx(53.912, abs=1e-6)
    assert read["Composite:GPSLongitude"] == pytest.approx(-21.719, abs=1e-6)
    assert read["GPS:GPSHPositioningError"] == 77
    assert read["XMP-dc:Creator"] == ["Żaneta Wren"]
    assert read["XMP-dc:Subject"] == ["Libellula depressa"]
    assert read["XMP-xmpRights:WebStatement"] == FACTS.licence_uri
    assert read["XMP-xmpRights:UsageTerms"] == FACTS.usage_terms
    assert read["XMP-photoshop:Credit"] == FACTS.credit
    assert read["IPTC:By-line"] == "Żaneta Wren"
    assert read["IPTC:Keywords"] == "Libellula depressa"
    assert read["IPTC:DateCreated"] == "2026:06:13"
    (region,) = read["XMP-mwg-rs:RegionInfo"]["RegionList"]
    # Orientation 6: the upright box 0.25 to 0.75 across, 0.1 to 0.5 down, as it is stored.
    assert region["Area"]["X"] == pytest.approx(0.3)
    assert region["Area"]["H"] == pytest.approx(0.5)
    assert read["XMP-mwg-rs:RegionInfo"]["AppliedToDimensions"]["W"] == 60
    occurrence = {name.partition(":")[2]: value for name, value in read.items()}
    assert occurrence["OccurrenceID"] == "urn:uuid:2"
    assert occurrence["CoordinateUncertaintyInMeters"] == pytest.approx(77.4)
    assert "ExifTool:Warning" not in read


def test_pillow_reads_the_exif_and_a_day_alone_gives_no_moment():
    day = PhotoFacts(
        **{
            **{name: getattr(FACTS, name) for name in FACTS.__slots__},
            "event_date": "2026-06-13",
            "decimal_latitude": None,
        }
    )
    with Image.open(io.BytesIO(described(day))) as image:
        exif = image.getexif()
        assert exif[0x0112] == 6
        assert 0x9003 not in exif.get_ifd(0x8769)
        assert dict(exif.get_ifd(0x8825)) == {}


@pytest.mark.parametrize(
    "content",
    [b"", b"GIF89a", b"\xff\xd8", jpeg()[:300], jpeg()[:-40], b"\xff\xd8\xff\xe0\x00\x01"],
    ids=["empty", "other format", "start alone", "cut in a segment", "cut in the scan", "length"],
)
def test_a_broken_file_is_refused_in_words(content):
    with pytest.raises(SourceError, match="cannot be given new metadata"):
        with_metadata(content)


@settings(deadline=None, max_examples=200)
@given(position=st.integers(0, 2000), value=st.integers(0, 255))
def test_a_damaged_byte_is_refused_or_gives_a_file_with_an_end(position, value):
    content = bytearray(jpeg())
    content[position % len(content)] = value
    try:
        made = with_metadata(bytes(content))
    except SourceError:
        return
    assert made[:2] == b"\xff\xd8"
    assert made[-2:] == b"\xff\xd9"


@settings(deadline=None)
@given(st.text(max_size=300))
def test_any_text_gives_metadata_that_can_be_read(text):
    facts = PhotoFacts(
        **{
            **{name: getattr(FACTS, name) for name in FACTS.__slots__},
            "caption": text,
            "creator": text,
        }
    )
    with Image.open(io.BytesIO(described(facts))) as image:
        assert image.getexif()[0x0112] == 6
        assert image.getxmp()["xmpmeta"]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_box_of_the_upright_picture_finds_its_pixels_as_stored(orientation):
    stored = np.zeros((40, 60, 3), dtype=np.uint8)
    shape = upright(stored, orientation).shape
    box = (0.1, 0.2, 0.4, 0.9)
    x0, y0, x1, y1 = stored_box(box, orientation)
    stored[round(y0 * 40) : round(y1 * 40), round(x0 * 60) : round(x1 * 60)] = 255
    turned = upright(stored, orientation)
    ys, xs = np.nonzero(turned[..., 0])
    found = (xs.min() / shape[1], ys.min() / shape[0])
    found += ((xs.max() + 1) / shape[1], (ys.max() + 1) / shape[0])
    assert found == pytest.approx(box, abs=0.02)
