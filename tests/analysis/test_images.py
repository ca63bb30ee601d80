"""Pictures are made here; orientation is checked against Pillow's own exif_transpose."""

from __future__ import annotations

import io
import struct
import zlib

import cv2
import numpy as np
import pillow_heif
import pytest
from pictures_made import png
from PIL import Image, ImageOps

from triage.analysis import images
from triage.errors import SourceError

pillow_heif.register_heif_opener()


def four_fields(height: int = 96, width: int = 160) -> np.ndarray:
    picture = np.zeros((height, width, 3), dtype=np.uint8)
    picture[: height // 2, : width // 2] = (240, 20, 20)
    picture[: height // 2, width // 2 :] = (20, 240, 20)
    picture[height // 2 :, : width // 2] = (20, 20, 240)
    return picture


def saved(picture: np.ndarray, kind: str, **options: object) -> bytes:
    buffer = io.BytesIO()
    Image.fromarray(picture).save(buffer, kind, **options)
    return buffer.getvalue()


def exif_with(orientation: int) -> bytes:
    exif = Image.Exif()
    exif[images.ORIENTATION] = orientation
    return exif.tobytes()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_turning_agrees_with_pillow(orientation: int) -> None:
    stored = four_fields()
    image = Image.fromarray(stored)
    image.getexif()[images.ORIENTATION] = orientation
    expected = np.asarray(ImageOps.exif_transpose(image))
    np.testing.assert_array_equal(images.upright(stored, orientation), expected)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "AVIF"])
def test_every_format_is_turned_upright_once(kind: str, orientation: int) -> None:
    stored = four_fields()
    decoded = images.decode(saved(stored, kind, exif=exif_with(orientation)))
    expected = images.upright(stored, orientation)
    # AVIF tells by its own properties how it is turned, and upright has none of them.
    stated = None if (kind, orientation) == ("AVIF", 1) else orientation
    assert decoded.header.orientation == stated
    assert decoded.rgb.shape == expected.shape
    assert np.abs(decoded.rgb.astype(int) - expected).mean() < 6
    header = images.read_header(saved(stored, kind, exif=exif_with(orientation)))
    assert (header.height, header.width) == expected.shape[:2]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_heif_is_turned_by_its_own_property_and_not_by_exif_again(orientation: int) -> None:
    stored = four_fields()
    content = saved(stored, "HEIF", exif=exif_with(orientation), quality=95)
    assert (b"irot" in content or b"imir" in content) == (orientation != 1)
    decoded = images.decode(content)
    assert decoded.header.orientation == orientation
    expected = images.upright(stored, orientation)
    assert np.abs(decoded.rgb.astype(int) - expected).mean() < 6


def test_a_heif_file_without_turning_property_stays_as_it_is_whatever_exif_says() -> None:
    exif = Image.Exif()
    exif[images.ORIENTATION] = 6
    content = saved(four_fields(), "HEIF", exif=exif)  # the encoder reads bytes only
    assert b"irot" not in content
    assert images.decode(content).rgb.shape == (96, 160, 3)


def test_an_avif_with_more_colours_takes_more_memory_and_says_so() -> None:
    """Samples of a pixel's planes: 1 grey, 1.5, 2 and 3 with colours (AV1 bitstream, 6.4.2)."""
    held = [
        images.read_header(saved(four_fields(), "AVIF", subsampling=thinned)).decoder_bytes
        for thinned in ("4:0:0", "4:2:0", "4:2:2", "4:4:4")
    ]
    steps = np.diff(held) / (96 * 160)
    assert steps.tolist() == [0.5, 0.5, 1.0]


@pytest.mark.parametrize(
    ("mode", "kind"),
    [("L", "JPEG"), ("CMYK", "JPEG"), ("P", "PNG"), ("P", "GIF"), ("CMYK", "TIFF"), ("1", "PNG")],
)
def test_every_colour_mode_comes_out_as_rgb(mode: str, kind: str) -> None:
    buffer = io.BytesIO()
    Image.fromarray(four_fields()).convert(mode).save(buffer, kind)
    decoded = images.decode(buffer.getvalue())
    assert decoded.rgb.shape == (96, 160, 3)
    assert decoded.rgb.dtype == np.uint8
    grey = images.grey_of(decoded.rgb).astype(int)
    red, green, black = grey[:48, :80].mean(), grey[:48, 80:].mean(), grey[48:, 80:].mean()
    assert green > red > black


def test_sixteen_bits_keep_the_upper_eight() -> None:
    deep = np.full((32, 32), 0x8040, dtype=np.uint16)
    buffer = io.BytesIO()
    Image.fromarray(deep).save(buffer, "PNG")
    assert (images.decode(buffer.getvalue()).rgb == 0x80).all()


def test_transparent_pixels_are_laid_on_white() -> None:
    clear = np.zeros((32, 32, 4), dtype=np.uint8)
    assert (images.decode(saved(clear, "PNG")).rgb == 255).all()


@pytest.mark.parametrize("kind", ["GIF", "WEBP", "TIFF", "PNG", "AVIF"])
def test_the_first_frame_of_several_is_taken(kind: str) -> None:
    first = Image.new("RGB", (32, 32), (250, 0, 0))
    second = Image.new("RGB", (32, 32), (0, 0, 250))
    buffer = io.BytesIO()
    first.save(buffer, kind, save_all=True, append_images=[second])
    red, _, blue = images.decode(buffer.getvalue()).rgb[16, 16]
    assert red > 200 > 50 > blue


def test_the_name_of_the_file_does_not_count() -> None:
    assert images.kind_of(saved(four_fields(), "WEBP")) == "WEBP"
    assert images.kind_of(b"II*\x00\x10\x00\x00\x00CR\x02\x00") is None
    assert images.kind_of(saved(four_fields(), "AVIF")) == "AVIF"
    assert images.kind_of(b"\xff\x0a\xfa\x7f") is None  # JPEG XL, which nothing here can decode


def test_a_bomb_is_refused_before_decoding() -> None:
    bomb = png(60000, 60000, zlib.compress(b"\0" * 100), depth=8, colour=2)
    with pytest.raises(SourceError, match="pixels"):
        images.decode(bomb, name="bomb.png")
    jpeg = bytearray(saved(four_fields(), "JPEG"))
    at = jpeg.find(b"\xff\xc0") + 5
    jpeg[at : at + 4] = struct.pack(">HH", 65000, 65000)
    with pytest.raises(SourceError, match="pixels"):
        images.decode(bytes(jpeg))


def test_a_jpeg_of_thousands_of_scans_is_refused() -> None:
    content = saved(four_fields(), "JPEG", progressive=True)
    with pytest.raises(SourceError, match="scans"):
        images.decode(content + b"\xff\xda" * 1000)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "GIF", "HEIF"])
