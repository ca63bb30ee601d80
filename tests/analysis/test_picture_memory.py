"""No file makes a worker take 400 MB: sizes are computed from headers before anything is decoded.

Peak memory is what the kernel counted for a process of its own (VmHWM of proc(5); getrusage would
also count what the process that started it once held).
"""

from __future__ import annotations

import io
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pictures_made import png
from PIL import Image

from triage.analysis import images, picture_headers
from triage.errors import SourceError

MEGABYTES = 400
PROGRAM = """
import sys
from pathlib import Path
from triage.quality.examination import examine_content
from triage.workers.processes import _start_worker
_start_worker()
for path in sys.argv[1:]:
    photo = examine_content(Path(path).read_bytes()).photo
    status = Path("/proc/self/status").read_text()
    peak = int(status.partition("VmHWM:")[2].split()[0]) // 1024
    print(peak, photo.problem or f"{photo.width} x {photo.height}", sep="|")
"""


def soft(width: int, height: int) -> Image.Image:
    coarse = np.random.default_rng(3).integers(0, 255, (9, 12, 3), dtype=np.uint8)
    return Image.fromarray(coarse).resize((width, height))


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


def flat(mode: str, width: int, height: int, kind: str, **options: object) -> bytes:
    return saved(Image.new(mode, (width, height)), kind, **options)


def webp_bomb(width: int = 16383, height: int = 16383) -> bytes:
    """Thirty bytes that state a picture of 268 million pixels (RFC 9649)."""
    bits = (width - 1) | (height - 1) << 14
    data = b"\x2f" + struct.pack("<I", bits) + b"\x88\x88\x08"
    chunk = b"VP8L" + struct.pack("<I", len(data)) + data
    return b"RIFF" + struct.pack("<I", len(chunk) + 4) + b"WEBP" + chunk


def png_bomb(depth: int, colour: int, side: int = 7000) -> bytes:
    row = side * depth * {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[colour] // 8 + 1
    packer = zlib.compressobj(9)
    body = b"".join(packer.compress(bytes(row)) for _ in range(side)) + packer.flush()
    palette = bytes(768) if colour == 3 else b""
    return png(side, side, body, depth=depth, colour=colour, palette=palette)


LARGE = {
    "jpeg 48": lambda: saved(soft(8000, 6000), "JPEG"),
    "jpeg turned": lambda: saved(soft(6000, 4000), "JPEG", exif=b"Exif\0\0" + turned()),
    "progressive": lambda: saved(soft(6000, 4000), "JPEG", progressive=True, subsampling=0),
    "webp": lambda: saved(soft(4000, 3000), "WEBP"),
    "webp bomb": webp_bomb,
    "rgba png": lambda: png_bomb(8, 6),
    "16-bit rgba png": lambda: png_bomb(16, 6),
    "palette png": lambda: png_bomb(8, 3),
    "grey 16-bit png": lambda: png_bomb(16, 0),
    "float tiff": lambda: flat("F", 4000, 3000, "TIFF"),
    "packed float tiff": lambda: flat("F", 9000, 9000, "TIFF", compression="tiff_deflate"),
    "packed rgba tiff": lambda: flat("RGBA", 9000, 9000, "TIFF", compression="tiff_lzw"),
    "gif": lambda: flat("P", 7000, 7000, "GIF"),
    "heif": lambda: heif(5000, 4000),
    "avif": lambda: saved(soft(4500, 3300), "AVIF", speed=10),
    "avif, all colours": lambda: saved(soft(6000, 4000), "AVIF", speed=10, subsampling="4:4:4"),
    "heif 48 in tiles": lambda: heif_of_a_phone(8064, 6048),
}


def turned() -> bytes:
    exif = Image.Exif()
    exif[images.ORIENTATION] = 6
    return exif.tobytes().removeprefix(b"Exif\0\0")


def heif(width: int, height: int) -> bytes:
    import pillow_heif

    buffer = io.BytesIO()
    pillow_heif.from_pillow(soft(width, height)).save(buffer, quality=40)
    return buffer.getvalue()


def heif_of_a_phone(width: int, height: int) -> bytes:
    """In tiles of 512, as phones write them; of one colour, which is encoded in seconds."""
    import pillow_heif

    buffer = io.BytesIO()
    picture = pillow_heif.from_pillow(Image.new("RGB", (width, height), (90, 120, 60)))
    picture.save(buffer, quality=20, tile_size=512, enc_params={"preset": "ultrafast"})
    return buffer.getvalue()


def heif_in_one_piece(width: int, height: int) -> bytes:
    """A small picture whose header states a large one."""
    content, size = heif(640, 480), struct.pack(">II", 640, 480)
    assert content.count(size) == 1
    return content.replace(size, struct.pack(">II", width, height))


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="only Linux has proc(5)")
def test_a_worker_stays_under_400_megabytes_whatever_the_files(tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.write_bytes(saved(soft(1600, 1200), "JPEG"))
    # The second photo meets a process that holds all its models already.
    paths = [small, *(tmp_path / name for name in LARGE)]
    for path, make in zip(paths[1:], LARGE.values(), strict=True):
        path.write_bytes(make())
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *paths],
        capture_output=True,
        text=True,
        check=True,
    )
    for path, line in zip(paths, done.stdout.strip().splitlines(), strict=True):
        peak, words = line.split("|")
        assert int(peak) < MEGABYTES, path.name
        assert " x " in words or "Ask the sender" in words
        if path.name == "heif 48 in tiles":
            assert words == "8064 x 6048"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (webp_bomb(), "more than"),
        (heif_in_one_piece(8064, 6048), "MB of memory"),
        (png_bomb(16, 6), "MB of memory"),
        (flat("F", 9000, 9000, "TIFF", compression="tiff_deflate"), "MB of memory"),
    ],
)
def test_what_cannot_be_decoded_in_parts_is_refused_in_words(content: bytes, words: str) -> None:
    with pytest.raises(SourceError, match=words) as refused:
        images.decode(content, name="IMG_1")
    assert refused.value.failing == "IMG_1"
    assert "JPEG" in refused.value.next_step


