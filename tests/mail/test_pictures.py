from __future__ import annotations

import io

import pytest
from mail_making import picture
from PIL import Image

from triage.analysis.media_types import describe_media_type, sniff_media_type
from triage.mail.pictures import judge_picture, pixel_size


def saved(kind: str, width: int, height: int, **options: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), (90, 140, 60)).save(out, kind, **options)  # type: ignore[arg-type]
    return out.getvalue()


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("JPEG", {}),
        ("JPEG", {"progressive": True}),
        ("JPEG", {"comment": b"\xff" * 500}),
        ("PNG", {}),
        ("GIF", {}),
        ("WEBP", {}),
        ("AVIF", {}),
        ("WEBP", {"lossless": True}),
        ("WEBP", {"exif": b"Exif\0\0MM\0*\0\0\0\x08\0\0\0\0\0\0"}),
    ],
)
@pytest.mark.parametrize("size", [(640, 480), (1, 1), (3000, 17)])
def test_the_size_in_the_header_is_the_size_that_pillow_decodes(kind, options, size):
    content = saved(kind, *size, **options)
    media_type = sniff_media_type(content)
    decoded = Image.open(io.BytesIO(content))
    decoded.load()
    assert pixel_size(content, media_type) == decoded.size == size


def test_a_heif_is_taken_in_unopened_as_only_cameras_make_it():
    content = picture(64, 48, kind="HEIF")
    assert pixel_size(content, "image/heif") is None
    judged = judge_picture(content, media_type="image/heif", file_name="logo.heic", inline=True)
    assert judged == ("taken in", "a picture")


@pytest.mark.parametrize("media_type", ["image/jpeg", "image/png", "image/gif", "image/webp"])
def test_a_header_without_size_gives_none_and_the_picture_is_taken_in(media_type):
    for content in (b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n" + bytes(30), bytes(64)):
        assert pixel_size(content, media_type) is None
        outcome, _ = judge_picture(content, media_type=media_type, file_name="", inline=True)
        assert outcome == "taken in"


def test_a_small_picture_with_camera_data_in_the_text_is_taken_in():
    content = saved("JPEG", 200, 150, exif=b"Exif\0\0MM\0*\0\0\0\x08\0\0\0\0\0\0")
    outcome, reason = judge_picture(content, media_type="image/jpeg", file_name="a", inline=True)
    assert (outcome, reason) == (
        "taken in",
        "a picture of 200 x 150 pixels with a camera's data, shown in the text",
    )


def test_an_attached_logo_is_known_by_name_and_size_together():
    logo = saved("PNG", 300, 100)
    photo = saved("PNG", 1200, 900)
    for content, outcome in ((logo, "kept, not examined"), (photo, "taken in")):
        judged = judge_picture(content, media_type="image/png", file_name="logo.png", inline=False)
        assert judged[0] == outcome


@pytest.mark.parametrize(
    ("content", "name", "media_type", "words"),
    [
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic", "", "image/heif", "a picture"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1avif", "", "image/avif", "an AVIF picture"),
        (b"\xff\x0a\xfa\x7f", "", "image/jxl", "a JPEG XL picture"),
        (b"\0\0\0\x18ftypisom\0\0\0\0isommp42", "", "video/mp4", "a video"),
        (b"\0\0\0\x14ftypqt  \0\0\0\0qt  ", "", "video/quicktime", "a video"),
        (b"\0\0\0\x14ftypM4A \0\0\0\0M4A ", "", "audio/mp4", "a sound recording"),
        (b"\0\0\0\x08wide\0\0\0\0mdat", "", "video/quicktime", "a video"),
        (b"RIFF\0\0\0\0AVI LIST", "", "video/x-msvideo", "a video"),
        (b"RIFF\0\0\0\0WAVEfmt ", "", "audio/wav", "a sound recording"),
        (b"RIFF\0\0\0\0????", "", "application/octet-stream", "a file of unknown kind"),
        (b"II*\0\x08\0\0\0", "a.tif", "image/tiff", "a picture"),
        (b"II*\0\x08\0\0\0", "a.DNG", "image/x-adobe-dng", "a raw camera file"),
        (b"II*\0\x10\0\0\0CR\x02\0", "a.jpg", "image/x-cr2", "a raw camera file"),
        (b"FUJIFILMCCD-RAW 0201", "", "image/x-raf", "a raw camera file"),
        (b"BM and other words", "", "application/octet-stream", "a file of unknown kind"),
        (b"BM\x36\0\0\0\0\0\0\0", "", "image/bmp", "a BMP picture"),
    ],
)
def test_kinds_are_told_by_their_first_bytes(content, name, media_type, words):
    assert sniff_media_type(content, file_name=name) == media_type
    assert describe_media_type(media_type) == words
