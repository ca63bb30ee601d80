"""One table of file signatures for mail, photos and loose files.

Brands: ISO/IEC 23008-12 (heic, heix, heim, heis, hevc, hevx, hevm, hevs, mif1, msf1) and the
AV1 Image File Format (avif, avis).
"""

from __future__ import annotations

from typing import get_args

import pytest

from triage import photos
from triage.analysis import images, picture_headers
from triage.analysis.media_types import PICTURE_TYPES, is_picture, sniff_media_type
from triage.mail.message import file_as_message
from triage.photos.loose_files import loose_files

SIGNATURES = {
    "JPEG": b"\xff\xd8\xff\xe0",
    "PNG": b"\x89PNG\r\n\x1a\n",
    "GIF": b"GIF89a",
    "WEBP": b"RIFF\0\0\0\0WEBPVP8 ",
    "TIFF": b"II*\0\x08\0\0\0",
    **{
        f"HEIF {brand}": b"\0\0\0\x18ftyp" + brand.encode() + b"\0\0\0\0mif1heic"
        for brand in ("heic", "heix", "heim", "heis", "hevc", "hevx", "hevm", "hevs", "mif1")
    },
    "AVIF": b"\0\0\0\x1cftypavif\0\0\0\0avifmif1miaf",
    "AVIF as mif1": b"\0\0\0\x18ftypmif1\0\0\0\0mif1avif",
    "JPEG XL": b"\xff\x0a\xfa\x7f",
    "JPEG XL in boxes": b"\0\0\0\x0cJXL \r\n\x87\n",
    "video": b"\0\0\0\x18ftypisom\0\0\0\0isommp42",
    "raw camera file": b"II*\0\x10\0\0\0CR\x02\0",
    "document": b"%PDF-1.7",
    "words": b"plain words",
    "nothing": b"",
}


@pytest.mark.parametrize("name", SIGNATURES)
def test_mail_photos_and_loose_files_agree_on_what_a_file_is(name, tmp_path):
    content = SIGNATURES[name] + bytes(40) if name != "nothing" else b""
    word = name.split()[0]
    kind = word if word in get_args(images.Format) and "XL" not in name else None
    path = tmp_path / "file.dat"
    path.write_bytes(content)
    assert images.kind_of(content) == kind
    assert photos.identify(content).format == (kind or "")
    assert is_picture(sniff_media_type(content)) == (kind is not None)
    part = file_as_message("file.dat", content).parts[0]
    assert (part.outcome == "taken in") == (kind is not None)
    found = loose_files([tmp_path], refused=lambda *problem: pytest.fail(str(problem)))
    assert [name for name, _ in found] == (["file.dat"] if kind else [])


def test_every_kind_that_is_examined_has_a_format():
    assert set(picture_headers._FORMATS) == PICTURE_TYPES