@pytest.mark.parametrize(
    ("kind", "mode"),
    [
        (kind, mode)
        for kind in ("JPEG", "PNG", "WEBP", "TIFF", "GIF", "HEIF")
        for mode in ("RGB", "RGBA", "L", "P")
        if (kind, mode) not in {("JPEG", "RGBA"), ("JPEG", "P")}  # JPEG has no such modes
    ],
)
def test_a_reduced_picture_is_the_picture_made_smaller(kind: str, mode: str) -> None:
    content = heif(640, 480) if kind == "HEIF" else saved(soft(640, 480).convert(mode), kind)
    whole = images.decode(content)
    assert (whole.reduced, whole.rgb.shape) == (1, (480, 640, 3))
    for reduced in (2, 4):
        header = whole.header
        memory = len(content) + header.decoder_bytes + 3 * 640 * 480 // reduced**2
        memory += 3 * 640 * 480 if kind in ("HEIF", "WEBP") else 0
        if images._reduction(header, len(content), memory, "") != reduced:
            continue  # this format needs no less memory for less pixels
        smaller = images.decode(content, memory=memory)
        assert smaller.reduced == reduced
        expected = images.shrink(whole.rgb, 640 // reduced).astype(int)
        assert smaller.rgb.shape == expected.shape
        assert np.abs(smaller.rgb - expected).mean() < 3


@given(
    width=st.integers(1, 400),
    height=st.integers(1, 400),
    kind=st.sampled_from(["JPEG", "PNG", "WEBP", "TIFF", "GIF"]),
    options=st.sampled_from([{}, {"progressive": True}, {"lossless": True}]),
)
@settings(deadline=None, max_examples=60)
def test_the_size_in_the_header_is_the_size_that_pillow_decodes(width, height, kind, options):
    content = saved(soft(width, height), kind, **options)
    header = picture_headers.read_header(content)
    decoded = Image.open(io.BytesIO(content))
    decoded.load()
    assert (header.width, header.height) == decoded.size == (width, height)


def test_the_scans_of_the_photo_are_counted_not_those_of_its_thumbnail() -> None:
    plain, progressive = (saved(soft(64, 48), "JPEG", progressive=on) for on in (False, True))
    thumbnail = b"\xff\xe1" + struct.pack(">H", len(progressive) + 2) + progressive
    shown = plain[:2] + thumbnail + plain[2:]
    found = [
        picture_headers._jpeg_scans(content, content.rindex(b"\xff\xda"))
        for content in (plain, shown, plain + progressive, progressive)
    ]
    assert found == [(1, 1.5), (1, 1.5), (1, 1.5), (10, 1.5)]  # ten: libjpeg's standard script


def test_many_scans_of_many_pixels_are_refused_before_they_cost_time() -> None:
    content = bytearray(saved(soft(64, 48), "JPEG", progressive=True))
    frame = content.find(b"\xff\xc2") + 5
    content[frame : frame + 4] = struct.pack(">HH", 9000, 9000)
    last = content.rfind(b"\xff\xda")
    more = bytes(content[last:-2])
    with pytest.raises(SourceError, match="scans of 81,000,000 pixels"):
        images.decode(bytes(content[:-2]) + more * 30 + b"\xff\xd9")


def test_exif_behind_the_pixels_of_a_png_is_read_without_decoding() -> None:
    exif = turned()
    chunk = struct.pack(">I", len(exif)) + b"eXIf" + exif
    chunk += struct.pack(">I", zlib.crc32(b"eXIf" + exif))
    content = saved(soft(64, 48), "PNG")
    content = content[:-12] + chunk + content[-12:]
    header = picture_headers.read_header(content)
    assert (header.width, header.height, header.orientation) == (48, 64, 6)
    assert images.decode(content).rgb.shape == (64, 48, 3)
