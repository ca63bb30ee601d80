"""What a file is, from its bytes and its header."""

from __future__ import annotations

import io

from PIL import Image

from triage import photos


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
