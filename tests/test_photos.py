"""SHA-256 is checked against the example of FIPS 180-4 (its message 'abc')."""

from __future__ import annotations

import io

from PIL import Image

from triage import photos


def test_the_digest_is_sha_256() -> None:
    published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert photos.digest(b"abc") == published


def test_a_photo_is_identified_by_its_bytes_upright() -> None:
    exif = Image.Exif()
    exif[0x0112] = 8
    buffer = io.BytesIO()
    Image.new("RGB", (40, 20)).save(buffer, "JPEG", exif=exif)
    photo = photos.identify(buffer.getvalue())
    assert (photo.format, photo.width, photo.height) == ("JPEG", 20, 40)
    assert (photo.orientation, photo.problem) == (8, "")
    assert photo.byte_size == len(buffer.getvalue())


def test_what_is_no_photo_keeps_its_digest_and_says_why() -> None:
    photo = photos.identify(b"abc")
    assert photo.sha256.startswith("ba7816bf")
    assert (photo.format, photo.width) == ("", 0)
    assert "no JPEG" in photo.problem
