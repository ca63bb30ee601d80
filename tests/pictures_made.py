"""Pictures for tests, made here: a scene, the parts of a PNG file, what was measured on a photo."""

from __future__ import annotations

import struct
import zlib

import cv2
import numpy as np

from triage.quality import Measurement

MEASURED = Measurement(
    method="made",
    odonate=0.9,
    suborder="anisoptera",
    suborder_probability=0.95,
    box=(0.2, 0.2, 0.8, 0.8),
    view="dorsal",
    p_dorsal=1.0,
    p_lateral=0.0,
    p_anterior=0.0,
    p_oblique=0.0,
    p_other=0.0,
    focus=0.9,
    exposure=0.9,
    insect_px=600.0,
    usability=0.5,
)


def scene(seed: int, height: int = 300, width: int = 400) -> np.ndarray:
    """A picture of ellipses on a soft ground, another for each seed."""
    drawn = np.random.default_rng(seed)
    soft = drawn.uniform(60, 190, (5, 7, 3)).astype(np.float32)
    picture = np.clip(cv2.resize(soft, (width, height), interpolation=2), 0, 255).astype(np.uint8)
    for _ in range(50):
        place = int(drawn.integers(0, width)), int(drawn.integers(0, height))
        axes = int(drawn.integers(4, 50)), int(drawn.integers(3, 12))
        colour = tuple(int(value) for value in drawn.integers(0, 256, 3))
        cv2.ellipse(picture, place, axes, int(drawn.integers(0, 180)), 0, 360, colour, -1)
    return picture


def png(
    width: int, height: int, data: bytes, *, depth: int = 1, colour: int = 0, palette: bytes = b""
) -> bytes:
    """A PNG of any size, depth and colour type in its head, whatever its data (RFC 2083)."""
    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    parts = [(b"IHDR", head), *([(b"PLTE", palette)] if palette else []), (b"IDAT", data)]
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*part) for part in [*parts, (b"IEND", b"")])


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
