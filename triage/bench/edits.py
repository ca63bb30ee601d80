"""Makes copies of a photo, of 38 kinds, and frames of its scene with something moved.

The kinds are those that people and programs make: recompressed, resized, cropped, toned, turned,
mirrored, rotated, bordered, captioned, screenshotted.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
Maker = Callable[[Picture, np.random.Generator], Picture]


def jpeg(picture: Picture, quality: int) -> Picture:
    """The picture after one round of JPEG at a quality (1 to 100)."""
    _, coded = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(coded, cv2.IMREAD_COLOR), dtype=np.uint8)


def resized(picture: Picture, factor: float) -> Picture:
    """The picture made smaller by a factor in (0, 1]."""
    height, width = picture.shape[:2]
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def cropped(picture: Picture, lost: float, random: np.random.Generator) -> Picture:
    """A rectangle of the same shape at a random place, a share of the area lost."""
    side = (1 - lost) ** 0.5
    height, width = picture.shape[:2]
    new_height, new_width = round(height * side), round(width * side)
    top = int(random.integers(0, height - new_height + 1))
    left = int(random.integers(0, width - new_width + 1))
    return picture[top : top + new_height, left : left + new_width].copy()


def toned(
    picture: Picture, change: Callable[[NDArray[np.float64]], NDArray[np.float64]]
) -> Picture:
    """The picture with its values (0 to 1) changed, clipped again."""
    return (np.clip(change(picture / 255.0), 0, 1) * 255).round().astype(np.uint8)


def rotated(picture: Picture, degrees: float, *, inscribed: bool) -> Picture:
    """Rotated about the centre with black corners, or cut to the largest upright rectangle."""
    height, width = picture.shape[:2]
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    turned = np.asarray(cv2.warpAffine(picture, matrix, (width, height)), dtype=np.uint8)
    if not inscribed:
        return turned
    sine, cosine = np.sin(np.radians(abs(degrees))), np.cos(np.radians(abs(degrees)))
    scale = min(width, height) / (min(width, height) * cosine + max(width, height) * sine)
    new_height, new_width = int(height * scale), int(width * scale)
    top, left = (height - new_height) // 2, (width - new_width) // 2
    return turned[top : top + new_height, left : left + new_width].copy()


def bordered(picture: Picture, share: float, value: int) -> Picture:
    """A uniform frame of a share of the longer side on every side."""
    px = round(max(picture.shape[:2]) * share)
    edge = cv2.BORDER_CONSTANT
    framed = cv2.copyMakeBorder(picture, px, px, px, px, edge, value=(value,) * 3)
    return np.asarray(framed, dtype=np.uint8)


def letterboxed(picture: Picture) -> Picture:
    """On a black canvas of 16:9 (wide for tall pictures and the other way round)."""
    height, width = picture.shape[:2]
    tall, wide = round(width * 16 / 9), round(height * 16 / 9)
    turned = width / height >= 16 / 9
    canvas_height, canvas_width = (tall, width) if turned else (height, wide)
    canvas = np.zeros((canvas_height, canvas_width, 3), dtype=np.uint8)
    top, left = (canvas_height - height) // 2, (canvas_width - width) // 2
    canvas[top : top + height, left : left + width] = picture
    return canvas


def captioned(picture: Picture) -> Picture:
    """A white bar with words over the lowest eighth."""
    height, width = picture.shape[:2]
    captioned = picture.copy()
    captioned[height - height // 8 :] = 255
    _write(captioned, "Seen at the pond, is it rare?", width // 20, height - height // 24, 20)
    return captioned


def watermarked(picture: Picture) -> Picture:
    """Half-transparent words across the middle."""
    words = picture.copy()
    height, width = picture.shape[:2]
    _write(words, "photo by a visitor", width // 10, height // 2, 255, share=0.003)
    return np.asarray(cv2.addWeighted(picture, 0.5, words, 0.5, 0), dtype=np.uint8)


def screenshotted(picture: Picture, random: np.random.Generator) -> Picture:
    """On the screen of a phone: bars, words and buttons round the picture scaled to its width."""
    width, height = 540, int(random.integers(960, 1171))
    dark = bool(random.integers(0, 2))
    canvas = np.full((height, width, 3), 18 if dark else 250, dtype=np.uint8)
    ink = 230 if dark else 30
    shown = resized(picture, min(1.0, width / picture.shape[1], 0.62 * height / picture.shape[0]))
    if shown.shape[1] < width * 0.9 and shown.shape[0] < 0.6 * height:
        factor = min(width / shown.shape[1], 0.62 * height / shown.shape[0])
        size = (round(shown.shape[1] * factor), round(shown.shape[0] * factor))
        shown = np.asarray(cv2.resize(shown, size, interpolation=cv2.INTER_LINEAR), dtype=np.uint8)
    top = int(random.integers(100, max(101, height - shown.shape[0] - 200)))
    left = (width - shown.shape[1]) // 2
    _write(canvas, "12:41", 20, 30, ink)
    _write(canvas, "4G  81%", width - 140, 30, ink)
    _write(canvas, "< Messages      Group: pond walk", 20, 75, ink)
    canvas[top : top + shown.shape[0], left : left + shown.shape[1]] = shown
    below = top + shown.shape[0]
    lines = ("Look what I found today!", "What is it?", "Nice one, where was that?")
    for number, line in enumerate(lines):
        y = below + 35 + 32 * number
        if y < height - 60:
            _write(canvas, line, 25, y, ink)
    cv2.rectangle(canvas, (15, height - 50), (width - 80, height - 12), (128, 128, 128), 2)
    cv2.circle(canvas, (width - 40, height - 32), 20, (90, 160, 60), -1)
    return jpeg(canvas, 85)


def _write(
    picture: Picture, words: str, x: int, y: int, ink: int, *, share: float = 0.0015
) -> None:
    scale = max(0.4, picture.shape[1] * share)
    cv2.putText(picture, words, (x, y), cv2.FONT_HERSHEY_SIMPLEX, scale, (ink,) * 3, 1)


def _noisy(picture: Picture, sigma: float, random: np.random.Generator) -> Picture:
    noise = random.normal(0, sigma, picture.shape)
    return np.clip(picture + noise, 0, 255).round().astype(np.uint8)


def _blurred(picture: Picture, sigma: float) -> Picture:
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma), dtype=np.uint8)


def _grey(picture: Picture) -> Picture:
    return np.repeat(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)[:, :, np.newaxis], 3, axis=2)


_WARM = np.array([1.2, 1.0, 0.8])  # red, green, blue: a wrong white balance

KINDS: dict[str, Maker] = {
    "jpeg75": lambda p, r: jpeg(p, 75),
    "jpeg50": lambda p, r: jpeg(p, 50),
    "jpeg30": lambda p, r: jpeg(p, 30),
    "jpeg10": lambda p, r: jpeg(p, 10),
    "resize0.5": lambda p, r: resized(p, 0.5),
    "resize0.25": lambda p, r: resized(p, 0.25),
    "messenger": lambda p, r: jpeg(resized(p, 0.4), 40),
    "crop5": lambda p, r: cropped(p, 0.05, r),
    "crop10": lambda p, r: cropped(p, 0.10, r),
    "crop20": lambda p, r: cropped(p, 0.20, r),
    "crop30": lambda p, r: cropped(p, 0.30, r),
    "crop50": lambda p, r: cropped(p, 0.50, r),
    "crop20+jpeg50": lambda p, r: jpeg(cropped(p, 0.20, r), 50),
    "bright+40": lambda p, r: toned(p, lambda v: v + 40 / 255),
    "bright-40": lambda p, r: toned(p, lambda v: v - 40 / 255),
    "contrast1.5": lambda p, r: toned(p, lambda v: (v - 0.5) * 1.5 + 0.5),
    "contrast0.6": lambda p, r: toned(p, lambda v: (v - 0.5) * 0.6 + 0.5),
    "gamma0.6": lambda p, r: toned(p, lambda v: v**0.6),
    "gamma1.6": lambda p, r: toned(p, lambda v: v**1.6),
    "white balance": lambda p, r: toned(p, lambda v: v * _WARM),
    "grey": lambda p, r: _grey(p),
    "blur2": lambda p, r: _blurred(p, 2.0),
    "noise12": lambda p, r: _noisy(p, 12.0, r),
    "turn90": lambda p, r: np.rot90(p, -1).copy(),
    "turn180": lambda p, r: np.rot90(p, 2).copy(),
    "turn270": lambda p, r: np.rot90(p, 1).copy(),
    "mirror": lambda p, r: p[:, ::-1].copy(),
    "rotate2": lambda p, r: rotated(p, 2, inscribed=False),
    "rotate5": lambda p, r: rotated(p, 5, inscribed=False),
    "rotate10": lambda p, r: rotated(p, 10, inscribed=False),
    "rotate2+crop": lambda p, r: rotated(p, 2, inscribed=True),
    "rotate5+crop": lambda p, r: rotated(p, 5, inscribed=True),
    "border5 white": lambda p, r: bordered(p, 0.05, 255),
    "border10 black": lambda p, r: bordered(p, 0.10, 0),
    "letterbox": lambda p, r: letterboxed(p),
    "caption bar": lambda p, r: captioned(p),
    "watermark": lambda p, r: watermarked(p),
    "screenshot": screenshotted,
}


def moved(picture: Picture, share: float, random: np.random.Generator) -> Picture:
    """Another frame of the scene: what is in its middle has moved by a share of the longer side.

    The place it left is filled from around it; exposure and noise are those of a new exposure.
    """
    height, width = picture.shape[:2]
    middle = np.zeros((height, width), np.uint8)
    centre, axes = (width // 2, height // 2), (width // 4, height // 6)
    cv2.ellipse(middle, centre, axes, 0, 0, 360, (255,), -1)
    small = cv2.resize(picture, (width // 4, height // 4), interpolation=cv2.INTER_AREA)
    hole = cv2.resize(middle, (width // 4, height // 4), interpolation=cv2.INTER_NEAREST)
    filled = cv2.resize(cv2.inpaint(small, hole, 3, cv2.INPAINT_TELEA), (width, height))
    soft = cv2.GaussianBlur(middle, (0, 0), 4)[:, :, np.newaxis] / 255.0
    behind = picture * (1 - soft) + filled * soft
    way = random.uniform(0, 2 * np.pi)
    step = share * max(width, height)
    shift = np.array([[1, 0, step * np.cos(way)], [0, 1, step * np.sin(way)]])
    thing = cv2.warpAffine(picture, shift, (width, height), borderMode=cv2.BORDER_REFLECT)
    place = cv2.warpAffine(
        np.ascontiguousarray(soft[:, :, 0], dtype=np.float32), shift, (width, height)
    )[:, :, np.newaxis]
    frame = (behind * (1 - place) + thing * place) * random.uniform(0.95, 1.05)
    return _noisy(np.clip(frame, 0, 255).astype(np.uint8), 3.0, random)


MOVED: dict[str, Maker] = {
    "middle moved by 2 %": lambda p, r: moved(p, 0.02, r),
    "middle moved by 5 %": lambda p, r: moved(p, 0.05, r),
    "middle moved by 10 %": lambda p, r: moved(p, 0.10, r),
    "middle moved by 15 %": lambda p, r: moved(p, 0.15, r),
}
