"""What the browser is shown of a kept photo: upright pixels that we encoded, made once."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from triage.errors import SourceError, UnknownError
from triage.store import originals, previews
from triage.store.connection import Survey


def kept(survey: Survey, kind: str, **options: object) -> str:
    """A wide picture whose left half is dark, kept as a file of this kind."""
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    pixels = np.full((1200, 2000, 3), 220, dtype=np.uint8)
    pixels[:, :1000] = 30
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, kind, **options)
    return originals.keep(survey.originals, file.getvalue(), media_type=f"image/{kind.lower()}")


def shown_at(path: Path) -> Image.Image:
    return Image.open(io.BytesIO(path.read_bytes()))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "GIF", "HEIF"])
def test_every_format_is_shown_at_its_full_size(empty: Survey, kind: str):
    shown = shown_at(previews.picture(empty, kept(empty, kind), "whole"))
    assert shown.format == "JPEG"
    assert shown.size == (2000, 1200)


@pytest.mark.parametrize(
    ("size", "long_side"), [("small", 512), ("fitting", 1600), ("whole", 2000)]
)
def test_each_size_has_its_long_side(empty: Survey, size: previews.Size, long_side: int):
    assert max(shown_at(previews.picture(empty, kept(empty, "PNG"), size)).size) == long_side


def test_a_turned_photo_is_shown_upright_and_without_metadata(empty: Survey):
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera was held upright: turn clockwise
    exif[0x010F] = "Invented Maker"
    digest = kept(empty, "JPEG", exif=exif.tobytes())
    path = previews.picture(empty, digest, "whole")
    shown = shown_at(path)
    assert shown.size == (1200, 2000)
    assert shown.convert("L").getpixel((600, 100)) < 60  # the dark half is above
    assert not shown.getexif()
    assert b"Invented Maker" not in path.read_bytes()


def test_a_picture_is_made_once_and_again_when_it_was_deleted(empty: Survey):
    digest = kept(empty, "PNG")
    path = previews.picture(empty, digest, "fitting")
    path.write_bytes(b"as it was left")
    assert previews.picture(empty, digest, "fitting").read_bytes() == b"as it was left"
    path.unlink()
    assert shown_at(previews.picture(empty, digest, "fitting")).size == (1600, 960)
    assert [p.name for p in path.parent.iterdir()] == [path.name]


@pytest.mark.parametrize("name", ["../survey", "a" * 63, "A" * 64, "", "." * 64, "0" * 64])
def test_a_digest_that_names_no_kept_photo_is_refused(empty: Survey, name: str):
    with pytest.raises(UnknownError):
        previews.picture(empty, name, "small")


@pytest.mark.parametrize(
    "content", [b"<html><script>alert(1)</script>", b"<svg onload='x()'/>", b"\xff\xd8\xff broken"]
)
def test_what_is_no_picture_is_never_shown(empty: Survey, content: bytes):
    digest = originals.keep(empty.originals, content)
    with pytest.raises(SourceError):
        previews.picture(empty, digest, "whole")
    assert not list(empty.previews.glob("**/*.jpg"))


def test_the_small_size_that_an_examination_keeps_is_the_one_shown(empty: Survey):
    photo = kept(empty, "JPEG")
    previews.keep(empty, photo, b"made in passing")
    assert previews.picture(empty, photo, "small").read_bytes() == b"made in passing"
    assert [path.name for path in empty.previews.rglob(".*.part")] == []


def test_every_size_of_a_forgotten_photo_is_deleted(empty: Survey):
    digest = kept(empty, "PNG")
    other = kept(empty, "JPEG")
    for size in ("small", "fitting", "whole"):
        previews.picture(empty, digest, size)
    left = previews.picture(empty, other, "whole")
    previews.remove(empty, digest)
    previews.remove(empty, digest)  # a second time changes nothing
    assert list(empty.previews.glob("**/*.jpg")) == [left]
