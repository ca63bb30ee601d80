"""Paints what lies behind an insect: blurred vegetation, water, stone or sand."""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from triage.demo.data_files import read_toml

Picture = NDArray[np.float32]
Scene = Literal["meadow", "reeds", "water", "stone", "sand", "dusk"]

_PALETTES = read_toml("scenery.toml")
FLAT = ("stone", "sand")  # scenes that lie in the plane of focus


def backdrop(scene: Scene, width: int, height: int, *, blur: float, seed: int) -> Picture:
    """Paint a background: RGB in [0, 1], shape (height, width, 3).

    ``blur`` is the standard deviation of the defocus in pixels; 0 is sharp.
    """
    rng = np.random.default_rng(seed)
    octaves = 7 if scene in FLAT else 5
    tone = fractal(rng, height, width, octaves=octaves, stretch=6.0 if scene == "water" else 1.0)
    shade = np.linspace(0.12, -0.12, height, dtype=np.float32)[:, None]
    picture = _palette(scene, np.clip(0.48 + 0.2 * tone + shade, 0, 1))
    if scene in ("meadow", "reeds", "dusk"):
        _blades(picture, scene, rng)
    elif scene == "water":
        _glitter(picture, rng)
    if blur > 0:
        picture = np.asarray(cv2.GaussianBlur(picture, (0, 0), blur), np.float32)
        if scene in ("meadow", "water") and blur > 12:
            _bokeh(picture, rng, blur)
    return np.asarray(np.clip(picture, 0, 1), np.float32)


def fractal(
    rng: np.random.Generator, height: int, width: int, *, octaves: int, stretch: float = 1.0
) -> Picture:
    """Sum noise of halving size; mean 0, standard deviation 1."""
    total = np.zeros((height, width), np.float32)
    for octave in range(octaves):
        rows = min(height, 3 * 2**octave)
        columns = min(width, max(2, int(rows * width / height / stretch)))
        noise = rng.normal(size=(rows, columns)).astype(np.float32)
        total += cv2.resize(noise, (width, height), interpolation=cv2.INTER_CUBIC) * 0.62**octave
    return np.asarray((total - total.mean()) / (total.std() + 1e-6), np.float32)


def _palette(scene: str, tone: Picture) -> Picture:
    colours = np.array(_PALETTES[scene])
    stops = np.linspace(0, 1, len(colours))
    return np.dstack([np.interp(tone, stops, colours[:, i]) for i in range(3)]).astype(np.float32)


def _blades(picture: Picture, scene: str, rng: np.random.Generator) -> None:
    """Draw upright leaves, tapering and lit from one side."""
    height, width = picture.shape[:2]
    colours = np.array(_PALETTES[scene])
    for _ in range(26 if scene == "reeds" else 18):
        foot = np.array([rng.uniform(-0.1, 1.1) * width, height * rng.uniform(0.8, 1.2)])
        lean = rng.normal(0, 0.25)
        long = height * rng.uniform(0.5, 1.3)
        tip = foot + long * np.array([np.sin(lean), -np.cos(lean)])
        half = width * rng.uniform(0.006, 0.03)
        middle = (foot + tip) / 2 + np.array([rng.normal(0, 0.05) * width, 0])
        out = np.array([half, 0])
        base = colours[rng.integers(1, len(colours))] * rng.uniform(0.7, 1.15)
        left = [foot - out, middle - out * 0.8, tip]
        right = [tip, middle + out * 0.8, foot + out]
        for side, light in (([*left, middle, foot], 0.86), ([foot, middle, *right], 1.1)):
            points = (np.array(side) * 16).astype(np.int32)
            shade = tuple(float(v) for v in base * light)
            cv2.fillPoly(picture, [points], shade, cv2.LINE_AA, 4)


def _glitter(picture: Picture, rng: np.random.Generator) -> None:
    height, width = picture.shape[:2]
    for _ in range(60):
        centre = (int(rng.uniform(0, width)), int(rng.uniform(0, height)))
        size = (
            int(width * rng.uniform(0.01, 0.05)),
            max(1, int(height * rng.uniform(0.002, 0.006))),
        )
        cv2.ellipse(picture, centre, size, 0, 0, 360, (0.82, 0.86, 0.86), -1, cv2.LINE_AA)


def _bokeh(picture: Picture, rng: np.random.Generator, blur: float) -> None:
    height, width = picture.shape[:2]
    discs = np.zeros_like(picture)
    for _ in range(int(rng.integers(4, 12))):
        centre = (int(rng.uniform(0, width)), int(rng.uniform(0, height * 0.6)))
        level = rng.uniform(0.05, 0.16)
        one = np.zeros_like(picture)
        cv2.circle(
            one,
            centre,
            int(blur * rng.uniform(1.2, 2.2)),
            (level, level, level * 0.8),
            -1,
            cv2.LINE_AA,
        )
        discs += one
    picture += cv2.GaussianBlur(discs, (0, 0), blur * 0.12)


def stem(
    picture: Picture, at: tuple[float, float], angle: float, thickness: float, *, seed: int
) -> None:
    """Draw one stalk through `at` (pixels), `angle` degrees from upright, in place."""
    height, width = picture.shape[:2]
    rng = np.random.default_rng(seed)
    direction = np.array([np.sin(np.radians(angle)), -np.cos(np.radians(angle))])
    normal = np.array([-direction[1], direction[0]])
    xs, ys = np.meshgrid(np.arange(width) - at[0], np.arange(height) - at[1])
    across = (xs * normal[0] + ys * normal[1]) / (thickness / 2)
    along = xs * direction[0] + ys * direction[1]
    across = across + 0.25 * np.sin(along / (height * 0.23) + rng.uniform(0, 6))
    weight = np.clip((1 - np.abs(across)) * thickness / 2, 0, 1)[..., None]
    tone = fractal(rng, height, width, octaves=6)
    light = np.clip(0.55 + 0.45 * np.sqrt(np.clip(1 - across**2, 0, 1)) - 0.25 * across, 0, 1.2)
    colour = np.array((0.46, 0.50, 0.22) if rng.uniform() < 0.6 else (0.52, 0.42, 0.26))
    stalk = colour * (light * (1 + 0.1 * tone))[..., None]
    picture *= 1 - weight
    picture += (stalk * weight).astype(np.float32)


def leaf(
    picture: Picture, at: tuple[float, float], angle: float, size: float, *, seed: int
) -> None:
    """Draw one broad blade centred on `at` (pixels), `size` pixels long, in place."""
    height, width = picture.shape[:2]
    rng = np.random.default_rng(seed)
    turn = np.radians(angle)
    xs, ys = np.meshgrid(np.arange(width) - at[0], np.arange(height) - at[1])
    along = (xs * np.cos(turn) + ys * np.sin(turn)) / (size / 2)
    across = (-xs * np.sin(turn) + ys * np.cos(turn)) / (size / 2)
    half = 0.34 * np.sqrt(np.clip(1 - along**2, 0, 1)) * (1 - 0.25 * along)
    weight = np.clip((half - np.abs(across)) * size / 4, 0, 1)[..., None]
    side = np.abs(np.sin((along - 0.9 * np.abs(across)) * 26))
    veins = np.clip(1 - side * 7, 0, 1) * 0.12 + np.clip(1 - np.abs(across) * 70, 0, 1) * 0.25
    tone = fractal(rng, height, width, octaves=6)
    light = (0.8 + 0.16 * (across < 0) + veins + 0.06 * tone)[..., None]
    blade = np.array((0.30, 0.46, 0.16)) * light
    picture *= 1 - weight
    picture += (blade * weight).astype(np.float32)
