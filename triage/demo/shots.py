"""Takes one picture of the demo: who, from where, over what, how well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from triage.demo.insect import Insect, Pose, build
from triage.demo.looks import LOOKS
from triage.demo.oddities import figure_with_net, skin
from triage.demo.render import Camera, Layer, draw
from triage.demo.scenery import FLAT, Scene, backdrop, leaf, stem

Perch = Literal["stem", "leaf", "none"]
Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One exposure. ``subject`` is a species name, ``exuvia``, ``figure`` or ``nothing``.

    ``share`` is the insect's length as a share of the picture's width; blurs are standard
    deviations in pixels of a 1,200 pixel wide picture; ``shake`` is length (pixels) and angle.
    ``pan`` is how the whole frame moved since the first of a burst: shares of the width and
    height, zoom, and degrees. ``second`` is another animal beside it: name and place.
    """

    subject: str
    view: str
    azimuth: float = 90.0
    elevation: float = 8.0
    roll: float = 0.0
    share: float = 0.62
    centre: tuple[float, float] = (0.5, 0.5)
    scene: Scene = "meadow"
    perch: Perch = "stem"
    perch_angle: float = 12.0
    subject_blur: float = 0.0
    background_blur: float = 26.0
    shake: tuple[float, float] = (0.0, 0.0)
    gain: float = 1.0
    noise: float = 1.2
    gape: float = 7.0
    droop: float = 6.0
    dihedral: float = -4.0
    pan: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 0.0)
    width: int = 1200
    height: int = 900
    seed: int = 0
    second: tuple[str, float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """Pixels (upright RGB) and the box of the insect as fractions, all zero if there is none."""

    pixels: Pixels
    box: tuple[float, float, float, float]


def expose(shot: Shot) -> Exposure:
    """Make the picture of one shot."""
    scale = shot.width / 1200
    flat = shot.scene in FLAT
    blur = 0.0 if flat else shot.background_blur * scale
    picture = backdrop(shot.scene, shot.width, shot.height, blur=blur, seed=shot.seed)
    box = (0.0, 0.0, 0.0, 0.0)
    if shot.subject == "figure":
        figure_with_net(picture, seed=shot.seed)
    elif shot.subject != "nothing":
        layers = [_insect(shot)]
        if shot.second is not None:
            layers.append(_insect(shot, other=shot.second))
        for number, (_, foot) in enumerate(layers):
            _perch(picture, shot, foot, shot.seed + 7 + number)
        box = _around([layer.box for layer, _ in layers])
        for layer, _ in reversed(layers):
            picture = _lay(picture, layer, shot, flat or shot.perch == "leaf", scale)
    if shot.pan != (0.0, 0.0, 1.0, 0.0):
        picture, box = _panned(picture, box, shot)
    if shot.shake[0] > 0:
        streak = _streak(shot.shake[0] * scale, shot.shake[1])
        picture = np.asarray(cv2.filter2D(picture, -1, streak), np.float32)
    return Exposure(pixels=_develop(picture, shot), box=box)


def _around(boxes: list[tuple[float, float, float, float]]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _insect(
    shot: Shot, *, other: tuple[str, float, float] | None = None
) -> tuple[Layer, tuple[float, float]]:
    """Draw the animal and tell where its feet are in the picture (pixels)."""
    name = shot.subject if other is None else other[0]
    centre = shot.centre if other is None else (other[1], other[2])
    insect = _posed(name, shot)
    camera = Camera(
        azimuth=shot.azimuth,
        elevation=shot.elevation,
        roll=shot.roll + (0.0 if other is None else 35.0),
        pixels_per_mm=shot.share * shot.width / insect.extent,
        centre=centre,
        aim=(-insect.look.abdomen * 0.38, 0.0, 0.0),
    )
    layer = draw(insect, camera, shot.width, shot.height, seed=shot.seed)
    foot = np.array([insect.look.thorax[0] * 0.4, 0.0, -insect.look.thorax[2] * 0.95])
    at = camera.axes() @ (foot - np.asarray(camera.aim)) * camera.pixels_per_mm
    return layer, (centre[0] * shot.width + float(at[0]), centre[1] * shot.height - float(at[1]))


def _posed(name: str, shot: Shot) -> Insect:
    if name == "exuvia":
        return skin()
    return build(LOOKS[name], Pose(gape=shot.gape, droop=shot.droop, dihedral=shot.dihedral))


def _perch(picture: NDArray[np.float32], shot: Shot, foot: tuple[float, float], seed: int) -> None:
    if shot.perch == "stem":
        thickness = shot.width * 0.018 * (0.5 + shot.share)
        stem(picture, foot, shot.perch_angle, thickness, seed=seed)
    elif shot.perch == "leaf":
        middle = (shot.centre[0] * shot.width, shot.centre[1] * shot.height)
        leaf(picture, middle, shot.perch_angle, shot.width * shot.share * 2.0, seed=seed)


def _lay(
    picture: NDArray[np.float32], layer: Layer, shot: Shot, shadow: bool, scale: float
) -> NDArray[np.float32]:
    colour, alpha = layer.colour, layer.alpha
    if shadow:
        reach = shot.share * shot.width * 0.035
        move = np.array([[1, 0, reach], [0, 1, reach * 1.3]], np.float32)
        cast = np.asarray(cv2.warpAffine(alpha, move, (shot.width, shot.height)), np.float32)
        cast = np.asarray(cv2.GaussianBlur(cast, (0, 0), reach * 0.5), np.float32)
        picture = picture * (1 - 0.5 * cast)[..., None]
    if shot.subject_blur > 0:
        sigma = shot.subject_blur * scale
        colour = np.asarray(cv2.GaussianBlur(colour, (0, 0), sigma), np.float32)
        alpha = np.asarray(cv2.GaussianBlur(alpha, (0, 0), sigma), np.float32)
    return np.asarray(picture * (1 - alpha[..., None]) + colour, np.float32)


def _panned(
    picture: NDArray[np.float32], box: tuple[float, float, float, float], shot: Shot
) -> tuple[NDArray[np.float32], tuple[float, float, float, float]]:
    """Move, zoom and turn the whole frame, and the box with it."""
    across, down, zoom, turn = shot.pan
    size = (shot.width, shot.height)
    move = cv2.getRotationMatrix2D((shot.width / 2, shot.height / 2), turn, zoom)
    move[:, 2] += np.array((across * shot.width, down * shot.height))
    moved = cv2.warpAffine(
        picture, move, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
    )
    corners = np.array(
        [[box[i] * shot.width, box[j] * shot.height, 1] for i in (0, 2) for j in (1, 3)]
    )
    at = corners @ move.T / size
    low, high = np.clip(at.min(axis=0), 0, 1), np.clip(at.max(axis=0), 0, 1)
    return np.asarray(moved, np.float32), (
        float(low[0]),
        float(low[1]),
        float(high[0]),
        float(high[1]),
    )


def _streak(length: float, angle: float) -> NDArray[np.float32]:
    """Return the path of a shaken camera as a filter kernel."""
    size = int(length) | 1
    bar = np.zeros((size, size), np.float32)
    bar[size // 2] = 1
    turn = cv2.getRotationMatrix2D((size / 2 - 0.5, size / 2 - 0.5), angle, 1.0)
    kernel = np.asarray(cv2.warpAffine(bar, turn, (size, size)), np.float32)
    return np.asarray(kernel / kernel.sum(), np.float32)


def _develop(picture: NDArray[np.float32], shot: Shot) -> Pixels:
    """Apply gain, a soft shoulder, the lens's dark corners and the sensor's noise."""
    rng = np.random.default_rng(shot.seed + 99)
    height, width = picture.shape[:2]
    ys, xs = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    corners = (1 - 0.14 * (xs**2 + ys**2) / 2)[..., None]
    value = np.clip(picture * corners * shot.gain, 0, None)
    value = np.where(value > 0.8, 0.8 + 0.2 * np.tanh((value - 0.8) / 0.2), value)
    value = value * 255 + rng.normal(0, shot.noise, value.shape)
    return np.asarray(np.clip(value, 0, 255), np.uint8)