def test_a_file_cut_in_half_is_an_error_that_names_it(kind: str) -> None:
    noise = np.random.default_rng(1).integers(0, 255, (96, 160, 3), dtype=np.uint8)
    content = saved(noise, kind)
    with pytest.raises(SourceError, match=r"cut\.bin"):
        images.decode(content[: len(content) // 2], name="cut.bin")


def test_a_jpeg_that_lacks_only_its_end_is_decoded() -> None:
    noise = np.random.default_rng(1).integers(0, 255, (960, 160, 3), dtype=np.uint8)
    content = saved(noise, "JPEG")
    assert images.decode(content[:-2]).rgb.shape == (960, 160, 3)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "GIF", "HEIF"])
def test_damaged_bytes_give_an_error_or_a_picture_and_nothing_else(kind: str) -> None:
    generator = np.random.default_rng(7)
    whole = saved(four_fields(), kind)
    for _ in range(60):
        bytes_ = bytearray(whole)
        for at in generator.integers(0, len(bytes_), 6):
            bytes_[at] = generator.integers(0, 256)
        try:
            decoded = images.decode(bytes(bytes_))
        except SourceError:
            continue
        assert decoded.rgb.ndim == 3


@pytest.mark.parametrize("content", [b"", b"hello", b"\xff\xd8\xff", b"GIF89a", b"II*\x00"])
def test_what_is_no_picture_is_an_error(content: bytes) -> None:
    with pytest.raises(SourceError):
        images.decode(content)


@pytest.mark.parametrize("size", [(290, 190), (210, 140), (151, 101), (70, 90)])
def test_a_pattern_too_fine_for_a_size_becomes_grey_and_no_coarser_pattern(size) -> None:
    """Against OpenCV: as far as an area mean does, half of drawing between neighbours or less."""
    board = np.repeat(
        (np.indices((200, 300)).sum(axis=0) % 2 * 255).astype(np.uint8)[..., None], 3, 2
    )
    ours = images.resized(board, size)
    area, drawn = (
        cv2.resize(board, size, interpolation=how) for how in (cv2.INTER_AREA, cv2.INTER_LINEAR)
    )
    assert ours.shape == (size[1], size[0], 3)
    assert ours.mean() == pytest.approx(127.5, abs=1)
    assert ours.std() <= area.std() + 1
    assert ours.std() <= drawn.std() / 2


def test_shrinking_keeps_the_mean_and_the_shape() -> None:
    picture = np.random.default_rng(2).integers(0, 255, (1001, 1503, 3), dtype=np.uint8)
    small = images.shrink(picture, 300)
    assert small.shape == (200, 300, 3)
    assert abs(float(small.mean()) - float(picture.mean())) < 0.5
    assert images.shrink(small, 300) is small


def test_a_preview_carries_no_metadata() -> None:
    image = Image.open(io.BytesIO(images.as_jpeg(four_fields())))
    assert image.size == (160, 96)
    assert dict(image.getexif()) == {}


@pytest.mark.parametrize("width", [1024, 2048, 4096])
def test_a_large_jpeg_has_the_luma_that_pillow_reads_and_nearly_its_colours(width: int) -> None:
    """Pillow smooths chroma between its samples; a large photo is halved before colours count."""
    import cv2

    coarse = np.random.default_rng(3).integers(60, 196, (4, width // 32, 3), dtype=np.uint8)
    content = saved(cv2.resize(coarse, (width, 128), interpolation=cv2.INTER_CUBIC), "JPEG")
    theirs = Image.open(io.BytesIO(content))
    ours = images.decode(content).rgb
    luma = images.grey_of(ours).astype(int) - np.asarray(theirs.convert("L"))
    assert np.abs(luma).max() <= 2
    halves = [images.halved(rgb, width // 2).astype(int) for rgb in (ours, np.asarray(theirs))]
    assert np.abs(halves[0] - halves[1]).mean() < 1.0


def test_memory_used_again_holds_the_photo_that_was_decoded_last() -> None:
    first, second = (saved(np.full((64, 96, 3), grey, np.uint8), "JPEG") for grey in (40, 200))
    held = images.decode(first, reuse=True).rgb
    assert np.array_equal(held, images.decode(first).rgb)
    again = images.decode(second, reuse=True).rgb
    assert np.shares_memory(held, again)
    assert np.array_equal(again, images.decode(second).rgb)
    smaller = saved(np.full((48, 32, 3), 90, np.uint8), "JPEG")
    assert np.array_equal(images.decode(smaller, reuse=True).rgb, images.decode(smaller).rgb)
